//! The rows of pitch and roll themselves.

use super::kept::Kept;
use super::{Looked, vector};
use crate::design::TwoJointRobot;
use crate::handover::compare::acting;
use crate::handover::compare::bodies::BodyState;
use crate::handover::compare::facts::JointFacts;
use crate::handover::compare::joint::{
    Place, axis_row, kind_called, left_to_motor, nearest, origin_row,
};
use crate::handover::compare::measure::Measure;
use crate::handover::compare::quantity::{
    ARMATURE, DAMPING, EFFORT, FRICTION, LOWER, UPPER, VELOCITY,
};
use crate::handover::compare::row::{Row, bound, number, word};
use crate::handover::compare::spot::{Spot, line_of};
use crate::handover::stand_in::figures::Envelope;
use crate::robot::{Format, JointKind};

/// Below this an armature is none, kg m².
const NONE: f64 = 1e-9;

/// Links, order, axes, places, limits, what the joints may do and lose.
pub(super) fn rows(at: Looked<'_>) -> [Vec<Row>; 2] {
    [at.rows(0), at.rows(1)]
}

impl Looked<'_> {
    fn rows(&self, axis: usize) -> Vec<Row> {
        let Some(facts) = self.seen.facts.get(axis) else { return Vec::new() };
        let mut rows = self.links(axis, facts);
        if facts.joint.kind != JointKind::Revolute {
            let row = Row::new("kind", Measure::Name).at(facts.line(Spot::Joint));
            rows.push(word(row, ["hinge", kind_called(facts.joint.kind)], self.look.sides));
            return rows;
        }
        if axis == 0 {
            rows.push(self.order(facts));
        }
        rows.extend(self.place(axis, facts));
        rows.extend(self.limits(axis, facts));
        rows.extend(self.bounds(axis, facts));
        if matches!(self.kept, Kept::Joints) {
            rows.extend(self.losses(axis, facts));
            rows.extend(self.actuator(axis, facts));
        }
        rows.extend(self.armature(axis, facts));
        rows.extend(acting::own_rows(facts));
        rows
    }

    fn links(&self, axis: usize, facts: &JointFacts<'_>) -> Vec<Row> {
        let TwoJointRobot { parent, middle, child, .. } = self.wanted;
        // A design without a body between the joints leaves open whether the file has one.
        let is_one = self.seen.is_one_body() && self.side.design.masses.middle.is_none();
        let [middle_below, middle_above] = if is_one { [child, parent] } else { [middle, middle] };
        let names = if axis == 0 { [parent, middle_below] } else { [middle_above, child] };
        let row = |quantity, spot, names| {
            let row = Row::new(quantity, Measure::Name).at(facts.line(spot));
            word(row, names, self.look.sides)
        };
        vec![
            row("parent link", Spot::Parent, [names[0], facts.parent]),
            row("child link", Spot::Child, [names[1], facts.child]),
        ]
    }

    /// Which of the two carries the other.
    fn order(&self, facts: &JointFacts<'_>) -> Row {
        let [pitch, roll] = &self.seen.facts;
        let carries = |below: &JointFacts<'_>, above: &JointFacts<'_>, first: bool| {
            let is_one = below.joint.child == above.joint.child;
            below.joint.child == above.joint.parent || is_one && first
        };
        let in_order = self.seen.ids[0] < self.seen.ids[1];
        let found = match (carries(pitch, roll, in_order), carries(roll, pitch, !in_order)) {
            (true, _) => "pitch carries roll",
            (_, true) => "roll carries pitch",
            _ => "neither carries the other",
        };
        let row = Row::new("order", Measure::Name).at(facts.line(Spot::Joint));
        word(row, ["pitch carries roll", found], self.look.sides)
    }

    /// In the carrier's frame in the design's zero pose; any point of an axis is as good as another.
    fn place(&self, axis: usize, facts: &JointFacts<'_>) -> [Row; 2] {
        let geometry = self.side.of.drive.geometry();
        let wanted = if axis == 0 { &geometry.pitch } else { &geometry.roll };
        let place = Place { at: vector(wanted.point), tells_height: false };
        let origin = Row::new("origin", Measure::Position);
        [
            axis_row(
                Row::new("axis", Measure::Direction),
                self.look,
                vector(wanted.direction),
                facts,
            ),
            origin_row(origin, self.look, place, facts),
        ]
    }

    fn limits(&self, axis: usize, facts: &JointFacts<'_>) -> Vec<Row> {
        let asked = self.side.as_kept(self.kept, false);
        let Some(ends) = asked.limits().get(axis).copied() else { return Vec::new() };
        let each = [&LOWER, &UPPER].into_iter().zip(ends);
        let row = |(end, limit): (&crate::handover::compare::quantity::Quantity, f64)| {
            end.against(facts, [Some(limit), end.of(facts)], self.look.sides)
        };
        each.filter_map(row).collect()
    }

    /// The box that every pose gives, up to what none exceeds; where motors pull both joints these bound nothing themselves.
    fn bounds(&self, axis: usize, facts: &JointFacts<'_>) -> Vec<Row> {
        let check = self.side.check;
        let both = [(&EFFORT, &check.torque), (&VELOCITY, &check.speed)];
        let rows = both.into_iter().filter_map(|(quantity, known)| {
            let capability = known.as_ref().map(|of| &of.capability);
            let envelope = Envelope {
                guaranteed: capability.and_then(|of| of.guaranteed.get(axis).copied()),
                never_exceed: capability.and_then(|of| Some(of.never_exceed().get(axis)?.value)),
            };
            let (found, holds) = (quantity.of(facts), quantity.is_held_by(facts));
            let row = quantity.row(facts);
            bound(row, envelope, found, self.look.basis, self.look.sides, holds)
        });
        let is_own = matches!(self.kept, Kept::Joints);
        rows.map(|row| if is_own { row } else { left_to_motor(row) }).collect()
    }

    fn losses(&self, axis: usize, facts: &JointFacts<'_>) -> Vec<Row> {
        let wanted = self.side.as_kept(self.kept, false).properties(axis, None);
        let both = [(&DAMPING, wanted.damping), (&FRICTION, wanted.friction)];
        let row = |(quantity, wanted): (&crate::handover::compare::quantity::Quantity, _)| {
            quantity.against(facts, [wanted, quantity.of(facts)], self.look.sides)
        };
        both.into_iter().filter_map(row).collect()
    }

    /// What belongs to the bodies that the file holds.
    fn armature(&self, axis: usize, facts: &JointFacts<'_>) -> Option<Row> {
        let asked = self.side.as_kept(self.kept, true);
        let parts = self.side.parts.as_ref();
        let tree = parts.and_then(|parts| asked.tree_on(parts, !self.seen.is_one_body()).ok());
        let split = tree.and_then(|tree| tree.joint_armatures.get(axis).copied());
        let split = split.filter(|_| !matches!(self.kept, Kept::Loops(..) | Kept::Other(_)));
        let plain = asked.properties(axis, None).armature.unwrap_or(0.0);
        let found = ARMATURE.of(facts);
        let (wanted, clause) = match (self.state, split) {
            (BodyState::Patched, Some(split)) => (split, "belongs to the patched links"),
            (BodyState::Unpatched, _) | (_, None) => (plain, "as the links are unpatched"),
            (_, Some(split)) => (nearest(Some(found.unwrap_or(0.0)), [split, plain]), ""),
        };
        let is_known = self.side.has_rotors || matches!(self.kept, Kept::Loops(..));
        let wanted = Some(wanted).filter(|x| is_known && (*x > NONE || found.is_some()));
        let row = ARMATURE.against(facts, [wanted, found], self.look.sides)?;
        Some(row.explained(clause))
    }

    /// An actuator on the joint itself, in its own units.
    fn actuator(&self, axis: usize, facts: &JointFacts<'_>) -> Vec<Row> {
        let Some(actuator) = facts.actuator.filter(|_| facts.robot.format == Format::Mjcf) else {
            return Vec::new();
        };
        let asked = self.side.as_kept(self.kept, false);
        let made = asked.actuators(self.wanted, None).into_iter().nth(axis);
        let Some(made) = made.map(|made| made.properties) else { return Vec::new() };
        let line = line_of(facts.robot, actuator.place);
        let row = |quantity, measure, wanted: Option<f64>, found: Option<f64>| {
            let row = Row::new(quantity, measure).at(line.clone());
            number(row, [wanted, found], self.look.sides, true)
        };
        let gain = |gains: Option<[f64; 2]>, which: usize, gear: f64| {
            gains.and_then(|both| Some(both.get(which)? * gear * gear))
        };
        let rows = [
            row("ratio", Measure::Ratio, Some(made.gear), Some(actuator.gear)),
            row(
                "position gain",
                Measure::PositionGain,
                gain(made.gains, 0, 1.0),
                gain(actuator.gains, 0, actuator.gear),
            ),
            row(
                "velocity gain",
                Measure::VelocityGain,
                gain(made.gains, 1, 1.0),
                gain(actuator.gains, 1, actuator.gear),
            ),
        ];
        rows.into_iter().flatten().collect()
    }
}
