//! The numbers of a driver that is the motor's own joint, or a slide.

use super::super::figures::{AtJoint, JointFigures, Readings, plain_armature, sense};
use super::super::limits::{JointLimit, joint_limits, readings};
use crate::design::RobotJoint;
use crate::drive::OneJoint as _;
use crate::equivalence::PadStandIn;
use crate::handover::fault::EmitFault;
use crate::handover::stand_in::Request;
use crate::linkage::Stroke;
use crate::study::CrankDrive;

/// What the drive is to the motor: turns or metres.
struct Drive {
    limits: [JointLimit; 2],
    readings: Readings,
    at: AtJoint,
}

/// The figures of the driver on `robot`, in rad and N m, for a slide in m and N.
///
/// # Errors
/// The stops leave nothing of the stroke or are not reached; a slide that the motor does not move.
pub(in crate::handover) fn figures(
    request: &Request<'_>,
    robot: &RobotJoint,
) -> Result<JointFigures, EmitFault> {
    let is_slide = super::stand_in(request) == Some(PadStandIn::Slide);
    let drive = if is_slide { slide(request, robot)? } else { hinge(request, robot)? };
    let Drive { limits, readings, at } = drive;
    let motor = request.design.actuator.clone().unwrap_or_default();
    Ok(JointFigures {
        readings,
        limit: limits,
        torque: at.torque(motor.peak_torque),
        speed: at.speed(motor.max_speed),
        plain_armature: plain_armature(&motor, at.ratio),
        damping: motor.damping.map(|d| at.squared(d)),
        friction: motor.friction.map(|f| at.plain(f)),
        position_gain: motor.position_gain.map(|k| at.squared(k)),
        velocity_gain: motor.velocity_gain.map(|k| at.squared(k)),
    })
}

/// The joint is the motor's, or the crank's where another drive turns that.
fn hinge(request: &Request<'_>, robot: &RobotJoint) -> Result<Drive, EmitFault> {
    let design = request.design;
    if let Some(front) = in_front(request) {
        return behind(request, robot, &front);
    }
    let turns = Stroke { motor: request.check.stroke.motor, joint: request.check.stroke.motor };
    let limits = joint_limits(&turns, stops(request), &|turn| Some(turn))?;
    let reads = design.motor_reads;
    let sense = robot.motor_sign * sense(robot);
    Ok(Drive {
        limits: readings(limits, reads, sense),
        readings: Readings {
            motor_sign: 1.0,
            sense,
            ratio: 1.0,
            offset: 0.0,
            motor: reads,
            joint: reads,
        },
        at: AtJoint { ratio: 1.0, torque: [1.0; 2], speed: [1.0; 2] },
    })
}

/// What a rotor in front of the finger comes to at the driver, kg m² (kg for a slide); `None` where it is not known, or turns
/// with the crank.
pub(super) fn rotor_in_front(request: &Request<'_>) -> Option<f64> {
    let front = in_front(request)?;
    let way = match super::stand_in(request) {
        Some(PadStandIn::Slide) => request.check.finger.as_ref()?.travel?[0],
        _ => 1.0,
    };
    plain_armature(request.design.actuator.as_ref()?, front.ratio / way)
}

/// What is told of the drive in front of the finger, where there is one.
fn in_front(request: &Request<'_>) -> Option<CrankDrive> {
    request.check.finger.as_ref()?.crank_drive
}

/// The crank's own joint: motor reading by the constant of the drive in front.
fn behind(
    request: &Request<'_>,
    robot: &RobotJoint,
    front: &CrankDrive,
) -> Result<Drive, EmitFault> {
    let turns = Stroke { motor: front.crank_turns, joint: front.crank_turns };
    let limits = joint_limits(&turns, stops(request), &|turn| Some(turn))?;
    let sense = sense(robot);
    let [low, high] = front.magnitudes();
    Ok(Drive {
        limits: readings(limits, front.crank_reads, sense),
        readings: Readings {
            motor_sign: robot.motor_sign,
            sense,
            ratio: front.ratio,
            offset: 0.0,
            motor: request.design.motor_reads,
            joint: front.crank_reads,
        },
        at: AtJoint {
            ratio: front.ratio,
            torque: [low * front.efficiency.unwrap_or(1.0), high],
            speed: [low, high],
        },
    })
}

/// The motor's stops, as turns of the crank: one that is out of the reach of the drive in front stops nothing.
fn stops(request: &Request<'_>) -> Option<[f64; 2]> {
    let stops = request.design.actuator.as_ref()?.stops?;
    let Some(front) = request.mechanism.readings.front() else { return Some(stops) };
    let rises = in_front(request).is_none_or(|front| front.ratio > 0.0);
    let crank = |motor: f64, beyond: f64| front.joint_turn(motor).unwrap_or(beyond);
    let [low, high] = stops;
    Some(if rises {
        [crank(low, f64::NEG_INFINITY), crank(high, f64::INFINITY)]
    } else {
        [crank(high, f64::NEG_INFINITY), crank(low, f64::INFINITY)]
    })
}

/// The way along n: its ends are the linkage's, its rate the best constant. The slide bears the force of all pads, as those
/// that follow have none of their own.
fn slide(request: &Request<'_>, robot: &RobotJoint) -> Result<Drive, EmitFault> {
    let (design, check) = (request.design, request.check);
    let found = check.finger.as_ref().zip(design.finger.as_ref());
    let (found, finger) = found.ok_or(EmitFault::NoRatio)?;
    let [way, _] = found.travel.filter(|[way, _]| way.is_normal()).ok_or(EmitFault::NoRatio)?;
    let travel = |turn: f64| {
        let pose = finger.pad.at(&request.mechanism.branch, turn).ok()?;
        Some(-pose.opened / finger.pad.fingers)
    };
    let motor = check.stroke.motor;
    let end = |turn: f64| travel(turn).ok_or(EmitFault::StopNotReached { motor: turn });
    let ways = Stroke { motor, joint: [end(motor[0])?, end(motor[1])?] };
    let limits = joint_limits(&ways, stops(request), &travel)?;
    let sense = sense(robot);
    let front = in_front(request);
    let ratio = front.map_or(1.0, |front| front.ratio);
    let left = front.and_then(|front| front.efficiency).unwrap_or(1.0);
    let per_turn = found.grip.map(|at| at.value * finger.pad.fingers);
    Ok(Drive {
        limits: readings(limits, 0.0, 1.0),
        readings: Readings {
            motor_sign: robot.motor_sign,
            sense,
            ratio: sense * ratio / way,
            offset: 0.0,
            motor: design.motor_reads,
            joint: 0.0,
        },
        at: AtJoint {
            ratio: ratio / way,
            torque: [left * per_turn[0], per_turn[1]],
            speed: per_turn,
        },
    })
}
