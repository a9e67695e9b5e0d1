//! The linkage's inertia at one pose: exact, for the joint alone, for motion in the plane, and in space.
//!
//! Speeds are those of B, v (three), and of the carrier, ω (three), both in the carrier frame, and the joint rate ψ̇.
//! A part whose frame has its origin at O, turns at r per ψ and holds its centre at C = O + ρ has
//!
//! ```text
//! v_C = v + ω × C + C_ψ ψ̇,   C_ψ = O_ψ + r z × ρ,   C_ψψ = O_ψψ + r_ψ z × ρ − r² ρ (ρ in the plane),   ω_C = ω + r z ψ̇
//! ```
//!
//! so that its kinetic energy ½ (m v_C² + ω_Cᵀ I ω_C) gives, besides the rigid part's own block,
//!
//! ```text
//! (v, ψ): m C_ψ     (ω, ψ): m C × C_ψ + r I z     (ψ, ψ): m C_ψ² + r² I_zz
//! ```
//!
//! Crank: O = A, r = i. Coupler: O = P, r = s, O_ψ = i a e⊥, O_ψψ = a (i_ψ e⊥ − i² e). Child: O = B, r = 1. With
//! ' = d/dφ:  i = 1/ψ',  s = θ'/ψ',  i_ψ = −ψ''/ψ'³,  s_ψ = (θ'' − s ψ'')/ψ'². The rotor turns at n = N i about an axis
//! parallel to z and adds J n to (ω_z, ψ), J n² to (ψ, ψ) and, unless the carrier holds it, J to (ω_z, ω_z).
//! In the plane K, L, W are the entries (ω_z, ω_z), (ω_z, ψ), (ψ, ψ) and H the first moment.
//!
//! With the crank rate for the joint's the same forms hold per crank turn: 1 for i, θ' for s, ψ' for the child's 1; they stay
//! finite where the rocker stands still. Derived here.

use nalgebra::{Complex, Matrix3, SMatrix, Vector3};

use super::body::Body;
use super::masses::Masses;
use super::moments::{Moments, rotation};
use crate::linkage::{Drive, Pose};

/// Mass matrix for (v, ω, ψ̇): rows and columns x, y, z of B's speed, x, y, z of the carrier's angular speed, joint rate; or
/// the crank's rate φ̇ in its place, where that is said.
pub type Matrix7 = SMatrix<f64, 7, 7>;

/// Rates per turn of the joint or of the crank, and their slopes.
#[derive(Clone, Copy, Debug)]
struct Rates {
    crank: f64,
    crank_slope: f64,
    coupler: f64,
    coupler_slope: f64,
    child: f64,
    child_slope: f64,
}

impl Rates {
    fn by(drive: Drive, pose: &Pose) -> Self {
        match drive {
            Drive::Joint => Self::per_joint_turn(pose),
            Drive::Motor => Self::per_crank_turn(pose),
        }
    }

    fn per_crank_turn(pose: &Pose) -> Self {
        Self {
            crank: 1.0,
            crank_slope: 0.0,
            coupler: pose.coupler_rate(),
            coupler_slope: pose.coupler_rate_slope(),
            child: pose.velocity_ratio(),
            child_slope: pose.velocity_ratio_slope(),
        }
    }

    fn per_joint_turn(pose: &Pose) -> Self {
        let i = pose.transmission_ratio();
        let (bend, s) = (pose.velocity_ratio_slope(), pose.coupler_rate() * i);
        Self {
            crank: i,
            crank_slope: -bend * i * i * i,
            coupler: s,
            coupler_slope: (pose.coupler_rate_slope() - s * bend) * i * i,
            child: 1.0,
            child_slope: 0.0,
        }
    }
}

/// Where a part's frame is and how it moves per turn of joint or crank; plane vectors as complex numbers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placement {
    direction: Complex<f64>,
    rate: f64,
    rate_slope: f64,
    origin: Complex<f64>,
    origin_rate: Complex<f64>,
    origin_bend: Complex<f64>,
}

fn complex([re, im]: [f64; 2]) -> Complex<f64> {
    Complex { re, im }
}

fn spatial(plane: Complex<f64>) -> Vector3<f64> {
    Vector3::new(plane.re, plane.im, 0.0)
}

/// The rocker's direction u, as a unit number.
pub(super) fn rocker_direction(pose: &Pose) -> Complex<f64> {
    complex(pose.rocker_vector()) / pose.bars.rocker
}

/// The crank's direction e, as a unit number.
pub(super) fn crank_direction(pose: &Pose) -> Complex<f64> {
    complex(pose.e)
}

/// The coupler's direction, as a unit number.
pub(super) fn coupler_direction(pose: &Pose) -> Complex<f64> {
    let along = complex(pose.coupler_vector());
    along / libm::hypot(along.re, along.im)
}

impl Placement {
    /// A frame at `origin` that only turns, towards `direction` at `rate`.
    fn hinged(origin: Complex<f64>, direction: Complex<f64>, rate: f64, rate_slope: f64) -> Self {
        let still = Complex::default();
        Self { direction, rate, rate_slope, origin, origin_rate: still, origin_bend: still }
    }

    /// A crank that stands in `direction` and turns at `rate`, whatever the linkage's crank does.
    pub(super) fn crank(ground: f64, direction: Complex<f64>, rate: f64) -> Self {
        Self::hinged(Complex { re: -ground, im: 0.0 }, direction, rate, 0.0)
    }

    /// A frame that moves with `origin` and turns evenly, for a mass matrix alone.
    pub(super) fn moving(
        [origin, origin_rate]: [Complex<f64>; 2],
        direction: Complex<f64>,
        rate: f64,
    ) -> Self {
        Self { origin_rate, ..Self::hinged(origin, direction, rate, 0.0) }
    }

    /// Adds `body` in this frame to a mass matrix.
    pub(super) fn add_to(&self, matrix: &mut Matrix7, body: &Body) {
        Placed::of(body, self).add_to(matrix);
    }
}

fn crank_placement(pose: &Pose, rates: &Rates) -> Placement {
    let crank = Placement::crank(pose.bars.ground, crank_direction(pose), rates.crank);
    Placement { rate_slope: rates.crank_slope, ..crank }
}

fn coupler_placement(pose: &Pose, rates: &Rates) -> Placement {
    let (e, a, i) = (crank_direction(pose), pose.bars.crank, rates.crank);
    let across = Complex::<f64>::i() * e;
    Placement {
        direction: coupler_direction(pose),
        rate: rates.coupler,
        rate_slope: rates.coupler_slope,
        origin: e * a - pose.bars.ground,
        origin_rate: across * (a * i),
        origin_bend: across * (a * rates.crank_slope) - e * (a * i * i),
    }
}

fn child_placement(pose: &Pose, rates: &Rates) -> Placement {
    Placement::hinged(Complex::default(), rocker_direction(pose), rates.child, rates.child_slope)
}

/// The moving parts with their placements.
fn moving<'a>(
    pose: &Pose,
    masses: &'a Masses,
    rates: &Rates,
) -> impl Iterator<Item = (&'a Body, Placement)> {
    let crank = masses.crank.as_ref().map(|body| (body, crank_placement(pose, rates)));
    let coupler = masses.coupler.as_ref().map(|body| (body, coupler_placement(pose, rates)));
    crank.into_iter().chain(coupler).chain([(&masses.child, child_placement(pose, rates))])
}

/// A part in the carrier frame.
struct Placed {
    mass: f64,
    centre: Vector3<f64>,
    tensor: Matrix3<f64>,
    rate: f64,
    rate_slope: f64,
    /// C_ψ or C_φ.
    velocity: Vector3<f64>,
    /// Its slope.
    bend: Vector3<f64>,
}

impl Placed {
    fn of(body: &Body, at: &Placement) -> Self {
        let turn = rotation(at.direction);
        let arm = turn * body.centre;
        let across = Vector3::new(-arm.y, arm.x, 0.0);
        let inward = Vector3::new(-arm.x, -arm.y, 0.0);
        Self {
            mass: body.mass,
            centre: spatial(at.origin) + arm,
            tensor: turn * body.tensor() * turn.transpose(),
            rate: at.rate,
            rate_slope: at.rate_slope,
            velocity: spatial(at.origin_rate) + at.rate * across,
            bend: spatial(at.origin_bend) + at.rate_slope * across + at.rate * at.rate * inward,
        }
    }

    fn moments(&self) -> Moments {
        let about_centre = Moments { inertia: self.tensor, ..Moments::default() };
        Moments::point(self.mass, self.centre) + about_centre
    }

    /// Adds the part to a mass matrix.
    fn add_to(&self, matrix: &mut Matrix7) {
        let linear = self.mass * self.velocity;
        let angular = self.centre.cross(&linear) + self.rate * self.tensor.column(2);
        let joint = linear.dot(&self.velocity) + self.rate * self.rate * self.tensor.m33;
        add_rigid(matrix, &self.moments());
        add_joint(matrix, &linear, &angular, joint);
    }
}

/// Adds what a body rigid in the carrier weighs.
pub(super) fn add_rigid(matrix: &mut Matrix7, moments: &Moments) {
    let mut block = matrix.fixed_view_mut::<6, 6>(0, 0);
    block += moments.mass_matrix();
}

/// Adds the seventh speed's row and column.
pub(super) fn add_joint(
    matrix: &mut Matrix7,
    linear: &Vector3<f64>,
    angular: &Vector3<f64>,
    joint: f64,
) {
    for (row, value) in linear.iter().chain(angular).enumerate() {
        for at in [(row, 6), (6, row)] {
            if let Some(entry) = matrix.get_mut(at) {
                *entry += value;
            }
        }
    }
    if let Some(entry) = matrix.get_mut((6, 6)) {
        *entry += joint;
    }
}

/// The linkage's mass matrix for (v, ω, ψ̇) at `pose`, without [`Masses::carried`]; what is not known of a tensor counts
/// as zero, so that only the plane's entries hold then.
#[must_use]
pub fn mass_matrix(pose: &Pose, masses: &Masses) -> Matrix7 {
    mass_matrix_by(Drive::Joint, pose, masses)
}

/// The same, the seventh speed being that of `drive`: the joint's rate ψ̇ or the crank's φ̇.
#[must_use]
pub fn mass_matrix_by(drive: Drive, pose: &Pose, masses: &Masses) -> Matrix7 {
    let rates = Rates::by(drive, pose);
    let mut matrix = Matrix7::zeros();
    for (body, at) in moving(pose, masses, &rates) {
        at.add_to(&mut matrix, body);
    }
    if let Some(carrier) = &masses.carrier {
        add_rigid(&mut matrix, &carrier.into());
    }
    let (inertia, turns) = (masses.rotor_inertia(), masses.gear_ratio() * rates.crank);
    let along = Vector3::new(0.0, 0.0, inertia * turns);
    add_rigid(&mut matrix, &Moments::about_z(masses.rotor_beside_carrier()));
    add_joint(&mut matrix, &Vector3::zeros(), &along, inertia * turns * turns);
    matrix
}

/// The linkage's inertia in the plane at one pose, and its slopes per joint turn. Kinetic energy with B at rest:
/// ½ (K α̇² + 2 L α̇ ψ̇ + W ψ̇²), α̇ the carrier's angular speed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct JointInertia {
    /// K: carrier and all that it holds about B, kg m²; the moving parts' alone where the carrier is not known.
    pub carrier: f64,
    /// L: carrier against joint, kg m².
    pub coupling: f64,
    /// W: the joint with the carrier fixed, kg m².
    pub joint: f64,
    /// H: first moment about B in the carrier frame, kg m.
    pub first_moment: [f64; 2],
    /// K_ψ, kg m²/rad.
    pub carrier_slope: f64,
    /// L_ψ, kg m²/rad.
    pub coupling_slope: f64,
    /// W_ψ, kg m²/rad.
    pub joint_slope: f64,
    /// H_ψ, kg m/rad: times the acceleration of gravity, across it, the torque of weight at the joint.
    pub first_moment_slope: [f64; 2],
}

impl JointInertia {
    fn add(&mut self, part: &Placed) {
        let (m, r, rise, about) = (part.mass, part.rate, part.rate_slope, part.tensor.m33);
        let (c, v, bend) = (part.centre.xy(), part.velocity.xy(), part.bend.xy());
        self.carrier += m * c.norm_squared() + about;
        self.coupling += m * c.perp(&v) + about * r;
        self.joint += m * v.norm_squared() + about * r * r;
        self.carrier_slope += 2.0 * m * c.dot(&v);
        self.coupling_slope += m * c.perp(&bend) + about * rise;
        self.joint_slope += 2.0 * (m * v.dot(&bend) + about * r * rise);
        let [hx, hy] = &mut self.first_moment;
        (*hx, *hy) = (*hx + m * c.x, *hy + m * c.y);
        let [dx, dy] = &mut self.first_moment_slope;
        (*dx, *dy) = (*dx + m * v.x, *dy + m * v.y);
    }

    fn add_rotor(&mut self, masses: &Masses, rates: &Rates) {
        let (inertia, gear) = (masses.rotor_inertia(), masses.gear_ratio());
        let (turns, rise) = (gear * rates.crank, gear * rates.crank_slope);
        self.carrier += masses.rotor_beside_carrier();
        self.coupling += inertia * turns;
        self.joint += inertia * turns * turns;
        self.coupling_slope += inertia * rise;
        self.joint_slope += 2.0 * inertia * turns * rise;
    }

    fn add_carrier(&mut self, carrier: &Body) {
        let moments = Moments::from(carrier);
        self.carrier += moments.inertia.m33;
        let [hx, hy] = &mut self.first_moment;
        (*hx, *hy) = (*hx + moments.first.x, *hy + moments.first.y);
    }
}

/// K, L, W, H and their slopes at `pose`, without [`Masses::carried`].
///
/// # Examples
/// ```
/// use unloop::dynamics::{Body, Inertia, Masses, Rotor, joint_inertia};
/// use unloop::linkage::{Closure, FourBar};
/// let child = Body { mass: 0.9, centre: [0.03, -0.05, 0.0].into(), inertia: Inertia::AboutAxis(2e-3) };
/// let rotor = Some(Rotor { inertia: 1.5e-4, gear_ratio: 7.75, in_carrier: true });
/// let masses = Masses { crank: None, coupler: None, child, carrier: None, carried: None, rotor };
/// let pose = FourBar { ground: 0.3, crank: 0.04, coupler: 0.3, rocker: 0.04 }.at(1.2, Closure::Open)?;
/// let plain = 2e-3 + 0.9 * (0.03_f64.powi(2) + 0.05_f64.powi(2)) + 7.75_f64.powi(2) * 1.5e-4;
/// assert!((joint_inertia(&pose, &masses).joint - plain).abs() < 1e-15);
/// # Ok::<(), unloop::linkage::LinkageFault>(())
/// ```
#[must_use]
pub fn joint_inertia(pose: &Pose, masses: &Masses) -> JointInertia {
    let (mut sum, rates) = (JointInertia::default(), Rates::per_joint_turn(pose));
    for (body, at) in moving(pose, masses, &rates) {
        sum.add(&Placed::of(body, &at));
    }
    sum.add_rotor(masses, &rates);
    if let Some(carrier) = &masses.carrier {
        sum.add_carrier(carrier);
    }
    sum
}
