//! The coupled form: the crank stays a body with its motor, the coupler goes, one coupling ties crank and joint.

use super::numbers::text;
use super::{Changes, FoldFault, Job};
use crate::diagnostic::Code;
use crate::dynamics::Fit;
use crate::equivalence::Verdict;
use crate::handover::find::Judged;
use crate::handover::stand_in::coupling::{Coupled, fit};
use crate::handover::stand_in::{Ask, Form, Request};

/// The relation that the format holds: the polynomial, from both joints' `drawn_at`, or the direct joint's line.
pub(super) fn relation(job: &Job<'_>) -> Result<Coupled, FoldFault> {
    let Judged { design, mechanism, check, .. } = job.judged;
    let readings = job.figures.readings;
    if !job.robot.format.holds_polynomials() {
        return Ok(Coupled::straight(check, readings));
    }
    let ask = Ask::new(Form::Coupled, job.robot.format);
    let coupling =
        fit(&Request { design, mechanism, check, ask }, Fit::Balanced).map_err(|_| {
            let help = "shorten the stroke by the joint's limits, or keep the loop";
            let why = "the coupling cannot be fitted: the stroke reaches a dead point";
            FoldFault::at_place(job.robot, job.driven.place, why, help)
        })?;
    Ok(Coupled::curved(check, readings, &coupling, [job.driven.drawn_at, job.motor.drawn_at]))
}

/// The same, held to the verdict's limits of angle, at the joint, and of ratio, in every format; `form` is what it is
/// called.
fn within_limits(job: &Job<'_>, form: &str) -> Result<Coupled, FoldFault> {
    let coupled = relation(job)?;
    let Judged { design, check, .. } = job.judged;
    let why = coupled.error.beyond(&design.accept, check.direct_joint, form);
    let Some(why) = why.filter(|_| !job.options.anyway) else { return Ok(coupled) };
    let message = format!("no coupled crank: {why}");
    let help = "--anyway writes it all the same; else shorten the stroke, or keep the loop";
    let mut fault = FoldFault::at_place(job.robot, job.driven.place, message, help);
    fault.verdict = Some(Verdict::NotEquivalent);
    fault.diagnostic = fault.diagnostic.code(Some(Code::CouplingNotLinear));
    Err(fault)
}

/// One equality of the two joints in place of the closure.
pub(super) fn mjcf(job: &Job<'_>, changes: &mut Changes) {
    let coupled = match within_limits(job, "a polynomial of the fourth degree") {
        Ok(coupled) => coupled,
        Err(fault) => return changes.faults.push(fault),
    };
    let named = [&job.motor.name, &job.driven.name];
    if named.iter().any(|name| name.is_empty()) {
        let help = "give both joints names, then fold";
        let message = "a coupling needs the names of both joints";
        return changes.faults.push(FoldFault::at_place(
            job.robot,
            job.driven.place,
            message,
            help,
        ));
    }
    super::mjcf::couple(job, named.map(String::as_str), &coupled.polynomial, changes);
    let step = text(1e3 * super::mjcf::step(job));
    changes.notes.push(format!(
        "the coupling is set for the file's time step of {step} ms (solref is twice that): change both together"
    ));
}

/// The crank follows the joint along a straight line; refused where that is not within the verdict's limits.
fn line(job: &Job<'_>, format: &str) -> Result<Coupled, FoldFault> {
    within_limits(job, &format!("the straight line that {format} holds"))
}

/// `mimic` on the crank's joint.
pub(super) fn urdf(job: &Job<'_>, changes: &mut Changes) {
    if let Err(fault) = line(job, "URDF") {
        return changes.faults.push(fault);
    }
    super::visuals::urdf_mimic(job, job.motor, job.figures.slope(), job.figures.shift, changes);
}

/// `mimic` on the crank's joint, from 1.11 on.
pub(super) fn sdformat(job: &Job<'_>, changes: &mut Changes) {
    if let Err(fault) = line(job, "SDFormat") {
        return changes.faults.push(fault);
    }
    super::visuals::sdformat_mimic(job, job.motor, job.figures.slope(), job.figures.shift, changes);
}
