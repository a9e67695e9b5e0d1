//! `NAME.joints.json`: what a file of two joints cannot hold, one object per `[[robot]]`, always in an array. Angles are readings
//! of the robot's software, pairs are (pitch, roll) or (first, second motor); what is not known is `null`.
//!
//! Both directions of the exact map in few lines: `docs/two_joints.py`, which holds itself to `over_region`.

use nalgebra::Vector3;
use serde::Serialize;

use super::stand_in::{Form, TwoJointsAsked};
use crate::design::TwoJointRobot;
use crate::drive::{Axis, InputEnd, Leg, Region, Vector};
use crate::dynamics::{Capability, TwoJointTree};

/// Pieces of each range for the errors, and for the poses in the JSON.
const PIECES: [u32; 2] = [24, 4];

/// Two joints. Fields end in their unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct JointsJson {
    /// `unloop/joints/1`.
    pub schema: &'static str,
    /// The design's name.
    pub design: String,
    /// What the file has: `direct`, `coupled` or `loop`.
    pub model: &'static str,
    /// Names of pitch and roll.
    pub joints: [String; 2],
    /// Names of both motors.
    pub motors: [String; 2],
    /// The carrier.
    pub parent: String,
    /// The link between the joints.
    pub middle: String,
    /// The foot.
    pub child: String,
    /// `equivalent`, `not_equivalent` or `undecided`: of two direct joints.
    pub verdict: &'static str,
    /// `nominal` or `tolerance`.
    pub basis: &'static str,
    /// Whether the verdict is proved, not only computed.
    pub proved: bool,
    /// d motor reading/d joint reading of the direct joints: rows are motors.
    pub matrix: [[f64; 2]; 2],
    /// In the zero pose.
    pub motor_reads_rad: [f64; 2],
    /// In the zero pose.
    pub joint_reads_rad: [f64; 2],
    /// +1 or −1.
    pub motor_signs: [f64; 2],
    /// Smallest and largest reading of pitch and of roll.
    pub limit_rad: [[f64; 2]; 2],
    /// Largest sizes of the entries of E = T⁻¹J − 1 over a grid of the region; rates of the real joints are (1 + E) times those
    /// of the direct ones.
    pub rate_error: RateErrorJson,
    /// Largest sizes of what pitch and roll err by, over the same grid.
    pub angle_error_rad: [f64; 2],
    /// Corners of all torques of the zero pose.
    pub torque_polygon_n_m: Option<Vec<[f64; 2]>>,
    /// Corners of torques that every pose of the region gives; certain.
    pub torque_common_polygon_n_m: Option<Vec<[f64; 2]>>,
    /// Torques as boxes.
    pub torque_box_n_m: Option<BoxesJson>,
    /// Corners of all joint speeds of the zero pose.
    pub speed_polygon_rad_per_s: Option<Vec<[f64; 2]>>,
    /// Corners of joint speeds that every pose of the region gives; certain.
    pub speed_common_polygon_rad_per_s: Option<Vec<[f64; 2]>>,
    /// Speeds as boxes.
    pub speed_box_rad_per_s: Option<BoxesJson>,
    /// What the direct joints' rates see besides the bodies: of a whole file of direct joints its own, else the rotors' Tᵀ diag(n²J) T.
    pub armature_matrix_kg_m2: Option<[[f64; 2]; 2]>,
    /// The exact form.
    pub map: MapJson,
    /// Poses of a grid over the region, exact.
    pub over_region: Vec<PoseJson>,
    /// What was assumed.
    pub assumptions: Vec<String>,
}

/// Sizes of E.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct RateErrorJson {
    /// Pitch rate for pitch rate.
    pub pp: f64,
    /// Roll rate read as pitch.
    pub pr: f64,
    /// Pitch rate read as roll.
    pub rp: f64,
    /// Roll rate for roll rate.
    pub rr: f64,
    /// Largest singular value.
    pub norm: f64,
}

/// Torques or speeds of both axes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoxesJson {
    /// Both at once at every pose; certain.
    pub guaranteed: [f64; 2],
    /// Each alone over the region, smallest and largest; computed.
    pub alone: [[f64; 2]; 2],
    /// Exceeded nowhere; certain.
    pub never_exceed: [f64; 2],
}

/// Where everything stands in the zero pose, in the carrier's frame, m.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MapJson {
    /// `two_rods`.
    pub kind: &'static str,
    /// Fixed in the carrier.
    pub pitch: AxisJson,
    /// Carried by pitch.
    pub roll: AxisJson,
    /// First and second motor.
    pub legs: [LegJson; 2],
}

/// An axis of turning.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AxisJson {
    /// A point on it.
    pub point_m: [f64; 3],
    /// Unit vector; turns are right-handed about it.
    pub axis: [f64; 3],
}

/// One motor's rod. What the kind does not have is `null`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LegJson {
    /// `crank`, `linear_actuator` or `slider`.
    pub input: &'static str,
    /// Centre of the crank pin's circle, with the motor's axis.
    pub motor: Option<AxisJson>,
    /// The crank's pin in the zero pose, or the actuator's on the carrier.
    pub pin_m: [f64; 3],
    /// The rod's pin on the child.
    pub foot_m: [f64; 3],
    /// Length of the rod.
    pub rod_m: Option<f64>,
    /// A slide line's distance from its pin.
    pub line_offset_m: Option<f64>,
    /// Where a guide starts, with its direction.
    pub guide: Option<AxisJson>,
    /// Travel per motor turn, signed.
    pub lead_m: Option<f64>,
}

/// One pose.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PoseJson {
    /// Readings.
    pub joint_rad: [f64; 2],
    /// Readings.
    pub motor_rad: [f64; 2],
    /// d motor reading/d joint reading.
    pub jacobian: [[f64; 2]; 2],
    /// The smaller of both rods', against the path of its pin with the other motor held.
    pub transmission_angle_rad: f64,
}

fn list(v: Vector) -> [f64; 3] {
    Vector3::new(v.x, v.y, v.z).into()
}

fn axis(of: &Axis) -> AxisJson {
    AxisJson { point_m: list(of.point), axis: list(of.direction) }
}

/// The object of one robot.
pub(super) fn joints_json(
    asked: &TwoJointsAsked<'_>,
    robot: &TwoJointRobot,
    tree: Option<&TwoJointTree>,
) -> JointsJson {
    let rows = asked.rows(robot);
    let (rate_error, angle_error_rad) = errors(asked);
    let zero = |c: Option<&Capability>| c.map(|c| c.zero_pose.to_vec());
    let common = |c: Option<&Capability>| c.map(|c| c.common());
    JointsJson {
        schema: "unloop/joints/1",
        design: asked.name.to_owned(),
        model: asked.ask.form.name(),
        joints: robot.joints.clone(),
        motors: robot.motors.clone(),
        parent: robot.parent.clone(),
        middle: robot.middle.clone(),
        child: robot.child.clone(),
        verdict: asked.verdict.name(),
        basis: asked.basis.name(),
        proved: asked.proved,
        matrix: rows.map(|row| row.figures),
        motor_reads_rad: asked.motor_reads,
        joint_reads_rad: asked.joint_reads,
        motor_signs: robot.motor_signs,
        limit_rad: asked.limits(),
        rate_error,
        angle_error_rad,
        torque_polygon_n_m: zero(asked.torque),
        torque_common_polygon_n_m: common(asked.torque),
        torque_box_n_m: asked.torque.map(boxes),
        speed_polygon_rad_per_s: zero(asked.speed),
        speed_common_polygon_rad_per_s: common(asked.speed),
        speed_box_rad_per_s: asked.speed.map(boxes),
        armature_matrix_kg_m2: armature(asked, tree),
        map: map(asked),
        over_region: poses(asked, robot),
        assumptions: asked.assumptions.to_vec(),
    }
}

fn boxes(c: &Capability) -> BoxesJson {
    let [p, r] = &c.never_exceed();
    BoxesJson {
        guaranteed: c.guaranteed,
        alone: c.alone.map(|axis| [axis.lowest.value, axis.highest.value]),
        never_exceed: [p.value, r.value],
    }
}

fn armature(asked: &TwoJointsAsked<'_>, tree: Option<&TwoJointTree>) -> Option<[[f64; 2]; 2]> {
    let t = asked.direct.matrix;
    let matrix = match tree.filter(|_| asked.ask.form == Form::Direct) {
        Some(tree) => tree.armature(),
        None => t.transpose() * t * asked.rotor()?,
    };
    Some([[matrix.m11, matrix.m12], [matrix.m21, matrix.m22]])
}

fn region(asked: &TwoJointsAsked<'_>, pieces: u32) -> Region {
    let [pitch, roll] = asked.region;
    Region { pitch, roll, pieces }
}

fn errors(asked: &TwoJointsAsked<'_>) -> (RateErrorJson, [f64; 2]) {
    let (mut most, mut angles) = (RateErrorJson::default(), [0.0_f64; 2]);
    for joints in region(asked, PIECES[0]).turns() {
        let Ok(pose) = asked.drive.pose(joints) else { continue };
        let e = asked.direct.rate_error(&pose).abs();
        most = RateErrorJson {
            pp: most.pp.max(e.m11),
            pr: most.pr.max(e.m12),
            rp: most.rp.max(e.m21),
            rr: most.rr.max(e.m22),
            norm: most.norm.max(asked.direct.rate_error_norm(&pose)),
        };
        if let Ok([p, r]) = asked.direct.angle_error(asked.drive, joints) {
            angles = [angles[0].max(p.abs()), angles[1].max(r.abs())];
        }
    }
    (most, angles)
}

fn map(asked: &TwoJointsAsked<'_>) -> MapJson {
    let geometry = asked.drive.geometry();
    let pins = asked.drive.pose([0.0; 2]).map(|pose| pose.rods.map(|rod| list(rod.pin)));
    let pins = pins.unwrap_or_default();
    let [one, two] = &geometry.legs;
    MapJson {
        kind: "two_rods",
        pitch: axis(&geometry.pitch),
        roll: axis(&geometry.roll),
        legs: [leg(one, pins[0]), leg(two, pins[1])],
    }
}

fn leg(leg: &Leg, pin_m: [f64; 3]) -> LegJson {
    let bare = LegJson {
        input: "crank",
        motor: None,
        pin_m,
        foot_m: list(leg.foot),
        rod_m: None,
        line_offset_m: None,
        guide: None,
        lead_m: None,
    };
    match leg.input {
        InputEnd::Crank { circle, rod, .. } => {
            let motor = AxisJson { point_m: list(circle.centre), axis: list(circle.axis) };
            LegJson { motor: Some(motor), rod_m: Some(rod), ..bare }
        }
        InputEnd::Actuator { offset, lead, .. } => LegJson {
            input: "linear_actuator",
            line_offset_m: Some(offset),
            lead_m: Some(lead),
            ..bare
        },
        InputEnd::Slide { point, direction, rod, lead, .. } => {
            let guide = AxisJson { point_m: list(point), axis: list(direction) };
            let (rod_m, lead_m) = (Some(rod), Some(lead));
            LegJson { input: "slider", guide: Some(guide), rod_m, lead_m, ..bare }
        }
    }
}

fn poses(asked: &TwoJointsAsked<'_>, robot: &TwoJointRobot) -> Vec<PoseJson> {
    let ([p0, r0], [m0, m1], [s0, s1]) = (asked.joint_reads, asked.motor_reads, robot.motor_signs);
    let pose = |joints: [f64; 2]| {
        let (pose, turns) = (asked.drive.pose(joints).ok()?, asked.drive.motor_turns(joints).ok()?);
        let [[a, b], [c, d]] = pose.jacobian;
        Some(PoseJson {
            joint_rad: [p0 + joints[0], r0 + joints[1]],
            motor_rad: [m0 + s0 * turns[0], m1 + s1 * turns[1]],
            jacobian: [[s0 * a, s0 * b], [s1 * c, s1 * d]],
            transmission_angle_rad: pose.joint_side(0).min(pose.joint_side(1)),
        })
    };
    region(asked, PIECES[1]).turns().filter_map(pose).collect()
}
