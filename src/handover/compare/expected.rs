//! What the design says of one joint, from the same figures that `emit` writes.

use super::form::Form;
use crate::design::{self, Design};
use crate::dynamics::Fit;
use crate::handover::bodies::as_given;
use crate::handover::emit::{EmitRequest, JointView, all_figures, coupling, revolute_joint};
use crate::handover::fault::EmitFault;
use crate::handover::figures::JointFigures;
use crate::handover::joint_json::Coupled;
use crate::handover::plan::{Plan, plan};
use crate::handover::whole;
use crate::handover::{ActuatorUnits, EmitOptions, LimitBasis, ModelKind};
use crate::robot::{Format, RevoluteJoint};
use crate::study::{self, Check, Mechanism};

/// A design with all that was found for it.
pub(super) struct DesignSide<'a> {
    pub(super) design: &'a Design,
    pub(super) mechanism: &'a Mechanism,
    pub(super) check: &'a Check,
    figures: Vec<JointFigures>,
}

/// What the design says of one joint in one form and format.
pub(super) struct Expected<'a> {
    pub(super) side: &'a DesignSide<'a>,
    pub(super) robot: &'a design::RobotJoint,
    pub(super) figures: &'a JointFigures,
    /// As `emit` would write it.
    pub(super) joint: RevoluteJoint,
    /// What the linkage's parts add to the links.
    pub(super) plan: Plan,
    /// The relations of crank and joint that `emit` may have written, one for each fit; none but in the coupled form.
    pub(super) coupled: Vec<Coupled>,
}

impl<'a> DesignSide<'a> {
    /// The figures of all joints of the design.
    ///
    /// # Errors
    /// What is missing or unfit in the design, as for `emit`; the verdict is none of it.
    pub(super) fn of(
        design: &'a Design,
        mechanism: &'a Mechanism,
        check: &'a Check,
    ) -> Result<Self, Vec<EmitFault>> {
        let options = options(Form::Direct, Format::Urdf);
        let request = EmitRequest { design, mechanism, check, rows: &[], options: &options };
        let mut faults = whole::name_faults(&request);
        let through = |motor: f64| mechanism.branch.joint_turn(motor).ok();
        let figures = all_figures(&request, &through).map_err(|f| faults.push(f));
        match figures {
            Ok(figures) if faults.is_empty() => Ok(Self { design, mechanism, check, figures }),
            _ => Err(faults),
        }
    }

    /// What it says of the `at`-th joint.
    pub(super) fn joint(&'a self, at: usize, form: Form, format: Format) -> Option<Expected<'a>> {
        let Self { design, mechanism, check, .. } = *self;
        let (robot, figures) = (design.robots.get(at)?, self.figures.get(at)?);
        let options = options(form, format);
        let request = EmitRequest { design, mechanism, check, rows: &[], options: &options };
        let plan = planned(&request, robot);
        let coupling = coupling(&request).ok().flatten();
        let view = JointView { robot, figures, plan: &plan, coupling: coupling.as_ref() };
        let joint = revolute_joint(&request, &view);
        let fitted = |fit: Fit| {
            let options = EmitOptions { fit, ..options };
            let request = EmitRequest { options: &options, ..request };
            let coupling = self::coupling(&request).ok().flatten()?;
            Some(Coupled::of(&request, figures, &coupling))
        };
        let coupled = [Fit::Balanced, Fit::Slope].into_iter().filter_map(fitted).collect();
        Some(Expected { side: self, robot, figures, joint, plan, coupled })
    }

    /// What the linkage's parts add in this form, for every joint in the design's order.
    pub(super) fn plans(&self, form: Form, format: Format) -> Vec<Plan> {
        let Self { design, mechanism, check, .. } = *self;
        let options = options(form, format);
        let request = EmitRequest { design, mechanism, check, rows: &[], options: &options };
        design.robots.iter().map(|robot| planned(&request, robot)).collect()
    }
}

/// Where the model cannot do with or without bodies, none are added and it is said why. Crank and rod alone add what they
/// weigh, as `fold` has it of a file that knows no rotor.
fn planned(request: &EmitRequest<'_>, robot: &design::RobotJoint) -> Plan {
    let mass = &request.design.mass;
    let are_weighed = [&mass.crank, &mass.coupler].iter().all(|part| part.is_some());
    if request.options.model == ModelKind::Direct
        && are_weighed
        && !has_rotor(request.design)
        && let Ok(Some(bodies)) = as_given(request, robot)
    {
        return Plan { bodies: Some(bodies), why_not: None };
    }
    plan(request, robot).unwrap_or_else(|fault| {
        let missing = study::missing_for_inertia(request.design).join(", ");
        let why = if missing.is_empty() { fault.to_string() } else { format!("needs {missing}") };
        Plan { bodies: None, why_not: Some(why) }
    })
}

/// Whether what the motor adds to the joint's inertia is given.
pub(super) fn has_rotor(design: &Design) -> bool {
    design.actuator.as_ref().is_some_and(|a| a.rotor_inertia.is_some() && a.gear_ratio.is_some())
}

fn options(form: Form, format: Format) -> EmitOptions {
    EmitOptions {
        format,
        model: form.model(),
        whole: false,
        anyway: true,
        limits: LimitBasis::Guaranteed,
        actuator: ActuatorUnits::Joint,
        engine: None,
        fit: Fit::Balanced,
    }
}
