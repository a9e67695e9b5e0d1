//! What the linkage's parts add to the two links, and what stays a body of its own.
//!
//! | model | to the carrier | to the child | of its own |
//! |---|---|---|---|
//! | direct | the replacement's share, rotor split | likewise | nothing |
//! | coupled | the coupler's rest beyond its pin masses, at mid-stroke | pin mass m₂λ at Q | crank with pin mass m₂(1−λ) at P |
//! | loop | nothing | nothing | crank, coupler |
//!
//! With a crank of its own the rotor is split on the crank's joint: J N to the crank, −J N to the carrier (which gets J
//! besides where its own figures leave the rotor out), armature J (N² − N). diag(t, t, 0) at the motor axis moves freely
//! between crank and carrier and makes the crank a real body. Where it cannot, as behind a reversing gearbox, the
//! coupling J N goes to the child at the mean ratio ī: J N ī there, −J N ī on the carrier, armature J (N² − N/ī).

use nalgebra::{Isometry3, Matrix3, Translation3, UnitQuaternion, Vector3};

use super::emit::{EmitRequest, ModelKind};
use super::fault::EmitFault;
use super::frames::{Frames, seen_from};
use super::link_frame;
use crate::design::RobotJoint;
use crate::dynamics::{
    Body, Course, DynamicsFault, Inertia, Masses, Moments, Replacement, joint_inertia,
};
use crate::linkage::Pose;
use crate::robot::Inertial;
use crate::study::{self, Mechanism};

/// What one `[[robot]]` adds to its links, in their own frames about their origins, and what stays its own.
#[derive(Clone, Debug)]
pub(super) struct Bodies {
    /// To be added to the parent link.
    pub(super) carrier: Moments,
    /// To be added to the child link.
    pub(super) child: Moments,
    /// Of the joint in the direct model, of the crank's joint in the others, kg m².
    pub(super) armature: f64,
    /// The motor's side, where the model keeps it.
    pub(super) kept: Option<Kept>,
}

/// The motor's side: bodies in their links' frames and the pins between them, m.
#[derive(Clone, Debug)]
pub(super) struct Kept {
    /// The crank.
    pub(super) crank: Inertial,
    /// The coupler, in the loop model.
    pub(super) rod: Inertial,
    /// A in the parent link's frame.
    pub(super) motor: [f64; 3],
    /// P in the crank's frame.
    pub(super) crank_pin: [f64; 3],
    /// Q in the coupler's frame.
    pub(super) rod_end: [f64; 3],
    /// Q in the child's frame.
    pub(super) child_pin: [f64; 3],
    /// The rotor's coupling with the carrier stands on the child at the mean ratio, not on the crank.
    pub(super) rotor_on_child: bool,
    /// Largest error of the inertia at the joint, carrier fixed, as a share: what the coupler's rest loses.
    pub(super) inertia_error: f64,
    /// Where the links are drawn.
    pub(super) drawn: Drawn,
}

/// The pose in which links are drawn, as motor turns from the zero pose about the design's axis, rad.
#[derive(Clone, Copy, Debug)]
pub(super) struct Drawn {
    /// The coupler is aligned with the parent link there.
    pub(super) turn: f64,
    /// The crank is aligned with the parent link there, its joint at 0.
    pub(super) crank_zero: f64,
}

/// Inertia about its length of a bar whose inertia about the axis alone is known, as a share of that.
const BAR: f64 = 0.02;

/// The parts of the drive in the frames of `robot`; a crank or coupler known about the axis alone is taken as a bar.
fn masses(request: &EmitRequest<'_>, robot: &RobotJoint) -> Option<Masses> {
    let masses = study::drive_on(request.design, Some(robot), &request.check.zero)?.masses;
    let bar = |body: Option<Body>| {
        body.map(|body| match body.inertia {
            Inertia::AboutAxis(i) => {
                let tensor = Matrix3::from_diagonal(&Vector3::new(BAR * i, i, i));
                Body { inertia: Inertia::Tensor(tensor), ..body }
            }
            Inertia::Tensor(_) => body,
        })
    };
    Some(Masses { crank: bar(masses.crank), coupler: bar(masses.coupler), carried: None, ..masses })
}

/// The direct joint's; `None` where crank, coupler, child or rotor are not given.
///
/// # Errors
/// Where nothing places the drawing on the robot, or no real bodies and no armature can stand for the linkage.
pub(super) fn direct(
    request: &EmitRequest<'_>,
    robot: &RobotJoint,
) -> Result<Option<Bodies>, EmitFault> {
    if !study::missing_for_inertia(request.design).is_empty() {
        return Ok(None);
    }
    let frames = Frames::of(request.design, robot, request.check.zero.rocker)?;
    let Some(masses) = masses(request, robot) else { return Ok(None) };
    let mechanism = request.mechanism;
    let found = Course::over(&mechanism.branch, mechanism.stroke)
        .and_then(|course| Replacement::of(&course, &masses))
        .map_err(EmitFault::Dynamics)?;
    Ok(Some(Bodies {
        carrier: seen_from(&found.carrier_patch, &frames.carrier),
        child: seen_from(
            &found.child_patch,
            &Isometry3::from_parts(Translation3::identity(), frames.child),
        ),
        armature: found.tree.armature,
        kept: None,
    }))
}

/// The coupled or the loop model's.
///
/// # Errors
/// What is missing; no real crank.
pub(super) fn kept(
    request: &EmitRequest<'_>,
    robot: &RobotJoint,
    drawn: Drawn,
) -> Result<Bodies, EmitFault> {
    let frames = Frames::of(request.design, robot, request.check.zero.rocker)?;
    let masses = masses(request, robot).ok_or_else(no_drive)?;
    let (Some(crank), Some(coupler)) = (masses.crank, masses.coupler) else {
        return Err(no_drive());
    };
    let mechanism = request.mechanism;
    let mut draft = Draft { crank: Moments::from(&crank), ..Draft::default() };
    if request.options.model == ModelKind::Coupled {
        draft.lump(mechanism, &masses, &coupler)?;
    }
    draft.share_rotor(&masses, mechanism.stroke.mean_ratio()).map_err(EmitFault::Dynamics)?;
    let bars = mechanism.branch.bars();
    let (zero, pose) = (mechanism.branch.zero_crank(), pose(mechanism, drawn.turn)?);
    let crank_axes = frames.axes(zero + drawn.crank_zero);
    let rod_axes = frames.axes(pose.coupler_angle());
    let at = |turn: UnitQuaternion<f64>, length: f64| {
        link_frame::without_dust((turn * Vector3::new(length, 0.0, 0.0)).into())
    };
    Ok(Bodies {
        carrier: seen_from(&draft.carrier, &frames.carrier),
        child: seen_from(&draft.child, &turned(frames.child)),
        armature: draft.armature,
        kept: Some(Kept {
            crank: link_frame::real(
                &seen_from(&draft.crank, &turned(crank_axes)),
                "[mass.crank] inertia",
            )?,
            rod: link_frame::real(
                &seen_from(&Moments::from(&coupler), &turned(rod_axes)),
                "[mass.coupler] inertia",
            )?,
            motor: at_motor(&frames, bars.ground),
            crank_pin: at(crank_axes, bars.crank),
            rod_end: at(rod_axes, bars.coupler),
            child_pin: at(frames.child, bars.rocker),
            rotor_on_child: draft.rotor_on_child,
            inertia_error: draft.inertia_error,
            drawn,
        }),
    })
}

/// A in the parent link's frame; rounding of the joint's origin is no height.
fn at_motor(frames: &Frames, ground: f64) -> [f64; 3] {
    let at = frames.carrier * nalgebra::Point3::new(-ground, 0.0, 0.0);
    let dust = 1e-15 * (ground + frames.carrier.translation.vector.norm());
    <[f64; 3]>::from(at.coords).map(|x| if x.abs() < dust { 0.0 } else { x })
}

fn turned(rotation: UnitQuaternion<f64>) -> Isometry3<f64> {
    Isometry3::from_parts(Translation3::identity(), rotation)
}

fn no_drive() -> EmitFault {
    EmitFault::Missing {
        key: "[mass.crank], [mass.coupler] or [mass.child]",
        needed_for: "a model that keeps the crank needs the masses of crank, coupler and child".into(),
        help: "add each with mass, center and inertia, and motor_at where they stand in the drawing's frame".into(),
    }
}

fn pose(mechanism: &Mechanism, motor: f64) -> Result<Pose, EmitFault> {
    mechanism.branch.pose(motor).map_err(|_| EmitFault::StopNotReached { motor })
}

/// In the drawing's frames: crank about A, carrier and child about B.
#[derive(Default)]
struct Draft {
    crank: Moments,
    carrier: Moments,
    child: Moments,
    armature: f64,
    rotor_on_child: bool,
    inertia_error: f64,
}

impl Draft {
    /// The coupler as pin masses, its rest on the carrier where it stands at mid-stroke.
    fn lump(
        &mut self,
        mechanism: &Mechanism,
        masses: &Masses,
        rod: &Body,
    ) -> Result<(), EmitFault> {
        let bars = mechanism.branch.bars();
        let [from, to] = mechanism.stroke.motor;
        let middle = pose(mechanism, 0.5 * (from + to))?;
        let share = rod.centre.x / bars.coupler;
        let height = Vector3::new(0.0, 0.0, rod.centre.z);
        let (at_p, at_q) = (rod.mass * (1.0 - share), rod.mass * share);
        let point =
            |mass: f64, along: f64| Moments::point(mass, Vector3::new(along, 0.0, 0.0) + height);
        self.crank += point(at_p, bars.crank);
        self.child += point(at_q, bars.rocker);
        let [x, y] = [middle.crank_pin().x - bars.ground, middle.crank_pin().y];
        let turn = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), middle.coupler_angle());
        let frame = Isometry3::from_parts(Translation3::new(x, y, 0.0), turn);
        let rest = Moments::from(rod) - point(at_p, 0.0) - point(at_q, bars.coupler);
        self.carrier += seen_from(&rest, &frame);
        self.inertia_error = rest_error(mechanism, masses, rest.inertia.m33)?;
        Ok(())
    }

    fn share_rotor(&mut self, masses: &Masses, ratio: f64) -> Result<(), DynamicsFault> {
        let (inertia, gear) = (masses.rotor_inertia(), masses.gear_ratio());
        self.carrier += Moments::about_z(masses.rotor_beside_carrier());
        let armature = inertia * (gear * gear - gear);
        let share = Moments::about_z(inertia * gear);
        if armature >= 0.0 && self.make_real(self.crank + share) {
            self.carrier += -share;
            self.armature = armature;
            return Ok(());
        }
        self.make_real(self.crank);
        let share = Moments::about_z(inertia * gear * ratio);
        self.child += share;
        self.carrier += -share;
        self.rotor_on_child = inertia > 0.0;
        self.armature = inertia * (gear * gear - gear / ratio);
        if self.armature < 0.0 {
            return Err(DynamicsFault::NegativeArmature {
                armature: self.armature,
                rotor_turns: gear * ratio,
            });
        }
        Ok(())
    }

    /// Takes `crank` with the least diag(t, t, 0), in tenths of its inertia about the axis, that makes it a real body;
    /// the carrier gives as much at the motor axis, where neither mass nor first moment goes along. Whether that is one.
    fn make_real(&mut self, crank: Moments) -> bool {
        let part = |tenths: u32| {
            let t = crank.inertia.m33 * f64::from(tenths) / 10.0;
            Moments {
                inertia: Matrix3::from_diagonal(&Vector3::new(t, t, 0.0)),
                ..Moments::default()
            }
        };
        let Some(moved) = (0..=10).map(part).find(|part| is_real(&(crank + *part))) else {
            return false;
        };
        self.crank = crank + moved;
        self.carrier += -moved;
        true
    }
}

fn is_real(moments: &Moments) -> bool {
    let body = moments.body();
    body.check().is_ok() && body.tensor().symmetric_eigenvalues().min() > 0.0
}

/// What the joint's inertia loses, as a share, where a part with `rest` about z turns with the carrier and not with the
/// coupler.
fn rest_error(mechanism: &Mechanism, masses: &Masses, rest: f64) -> Result<f64, EmitFault> {
    let course = Course::over(&mechanism.branch, mechanism.stroke).map_err(EmitFault::Dynamics)?;
    let share = |pose: &Pose| {
        let turns = pose.coupler_rate() * pose.transmission_ratio();
        (rest * turns * turns / joint_inertia(pose, masses).joint).abs()
    };
    Ok(course.worst(share).value)
}
