//! A gripper's fingers in a robot file: as a driver with what follows it, or as the loops themselves.

use std::f64::consts::TAU;

use super::expected::{DesignSide, Expected, plans_and_jaws};
use super::facts::{JointFacts, joint_named};
use super::follower;
use super::joint::{drive_rows, joint_rows};
use super::kept::{length_rows, slack};
use super::measure::Measure;
use super::quantity::{ARMATURE, DAMPING, EFFORT, FRICTION};
use super::row::{Look, Row, bound, number};
use super::spot::{Spot, inertial_line, line_of};
use super::{ComparedJoint, verdict_row};
use crate::design::Design;
use crate::handover::Form;
use crate::handover::find::{FindOptions, FoundLoop, FourBarLoop, measured};
use crate::handover::link_moments::moments;
use crate::handover::stand_in::jaw;
use crate::handover::stand_in::link_frame;
use crate::handover::stand_in::plan::on_palm;
use crate::robot::{DriveThrough, Format, JointId, Robot, SharedDrive};

/// Whether the design's joint `id` is the driver of fingers, and not a joint that the rocker turns.
pub(super) fn is_own(side: &DesignSide<'_>, id: JointId, loops: &[FoundLoop]) -> bool {
    let direct = side.request(Form::Direct, Format::Mjcf);
    let is_jaw = side.design.parallel_jaw().is_some();
    jaw::drives_itself(&direct) || (is_jaw && around(loops, id).is_some())
}

/// The loops of the robot; the drivers are their motors.
pub(super) fn loops(robot: &Robot, design: &Design, joints: &[Option<JointId>]) -> Vec<FoundLoop> {
    let others = design.robots.iter().map(|r| joint_named(robot, &r.gripper.other_joint));
    let ours = joints.iter().copied().chain(others).flatten();
    let names: Vec<String> =
        ours.filter_map(|id| Some(robot.joints.get(id)?.name.clone())).collect();
    measured(robot, FindOptions { motors: &names, ..FindOptions::new(design.accept.preset) })
}

/// The loop whose crank the joint turns.
fn around(loops: &[FoundLoop], id: JointId) -> Option<&FourBarLoop> {
    let mut bars = loops.iter().filter_map(|found| found.four_bar.as_ref());
    bars.find(|bar| bar.crank_joint() == Some(id))
}

pub(super) fn present(
    side: &DesignSide<'_>,
    robot: &Robot,
    (at, id): (usize, JointId),
    loops: &[FoundLoop],
    look: Look<'_>,
) -> Option<ComparedJoint> {
    let own = around(loops, id);
    let form = if own.is_some() { Form::Loop } else { Form::Direct };
    let expected = side.joint(at, form, robot.format)?;
    let facts = JointFacts::of(robot, id, &expected.robot.parent)?;
    let mut rows = joint_rows(look, &expected, &facts, Form::Direct);
    let mut notes = Vec::new();
    if facts.moves_as(&expected.joint) {
        let other = joint_named(robot, &expected.robot.gripper.other_joint);
        share_effort(look, &expected, &facts, id, &mut rows);
        if form == Form::Direct {
            share_losses(look, &expected, &facts, &mut rows);
        }
        rows.extend(drive_rows(look, &expected, &facts));
        rows.extend(own.into_iter().flat_map(|bar| loop_rows(look, &expected, &facts, bar)));
        let others = other.and_then(|id| {
            Some((JointFacts::of(robot, id, &expected.robot.parent)?, around(loops, id)?))
        });
        rows.extend(
            others
                .iter()
                .flat_map(|(facts, bar)| loop_rows(look, &expected, facts, bar))
                .map(|row| row.of(&expected.robot.gripper.other_joint)),
        );
        rows.extend(follower::rows(look, &expected, &facts));
        rows.extend(body_rows(look, &expected, &facts, at));
        notes.extend(
            expected
                .jaw
                .iter()
                .filter_map(|jaw| jaw.why_no_bodies.as_ref())
                .map(|why| format!("what the links weigh is not compared: {why}")),
        );
    }
    if own.is_some() {
        notes.push("the file keeps the fingers as closed loops: their lengths are compared, and they do not rest on the verdict".into());
    } else {
        rows.extend(verdict_row(side.check, &facts));
    }
    let joint = expected.robot.joint.clone();
    Some(ComparedJoint { joint, form: Some(form), at: facts.line(Spot::Joint), rows, notes })
}

/// Where a tendon drives the fingers' joints `id` and its mirror image, the effort is that of both.
pub(super) fn share_effort(
    look: Look<'_>,
    expected: &Expected<'_>,
    facts: &JointFacts<'_>,
    id: JointId,
    rows: &mut Vec<Row>,
) {
    let is_gripper = expected.jaw.is_some();
    if let Some(shared) = shared_drive(facts.robot, id).filter(|_| is_gripper) {
        rows.retain(|row| row.quantity != "effort" || row.of.is_some());
        rows.extend(shared_effort(look, expected, facts, shared));
    }
}

/// What the driver loses with its own pad's pin, which turns with it: a file may share it between the two as it likes.
fn share_losses(
    look: Look<'_>,
    expected: &Expected<'_>,
    facts: &JointFacts<'_>,
    rows: &mut Vec<Row>,
) {
    let Some((pad, rate)) = follower::own_pad(expected, facts) else { return };
    let wanted = &expected.joint.properties;
    let both = [
        (&DAMPING, wanted.damping, pad.damping.map(|x| x * rate * rate)),
        (&FRICTION, wanted.friction, pad.friction.map(|x| x * rate.abs())),
    ];
    for (quantity, wanted, at_pad) in both {
        let Some(at_pad) = at_pad.filter(|x| *x > 0.0) else { continue };
        let found = quantity.of(facts).unwrap_or(0.0) + at_pad;
        let Some(new) = quantity.against(facts, [wanted, Some(found)], look.sides) else {
            continue;
        };
        rows.retain(|row| row.quantity != new.quantity || row.of.is_some());
        rows.push(new);
    }
}

/// A fixed tendon that drives it.
fn shared_drive(robot: &Robot, id: JointId) -> Option<&SharedDrive> {
    let mut drives = robot.shared_drives.iter();
    drives.find(|drive| {
        drive.through == DriveThrough::FixedTendon && drive.joints.iter().any(|(at, _)| *at == id)
    })
}

/// All joints of the tendon together, as the followers hand on what they get.
fn shared_effort(
    look: Look<'_>,
    expected: &Expected<'_>,
    facts: &JointFacts<'_>,
    drive: &SharedDrive,
) -> Option<Row> {
    let element = facts.robot.element(drive.place)?;
    let figures = |key: &str| -> Option<Vec<f64>> {
        let text = element.value(key)?;
        text.split_whitespace().map(|word| word.parse().ok()).collect()
    };
    let force = figures("forcerange").and_then(|ends| match *ends {
        [low, high] => Some(f64::min(low.abs(), high.abs())),
        _ => None,
    });
    let gear = figures("gear").and_then(|gear| gear.first().copied()).unwrap_or(1.0);
    let share: Option<f64> = drive.joints.iter().map(|(_, torque)| *torque).sum();
    let found = force.zip(share).map(|(force, share)| (force * gear * share).abs());
    let row = EFFORT.row(facts).at(line_of(facts.robot, drive.place));
    bound(row, expected.figures.torque, found, look.basis, look.sides, true)
}

/// Lengths, whether the loop is closed as it is drawn, and where crank and rocker stand then.
fn loop_rows(
    look: Look<'_>,
    expected: &Expected<'_>,
    facts: &JointFacts<'_>,
    bar: &FourBarLoop,
) -> Vec<Row> {
    let side = expected.side;
    let mut rows = length_rows(look, side.mechanism.branch.bars(), facts, bar);
    let (pin, gap) = bar.gap();
    let drawn = Row::new("gap", Measure::Length).at(line_of(facts.robot, pin.place));
    rows.extend(number(drawn, [Some(0.0), Some(gap)], look.sides, true));
    rows.extend(pose_rows(look, expected, facts, bar));
    rows
}

/// Where crank and rocker stand in the pose that the file draws.
fn pose_rows(
    look: Look<'_>,
    expected: &Expected<'_>,
    facts: &JointFacts<'_>,
    bar: &FourBarLoop,
) -> Vec<Row> {
    let (side, readings) = (expected.side, expected.figures.readings);
    let zero = side.check.zero;
    // The driver's axis is the drawing's, or the mirror image's, with the motor's sense.
    let sense = bar.axis.dot(&facts.joint.axis).signum() * readings.sense;
    let [crank, rocker] = bar.drawn.map(|angle| sense * angle);
    let turn = libm::remainder(crank - zero.crank, TAU);
    let row = |quantity, first: f64, second: f64, allowed: f64| {
        let row = Row::new(quantity, Measure::Angle).at(facts.line(Spot::Joint));
        let row = number(row, [Some(first), Some(second)], look.sides, true)?;
        let mut row = row.judged(libm::remainder(second - first, TAU), allowed, look.sides);
        row.why = if row.differs() { row.why } else { String::new() };
        Some(row)
    };
    let allowed = Measure::Angle.allowed(0.0) + slack(side.mechanism.branch.bars());
    let wanted = side.mechanism.branch.joint_turn(turn).ok();
    let rows = [
        row("drawn reading", readings.motor_at_turn(turn), facts.joint.drawn_at, allowed),
        wanted.and_then(|wanted| {
            let turned = libm::remainder(rocker - zero.rocker, TAU);
            row("drawn rocker angle", wanted, turned, allowed)
        }),
    ];
    rows.into_iter().flatten().collect()
}

/// What driver's link and palm weigh, and the armature that belongs to them.
fn body_rows(
    look: Look<'_>,
    expected: &Expected<'_>,
    facts: &JointFacts<'_>,
    at: usize,
) -> Vec<Row> {
    let Some(jaw) = &expected.jaw else { return Vec::new() };
    let mut rows = Vec::new();
    if let Some(body) = jaw.driver().and_then(|driver| driver.body) {
        let found = facts.child_body().map(|own| own.seen_from(&facts.child_frame));
        rows.extend(weighed(look, facts, (&expected.joint.child, facts.joint.child), &body, found));
    }
    rows.extend(palm_rows(look, expected, facts, at));
    let are_patched = !rows.is_empty() && !rows.iter().any(Row::differs);
    let patched = jaw.armature.filter(|_| are_patched);
    let wanted = patched.or(expected.figures.plain_armature);
    rows.extend(ARMATURE.against(facts, [wanted, ARMATURE.of(facts)], look.sides));
    rows
}

fn weighed(
    look: Look<'_>,
    facts: &JointFacts<'_>,
    (name, link): (&str, crate::robot::LinkId),
    wanted: &crate::dynamics::Moments,
    found: Option<crate::dynamics::Moments>,
) -> Vec<Row> {
    let rows = super::bodies::moment_rows(name, wanted, found.as_ref(), look.sides);
    let placed = rows.into_iter().map(|row| {
        let at = inertial_line(facts.robot, link, row.measure);
        row.at(at)
    });
    placed.collect()
}

/// The palm with what the fingers of all grippers on it add; its rows belong to the first of them.
fn palm_rows(
    look: Look<'_>,
    expected: &Expected<'_>,
    facts: &JointFacts<'_>,
    at: usize,
) -> Vec<Row> {
    let design = expected.side.design;
    let parent = &expected.robot.parent;
    let before = design.robots.get(..at).unwrap_or_default();
    if before.iter().any(|other| other.parent == *parent) {
        return Vec::new();
    }
    let own = design.mass.carrier.as_ref().and_then(|body| link_frame::carrier(body).ok());
    let keeps_loops = expected.jaw.as_ref().is_some_and(|jaw| jaw.stand_in.is_none());
    let form = if keeps_loops { Form::Loop } else { Form::Direct };
    let (_, jaws) = plans_and_jaws(&expected.side.request(form, facts.robot.format));
    let palms: Vec<_> = on_palm(&design.robots, &jaws, parent).collect();
    let on_it = design.robots.iter().filter(|other| other.parent == *parent);
    let own = own.filter(|_| palms.len() == on_it.count());
    let Some(own) = own else { return Vec::new() };
    let wanted = palms.into_iter().fold(moments(&own), |sum, more| sum + more);
    let found = facts.carrier();
    weighed(look, facts, (parent, facts.joint.parent), &wanted, found)
}
