//! Crank, push-rod with ball ends, lever; the axes need not be parallel.
//!
//! ```text
//! n = (0, 0, 1)     A = 0     B = (g, 0, k)     m = Rx(twist) Ry(lean) n = (sin λ, −sin ρ cos λ, cos ρ cos λ)
//! ```
//!
//! These parameters are regular at parallel axes, unlike the common perpendicular, whose feet run away to infinity
//! there. Parallel axes with pins k apart along the axis are a planar four-bar with coupler √(b² − k²). Hinged ends with
//! axes that are not parallel live on play: compute them with ball ends and read the ball tilt as what the pins must give.

use super::angular::Angular;
use super::built::Built;
use super::circle::Circle;
use super::fault::DriveFault;
use super::input_end::InputEnd;
use super::rod_drive::RodDrive;
use super::rod_pose::RodOnHinge;
use super::size::{PointSizes, Size};
use super::space::{Axis, Vector};
use crate::numeric::{Interval, Scalar};

words! {
    /// The two assemblies at one crank angle.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Assembly {
        /// The rod's arm about the joint axis is negative: r_B < 0, in the plane Q left of P→B.
        Open = "open",
        /// It is positive.
        Crossed = "crossed",
    }
}

impl Assembly {
    /// The sign of r_B.
    #[must_use]
    pub fn sign(self) -> f64 {
        match self {
            Self::Open => -1.0,
            Self::Crossed => 1.0,
        }
    }
}

/// A drawing in seven figures: lengths in one unit, angles in rad.
///
/// Crank angle φ counts about the motor axis n from x, the ground line A→B made square to n; lever angle ψ about the joint
/// axis m from x made square to m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BallRod<T = f64> {
    /// A→B projected square to the motor axis, > 0.
    pub ground: T,
    /// From the motor axis to P, > 0.
    pub crank: T,
    /// Between the centres of the balls P and Q, > 0.
    pub coupler: T,
    /// From the joint axis to Q, > 0.
    pub rocker: T,
    /// (B − A)·n: the centre of Q's circle beyond that of P's, along the motor axis.
    pub axial: T,
    /// ρ: the joint axis turned about the ground line, from +z towards −y.
    pub twist: T,
    /// λ: the joint axis leaning towards +x, before the twist.
    pub lean: T,
}

impl<T: Angular> BallRod<T> {
    /// The circles of both pins in the drawing's own frame; `None` where the joint axis may lie along the ground line, so
    /// that ψ has no datum.
    pub fn circles(&self) -> Option<[Circle<T>; 2]> {
        let [zero, one] = [0.0, 1.0].map(T::exactly);
        let x = Vector::new(one, zero, zero);
        let ((sin_twist, cos_twist), (sin_lean, cos_lean)) =
            (self.twist.sin_cos(), self.lean.sin_cos());
        let axis = Vector::new(sin_lean, -(sin_twist * cos_lean), cos_twist * cos_lean);
        let datum = Vector::new(cos_lean, sin_twist * sin_lean, -(cos_twist * sin_lean));
        if !cos_lean.is_certainly_nonzero() {
            return None;
        }
        let y = Vector::new(zero, one, zero);
        let motor = Circle {
            centre: Vector::zero(),
            axis: Vector::new(zero, zero, one),
            datum: x,
            quarter: y,
            radius: self.crank,
        };
        let joint = Circle {
            centre: Vector::new(self.ground, zero, self.axial),
            axis,
            datum,
            quarter: Vector::new(zero, cos_twist, sin_twist),
            radius: self.rocker,
        };
        Some([motor, joint])
    }

    /// Poses by lever angles ψ; `side` is +1 where the rod's arm about the motor axis is negative, else −1.
    pub fn geometry(&self, side: f64) -> Option<RodOnHinge<T>> {
        let [circle, joint] = self.circles()?;
        let input = InputEnd::Crank { circle, rod: self.coupler, side };
        Some(RodOnHinge { joint, input })
    }

    /// The same in another kind of number.
    pub fn map<U>(&self, f: impl Fn(T) -> U) -> BallRod<U> {
        BallRod {
            ground: f(self.ground),
            crank: f(self.crank),
            coupler: f(self.coupler),
            rocker: f(self.rocker),
            axial: f(self.axial),
            twist: f(self.twist),
            lean: f(self.lean),
        }
    }
}

/// The lever angle ψ at which a rod from the crank pin meets Q's circle, and the side of the motor's S there.
fn assembled(
    [motor, joint]: &[Circle; 2],
    rod: f64,
    crank: f64,
    assembly: Assembly,
) -> Result<(f64, f64), DriveFault> {
    let arm = motor.arm(libm::sincos(crank));
    let pin = motor.centre + arm;
    let missing = joint.missing(pin, rod);
    let short = DriveFault::CannotReach { rod: 0, turn: 0.0, missing };
    let (sine, cosine) = joint.meet(pin, rod, assembly.sign()).ok_or(short)?.direction;
    let w = joint.centre + joint.arm((sine, cosine)) - pin;
    let side = if w.dot(motor.axis.cross(arm)) < 0.0 { 1.0 } else { -1.0 };
    Ok((libm::atan2(sine, cosine), side))
}

/// A joint axis nearer than this to the ground line, rad, lies along it.
const FLAT: f64 = 1e-9;

const NO_DATUM: DriveFault = DriveFault::Undetermined(
    "the joint axis lies along the ground line, so that no lever angle can be told",
);

impl<T: Angular> BallRod<T> {
    /// The build of these sizes, the crank angle of the zero pose the last; `side` is +1 where the rod's arm about the motor
    /// axis is negative, else −1.
    pub(super) fn built(sizes: &[T], assembly: Assembly, side: f64) -> Option<Built<T>> {
        let &[ground, crank, coupler, rocker, axial, twist, lean, zero_crank] = sizes else {
            return None;
        };
        let drawn = Self { ground, crank, coupler, rocker, axial, twist, lean };
        let [circle, joint] = drawn.circles()?;
        let pin = circle.centre + circle.arm(zero_crank.sin_cos());
        let meeting = joint.meet(pin, coupler, assembly.sign())?;
        Some(Built {
            input: InputEnd::Crank { circle, rod: coupler, side },
            foot: joint.centre + joint.arm(meeting.direction),
            joint: Axis { point: joint.centre, direction: joint.axis },
        })
    }
}

impl BallRod {
    /// +1 where the rod's arm about the motor axis is negative in the zero pose, else −1.
    ///
    /// # Errors
    /// As [`BallRod::drive`].
    pub(super) fn motor_side(&self, crank: f64, assembly: Assembly) -> Result<f64, DriveFault> {
        let circles = self.circles().ok_or(NO_DATUM)?;
        assembled(&circles, self.coupler, crank, assembly).map(|(_, side)| side)
    }

    /// The drive whose zero pose is crank angle `crank` (rad) in `assembly`.
    ///
    /// # Errors
    /// [`DriveFault::CannotReach`], [`DriveFault::ZeroPoseIsStop`], [`DriveFault::Undetermined`].
    ///
    /// # Examples
    /// ```
    /// use unloop::drive::{Assembly, BallRod, OneJoint};
    /// let knee = BallRod {
    ///     ground: 0.3, crank: 0.045, coupler: 0.3, rocker: 0.045,
    ///     axial: 0.0, twist: 4.5_f64.to_radians(), lean: 0.0,
    /// };
    /// let drive = knee.drive(90_f64.to_radians(), Assembly::Open)?;
    /// let motion = drive.motion(0.5)?;
    /// assert!((motion.ratio - 1.0).abs() < 4e-4);
    /// assert!((drive.joint_turn(motion.motor)? - 0.5).abs() < 1e-13);
    /// # Ok::<(), unloop::drive::DriveFault>(())
    /// ```
    pub fn drive(&self, crank: f64, assembly: Assembly) -> Result<RodDrive, DriveFault> {
        if libm::cos(self.lean) <= FLAT {
            return Err(NO_DATUM);
        }
        let circles = self.circles().ok_or(NO_DATUM)?;
        let (joint, side) = assembled(&circles, self.coupler, crank, assembly)?;
        let sure = self.map(Interval::point).geometry(side).ok_or(NO_DATUM)?;
        RodDrive::new(sure, joint, None)
    }
}

/// The same drive by points and axes in the carrier's frame, in the zero pose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BallRodPoints<T = f64> {
    /// The motor axis; any point on it.
    pub motor: Axis<T>,
    /// The joint axis.
    pub joint: Axis<T>,
    /// P. Where the rod's length is given too, the crank turns from here until the rod fits.
    pub crank: Vector<T>,
    /// Q.
    pub rocker: Vector<T>,
    /// Length of the rod; `None`: the distance of the two pins.
    pub rod: Option<T>,
}

impl<T: Scalar> BallRodPoints<T> {
    /// Poses by turns of the lever from the zero pose, those of the crank from P as drawn; `None` where a pin may lie on
    /// its axis.
    pub fn geometry(&self, side: f64) -> Option<RodOnHinge<T>> {
        let rod = self.rod.unwrap_or_else(|| (self.rocker - self.crank).length());
        let circle = Circle::through(self.crank, &self.motor)?;
        let joint = Circle::through(self.rocker, &self.joint)?;
        Some(RodOnHinge { joint, input: InputEnd::Crank { circle, rod, side } })
    }

    /// The same in another kind of number.
    pub fn map<U>(&self, f: impl Fn(T) -> U + Copy) -> BallRodPoints<U> {
        BallRodPoints {
            motor: self.motor.map(f),
            joint: self.joint.map(f),
            crank: self.crank.map(f),
            rocker: self.rocker.map(f),
            rod: self.rod.map(f),
        }
    }
}

impl BallRodPoints {
    /// Its sizes: the four points, two tilts of each axis, and the rod where its length is given.
    pub(super) fn sizes(&self) -> Vec<Size> {
        let sizes = PointSizes::default()
            .point(["motor_x", "motor_y", "motor_z"], self.motor.point)
            .point(["joint_x", "joint_y", "joint_z"], self.joint.point)
            .point(["crank_x", "crank_y", "crank_z"], self.crank)
            .point(["rocker_x", "rocker_y", "rocker_z"], self.rocker)
            .tilts(["motor_axis_u", "motor_axis_v"])
            .tilts(["joint_axis_u", "joint_axis_v"]);
        match self.rod {
            Some(rod) => sizes.length("coupler", rod).all(),
            None => sizes.all(),
        }
    }

    /// The build of these sizes, its zero pose the one as drawn, or where the rod of given length fits.
    pub(super) fn built<T: Angular>(&self, sizes: &[T]) -> Option<Built<T>> {
        let &[mx, my, mz, jx, jy, jz, px, py, pz, qx, qy, qz, mu, mv, ju, jv, ref rod @ ..] = sizes
        else {
            return None;
        };
        let axis = |axis: &Axis, point: Vector<T>, tilts: [T; 2]| {
            let drawn = Axis { point, direction: axis.direction.map(T::exactly) };
            drawn.tilted(tilts)
        };
        let motor = axis(&self.motor, Vector::new(mx, my, mz), [mu, mv])?;
        let joint = axis(&self.joint, Vector::new(jx, jy, jz), [ju, jv])?;
        let (pin, foot) = (Vector::new(px, py, pz), Vector::new(qx, qy, qz));
        let rod = rod.first().copied().unwrap_or_else(|| (foot - pin).length());
        let circle = Circle::through(pin, &motor)?;
        Some(Built { input: InputEnd::Crank { circle, rod, side: self.side().ok()? }, foot, joint })
    }
}

const PIN_ON_AXIS: DriveFault =
    DriveFault::Undetermined("a pin lies on its own axis, or an axis has no direction");

impl BallRodPoints {
    /// The drive whose zero pose is as drawn.
    ///
    /// # Errors
    /// As [`BallRod::drive`].
    pub fn drive(&self) -> Result<RodDrive, DriveFault> {
        let sure = self.map(Interval::point).geometry(self.side()?).ok_or(PIN_ON_AXIS)?;
        RodDrive::new(sure, 0.0, None)
    }

    /// The side of the motor's S in the pose as drawn.
    fn side(&self) -> Result<f64, DriveFault> {
        let circle = Circle::through(self.crank, &self.motor).ok_or(PIN_ON_AXIS)?;
        let way = circle.axis.cross(self.crank - circle.centre);
        Ok(if (self.rocker - self.crank).dot(way) < 0.0 { 1.0 } else { -1.0 })
    }

    /// The seven figures of the drawing with crank and lever angle (rad) of the pose as drawn.
    ///
    /// # Errors
    /// [`DriveFault::Undetermined`] where the joint axis' foot lies on the motor axis, so that there is no ground line.
    pub fn drawing(&self) -> Result<(BallRod, [f64; 2]), DriveFault> {
        let geometry = self.geometry(1.0).ok_or(PIN_ON_AXIS)?;
        let InputEnd::Crank { circle, rod, .. } = geometry.input else { return Err(PIN_ON_AXIS) };
        let between = geometry.joint.centre - circle.centre;
        let flat = between.square_to(circle.axis);
        let no_ground =
            DriveFault::Undetermined("both circles have their centres on the motor axis");
        let x = flat.unit().ok_or(no_ground)?;
        let y = circle.axis.cross(x);
        let m = geometry.joint.axis;
        let [mx, my, mz] = [m.dot(x), m.dot(y), m.dot(circle.axis)];
        let drawing = BallRod {
            ground: flat.length(),
            crank: circle.radius,
            coupler: rod,
            rocker: geometry.joint.radius,
            axial: between.dot(circle.axis),
            twist: libm::atan2(-my, mz),
            lean: libm::atan2(mx, libm::hypot(my, mz)),
        };
        let datum = x.square_to(m).unit().ok_or(NO_DATUM)?;
        let angle = |arm: Vector, axis: Vector, from: Vector| {
            libm::atan2(arm.dot(axis.cross(from)), arm.dot(from))
        };
        let angles = [angle(circle.datum, circle.axis, x), angle(geometry.joint.datum, m, datum)];
        Ok((drawing, angles))
    }
}
