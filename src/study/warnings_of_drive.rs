//! What a reader should know besides the verdict on a drive that is no planar four-bar.

use std::f64::consts::PI;

use crate::design::{Design, Drawn, MotorOn};
use crate::diagnostic::Code;
use crate::drive::{Drawing, JointDrive, Kind, Screw, StopKind};
use crate::equivalence::DriveFigures;
use crate::numeric::peaks;
use crate::units::{angle, degrees, fixed};

use super::findings::{Check, DriveFindings, NearStop, Warning};
use super::warnings::{axis_away, ratio_given_off, zero_outside};

/// A stroke that ends this near to a stop gets a warning.
const NEAR: f64 = 10.0 * PI / 180.0;

/// All that applies to `check`, in the order of the motion.
pub(super) fn of(design: &Design<Drawn>, check: &Check) -> Vec<Warning> {
    let found = check.in_space.as_ref();
    found
        .into_iter()
        .flat_map(near_stops)
        .chain(locks_itself(design))
        .chain(nut_turns(design, check))
        .chain(pins_give(check))
        .chain(zero_outside(check))
        .chain(ratio_given_off(check))
        .chain(axis_away(design))
        .chain(outside_limits(design))
        .collect()
}

fn near_stops(found: &DriveFindings) -> Vec<Warning> {
    let near = found.stops.iter().filter(|stop| stop.margin < NEAR);
    let warning = |stop: &NearStop| {
        let (code, what) = match stop.kind {
            StopKind::DeadPoint => {
                (Code::NearDeadPoint, "dead point, where the joint cannot drive the motor")
            }
            StopKind::CrankLimit => (
                Code::NearCrankLimit,
                "crank limit (toggle), where the rod has no arm about the joint and pin forces grow without bound",
            ),
            StopKind::Shortest => {
                (Code::NearActuatorEnd, "end of the actuator, its shortest length")
            }
            StopKind::Longest => (Code::NearActuatorEnd, "end of the actuator, its longest length"),
        };
        let margin = angle(stop.margin, 2);
        let message = format!("the stroke ends {margin} of joint angle before a {what}");
        Warning { code, message }
    };
    near.map(warning).collect()
}

/// The screw, where enough is told of it.
fn screw(design: &Design<Drawn>) -> Option<Screw> {
    design.geometry.screw?.screw()
}

/// Is it certain or likely that the load never turns the motor?
fn is_locked(design: &Design<Drawn>) -> bool {
    match screw(design) {
        Some(screw) => screw.locks_itself(),
        None => {
            let efficiency = design.geometry.screw.and_then(|figures| figures.efficiency);
            efficiency.is_some_and(|efficiency| efficiency <= 0.5)
        }
    }
}

fn locks_itself(design: &Design<Drawn>) -> Option<Warning> {
    is_locked(design).then(|| Warning {
        code: Code::ScrewLocksItself,
        message: "the screw locks itself: a load on the joint never turns the motor, which no constant ratio with damping models; motion and torque of a driving motor are what the verdict is about".to_owned(),
    })
}

/// The twist between the end joints of an actuator in space, which the nut reads as travel.
fn nut_turns(design: &Design<Drawn>, check: &Check) -> Option<Warning> {
    let figures = design.geometry.screw.filter(|figures| !figures.is_twist_guided)?;
    let turn = nut_turn(design, check).filter(|turn| *turn > 1e-6)?;
    let read = figures.lead.abs() * turn / (2.0 * PI);
    Some(Warning {
        code: Code::NutTurns,
        message: format!(
            "the nut is not kept from turning against its housing: by up to {} it may turn about the screw, which reads as {} mm of travel; guide it, or take a universal joint at one end",
            degrees(turn),
            fixed(1e3 * read, 3)
        ),
    })
}

/// How far the nut may turn over the stroke, rad: of an actuator the lever's twist about it, of a nut on a guide as far as its
/// rod tilts.
fn nut_turn(design: &Design<Drawn>, check: &Check) -> Option<f64> {
    let drawing = &design.geometry.drawing;
    match (drawing, drawing.drive().ok()?) {
        (Drawing::ActuatorPoints { .. }, JointDrive::Rod(rod)) => {
            let [low, high] = peaks(|turn| rod.twist(turn), check.stroke.joint);
            Some(low.1.abs().max(high.1.abs()))
        }
        (Drawing::SliderPoints { .. }, _) => Some(check.in_space.as_ref()?.ball_tilt?.value),
        _ => None,
    }
}

/// Axes that are not parallel: what hinged pins must give.
fn pins_give(check: &Check) -> Option<Warning> {
    let tilt = check.in_space.as_ref()?.ball_tilt.filter(|tilt| tilt.value > 1e-6)?;
    (check.drive.kind == Kind::BallRod).then(|| Warning {
        code: Code::PinsMustGive,
        message: format!(
            "computed with ball ends, which tilt by up to {} at joint {}: hinged pins must give as much, by play or bending",
            degrees(tilt.value),
            angle(check.readings.joint(tilt.at_joint), 1)
        ),
    })
}

fn outside_limits(design: &Design<Drawn>) -> Option<Warning> {
    let drawn = &design.geometry;
    let outside = drawn
        .sizes()
        .filter_map(|(size, drawn)| drawn.written_outside.map(|_| size.name.replace('_', " ")));
    let named: Vec<String> = outside.collect();
    (!named.is_empty()).then(|| Warning {
        code: Code::DrawnOutsideLimits,
        message: format!(
            "a size lies outside its own limits, so that none is built to it; the middle of the limits stands for it: {}",
            named.join(", ")
        ),
    })
}

/// What the verdict takes for granted of this kind of drive.
pub(super) fn assumptions(design: &Design<Drawn>, figures: &DriveFigures) -> Vec<String> {
    let drawn = &design.geometry;
    let tilts = figures.ball_tilt.is_some_and(|tilt| tilt.value > 1e-6);
    let guided = drawn.screw.map(|screw| screw.is_twist_guided);
    let in_space =
        matches!(drawn.drawing, Drawing::ActuatorPoints { .. } | Drawing::SliderPoints { .. });
    [
        (tilts, "both ends of the rod are balls"),
        (
            in_space && guided == Some(true),
            "the nut cannot turn against its housing (twist_guided)",
        ),
        (in_space && guided == Some(false), "the nut's turn against its housing is left out of the travel"),
        (is_locked(design), "the motor drives: the screw locks itself against the load"),
        (
            design.motor_on == MotorOn::Parent,
            "the motor's angle is counted against the carrier; the two-joint matrix says what the motor on the parent reads",
        ),
    ]
    .into_iter()
    .filter(|(applies, _)| *applies)
    .map(|(_, words)| words.to_owned())
    .collect()
}
