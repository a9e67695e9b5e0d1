//! The part of `NAME.joint.json` that is about a gripper's fingers: who follows, how far they open, how hard they grip.

use serde::Serialize;

use super::patch::{AdditionJson, ArmatureJson};
use super::stand_in::figures::{Envelope, JointRow};
use super::stand_in::{Draws, Jaw, Request, StandIn};
use crate::drive::OneJoint as _;
use crate::equivalence::PadStandIn;
use crate::robot::Mimic;
use crate::study::StrokeRow;

/// A gripper's fingers. Fields end in their unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FingerJson {
    /// `coupler` or `rocker`.
    pub pad: &'static str,
    /// `mirrored` or `none`.
    pub other: &'static str,
    /// `counter`, `slide` or `hinge`; `None` where the file keeps the loops.
    pub stand_in: Option<&'static str>,
    /// Turn of the hinge at the crank pin for each turn of the driver, for the counter-turning pair.
    pub multiplier: Option<f64>,
    /// The link with the pad.
    pub pad_link: String,
    /// Every joint that follows the driver, always by a straight line of the driver's own reading.
    pub followers: Vec<FollowerJson>,
    /// Smallest and largest opening.
    pub opening_m: [f64; 2],
    /// The figures of a slide, which have other units than a hinge's.
    pub slide: Option<SlideJson>,
    /// To be added to the palm, about the origin of its own frame, where the masses are known.
    pub palm: Option<AdditionJson>,
    /// What the other links weigh, about the origins of their own frames, where the masses are known.
    pub links: Vec<AdditionJson>,
}

/// reading = `multiplier` · the driver's reading + `offset`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FollowerJson {
    /// The joint.
    pub joint: String,
    /// Reading per reading of the driver.
    pub multiplier: f64,
    /// rad.
    #[serde(rename = "offset_rad")]
    pub offset: f64,
}

/// A slide along the closing direction.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SlideJson {
    /// Motor reading less that in the zero pose, per way.
    pub motor_rad_per_m: f64,
    /// Smallest and largest reading.
    pub limit_m: [f64; 2],
    /// Of the driver, which moves all pads.
    pub force_n: Envelope,
    /// Of each pad.
    pub speed_m_per_s: Envelope,
    /// kg.
    pub armature_kg: ArmatureJson,
    /// Damping.
    pub damping_n_s_per_m: Option<f64>,
    /// Friction.
    pub friction_n: Option<f64>,
    /// Position gain.
    pub position_gain_n_per_m: Option<f64>,
    /// Velocity gain.
    pub velocity_gain_n_s_per_m: Option<f64>,
}

/// The fingers of one `[[robot]]`.
pub(super) fn finger_json<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
) -> Option<FingerJson> {
    let jaw = stand_in.jaw.as_ref()?;
    let (finger, found) = (request.design.finger.as_ref()?, request.check.finger.as_ref()?);
    Some(FingerJson {
        pad: finger.pad.on.name(),
        other: finger.other.name(),
        stand_in: jaw.stand_in.map(PadStandIn::name),
        multiplier: jaw.multiplier,
        pad_link: stand_in.robot.child.clone(),
        followers: jaw.followers().map(|(one, mimic)| follower(&one.joint.name, mimic)).collect(),
        opening_m: found.opening.map(|at| at.value),
        slide: is_slide(jaw).then(|| slide(jaw, stand_in)),
        palm: jaw.palm.as_ref().map(|palm| AdditionJson::of(&stand_in.robot.parent, palm)),
        links: links(jaw),
    })
}

fn follower(joint: &str, mimic: &Mimic) -> FollowerJson {
    FollowerJson { joint: joint.to_owned(), multiplier: mimic.multiplier, offset: mimic.offset }
}

fn links(jaw: &Jaw) -> Vec<AdditionJson> {
    let weighed = jaw.joints.iter().filter_map(|one| Some((&one.joint.child, one.body.as_ref()?)));
    weighed.map(|(link, body)| AdditionJson::of(link, body)).collect()
}

/// Whether the driver reads metres.
pub(super) fn is_slide(jaw: &Jaw) -> bool {
    jaw.stand_in == Some(PadStandIn::Slide)
}

fn slide(jaw: &Jaw, stand_in: &StandIn<'_>) -> SlideJson {
    let figures = &stand_in.figures;
    SlideJson {
        motor_rad_per_m: figures.readings.gear(),
        limit_m: figures.limit.map(|limit| limit.angle),
        force_n: figures.torque,
        speed_m_per_s: figures.speed,
        armature_kg: ArmatureJson { split: jaw.armature, plain: figures.plain_armature },
        damping_n_s_per_m: figures.damping,
        friction_n: figures.friction,
        position_gain_n_per_m: figures.position_gain,
        velocity_gain_n_s_per_m: figures.velocity_gain,
    }
}

/// The table over the stroke with what the pad does, rising joint reading.
pub(super) fn over_stroke(
    request: &Request<'_>,
    stand_in: &StandIn<'_>,
    rows: &[StrokeRow],
) -> Vec<JointRow> {
    let row = |row: &StrokeRow| {
        let own = joint_row(request, stand_in, row);
        with_pad(request, own, row.motor)
    };
    let mut rows: Vec<JointRow> = rows.iter().map(row).collect();
    let at = |row: &JointRow| row.joint_m.unwrap_or(row.joint_rad);
    rows.sort_by(|a, b| at(a).total_cmp(&at(b)));
    rows
}

/// A driver that is the motor's own joint, or a slide, takes nothing from the rocker.
fn joint_row(request: &Request<'_>, stand_in: &StandIn<'_>, row: &StrokeRow) -> JointRow {
    let (figures, motor) = (&stand_in.figures, request.design.actuator.as_ref());
    let own = stand_in.jaw.as_ref().filter(|jaw| jaw.driver().is_some());
    match own {
        Some(jaw) if is_slide(jaw) => slide_row(request, stand_in, row.motor),
        Some(_) => figures.row(&at_driver(request, row), motor),
        None => figures.row(row, motor),
    }
}

/// The driver is the motor's joint, or the crank's where another drive turns that.
fn at_driver(request: &Request<'_>, row: &StrokeRow) -> StrokeRow {
    let (turn, front) = (row.motor, request.mechanism.readings.front());
    let motion = front.and_then(|front| front.motion(turn).ok());
    let left = request.design.front.as_ref().and_then(|front| front.efficiency());
    StrokeRow {
        motor: motion.map_or(turn, |motion| motion.motor),
        joint: turn,
        transmission_ratio: motion.map_or(1.0, |motion| motion.ratio),
        left: left.unwrap_or(1.0),
    }
}

fn slide_row(request: &Request<'_>, stand_in: &StandIn<'_>, turn: f64) -> JointRow {
    let finger = request.design.finger.as_ref();
    let travel = finger.and_then(|finger| {
        let pose = finger.pad.at(&request.mechanism.branch, turn).ok()?;
        Some(-pose.opened / finger.pad.fingers)
    });
    JointRow {
        joint_rad: f64::NAN,
        joint_m: travel,
        motor_rad: stand_in
            .figures
            .readings
            .motor_at_turn(request.mechanism.readings.own_motor_turn(turn)),
        ratio: None,
        torque_n_m: None,
        speed_rad_per_s: None,
        armature_kg_m2: None,
        opening_m: None,
        grip_n_per_n_m: None,
        grip_n: None,
    }
}

fn with_pad(request: &Request<'_>, row: JointRow, turn: f64) -> JointRow {
    let design = request.design;
    let Some(finger) = design.finger.as_ref() else { return row };
    let Ok(pose) = finger.pad.at(&request.mechanism.branch, turn) else { return row };
    let front = request.mechanism.readings.front();
    let ratio = front.map_or(1.0, |front| front.motion(turn).map_or(f64::NAN, |m| m.ratio.abs()));
    let left = design.front.as_ref().and_then(|front| front.efficiency()).unwrap_or(1.0);
    let per_torque = Some(ratio * pose.grip_per_torque()).filter(|grip| grip.is_finite());
    let peak = design.actuator.as_ref().and_then(|actuator| actuator.peak_torque);
    JointRow {
        opening_m: Some(finger.opening + pose.opened),
        grip_n_per_n_m: per_torque,
        grip_n: per_torque.zip(peak).map(|(grip, torque)| grip * torque * left),
        ..row
    }
}
