//! For each `[[robot]]`: which bodies the model asks for, or why it goes without.

use super::bodies::{self, Bodies};
use super::emit::{EmitRequest, ModelKind};
use super::fault::EmitFault;
use super::motor_side;
use crate::design::RobotJoint;
use crate::robot::Format;
use crate::study;

/// What one joint's links get.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    /// What the linkage's parts add, and what stays of its own.
    pub(super) bodies: Option<Bodies>,
    /// Why nothing is added, as a clause.
    pub(super) why_not: Option<String>,
}

/// The plans in the order of the joints.
///
/// # Errors
/// Where the model cannot do without bodies that cannot be, each fault once.
pub(super) fn plans(request: &EmitRequest<'_>) -> Result<Vec<Plan>, Vec<EmitFault>> {
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
fn missing(request: &EmitRequest<'_>) -> Vec<EmitFault> {
    let mass = &request.design.mass;
    let needed = [
        ("[mass.crank]", mass.crank.is_none()),
        ("[mass.coupler]", mass.coupler.is_none()),
        ("[mass.child]", mass.child.is_none()),
        ("[mass.carrier]", mass.carrier.is_none()),
    ];
    let is_kept = motor_side::is_kept(request.options.model);
    let faults = needed.into_iter().filter(|(_, missing)| is_kept && *missing);
    faults
        .map(|(key, _)| EmitFault::Missing {
            key,
            needed_for: "a model that keeps the crank needs the masses of all four parts".into(),
            help: format!("add {key} with mass, center and inertia"),
        })
        .collect()
}

pub(super) fn plan(request: &EmitRequest<'_>, robot: &RobotJoint) -> Result<Plan, EmitFault> {
    if motor_side::is_kept(request.options.model) {
        let bodies = bodies::kept(request, robot, motor_side::drawn(request, robot)?)?;
        return Ok(Plan { bodies: Some(bodies), why_not: None });
    }
    match bodies::direct(request, robot) {
        Ok(Some(bodies)) => Ok(Plan { bodies: Some(bodies), why_not: None }),
        Ok(None) => {
            let missing = study::missing_for_inertia(request.design).join(", ");
            Ok(Plan { bodies: None, why_not: Some(format!("needs {missing}")) })
        }
        Err(fault) if request.options.whole => Err(fault),
        Err(fault) => Ok(Plan { bodies: None, why_not: Some(fault.to_string()) }),
    }
}

/// What the format or the engine cannot hold of the model.
pub(super) fn model_faults(request: &EmitRequest<'_>) -> Vec<EmitFault> {
    let options = request.options;
    let fault = match (options.model, options.format) {
        (ModelKind::Loop, format) if !format.holds_loops() => Some(EmitFault::NoLoops),
        (ModelKind::Loop, Format::Mjcf) => motor_side::engine_fault(request),
        (ModelKind::Coupled, format) if !format.holds_polynomials() => not_linear(request),
        _ => None,
    };
    fault.into_iter().collect()
}

/// Whether the direct joint's straight line is within the design's own limits of angle and ratio on the drawn lengths.
fn not_linear(request: &EmitRequest<'_>) -> Option<EmitFault> {
    let (accept, check) = (&request.design.accept, request.check);
    let (angle, ratio) = (check.angle_error.value, check.transmission_ratio.worst_error);
    let why = if angle > accept.angle {
        format!(
            "the linkage's angle is {:.3} deg off the line (limit {:.3} deg)",
            angle.to_degrees(),
            accept.angle.to_degrees()
        )
    } else {
        match ratio {
            Some(ratio) if ratio.value <= accept.ratio => return None,
            Some(ratio) => format!(
                "the linkage's ratio is {:.2} % off the line's slope (limit {:.2} %)",
                100.0 * ratio.value,
                100.0 * accept.ratio
            ),
            None => "the rocker stands still inside the stroke".to_owned(),
        }
    };
    Some(EmitFault::NotLinear { why })
}
