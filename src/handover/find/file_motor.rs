//! The motor's side of a drive that is no planar four-bar, as its file has it.

use super::four_bar::FourBarLoop;
use super::loop_drive::LoopDrive;
use super::losses::Losses;
use super::motor_side::MotorSide;
use crate::drive::OneJoint;
use crate::equivalence::Constants;
use crate::robot::{Robot, SharedDrive};

/// Of the motor's joint of a drive that is no planar four-bar; `None` where it has none.
pub(super) fn of_loop(robot: &Robot, ring: &FourBarLoop, found: &LoopDrive) -> Option<MotorSide> {
    let joint = robot.joints.get(found.motor?)?;
    let actuator = found.motor.and_then(|motor| robot.actuator_of(motor));
    let lost = Losses::of_rod(robot, ring, found).behind(per_reading(found));
    let losses = [
        joint.damping.unwrap_or(0.0) + lost.damping,
        joint.friction.unwrap_or(0.0) + lost.friction,
        lost.armature,
    ];
    Some(MotorSide::new(joint, actuator.map(|one| &one.properties), losses))
}

/// Of an actuator between two points, with what the driven joint loses.
pub(super) fn of_points(robot: &Robot, shared: &SharedDrive, found: &LoopDrive) -> MotorSide {
    let joint = robot.joints.get(found.joint).map(Losses::of).unwrap_or_default();
    let (own, lost) = (MotorSide::of_length(shared), joint.behind(per_reading(found)));
    MotorSide {
        damping: own.damping + lost.damping,
        friction: own.friction + lost.friction,
        armature: own.armature + lost.armature,
        ..own
    }
}

/// Motor's reading per joint turn.
fn per_reading(found: &LoopDrive) -> f64 {
    best_ratio(found) / found.motor_per_reading
}

/// Motor turn per joint turn of the direct joint that a design without one of its own gets; 1 where there is none.
fn best_ratio(found: &LoopDrive) -> f64 {
    let Ok(drive) = found.drawing.drive() else { return 1.0 };
    let motor = |turn: f64| drive.motor_turn(turn).unwrap_or(f64::NAN);
    let best = Constants { ratio: None, offset: Some(0.0) };
    let joint = best.over_joint_turns(&motor, found.joint_turns);
    joint.map(|joint| joint.ratio).filter(|ratio| ratio.is_normal()).unwrap_or(1.0)
}
