//! For each `[[robot]]`: which bodies the model asks for, or why it goes without.

use super::bodies::{self, Bodies};
use super::coupling::CouplingError;
use super::{Jaw, Request};
use super::{crank, jaw};
use crate::design::RobotJoint;
use crate::dynamics::Moments;
use crate::handover::Form;
use crate::handover::fault::EmitFault;
use crate::robot::Format;
use crate::study;

/// What one joint's links get.
#[derive(Clone, Debug)]
pub(in crate::handover) struct Plan {
    /// What the linkage's parts add, and what stays of its own.
    pub(in crate::handover) bodies: Option<Bodies>,
    /// Why nothing is added, as a clause.
    pub(in crate::handover) why_not: Option<String>,
}

/// The plans in the order of the joints.
///
/// # Errors
/// Where the model cannot do without bodies that cannot be, each fault once.
pub(in crate::handover) fn plans(request: &Request<'_>) -> Result<Vec<Plan>, Vec<EmitFault>> {
    let mut faults = missing(request);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut plans = Vec::new();
    for robot in &request.design.robots {
        match plan(request, robot) {
            Ok(plan) => plans.push(plan),
            Err(fault) if faults.contains(&fault) => {}
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() { Ok(plans) } else { Err(faults) }
}

/// The tables that a model with a crank of its own needs and that are not there.
fn missing(request: &Request<'_>) -> Vec<EmitFault> {
    let mass = &request.design.mass;
    let needed = [
        ("[mass.crank]", mass.crank.is_none()),
        ("[mass.coupler]", mass.coupler.is_none()),
        ("[mass.child]", mass.child.is_none()),
        ("[mass.carrier]", mass.carrier.is_none()),
    ];
    let is_kept = request.ask.form.keeps_crank();
    let faults = needed.into_iter().filter(|(_, missing)| is_kept && *missing);
    faults
        .map(|(key, _)| EmitFault::Missing {
            key,
            needed_for: "a model that keeps the crank needs the masses of all four parts".into(),
            help: format!("add {key} with mass, center and inertia"),
        })
        .collect()
}

pub(in crate::handover) fn plan(
    request: &Request<'_>,
    robot: &RobotJoint,
) -> Result<Plan, EmitFault> {
    if jaw::drives_itself(request) {
        return Ok(Plan { bodies: None, why_not: None });
    }
    if request.ask.form.keeps_crank() {
        let bodies = bodies::kept(request, robot, crank::drawn(request, robot)?)?;
        return Ok(Plan { bodies: Some(bodies), why_not: None });
    }
    match bodies::direct(request, robot) {
        Ok(Some(bodies)) => Ok(Plan { bodies: Some(bodies), why_not: None }),
        Ok(None) => {
            let missing = study::missing_for_inertia(request.design).join(", ");
            Ok(Plan { bodies: None, why_not: Some(format!("needs {missing}")) })
        }
        Err(fault) if request.ask.whole => Err(fault),
        Err(fault) => Ok(Plan { bodies: None, why_not: Some(fault.to_string()) }),
    }
}

/// What all joints that hang on the link `parent` add to it; `plans` in the order of the joints.
pub(in crate::handover) fn on_carrier(
    robots: &[RobotJoint],
    plans: &[Plan],
    parent: &str,
) -> impl Iterator<Item = Moments> {
    let borne = robots.iter().zip(plans).filter(move |(robot, _)| robot.parent == parent);
    borne.filter_map(|(_, plan)| Some(plan.bodies.as_ref()?.carrier))
}

/// A gripper's fingers for each `[[robot]]`, each fault once.
///
/// # Errors
/// Where the file cannot do without figures that are missing or unfit.
pub(in crate::handover) fn jaws(request: &Request<'_>) -> Result<Vec<Option<Jaw>>, Vec<EmitFault>> {
    let mut faults: Vec<EmitFault> = Vec::new();
    let mut jaws = Vec::new();
    for robot in &request.design.robots {
        match jaw::jaw(request, robot) {
            Ok(jaw) => jaws.push(jaw),
            Err(fault) if faults.contains(&fault) => {}
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() { Ok(jaws) } else { Err(faults) }
}

/// What the fingers of all grippers on the link `parent` add to it; `jaws` in the order of the joints.
pub(in crate::handover) fn on_palm(
    robots: &[RobotJoint],
    jaws: &[Option<Jaw>],
    parent: &str,
) -> impl Iterator<Item = Moments> {
    let borne = robots.iter().zip(jaws).filter(move |(robot, _)| robot.parent == parent);
    borne.filter_map(|(_, jaw)| jaw.as_ref()?.palm)
}

/// What the format or the engine cannot hold of the model.
pub(in crate::handover) fn model_faults(request: &Request<'_>) -> Vec<EmitFault> {
    let ask = request.ask;
    if let Some(fault) = jaw::fault(request) {
        return vec![fault];
    }
    let fault = match (ask.form, ask.format) {
        (Form::Loop, format) if !format.holds_loops() => Some(EmitFault::NoLoops),
        (Form::Loop, Format::Mjcf) => crank::engine_fault(request),
        (Form::Coupled, format) if !format.holds_polynomials() => not_linear(request),
        _ => None,
    };
    fault.into_iter().collect()
}

/// Whether the direct joint's straight line is within the design's own limits of angle and ratio on the drawn lengths.
fn not_linear(request: &Request<'_>) -> Option<EmitFault> {
    let line = CouplingError::of_line(request.check);
    let why = line.beyond(&request.design.accept, request.check.direct_joint, "the line")?;
    Some(EmitFault::NotLinear { why })
}
