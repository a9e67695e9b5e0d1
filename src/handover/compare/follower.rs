//! The joints that follow a gripper's driver: where they stand, whom they name and how they turn with it.

use std::f64::consts::TAU;

use nalgebra::{Isometry3, Translation3, Unit, UnitQuaternion, Vector3};

use super::bodies::moment_rows;
use super::expected::{Expected, Held};
use super::facts::{JointFacts, joint_named, link_named, rigid_moments};
use super::joint::{Place, axis_row, kind_row, origin_row};
use super::measure::Measure;
use super::row::{Look, Row, RowOutcome, Value, number, word};
use super::spot::{Spot, inertial_line, line_of};
use crate::dynamics::Moments;
use crate::handover::find::FourBarLoop;
use crate::handover::stand_in::figures::sense;
use crate::handover::stand_in::jaw::{JawJoint, JawRole};
use crate::handover::tie::Tie;
use crate::robot::{FileJoint, JointId, LinkId, Motion, Robot};

/// The rows of all that stands beside the driver; `loops` closes the own finger and the other, where the file keeps them.
pub(super) fn rows(held: &Held<'_>, loops: [Option<&FourBarLoop>; 2]) -> Vec<Row> {
    let Held { look, expected, facts: driver } = *held;
    let Some(jaw) = &expected.jaw else { return Vec::new() };
    let own = usize::from(jaw.driver().is_some());
    let mut rows: Vec<Row> = Vec::new();
    for wanted in jaw.joints.iter().skip(own) {
        let found = found(expected, driver, wanted);
        let [own, other] = loops;
        let closed = if wanted.is_other { other } else { own };
        rows.extend(match (found, closed) {
            (Some(id), _) => one(held, (wanted, id)),
            // What closes the loop at P may be no joint; its lengths are compared.
            (None, Some(bar)) if wanted.role == JawRole::Pad => coupler_rows(held, (wanted, bar)),
            (None, _) => vec![missing(look, driver, wanted)],
        });
    }
    // A rocker that is drawn and closes nothing may be left out.
    for wanted in &jaw.drawn_rockers {
        let found = found(expected, driver, wanted);
        rows.extend(found.into_iter().flat_map(|id| one(held, (wanted, id))));
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

fn one(held: &Held<'_>, (wanted, id): (&JawJoint, JointId)) -> Vec<Row> {
    let Held { look, expected, facts: driver } = *held;
    let place = place(driver, wanted);
    let Some(facts) = JointFacts::of(driver.robot, id, &expected.robot.parent) else {
        return Vec::new();
    };
    let name = facts.joint.name.clone();
    if !facts.moves_as(&wanted.joint) {
        return vec![kind_row(look, &wanted.joint, &facts).of(&name)];
    }
    let row = |quantity, measure| Row::new(quantity, measure).of(&name);
    let place = Place { at: place, tells_height: expected.tells_heights };
    let tie = Tie::to(facts.robot, id, &driver.joint.name);
    let sense = if is_turned_round(&facts, wanted, tie.as_ref()) { -1.0 } else { 1.0 };
    let axis = sense * Vector3::from(wanted.joint.axis);
    let mut rows = vec![
        axis_row(row("axis", Measure::Direction), look, axis, &facts),
        origin_row(row("origin", Measure::Position), look, place, &facts),
    ];
    if let Some(mimic) = &wanted.joint.properties.mimic {
        let figures = [mimic.multiplier, mimic.offset].map(|figure| sense * figure + 0.0);
        rows.extend(tie_rows(look, &facts, (tie, figures), &driver.joint.name));
    }
    let found = facts.borne().map(|body| body.about(-place.open_height(&facts)));
    rows.extend(body_rows(look, driver, (facts.joint.child, found), wanted));
    rows
}

/// Whether the joint turns about the axis as it points the other way, and its tie reads the other way too: what follows moves
/// the same, whichever way its axis is written.
fn is_turned_round(facts: &JointFacts<'_>, wanted: &JawJoint, tie: Option<&Tie>) -> bool {
    let is_opposite = facts.axis.dot(&Vector3::from(wanted.joint.axis)) < 0.0;
    let reads_back = wanted.joint.properties.mimic.as_ref().is_none_or(|mimic| {
        let multiplier = tie.and_then(|tie| tie.line).map_or(0.0, |[multiplier, _]| multiplier);
        multiplier * mimic.multiplier < 0.0
    });
    is_opposite && reads_back && wanted.joint.motion == Motion::Turn
}

/// What the part with the pad weighs, where the loop's own coupler is that part and no joint bears it at P.
fn coupler_rows(held: &Held<'_>, (wanted, bar): (&JawJoint, &FourBarLoop)) -> Vec<Row> {
    let Held { look, expected, facts: driver } = *held;
    let robot = driver.robot;
    let [_, pin, ..] = &bar.pins;
    let link = pin.links[1];
    let palm = link_named(robot, &expected.robot.parent).unwrap_or(driver.joint.parent);
    let (Some(palm), Some(coupler)) = (robot.links.get(palm), robot.links.get(link)) else {
        return Vec::new();
    };
    let mechanism = expected.side.mechanism;
    let sense = drawn_sense(expected, robot, bar, wanted.is_other);
    let turned = mechanism.branch.coupler_turn(drawn_turn(expected, sense, bar)).unwrap_or(0.0);
    let back = UnitQuaternion::from_scaled_axis(bar.axis * (-turned * sense));
    let at_pin = Translation3::from(pin.points[1].coords);
    let seen = Isometry3::from_parts(at_pin, palm.pose.rotation).inverse() * at_pin * back;
    let body = rigid_moments(robot, link)
        .map(|own| own.seen_from(&(seen * at_pin.inverse() * coupler.pose)));
    let axis = Vector3::from(wanted.joint.axis);
    let off = palm.pose.inverse_transform_point(&pin.points[1]).coords - place(driver, wanted);
    let along = axis * axis.dot(&off);
    let along = if expected.tells_heights { Vector3::zeros() } else { along };
    let Some(weighs) = &wanted.body else { return Vec::new() };
    let found = body.map(|body| body.about(-along));
    weight_rows(look, robot, (&wanted.joint.child, link), (weighs, found))
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
    (found, [multiplier_wanted, offset_wanted]): (Option<Tie>, [f64; 2]),
    driver: &str,
) -> Vec<Row> {
    let name = &facts.joint.name;
    let Some(found) = found else {
        let mut row = Row::new("leader", Measure::Name).of(name).at(facts.line(Spot::Joint));
        row.first = Some(Value::Word(driver.to_owned()));
        row.outcome = RowOutcome::Differs;
        row.why = format!("{} no leader of {name:?}: it moves freely", look.sides.second);
        return vec![row];
    };
    let line = line_of(facts.robot, found.place);
    let row = |quantity, measure| Row::new(quantity, measure).of(name).at(line.clone());
    let leader = word(row("leader", Measure::Name), [driver, &found.leader], look.sides);
    let is_chain =
        facts.robot.joint_named(&found.leader).and_then(|id| Tie::of(facts.robot, id)).is_some();
    let clause =
        if is_chain { "a chain of followers, which many readers do not follow" } else { "" };
    let Some([multiplier, offset]) = found.line else {
        let clause = "the file's relation is no straight line";
        let both = [Some(multiplier_wanted), Some(f64::NAN)];
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
            [Some(multiplier_wanted), Some(multiplier)],
            look.sides,
            true,
        ),
        number(
            row("offset", offset_measure),
            [Some(offset_wanted), Some(offset)],
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
    (link, found): (LinkId, Option<Moments>),
    wanted: &JawJoint,
) -> Vec<Row> {
    let Some(body) = &wanted.body else { return Vec::new() };
    let turn =
        if wanted.hung_at.is_some() { turned(driver, wanted) } else { UnitQuaternion::identity() };
    let seat = Isometry3::from_parts(Translation3::identity(), turn);
    let wanted = (wanted.joint.child.as_str(), link);
    weight_rows(look, driver.robot, wanted, (&body.seen_from(&seat), found))
}

/// What a link of this name weighs, each row where the file says it.
pub(super) fn weight_rows(
    look: Look<'_>,
    robot: &Robot,
    (name, link): (&str, LinkId),
    (wanted, found): (&Moments, Option<Moments>),
) -> Vec<Row> {
    let rows = moment_rows(name, wanted, found.as_ref(), look.sides);
    let placed = rows.into_iter().map(|row| {
        let at = inertial_line(robot, link, row.measure);
        row.at(at)
    });
    placed.collect()
}

/// +1 where the loop's axis is that of the drawing, or of its image beside it.
pub(super) fn drawn_sense(
    expected: &Expected<'_>,
    robot: &Robot,
    bar: &FourBarLoop,
    is_other: bool,
) -> f64 {
    let palm = link_named(robot, &expected.robot.parent).and_then(|link| robot.links.get(link));
    let z = Vector3::from(expected.robot.axis) * sense(expected.robot);
    let z = palm.map_or(z, |palm| palm.pose.rotation * z) * if is_other { -1.0 } else { 1.0 };
    bar.axis.dot(&z).signum()
}

/// The motor turn from the zero pose in which the file draws the loop, rad.
pub(super) fn drawn_turn(expected: &Expected<'_>, sense: f64, bar: &FourBarLoop) -> f64 {
    let [crank, _] = bar.drawn;
    libm::remainder(sense * crank - expected.side.check.zero.crank, TAU)
}
