//! The driven joint as the file gets it, and its actuator.

use super::figures::JointFigures;
use super::one_joint::KeptSide;
use super::{ActuatorUnits, Draws, Form, Jaw, Request, StandIn, crank, jaw};
use crate::handover::engine::EngineVersion;
use crate::robot::{
    ActuatorProperties, BorneJoint, JointActuator, JointProperties, Motion, Tendon, Through,
    TreeJoint,
};

/// The driven joint of the file.
pub(in crate::handover) fn driven_joint<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
) -> TreeJoint {
    let own = revolute_joint(request, stand_in);
    let Some(driver) = stand_in.jaw.as_ref().and_then(Jaw::driver) else { return own };
    let drawn_at = driver.joint.properties.drawn_at;
    TreeJoint { properties: JointProperties { drawn_at, ..own.properties }, ..driver.joint.clone() }
}

/// What a follower may do, where the format demands it: what the driver's limits and speed make of it, and no effort.
pub(in crate::handover) fn follower<G: Draws>(
    request: &Request<'_, G>,
    figures: &JointFigures,
    borne: BorneJoint,
) -> BorneJoint {
    let properties = &borne.joint.properties;
    let Some(mimic) = properties.mimic.as_ref().filter(|_| request.ask.format.needs_limits())
    else {
        return borne;
    };
    let [a, b] = figures.limit.map(|end| mimic.multiplier * end.angle + mimic.offset);
    let speed = request.ask.limits.of(figures.speed);
    let properties = JointProperties {
        limit: Some([a.min(b), a.max(b)]),
        effort: Some(0.0),
        velocity: speed.map(|speed| speed * mimic.multiplier.abs()),
        ..properties.clone()
    };
    BorneJoint { joint: TreeJoint { properties, ..borne.joint }, ..borne }
}

pub(super) fn revolute_joint<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
) -> TreeJoint {
    let StandIn { robot, figures, .. } = stand_in;
    let limits = request.ask.limits;
    let losses = match &stand_in.motor {
        Some(end) if end.side() == KeptSide::Slide => (figures.damping, figures.friction),
        Some(_) => (None, None),
        None => joint_losses(request, figures),
    };
    let on_actuator = actuator_bears_motor(request, stand_in);
    TreeJoint {
        name: robot.joint.clone(),
        parent: robot.parent.clone(),
        child: robot.child.clone(),
        motion: Motion::Turn,
        axis: robot.axis,
        origin: robot.origin,
        properties: JointProperties {
            limit: Some(figures.limit.map(|l| l.angle)),
            drawn_at: request.joint_drawn_at(),
            mimic: None,
            effort: limits.of(figures.torque),
            velocity: limits.of(figures.speed),
            damping: losses.0.filter(|_| !on_actuator),
            friction: losses.1,
            armature: joint_armature(request, stand_in).filter(|_| !on_actuator),
        },
        remarks: Vec::new(),
    }
}

/// Damping and friction of the driven joint. A coupled crank bears no friction: on the dependent joint it would fight
/// the coupling; a format with a straight line may drop all that stands on the crank.
fn joint_losses<G: Draws>(
    request: &Request<'_, G>,
    figures: &JointFigures,
) -> (Option<f64>, Option<f64>) {
    match request.ask.form {
        _ if jaw::drives_itself(request) => (figures.damping, figures.friction),
        Form::Coupled if request.ask.format.holds_polynomials() => (None, figures.friction),
        Form::Direct | Form::Coupled => (figures.damping, figures.friction),
        Form::Loop => (None, None),
    }
}

/// The split armature goes with patched bodies only; `None` where the crank is a body and has it.
pub(in crate::handover) fn joint_armature<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
) -> Option<f64> {
    if jaw::drives_itself(request) {
        let is_patched = request.ask.whole || request.ask.form == Form::Loop;
        let patched = stand_in.jaw.as_ref().and_then(|jaw| jaw.armature).filter(|_| is_patched);
        return patched.or(stand_in.figures.plain_armature);
    }
    let split = stand_in.plan.bodies.as_ref().filter(|_| request.ask.whole).map(|b| b.armature);
    let plain = stand_in.figures.plain_armature;
    match (&stand_in.motor, request.ask.form) {
        (Some(end), _) => match end.side() {
            KeptSide::Slide => split.or(plain),
            KeptSide::Tendon => split.filter(|armature| *armature > 0.0),
            KeptSide::Crank | KeptSide::Loop | KeptSide::Parent => None,
        },
        (None, Form::Direct) => split.or(plain),
        (None, Form::Coupled | Form::Loop) => None,
    }
}

/// Armature and damping stand on the actuator, before its gear.
fn actuator_bears_motor<G: Draws>(request: &Request<'_, G>, stand_in: &StandIn<'_>) -> bool {
    let ask = request.ask;
    stand_in.jaw.is_none()
        && ask.form == Form::Direct
        && ask.format.holds_actuators()
        && ask.actuator == ActuatorUnits::Motor
        && request.engine() >= EngineVersion::ACTUATOR_ARMATURE
}

/// In motor units the force range is such that the joint's torque limit is the one in joint units.
pub(in crate::handover) fn actuator<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
) -> JointActuator {
    let (ask, figures) = (request.ask, &stand_in.figures);
    if let Some(end) = &stand_in.motor {
        return end.actuator(request, figures);
    }
    if ask.form.keeps_crank() && stand_in.jaw.is_none() {
        return crank::actuator(request, stand_in.robot, figures);
    }
    let gear = match ask.actuator {
        ActuatorUnits::Joint => 1.0,
        ActuatorUnits::Motor => figures.readings.gear(),
    };
    let before_gear = |at_joint: Option<f64>| {
        at_joint.filter(|_| actuator_bears_motor(request, stand_in)).map(|x| x / (gear * gear))
    };
    let force = ask.limits.of(figures.torque).map(|e| e / gear.abs()).map(|e| [-e, e]);
    let gains = figures.position_gain.map(|gain| [gain, figures.velocity_gain.unwrap_or(0.0)]);
    let gains = gains.map(|gains| gains.map(|gain| gain / (gear * gear)));
    let (shift, target) = target(ask.actuator, figures);
    JointActuator {
        joint: stand_in.robot.joint.clone(),
        through: both_fingers(request, stand_in).unwrap_or_default(),
        properties: ActuatorProperties {
            armature: before_gear(joint_armature(request, stand_in)),
            damping: before_gear(figures.damping),
            shift,
            ..ActuatorProperties::of_motor(gear, force, gains, Some(target))
        },
    }
}

/// The other finger's joint, where the motor's units drive both through a tendon.
pub(in crate::handover) fn both_fingers<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
) -> Option<Through> {
    let ask = request.ask;
    let is_asked = ask.actuator == ActuatorUnits::Motor && ask.format.holds_actuators();
    let (other, _) = stand_in.jaw.as_ref()?.followers().find(|(one, _)| one.is_other)?;
    let own = &stand_in.robot.joint;
    let tendon = Tendon { name: format!("{own}_fingers"), ..Tendon::default() };
    let halves = [own, &other.joint.name].map(|joint| (joint.clone(), 0.5));
    is_asked.then(|| Through::Readings(tendon, halves.to_vec()))
}

/// What the controlled angle reads where the joint reads 0, and its ends over the joint's limits, rad.
fn target(units: ActuatorUnits, figures: &JointFigures) -> (f64, [f64; 2]) {
    let limit = figures.limit.map(|l| l.angle);
    let (shift, [a, b]) = match units {
        ActuatorUnits::Joint => (0.0, limit),
        ActuatorUnits::Motor => {
            let motor = |joint| figures.readings.motor_at(joint);
            (motor(0.0), limit.map(motor))
        }
    };
    (shift, [a.min(b), a.max(b)])
}
