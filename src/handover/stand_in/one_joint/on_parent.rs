//! A motor on the carrier's parent, coaxial with the joint between the two: one row of the two joints' matrix.
//!
//! ```text
//! motor reading = motor_reads + motor_sign (sign (q - q0) + ratio (joint reading - joint_reads - offset))
//! ```
//!
//! with q the reading of the parent's joint. A fixed tendon with these two figures has the torque on both joints, and the
//! rotor with its coupling.

use super::{KeptSide, MotorEnd};
use crate::design::{MotorOn, RobotJoint};
use crate::handover::Form;
use crate::handover::engine::EngineVersion;
use crate::handover::fault::EmitFault;
use crate::handover::stand_in::figures::JointFigures;
use crate::handover::stand_in::{Draws, Request};
use crate::robot::{Tendon, Through};

/// For every `[[robot]]`, where the file holds an actuator.
pub(in crate::handover) fn motors<G: Draws>(
    request: &Request<'_, G>,
    figures: &[JointFigures],
) -> Vec<Option<MotorEnd>> {
    let is_held = is_asked(request) && request.ask.format.holds_actuators();
    let robots = request.design.robots.iter().zip(figures).filter(|_| is_held);
    robots.map(|(robot, figures)| motor(request, robot, figures)).collect()
}

fn is_asked<G: Draws>(request: &Request<'_, G>) -> bool {
    request.design.motor_on == MotorOn::Parent
}

fn motor<G: Draws>(
    request: &Request<'_, G>,
    robot: &RobotJoint,
    figures: &JointFigures,
) -> Option<MotorEnd> {
    let parent = robot.parent_joint.as_ref()?;
    let readings = figures.readings;
    let row = [readings.motor_sign * parent.sign, readings.gear()];
    let zero = row[0] * parent.reads + row[1] * (readings.joint + readings.offset);
    let motor = request.design.actuator.clone().unwrap_or_default();
    let tendon = Tendon {
        name: format!("{}_motor", robot.joint),
        armature: motor.rotor_at_output(),
        damping: motor.damping,
        friction: motor.friction,
    };
    let joints = vec![(parent.joint.clone(), row[0]), (robot.joint.clone(), row[1])];
    Some(MotorEnd {
        joint: robot.joint.clone(),
        through: Through::Readings(tendon, joints),
        gear: 1.0,
        shift: readings.motor - zero,
        others: Vec::new(),
        pins: Vec::new(),
        side: KeptSide::Parent,
        crank: None,
        remarks: vec![format!(
            "The motor sits on {:?}, coaxial with joint {:?}: its actuator pulls a tendon of {} x that joint's reading and {} x this one's, so that its torque acts on both. Armature (n^2 J), damping and friction are the motor's and stand on the tendon.",
            parent.motor_link, parent.joint, row[0], row[1]
        )],
    })
}

/// What no model of such a drive holds.
pub(in crate::handover) fn refusal<G: Draws>(request: &Request<'_, G>) -> Option<EmitFault> {
    const KEY: &str = "[drive] motor_on";
    if !is_asked(request) {
        return None;
    }
    let ask = request.ask;
    let (why, help) = if ask.form != Form::Direct {
        (
            "the motor's own bodies hang on the carrier's parent, which the design does not draw",
            "take --model direct",
        )
    } else if ask.whole {
        (
            "a whole model fixes the parent link, and the joint that the motor is coaxial with is not in it",
            "leave --whole out",
        )
    } else {
        let needs = EngineVersion::TENDON_ARMATURE;
        let has_rotor =
            request.design.actuator.as_ref().is_some_and(|m| m.rotor_at_output().is_some());
        let is_old = ask.engine.is_some_and(|asked| asked < needs);
        let is_held = ask.format.holds_actuators();
        return (has_rotor && is_old && is_held).then_some(EmitFault::NoMotorInertia { needs });
    };
    Some(EmitFault::Unfit { key: KEY, why: why.into(), help: help.into() })
}

/// What a file without actuators does not say of such a motor.
pub(in crate::handover) fn motor_words<G: Draws>(request: &Request<'_, G>) -> Vec<String> {
    let robots = request.design.robots.iter().filter(|_| is_asked(request));
    let words = robots.filter_map(|robot| {
        let parent = robot.parent_joint.as_ref()?;
        Some(format!(
            "the motor of {:?} sits on {:?}: it reads {:?} too (x {}), and its torque acts on that joint as well, beside the limits there",
            robot.joint, parent.motor_link, parent.joint, robot.motor_sign * parent.sign
        ))
    });
    words.collect()
}
