//! The counter-turning pair: what stands in for a finger whose coupler carries the pad.
//!
//! ```text
//! palm (carrier) ── hinge at A, the motor's ── crank ── hinge at P, turning by m (φ − φ₀) ── coupler with the pad
//! ```
//!
//! The rocker is gone. Crank angle and crank rate are the linkage's at every pose; the coupler is where the linkage has it but
//! for its attitude, which is its zero attitude turned by (m + 1)(φ − φ₀): none for m = −1.
//!
//! **Parallelogram.** The rocker turns as the crank does, so that with ω' = ω + z φ̇ its energy is ½ m v² + v·(ω' × h) +
//! ½ ω' I_B ω', h = ∫ρ r from B, v the speed of B. The crank has h and I_B without the mass, about A, the palm the mass at B: the
//! same but for v_A = v + ω × A in place of v. What the tree lacks is (ω × R)·(ω' × h) with R = B − A, the rest that
//! `parallel` speaks of, k = R·h turned by φ: twice k in the palm's own inertia, k in its coupling to the crank, nothing where
//! h = 0, that is with the rocker's centre on B, and nothing with the palm at rest or moving without turning. Its
//! mid-range goes in as there. The coupler is in the tree as it is.
//!
//! **Any other four-bar.** What the linkage has beyond the coupler of the tree is taken about A and shared out between palm,
//! crank and armature by means over the crank angle, as `averaged` does between carrier and child over the joint angle.
//!
//! The rotor turns N times as far as the crank, as with a joint of ratio 1: J N on the crank, −J N on the palm (and J where that
//! does not hold it), armature J (N² − N). A second finger that the same motor turns has none ([`Masses::mirrored`]). Derived here.

use nalgebra::{Complex, Vector3};

use super::averaged::{Sample, Samples};
use super::body::Body;
use super::counterweight::in_plane;
use super::crank_stroke::CrankStroke;
use super::fault::DynamicsFault;
use super::fidelity::StandIn;
use super::masses::Masses;
use super::moments::Moments;
use super::parallel::{Rest, is_parallel};
use super::reflected::{
    Matrix7, Placement, add_joint, add_rigid, coupler_direction, crank_direction, mass_matrix_by,
    rocker_direction,
};
use super::tree::{Draft, in_plane_inertia, twist_of};
use crate::linkage::{Drive, LinkageFault, Pose};

/// Palm, crank and coupler of the counter-turning pair; crank and coupler are real bodies, and the palm where it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CounterPair {
    /// The palm in the carrier frame, about B; where it is not known, only what is to be added to it.
    pub carrier: Moments,
    /// To be added to the palm's own moments, in the carrier frame.
    pub carrier_patch: Moments,
    /// In the crank frame.
    pub crank: Body,
    /// To be added to the crank's own moments, in the crank frame.
    pub crank_patch: Moments,
    /// The coupler with the pad, as given, in the coupler frame; `None` where it weighs nothing.
    pub coupler: Option<Body>,
    /// On the hinge at A, kg m².
    pub armature: f64,
    /// m: turn of the hinge at P per turn of that at A.
    pub follower_rate: f64,
    /// θ in the zero pose, rad.
    pub zero_coupler: f64,
    /// The parallelogram's form was used, exact but for k; else means over the stroke.
    pub is_parallel: bool,
    /// What the exact bodies lack, where inertia had to be moved between palm and crank for both to be real.
    pub lacking: Option<DynamicsFault>,
    /// Are the whole tensors known? Else only z entries and centres in the plane hold.
    pub is_spatial: bool,
}

impl CounterPair {
    /// The pair that stands in for the linkage with `masses` over `stroke`, its follower turning by `follower_rate` (m) per
    /// turn of the crank: `masses.child` is the rocker, `masses.coupler` finger and pad.
    ///
    /// Where the palm is not known, mass cannot be moved to the crank; the crank alone is held to be a real body.
    ///
    /// # Errors
    /// [`DynamicsFault::NegativeArmature`] where the rotor's share asks for one; [`DynamicsFault::NoRealBody`] of "carrier" or
    /// "crank"; a pose that cannot be reached.
    ///
    /// # Examples
    /// ```
    /// use unloop::dynamics::{Body, CounterPair, CrankStroke, Inertia, Masses, fidelity};
    /// use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke};
    /// let bars = FourBar { ground: 0.02, crank: 0.04, coupler: 0.02, rocker: 0.04 };
    /// let branch = Branch::through(bars, 1.5, Closure::Open)?;
    /// let stroke = CrankStroke::over(&branch, Stroke::on(&branch, Drive::Motor, [-0.5, 0.5])?)?;
    /// let bar = |mass, x: f64, about| Body {
    ///     mass, centre: [x, 0.0, 0.0].into(), inertia: Inertia::AboutAxis(about),
    /// };
    /// let masses = Masses {
    ///     crank: Some(bar(0.01, 0.02, 2e-6)),
    ///     coupler: Some(bar(0.03, 0.01, 1e-5)),
    ///     child: bar(0.01, 0.0, 2e-6),
    ///     carrier: Some(bar(0.4, -0.03, 3e-4)),
    ///     carried: None,
    ///     rotor: None,
    /// };
    /// let pair = CounterPair::of(&stroke, &masses, -1.0)?;
    /// let error = fidelity(&stroke, &masses, &pair).planar.ok_or("no palm")?;
    /// assert!(pair.is_parallel && error.value < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of(
        stroke: &CrankStroke<'_>,
        masses: &Masses,
        follower_rate: f64,
    ) -> Result<Self, DynamicsFault> {
        let along = coupler_direction(&stroke.pose(0.0)?);
        let follower = Follower { rate: follower_rate, zero: libm::atan2(along.im, along.re) };
        let is_parallel = is_parallel(stroke) && follower.keeps_attitude();
        let draft = if is_parallel {
            parallel(stroke, masses)
        } else {
            averaged(stroke, masses, &follower)?
        };
        let (tree, lacking) = draft.real("crank", masses)?;
        let is_spatial = masses.are_spatial();
        let body = |m: Moments| if is_spatial { m.body() } else { m.planar_body() };
        let carrier = tree.carrier.about(-motor_axis(stroke));
        Ok(Self {
            carrier,
            carrier_patch: carrier - masses.carrier_moments(),
            crank: body(tree.child),
            crank_patch: tree.child - crank_moments(masses),
            coupler: masses.coupler,
            armature: tree.armature,
            follower_rate,
            zero_coupler: follower.zero,
            is_parallel,
            lacking,
            is_spatial,
        })
    }

    /// The same among `among` fingers on one palm, each of which takes mass from its own share of it where that will do: then
    /// what is left of the palm is a real body with the patches of all.
    ///
    /// # Errors
    /// As [`CounterPair::of`].
    pub fn among(
        stroke: &CrankStroke<'_>,
        masses: &Masses,
        follower_rate: f64,
        among: u32,
    ) -> Result<Self, DynamicsFault> {
        match Self::of(stroke, &masses.sharing_carrier(among), follower_rate) {
            Ok(sharing) => Ok(sharing.on(masses)),
            Err(_) => Self::of(stroke, masses, follower_rate),
        }
    }

    /// The same patch on another palm, that of `masses`.
    #[must_use]
    pub fn on(&self, masses: &Masses) -> Self {
        Self { carrier: masses.carrier_moments() + self.carrier_patch, ..*self }
    }

    /// The palm as a body, in the carrier frame.
    #[must_use]
    pub fn carrier(&self) -> Body {
        if self.is_spatial { self.carrier.body() } else { self.carrier.planar_body() }
    }
}

impl StandIn for CounterPair {
    fn mass_matrix(&self, pose: &Pose, turn: f64) -> Matrix7 {
        let follower = Follower { rate: self.follower_rate, zero: self.zero_coupler };
        let mut matrix = Matrix7::zeros();
        add_rigid(&mut matrix, &self.carrier);
        let crank = Placement::crank(pose.bars.ground, crank_direction(pose), 1.0);
        crank.add_to(&mut matrix, &self.crank);
        follower.add_to(&mut matrix, self.coupler.as_ref(), pose, turn);
        let still = Vector3::zeros();
        add_joint(&mut matrix, &still, &still, self.armature);
        matrix
    }

    fn counts_by(&self) -> Drive {
        Drive::Motor
    }
}

/// How the coupler turns in the tree.
struct Follower {
    rate: f64,
    zero: f64,
}

impl Follower {
    fn keeps_attitude(&self) -> bool {
        (self.rate + 1.0).abs() < 1e-9
    }

    /// Adds the coupler at P, turned by (m + 1) `turn` from its zero attitude.
    fn add_to(&self, matrix: &mut Matrix7, coupler: Option<&Body>, pose: &Pose, turn: f64) {
        let Some(coupler) = coupler else { return };
        let (rate, e) = (self.rate + 1.0, crank_direction(pose) * Complex::from(pose.bars.crank));
        let (im, re) = libm::sincos(self.zero + rate * turn);
        let pin = [e - pose.bars.ground, Complex::<f64>::i() * e];
        Placement::moving(pin, Complex { re, im }, rate).add_to(matrix, coupler);
    }
}

fn crank_moments(masses: &Masses) -> Moments {
    masses.crank.as_ref().map(Moments::from).unwrap_or_default()
}

/// A seen from B.
fn motor_axis(stroke: &CrankStroke<'_>) -> Vector3<f64> {
    Vector3::new(-stroke.branch().bars().ground, 0.0, 0.0)
}

/// Palm and crank of a parallelogram, both about A.
fn parallel(stroke: &CrankStroke<'_>, masses: &Masses) -> Draft {
    let (rotor, rocker) = (masses.rotor_split(), &masses.child);
    let at_b = Moments::point(rocker.mass, Vector3::new(0.0, 0.0, rocker.centre.z));
    let palm = masses.carrier_moments() + rotor.carrier + at_b;
    let mut rest = Rest::default();
    rest.add(stroke.branch().bars().ground.into(), in_plane(rocker) * rocker.mass);
    let moved = Moments::from(rocker) - at_b;
    rest.into_tree(
        stroke,
        masses,
        palm.about(motor_axis(stroke)),
        crank_moments(masses) + moved + rotor.turning,
    )
}

/// Palm and crank of any other linkage, both about A.
fn averaged(
    stroke: &CrankStroke<'_>,
    masses: &Masses,
    follower: &Follower,
) -> Result<Draft, LinkageFault> {
    let to_a = speeds_at(motor_axis(stroke));
    let sample = |(turn, pose, weight): (f64, Pose, f64)| {
        let mut coupler = Matrix7::zeros();
        follower.add_to(&mut coupler, masses.coupler.as_ref(), &pose, turn);
        let left = mass_matrix_by(Drive::Motor, &pose, masses) - coupler;
        Sample { weight, direction: crank_direction(&pose), matrix: to_a.transpose() * left * to_a }
    };
    let samples = Samples(stroke.weighted_turns(|_| 1.0)?.into_iter().map(sample).collect());
    let (tree, unbounded) = samples.tree(&crank_guess(stroke, masses)?);
    let (rotor, turns) = (masses.rotor_split().armature, masses.gear_ratio());
    Ok(Draft { tree, unbounded, rotor, turns })
}

/// Takes (speed of the point at `place`, ω, rate) to (speed of B, ω, rate).
fn speeds_at(place: Vector3<f64>) -> Matrix7 {
    let mut speeds = Matrix7::identity();
    speeds.fixed_view_mut::<3, 3>(0, 3).copy_from(&place.cross_matrix());
    speeds
}

/// The crank's first guess: its own, and of the rocker's (xx − yy)/2 + 1j xy, which turns by e^{2j ψ}, what value and slope at
/// mid-stroke ask of something that turns by e^{2j φ}: ψ' times it.
fn crank_guess(stroke: &CrankStroke<'_>, masses: &Masses) -> Result<Moments, LinkageFault> {
    let [from, to] = stroke.ends();
    let pose = stroke.pose(0.5 * (from + to))?;
    let rocker = Moments::from(&masses.child);
    let ahead = rocker_direction(&pose) / crank_direction(&pose);
    let twist = twist_of(&rocker) * ahead * ahead * pose.velocity_ratio();
    let half_trace = 0.5 * (rocker.inertia.m11 + rocker.inertia.m22);
    Ok(crank_moments(masses) + in_plane_inertia(half_trace, twist))
}
