//! The motor's side of the models that keep it: the crank on a joint of its own, in the motor's readings, and what ties
//! it to the driven joint.
//!
//! The crank's joint reads what the motor reads: its axis is `motor_sign` × the robot joint's, its frame aligned with
//! the parent's at motor reading 0. SDFormat knows no other drawn pose than reading 0 and draws a closed loop where the
//! driven joint reads 0; there the crank's joint counts from that pose.

use super::bodies::{Drawn, Kept};
use super::figures::{JointFigures, sense};
use super::limits::between_stops;
use super::{Draws, MotorEnd, Quartic, Request, StandIn, jaw};
use crate::design::RobotJoint;
use crate::handover::Form;
use crate::handover::engine::EngineVersion;
use crate::handover::fault::EmitFault;
use crate::robot::{
    ActuatorProperties, BorneJoint, ClosingRod, Format, JointActuator, JointProperties, Link,
    Mimic, Motion, MotorSide, Through, Tie, TiedRotor, TreeJoint,
};

/// The time step that coupled joints and loops are set for, s.
pub(in crate::handover) const STEP: f64 = 1e-3;

/// The same of a gripper's followers, s: readers take 2 ms where nothing else is said.
const GRIPPER_STEP: f64 = 2e-3;

/// The time step that what ties the joints of `request` is set for, s.
pub(in crate::handover) fn step<G: Draws>(request: &Request<'_, G>) -> f64 {
    if jaw::asked(request).is_some() { GRIPPER_STEP } else { STEP }
}

/// Names of the drive's own parts, made from the joint's.
pub(in crate::handover) struct Names {
    /// The crank's joint.
    pub(in crate::handover) crank: String,
    crank_link: String,
    rod: String,
    rod_link: String,
    end: String,
    /// The rotor's joint, where the rotor is a body of its own.
    pub(in crate::handover) rotor: String,
    /// The rotor.
    pub(in crate::handover) rotor_link: String,
}

impl Names {
    pub(in crate::handover) fn of(robot: &RobotJoint) -> Self {
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

    pub(in crate::handover) fn all(&self) -> [&str; 7] {
        let Self { crank, crank_link, rod, rod_link, end, rotor, rotor_link } = self;
        [crank, crank_link, rod, rod_link, end, rotor, rotor_link]
    }
}

/// An anchored loop needs the child drawn in the zero pose, which a snippet cannot see to.
pub(in crate::handover) fn engine_fault<G: Draws>(request: &Request<'_, G>) -> Option<EmitFault> {
    let needs = EngineVersion::LOOPS_BY_SITES;
    let at_rest = request.ask.whole || request.design.joint_reads == 0.0;
    (request.engine() < needs && !at_rest).then_some(EmitFault::EngineTooOld { needs })
}

/// Where the links of a kept crank are drawn.
///
/// # Errors
/// [`EmitFault::ZeroReadingNotReached`].
pub(in crate::handover) fn drawn(
    request: &Request<'_>,
    robot: &RobotJoint,
) -> Result<Drawn, EmitFault> {
    let (design, ask) = (request.design, request.ask);
    if (ask.form, ask.format) == (Form::Loop, Format::Sdformat) {
        let joint = -sense(robot) * design.joint_reads;
        let fault = |_| EmitFault::ZeroReadingNotReached { joint };
        let turn = request.mechanism.branch.motor_turn(joint).map_err(fault)?;
        return Ok(Drawn { turn, crank_zero: turn });
    }
    Ok(Drawn { turn: 0.0, crank_zero: -robot.motor_sign * sense(robot) * design.motor_reads })
}

/// What the motor reads where the crank's joint is at 0, rad.
pub(in crate::handover) fn crank_shift(figures: &JointFigures, kept: &Kept) -> f64 {
    figures.readings.motor_at_turn(kept.drawn.crank_zero)
}

/// The crank, its joint, and the tie.
pub(in crate::handover) fn motor_side<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
) -> Option<MotorSide> {
    if let Some(crank) = stand_in.motor.as_ref().and_then(MotorEnd::crank) {
        return tied(crank, stand_in.coupled(request)?.relation.polynomial);
    }
    let StandIn { robot, figures, plan, .. } = stand_in;
    let bodies = plan.bodies.as_ref()?;
    let kept = bodies.kept.as_ref()?;
    let names = Names::of(robot);
    let tie = match stand_in.coupled(request) {
        Some(coupled) => Tie::Coupling(coupled.relation.polynomial),
        None => Tie::Rod(Box::new(rod(robot, figures, kept, &names))),
    };
    let mut crank = crank_joint(request, robot, figures, kept, &names);
    let rotor = tied_rotor(request, &crank, kept, &names);
    crank.properties.armature = Some(bodies.armature).filter(|_| rotor.is_none());
    let link = Link { name: names.crank_link, inertial: kept.crank };
    Some(MotorSide { crank, link, tie, rotor })
}

/// The crank of a drive in space, tied to the joint by a polynomial.
fn tied(crank: &BorneJoint, polynomial: Quartic) -> Option<MotorSide> {
    let tie = Tie::Coupling(polynomial);
    Some(MotorSide { crank: crank.joint.clone(), link: crank.link.clone()?, tie, rotor: None })
}

/// The armature of the crank's joint, kg m², where the file keeps the crank.
pub(in crate::handover) fn armature(stand_in: &StandIn<'_>) -> Option<f64> {
    match stand_in.motor.as_ref().and_then(MotorEnd::crank) {
        Some(crank) => Some(crank.joint.properties.armature.unwrap_or(0.0)),
        None => Some(stand_in.plan.bodies.as_ref()?.armature),
    }
}

/// The rotor on a hinge of its own beside the crank's. A format without equalities has it mimic the joint that leads: the
/// driven one where the crank mimics that itself, else the crank's.
fn tied_rotor<G: Draws>(
    request: &Request<'_, G>,
    crank: &TreeJoint,
    kept: &Kept,
    names: &Names,
) -> Option<TiedRotor> {
    let rotor = kept.rotor.as_ref()?;
    let turns = rotor.turns;
    let leader = crank.properties.mimic.as_ref().map_or_else(
        || Mimic { leader: crank.name.clone(), multiplier: turns, offset: 0.0 },
        |mimic| Mimic {
            leader: mimic.leader.clone(),
            multiplier: turns * mimic.multiplier,
            offset: turns * mimic.offset,
        },
    );
    let joint = TreeJoint {
        name: names.rotor.clone(),
        child: names.rotor_link.clone(),
        properties: JointProperties {
            mimic: (!request.ask.format.holds_polynomials()).then_some(leader),
            ..JointProperties::default()
        },
        remarks: vec![format!(
            "The rotor on the crank's axis, {turns} turns per turn of the crank."
        )],
        ..crank.clone()
    };
    let link = Link { name: names.rotor_link.clone(), inertial: rotor.body };
    Some(TiedRotor { joint, link, turns })
}

fn free_joint(name: String, parent: String, child: String, robot: &RobotJoint) -> TreeJoint {
    TreeJoint {
        name,
        parent,
        child,
        motion: Motion::Turn,
        axis: robot.axis,
        origin: [0.0; 3],
        properties: JointProperties::default(),
        remarks: Vec::new(),
    }
}

fn crank_joint<G: Draws>(
    request: &Request<'_, G>,
    robot: &RobotJoint,
    figures: &JointFigures,
    kept: &Kept,
    names: &Names,
) -> TreeJoint {
    let ask = request.ask;
    let motor = request.design.actuator.clone().unwrap_or_default();
    let is_coupled = ask.form == Form::Coupled;
    let (mjcf, own) = (
        ask.format == Format::Mjcf,
        free_joint(names.crank.clone(), robot.parent.clone(), names.crank_link.clone(), robot),
    );
    let shift = crank_shift(figures, kept);
    TreeJoint {
        axis: robot.axis.map(|x| robot.motor_sign * x),
        origin: kept.motor,
        properties: JointProperties {
            limit: (!mjcf).then(|| motor_limits(request, figures).map(|reading| reading - shift)),
            drawn_at: if mjcf { figures.readings.motor } else { 0.0 },
            mimic: (is_coupled && !mjcf).then(|| Mimic {
                leader: robot.joint.clone(),
                multiplier: figures.readings.gear(),
                offset: figures.readings.motor_at(0.0),
            }),
            effort: motor.peak_torque,
            velocity: motor.max_speed,
            damping: motor.damping.filter(|_| mjcf || !is_coupled),
            friction: motor.friction.filter(|_| !is_coupled),
            armature: None,
        },
        remarks: vec![format!(
            "The crank on the motor's axis; its joint is the motor's reading{}.",
            if shift.abs() > 1e-12 { format!(" less {shift} rad") } else { String::new() }
        )],
        ..own
    }
}

fn rod(robot: &RobotJoint, figures: &JointFigures, kept: &Kept, names: &Names) -> ClosingRod {
    let joint = TreeJoint {
        origin: kept.crank_pin,
        properties: JointProperties {
            drawn_at: -figures.readings.motor_sign * figures.readings.motor,
            ..JointProperties::default()
        },
        ..free_joint(names.rod.clone(), names.crank_link.clone(), names.rod_link.clone(), robot)
    };
    let end = TreeJoint {
        origin: kept.rod_end,
        ..free_joint(names.end.clone(), names.rod_link.clone(), robot.child.clone(), robot)
    };
    let link = Link { name: names.rod_link.clone(), inertial: kept.rod };
    ClosingRod { joint, link, end, pin_on_child: kept.child_pin }
}

/// Smallest and largest reading of the motor: the tighter of stroke and stops.
pub(super) fn motor_limits<G: Draws>(request: &Request<'_, G>, figures: &JointFigures) -> [f64; 2] {
    let stops = request.design.actuator.as_ref().and_then(|a| a.stops);
    let ends = between_stops(&request.check.stroke, stops);
    let [a, b] = ends.map(|turn| figures.readings.motor_at_turn(turn));
    [a.min(b), a.max(b)]
}

/// The motor on the crank's joint, in its own units.
pub(in crate::handover) fn actuator<G: Draws>(
    request: &Request<'_, G>,
    robot: &RobotJoint,
    figures: &JointFigures,
) -> JointActuator {
    let motor = request.design.actuator.clone().unwrap_or_default();
    let (force, gains) = (motor.torques(), motor.gains());
    let target = Some(motor_limits(request, figures));
    JointActuator {
        joint: Names::of(robot).crank,
        through: Through::default(),
        properties: ActuatorProperties::of_motor(1.0, force, gains, target),
    }
}
