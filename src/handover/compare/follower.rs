//! The joints that follow a gripper's driver: where they stand, whom they name and how they turn with it.

use nalgebra::{Unit, UnitQuaternion, Vector3};

use super::bodies::moment_rows;
use super::expected::Expected;
use super::facts::{JointFacts, joint_named};
use super::joint::{axis_row, kind_row, origin_row};
use super::measure::Measure;
use super::row::{Look, Row, RowOutcome, Value, number, word};
use super::spot::{Spot, inertial_line, line_of};
use crate::handover::stand_in::jaw::{JawJoint, JawRole};
use crate::handover::tie::Tie;
use crate::robot::{FileJoint, JointId, Mimic};

/// The rows of all that stands beside the driver.
pub(super) fn rows(look: Look<'_>, expected: &Expected<'_>, driver: &JointFacts<'_>) -> Vec<Row> {
    let Some(jaw) = &expected.jaw else { return Vec::new() };
    let own = usize::from(jaw.driver().is_some());
    let mut rows: Vec<Row> = Vec::new();
    for wanted in jaw.joints.iter().skip(own) {
        let found = found(expected, driver, wanted);
        let missing = || vec![missing(look, driver, wanted)];
        rows.extend(found.map_or_else(missing, |id| one(look, expected, driver, (wanted, id))));
    }
    // A rocker that is drawn and closes nothing may be left out.
    for wanted in &jaw.drawn_rockers {
        let found = found(expected, driver, wanted);
        rows.extend(found.into_iter().flat_map(|id| one(look, expected, driver, (wanted, id))));
    }
    rows
}

/// The joint of that name, or the one that stands there.
fn found(expected: &Expected<'_>, driver: &JointFacts<'_>, wanted: &JawJoint) -> Option<JointId> {
    let named = joint_named(driver.robot, &wanted.joint.name);
    named.or_else(|| standing(expected, driver, &place(driver, wanted), wanted))
}

/// The joint of the driver's own pad.
pub(super) fn own_pad<'a>(
    expected: &Expected<'_>,
    driver: &JointFacts<'a>,
) -> Option<(&'a FileJoint, f64)> {
    let jaw = expected.jaw.as_ref()?;
    let is_own = |one: &&JawJoint| one.role == JawRole::Pad && !one.is_other;
    let joint =
        driver.robot.joints.get(found(expected, driver, jaw.joints.iter().find(is_own)?)?)?;
    Some((joint, jaw.multiplier?))
}

fn one(
    look: Look<'_>,
    expected: &Expected<'_>,
    driver: &JointFacts<'_>,
    (wanted, id): (&JawJoint, JointId),
) -> Vec<Row> {
    let place = place(driver, wanted);
    let Some(facts) = JointFacts::of(driver.robot, id, &expected.robot.parent) else {
        return Vec::new();
    };
    let name = facts.joint.name.clone();
    if !facts.moves_as(&wanted.joint) {
        return vec![kind_row(look, &wanted.joint, &facts).of(&name)];
    }
    let row = |quantity, measure| Row::new(quantity, measure).of(&name);
    let mut rows = vec![
        axis_row(row("axis", Measure::Direction), look, wanted.joint.axis.into(), &facts),
        origin_row(row("origin", Measure::Position), look, place, &facts),
    ];
    if let Some(mimic) = &wanted.joint.properties.mimic {
        rows.extend(tie_rows(look, &facts, (id, mimic), &driver.joint.name));
    }
    rows.extend(body_rows(look, driver, &facts, wanted));
    rows
}

/// How far the crank is turned in the pose that the file draws: what hangs on it is turned along.
fn turned(driver: &JointFacts<'_>, wanted: &JawJoint) -> UnitQuaternion<f64> {
    let reading = driver.joint.drawn_at;
    let axis = Unit::try_new(Vector3::from(wanted.joint.axis), 1e-9);
    axis.map_or(UnitQuaternion::identity(), |axis| UnitQuaternion::from_axis_angle(&axis, reading))
}

/// Where the joint stands in the palm's frame, in the pose that the file draws.
fn place(driver: &JointFacts<'_>, wanted: &JawJoint) -> Vector3<f64> {
    let at = Vector3::from(wanted.joint.origin);
    wanted.hung_at.map_or(at, |crank| Vector3::from(crank) + turned(driver, wanted) * at)
}

/// The joint of another name that stands there and turns about the same axis.
fn standing(
    expected: &Expected<'_>,
    driver: &JointFacts<'_>,
    place: &Vector3<f64>,
    wanted: &JawJoint,
) -> Option<JointId> {
    let axis = Vector3::from(wanted.joint.axis);
    let bars = expected.side.mechanism.branch.bars();
    let within = 0.25 * bars.crank.min(bars.ground);
    let names = expected.jaw.iter().flat_map(|jaw| &jaw.joints).map(|one| &one.joint.name);
    let taken: Vec<JointId> = names.filter_map(|name| joint_named(driver.robot, name)).collect();
    let near = (0..driver.robot.joints.len()).filter_map(|id| {
        let facts = JointFacts::of(driver.robot, id, &expected.robot.parent)?;
        let off = facts.origin - place;
        let off = (off - axis * axis.dot(&off)).norm();
        let is_free = !taken.contains(&id) && facts.joint.name != driver.joint.name;
        let fits = facts.moves_as(&wanted.joint) && facts.axis.cross(&axis).norm() < 0.1;
        (is_free && fits && off < within).then_some((id, off))
    });
    near.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(id, _)| id)
}

fn missing(look: Look<'_>, driver: &JointFacts<'_>, wanted: &JawJoint) -> Row {
    let name = &wanted.joint.name;
    let mut row = Row::new("joint", Measure::Name).of(name).at(driver.line(Spot::Joint));
    row.first = Some(Value::Word(name.clone()));
    row.outcome = RowOutcome::Differs;
    row.why =
        format!("{} no joint {name:?}, nor another that stands in its place", look.sides.second);
    row
}

fn tie_rows(
    look: Look<'_>,
    facts: &JointFacts<'_>,
    (id, wanted): (JointId, &Mimic),
    driver: &str,
) -> Vec<Row> {
    let name = &facts.joint.name;
    let Some(found) = Tie::of(facts.robot, id) else {
        let mut row = Row::new("leader", Measure::Name).of(name).at(facts.line(Spot::Joint));
        row.first = Some(Value::Word(driver.to_owned()));
        row.outcome = RowOutcome::Differs;
        row.why = format!("{} no leader of {name:?}: it moves freely", look.sides.second);
        return vec![row];
    };
    let found = found.through(facts.robot, driver);
    let line = line_of(facts.robot, found.place);
    let row = |quantity, measure| Row::new(quantity, measure).of(name).at(line.clone());
    let leader = word(row("leader", Measure::Name), [driver, &found.leader], look.sides);
    let is_chain =
        facts.robot.joint_named(&found.leader).and_then(|id| Tie::of(facts.robot, id)).is_some();
    let clause =
        if is_chain { "a chain of followers, which many readers do not follow" } else { "" };
    let Some([multiplier, offset]) = found.line else {
        let clause = "the file's relation is no straight line";
        let both = [Some(wanted.multiplier), Some(f64::NAN)];
        let row = number(row("multiplier", Measure::Ratio), both, look.sides, true);
        return std::iter::once(leader).chain(row.map(|row| row.explained(clause))).collect();
    };
    let offset_measure = if facts.joint.kind == crate::robot::JointKind::Prismatic {
        Measure::Travel
    } else {
        Measure::Angle
    };
    let figures = [
        number(
            row("multiplier", Measure::Ratio),
            [Some(wanted.multiplier), Some(multiplier)],
            look.sides,
            true,
        ),
        number(
            row("offset", offset_measure),
            [Some(wanted.offset), Some(offset)],
            look.sides,
            true,
        ),
    ];
    std::iter::once(leader.explained(clause)).chain(figures.into_iter().flatten()).collect()
}

/// What its link weighs, where both sides tell.
fn body_rows(
    look: Look<'_>,
    driver: &JointFacts<'_>,
    facts: &JointFacts<'_>,
    wanted: &JawJoint,
) -> Vec<Row> {
    let Some(body) = &wanted.body else { return Vec::new() };
    let turn =
        if wanted.hung_at.is_some() { turned(driver, wanted) } else { UnitQuaternion::identity() };
    let seat = nalgebra::Isometry3::from_parts(nalgebra::Translation3::identity(), turn);
    let found = facts.child_body().map(|own| own.seen_from(&facts.child_frame));
    let rows = moment_rows(&wanted.joint.child, &body.seen_from(&seat), found.as_ref(), look.sides);
    let placed = rows.into_iter().map(|row| {
        let at = inertial_line(facts.robot, facts.joint.child, row.measure);
        row.at(at)
    });
    placed.collect()
}
