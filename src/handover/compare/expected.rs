//! What the design says of one joint: what stands in for the linkage, as `emit` writes it.

use super::facts::JointFacts;
use super::row::Look;
use crate::design::{self, Design, Drawn, Geometry};
use crate::dynamics::{Coupling, Fit, Moments};
use crate::handover::fault::EmitFault;
use crate::handover::fills::{Fills, joint_figures};
use crate::handover::stand_in::bodies::as_given;
use crate::handover::stand_in::coupling::{Relation, fit};
use crate::handover::stand_in::jaw::Attitude;
use crate::handover::stand_in::joint::driven_joint;
use crate::handover::stand_in::plan::plan;
use crate::handover::stand_in::{
    Ask, Coupled, Draws, Form, Jaw, JointFigures, Plan, Request, StandIn, jaw, one_joint,
};
use crate::handover::whole;
use crate::robot::{Format, Inertial, TreeJoint};
use crate::study::{self, Check};

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
    /// The crank as the design gives it, in its own frame of the drawing; of a planar four-bar.
    pub(super) own_crank: Option<Moments>,
    /// A gripper's fingers.
    pub(super) jaw: Option<Jaw>,
    /// Whether the design says how high along the joint axis the pins stand: lengths of a jaw's linkage do not.
    pub(super) tells_heights: bool,
    /// The crank's joint in the zero pose.
    pub(super) crank: ExpectedCrank,
}

/// One joint of the design beside the file's, and how to look at both.
pub(super) struct Held<'a, G: Draws = Geometry> {
    pub(super) look: Look<'a>,
    pub(super) expected: &'a Expected<'a, G>,
    pub(super) facts: &'a JointFacts<'a>,
}

/// The crank where a file keeps it: in the parent link's frame.
pub(super) struct ExpectedCrank {
    /// About which the motor's reading counts.
    pub(super) axis: [f64; 3],
    /// A point on it, m; `None` where the design does not tell.
    pub(super) at: Option<[f64; 3]>,
    /// Of its joint, kg m²; `None` where that has none.
    pub(super) armature: Option<f64>,
    /// What it weighs in its link's frame, with what the design's other parts give it; `None` where that is not known.
    pub(super) body: Option<Inertial>,
}

impl ExpectedCrank {
    /// Of a planar four-bar: a rotor that is a body of its own leaves the crank's joint no armature.
    fn parallel(robot: &design::RobotJoint, plan: &Plan) -> Self {
        let bodies = plan.bodies.as_ref();
        let kept = bodies.and_then(|bodies| bodies.kept.as_ref());
        let has_own_rotor = kept.is_some_and(|kept| kept.rotor.is_some());
        Self {
            axis: robot.axis.map(|x| robot.motor_sign * x),
            at: robot.motor_at.or(kept.map(|kept| kept.motor)),
            armature: bodies.filter(|_| !has_own_rotor).map(|bodies| bodies.armature),
            body: kept.map(|kept| kept.crank),
        }
    }
}

impl From<&TreeJoint> for ExpectedCrank {
    fn from(joint: &TreeJoint) -> Self {
        let armature = joint.properties.armature;
        Self { axis: joint.axis, at: Some(joint.origin), armature, body: None }
    }
}

impl<'a, G: Draws> DesignSide<'a, G> {
    pub(super) fn request(&self, form: Form, format: Format) -> Request<'a, G> {
        let Self { design, mechanism, check, .. } = *self;
        Request { design, mechanism, check, ask: Ask::new(form, format) }
    }
}

impl<'a, G: Fills> DesignSide<'a, G> {
    /// The figures of all joints.
    ///
    /// # Errors
    /// What is missing or unfit in the design, as for `emit`; the verdict is none of it.
    pub(super) fn of(
        design: &'a Design<G>,
        mechanism: &'a G::Moving,
        check: &'a Check,
    ) -> Result<Self, Vec<EmitFault>> {
        let request = |form, format| {
            let ask = Ask::new(form, format);
            Request { design, mechanism, check, ask }
        };
        let (direct, in_loop) =
            (request(Form::Direct, Format::Urdf), request(Form::Loop, Format::Mjcf));
        let of_loops = design.parallel_jaw().map(|_| joint_figures(&in_loop, &in_loop.through()));
        let of_loops = of_loops.and_then(Result::ok).unwrap_or_default();
        let mut faults = whole::name_faults(&direct);
        match joint_figures(&direct, &direct.through()) {
            Ok(figures) if faults.is_empty() => {
                Ok(Self { design, mechanism, check, figures, of_loops })
            }
            Ok(_) => Err(faults),
            Err(fault) => {
                faults.push(fault);
                Err(faults)
            }
        }
    }
}

impl<'a> DesignSide<'a, Drawn> {
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
        let request = self.request(form, format);
        let joint = driven_joint(&request, &stand_in);
        let plan = stand_in.plan;
        let crank = self.crank(at, format);
        let coupled = relations(&request, figures, |fit| one_joint::fitted(&request, fit))
            .filter(|_| crank.is_some());
        let crank = crank
            .as_ref()
            .map_or_else(|| ExpectedCrank::parallel(robot, &plan), ExpectedCrank::from);
        let link = || one_joint::crank_link(&request, robot, figures);
        let body = if form == Form::Coupled { link().map(|link| link.inertial) } else { None };
        let crank = ExpectedCrank { body: crank.body.or(body), ..crank };
        let coupled = coupled.collect();
        Some(Expected {
            side: self,
            robot,
            figures,
            joint,
            plan,
            coupled,
            own_crank: None,
            jaw: None,
            tells_heights: true,
            crank,
        })
    }

    /// The crank's joint on the `at`-th robot joint, where the drive has one.
    pub(super) fn crank(&self, at: usize, format: Format) -> Option<TreeJoint> {
        let (robot, figures) = (self.design.robots.get(at)?, self.figures.get(at)?);
        one_joint::crank_joint(&self.request(Form::Coupled, format), robot, figures)
    }
}

impl<'a> DesignSide<'a> {
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
        let coupled = relations(&request, figures, |which| fit(&request, which)).collect();
        let plan = planned(&request, robot);
        let jaw = jaw::as_known(&request, robot, other).ok().flatten();
        let stand_in =
            StandIn { robot, figures: figures.clone(), plan, coupling: None, jaw, motor: None };
        let joint = driven_joint(&request, &stand_in);
        let StandIn { plan, jaw, .. } = stand_in;
        let tells_heights = jaw.is_none() || self.design.geometry.pivots.is_some();
        let crank = ExpectedCrank::parallel(robot, &plan);
        let drive = study::drive_on(self.design, Some(robot), &self.check.zero);
        let own_crank = drive.and_then(|drive| drive.masses.with_bars().crank);
        Some(Expected {
            side: self,
            robot,
            figures,
            joint,
            plan,
            coupled,
            own_crank: own_crank.as_ref().map(Moments::from),
            jaw,
            tells_heights,
            crank,
        })
    }

    /// What the linkage's parts add in this form, for every joint in the design's order.
    pub(super) fn plans(&self, form: Form, format: Format) -> Vec<Plan> {
        plans_and_jaws(&self.request(form, format)).0
    }
}

/// The relations of crank and joint that `emit` may have written, one for each fit; none but in the coupled form.
fn relations<G: Draws>(
    request: &Request<'_, G>,
    figures: &JointFigures,
    fitted: impl Fn(Fit) -> Result<Coupling, EmitFault>,
) -> impl Iterator<Item = Relation> {
    let fits: &[Fit] = if request.ask.form == Form::Coupled { &Fit::ALL } else { &[] };
    fits.iter().filter_map(move |which| {
        let coupling = fitted(*which).ok()?;
        Some(Coupled::new(request, figures, &coupling).relation)
    })
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
