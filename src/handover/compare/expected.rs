//! What the design says of one joint: what stands in for the linkage, as `emit` writes it.

use crate::design::{self, Design, Drawn, Geometry};
use crate::dynamics::Fit;
use crate::handover::fault::EmitFault;
use crate::handover::fills::joint_figures;
use crate::handover::stand_in::bodies::as_given;
use crate::handover::stand_in::coupling::{Relation, fit};
use crate::handover::stand_in::jaw::Attitude;
use crate::handover::stand_in::joint::driven_joint;
use crate::handover::stand_in::plan::plan;
use crate::handover::stand_in::{
    Ask, Coupled, Draws, Form, Jaw, JointFigures, Plan, Request, StandIn, jaw, one_joint,
};
use crate::handover::whole;
use crate::robot::{Format, TreeJoint};
use crate::study::{self, Check, Driven, Mechanism};

/// A design with all that was found for it.
pub(super) struct DesignSide<'a, G: Draws = Geometry> {
    pub(super) design: &'a Design<G>,
    pub(super) mechanism: &'a G::Moving,
    pub(super) check: &'a Check,
    figures: Vec<JointFigures>,
    /// Of the crank's own joint, where a gripper's loops stay.
    of_loops: Vec<JointFigures>,
}

/// What the design says of one joint in one form and format.
pub(super) struct Expected<'a, G: Draws = Geometry> {
    pub(super) side: &'a DesignSide<'a, G>,
    pub(super) robot: &'a design::RobotJoint,
    pub(super) figures: &'a JointFigures,
    /// As `emit` would write it.
    pub(super) joint: TreeJoint,
    /// What the linkage's parts add to the links.
    pub(super) plan: Plan,
    /// The relations of crank and joint that `emit` may have written, one for each fit; none but in the coupled form.
    pub(super) coupled: Vec<Relation>,
    /// A gripper's fingers.
    pub(super) jaw: Option<Jaw>,
    /// Whether the design says how high along the joint axis the pins stand: lengths of a jaw's linkage do not.
    pub(super) tells_heights: bool,
}

impl<'a, G: Draws> DesignSide<'a, G> {
    pub(super) fn request(&self, form: Form, format: Format) -> Request<'a, G> {
        let Self { design, mechanism, check, .. } = *self;
        Request { design, mechanism, check, ask: Ask::new(form, format) }
    }
}

impl<'a> DesignSide<'a, Drawn> {
    /// The figures of all joints of a design of another drive.
    ///
    /// # Errors
    /// As [`DesignSide::of`].
    pub(super) fn of_drive(
        design: &'a Design<Drawn>,
        mechanism: &'a Driven,
        check: &'a Check,
    ) -> Result<Self, Vec<EmitFault>> {
        let ask = Ask::new(Form::Direct, Format::Urdf);
        let request = Request { design, mechanism, check, ask };
        let mut faults = whole::name_faults(&request);
        let figures = joint_figures(&request, &request.through()).map_err(|f| faults.push(f));
        match figures {
            Ok(figures) if faults.is_empty() => {
                Ok(Self { design, mechanism, check, figures, of_loops: Vec::new() })
            }
            _ => Err(faults),
        }
    }

    /// What the drives of all joints add to their links.
    pub(super) fn driven_plans(&self, form: Form, format: Format) -> Vec<Plan> {
        let none = |_| vec![Plan { bodies: None, why_not: None }; self.design.robots.len()];
        one_joint::plans(&self.request(form, format)).unwrap_or_else(none)
    }

    /// What it says of the `at`-th joint.
    pub(super) fn driven(
        &'a self,
        at: usize,
        form: Form,
        format: Format,
    ) -> Option<Expected<'a, Drawn>> {
        let (robot, figures) = (self.design.robots.get(at)?, self.figures.get(at)?);
        let plan = self.driven_plans(form, format).into_iter().nth(at)?;
        let stand_in = StandIn {
            robot,
            figures: figures.clone(),
            plan,
            coupling: None,
            jaw: None,
            motor: None,
        };
        let joint = driven_joint(&self.request(form, format), &stand_in);
        let plan = stand_in.plan;
        Some(Expected {
            side: self,
            robot,
            figures,
            joint,
            plan,
            coupled: Vec::new(),
            jaw: None,
            tells_heights: true,
        })
    }
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
        let ask = Ask::new(Form::Direct, Format::Urdf);
        let request = Request { design, mechanism, check, ask };
        let mut faults = whole::name_faults(&request);
        let figures = joint_figures(&request, &request.through()).map_err(|f| faults.push(f));
        let in_loop = Request { ask: Ask::new(Form::Loop, Format::Mjcf), ..request };
        let of_loops = match design.parallel_jaw() {
            Some(_) => joint_figures(&in_loop, &in_loop.through()).unwrap_or_default(),
            None => Vec::new(),
        };
        match figures {
            Ok(figures) if faults.is_empty() => {
                Ok(Self { design, mechanism, check, figures, of_loops })
            }
            _ => Err(faults),
        }
    }

    /// What it says of the `at`-th joint.
    pub(super) fn joint(&'a self, at: usize, form: Form, format: Format) -> Option<Expected<'a>> {
        self.with_other(at, (form, format), Attitude::Mirrored)
    }

    /// The same with a gripper's other finger in that attitude.
    pub(super) fn with_other(
        &'a self,
        at: usize,
        (form, format): (Form, Format),
        other: Attitude,
    ) -> Option<Expected<'a>> {
        let is_loop = form == Form::Loop && !self.of_loops.is_empty();
        let figures = if is_loop { &self.of_loops } else { &self.figures };
        let (robot, figures) = (self.design.robots.get(at)?, figures.get(at)?);
        let request = self.request(form, format);
        let fitted = |which: &Fit| {
            let coupling = fit(&request, *which).ok()?;
            Some(Coupled::new(&request, figures, &coupling).relation)
        };
        let fits: &[Fit] = if form == Form::Coupled { &Fit::ALL } else { &[] };
        let coupled = fits.iter().filter_map(fitted).collect();
        let plan = planned(&request, robot);
        let jaw = jaw::as_known(&request, robot, other).ok().flatten();
        let stand_in =
            StandIn { robot, figures: figures.clone(), plan, coupling: None, jaw, motor: None };
        let joint = driven_joint(&request, &stand_in);
        let StandIn { plan, jaw, .. } = stand_in;
        let tells_heights = jaw.is_none() || self.design.geometry.pivots.is_some();
        Some(Expected { side: self, robot, figures, joint, plan, coupled, jaw, tells_heights })
    }

    /// What the linkage's parts add in this form, for every joint in the design's order.
    pub(super) fn plans(&self, form: Form, format: Format) -> Vec<Plan> {
        plans_and_jaws(&self.request(form, format)).0
    }
}

/// What the linkage's parts add, and a gripper's fingers, for every joint in the design's order.
pub(super) fn plans_and_jaws(request: &Request<'_>) -> (Vec<Plan>, Vec<Option<Jaw>>) {
    let robots = &request.design.robots;
    let known = |robot| jaw::as_known(request, robot, Attitude::Mirrored).ok().flatten();
    let plans = robots.iter().map(|robot| planned(request, robot)).collect();
    (plans, robots.iter().map(known).collect())
}

/// Where the model cannot do with or without bodies, none are added and it is said why. Crank and rod alone add what they
/// weigh, as `fold` has it of a file that knows no rotor.
fn planned(request: &Request<'_>, robot: &design::RobotJoint) -> Plan {
    let mass = &request.design.mass;
    let are_weighed = [&mass.crank, &mass.coupler].iter().all(|part| part.is_some());
    if request.ask.form == Form::Direct
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
pub(super) fn has_rotor<G>(design: &Design<G>) -> bool {
    design.actuator.as_ref().is_some_and(|a| a.rotor_inertia.is_some() && a.gear_ratio.is_some())
}
