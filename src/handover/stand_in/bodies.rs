//! What the linkage's parts add to the two links, and what stays a body of its own.
//!
//! The figures are the dynamics' ([`Replacement`] for the direct model, [`CrankKept`] for the others) in the drawing's
//! frames; here they come into the frames of the robot's links, as what is to be added to the user's own bodies.

use serde::Serialize;

use nalgebra::{Isometry3, Translation3, UnitQuaternion, Vector3};

use super::additions::{Additions, coupled_error, headline};
use super::coupling::{self, course};
use super::frames::Frames;
use super::link_frame;
use super::{Ask, Request};
use crate::design::RobotJoint;
use crate::dynamics::{
    Body, Coupling, CrankKept, DynamicsFault, Masses, MeasuredOver, Moments, Replacement, Shortcut,
};
use crate::handover::Form;
use crate::handover::fault::EmitFault;
use crate::handover::link_moments::without_dust;
use crate::robot::Inertial;
use crate::study::{self, Heights, Mechanism};

/// What one `[[robot]]` adds to its links, in their own frames about their origins, and what stays its own.
#[derive(Clone, Debug)]
pub(in crate::handover) struct Bodies {
    /// To be added to the parent link.
    pub(in crate::handover) carrier: Moments,
    /// To be added to the child link.
    pub(in crate::handover) child: Moments,
    /// Of the joint in the direct model, of the crank's joint in the others, kg m².
    pub(in crate::handover) armature: f64,
    /// The motor's side, where the model keeps it.
    pub(in crate::handover) kept: Option<Kept>,
    /// Of the direct joint on this robot's links: with these additions, and of the bodies as they stand with n²J alone.
    pub(in crate::handover) direct_error: Option<[(MeasuredOver, f64); 2]>,
    /// Largest error of kinetic energy at equal joint angles, as a share, and over which motions: of a file that keeps the
    /// motor's side, as it moves.
    pub(in crate::handover) own_error: Option<(MeasuredOver, f64)>,
    /// What the other fit of the coupling would cost, where there is one.
    pub(in crate::handover) other_fit: Option<FitCost>,
}

/// The motor's side: bodies in their links' frames and the pins between them, m.
#[derive(Clone, Debug)]
pub(in crate::handover) struct Kept {
    /// The crank.
    pub(in crate::handover) crank: Inertial,
    /// The coupler, in the loop model.
    pub(in crate::handover) rod: Inertial,
    /// A in the parent link's frame.
    pub(in crate::handover) motor: [f64; 3],
    /// P in the crank's frame.
    pub(in crate::handover) crank_pin: [f64; 3],
    /// Q in the coupler's frame.
    pub(in crate::handover) rod_end: [f64; 3],
    /// Q in the child's frame.
    pub(in crate::handover) child_pin: [f64; 3],
    /// Its rotor, where that is a body of its own.
    pub(in crate::handover) rotor: Option<KeptRotor>,
    /// Where the links are drawn.
    pub(in crate::handover) drawn: Drawn,
}

/// Largest errors of a coupling with another fit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FitCost {
    /// `balanced` or `slope`.
    pub fit: &'static str,
    /// Of the crank's angle.
    pub angle_error_rad: f64,
    /// Of ratio and torque, as a share.
    pub torque_error: f64,
    /// Of kinetic energy, as a share.
    pub inertia_error: f64,
}

/// A rotor on the crank's axis.
#[derive(Clone, Debug)]
pub(in crate::handover) struct KeptRotor {
    /// In a frame aligned with the parent link's, its origin at A.
    pub(in crate::handover) body: Inertial,
    /// Turns per crank turn, signed.
    pub(in crate::handover) turns: f64,
}

/// The pose in which links are drawn, as motor turns from the zero pose about the design's axis, rad.
#[derive(Clone, Copy, Debug)]
pub(in crate::handover) struct Drawn {
    /// The coupler is aligned with the parent link there.
    pub(in crate::handover) turn: f64,
    /// The crank is aligned with the parent link there, its joint at 0.
    pub(in crate::handover) crank_zero: f64,
}

/// The parts of the drive in the frames of `robot`; a crank or coupler known about the axis alone is taken as a bar.
fn masses(request: &Request<'_>, robot: &RobotJoint) -> Option<Masses> {
    let masses = study::drive_on(request.design, Some(robot), &request.check.zero)?.masses;
    Some(Masses { carried: None, ..masses.with_bars() })
}

/// The direct joint's; `None` where crank, coupler, child or rotor are not given.
///
/// # Errors
/// Where nothing places the drawing on the robot, or no real bodies and no armature can stand for the linkage.
pub(in crate::handover) fn direct(
    request: &Request<'_>,
    robot: &RobotJoint,
) -> Result<Option<Bodies>, EmitFault> {
    if !study::missing_for_inertia(request.design).is_empty() {
        return Ok(None);
    }
    as_given(request, robot)
}

/// The same of the parts that are given; a rotor that is not counts as none, as in a robot file that has no armature.
pub(in crate::handover) fn as_given(
    request: &Request<'_>,
    robot: &RobotJoint,
) -> Result<Option<Bodies>, EmitFault> {
    let frames = Frames::of(request.design, robot, request.check.zero.rocker)?;
    let Some(masses) = masses(request, robot) else { return Ok(None) };
    let among = study::joints_on(request.design, Some(robot));
    let found = course(request)
        .and_then(|course| Replacement::among(&course, &masses, among))
        .map_err(EmitFault::Dynamics)?;
    Ok(Some(Bodies {
        armature: found.tree.armature,
        ..added(request, robot, &frames, &Additions::direct(&found))
    }))
}

/// In the links' frames, without an armature yet.
fn added(
    request: &Request<'_>,
    robot: &RobotJoint,
    frames: &Frames,
    additions: &Additions,
) -> Bodies {
    Bodies {
        carrier: additions.carrier.seen_from(&frames.carrier),
        child: additions.child.seen_from(&turned(frames.child)),
        armature: f64::NAN,
        kept: None,
        direct_error: direct_error(request, robot),
        own_error: None,
        other_fit: None,
    }
}

/// The direct joint's figures on this robot's links.
fn direct_error(request: &Request<'_>, robot: &RobotJoint) -> Option<[(MeasuredOver, f64); 2]> {
    let Request { design, check, .. } = *request;
    let own = check.inertia.as_ref()?.of_joint(&robot.joint)?;
    let masses = study::drive_on(design, Some(robot), &check.zero)?.masses;
    let course = course(request).ok()?;
    let plain = Shortcut::ArmatureOnly.tree(&course, &masses, check.direct_joint.ratio).ok()?;
    Some([(own.over, own.error.value), headline(&course, &masses, &plain)])
}

/// The coupled or the loop model's.
///
/// # Errors
/// What is missing or unfit; no real bodies.
pub(in crate::handover) fn kept(
    request: &Request<'_>,
    robot: &RobotJoint,
    drawn: Drawn,
) -> Result<Bodies, EmitFault> {
    let frames = Frames::of(request.design, robot, request.check.zero.rocker)?;
    let masses = masses(request, robot).filter(Masses::are_spatial).ok_or_else(not_spatial)?;
    let among = study::joints_on(request.design, Some(robot));
    let found = match request.ask.form {
        Form::Loop => in_loop(request.mechanism, &masses, among),
        Form::Direct | Form::Coupled => coupled(request, &masses, among),
    };
    let found = found.map_err(EmitFault::of_kept)?.ok_or_else(not_spatial)?;
    let Found { bodies, inertia_error, other_fit } = found;
    let heights = study::heights(request.design, Some(robot));
    let placed = placed(request, (&frames, heights), &masses, &bodies, drawn)?;
    Ok(Bodies {
        armature: bodies.armature,
        kept: Some(placed),
        own_error: Some(inertia_error),
        other_fit,
        ..added(request, robot, &frames, &Additions::kept(&bodies, &masses))
    })
}

/// Bodies that keep the crank, and how far off the kinetic energy of the file is with them.
struct Found {
    bodies: CrankKept,
    inertia_error: (MeasuredOver, f64),
    other_fit: Option<FitCost>,
}

/// Exact at every pose, so that no stroke is looked at: it may run through dead points.
fn in_loop(
    mechanism: &Mechanism,
    masses: &Masses,
    among: u32,
) -> Result<Option<Found>, DynamicsFault> {
    let bars = mechanism.branch.bars();
    let bodies = CrankKept::among(masses, among, |share| CrankKept::in_loop(bars, share))?;
    let exact = (MeasuredOver::Space, 0.0);
    Ok(bodies.map(|bodies| Found { bodies, inertia_error: exact, other_fit: None }))
}

fn coupled(
    request: &Request<'_>,
    masses: &Masses,
    among: u32,
) -> Result<Option<Found>, DynamicsFault> {
    let course = course(request)?;
    let bodies = CrankKept::among(masses, among, |share| CrankKept::coupled(&course, share))?;
    let Some(bodies) = bodies else {
        return Ok(None);
    };
    let Ask { format, fit, .. } = request.ask;
    let held = |fit| coupling::held(format, &course, request.check.direct_joint, fit);
    let other = format.holds_polynomials().then(|| held(fit.other())).transpose()?;
    let figure = |coupling: &Coupling| coupled_error(&course, masses, &bodies, coupling);
    let other_fit = other.as_ref().map(|other| FitCost {
        fit: fit.other().name(),
        angle_error_rad: other.angle_error.value,
        torque_error: other.ratio_error.value,
        inertia_error: figure(other).1,
    });
    let inertia_error = figure(&held(fit)?);
    Ok(Some(Found { bodies, inertia_error, other_fit }))
}

/// Crank and coupler in their links' frames, and the pins.
fn placed(
    request: &Request<'_>,
    (frames, heights): (&Frames, Heights),
    masses: &Masses,
    bodies: &CrankKept,
    drawn: Drawn,
) -> Result<Kept, EmitFault> {
    let branch = &request.mechanism.branch;
    let bars = branch.bars();
    let pose = branch.pose(drawn.turn);
    let pose = pose.map_err(|_| EmitFault::StopNotReached { motor: drawn.turn })?;
    let crank_axes = frames.axes(branch.zero_crank() + drawn.crank_zero);
    let rod_axes = frames.axes(pose.coupler_angle());
    let at = |turn: UnitQuaternion<f64>, length: f64, height: f64| {
        without_dust((turn * Vector3::new(length, 0.0, height)).into())
    };
    // A link's frame lies at its pin's height, the dynamics count from B's.
    let inertial = |body: &Body, axes, height: f64, key| {
        let seat = Moments::from(body).about(Vector3::new(0.0, 0.0, height));
        link_frame::real(&seat.seen_from(&turned(axes)), key)
    };
    let Heights { motor, crank: pin, rocker: end } = heights;
    let rotor = bodies.rotor.map(|rotor| {
        let body =
            inertial(&rotor.body, frames.carrier.rotation, motor, "[actuator] rotor_inertia")?;
        Ok::<_, EmitFault>(KeptRotor { body, turns: rotor.turns })
    });
    let rod = masses.coupler.as_ref().ok_or_else(not_spatial)?;
    Ok(Kept {
        crank: inertial(&bodies.crank, crank_axes, motor, "[mass.crank] inertia")?,
        rod: inertial(rod, rod_axes, pin, "[mass.coupler] inertia")?,
        motor: at_motor(frames, bars.ground, motor),
        crank_pin: at(crank_axes, bars.crank, pin - motor),
        rod_end: at(rod_axes, bars.coupler, end - pin),
        child_pin: at(frames.child, bars.rocker, end),
        rotor: rotor.transpose()?,
        drawn,
    })
}

/// A in the parent link's frame; rounding of the joint's origin is no height.
fn at_motor(frames: &Frames, ground: f64, height: f64) -> [f64; 3] {
    let at = frames.carrier * nalgebra::Point3::new(-ground, 0.0, height);
    let dust = 1e-15 * (ground + frames.carrier.translation.vector.norm());
    <[f64; 3]>::from(at.coords).map(|x| if x.abs() < dust { 0.0 } else { x })
}

fn turned(rotation: UnitQuaternion<f64>) -> Isometry3<f64> {
    Isometry3::from_parts(Translation3::identity(), rotation)
}

/// Crank and coupler are completed, and missing tables are faults of their own.
fn not_spatial() -> EmitFault {
    EmitFault::Unfit {
        key: "[mass.child] or [mass.carrier] inertia",
        why: "a model that keeps the crank needs six figures for both links, this is one about the axis"
            .into(),
        help: "give [xx, yy, zz, xy, xz, yz] about the mass centre".into(),
    }
}
