//! The rows of the driven joint itself.

use nalgebra::Vector3;

use super::acting;
use super::bodies::BodyState;
use super::expected::{Held, has_rotor};
use super::facts::JointFacts;
use super::measure::Measure;
use super::quantity::{
    ARMATURE, DAMPING, EFFORT, FRICTION, HIGHEST_TARGET, LOWER, LOWEST_TARGET, Quantity, SPRING,
    SPRING_REST, STRONGER_EFFORT, UPPER, VELOCITY,
};
use super::row::{Look, Row, RowOutcome, bound, number, several, word};
use super::spot::{Spot, line_of};
use crate::handover::Form;
use crate::handover::stand_in::Draws;
use crate::robot::{Format, JointKind, Motion, TreeJoint};

/// Links, axis, place, limits, effort, speed and losses.
pub(super) fn joint_rows<G: Draws>(held: &Held<'_, G>, form: Form) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let mut rows = link_rows(held);
    if !facts.moves_as(&expected.joint) {
        rows.push(kind_row(look, &expected.joint, facts));
        return rows;
    }
    let axis = Row::new("axis", Measure::Direction);
    rows.push(axis_row(axis, look, expected.joint.axis.into(), facts));
    let origin = Row::new("origin", Measure::Position);
    let place = Place { at: expected.joint.origin.into(), tells_height: expected.tells_heights };
    rows.push(origin_row(origin, look, place, facts));
    let bounds = bound_rows(held, form);
    let driven = limit_rows(held).into_iter().chain(bounds);
    rows.extend(driven.map(|row| if form == Form::Direct { row } else { left_to_motor(row) }));
    // With a crank of its own the losses are shared between the two: `kept` has both together.
    rows.extend(acting::own_rows(facts));
    if form == Form::Direct {
        rows.extend(loss_rows(held));
        let told = [&STRONGER_EFFORT, &SPRING, &SPRING_REST];
        let of = |one: &Quantity| one.against(facts, [None, one.of(facts)], look.sides);
        rows.extend(told.into_iter().filter_map(of).map(left_open));
        rows.extend(target_rows(held));
    }
    rows
}

/// A spring turns the joint, and no design says of one.
fn left_open(mut row: Row) -> Row {
    if row.quantity == SPRING.name {
        row.outcome = RowOutcome::Undecided;
        row.why = format!("a spring acts on it: {}", acting::ALSO);
    }
    row
}

/// The ends of what a position controller may be told, where that keeps the joint from a part of its stroke.
fn target_rows<G: Draws>(held: &Held<'_, G>) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let [lowest, highest] = expected.figures.limit.map(|limit| limit.angle);
    let ends = [(&LOWEST_TARGET, lowest, 1.0), (&HIGHEST_TARGET, highest, -1.0)];
    let rows = ends.into_iter().filter_map(|(end, limit, inwards)| {
        let found = end.of(facts).filter(|found| (found - limit) * inwards > 0.0)?;
        let row = end.against(facts, [None, Some(found)], look.sides)?;
        Some(row.explained("the controller cannot be told to go further"))
    });
    rows.collect()
}

/// What a joint that its crank drives may leave to the motor's joint.
pub(super) fn left_to_motor(mut row: Row) -> Row {
    if row.differs() && row.second.is_none() {
        row.outcome = RowOutcome::NotInFile;
        row.why = String::new();
    }
    row
}

fn link_rows<G: Draws>(held: &Held<'_, G>) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let joint = &expected.joint;
    let row = |quantity, spot, names| {
        word(Row::new(quantity, Measure::Name).at(facts.line(spot)), names, look.sides)
    };
    vec![
        row("parent link", Spot::Parent, [&joint.parent, facts.parent]),
        row("child link", Spot::Child, [&joint.child, facts.child]),
    ]
}

pub(super) fn kind_row(look: Look<'_>, wanted: &TreeJoint, facts: &JointFacts<'_>) -> Row {
    let wanted = match wanted.motion {
        Motion::Turn => "hinge",
        Motion::Slide => "slide",
        Motion::Ball => "ball",
    };
    let found = kind_called(facts.joint.kind);
    word(Row::new("kind", Measure::Name).at(facts.line(Spot::Joint)), [wanted, found], look.sides)
}

pub(super) fn kind_called(kind: JointKind) -> &'static str {
    match kind {
        JointKind::Fixed => "fixed",
        JointKind::Revolute => "hinge",
        JointKind::Prismatic => "slide",
        JointKind::Ball => "ball",
        JointKind::Universal | JointKind::Gearbox | JointKind::Other => {
            "neither hinge, slide nor ball"
        }
    }
}

/// The angle between two unit vectors, rad, also where it is small or near a half turn.
pub(super) fn between(a: &Vector3<f64>, b: &Vector3<f64>) -> f64 {
    a.cross(b).norm().atan2(a.dot(b))
}

pub(super) fn axis_row(
    row: Row,
    look: Look<'_>,
    expected: Vector3<f64>,
    facts: &JointFacts<'_>,
) -> Row {
    let angle = between(&expected, &facts.axis);
    let row = row.at(facts.line(Spot::Axis));
    let row = several(row, [expected.as_slice(), facts.axis.as_slice()], angle, 1.0, look.sides);
    let is_flipped = angle > std::f64::consts::PI - 1e-3;
    let clause =
        if is_flipped { "the joint turns the other way, readings and limits too" } else { "" };
    row.because(clause)
}

/// Where a joint is to stand.
#[derive(Clone, Copy)]
pub(super) struct Place {
    /// A point of its axis in the parent's frame, m.
    pub(super) at: Vector3<f64>,
    /// Whether the point along the axis is told too.
    pub(super) tells_height: bool,
}

impl Place {
    /// How far the file's joint stands along its axis beyond where the design puts it, where the design leaves that open, m.
    pub(super) fn open_height(&self, facts: &JointFacts<'_>) -> Vector3<f64> {
        let along = facts.axis * facts.axis.dot(&(facts.origin - self.at));
        if self.tells_height { Vector3::zeros() } else { along }
    }
}

pub(super) fn origin_row(row: Row, look: Look<'_>, place: Place, facts: &JointFacts<'_>) -> Row {
    let off = facts.origin - place.at - place.open_height(facts);
    let row = row.at(facts.line(Spot::Origin));
    let both = [place.at.as_slice(), facts.origin.as_slice()];
    let row = several(row, both, off.norm(), 1.0, look.sides);
    let is_along = row.differs() && facts.axis.cross(&off).norm() < Measure::Position.allowed(1.0);
    row.because(if is_along { "moved along the axis" } else { "" })
}

fn limit_rows<G: Draws>(held: &Held<'_, G>) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let ends = [&LOWER, &UPPER].into_iter().zip(expected.figures.limit);
    let rows = ends.filter_map(|(end, limit)| {
        let row = end.against(facts, [Some(limit.angle), end.of(facts)], look.sides)?;
        let set_by = format!("set by the {}", limit.set_by.name());
        Some(row.explained(&set_by))
    });
    rows.collect()
}

/// What the joint may do. In a loop it is the crank's joint that is driven: where the joint has no actuator, what the
/// file says of it bounds nothing.
fn bound_rows<G: Draws>(held: &Held<'_, G>, form: Form) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let is_passive = form == Form::Loop && facts.actuator.is_none();
    let both = [(&EFFORT, expected.figures.torque), (&VELOCITY, expected.figures.speed)];
    let rows = both.into_iter().filter_map(|(quantity, envelope)| {
        let found = quantity.of(facts).filter(|_| !is_passive);
        let holds = quantity.is_held_by(facts);
        bound(quantity.row(facts), envelope, found, look.basis, look.sides, holds)
    });
    rows.collect()
}

pub(super) fn loss_rows<G: Draws>(held: &Held<'_, G>) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let both = [
        (&DAMPING, expected.joint.properties.damping),
        (&FRICTION, expected.joint.properties.friction),
    ];
    let rows = both.into_iter().filter_map(|(quantity, wanted)| {
        quantity.against(facts, [wanted, quantity.of(facts)], look.sides)
    });
    rows.collect()
}

/// The rotor as the joint feels it: with patched bodies the one that belongs to them, else the plain n²J.
pub(super) fn armature_row<G: Draws>(held: &Held<'_, G>, state: BodyState) -> Option<Row> {
    let Held { look, expected, facts } = *held;
    let is_known = has_rotor(expected.side.design);
    let split = expected.plan.bodies.as_ref().filter(|_| is_known).map(|bodies| bodies.armature);
    let plain = expected.figures.plain_armature;
    let found = ARMATURE.of(facts);
    let (armature, clause) = match (state, split, plain) {
        (BodyState::Unpatched, _, Some(plain)) => (Some(plain), "n2J, as the links are unpatched"),
        (BodyState::Patched, Some(split), _) => (Some(split), "belongs to the patched links"),
        (_, Some(split), Some(plain)) => (Some(nearest(found, [split, plain])), ""),
        (_, split, plain) => (split.or(plain), ""),
    };
    let row = ARMATURE.against(facts, [armature, found], look.sides)?;
    Some(row.explained(clause))
}

pub(super) fn nearest<const N: usize>(found: Option<f64>, candidates: [f64; N]) -> f64 {
    let found = found.unwrap_or(f64::INFINITY);
    let nearer = |a: &f64, b: &f64| (a - found).abs().total_cmp(&(b - found).abs());
    candidates.into_iter().min_by(nearer).unwrap_or(f64::NAN)
}

/// The gear of what drives the joint: 1 in the joint's units, the ratio in the motor's, with its gearbox in the
/// rotor's.
pub(super) fn drive_rows<G: Draws>(held: &Held<'_, G>) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let Some(actuator) = facts.actuator else { return Vec::new() };
    let figures = expected.figures;
    let gear = figures.readings.gear();
    let motor = expected.side.design.actuator.as_ref();
    let gearbox = motor.and_then(|m| m.gear_ratio).unwrap_or(1.0);
    let wanted = nearest(Some(actuator.gear), [1.0, gear.signum(), gear, gear * gearbox]);
    let line = line_of(facts.robot, actuator.place);
    let is_slide = facts.joint.kind == JointKind::Prismatic;
    let of = |measure: Measure| if is_slide { measure.along_slide() } else { measure };
    let at = |quantity, measure| Row::new(quantity, of(measure)).at(line.clone());
    // A reduction may hold the gearbox too, which the design need not know.
    let is_known = motor.is_some_and(|m| m.gear_ratio.is_some());
    let is_one = (wanted - actuator.gear).abs() <= Measure::Ratio.allowed(wanted);
    let both = [Some(wanted).filter(|_| is_known || is_one), Some(actuator.gear)];
    let is_said = is_known || facts.robot.format != Format::Urdf;
    let row = number(at("ratio", Measure::Ratio), both, look.sides, true).filter(|_| is_said);
    let units = format!(
        "1 in the joint's units ({} where the signal keeps the motor's sense), {} in the motor's",
        crate::units::number(gear.signum()),
        crate::units::number(gear)
    );
    let square = actuator.gear * actuator.gear;
    let gain = |quantity, measure, wanted: Option<f64>, found: Option<f64>| {
        let found = found.map(|k| k * square);
        found.and_then(|k| number(at(quantity, measure), [wanted, Some(k)], look.sides, true))
    };
    let [position, velocity] = [0, 1].map(|k| actuator.gains.and_then(|g| g.get(k).copied()));
    let rows = [
        row.map(|row| row.explained(&units)),
        gain("position gain", Measure::PositionGain, figures.position_gain, position),
        gain("velocity gain", Measure::VelocityGain, figures.velocity_gain, velocity),
    ];
    rows.into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_angle_between_axes_is_exact_near_zero_and_near_a_half_turn() {
        let x = Vector3::x();
        for angle in [0.0_f64, 1e-9, 1e-3, 3.0, std::f64::consts::PI - 1e-9] {
            let other = Vector3::new(angle.cos(), angle.sin(), 0.0);
            assert!((between(&x, &other) - angle).abs() < 1e-14, "{angle}");
        }
    }
}
