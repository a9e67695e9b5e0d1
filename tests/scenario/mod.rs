//! Invented designs with invented findings, and the joints that they must become, worked out by hand.

#![allow(dead_code, reason = "each test file uses its own part of the scenarios")]

use unloop::design::*;
use unloop::dynamics::Fit;
use unloop::equivalence::{Basis, DirectJoint, PadLimits, Verdict};
use unloop::handover::{ActuatorUnits, Ask, Emission, EmitFault, Form, Format, LimitBasis, emit};
use unloop::study::{Check, Mechanism, StrokeRow};

/// A design, its findings, how its linkage turns, and what must come out.
pub(crate) struct Scenario {
    pub(crate) name: &'static str,
    pub(crate) design: Design,
    pub(crate) check: Check,
    /// joint turn = this · motor turn + that, for the stops.
    pub(crate) through: [f64; 2],
    pub(crate) expected: Vec<Expected>,
}

/// What one joint must be, in readings and SI.
#[derive(Clone, Debug)]
pub(crate) struct Expected {
    pub(crate) joint: &'static str,
    pub(crate) child: &'static str,
    pub(crate) parent: &'static str,
    pub(crate) axis: [f64; 3],
    pub(crate) origin: [f64; 3],
    pub(crate) limit: [f64; 2],
    pub(crate) limit_set_by: [&'static str; 2],
    pub(crate) effort: Option<f64>,
    pub(crate) velocity: Option<f64>,
    pub(crate) damping: Option<f64>,
    pub(crate) friction: Option<f64>,
    pub(crate) armature: Option<f64>,
    pub(crate) position_gain: Option<f64>,
    pub(crate) velocity_gain: Option<f64>,
    pub(crate) gear: f64,
    /// Joint reading in the zero pose.
    pub(crate) zero: f64,
    /// Motor reading where the joint reads `zero`.
    pub(crate) motor_at_zero: f64,
    /// The child's mass centre in the parent's frame in the zero pose.
    pub(crate) center: [f64; 3],
    /// xx, yy, zz, xy, xz, yz about it, parent's directions, in the zero pose.
    pub(crate) tensor: [f64; 6],
}

impl Scenario {
    pub(crate) fn emit(&self, options: &Ask) -> Result<Emission, Vec<EmitFault>> {
        let [slope, shift] = self.through;
        let through = |motor: f64| Some(slope * motor + shift);
        emit(&self.design, &mechanism(), &self.check, &self.rows(), &through, options)
    }

    pub(crate) fn rows(&self) -> Vec<StrokeRow> {
        let [first, last] = self.check.stroke.motor;
        let [slope, shift] = self.through;
        let turns = (0..5).map(|k| first + (last - first) * f64::from(k) / 4.0);
        turns
            .map(|motor| StrokeRow {
                motor,
                joint: slope * motor + shift,
                transmission_ratio: 1.0 / slope,
                left: 1.0,
            })
            .collect()
    }

    pub(crate) fn robot(&mut self) -> &mut RobotJoint {
        &mut self.design.robots[0]
    }

    pub(crate) fn actuator(&mut self) -> &mut Actuator {
        self.design.actuator.as_mut().unwrap()
    }
}

pub(crate) fn options(format: Format, whole: bool) -> Ask {
    Ask {
        format,
        form: Form::Direct,
        whole,
        anyway: false,
        limits: LimitBasis::Guaranteed,
        actuator: ActuatorUnits::Joint,
        engine: None,
        fit: Fit::Balanced,
    }
}

pub(crate) fn in_motor_units(format: Format, whole: bool) -> Ask {
    Ask { actuator: ActuatorUnits::Motor, ..options(format, whole) }
}

/// The demo ankle's linkage: the invented findings do not come from it, and a plain direct joint does not look at it.
fn mechanism() -> Mechanism {
    let ankle = include_str!("../../models/ankle.toml");
    Mechanism::of(&unloop::design::parse("ankle.toml", ankle).unwrap().0).unwrap()
}

fn deg(x: f64) -> f64 {
    x.to_radians()
}

/// A parallelogram at an ankle: ratio 1, axis y, everything from zero.
pub(crate) fn pitch() -> Scenario {
    let expected = Expected {
        joint: "left_ankle_pitch",
        parent: "left_shank",
        child: "left_foot",
        axis: [0.0, 1.0, 0.0],
        origin: [0.0, 0.0, -0.3],
        limit: [deg(-35.0), deg(40.0)],
        limit_set_by: ["stroke", "stroke"],
        effort: Some(60.0),
        velocity: Some(20.0),
        damping: Some(0.02),
        friction: Some(0.3),
        armature: Some(0.009_009_375), // 7.75² · 1.5e-4
        position_gain: Some(80.0),
        velocity_gain: Some(2.0),
        gear: 1.0,
        zero: 0.0,
        motor_at_zero: 0.0,
        // A→B is −z; turned 90 deg about +y it is −x: so the drawing's x is −x, its y is y × (−x) = +z, its z +y.
        center: [-0.1, 0.03, -0.3 + 0.02],
        tensor: [1e-3, 2.5e-3, 2e-3, 0.0, -2e-4, 0.0],
    };
    Scenario {
        name: "pitch",
        design: design("ankle_pitch", vec![robot(&expected, false, 1.0)]),
        check: check([-35.0, 40.0], [-35.0, 40.0], 1.0, [1.0, 1.0]),
        through: [1.0, 0.0],
        expected: vec![expected],
    }
}

/// Axis x, mirrored, reversing motor, readings and offset other than zero, ratio 1.5.
pub(crate) fn mirrored_roll() -> Scenario {
    let zero = -0.2;
    let expected = Expected {
        joint: "right_hip_roll",
        parent: "pelvis",
        child: "right_thigh",
        axis: [1.0, 0.0, 0.0],
        // turns −20…30 deg about −x are −30…20 deg about +x
        limit: [zero + deg(-30.0), zero + deg(20.0)],
        effort: Some(60.0 * 1.48),
        velocity: Some(20.0 / 1.52),
        damping: Some(0.045),
        friction: Some(0.45),
        armature: Some(0.020_271_093_75), // (7.75 · 1.5)² · 1.5e-4
        position_gain: Some(180.0),
        velocity_gain: Some(4.5),
        gear: -1.5,
        zero,
        // 0.3 + (−1) · 1.5 · (0 − (−0.02)): the offset of 0.02 about −x is −0.02 about +x
        motor_at_zero: 0.3 - 1.5 * 0.02,
        // d = −x; A→B = −z turned 90 deg about −x is −y; d × (−y) = +z
        center: [-0.03, -0.1, -0.3 + 0.02],
        tensor: [2.5e-3, 1e-3, 2e-3, 0.0, 0.0, -2e-4],
        ..pitch().expected.remove(0)
    };
    let mut design = design("hip_roll", vec![robot(&expected, true, -1.0)]);
    (design.joint_reads, design.motor_reads) = (zero, 0.3);
    let mut check = check([-30.0, 45.0], [-20.0, 30.0], 1.5, [1.48, 1.52]);
    check.direct_joint.offset = 0.02;
    Scenario {
        name: "mirrored_roll",
        design,
        check,
        through: [1.0 / 1.5, 0.0],
        expected: vec![expected],
    }
}

/// Oblique axis, negative ratio, a motor stop inside the stroke.
pub(crate) fn negative_oblique() -> Scenario {
    let expected = Expected {
        joint: "knee",
        parent: "thigh",
        child: "shank",
        axis: [0.6, 0.0, 0.8],
        origin: [0.0, -0.3, 0.05],
        // motor −40…60 deg is joint 20…−30; the stop at −30 deg is 15 deg + 0.001 through the linkage
        limit: [0.1 + deg(-30.0), 0.1 + deg(15.0) + 0.001],
        limit_set_by: ["stroke", "motor stop"],
        effort: Some(114.0),
        velocity: Some(20.0 / 2.1),
        damping: Some(0.08),
        friction: Some(0.6),
        armature: Some(0.036_037_5), // (7.75 · 2)² · 1.5e-4
        position_gain: Some(320.0),
        velocity_gain: Some(8.0),
        gear: 2.0,
        zero: 0.1,
        motor_at_zero: 0.2 + 2.0 * (-0.01),
        // the robot frame: turned by 0.1 rad about the axis, worked out in `turned`
        ..pitch().expected.remove(0)
    };
    let mut design = design("knee", vec![robot(&expected, false, -1.0)]);
    (design.joint_reads, design.motor_reads) = (0.1, 0.2);
    design.actuator.as_mut().unwrap().stops = Some([deg(-30.0), deg(90.0)]);
    design.mass.child.as_mut().unwrap().frame = BodyFrame::Robot;
    design.robots[0].motor_at = None;
    let mut check = check([-40.0, 60.0], [20.0, -30.0], -2.0, [1.9, 2.1]);
    check.direct_joint.offset = 0.01;
    let (center, tensor) = turned([0.6, 0.0, 0.8], 0.1);
    let center = std::array::from_fn(|k| center[k] + [0.0, -0.3, 0.05][k]);
    Scenario {
        name: "negative_oblique",
        design,
        check,
        through: [-0.5, 0.001],
        expected: vec![Expected { center, tensor, ..expected }],
    }
}

/// Two joints of one drawing about z, the right one mirrored, on two carriers.
pub(crate) fn yaw_pair() -> Scenario {
    let left = Expected {
        joint: "left_yaw",
        parent: "left_arm",
        child: "left_hand",
        axis: [0.0, 0.0, 1.0],
        origin: [0.0, -0.3, 0.0],
        limit: [deg(-10.0), deg(50.0)],
        // A→B = −y turned 90 deg about +z is +x; z × x = y
        center: [0.1, -0.3 + 0.02, 0.03],
        tensor: [1e-3, 2e-3, 2.5e-3, 2e-4, 0.0, 0.0],
        ..pitch().expected.remove(0)
    };
    let right = Expected {
        joint: "right_yaw",
        parent: "right_arm",
        child: "right_hand",
        limit: [deg(-50.0), deg(10.0)],
        // d = −z: −y turned 90 deg about −z is −x; −z × −x = y
        center: [-0.1, -0.3 + 0.02, -0.03],
        tensor: [1e-3, 2e-3, 2.5e-3, -2e-4, 0.0, 0.0],
        ..left.clone()
    };
    let robots = vec![robot(&left, false, 1.0), robot(&right, true, 1.0)];
    let mut design = design("wrist_yaw", robots);
    design.actuator.as_mut().unwrap().gear_ratio = Some(-7.75);
    Scenario {
        name: "yaw_pair",
        design,
        check: check([-10.0, 50.0], [-10.0, 50.0], 1.0, [1.0, 1.0]),
        through: [1.0, 0.0],
        expected: vec![left, right],
    }
}

/// Nothing is known of the motor: URDF cannot hold this joint, the others can.
pub(crate) fn without_a_motor() -> Scenario {
    let mut scenario = pitch();
    scenario.name = "without_a_motor";
    scenario.design.actuator = None;
    let expected = &mut scenario.expected[0];
    (expected.effort, expected.velocity) = (None, None);
    (expected.damping, expected.friction, expected.armature) = (None, None, None);
    (expected.position_gain, expected.velocity_gain) = (None, None);
    scenario
}

pub(crate) fn all() -> Vec<Scenario> {
    vec![pitch(), mirrored_roll(), negative_oblique(), yaw_pair(), without_a_motor()]
}

/// The child's centre and tensor turned about a unit axis, by Rodrigues' formula.
fn turned(axis: [f64; 3], angle: f64) -> ([f64; 3], [f64; 6]) {
    let [x, y, z] = axis;
    let (s, c) = angle.sin_cos();
    let v = 1.0 - c;
    let r = [
        [c + x * x * v, x * y * v - z * s, x * z * v + y * s],
        [y * x * v + z * s, c + y * y * v, y * z * v - x * s],
        [z * x * v - y * s, z * y * v + x * s, c + z * z * v],
    ];
    let [xx, yy, zz, xy, xz, yz] = TENSOR;
    let t = [[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]];
    let at = |i: usize, j: usize| -> f64 {
        (0..3)
            .flat_map(|k| (0..3).map(move |l| (k, l)))
            .map(|(k, l)| r[i][k] * t[k][l] * r[j][l])
            .sum()
    };
    let center = std::array::from_fn(|i| (0..3).map(|k| r[i][k] * CENTER[k]).sum());
    (center, [at(0, 0), at(1, 1), at(2, 2), at(0, 1), at(0, 2), at(1, 2)])
}

const CENTER: [f64; 3] = [0.1, 0.02, 0.03];
const TENSOR: [f64; 6] = [1e-3, 2e-3, 2.5e-3, 2e-4, 0.0, 0.0];

fn robot(expected: &Expected, mirrored: bool, motor_sign: f64) -> RobotJoint {
    RobotJoint {
        joint: expected.joint.into(),
        parent: expected.parent.into(),
        child: expected.child.into(),
        axis: expected.axis,
        origin: expected.origin,
        motor_at: Some([0.0; 3]),
        mirrored,
        motor_sign,
        gripper: GripperNames::of(expected.joint, expected.child),
        parent_joint: None,
    }
}

fn check(motor: [f64; 2], joint: [f64; 2], ratio: f64, ratio_magnitude: [f64; 2]) -> Check {
    let ankle = include_str!("../../models/ankle.toml");
    let (ankle, _) = unloop::design::parse("ankle.toml", ankle).unwrap();
    Check {
        design: "scenario".into(),
        verdict: Verdict::Equivalent,
        reason: "every assessed criterion holds".into(),
        basis: Basis::Nominal,
        proved: false,
        stroke: unloop::linkage::Stroke { motor: motor.map(deg), joint: joint.map(deg) },
        direct_joint: DirectJoint { ratio, offset: 0.0 },
        ratio_magnitude,
        criteria: Vec::new(),
        warnings: Vec::new(),
        ..unloop::study::check(&ankle).unwrap()
    }
}

fn design(name: &str, robots: Vec<RobotJoint>) -> Design {
    Design {
        source: Source { path: format!("designs/{name}.toml"), text: String::new() },
        name: name.into(),
        axis_points: AxisPoints::Toward,
        geometry: geometry(),
        motor_on: MotorOn::default(),
        motor_reads: 0.0,
        joint_reads: 0.0,
        set_by: None,
        stroke: Stroke { by: StrokeBy::Joint, low: deg(-35.0), high: deg(40.0) },
        direct_joint: DirectJointWish { ratio: Wish::Best, offset: Wish::Given(0.0) },
        accept: accept(),
        actuator: Some(motor()),
        mass: Masses {
            child: Some(body(0.9, BodyFrame::Drawing)),
            carrier: Some(body(2.5, BodyFrame::Robot)),
            ..Masses::default()
        },
        rod: None,
        pins: Pins::default(),
        together: Vec::new(),
        motion: None,
        finger: None,
        front: None,
        robots,
        places: Places::default(),
    }
}

fn geometry() -> Geometry {
    let exact = |nominal| Dimension::drawn(nominal, None);
    Geometry {
        ground: exact(0.3),
        crank: exact(0.045),
        coupler: exact(0.3),
        rocker: exact(0.045),
        zero_crank: exact(deg(90.0)),
        zero_rocker: deg(90.0),
        rounding: 0.0,
        pivots: None,
        drawing_frame: [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
    }
}

fn accept() -> Accept {
    Accept {
        preset: Preset::Training,
        angle: deg(0.5),
        ratio: 0.02,
        inertia: 0.05,
        inertia_by_hand: false,
        transmission_angle: deg(30.0),
        ball_tilt: None,
        crank_side: None,
        pad: PadLimits { tilt: deg(0.5), shift: 1e-3, opening: 5e-4, grip: 0.05 },
        over: Basis::Nominal,
    }
}

fn motor() -> Actuator {
    Actuator {
        gear_ratio: Some(7.75),
        rotor_inertia: Some(1.5e-4),
        peak_torque: Some(60.0),
        max_speed: Some(20.0),
        damping: Some(0.02),
        friction: Some(0.3),
        position_gain: Some(80.0),
        velocity_gain: Some(2.0),
        ..Actuator::default()
    }
}

fn body(mass: f64, frame: BodyFrame) -> BodyMass {
    BodyMass {
        frame,
        mass,
        center: CENTER,
        center_is_spatial: true,
        inertia: BodyInertia::Tensor(TENSOR),
    }
}
