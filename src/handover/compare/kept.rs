//! The rows of a crank that the file keeps as a body of its own: its joint, how it is coupled, the loop's lengths.

use std::f64::consts::TAU;

use nalgebra::Vector3;

use super::acting;
use super::expected::{Expected, Held};
use super::facts::JointFacts;
use super::follower::drawn_turn;
use super::joint::axis_row;
use super::measure::Measure;
use super::quantity::{
    ARMATURE, DAMPING, EFFORT, FRICTION, LOWER, POSITION_GAIN, UPPER, VELOCITY, VELOCITY_GAIN,
};
use super::row::{Look, Row, RowOutcome, number, several, word};
use super::spot::{Spot, line_of};
use crate::handover::find::{FoundLoop, FourBarLoop, Rates, turns};
use crate::handover::stand_in::Draws;
use crate::handover::stand_in::coupling::Relation;
use crate::handover::stand_in::limits::between_stops;
use crate::linkage::FourBar;
use crate::robot::FileJoint;

/// Samples of a coupling over the joint's limits, both ends among them.
const SAMPLES: u32 = 33;

/// The crank's joint: axis, place, and the motor's own figures.
pub(super) fn crank_rows<G: Draws>(held: &Held<'_, G>, all: Together<'_>) -> Vec<Row> {
    let Held { look, expected, facts: crank } = *held;
    let axis = Vector3::from(expected.crank.axis);
    let row = Row::new("axis", Measure::Direction).of(&crank.joint.name);
    let mut rows = vec![axis_row(row, look, axis, crank)];
    rows.extend(motor_place(held));
    rows.extend(motor_rows(held, all));
    rows.extend(super::kept_bodies::crank_rows(held));
    let own = acting::own_rows(crank).into_iter().map(|row| row.of(&crank.joint.name));
    rows.extend(own);
    rows
}

/// What crank, pins and joint come to together.
#[derive(Clone, Copy)]
pub(super) struct Together<'a> {
    facts: &'a JointFacts<'a>,
    crank: Option<&'a JointFacts<'a>>,
    pins: [Option<&'a FileJoint>; 2],
    rates: Option<Rates>,
    ratio: f64,
}

impl<'a> Together<'a> {
    pub(super) fn of<G: Draws>(
        expected: &Expected<'_, G>,
        facts: &'a JointFacts<'a>,
        crank: Option<&'a JointFacts<'a>>,
        found: Option<&FoundLoop>,
    ) -> Self {
        let pin = |at: usize| {
            let id = found.and_then(|found| found.four_bar.as_ref()?.pins.get(at)?.joint);
            id.and_then(|id| facts.robot.joints.get(id))
        };
        let rates = found.and_then(|found| Some(found.reach.as_ref()?.rates()));
        let ratio = expected.figures.readings.ratio.abs();
        Self { facts, crank, pins: [pin(1), pin(2)], rates, ratio }
    }

    /// As the joint feels it: of the joints on the carrier, of the pins, with the power of the rates that counts.
    fn sum(
        &self,
        of: fn(&JointFacts<'_>) -> Option<f64>,
        of_pin: fn(&FileJoint) -> Option<f64>,
        is_squared: bool,
    ) -> Option<f64> {
        let share = |[plain, squared]: [f64; 2]| if is_squared { squared } else { plain };
        let at = self.rates.map_or([0.0; 2], |r| [share(r.crank), share(r.rocker)]);
        let pins = self.pins.iter().zip(at).map(|(pin, rate)| Some(of_pin((*pin)?)? * rate));
        let crank = self.crank.and_then(of).map(|x| x * share([self.ratio, self.ratio.powi(2)]));
        let parts = pins.chain([of(self.facts), crank]).flatten();
        parts.reduce(|sum, x| sum + x)
    }
}

/// Where the motor's axis pierces the drawing; the place along it does not matter.
fn motor_place<G: Draws>(held: &Held<'_, G>) -> Option<Row> {
    let Held { look, expected, facts: crank } = *held;
    let wanted = expected.crank.at?;
    let axis = Vector3::from(expected.crank.axis);
    let off = crank.origin - Vector3::from(wanted);
    let across = (off - axis * axis.dot(&off)).norm();
    let row = Row::new("origin", Measure::Position).of(&crank.joint.name);
    let row = row.at(crank.line(Spot::Origin));
    Some(several(row, [&wanted, crank.origin.as_slice()], across, 1.0, look.sides))
}

/// What crank, pins and joint lose together, as the joint feels it: a file may share it between them as it likes.
pub(super) fn loss_rows<G: Draws>(
    look: Look<'_>,
    expected: &Expected<'_, G>,
    all: Together<'_>,
) -> Vec<Row> {
    let figures = expected.figures;
    let damping = all.sum(|facts| facts.damping(), |j| j.damping, true);
    let friction = all.sum(|facts| facts.joint.friction, |j| j.friction, false);
    let rows = [
        DAMPING.against(all.facts, [figures.damping, damping], look.sides),
        FRICTION.against(all.facts, [figures.friction, friction], look.sides),
    ];
    rows.into_iter().flatten().collect()
}

/// The motor's own figures; its armature with what the pins and the joint have of their own.
fn motor_rows<G: Draws>(held: &Held<'_, G>, all: Together<'_>) -> Vec<Row> {
    let Held { look, expected, facts: crank } = *held;
    let motor = expected.side.design.actuator.clone().unwrap_or_default();
    let armature = expected.crank.armature.filter(|armature| *armature > 0.0);
    let at_joint = all.sum(|facts| facts.armature(), |j| j.armature, true);
    let own_armature = at_joint.map(|x| x / (all.ratio * all.ratio));
    let rows = [
        EFFORT.named(crank, [motor.peak_torque, EFFORT.of(crank)], look.sides),
        VELOCITY.named(crank, [motor.max_speed, VELOCITY.of(crank)], look.sides),
        ARMATURE.named(crank, [armature, own_armature], look.sides),
    ];
    let gains = [(&POSITION_GAIN, motor.position_gain), (&VELOCITY_GAIN, motor.velocity_gain)];
    let gains = gains.into_iter().filter_map(|(gain, wanted)| {
        gain.of(crank).and_then(|found| gain.named(crank, [wanted, Some(found)], look.sides))
    });
    rows.into_iter().flatten().chain(gains).collect()
}

/// How far the file's relation of crank and joint is off the nearest of those that belong to the design, over the joint's
/// limits.
pub(super) fn coupling_row<G: Draws>(
    held: &Held<'_, G>,
    relation: Option<&Relation>,
) -> Option<Row> {
    let Held { look, expected, facts: crank } = *held;
    let mut row = Row::new("coupling", Measure::Angle).at(crank.line(Spot::Joint));
    row = row.of(&crank.joint.name);
    let Some(found) = relation else {
        expected.coupled.first()?;
        row.outcome = RowOutcome::NotInFile;
        row.why =
            "the file's polynomial gives the joint for a crank angle: not compared".to_owned();
        return Some(row);
    };
    let each = expected.coupled.iter();
    let furthest = each.map(|wanted| (wanted, furthest_off(expected, found, wanted)));
    let (wanted, (at, worst)) =
        furthest.min_by(|(_, a), (_, b)| a.1.abs().total_cmp(&b.1.abs()))?;
    let row =
        number(row, [Some(wanted.crank(at)), Some(wanted.crank(at) + worst)], look.sides, true)?;
    let clause = format!("crank angle at joint {}, the furthest off", Measure::Angle.shown(at));
    Some(row.explained(&clause))
}

/// Ends of a coupled crank's own that stop it before the joint is at its limits; further out they stop nothing.
pub(super) fn stop_rows<G: Draws>(held: &Held<'_, G>) -> Vec<Row> {
    let Held { look, expected, facts: crank } = *held;
    let Some([low, high]) = crank.joint.limit else { return Vec::new() };
    let ends = expected.coupled.iter().map(|relation| {
        let [a, b] = expected.figures.limit.map(|limit| relation.crank(limit.angle));
        [a.min(b), a.max(b)]
    });
    // Of the relations that belong to the design the one that asks for the shortest way.
    let Some([first, last]) = ends.reduce(|a, b| [a[0].max(b[0]), a[1].min(b[1])]) else {
        return Vec::new();
    };
    // The drive itself may end a little before, by what the straight line is off there.
    let [before, behind] = short_of_line(expected);
    let (first, last) = (first + before, last - behind);
    let stops = [(&LOWER, first, first.max(low)), (&UPPER, last, last.min(high))];
    let rows = stops.into_iter().filter_map(|(end, wanted, found)| {
        end.named(crank, [Some(wanted), Some(found)], look.sides)
    });
    rows.collect()
}

/// By how much the drive's own crank ends before the direct joint's straight line has it at the joint's limits, low and high, rad.
fn short_of_line<G: Draws>(expected: &Expected<'_, G>) -> [f64; 2] {
    let readings = &expected.figures.readings;
    let sorted = |[a, b]: [f64; 2]| [a.min(b), a.max(b)];
    let stops = expected.side.design.actuator.as_ref().and_then(|a| a.stops);
    let own = between_stops(&expected.side.check.stroke, stops);
    let [low, high] = sorted(own.map(|turn| readings.motor_at_turn(turn)));
    let [first, last] = sorted(expected.figures.limit.map(|limit| readings.motor_at(limit.angle)));
    [(low - first).max(0.0), (last - high).max(0.0)]
}

/// The joint reading where the two relations are furthest apart, and by how much, rad.
fn furthest_off<G: Draws>(
    expected: &Expected<'_, G>,
    found: &Relation,
    wanted: &Relation,
) -> (f64, f64) {
    let [low, high] = expected.figures.limit.map(|limit| limit.angle);
    let samples = (0..SAMPLES).map(|k| low + (high - low) * f64::from(k) / f64::from(SAMPLES - 1));
    let off = |joint: f64| libm::remainder(found.crank(joint) - wanted.crank(joint), TAU);
    samples
        .map(|joint| (joint, off(joint)))
        .fold((low, 0.0_f64), |most, next| if next.1.abs() > most.1.abs() { next } else { most })
}

/// The loop that the file still holds: lengths, assembly, the motor's limits.
pub(super) fn loop_rows(held: &Held<'_>, found: &FourBarLoop) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let side = expected.side;
    let mut rows = length_rows(look, side.mechanism.branch.bars(), facts, found);
    let (pin, gap) = found.gap();
    let drawn = Row::new("gap", Measure::Length).of(&pin.name).at(line_of(facts.robot, pin.place));
    rows.extend(number(drawn, [Some(0.0), Some(gap)], look.sides, true));
    rows.extend(tilt_rows(look, facts, found));
    rows.extend(pose_rows(held, found));
    rows.extend(motor_limits(held, found));
    rows
}

/// How far the rod's own hinges stand from the joint's direction: what is judged turns in a plane.
fn tilt_rows(look: Look<'_>, facts: &JointFacts<'_>, found: &FourBarLoop) -> Vec<Row> {
    let [_, crank, rocker, _] = &found.pins;
    let rows = [crank, rocker].into_iter().filter_map(|pin| {
        let row = Row::new("tilt of the axis", Measure::Angle).of(&pin.name);
        let row = row.at(line_of(facts.robot, pin.place));
        near(row, [0.0, pin.tilt?], Measure::Direction.allowed(1.0), look)
    });
    rows.collect()
}

/// Two angles that whole turns do not change, so far off at most.
fn near(row: Row, [first, second]: [f64; 2], allowed: f64, look: Look<'_>) -> Option<Row> {
    let row = number(row, [Some(first), Some(second)], look.sides, true)?;
    let mut row = row.judged(libm::remainder(second - first, TAU), allowed, look.sides);
    row.why = if row.differs() { row.why } else { String::new() };
    Some(row)
}

pub(super) fn length_rows(
    look: Look<'_>,
    wanted: &FourBar,
    facts: &JointFacts<'_>,
    found: &FourBarLoop,
) -> Vec<Row> {
    let bars = &found.bars;
    let [motor, crank, rocker, joint] = &found.pins;
    let each = [
        ("ground", wanted.ground, bars.ground, joint),
        ("crank", wanted.crank, bars.crank, motor),
        ("coupler", wanted.coupler, bars.coupler, crank),
        ("rocker", wanted.rocker, bars.rocker, rocker),
    ];
    let row = |(name, wanted, found, pin): (_, f64, f64, &crate::handover::find::LoopPin)| {
        let row = Row::new(name, Measure::Length).at(line_of(facts.robot, pin.place));
        number(row, [Some(wanted), Some(found)], look.sides, true)
    };
    each.into_iter().filter_map(row).collect()
}

/// Lengths within their tolerance may turn the rocker by so much, rad: it widens what angles of the pose may be off.
pub(super) fn slack(bars: &FourBar) -> f64 {
    let shortest = bars.crank.min(bars.rocker).max(f64::MIN_POSITIVE);
    4.0 * Measure::Length.allowed(0.0) / shortest
}

/// An angle of the pose that the file draws, which whole turns do not change.
pub(super) fn pose_row(
    look: Look<'_>,
    facts: &JointFacts<'_>,
    quantity: &'static str,
    both: [f64; 2],
    allowed: f64,
) -> Option<Row> {
    near(Row::new(quantity, Measure::Angle).at(facts.line(Spot::Joint)), both, allowed, look)
}

/// The rocker where the design has it at the drawn crank angle, and the joint's reading there.
fn pose_rows(held: &Held<'_>, found: &FourBarLoop) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let side = expected.side;
    let figures = expected.figures;
    let [_, rocker] = found.drawn;
    let turned = libm::remainder(figures.readings.sense * rocker - side.check.zero.rocker, TAU);
    let allowed = Measure::Angle.allowed(0.0) + slack(side.mechanism.branch.bars());
    let row = |quantity, first, second| pose_row(look, facts, quantity, [first, second], allowed);
    let by_design = side
        .mechanism
        .branch
        .joint_turn(drawn_turn(expected, expected.figures.readings.sense, found))
        .ok();
    let rows = [
        by_design.and_then(|wanted| {
            let row = row("drawn rocker angle", libm::remainder(wanted, TAU), turned)?;
            Some(row.explained("from the zero pose, at the crank angle that the file draws"))
        }),
        row("drawn joint reading", figures.readings.joint_at_turn(turned), facts.joint.drawn_at),
    ];
    rows.into_iter().flatten().collect()
}

/// As turns from the zero pose, wherever the crank's joint counts from.
fn motor_limits(held: &Held<'_>, found: &FourBarLoop) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let Some(motor) = found.crank_joint().and_then(|id| facts.robot.joints.get(id)) else {
        return Vec::new();
    };
    let sense = expected.figures.readings.sense;
    let drawn = drawn_turn(expected, expected.figures.readings.sense, found);
    let of_file = turns(motor, sense * found.motor_sign());
    let of_file = of_file.map(|ends| ends.map(|end| end + drawn));
    let [first, last] = expected.side.check.stroke.motor;
    let stops = expected.side.design.actuator.as_ref().and_then(|a| a.stops);
    let ends = [0, 1].map(|k| of_file.and_then(|ends| ends.get(k).copied()));
    let [low, high] = stops.unwrap_or([first, last]);
    // The motor may end at its stops, where the joint's own limits end the stroke before.
    let nearer = |end: Option<f64>, stop: f64, inside: f64| {
        let end = end.unwrap_or(inside);
        if (end - stop).abs() < (end - inside).abs() { stop } else { inside }
    };
    let wanted = [nearer(ends[0], low, low.max(first)), nearer(ends[1], high, high.min(last))];
    let row = |quantity, spot, wanted: f64, found: Option<f64>| {
        let line = super::spot::spot(facts.robot, motor, spot);
        let row = Row::new(quantity, Measure::Angle).of(&motor.name).at(line);
        number(row, [Some(wanted), found], look.sides, true)
    };
    let rows = [
        row("lower motor turn", Spot::Lower, wanted[0], ends[0]),
        row("upper motor turn", Spot::Upper, wanted[1], ends[1]),
    ];
    let is_held_by_joint = facts.joint.limit.is_some();
    let left_out = |mut row: Row| {
        if row.second.is_none() && is_held_by_joint {
            row.outcome = RowOutcome::NotInFile;
            row.why = String::new();
        }
        row
    };
    rows.into_iter().flatten().map(left_out).collect()
}

/// A loop around the joint that is no four-bar.
pub(super) fn no_four_bar(look: Look<'_>, facts: &JointFacts<'_>, why: &str) -> Row {
    let row = Row::new("linkage", Measure::Name).at(facts.line(Spot::Joint));
    word(row, ["a four-bar that drives this joint", "another loop"], look.sides).because(why)
}
