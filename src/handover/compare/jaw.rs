//! A gripper's fingers in a robot file: as a driver with what follows it, or as the loops themselves.

use std::f64::consts::TAU;

use nalgebra::Vector3;

use super::expected::{DesignSide, Expected, Held};
use super::facts::{JointFacts, joint_named};
use super::follower::{self, drawn_sense, drawn_turn, weight_rows};
use super::joint::{Place, drive_rows, joint_rows};
use super::kept::{length_rows, pose_row, slack};
use super::measure::Measure;
use super::quantity::{ARMATURE, DAMPING, EFFORT, FRICTION};
use super::row::{Look, Row, bound, number};
use super::spot::{Spot, line_of};
use super::{ComparedJoint, verdict_row};
use crate::design::{Design, RobotJoint};
use crate::handover::Form;
use crate::handover::find::{FindOptions, FoundLoop, FourBarLoop, Losses, measured};
use crate::handover::link_moments::moments;
use crate::handover::stand_in::jaw::{self, Attitude};
use crate::handover::stand_in::plan::on_palm;
use crate::handover::stand_in::{Jaw, link_frame};
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
fn around(loops: &[FoundLoop], id: JointId) -> Option<&FoundLoop> {
    let turns =
        |found: &&FoundLoop| found.four_bar.as_ref().and_then(FourBarLoop::crank_joint) == Some(id);
    loops.iter().find(turns)
}

/// The driver at `at` of the design, `id` of the file.
type Driver = (usize, JointId);

pub(super) fn present(
    side: &DesignSide<'_>,
    robot: &Robot,
    driver: Driver,
    loops: &[FoundLoop],
    look: Look<'_>,
) -> Option<ComparedJoint> {
    let compared = |other| compared(side, robot, driver, loops, look, other);
    let differing = |one: &ComparedJoint| one.differences().count();
    let mirrored = compared(Attitude::Mirrored)?;
    if differing(&mirrored) == 0 {
        return Some(mirrored);
    }
    let turned = half_turn(side, robot, driver).and_then(compared);
    let Some(mut turned) = turned.filter(|one| differing(one) < differing(&mirrored)) else {
        return Some(mirrored);
    };
    turned.notes.push("the file turns the other finger by half a turn, where the design mirrors it: in the plane of the linkage they are the same".into());
    Some(turned)
}

/// The other finger as the first one turned by half a turn, about a line half-way between the heights of both drivers.
fn half_turn(side: &DesignSide<'_>, robot: &Robot, (at, id): Driver) -> Option<Attitude> {
    let wanted = side.design.robots.get(at)?;
    let other = joint_named(robot, &wanted.gripper.other_joint)?;
    let axis = Vector3::from(wanted.axis);
    let height = |id| Some(JointFacts::of(robot, id, &wanted.parent)?.origin.dot(&axis));
    let middle = 0.5 * (height(id)? + height(other)?);
    Some(Attitude::Turned(middle - Vector3::from(wanted.origin).dot(&axis)))
}

/// The driver with all that moves with it, the other finger in that attitude.
fn compared(
    side: &DesignSide<'_>,
    robot: &Robot,
    (at, id): Driver,
    loops: &[FoundLoop],
    look: Look<'_>,
    attitude: Attitude,
) -> Option<ComparedJoint> {
    let own = around(loops, id);
    let form = if own.is_some() { Form::Loop } else { Form::Direct };
    let expected = side.with_other(at, (form, robot.format), attitude)?;
    let facts = JointFacts::of(robot, id, &expected.robot.parent)?;
    let held = Held { look, expected: &expected, facts: &facts };
    let mut rows = joint_rows(&held, Form::Direct);
    let mut notes = Vec::new();
    if facts.moves_as(&expected.joint) {
        let other = joint_named(robot, &expected.robot.gripper.other_joint);
        let other = other.and_then(|id| {
            Some((JointFacts::of(robot, id, &expected.robot.parent)?, around(loops, id)?))
        });
        share_effort(&held, id, &mut rows);
        let beside = own.and_then(|own| pins(robot, own)).or_else(|| own_pad(&expected, &facts));
        share_losses(&held, beside, &mut rows);
        rows.extend(drive_rows(&held));
        rows.extend(own.into_iter().flat_map(|own| loop_rows(&held, own, false)));
        rows.extend(
            other
                .iter()
                .flat_map(|(facts, other)| loop_rows(&Held { facts, ..held }, other, true))
                .map(|row| row.of(&expected.robot.gripper.other_joint)),
        );
        let closed = [own, other.map(|(_, other)| other)];
        let closed = closed.map(|found| found.and_then(|found| found.four_bar.as_ref()));
        rows.extend(follower::rows(&held, closed));
        let at_pins = beside.map_or(0.0, |beside| beside.armature);
        rows.extend(body_rows(&held, (at, attitude), at_pins));
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
pub(super) fn share_effort(held: &Held<'_>, id: JointId, rows: &mut Vec<Row>) {
    let Held { expected, facts, .. } = *held;
    let is_gripper = expected.jaw.is_some();
    if let Some(shared) = shared_drive(facts.robot, id).filter(|_| is_gripper) {
        rows.retain(|row| row.quantity != "effort" || row.of.is_some());
        rows.extend(shared_effort(held, shared));
    }
}

/// What the pins of a closed finger lose, at the driver.
fn pins(robot: &Robot, found: &FoundLoop) -> Option<Losses> {
    let (bar, reach) = (found.four_bar.as_ref()?, found.reach.as_ref()?);
    Some(Losses::of_pins(robot, bar, reach).at_crank(reach))
}

/// What the driver's own pad loses at its pin, which turns with it.
fn own_pad(expected: &Expected<'_>, facts: &JointFacts<'_>) -> Option<Losses> {
    let (pad, rate) = follower::own_pad(expected, facts)?;
    Some(Losses {
        damping: pad.damping.unwrap_or(0.0) * rate * rate,
        friction: pad.friction.unwrap_or(0.0) * rate.abs(),
        armature: 0.0,
    })
}

/// What the driver loses with the pins that turn with it: a file may share it between them as it likes.
fn share_losses(held: &Held<'_>, beside: Option<Losses>, rows: &mut Vec<Row>) {
    let Held { look, expected, facts } = *held;
    let Some(beside) = beside else { return };
    let wanted = &expected.joint.properties;
    let both =
        [(&DAMPING, wanted.damping, beside.damping), (&FRICTION, wanted.friction, beside.friction)];
    for (quantity, wanted, beside) in both {
        if beside <= 0.0 {
            continue;
        }
        let found = quantity.of(facts).unwrap_or(0.0) + beside;
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
fn shared_effort(held: &Held<'_>, drive: &SharedDrive) -> Option<Row> {
    let Held { look, expected, facts } = *held;
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
fn loop_rows(held: &Held<'_>, found: &FoundLoop, is_other: bool) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let Some(bar) = &found.four_bar else { return Vec::new() };
    let side = expected.side;
    let mut rows = length_rows(look, side.mechanism.branch.bars(), facts, bar);
    let (pin, gap) = bar.gap();
    let drawn = Row::new("gap", Measure::Length).at(line_of(facts.robot, pin.place));
    rows.extend(number(drawn, [Some(0.0), Some(gap)], look.sides, true));
    rows.extend(pose_rows(held, bar, is_other));
    rows
}

/// Where crank and rocker stand in the pose that the file draws.
fn pose_rows(held: &Held<'_>, bar: &FourBarLoop, is_other: bool) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let (side, readings) = (expected.side, expected.figures.readings);
    let sense = drawn_sense(expected, facts.robot, bar, is_other);
    let turn = drawn_turn(expected, sense, bar);
    let [_, rocker] = bar.drawn;
    let allowed = Measure::Angle.allowed(0.0) + slack(side.mechanism.branch.bars());
    let row = |quantity, first, second| pose_row(look, facts, quantity, [first, second], allowed);
    let wanted = side.mechanism.branch.joint_turn(turn).ok();
    let rows = [
        row("drawn reading", readings.joint_at_turn(turn), facts.joint.drawn_at),
        wanted.and_then(|wanted| {
            let turned = libm::remainder(sense * rocker - side.check.zero.rocker, TAU);
            row("drawn rocker angle", wanted, turned)
        }),
    ];
    rows.into_iter().flatten().collect()
}

/// What driver's link and palm weigh, and the armature that belongs to them, that of the pins `at_pins` among it.
fn body_rows(held: &Held<'_>, (at, attitude): (usize, Attitude), at_pins: f64) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let Some(jaw) = &expected.jaw else { return Vec::new() };
    let mut rows = Vec::new();
    if let Some(body) = jaw.driver().and_then(|driver| driver.body) {
        let place =
            Place { at: expected.joint.origin.into(), tells_height: expected.tells_heights };
        let found = facts.borne().map(|own| own.about(-place.open_height(facts)));
        let link = (expected.joint.child.as_str(), facts.joint.child);
        rows.extend(weight_rows(look, facts.robot, link, (&body, found)));
    }
    rows.extend(palm_rows(held, (at, attitude)));
    let are_patched = !rows.is_empty() && !rows.iter().any(Row::differs);
    let patched = jaw.armature.filter(|_| are_patched);
    let wanted = patched.or(expected.figures.plain_armature);
    let found = ARMATURE.of(facts).or_else(|| (at_pins > 0.0).then_some(0.0));
    let found = found.map(|own| own + at_pins);
    rows.extend(ARMATURE.against(facts, [wanted, found], look.sides));
    rows
}

/// The palm with what the fingers of all grippers on it add; its rows belong to the first of them.
fn palm_rows(held: &Held<'_>, (at, attitude): (usize, Attitude)) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let design = expected.side.design;
    let parent = &expected.robot.parent;
    let before = design.robots.get(..at).unwrap_or_default();
    if before.iter().any(|other| other.parent == *parent) {
        return Vec::new();
    }
    let own = design.mass.carrier.as_ref().and_then(|body| link_frame::carrier(body).ok());
    let keeps_loops = expected.jaw.as_ref().is_some_and(|jaw| jaw.stand_in.is_none());
    let form = if keeps_loops { Form::Loop } else { Form::Direct };
    let request = expected.side.request(form, facts.robot.format);
    let stands = |(k, robot): (usize, &RobotJoint)| {
        let other = match attitude {
            Attitude::Turned(_) => joint_named(facts.robot, &robot.joint)
                .and_then(|id| half_turn(expected.side, facts.robot, (k, id))),
            Attitude::Mirrored => None,
        };
        jaw::as_known(&request, robot, other.unwrap_or(Attitude::Mirrored)).ok().flatten()
    };
    let jaws: Vec<Option<Jaw>> = design.robots.iter().enumerate().map(stands).collect();
    let palms: Vec<_> = on_palm(&design.robots, &jaws, parent).collect();
    let on_it = design.robots.iter().filter(|other| other.parent == *parent);
    let own = own.filter(|_| palms.len() == on_it.count());
    let Some(own) = own else { return Vec::new() };
    let wanted = palms.into_iter().fold(moments(&own), |sum, more| sum + more);
    let found = facts.carrier_that_weighs(&[wanted.mass]);
    weight_rows(look, facts.robot, (parent, facts.joint.parent), (&wanted, found))
}
