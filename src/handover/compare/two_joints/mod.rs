//! A design of two joints against a robot file.
//!
//! Both joints are compared as any other's, roll as pitch carries it in the design's zero pose. Each motor is compared as the file
//! has it: an actuator on each joint, a tendon a motor, or the loops themselves, which are held against the design's by how they
//! move. What a file has in none of these ways is named and differs.

mod bodies;
mod joints;
mod kept;
mod motors;
mod pairing;

use nalgebra::{Isometry3, Translation3, Unit, UnitQuaternion, Vector3};

use super::bodies::BodyState;
use super::facts::{JointFacts, joint_named, link_named};
use super::missing::{NEAREST, lacking, nearest};
use super::row::{Look, Row, Sides};
use super::spot::Spot;
use super::{ComparedFile, ComparedJoint, Comparison, pairs, verdict_told};
use crate::design::{TwoJointDesign, TwoJointRobot};
use crate::drive::Vector;
use crate::dynamics::TwoJointParts;
use crate::handover::fault::EmitFault;
use crate::handover::find::{FindOptions, TwoJointLoops, measured_two_joints};
use crate::handover::stand_in::{ActuatorUnits, Ask, LimitBasis, TwoJointsAsked};
use crate::handover::{Form, Format};
use crate::robot::{FileJoint, JointId, Robot};
use crate::study::{RegionCheck, TwoMotors, two_joint_bodies, two_joint_parts};

use kept::Kept;

/// Holds the robots against a design of two joints and against each other; `basis` demands one of the two limits of effort and
/// speed, else both are accepted and all between.
///
/// # Errors
/// What is missing or unfit in the design, never an empty list; the verdict is none of it.
pub fn compare_two_joints(
    design: &TwoJointDesign,
    of: &TwoMotors,
    check: &RegionCheck,
    robots: &[Robot],
    basis: Option<LimitBasis>,
) -> Result<Comparison, Vec<EmitFault>> {
    let side = DesignSide::new(design, of, check);
    side.asked(Form::Direct, Format::Mjcf, ActuatorUnits::Joint, false).model()?;
    let names = design.robots.iter().flat_map(|robot| {
        let [pitch, roll] = &robot.joints;
        [(pitch.clone(), robot.parent.clone()), (roll.clone(), robot.middle.clone())]
    });
    let names: Vec<(String, String)> = names.collect();
    Ok(Comparison {
        design: design.name.clone(),
        verdict: check.verdict,
        reason: check.reason.clone(),
        files: robots.iter().map(|robot| file(&side, robot, basis)).collect(),
        pairs: pairs::pairs(&names, robots),
    })
}

/// A design with all that was found for it.
struct DesignSide<'a> {
    design: &'a TwoJointDesign,
    of: &'a TwoMotors,
    check: &'a RegionCheck,
    /// The bodies, where all are known.
    parts: Option<TwoJointParts>,
    /// The rotors are among them.
    has_rotors: bool,
}

impl<'a> DesignSide<'a> {
    fn new(design: &'a TwoJointDesign, of: &'a TwoMotors, check: &'a RegionCheck) -> Self {
        let whole = two_joint_parts(design).ok();
        let has_rotors = whole.is_some();
        let parts = whole.or_else(|| two_joint_bodies(design, [None; 2]).ok());
        Self { design, of, check, parts, has_rotors }
    }

    /// What `emit` is asked for such a file; `whole`: with the bodies.
    fn asked(
        &self,
        form: Form,
        format: Format,
        actuator: ActuatorUnits,
        whole: bool,
    ) -> TwoJointsAsked<'_> {
        let ask = Ask { anyway: true, whole, actuator, ..Ask::new(form, format) };
        let parts = (self.parts.as_ref(), &[][..]);
        TwoJointsAsked::of_design(self.design, self.of, self.check, parts, ask)
    }
}

/// What the rows of joints and motors are made from.
#[derive(Clone, Copy)]
struct Looked<'a> {
    side: &'a DesignSide<'a>,
    seen: &'a Seen<'a>,
    wanted: &'a TwoJointRobot,
    kept: &'a Kept<'a>,
    state: BodyState,
    look: Look<'a>,
}

/// Pitch and roll of a file, seen in the carrier's frame in the design's zero pose.
struct Seen<'a> {
    robot: &'a Robot,
    ids: [JointId; 2],
    /// Pitch and roll.
    facts: [JointFacts<'a>; 2],
    /// The frames of the links that pitch and roll turn, in the carrier's.
    frames: [Isometry3<f64>; 2],
    /// From the model's frame to the carrier's.
    to_carrier: Isometry3<f64>,
}

impl<'a> Seen<'a> {
    fn new(robot: &'a Robot, ids: [JointId; 2], parent: &str, reads: [f64; 2]) -> Option<Self> {
        let [pitch, roll] = [robot.joints.get(ids[0])?, robot.joints.get(ids[1])?];
        let carrier = link_named(robot, parent).unwrap_or(pitch.parent);
        let to_carrier = robot.links.get(carrier)?.pose.inverse();
        let by_pitch = turned(pitch, reads[0]);
        let both = by_pitch * turned(roll, reads[1]);
        let link = |joint: &FileJoint| robot.links.get(joint.child).map(|link| link.pose);
        // In a body with both hinges what pitch turns is turned by roll too.
        let is_one = pitch.child == roll.child;
        let middle = to_carrier * if is_one { both } else { by_pitch } * link(pitch)?;
        let child = to_carrier * both * link(roll)?;
        let facts = |id: JointId| JointFacts::of(robot, id, parent);
        let (pitch_facts, roll_facts) = (facts(ids[0])?, facts(ids[1])?);
        let roll_facts = JointFacts {
            axis: (to_carrier * by_pitch) * roll.axis,
            origin: (to_carrier * by_pitch).transform_point(&roll.anchor).coords,
            ..roll_facts
        };
        let (facts, frames) = ([pitch_facts, roll_facts], [middle, child]);
        Some(Self { robot, ids, facts, frames, to_carrier })
    }

    /// Both hinges stand on the child itself.
    fn is_one_body(&self) -> bool {
        let [pitch, roll] = &self.facts;
        pitch.joint.child == roll.joint.child
    }
}

/// From the drawn pose to that where the joint reads `reads`, in the model's frame.
fn turned(joint: &FileJoint, reads: f64) -> Isometry3<f64> {
    let turn = Unit::try_new(joint.axis, 1e-9).map_or(UnitQuaternion::identity(), |axis| {
        UnitQuaternion::from_axis_angle(&axis, reads - joint.drawn_at)
    });
    let at = Translation3::from(joint.anchor.coords);
    at * turn * at.inverse()
}

fn vector(of: Vector) -> Vector3<f64> {
    Vector3::new(of.x, of.y, of.z)
}

fn file(side: &DesignSide<'_>, robot: &Robot, basis: Option<LimitBasis>) -> ComparedFile {
    let second = format!("{} says", robot.format.name());
    let look = Look { sides: Sides { first: "the drive gives", second: &second }, basis };
    let loops = loops(side, robot);
    let each = side.design.robots.iter().enumerate().map(|(at, wanted)| {
        let ids = wanted.joints.each_ref().map(|name| joint_named(robot, name));
        match ids {
            [Some(pitch), Some(roll)] => present(side, robot, at, [pitch, roll], &loops, look),
            ids => missing(robot, wanted, ids, look),
        }
    });
    ComparedFile::new(robot, each.flatten().collect())
}

/// The double loops of the file; what the design calls motors are motors, and so are the joints that `emit` names after them.
fn loops(side: &DesignSide<'_>, robot: &Robot) -> Vec<TwoJointLoops> {
    let asked = side.asked(Form::Loop, robot.format, ActuatorUnits::Motor, true);
    let names = side.design.robots.iter().flat_map(|one| {
        let moved = [0, 1].map(|k| asked.loop_joint(one, k));
        one.motors.iter().cloned().chain(moved)
    });
    let motors: Vec<String> = names.filter(|name| robot.joint_named(name).is_some()).collect();
    measured_two_joints(
        robot,
        FindOptions { motors: &motors, ..FindOptions::new(side.design.accept.preset) },
    )
}

fn present(
    side: &DesignSide<'_>,
    robot: &Robot,
    at: usize,
    ids: [JointId; 2],
    loops: &[TwoJointLoops],
    look: Look<'_>,
) -> Vec<ComparedJoint> {
    let Some(wanted) = side.design.robots.get(at) else { return Vec::new() };
    let Some(seen) = Seen::new(robot, ids, &wanted.parent, side.design.joint_reads) else {
        return Vec::new();
    };
    let kept = Kept::of(side, &seen, wanted, loops);
    let before = side.design.robots.get(..at).unwrap_or_default();
    let with_carrier = before.iter().all(|other| other.parent != wanted.parent);
    let bodies = bodies::rows(side, &seen, (wanted, &kept), with_carrier, look);
    let at = Looked { side, seen: &seen, wanted, kept: &kept, state: bodies.state, look };
    let mut rows = joints::rows(at);
    let [of_pitch, of_roll] = bodies.rows;
    rows[0].extend(motors::rows(at));
    rows[0].extend(of_pitch);
    rows[1].extend(of_roll);
    rows[0].extend(verdict_row(side, &seen, &kept));
    let notes = [kept.note().into_iter().chain(bodies.notes).collect(), Vec::new()];
    let each = rows.into_iter().zip(&seen.facts).zip(notes).zip(&wanted.joints);
    let joint = |(((rows, facts), notes), name): (((Vec<Row>, &JointFacts<'_>), _), &String)| {
        let (joint, at) = (name.clone(), facts.line(Spot::Joint));
        ComparedJoint { joint, form: Some(kept.form()), at, rows, notes }
    };
    each.map(joint).collect()
}

/// Two direct joints in the file stand on the verdict.
fn verdict_row(side: &DesignSide<'_>, seen: &Seen<'_>, kept: &Kept<'_>) -> Option<Row> {
    if kept.form() != Form::Direct {
        return None;
    }
    let clauses = [
        "two direct joints do not stand for this drive",
        "whether two direct joints stand for this drive is undecided",
    ];
    let RegionCheck { verdict, reason, .. } = side.check;
    let row = verdict_told(*verdict, reason, "two direct joints", clauses)?;
    Some(row.at(seen.facts[0].line(Spot::Joint)))
}

/// The joints of the design that the file does not have, each with the one that may be meant.
fn missing(
    robot: &Robot,
    wanted: &TwoJointRobot,
    ids: [Option<JointId>; 2],
    look: Look<'_>,
) -> Vec<ComparedJoint> {
    let names = wanted.joints.iter().zip(ids).filter(|(_, id)| id.is_none());
    names.map(|(name, _)| lacking(robot, name, (nearest(robot, name), NEAREST), look)).collect()
}
