//! What else acts on a joint: another actuator or joint between the same links, a tie to another joint, a tendon.
//!
//! A design says of a joint what its one motor does. What a file adds to that changes how the joint moves, whatever its own figures
//! say: a tie and a second joint make another mechanism of it; what an actuator or a tendon adds is not worked out.

use super::facts::{JointFacts, rigid_with};
use super::measure::Measure;
use super::row::{Row, RowOutcome, Sides, Value, word};
use super::spot::line_of;
use crate::handover::find::Bodies;
use crate::handover::tie::Tie;
use crate::robot::{Influence, JointKind, Place};

/// Against a design, of a joint that stands in the file by itself.
pub(super) fn rows(facts: &JointFacts<'_>) -> Vec<Row> {
    let tied = tie(facts).map(|(what, place)| {
        let why = "it is tied, where the design leaves it to its motor";
        row(facts, ("tie", RowOutcome::Differs), (what, place), why)
    });
    let beside = beside(facts).map(|(what, place)| {
        let why = "moves the same two links: the child does not turn about this axis alone";
        row(facts, ("second joint", RowOutcome::Differs), (what, place), why)
    });
    let more = more_that_drives(facts).into_iter().map(|(what, place)| {
        row(facts, ("what else acts on it", RowOutcome::Undecided), (what, place), ALSO)
    });
    tied.into_iter().chain(beside).chain(more).collect()
}

/// What keeps the joint from what its own figures say, whatever form the drive has: a link that no force moves, or one more does;
/// an actuator that is switched off; what is at the joint and not read.
pub(super) fn own_rows(facts: &JointFacts<'_>) -> Vec<Row> {
    let influences = influences(facts).into_iter().map(|(link, one, holds)| {
        let what = format!("{} of {link}", one.what);
        let (quantity, outcome, why) = if holds {
            ("held link", RowOutcome::Differs, "no torque of this joint turns it")
        } else {
            ("what else acts on it", RowOutcome::Undecided, ALSO)
        };
        row(facts, (quantity, outcome), (what, one.place), why)
    });
    let actuator = facts.actuator.into_iter().flat_map(|one| {
        let what = format!("actuator {:?}", one.name);
        let off = one.is_off.then(|| {
            let why = "is switched off: nothing drives the joint";
            row(facts, ("actuator", RowOutcome::Differs), (what.clone(), one.place), why)
        });
        let unread = Some(&one.unread).filter(|unread| !unread.is_empty());
        let more = unread.map(|unread| {
            row(
                facts,
                ("actuator", RowOutcome::Undecided),
                (format!("{what} has {unread}"), one.place),
                ALSO,
            )
        });
        off.into_iter().chain(more)
    });
    let unread = Some(&facts.joint.unread).filter(|unread| !unread.is_empty());
    let unread = unread.map(|what| {
        row(
            facts,
            ("what else acts on it", RowOutcome::Undecided),
            (what.clone(), facts.joint.place),
            ALSO,
        )
    });
    influences.chain(actuator).chain(unread).chain(soft_limits(facts)).collect()
}

/// Why what a design does not say leaves it undecided.
pub(super) const ALSO: &str = "the design does not say so, and what that does is not compared";

/// Ends between which a controller is to keep the joint, inside of its limits.
fn soft_limits(facts: &JointFacts<'_>) -> Option<Row> {
    let ([soft_low, soft_high], [low, high]) = (facts.joint.soft_limits?, facts.joint.limit?);
    let allowed = Measure::Angle.allowed(0.0);
    if soft_low <= low + allowed && soft_high >= high - allowed {
        return None;
    }
    let is_slide = facts.joint.kind == JointKind::Prismatic;
    let measure = if is_slide { Measure::Angle.along_slide() } else { Measure::Angle };
    let [soft_low, soft_high] = [soft_low, soft_high].map(|end| measure.shown(end));
    let what = (format!("soft limits {soft_low} to {soft_high}"), facts.joint.place);
    Some(row(facts, ("what else acts on it", RowOutcome::Undecided), what, ALSO))
}

/// What the file does to the links of both sides, with the link's name and whether it holds the one that is turned.
fn influences<'a>(facts: &JointFacts<'a>) -> Vec<(&'a str, &'a Influence, bool)> {
    let robot = facts.robot;
    let side = |link, is_child: bool| {
        let links = rigid_with(robot, link).into_iter().filter_map(move |id| robot.links.get(id));
        links.flat_map(move |link| {
            let own = link.influences.iter().filter(move |one| is_child || !one.holds);
            own.map(move |one| (link.name.as_str(), one, one.holds))
        })
    };
    side(facts.joint.child, true).chain(side(facts.joint.parent, false)).collect()
}

/// Of two files: what ties the joint in each.
pub(super) fn ties(a: &JointFacts<'_>, b: &JointFacts<'_>, sides: Sides<'_>) -> Option<Row> {
    let both = [tie(a), tie(b)];
    let place = both.iter().rev().flatten().map(|(_, place)| *place).next()?;
    let names = both.each_ref().map(|one| one.as_ref().map_or("not tied", |(what, _)| what));
    let row = Row::new("tie", Measure::Name);
    let at = if both[1].is_some() { line_of(b.robot, place) } else { b.line(super::Spot::Joint) };
    Some(word(row.at(at), names, sides))
}

fn row(
    facts: &JointFacts<'_>,
    (quantity, outcome): (&'static str, RowOutcome),
    (what, place): (String, Place),
    why: &str,
) -> Row {
    let mut row = Row::new(quantity, Measure::Name).at(line_of(facts.robot, place));
    row.why = format!("{what}: {why}");
    row.second = Some(Value::Word(what));
    row.outcome = outcome;
    row
}

/// The joint that it follows and how, or that it is held.
fn tie(facts: &JointFacts<'_>) -> Option<(String, Place)> {
    let robot = facts.robot;
    if let Some(Tie { leader, line, place }) = Tie::of(robot, facts.id) {
        let number = crate::units::number;
        let how = line.map_or("by a polynomial".to_owned(), |[slope, offset]| {
            format!("times {} plus {}", number(slope), number(offset))
        });
        return Some((format!("follows {leader} {how}"), place));
    }
    let mut active = robot.couplings.iter().filter(|one| one.is_active);
    let held = active.find(|one| one.follower == facts.id && one.leader.is_none())?;
    Some(("held where it is".to_owned(), held.place))
}

/// Another joint of the file that moves the child against the parent.
fn beside(facts: &JointFacts<'_>) -> Option<(String, Place)> {
    let bodies = Bodies::new(facts.robot);
    let sides = |parent, child| [bodies.of_link(parent), bodies.of_link(child)];
    let own = sides(facts.joint.parent, facts.joint.child);
    let mut others = facts.robot.joints.iter().enumerate().filter(|(id, joint)| {
        let is_movable = !matches!(joint.kind, JointKind::Fixed | JointKind::Gearbox);
        *id != facts.id && is_movable && sides(joint.parent, joint.child) == own
    });
    others.next().map(|(_, joint)| (format!("joint {:?}", joint.name), joint.place))
}

/// All actuators but its first, and tendons that spring, brake or stop it.
fn more_that_drives(facts: &JointFacts<'_>) -> Vec<(String, Place)> {
    let robot = facts.robot;
    let first = facts.actuator.map(|actuator| actuator.place);
    let own = robot.actuators.iter().filter(|one| one.joint == facts.id);
    let own = own.filter(|one| Some(one.place) != first && !one.is_off);
    let own = own.map(|one| (format!("actuator {:?}", one.name), one.place));
    let shared =
        robot.shared_drives.iter().filter(|one| !one.actuator.is_off).filter(|one| {
            first.is_some() && one.joints.iter().any(|(joint, _)| *joint == facts.id)
        });
    let shared = shared.map(|one| (format!("actuator {:?}", one.name), one.place));
    let tendons = robot.restraints.iter().filter(|one| one.joints.contains(&facts.id));
    let tendons = tendons.map(|one| (format!("the {} of a tendon", one.by), one.place));
    own.chain(shared).chain(tendons).collect()
}
