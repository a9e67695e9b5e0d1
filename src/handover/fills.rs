//! What fills a drive's place in a file, by what the design draws.

use crate::design::{BodyMass, Drawn, Geometry, MotorOn, RobotJoint};
use crate::dynamics::Coupling;
use crate::robot::Inertial;
use crate::study::StrokeRow;

use super::fault::EmitFault;
use super::finger_json;
use super::stand_in::limits::{joint_limits, widened};
use super::stand_in::plan::{jaws, model_faults, plans};
use super::stand_in::{
    Draws, Jaw, JointFigures, JointRow, MotorEnd, Plan, Request, StandIn, coupling, jaw,
    link_frame, one_joint,
};
use super::whole::{self, Links};

/// What a file holds beside the driven joints, in their order.
#[derive(Default)]
pub(super) struct Parts {
    pub(super) plans: Vec<Plan>,
    pub(super) jaws: Vec<Option<Jaw>>,
    pub(super) motors: Vec<Option<MotorEnd>>,
    pub(super) links: Links,
    pub(super) coupling: Option<Coupling>,
}

/// A drawing of a drive that a file can hold.
pub(super) trait Fills: Draws {
    /// Figures of joints that no ratio of the drive comes into.
    fn own_figures(_: &Request<'_, Self>) -> Option<Result<Vec<JointFigures>, EmitFault>> {
        None
    }

    /// What the file is made of, and all that stands against it.
    fn parts(request: &Request<'_, Self>, figures: &[JointFigures]) -> (Parts, Vec<EmitFault>);

    /// The child's figures in its own frame.
    ///
    /// # Errors
    /// Where they are no real body's, or nothing places the drawing's frame.
    fn child(
        request: &Request<'_, Self>,
        robot: &RobotJoint,
        body: &BodyMass,
    ) -> Result<Inertial, EmitFault>;

    /// The table over the stroke as the robot's software reads it, rising joint reading.
    fn rows(
        request: &Request<'_, Self>,
        stand_in: &StandIn<'_>,
        rows: &[StrokeRow],
    ) -> Vec<JointRow>;
}

impl Fills for Geometry {
    fn own_figures(request: &Request<'_>) -> Option<Result<Vec<JointFigures>, EmitFault>> {
        let robots = &request.design.robots;
        jaw::drives_itself(request)
            .then(|| robots.iter().map(|robot| jaw::figures(request, robot)).collect())
    }

    fn parts(request: &Request<'_>, figures: &[JointFigures]) -> (Parts, Vec<EmitFault>) {
        if request.design.motor_on == MotorOn::Parent {
            return on_parent(request, figures);
        }
        let mut faults = model_faults(request);
        let plans = plans(request).map_err(|f| faults.extend(f)).unwrap_or_default();
        let jaws = jaws(request).map_err(|f| faults.extend(f)).unwrap_or_default();
        let links = whole::links(request, &plans, &jaws);
        let links = links.map_err(|f| faults.extend(f)).unwrap_or_default();
        let coupling = coupling::fitted(request).map_err(|f| faults.push(f)).ok().flatten();
        let motors = vec![None; request.design.robots.len()];
        (Parts { plans, jaws, motors, links, coupling }, faults)
    }

    fn child(
        request: &Request<'_>,
        robot: &RobotJoint,
        body: &BodyMass,
    ) -> Result<Inertial, EmitFault> {
        link_frame::child(request.design, robot, body, request.check.zero.rocker)
    }

    fn rows(request: &Request<'_>, stand_in: &StandIn<'_>, rows: &[StrokeRow]) -> Vec<JointRow> {
        finger_json::over_stroke(request, stand_in, rows)
    }
}

impl Fills for Drawn {
    fn parts(request: &Request<'_, Self>, figures: &[JointFigures]) -> (Parts, Vec<EmitFault>) {
        let count = request.design.robots.len();
        let (motors, mut faults) = one_joint::motor_ends(request, figures);
        let plans = one_joint::plans(request).map_err(|more| faults.extend(more));
        let plans = plans.unwrap_or_default();
        let ends = motors.iter().flatten().map(|end| (end.others.clone(), end.pins.clone()));
        let others = ends.collect();
        let links = if request.ask.whole {
            let child = |robot: &RobotJoint, body: &BodyMass| Self::child(request, robot, body);
            whole::bare_links(request, &plans, &[], &child)
        } else {
            Ok(Links::default())
        };
        let links = links.map_err(|more| faults.extend(more)).unwrap_or_default();
        let links = Links { others, ..links };
        let coupling = one_joint::coupling(request).map_err(|f| faults.push(f)).ok().flatten();
        let jaws = vec![None; count];
        (Parts { plans, jaws, motors, links, coupling }, faults)
    }

    fn child(
        request: &Request<'_, Self>,
        robot: &RobotJoint,
        body: &BodyMass,
    ) -> Result<Inertial, EmitFault> {
        one_joint::child(request, robot, body)
    }

    fn rows(
        request: &Request<'_, Self>,
        stand_in: &StandIn<'_>,
        rows: &[StrokeRow],
    ) -> Vec<JointRow> {
        let motor = request.design.actuator.as_ref();
        let mut rows: Vec<JointRow> =
            rows.iter().map(|row| stand_in.figures.row(row, motor)).collect();
        rows.sort_by(|a, b| a.joint_rad.total_cmp(&b.joint_rad));
        rows
    }
}

/// A four-bar whose motor sits on the carrier's parent.
fn on_parent(request: &Request<'_>, figures: &[JointFigures]) -> (Parts, Vec<EmitFault>) {
    let count = request.design.robots.len();
    let mut motors = one_joint::motors_on_parent(request, figures);
    motors.resize_with(count, || None);
    let plans = no_plans("the motor sits on the parent of the carrier", count);
    let jaws = vec![None; count];
    let parts = Parts { plans, jaws, motors, ..Parts::default() };
    (parts, one_joint::refusal_on_parent(request).into_iter().collect())
}

/// None of the joints has its drive's bodies split, and why.
fn no_plans(why_not: &str, count: usize) -> Vec<Plan> {
    vec![Plan { bodies: None, why_not: Some(why_not.to_owned()) }; count]
}

/// The figures of every joint of the design; `joint_of_motor` as for [`crate::handover::emit`].
///
/// # Errors
/// The stops leave nothing of the stroke or are not reached; no ratio.
pub(super) fn joint_figures<G: Fills>(
    request: &Request<'_, G>,
    joint_of_motor: &dyn Fn(f64) -> Option<f64>,
) -> Result<Vec<JointFigures>, EmitFault> {
    let Request { design, mechanism, check, .. } = *request;
    if let Some(own) = G::own_figures(request) {
        return own;
    }
    let stops = design.actuator.as_ref().and_then(|a| a.stops);
    let limits = joint_limits(&check.stroke, stops, joint_of_motor)?;
    let limits = widened(limits, G::turning_points(mechanism, &check.stroke, stops));
    let torque = G::torque_ratio(design, mechanism, check);
    let of = |robot| JointFigures::new(design, check, robot, limits, torque);
    design.robots.iter().map(of).collect()
}
