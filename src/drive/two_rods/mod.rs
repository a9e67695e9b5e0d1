//! Two motors with a rod each on a body that hangs on a universal joint: an ankle or a wrist.
//!
//! Pitch a₁ through O₁ is fixed in the carrier; roll a₂ through O₂ is carried by pitch. Q of rod k is given in the zero pose:
//!
//! ```text
//! Q(p, r) = O₁ + R(a₁, p)[O₂ − O₁ + R(a₂, r)(Q₀ − O₂)]
//! W_kj = [a_j, Q_k − O_j, ŵ_k]     g_k = λ_k/|w_k| per rad of motor     J = ∂θ/∂(p, r) = diag(1/g) W
//! θ̇ = J q̇     τ_joint = Jᵀ τ_motor     rod force F = τ_motor/g
//! ```
//!
//! # Source
//! The crank form: C. Zhou and N. Tsagarakis, J. Mechanisms and Robotics 10 (2018), doi 10.1115/1.4040886; with actuators:
//! Cervettini et al. (2025), arXiv 2509.16469. They return the crank by arcsine, which is wrong beyond 90 deg; here its
//! direction comes from the meeting of rod and circle, and what cannot be reached is a fault with the missing length.

mod bent_rates;
mod best;
mod direct;
mod drawing;
mod forward;
mod moves;
mod pose;
mod posed;
mod singular;
mod sized;
mod slopes;

use super::angular::Angular;
use super::fault::DriveFault;
use super::input_end::Place;
use super::stop::StopKind;
use crate::numeric::{Interval, Scalar as _};

pub use bent_rates::BentPose;
pub use direct::{Direct, Region};
pub use drawing::{DrawnLeg, TwoRodsDrawing};
pub use forward::Joints;
pub use pose::{Leg, RodsOnUniversal, TwoRodsPose};
pub use sized::SizedBuild;
pub use slopes::{MarginShare, MarginShares, OF_ROD, Share, Shares};

/// Sines of a margin below this in the zero pose count as none.
const FLAT: f64 = 1e-9;

/// Parts of the way from the zero pose shorter than this are not halved further.
const SHORTEST: f64 = 1.0 / 65_536.0;

/// A drive of two joints by two motors, followed from its zero pose. Turns in rad, (pitch, roll) and (first, second motor),
/// right-handed about the axes as given.
#[derive(Clone, Debug)]
pub struct TwoRods {
    plain: RodsOnUniversal,
    sure: RodsOnUniversal<Interval>,
    /// Motor angles of the zero pose from their data.
    zero: [f64; 2],
    sure_zero: [Interval; 2],
}

impl TwoRods {
    /// The drive whose zero pose is as drawn.
    ///
    /// # Errors
    /// [`DriveFault::CannotReach`], [`DriveFault::ZeroPoseIsStop`].
    ///
    /// # Examples
    /// ```
    /// use unloop::drive::{Axis, Direct, Leg, RodsOnUniversal, TwoRods, Vector};
    /// use unloop::numeric::Interval;
    ///
    /// let at = |x, y, z| Vector::new(x, y, z).map(Interval::point);
    /// let axis = |point, direction| Axis { point, direction };
    /// let y = at(0.0, 1.0, 0.0);
    /// let motor = axis(at(0.0, 0.032, 0.28), y);
    /// let left = Leg::crank(&motor, at(-0.045, 0.032, 0.28), at(-0.045, 0.032, 0.0), None);
    /// let left = left.ok_or("a pin on its axis")?;
    /// let (pitch, roll) = (axis(at(0.0, 0.0, 0.0), y), axis(at(0.0, 0.0, 0.0), at(1.0, 0.0, 0.0)));
    /// let legs = [left, left.mirrored()];
    /// let ankle = TwoRods::new(RodsOnUniversal::new(pitch, roll, legs).ok_or("no axis")?)?;
    ///
    /// let motors = ankle.motor_turns([0.2, 0.1])?;
    /// let joints = ankle.joint_turns(motors)?;
    /// assert!((joints.turns[0] - 0.2).abs() < 1e-13);
    /// let direct = Direct::zero_pose(&ankle)?;
    /// assert!(direct.rate_error_norm(&ankle.pose([0.2, 0.1])?) < 0.02);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(sure: RodsOnUniversal<Interval>) -> Result<Self, DriveFault> {
        let plain = sure.constant();
        let mut drive = Self { plain, sure, zero: [0.0; 2], sure_zero: [Interval::ZERO; 2] };
        let pose = drive.pose([0.0; 2])?;
        for k in [0, 1] {
            if pose.crank_side(k).is_some_and(|angle| angle <= FLAT) {
                return Err(DriveFault::ZeroPoseIsStop(StopKind::DeadPoint));
            }
            if pose.joint_side(k) <= FLAT {
                return Err(DriveFault::ZeroPoseIsStop(StopKind::CrankLimit));
            }
        }
        drive.zero = plain.angles(&pose, [0.0; 2]);
        if !drive.zero.iter().chain(pose.jacobian.as_flattened()).all(|x| x.is_finite()) {
            return Err(DriveFault::Undetermined(
                "the zero pose has no finite motor angle or rate",
            ));
        }
        let over = drive.sure.at([Angular::sin_cos(Interval::ZERO); 2]);
        drive.sure_zero =
            over.map_or([Interval::ENTIRE; 2], |pose| drive.sure.angles(&pose, drive.zero));
        Ok(drive)
    }

    /// The plain geometry.
    #[must_use]
    pub fn geometry(&self) -> &RodsOnUniversal {
        &self.plain
    }

    /// Motor angles of the zero pose from their data, rad; of a screw its travel times 2π/lead.
    #[must_use]
    pub fn zero_angles(&self) -> [f64; 2] {
        self.zero
    }

    /// The pose at the joint turns `joints` in plain floats, wherever the rods reach.
    ///
    /// # Errors
    /// [`DriveFault::CannotReach`].
    pub fn pose(&self, joints: [f64; 2]) -> Result<TwoRodsPose, DriveFault> {
        let [pitch, roll] = joints;
        match self.plain.at([libm::sincos(pitch), libm::sincos(roll)]) {
            Some(pose) => Ok(pose),
            None => Err(self.cannot_reach(joints)),
        }
    }

    /// The pose over ranges: every arm and rate at the joint turns in them.
    ///
    /// # Errors
    /// [`DriveFault::CannotReach`] where a rod certainly does not.
    pub fn pose_over(&self, joints: [Interval; 2]) -> Result<TwoRodsPose<Interval>, DriveFault> {
        let pose = self.sure.at(joints.map(Angular::sin_cos));
        pose.ok_or_else(|| self.cannot_reach(joints.map(Interval::mid)))
    }

    /// Which rod does not reach, and by how much.
    fn cannot_reach(&self, joints: [f64; 2]) -> DriveFault {
        let feet = self.plain.feet(joints.map(libm::sincos)).at;
        let missing = self.plain.missing(feet);
        let rod = usize::from(missing[1].abs() > missing[0].abs());
        let [first, second] = missing;
        let missing = if rod == 0 { first } else { second };
        DriveFault::CannotReach { rod, turn: libm::hypot(joints[0], joints[1]), missing }
    }

    /// Motor turns at the joint turns `joints`, followed along the straight way from the zero pose, and certainly so: over
    /// each part of the way the enclosed crank directions stay within an eighth of a turn.
    ///
    /// # Errors
    /// [`DriveFault::CannotReach`]; [`DriveFault::NotFollowed`] where a rod comes in line with its crank on the way.
    pub fn motor_turns(&self, joints: [f64; 2]) -> Result<[f64; 2], DriveFault> {
        self.pose(joints)?;
        let (mut from, mut angles, mut step) = (0.0, self.zero, 1.0);
        while from < 1.0 {
            let to = if from + step >= 1.0 { 1.0 } else { from + step };
            if let Some(reached) = self.followed(joints, [from, to], angles) {
                (from, angles, step) = (to, reached, 2.0 * step);
            } else if step <= SHORTEST {
                return Err(DriveFault::NotFollowed { share: from });
            } else {
                step *= 0.5;
            }
        }
        Ok([angles[0] - self.zero[0], angles[1] - self.zero[1]])
    }

    /// Motor angles at the end of a part of the way, from those at its beginning.
    fn followed(
        &self,
        joints: [f64; 2],
        [from, to]: [f64; 2],
        angles: [f64; 2],
    ) -> Option<[f64; 2]> {
        let share = Interval::new(from, to);
        let over = joints.map(|turn| Angular::sin_cos(Interval::point(turn) * share));
        let enclosed = self.sure.at(over)?;
        let is_clear = |k: usize| {
            let (Some(rod), Some(angle)) = (enclosed.rods.get(k), angles.get(k)) else {
                return false;
            };
            let Place::Angle(sine, cosine) = rod.place else { return true };
            let is_near = Interval::angle_near(sine, cosine, *angle).width().is_finite();
            is_near && rod.lever.is_certainly_nonzero()
        };
        let pose = self.pose(joints.map(|turn| turn * to)).ok()?;
        (is_clear(0) && is_clear(1)).then(|| self.plain.angles(&pose, angles))
    }

    /// Motor turns at `joints`: plain floats, ranges, or values with gradients. Ranges must be narrow enough for the
    /// cranks to stay within an eighth of a turn, or a motor turn is the whole line.
    ///
    /// # Errors
    /// As [`TwoRods::motor_turns`] in their middle; [`DriveFault::CannotReach`].
    pub fn motors<T: Angular>(&self, joints: [T; 2]) -> Result<[T; 2], DriveFault> {
        let middle = joints.map(|turn| turn.middle());
        let turns = self.motor_turns(middle)?;
        let guess = [turns[0] + self.zero[0], turns[1] + self.zero[1]];
        let geometry = self.sure.constant::<T>();
        let pose = geometry.at(joints.map(T::sin_cos)).ok_or_else(|| self.cannot_reach(middle))?;
        let [first, second] = geometry.angles(&pose, guess);
        let [zero, other] = self.sure_zero.map(T::constant);
        Ok([first - zero, second - other])
    }
}
