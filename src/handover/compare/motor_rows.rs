//! The rows of the motor's side that a file keeps of a drive: what it can do, loses and weighs, at the crank or, of a screw, along
//! its travel.

use std::f64::consts::TAU;

use super::expected::Expected;
use super::measure::Measure;
use super::row::{Line, Look, Row, number};
use crate::design::Drawn;
use crate::handover::find::{LoopDrive, MotorSide};
use crate::robot::Format;

/// None where the file tells no motor.
pub(super) fn rows(
    expected: &Expected<'_, Drawn>,
    found: &LoopDrive,
    (look, line, format): (Look<'_>, Option<Line>, Format),
) -> Vec<Row> {
    let design = expected.side.design;
    let lead = design.geometry.screw.map(|screw| screw.lead);
    let turns = lead.map_or(found.motor_per_reading, |lead| TAU / lead);
    let Some(own) = found.motor_side else { return Vec::new() };
    let wanted = wanted(expected, own.geared(turns).armature).geared(1.0 / turns);
    let is_given = design.actuator.clone().unwrap_or_default();
    let of = |measure: Measure| if lead.is_some() { measure.along_slide() } else { measure };
    let row = |name, measure, wanted: Option<f64>, found: Option<f64>| {
        let row = Row::new(name, of(measure)).at(line.clone());
        number(row, [wanted, found], look.sides, found.is_some() || measure != Measure::Armature)
    };
    let where_given = |figure: f64, given: Option<f64>| Some(figure).filter(|_| given.is_some());
    let damping = where_given(wanted.damping, is_given.damping);
    let friction = where_given(wanted.friction, is_given.friction);
    let armature = where_given(wanted.armature, is_given.rotor_inertia.and(is_given.gear_ratio));
    let held = Some(own.armature).filter(|_| format.holds_armature());
    let rows = [
        row("motor effort", Measure::Torque, wanted.effort, own.effort),
        row("motor damping", Measure::Damping, damping, Some(own.damping)),
        row("motor friction", Measure::Friction, friction, Some(own.friction)),
        row("motor armature", Measure::Armature, armature, held),
    ];
    // Of a force that the file makes by its own law no gains are read.
    let gains = [
        ("position gain", Measure::PositionGain, 0),
        ("velocity gain", Measure::VelocityGain, 1_usize),
    ];
    let gains = gains.into_iter().filter_map(|(name, measure, which)| {
        let of = |gains: &[Option<f64>; 2]| gains.get(which).copied().flatten();
        row(name, measure, of(&wanted.gains), Some(of(&own.gains)?))
    });
    rows.into_iter().flatten().chain(gains).collect()
}

/// The design's motor, at itself; `found` is the file's armature there.
fn wanted(expected: &Expected<'_, Drawn>, found: f64) -> MotorSide {
    let motor = expected.side.design.actuator.clone().unwrap_or_default();
    let rotor = motor.rotor_at_output();
    MotorSide {
        effort: motor.peak_torque,
        velocity: None,
        damping: motor.damping.unwrap_or(0.0),
        friction: motor.friction.unwrap_or(0.0),
        gains: [motor.position_gain, motor.velocity_gain],
        armature: rotor.map_or(0.0, |own| nearest(own, found, expected)),
    }
}

/// The rotor's own; where the links have what the drive's bodies leave them, with what those leave the joint, or the joint's whole.
fn nearest(own: f64, found: f64, expected: &Expected<'_, Drawn>) -> f64 {
    let ratio = expected.side.check.direct_joint.ratio;
    let split = expected.plan.bodies.as_ref().map(|bodies| bodies.armature / (ratio * ratio));
    let all = [Some(own), split, split.map(|split| own + split)];
    let off = |x: &f64| (x - found).abs();
    all.into_iter().flatten().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(own)
}
