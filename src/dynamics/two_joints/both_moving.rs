//! The bodies of two rods on a universal joint, how each moves with pitch and roll, and their mass matrix.
//!
//! ```text
//! middle  turns with pitch about a₁                 child   turns with roll about a₂ as well
//! crank   origin on the motor axis, z along it, x to P      rod     origin P, x to Q
//! housing of an actuator: origin A, x to Q; of a slider: the guide's point, x along it, still
//! nut     of an actuator: origin Q, x from A; of a slider: origin P, x along the guide
//! ```
//!
//! A body whose frame has its origin at O, moves at O_j and Ω_j per rate of joint j, and holds its centre at C = O + ρ has
//! C_j = O_j + Ω_j × ρ and
//!
//! ```text
//! (v, j): m C_j     (ω, j): m C × C_j + I Ω_j     (j, k): m C_j·C_k + Ω_j·I Ω_k
//! crank: Ω_j = J_j n     rod: Ω_j = w × w_j/|w|²,  w_j = Q_j − P_j,  P_j = v ∂s/∂q_j
//! ```
//!
//! z of rod, housing and nut lies as near the pitch axis as it can. A rod between two balls turns about its own line as it likes;
//! **it is taken not to**: its angular speed against the carrier is square to the rod. So are housing and nut of an
//! actuator. A rotor turns at n_j = N J_j about the motor's unit axis k against the carrier, of an actuator about its line
//! against the housing, and adds J n_j k to (ω, j), J n_j n_k to (j, k). Derived here.

use nalgebra::{Isometry3, Matrix3, Rotation3, SMatrix, UnitQuaternion, Vector3};

use super::super::body::Body;
use super::super::masses::Rotor;
use super::super::moments::Moments;
use crate::drive::{DriveFault, InputEnd, RodsOnUniversal, TwoRods, TwoRodsPose, Vector};

/// Mass matrix for (v, ω, pitch rate, roll rate): v the speed of the carrier frame's origin, ω the carrier's angular speed,
/// both in the carrier's frame.
pub type Matrix8 = SMatrix<f64, 8, 8>;

/// What moves with one motor's rod; what the leg does not have weighs nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LegParts {
    /// In the crank's frame.
    pub crank: Option<Body>,
    /// In the rod's frame.
    pub rod: Option<Body>,
    /// Of an actuator or a guide, in its own frame.
    pub housing: Option<Body>,
    /// What a screw shifts, in its own frame.
    pub nut: Option<Body>,
    /// The rotor, where the motor is known.
    pub rotor: Option<Rotor>,
}

/// The parts of two rods on a universal joint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoJointParts {
    /// Of the first and the second motor.
    pub legs: [LegParts; 2],
    /// The link between both joints' axes, in the carrier's frame in the zero pose; `None`: it weighs nothing.
    pub middle: Option<Body>,
    /// The foot or hand, in the carrier's frame in the zero pose.
    pub child: Body,
    /// The carrier, in its frame; `None`: only figures with the carrier fixed can be told.
    pub carrier: Option<Body>,
}

impl TwoJointParts {
    /// With every moving part of the legs that is known about the axis alone taken as a slender bar.
    #[must_use]
    pub fn with_bars(&self) -> Self {
        let bar = |body: Option<Body>| body.map(|body| body.as_bar());
        let legs = self.legs.map(|leg| LegParts {
            crank: bar(leg.crank),
            rod: bar(leg.rod),
            housing: bar(leg.housing),
            nut: bar(leg.nut),
            rotor: leg.rotor,
        });
        Self { legs, ..*self }
    }

    /// Are the whole tensors of all given bodies known, the carrier's among them?
    #[must_use]
    pub fn are_spatial(&self) -> bool {
        let known = |body: &Option<Body>| body.as_ref().is_none_or(Body::is_spatial);
        let of_leg = |leg: &LegParts| [leg.crank, leg.rod, leg.housing, leg.nut].iter().all(known);
        let links = [Some(self.child), self.middle, self.carrier];
        self.carrier.is_some() && self.legs.iter().all(of_leg) && links.iter().all(known)
    }
}

/// A body's frame and how it moves per unit of each joint's rate.
#[derive(Clone, Copy, Debug)]
pub(super) struct BothMoving {
    /// m.
    pub(super) origin: Vector3<f64>,
    /// Columns: its x, y, z.
    pub(super) axes: Matrix3<f64>,
    ways: [Vector3<f64>; 2],
    spins: [Vector3<f64>; 2],
}

/// What turns about the motor's axis in one leg: unit axis, motor turns per turn of each joint.
#[derive(Clone, Copy, Debug)]
pub(super) struct MotorTurning {
    pub(super) axis: Vector3<f64>,
    pub(super) rates: [f64; 2],
}

/// The frames of one leg's bodies.
#[derive(Clone, Copy, Debug)]
pub(super) struct LegFrames {
    crank: Option<BothMoving>,
    pub(super) rod: Option<BothMoving>,
    housing: Option<BothMoving>,
    nut: Option<BothMoving>,
    motor: MotorTurning,
    /// From P to Q, m.
    pub(super) length: f64,
}

/// The frames of all bodies at one pose.
#[derive(Clone, Copy, Debug)]
pub(super) struct AllFrames {
    pub(super) legs: [LegFrames; 2],
    pub(super) middle: BothMoving,
    pub(super) child: BothMoving,
}

pub(super) fn vector(v: Vector) -> Vector3<f64> {
    Vector3::new(v.x, v.y, v.z)
}

/// The axes whose x is `x` and whose z lies as near `axis` as it can.
fn beside(x: &Vector3<f64>, axis: &Vector3<f64>) -> Matrix3<f64> {
    let square = axis - x * x.dot(axis);
    let across = || x.cross(&Vector3::ith_axis(x.iamin())).normalize();
    let z = square.try_normalize(1e-9).unwrap_or_else(across);
    Matrix3::from_columns(&[*x, z.cross(x), z])
}

impl BothMoving {
    /// The carrier's own frame.
    pub(super) fn still() -> Self {
        let none = [Vector3::zeros(); 2];
        Self { origin: Vector3::zeros(), axes: Matrix3::identity(), ways: none, spins: none }
    }

    /// Adds `body` in this frame to a mass matrix.
    fn add_to(&self, matrix: &mut Matrix8, body: &Body) {
        self.add_moments_to(matrix, &body.into());
    }

    /// The same of moments about this frame's origin.
    pub(super) fn add_moments_to(&self, matrix: &mut Matrix8, own: &Moments) {
        let (mass, first) = (own.mass, self.axes * own.first);
        let inertia = self.axes * own.inertia * self.axes.transpose();
        let turned = Moments { mass, first, inertia };
        add_rigid(matrix, &turned.about(-self.origin));
        let column = |way: &Vector3<f64>, spin: &Vector3<f64>| {
            let linear = mass * way + spin.cross(&first);
            let own_angular = first.cross(way) + inertia * spin;
            (linear, own_angular)
        };
        let ([w0, w1], [s0, s1]) = (&self.ways, &self.spins);
        let (one, two) = (column(w0, s0), column(w1, s1));
        let about_origin = |(linear, own): &(Vector3<f64>, Vector3<f64>)| {
            (*linear, self.origin.cross(linear) + own)
        };
        let energy =
            |way: &Vector3<f64>, spin: &Vector3<f64>, of: &(Vector3<f64>, Vector3<f64>)| {
                way.dot(&of.0) + spin.dot(&of.1)
            };
        let joints = [energy(w0, s0, &one), energy(w0, s0, &two), energy(w1, s1, &two)];
        add_joints(matrix, [about_origin(&one), about_origin(&two)], joints);
    }
}

fn add_rigid(matrix: &mut Matrix8, moments: &Moments) {
    let mut block = matrix.fixed_view_mut::<6, 6>(0, 0);
    block += moments.mass_matrix();
}

/// Adds both joints' columns (linear, angular) and rows, and (p, p), (p, r), (r, r).
fn add_joints(
    matrix: &mut Matrix8,
    columns: [(Vector3<f64>, Vector3<f64>); 2],
    [pp, pr, rr]: [f64; 3],
) {
    for (joint, (linear, angular)) in (6..).zip(&columns) {
        for (row, value) in linear.iter().chain(angular).enumerate() {
            for at in [(row, joint), (joint, row)] {
                if let Some(entry) = matrix.get_mut(at) {
                    *entry += value;
                }
            }
        }
    }
    for (at, value) in [((6, 6), pp), ((6, 7), pr), ((7, 6), pr), ((7, 7), rr)] {
        if let Some(entry) = matrix.get_mut(at) {
            *entry += value;
        }
    }
}

impl MotorTurning {
    fn add_rotor(&self, matrix: &mut Matrix8, rotor: &Rotor) {
        let axis = self.axis;
        let beside = if rotor.in_carrier { 0.0 } else { rotor.inertia };
        let inertia = axis * axis.transpose() * beside;
        add_rigid(matrix, &Moments { inertia, ..Moments::default() });
        let [p, r] = self.rates.map(|rate| rate * rotor.gear_ratio);
        let column = |turns: f64| (Vector3::zeros(), axis * (rotor.inertia * turns));
        let joints = [p * p, p * r, r * r].map(|turns| turns * rotor.inertia);
        add_joints(matrix, [column(p), column(r)], joints);
    }
}

impl AllFrames {
    /// At the joint turns `joints`, rad.
    pub(super) fn at(drive: &TwoRods, joints: [f64; 2]) -> Result<Self, DriveFault> {
        let (pose, geometry) = (drive.pose(joints)?, drive.geometry());
        let [one, two] = &geometry.legs;
        let a1 = vector(geometry.pitch.direction);
        let leg = |k: usize, input: &InputEnd| Leg { pose: &pose, k, input, a1 }.frames();
        let [middle, child] = links(geometry, joints);
        let out = DriveFault::Undetermined("a leg has no pose");
        let legs = [leg(0, &one.input).ok_or(out)?, leg(1, &two.input).ok_or(out)?];
        Ok(Self { legs, middle, child })
    }

    /// The mass matrix of `parts` without the carrier.
    pub(super) fn matrix(&self, parts: &TwoJointParts) -> Matrix8 {
        let mut matrix = Matrix8::zeros();
        for (frames, own) in self.legs.iter().zip(&parts.legs) {
            frames.add_to(&mut matrix, own);
        }
        if let Some(middle) = &parts.middle {
            self.middle.add_to(&mut matrix, middle);
        }
        self.child.add_to(&mut matrix, &parts.child);
        if let Some(carrier) = &parts.carrier {
            BothMoving::still().add_to(&mut matrix, carrier);
        }
        matrix
    }
}

impl LegFrames {
    fn add_to(&self, matrix: &mut Matrix8, parts: &LegParts) {
        let pairs = [
            (&self.crank, &parts.crank),
            (&self.rod, &parts.rod),
            (&self.housing, &parts.housing),
            (&self.nut, &parts.nut),
        ];
        for (frame, body) in pairs {
            if let (Some(frame), Some(body)) = (frame, body) {
                frame.add_to(matrix, body);
            }
        }
        if let Some(rotor) = &parts.rotor {
            self.motor.add_rotor(matrix, rotor);
        }
    }

    /// The motor's unit axis.
    pub(super) fn motor_axis(&self) -> Vector3<f64> {
        self.motor.axis
    }

    /// The leg's bodies as the carrier sees them, about its frame's origin, by what bears them in the tree: what goes to the
    /// child (the rod's share at Q, an actuator's nut), and all.
    pub(super) fn shares(&self, parts: &LegParts) -> [Moments; 2] {
        let placed = |frame: &Option<BothMoving>, body: &Option<Body>| match (frame, body) {
            (Some(frame), Some(body)) => frame.placed(body),
            _ => Moments::default(),
        };
        let rod = placed(&self.rod, &parts.rod);
        let nut = placed(&self.nut, &parts.nut);
        let all =
            placed(&self.crank, &parts.crank) + rod + placed(&self.housing, &parts.housing) + nut;
        let child = match (&self.rod, &parts.rod) {
            (Some(frame), Some(body)) => {
                let q = frame.origin + frame.axes.column(0) * self.length;
                Moments::point(body.mass * body.centre.x / self.length, q)
            }
            _ => nut,
        };
        [child, all]
    }
}

impl BothMoving {
    fn placed(&self, body: &Body) -> Moments {
        let own = Moments::from(body);
        let inertia = self.axes * own.inertia * self.axes.transpose();
        Moments { mass: own.mass, first: self.axes * own.first, inertia }.about(-self.origin)
    }
}

/// The frames of middle link and child: the carrier's own in the zero pose, moved along.
fn links(geometry: &RodsOnUniversal, [pitch, roll]: [f64; 2]) -> [BothMoving; 2] {
    let (o1, o2) = (vector(geometry.pitch.point), vector(geometry.roll.point));
    let (a1, a2) = (vector(geometry.pitch.direction), vector(geometry.roll.direction));
    let turn = |axis: &Vector3<f64>, angle: f64| {
        let (sine, cosine) = libm::sincos(angle);
        let along = axis * axis.transpose();
        along + (Matrix3::identity() - along) * cosine + axis.cross_matrix() * sine
    };
    let (by_pitch, by_roll) = (turn(&a1, pitch), turn(&a2, roll));
    let origin = o1 - by_pitch * o1;
    let still = Vector3::zeros();
    let middle = BothMoving {
        origin,
        axes: by_pitch,
        ways: [a1.cross(&(origin - o1)), still],
        spins: [a1, still],
    };
    let (roll_axis, roll_point) = (by_pitch * a2, o1 + by_pitch * (o2 - o1));
    let origin = o1 + by_pitch * (o2 - o1 - by_roll * o2);
    let child = BothMoving {
        origin,
        axes: by_pitch * by_roll,
        ways: [a1.cross(&(origin - o1)), roll_axis.cross(&(origin - roll_point))],
        spins: [a1, roll_axis],
    };
    [middle, child]
}

/// One leg at one pose.
struct Leg<'a> {
    pose: &'a TwoRodsPose,
    k: usize,
    input: &'a InputEnd,
    a1: Vector3<f64>,
}

impl Leg<'_> {
    fn frames(&self) -> Option<LegFrames> {
        let reached = self.pose.rods.get(self.k)?;
        let rates = *self.pose.jacobian.get(self.k)?;
        let ends = self.pose.ways.get(self.k)?.map(vector);
        let gain = *self.pose.gains.get(self.k)?;
        let pin = rates.map(|rate| vector(reached.velocity) * (rate / gain));
        let rod = self.rod(pin, ends)?;
        let with = |axis| LegFrames {
            crank: None,
            rod: None,
            housing: None,
            nut: None,
            motor: MotorTurning { axis, rates },
            length: reached.length,
        };
        Some(match self.input {
            InputEnd::Crank { circle, .. } => {
                let axis = vector(circle.axis);
                let x = vector(reached.pin - circle.centre).normalize();
                let crank = BothMoving {
                    origin: vector(circle.centre),
                    axes: Matrix3::from_columns(&[x, axis.cross(&x), axis]),
                    ways: [Vector3::zeros(); 2],
                    spins: rates.map(|rate| axis * rate),
                };
                LegFrames { crank: Some(crank), rod: Some(rod), ..with(axis) }
            }
            InputEnd::Slide { point, direction, .. } => {
                let along = vector(*direction);
                let axes = beside(&along, &self.a1);
                let housing = BothMoving { origin: vector(*point), axes, ..BothMoving::still() };
                let nut = BothMoving { origin: rod.origin, ways: pin, ..housing };
                let (housing, nut) = (Some(housing), Some(nut));
                LegFrames { rod: Some(rod), housing, nut, ..with(along) }
            }
            InputEnd::Actuator { .. } => {
                let foot = vector(*self.pose.feet.get(self.k)?);
                let nut = BothMoving { origin: foot, ways: ends, ..rod };
                let along = rod.axes.column(0).into_owned();
                LegFrames { housing: Some(rod), nut: Some(nut), ..with(along) }
            }
        })
    }

    fn rod(&self, pin: [Vector3<f64>; 2], ends: [Vector3<f64>; 2]) -> Option<BothMoving> {
        let reached = self.pose.rods.get(self.k)?;
        let w = vector(reached.rod);
        let ([p0, p1], [q0, q1]) = (pin, ends);
        let spin = |change: Vector3<f64>| w.cross(&change) / w.norm_squared();
        Some(BothMoving {
            origin: vector(reached.pin),
            axes: beside(&w.normalize(), &self.a1),
            ways: pin,
            spins: [spin(q0 - p0), spin(q1 - p1)],
        })
    }
}

/// Where the frames of one leg's bodies stand in the carrier's; `None` of those that it does not have.
#[derive(Clone, Copy, Debug)]
pub struct LegPlaces {
    /// Of the crank.
    pub crank: Option<Isometry3<f64>>,
    /// Of the rod.
    pub rod: Option<Isometry3<f64>>,
    /// Of an actuator or a guide.
    pub housing: Option<Isometry3<f64>>,
    /// Of what a screw shifts.
    pub nut: Option<Isometry3<f64>>,
}

/// Where both legs' bodies stand at the joint turns `joints`, rad.
///
/// # Errors
/// [`DriveFault::CannotReach`].
pub fn leg_places(drive: &TwoRods, joints: [f64; 2]) -> Result<[LegPlaces; 2], DriveFault> {
    let place = |frame: BothMoving| {
        let axes = Rotation3::from_matrix_unchecked(frame.axes);
        let turn = UnitQuaternion::from_rotation_matrix(&axes);
        Isometry3::from_parts(frame.origin.into(), turn)
    };
    let of = |leg: LegFrames| LegPlaces {
        crank: leg.crank.map(place),
        rod: leg.rod.map(place),
        housing: leg.housing.map(place),
        nut: leg.nut.map(place),
    };
    Ok(AllFrames::at(drive, joints)?.legs.map(of))
}

/// The drive's mass matrix for (v, ω, pitch rate, roll rate) at the joint turns `joints`, rad; what is not known of a tensor
/// counts as zero, a missing carrier weighs nothing.
///
/// # Errors
/// [`DriveFault::CannotReach`].
pub fn two_joint_mass_matrix(
    drive: &TwoRods,
    parts: &TwoJointParts,
    joints: [f64; 2],
) -> Result<Matrix8, DriveFault> {
    Ok(AllFrames::at(drive, joints)?.matrix(parts))
}
