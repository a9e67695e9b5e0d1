//! From a design and its findings to the text of a robot file and the JSON beside it.

use super::engine::EngineVersion;
use super::fault::EmitFault;
use super::figures::{Envelope, JointFigures};
use super::joint_json::{JointJson, joint_json};
use super::limits::{joint_limits, widened};
use super::plan::{Plan, model_faults, plans};
use super::{assumptions, motor_side, remarks, whole};
use crate::design::{Design, RobotJoint};
use crate::dynamics::{Coupling, Fit, MonotoneStroke};
use crate::equivalence::Verdict;
use crate::robot::{
    self, Actuator, DrivenJoint, Model, RevoluteJoint, RobotFormat, Servo, TieSettings,
};
use crate::study::{Check, Mechanism, StrokeRow, torque_ratio};

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

impl From<RobotFormat> for Format {
    fn from(format: RobotFormat) -> Self {
        match format {
            RobotFormat::Urdf => Self::Urdf,
            RobotFormat::Sdformat => Self::Sdformat,
            RobotFormat::Mjcf => Self::Mjcf,
        }
    }
}

/// What stands for the linkage.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ModelKind {
    /// One revolute joint.
    #[default]
    Direct,
    /// The crank as a body of its own, coupled to the joint.
    Coupled,
    /// Crank and coupler as bodies, the loop closed.
    Loop,
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
    /// What stands for the linkage.
    pub model: ModelKind,
    /// A model that loads by itself, not a snippet.
    pub whole: bool,
    /// Emit whatever the verdict says; the file then says so.
    pub anyway: bool,
    /// Guaranteed or never-exceed figures as limits.
    pub limits: LimitBasis,
    /// The units of the direct joint's MJCF actuator.
    pub actuator: ActuatorUnits,
    /// The engine that an MJCF file is for; the oldest that does where `None`.
    pub engine: Option<EngineVersion>,
    /// What the polynomial of an MJCF coupling favours.
    pub fit: Fit,
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
    pub(super) mechanism: &'a Mechanism,
    pub(super) check: &'a Check,
    pub(super) rows: &'a [StrokeRow],
    pub(super) options: &'a EmitOptions,
}

/// Emits the joint of a design, once per `[[robot]]`.
///
/// `mechanism` is the design's linkage, `rows` the table over the stroke, for the JSON; `joint_of_motor` turns a motor
/// turn from the zero pose into the joint turn of the real linkage (both rad, about the design's axis), `None` where the
/// linkage cannot stand; it is asked at the motor's stops only. The same input gives the same bytes.
///
/// # Errors
/// All that stands against it, never an empty list: first what is missing or unfit in the design, last
/// the verdict, unless [`EmitOptions::anyway`]; the verdict is about the direct joint and does not stand against the
/// other models.
pub fn emit(
    design: &Design,
    mechanism: &Mechanism,
    check: &Check,
    rows: &[StrokeRow],
    joint_of_motor: &dyn Fn(f64) -> Option<f64>,
    options: &EmitOptions,
) -> Result<Emission, Vec<EmitFault>> {
    let request = EmitRequest { design, mechanism, check, rows, options };
    let mut faults = whole::name_faults(&request);
    let figures = all_figures(&request, joint_of_motor).map_err(|f| faults.push(f)).ok();
    let figures = figures.unwrap_or_default();
    if let Some(first) = figures.first() {
        faults.extend(remarks::locked(&request, first));
        let needs_limits = options.format == Format::Urdf;
        faults.extend(remarks::urdf_faults(&request, first).into_iter().filter(|_| needs_limits));
    }
    faults.extend(model_faults(&request));
    let plans = plans(&request).map_err(|f| faults.extend(f)).unwrap_or_default();
    let (carriers, children) =
        whole::links(&request, &plans).map_err(|f| faults.extend(f)).unwrap_or_default();
    let coupling = coupling(&request).map_err(|f| faults.push(f)).ok().flatten();
    faults.extend(refusal(&request));
    let faults = each_once(faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(emission(&request, &Parts { figures, plans, coupling, carriers, children }))
}

/// Without what is named before: the same table missing for two reasons, the same dead point.
fn each_once(faults: Vec<EmitFault>) -> Vec<EmitFault> {
    let mut kept: Vec<EmitFault> = Vec::new();
    for fault in faults {
        let is_known = kept.iter().any(|other| match (other, &fault) {
            (EmitFault::Missing { key: a, .. }, EmitFault::Missing { key: b, .. }) => a == b,
            (a, b) => a == b,
        });
        if !is_known {
            kept.push(fault);
        }
    }
    kept
}

/// What a file is made of; `figures`, `plans` and `children` in the order of the joints.
struct Parts {
    figures: Vec<JointFigures>,
    plans: Vec<Plan>,
    coupling: Option<Coupling>,
    carriers: Vec<robot::Link>,
    children: Vec<robot::Link>,
}

/// One joint with all that was found for it.
#[derive(Clone, Copy)]
pub(super) struct JointView<'a> {
    pub(super) robot: &'a RobotJoint,
    pub(super) figures: &'a JointFigures,
    pub(super) plan: &'a Plan,
    pub(super) coupling: Option<&'a Coupling>,
}

impl Parts {
    fn views<'a>(&'a self, design: &'a Design) -> impl Iterator<Item = JointView<'a>> {
        let joints = design.robots.iter().zip(&self.figures).zip(&self.plans);
        joints.map(|((robot, figures), plan)| JointView {
            robot,
            figures,
            plan,
            coupling: self.coupling.as_ref(),
        })
    }
}

pub(super) fn coupling(request: &EmitRequest<'_>) -> Result<Option<Coupling>, EmitFault> {
    if request.options.model != ModelKind::Coupled {
        return Ok(None);
    }
    let mechanism = request.mechanism;
    let course = MonotoneStroke::over(&mechanism.branch, mechanism.stroke);
    let fit = request.options.fit;
    let found = course.and_then(|course| Coupling::fitted(&course, fit));
    found.map(Some).map_err(EmitFault::of_kept)
}

pub(super) fn all_figures(
    request: &EmitRequest<'_>,
    joint_of_motor: &dyn Fn(f64) -> Option<f64>,
) -> Result<Vec<JointFigures>, EmitFault> {
    let EmitRequest { design, mechanism, check, .. } = *request;
    let stops = design.actuator.as_ref().and_then(|a| a.stops);
    let limits = joint_limits(&check.stroke, stops, joint_of_motor)?;
    let limits = widened(limits, turning_points(request, stops));
    let torque = torque_ratio(design, mechanism, check.ratio_magnitude);
    let of = |robot| JointFigures::new(design, check, robot, limits, torque);
    design.robots.iter().map(of).collect()
}

/// Joint turns where the rocker turns back within stroke and stops: beyond them the joint does not go, and short of them
/// it must not be held.
fn turning_points(request: &EmitRequest<'_>, stops: Option<[f64; 2]>) -> Vec<f64> {
    let [first, last] = request.check.stroke.motor;
    let [low, high] = stops.unwrap_or([first, last]);
    let branch = &request.mechanism.branch;
    let turns = branch.dead_turns(first.max(low), last.min(high));
    turns.into_iter().filter_map(|turn| branch.joint_turn(turn).ok()).collect()
}

fn refusal(request: &EmitRequest<'_>) -> Option<EmitFault> {
    let Check { verdict, reason, .. } = request.check;
    let stands = *verdict == Verdict::Equivalent
        || request.options.anyway
        || motor_side::is_kept(request.options.model);
    (!stands).then(|| EmitFault::Refused { verdict: *verdict, reason: reason.clone() })
}

fn emission(request: &EmitRequest<'_>, parts: &Parts) -> Emission {
    let design = request.design;
    let assumptions = assumptions::assumptions(request, &parts.plans);
    let mut children = parts.children.iter();
    let joints = parts.views(design).map(|view| DrivenJoint {
        joint: revolute_joint(request, &view),
        actuator: actuator(request, &view),
        child: children.next().cloned(),
        motor_side: view.plan.bodies.as_ref().and_then(|bodies| {
            motor_side::motor_side(request, view.robot, view.figures, bodies, view.coupling)
        }),
    });
    let model = Model {
        name: design.name.clone(),
        head: remarks::head(request, &assumptions),
        joints: joints.collect(),
        carriers: parts.carriers.clone(),
        tie: TieSettings {
            step: motor_side::STEP,
            by_sites: motor_side::engine(request) >= EngineVersion::LOOPS_BY_SITES,
        },
    };
    let joints: Vec<JointJson> =
        parts.views(design).map(|view| joint_json(request, &view, &assumptions)).collect();
    Emission {
        file: text(request.options, &model),
        joint_json: json_text(&joints),
        joints,
        notes: remarks::notes(request, &parts.figures, &parts.plans, parts.coupling.as_ref()),
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
pub(super) fn json_text(joints: &[JointJson]) -> String {
    let text = serde_json::to_string_pretty(joints).map(|text| text + "\n").unwrap_or_default();
    text.chars().map(in_ascii).collect()
}

/// As JSON writes what is not ASCII: in UTF-16 (RFC 8259, section 7). It stands in strings only.
fn in_ascii(c: char) -> String {
    if c.is_ascii() {
        return c.to_string();
    }
    let mut units = [0; 2];
    c.encode_utf16(&mut units).iter().map(|unit| format!("\\u{unit:04x}")).collect()
}

pub(super) fn revolute_joint(request: &EmitRequest<'_>, view: &JointView<'_>) -> RevoluteJoint {
    let (robot, figures) = (view.robot, view.figures);
    let limits = request.options.limits;
    let losses = joint_losses(request, figures);
    let on_actuator = actuator_bears_motor(request);
    RevoluteJoint {
        name: robot.joint.clone(),
        parent: robot.parent.clone(),
        child: robot.child.clone(),
        axis: robot.axis,
        origin: robot.origin,
        limit: Some(figures.limit.map(|l| l.angle)),
        drawn_at: motor_side::joint_drawn_at(request),
        mimic: None,
        effort: limits.of(figures.torque),
        velocity: limits.of(figures.speed),
        damping: losses.0.filter(|_| !on_actuator),
        friction: losses.1,
        armature: joint_armature(request, view).filter(|_| !on_actuator),
        remarks: remarks::joint(request, view),
    }
}

/// Damping and friction of the driven joint. A coupled crank bears no friction: on the dependent joint it would fight
/// the coupling; a format with a straight line may drop all that stands on the crank.
fn joint_losses(request: &EmitRequest<'_>, figures: &JointFigures) -> (Option<f64>, Option<f64>) {
    match (request.options.model, request.options.format) {
        (ModelKind::Direct, _) | (ModelKind::Coupled, Format::Urdf | Format::Sdformat) => {
            (figures.damping, figures.friction)
        }
        (ModelKind::Coupled, Format::Mjcf) => (None, figures.friction),
        (ModelKind::Loop, _) => (None, None),
    }
}

/// The split armature goes with patched bodies only; `None` where the crank is a body and has it.
pub(super) fn joint_armature(request: &EmitRequest<'_>, view: &JointView<'_>) -> Option<f64> {
    match (request.options.model, &view.plan.bodies) {
        (ModelKind::Direct, Some(bodies)) if request.options.whole => Some(bodies.armature),
        (ModelKind::Direct, _) => view.figures.plain_armature,
        (ModelKind::Coupled | ModelKind::Loop, _) => None,
    }
}

/// Armature and damping stand on the actuator, before its gear.
fn actuator_bears_motor(request: &EmitRequest<'_>) -> bool {
    let options = request.options;
    options.model == ModelKind::Direct
        && options.format == Format::Mjcf
        && options.actuator == ActuatorUnits::Motor
        && motor_side::engine(request) >= EngineVersion::ACTUATOR_ARMATURE
}

/// In motor units the force range is such that the joint's torque limit is the one in joint units.
fn actuator(request: &EmitRequest<'_>, view: &JointView<'_>) -> Actuator {
    let (options, figures) = (request.options, view.figures);
    if motor_side::is_kept(options.model) {
        return motor_side::actuator(request, view.robot, figures);
    }
    let gear = match options.actuator {
        ActuatorUnits::Joint => 1.0,
        ActuatorUnits::Motor => figures.gear(),
    };
    let before_gear = |at_joint: Option<f64>| {
        at_joint.filter(|_| actuator_bears_motor(request)).map(|x| x / (gear * gear))
    };
    Actuator {
        joint: view.robot.joint.clone(),
        gear,
        force: options.limits.of(figures.torque).map(|e| e / gear.abs()),
        servo: servo(options.actuator, gear, figures),
        armature: before_gear(joint_armature(request, view)),
        damping: before_gear(figures.damping),
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
