//! The motor's side of the models that keep it: the crank on a joint of its own, in the motor's readings, and what ties
//! it to the driven joint.
//!
//! The crank's joint reads what the motor reads: its axis is `motor_sign` × the robot joint's, its frame aligned with
//! the parent's at motor reading 0. SDFormat knows no other drawn pose than reading 0 and draws a closed loop where the
//! driven joint reads 0; there the crank's joint counts from that pose.

use super::bodies::{Bodies, Drawn, Kept};
use super::emit::{EmitRequest, ModelKind};
use super::engine::EngineVersion;
use super::fault::EmitFault;
use super::figures::{JointFigures, sense};
use crate::design::{Actuator, RobotJoint};
use crate::dynamics::Coupling;
use crate::robot::{
    self, Format, Link, Mimic, MotorSide, RevoluteJoint, Rod, Servo, Tie, TiedRotor,
};

/// The time step that coupled joints and loops are set for, s.
pub(super) const STEP: f64 = 1e-3;

/// Does the model keep the crank as a body of its own?
pub(super) fn is_kept(model: ModelKind) -> bool {
    match model {
        ModelKind::Direct => false,
        ModelKind::Coupled | ModelKind::Loop => true,
    }
}

/// Names of the drive's own parts, made from the joint's.
pub(super) struct Names {
    /// The crank's joint.
    pub(super) crank: String,
    crank_link: String,
    rod: String,
    rod_link: String,
    end: String,
    /// The rotor's joint, where the rotor is a body of its own.
    pub(super) rotor: String,
    /// The rotor.
    pub(super) rotor_link: String,
}

impl Names {
    pub(super) fn of(robot: &RobotJoint) -> Self {
        let name = |part: &str| format!("{}_{part}", robot.joint);
        Self {
            crank: name("crank"),
            crank_link: name("crank_link"),
            rod: name("coupler"),
            rod_link: name("coupler_link"),
            end: name("coupler_end"),
            rotor: name("rotor"),
            rotor_link: name("rotor_link"),
        }
    }

    pub(super) fn all(&self) -> [&str; 7] {
        let Self { crank, crank_link, rod, rod_link, end, rotor, rotor_link } = self;
        [crank, crank_link, rod, rod_link, end, rotor, rotor_link]
    }
}

/// The engine version that the MJCF file is for.
pub(super) fn engine(request: &EmitRequest<'_>) -> EngineVersion {
    let oldest = match request.options.model {
        ModelKind::Loop => EngineVersion::LOOPS_BY_SITES,
        ModelKind::Direct | ModelKind::Coupled => EngineVersion::OLDEST,
    };
    request.options.engine.unwrap_or(oldest)
}

/// An anchored loop needs the child drawn in the zero pose, which a snippet cannot see to.
pub(super) fn engine_fault(request: &EmitRequest<'_>) -> Option<EmitFault> {
    let needs = EngineVersion::LOOPS_BY_SITES;
    let at_rest = request.options.whole || request.design.joint_reads == 0.0;
    (engine(request) < needs && !at_rest).then_some(EmitFault::EngineTooOld { needs })
}

/// Where the links of a kept crank are drawn.
///
/// # Errors
/// [`EmitFault::ZeroReadingNotReached`].
pub(super) fn drawn(request: &EmitRequest<'_>, robot: &RobotJoint) -> Result<Drawn, EmitFault> {
    let (design, options) = (request.design, request.options);
    if (options.model, options.format) == (ModelKind::Loop, Format::Sdformat) {
        let joint = -sense(robot) * design.joint_reads;
        let fault = |_| EmitFault::ZeroReadingNotReached { joint };
        let turn = request.mechanism.branch.motor_turn(joint).map_err(fault)?;
        return Ok(Drawn { turn, crank_zero: turn });
    }
    Ok(Drawn { turn: 0.0, crank_zero: -robot.motor_sign * sense(robot) * design.motor_reads })
}

/// The reading at which MJCF draws the driven joint: a whole model is drawn in the zero pose.
pub(super) fn joint_drawn_at(request: &EmitRequest<'_>) -> f64 {
    let options = request.options;
    let in_zero_pose =
        is_kept(options.model) && options.whole && options.format.holds_drawn_readings();
    if in_zero_pose { request.design.joint_reads } else { 0.0 }
}

/// What the motor reads where the crank's joint is at 0, rad.
pub(super) fn crank_shift(figures: &JointFigures, kept: &Kept) -> f64 {
    figures.motor_reads + figures.motor_sign * figures.sense * kept.drawn.crank_zero
}

/// Coefficients of powers 0…4.
pub type Quartic = [f64; 5];

/// The crank's joint − its `drawn_at` in powers of the driven joint's reading − its `drawn_at`.
pub(super) fn polynomial(
    request: &EmitRequest<'_>,
    figures: &JointFigures,
    coupling: &Coupling,
) -> Quartic {
    let mut signed = without_rounding(request, coupling);
    let mut sign = figures.motor_sign * figures.sense;
    for coefficient in &mut signed {
        *coefficient *= sign;
        sign *= figures.sense;
    }
    moved(signed, joint_drawn_at(request) - figures.joint_reads)
}

/// What turns the crank by less than this over the stroke is the fit's rounding, rad.
const ROUNDING: f64 = 1e-12;

/// The coefficients that count; a straight line with the direct joint's ratio has that ratio to the last digit.
fn without_rounding(request: &EmitRequest<'_>, coupling: &Coupling) -> Quartic {
    let [a, b] = request.check.stroke.joint;
    let (furthest, ratio) = (a.abs().max(b.abs()), request.check.direct_joint.ratio);
    let mut power = 1.0;
    let [c0, c1, c2, c3, c4] = coupling.coefficients.map(|c| {
        let counts = c.abs() * power >= ROUNDING;
        power *= furthest;
        if counts { c } else { 0.0 }
    });
    let is_line = [c2, c3, c4].iter().all(|c| *c == 0.0) && (c1 - ratio).abs() < ROUNDING;
    [c0, if is_line { ratio } else { c1 }, c2, c3, c4]
}

/// The polynomial p(y + `by`) in powers of y, by Horner's scheme.
fn moved(coefficients: Quartic, by: f64) -> Quartic {
    let mut moved = coefficients;
    for first in 0..4 {
        let mut above = 0.0;
        for (k, coefficient) in moved.iter_mut().enumerate().rev() {
            if k >= first {
                *coefficient += by * above;
                above = *coefficient;
            }
        }
    }
    moved
}

/// The crank, its joint, and the tie.
pub(super) fn motor_side(
    request: &EmitRequest<'_>,
    robot: &RobotJoint,
    figures: &JointFigures,
    bodies: &Bodies,
    coupling: Option<&Coupling>,
) -> Option<MotorSide> {
    let kept = bodies.kept.as_ref()?;
    let names = Names::of(robot);
    let tie = match coupling {
        Some(coupling) => Tie::Coupling(polynomial(request, figures, coupling)),
        None => Tie::Rod(Box::new(rod(robot, figures, kept, &names))),
    };
    let mut crank = crank_joint(request, robot, figures, kept, &names);
    let rotor = tied_rotor(request, &crank, kept, &names);
    crank.armature = Some(bodies.armature).filter(|_| rotor.is_none());
    let link = Link { name: names.crank_link, inertial: kept.crank };
    Some(MotorSide { crank, link, tie, rotor })
}

/// The rotor on a hinge of its own beside the crank's. A format without equalities has it mimic the joint that leads: the
/// driven one where the crank mimics that itself, else the crank's.
fn tied_rotor(
    request: &EmitRequest<'_>,
    crank: &RevoluteJoint,
    kept: &Kept,
    names: &Names,
) -> Option<TiedRotor> {
    let rotor = kept.rotor.as_ref()?;
    let turns = rotor.turns;
    let leader = crank.mimic.as_ref().map_or_else(
        || Mimic { leader: crank.name.clone(), multiplier: turns, offset: 0.0 },
        |mimic| Mimic {
            leader: mimic.leader.clone(),
            multiplier: turns * mimic.multiplier,
            offset: turns * mimic.offset,
        },
    );
    let joint = RevoluteJoint {
        name: names.rotor.clone(),
        child: names.rotor_link.clone(),
        limit: None,
        drawn_at: 0.0,
        mimic: (!request.options.format.holds_polynomials()).then_some(leader),
        effort: None,
        velocity: None,
        damping: None,
        friction: None,
        armature: None,
        remarks: vec![format!(
            "The rotor on the crank's axis, {turns} turns per turn of the crank."
        )],
        ..crank.clone()
    };
    let link = Link { name: names.rotor_link.clone(), inertial: rotor.body };
    Some(TiedRotor { joint, link, turns })
}

fn free_joint(name: String, parent: String, child: String, robot: &RobotJoint) -> RevoluteJoint {
    RevoluteJoint {
        name,
        parent,
        child,
        axis: robot.axis,
        origin: [0.0; 3],
        limit: None,
        drawn_at: 0.0,
        mimic: None,
        effort: None,
        velocity: None,
        damping: None,
        friction: None,
        armature: None,
        remarks: Vec::new(),
    }
}

fn crank_joint(
    request: &EmitRequest<'_>,
    robot: &RobotJoint,
    figures: &JointFigures,
    kept: &Kept,
    names: &Names,
) -> RevoluteJoint {
    let (options, none) = (request.options, Actuator::default());
    let motor = request.design.actuator.as_ref().unwrap_or(&none);
    let is_coupled = options.model == ModelKind::Coupled;
    let (mjcf, own) = (
        options.format == Format::Mjcf,
        free_joint(names.crank.clone(), robot.parent.clone(), names.crank_link.clone(), robot),
    );
    let shift = crank_shift(figures, kept);
    RevoluteJoint {
        axis: robot.axis.map(|x| robot.motor_sign * x),
        origin: kept.motor,
        limit: (!mjcf).then(|| motor_limits(request, figures).map(|reading| reading - shift)),
        drawn_at: if mjcf { figures.motor_reads } else { 0.0 },
        mimic: (is_coupled && !mjcf).then(|| Mimic {
            leader: robot.joint.clone(),
            multiplier: figures.gear(),
            offset: figures.motor_reading(0.0),
        }),
        effort: motor.peak_torque,
        velocity: motor.max_speed,
        damping: motor.damping.filter(|_| mjcf || !is_coupled),
        friction: motor.friction.filter(|_| !is_coupled),
        remarks: vec![format!(
            "The crank on the motor's axis; its joint is the motor's reading{}.",
            if shift.abs() > 1e-12 { format!(" less {shift} rad") } else { String::new() }
        )],
        ..own
    }
}

fn rod(robot: &RobotJoint, figures: &JointFigures, kept: &Kept, names: &Names) -> Rod {
    let joint = RevoluteJoint {
        origin: kept.crank_pin,
        drawn_at: -figures.motor_sign * figures.motor_reads,
        ..free_joint(names.rod.clone(), names.crank_link.clone(), names.rod_link.clone(), robot)
    };
    let end = RevoluteJoint {
        origin: kept.rod_end,
        ..free_joint(names.end.clone(), names.rod_link.clone(), robot.child.clone(), robot)
    };
    let link = Link { name: names.rod_link.clone(), inertial: kept.rod };
    Rod { joint, link, end, pin_on_child: kept.child_pin }
}

/// Smallest and largest reading of the motor: the tighter of stroke and stops.
fn motor_limits(request: &EmitRequest<'_>, figures: &JointFigures) -> [f64; 2] {
    let [first, last] = request.check.stroke.motor;
    let stops = request.design.actuator.as_ref().and_then(|a| a.stops);
    let [low, high] = stops.unwrap_or([first, last]);
    let ends = [first.max(low), last.min(high)];
    let [a, b] = ends.map(|turn| figures.motor_reads + figures.motor_sign * figures.sense * turn);
    [a.min(b), a.max(b)]
}

/// The motor on the crank's joint, in its own units.
pub(super) fn actuator(
    request: &EmitRequest<'_>,
    robot: &RobotJoint,
    figures: &JointFigures,
) -> robot::Actuator {
    let none = Actuator::default();
    let motor = request.design.actuator.as_ref().unwrap_or(&none);
    let servo = motor.position_gain.map(|position_gain| Servo {
        position_gain,
        velocity_gain: motor.velocity_gain.unwrap_or(0.0),
        shift: 0.0,
        target: motor_limits(request, figures),
    });
    robot::Actuator {
        joint: Names::of(robot).crank,
        gear: 1.0,
        force: motor.peak_torque,
        servo,
        armature: None,
        damping: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moved_polynomial_has_the_same_values() {
        let value = |c: &Quartic, x: f64| c.iter().rev().fold(0.0, |sum, c| sum * x + c);
        let p = [0.3, -1.2, 0.5, 0.25, -0.125];
        let q = moved(p, 0.75);
        for y in [-1.0, 0.0, 0.4] {
            assert!((value(&q, y) - value(&p, y + 0.75)).abs() < 1e-15);
        }
    }
}
