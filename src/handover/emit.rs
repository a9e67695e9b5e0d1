//! From a design and its findings to the text of a robot file and the JSON beside it.

use super::fault::EmitFault;
use super::figures::{Envelope, JointFigures};
use super::joint_json::{JointJson, joint_json};
use super::limits::joint_limits;
use super::{remarks, whole};
use crate::design::{Design, RobotJoint};
use crate::equivalence::Verdict;
use crate::robot::{self, Actuator, DrivenJoint, Model, RevoluteJoint, Servo};
use crate::study::{Check, StrokeRow};

/// The format of the robot file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// URDF.
    Urdf,
    /// SDFormat, 1.7 and later.
    Sdformat,
    /// MJCF.
    Mjcf,
}

/// Which figures become the limits of effort and speed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LimitBasis {
    /// What is reached everywhere on the stroke.
    #[default]
    Guaranteed,
    /// What is exceeded nowhere on the stroke.
    NeverExceed,
}

/// The units of the actuator's control signal; only MJCF holds an actuator.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ActuatorUnits {
    /// The joint's: gear 1.
    #[default]
    Joint,
    /// The motor's: gear = `motor_sign` · ratio.
    Motor,
}

/// What to emit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EmitOptions {
    /// The format.
    pub format: Format,
    /// A model that loads by itself, not a snippet.
    pub whole: bool,
    /// Emit whatever the verdict says; the file then says so.
    pub anyway: bool,
    /// Guaranteed or never-exceed figures as limits.
    pub limits: LimitBasis,
    /// The units of an MJCF actuator.
    pub actuator: ActuatorUnits,
}

/// What was emitted, as text.
#[derive(Clone, Debug, PartialEq)]
pub struct Emission {
    /// The robot file.
    pub file: String,
    /// The JSON beside it.
    pub joint_json: String,
    /// The same as data, one per `[[robot]]`.
    pub joints: Vec<JointJson>,
    /// What the user should be told besides: what the format could not hold, what was left out.
    pub notes: Vec<String>,
}

/// The inputs of one emission, together.
#[derive(Clone, Copy)]
pub(super) struct EmitRequest<'a> {
    pub(super) design: &'a Design,
    pub(super) check: &'a Check,
    pub(super) rows: &'a [StrokeRow],
    pub(super) options: &'a EmitOptions,
}

/// Emits the direct joint of a design, once per `[[robot]]`.
///
/// `rows` is the table over the stroke, for the JSON; `joint_of_motor` turns a motor turn from the zero
/// pose into the joint turn of the real linkage (both rad, about the design's axis), `None` where the
/// linkage cannot stand; it is asked at the motor's stops only. The same input gives the same bytes.
///
/// # Errors
/// All that stands against it, never an empty list: first what is missing or unfit in the design, last
/// the verdict, unless [`EmitOptions::anyway`].
pub fn emit(
    design: &Design,
    check: &Check,
    rows: &[StrokeRow],
    joint_of_motor: &dyn Fn(f64) -> Option<f64>,
    options: &EmitOptions,
) -> Result<Emission, Vec<EmitFault>> {
    let request = EmitRequest { design, check, rows, options };
    let mut faults = whole::name_faults(&request);
    let figures = all_figures(&request, joint_of_motor).map_err(|f| faults.push(f)).ok();
    let figures = figures.unwrap_or_default();
    if options.format == Format::Urdf
        && let Some(first) = figures.first()
    {
        faults.extend(remarks::urdf_faults(&request, first));
    }
    let (carriers, children) =
        whole::links(&request).map_err(|f| faults.extend(f)).unwrap_or_default();
    faults.extend(refusal(&request));
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(emission(&request, &figures, carriers, children))
}

fn all_figures(
    request: &EmitRequest<'_>,
    joint_of_motor: &dyn Fn(f64) -> Option<f64>,
) -> Result<Vec<JointFigures>, EmitFault> {
    let EmitRequest { design, check, .. } = *request;
    let stops = design.actuator.as_ref().and_then(|a| a.stops);
    let limits = joint_limits(&check.stroke, stops, joint_of_motor)?;
    design.robots.iter().map(|robot| JointFigures::new(design, check, robot, limits)).collect()
}

fn refusal(request: &EmitRequest<'_>) -> Option<EmitFault> {
    let Check { verdict, reason, .. } = request.check;
    let stands = *verdict == Verdict::Equivalent || request.options.anyway;
    (!stands).then(|| EmitFault::Refused { verdict: *verdict, reason: reason.clone() })
}

fn emission(
    request: &EmitRequest<'_>,
    figures: &[JointFigures],
    carriers: Vec<robot::Link>,
    children: Vec<robot::Link>,
) -> Emission {
    let design = request.design;
    let assumptions = remarks::assumptions(request);
    let mut children = children.into_iter();
    let joints = design.robots.iter().zip(figures).map(|(robot, figures)| DrivenJoint {
        joint: revolute_joint(request, robot, figures),
        actuator: actuator(request.options, robot, figures),
        child: children.next(),
    });
    let model = Model {
        name: design.name.clone(),
        head: remarks::head(request, &assumptions),
        joints: joints.collect(),
        carriers,
    };
    let joints: Vec<JointJson> = design
        .robots
        .iter()
        .zip(figures)
        .map(|(robot, figures)| joint_json(request, robot, figures, &assumptions))
        .collect();
    Emission {
        file: text(request.options, &model),
        joint_json: json_text(&joints),
        joints,
        notes: remarks::notes(request, figures),
    }
}

fn text(options: &EmitOptions, model: &Model) -> String {
    match (options.format, options.whole) {
        (Format::Urdf, false) => robot::urdf::snippet(model),
        (Format::Urdf, true) => robot::urdf::whole(model),
        (Format::Sdformat, false) => robot::sdformat::snippet(model),
        (Format::Sdformat, true) => robot::sdformat::whole(model),
        (Format::Mjcf, false) => robot::mjcf::snippet(model),
        (Format::Mjcf, true) => robot::mjcf::whole(model),
    }
}

/// Serialising these structs cannot fail: their keys are strings and their numbers finite or null.
fn json_text(joints: &[JointJson]) -> String {
    serde_json::to_string_pretty(joints).map(|text| text + "\n").unwrap_or_default()
}

fn revolute_joint(
    request: &EmitRequest<'_>,
    robot: &RobotJoint,
    figures: &JointFigures,
) -> RevoluteJoint {
    let limits = request.options.limits;
    RevoluteJoint {
        name: robot.joint.clone(),
        parent: robot.parent.clone(),
        child: robot.child.clone(),
        axis: robot.axis,
        origin: robot.origin,
        limit: figures.limit.map(|l| l.angle),
        effort: limits.of(figures.torque),
        velocity: limits.of(figures.speed),
        damping: figures.damping,
        friction: figures.friction,
        armature: figures.plain_armature,
        remarks: remarks::joint(request, figures),
    }
}

/// In motor units the force range is such that the joint's torque limit is the one in joint units.
fn actuator(options: &EmitOptions, robot: &RobotJoint, figures: &JointFigures) -> Actuator {
    let gear = match options.actuator {
        ActuatorUnits::Joint => 1.0,
        ActuatorUnits::Motor => figures.gear(),
    };
    let effort = options.limits.of(figures.torque);
    Actuator {
        joint: robot.joint.clone(),
        gear,
        force: effort.map(|e| e / gear.abs()),
        servo: servo(options.actuator, gear, figures),
    }
}

fn servo(units: ActuatorUnits, gear: f64, figures: &JointFigures) -> Option<Servo> {
    let limit = figures.limit.map(|l| l.angle);
    let (shift, [a, b]) = match units {
        ActuatorUnits::Joint => (0.0, limit),
        ActuatorUnits::Motor => {
            (figures.motor_reading(0.0), limit.map(|q| figures.motor_reading(q)))
        }
    };
    Some(Servo {
        position_gain: figures.position_gain? / (gear * gear),
        velocity_gain: figures.velocity_gain.unwrap_or(0.0) / (gear * gear),
        shift,
        target: [a.min(b), a.max(b)],
    })
}

impl LimitBasis {
    /// The figure that becomes the limit.
    #[must_use]
    pub fn of(self, envelope: Envelope) -> Option<f64> {
        match self {
            Self::Guaranteed => envelope.guaranteed,
            Self::NeverExceed => envelope.never_exceed,
        }
    }

    /// The figure that stands beside the limit.
    #[must_use]
    pub fn other(self, envelope: Envelope) -> Option<f64> {
        match self {
            Self::Guaranteed => envelope.never_exceed,
            Self::NeverExceed => envelope.guaranteed,
        }
    }

    /// `guaranteed` or `never-exceed`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Guaranteed => "guaranteed",
            Self::NeverExceed => "never-exceed",
        }
    }

    /// The name of the figure beside the limit.
    #[must_use]
    pub fn other_name(self) -> &'static str {
        match self {
            Self::Guaranteed => Self::NeverExceed.name(),
            Self::NeverExceed => Self::Guaranteed.name(),
        }
    }
}
