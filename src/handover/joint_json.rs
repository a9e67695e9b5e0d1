//! `NAME.joint.json`: what the robot's format cannot hold, one object per `[[robot]]`, always in an
//! array. Angles are readings of the robot's software; what is not known is `null`.

use serde::Serialize;

use super::emit::EmitRequest;
use super::figures::{Envelope, JointFigures};
use crate::design::{Basis, RobotJoint};
use crate::equivalence::Verdict;
use crate::study::Check;

/// One joint. Fields end in their unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct JointJson {
    /// `unloop/joint/1`.
    pub schema: &'static str,
    /// The design's name.
    pub design: String,
    /// The joint's name.
    pub joint: String,
    /// The link that bears it.
    pub parent: String,
    /// The link that it turns.
    pub child: String,
    /// `equivalent`, `not_equivalent` or `undecided`.
    pub verdict: &'static str,
    /// `nominal` or `tolerance`.
    pub basis: &'static str,
    /// Whether the verdict is proved, not only computed.
    pub proved: bool,
    /// Motor turn per joint turn, signed, geometric.
    pub ratio: f64,
    /// About the robot joint's axis.
    pub offset_rad: f64,
    /// +1 or −1.
    pub motor_sign: f64,
    /// In the zero pose.
    pub motor_reads_rad: f64,
    /// In the zero pose.
    pub joint_reads_rad: f64,
    /// Smallest and largest joint reading.
    pub limit_rad: [f64; 2],
    /// `stroke` or `motor stop`, for each of the two.
    pub limit_set_by: [&'static str; 2],
    /// At the joint.
    pub torque_n_m: EnvelopeJson,
    /// Of the joint.
    pub speed_rad_per_s: EnvelopeJson,
    /// At the joint.
    pub armature_kg_m2: ArmatureJson,
    /// At the joint.
    pub damping_n_m_s_per_rad: Option<f64>,
    /// At the joint.
    pub friction_n_m: Option<f64>,
    /// At the joint.
    pub gains: GainsJson,
    /// The figure of the inertia criterion, where it was assessed.
    pub inertia_error: Option<f64>,
    /// The linkage itself over its stroke, rising joint reading.
    pub over_stroke: Vec<JointRow>,
    /// What was assumed.
    pub assumptions: Vec<String>,
}

/// A figure that holds everywhere on the stroke, and one that is exceeded nowhere.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct EnvelopeJson {
    /// Reached everywhere.
    pub guaranteed: Option<f64>,
    /// Exceeded nowhere.
    pub never_exceed: Option<f64>,
}

/// The two ways to give the rotor's inertia to the joint.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ArmatureJson {
    /// With the bodies' own inertias changed along with it.
    pub split: Option<f64>,
    /// n²J, the bodies left as they are.
    pub plain: Option<f64>,
}

/// A controller's gains at the joint.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GainsJson {
    /// N m/rad.
    pub position_n_m_per_rad: Option<f64>,
    /// N m s/rad.
    pub velocity_n_m_s_per_rad: Option<f64>,
}

/// One pose of the linkage: readings, and the figures of the linkage itself there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct JointRow {
    /// Joint reading.
    pub joint_rad: f64,
    /// Motor reading.
    pub motor_rad: f64,
    /// Transmission ratio, signed, geometric.
    pub ratio: Option<f64>,
    /// Peak torque at the joint.
    pub torque_n_m: Option<f64>,
    /// Largest speed of the joint.
    pub speed_rad_per_s: Option<f64>,
    /// n²J at the joint.
    pub armature_kg_m2: Option<f64>,
}

impl From<Envelope> for EnvelopeJson {
    fn from(e: Envelope) -> Self {
        Self { guaranteed: e.guaranteed, never_exceed: e.never_exceed }
    }
}

/// The object of one joint.
pub(super) fn joint_json(
    request: &EmitRequest<'_>,
    robot: &RobotJoint,
    figures: &JointFigures,
    assumptions: &[String],
) -> JointJson {
    let EmitRequest { design, check, rows, .. } = *request;
    JointJson {
        schema: "unloop/joint/1",
        design: design.name.clone(),
        joint: robot.joint.clone(),
        parent: robot.parent.clone(),
        child: robot.child.clone(),
        verdict: verdict_name(check.verdict),
        basis: basis_name(check.basis),
        proved: check.proved,
        ratio: figures.ratio,
        offset_rad: figures.offset + 0.0,
        motor_sign: figures.motor_sign,
        motor_reads_rad: figures.motor_reads,
        joint_reads_rad: figures.joint_reads,
        limit_rad: figures.limit.map(|l| l.angle),
        limit_set_by: figures.limit.map(|l| l.set_by.name()),
        torque_n_m: figures.torque.into(),
        speed_rad_per_s: figures.speed.into(),
        armature_kg_m2: ArmatureJson { split: None, plain: figures.plain_armature },
        damping_n_m_s_per_rad: figures.damping,
        friction_n_m: figures.friction,
        gains: GainsJson {
            position_n_m_per_rad: figures.position_gain,
            velocity_n_m_s_per_rad: figures.velocity_gain,
        },
        inertia_error: inertia_error(check),
        over_stroke: figures.over_stroke(rows, design.actuator.as_ref()),
        assumptions: assumptions.to_vec(),
    }
}

fn inertia_error(check: &Check) -> Option<f64> {
    let criterion = check.criteria.iter().find(|c| c.name == "inertia")?;
    criterion.tolerance_bound.or(criterion.nominal)
}

fn verdict_name(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Equivalent => "equivalent",
        Verdict::NotEquivalent => "not_equivalent",
        Verdict::Undecided => "undecided",
    }
}

/// `nominal` or `tolerance`.
pub(super) fn basis_name(basis: Basis) -> &'static str {
    match basis {
        Basis::Nominal => "nominal",
        Basis::Tolerance => "tolerance",
    }
}
