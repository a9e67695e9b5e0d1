//! The coupled form: the crank stays a body with its motor, the coupler goes, one coupling ties crank and joint.

use super::numbers::text;
use super::{Changes, FoldFault, Job, mimic, mjcf_ties};
use crate::diagnostic::Code;
use crate::equivalence::Verdict;
use crate::handover::find::Judged;
use crate::handover::stand_in::Coupled;

/// Held to the verdict's limits of angle, at the joint, and of ratio, in every format; `form` is what it is called. `None`
/// where a fault is noted.
fn within_limits<'a>(job: &'a Job<'_>, form: &str, changes: &mut Changes) -> Option<&'a Coupled> {
    let coupled = job.coupled.as_ref()?;
    let Judged { design, check, .. } = job.plane()?.judged;
    let why = coupled.error.beyond(&design.accept, check.direct_joint, form);
    let Some(why) = why.filter(|_| !job.cut.options.anyway) else { return Some(coupled) };
    let message = format!("no coupled crank: {why}");
    let help = "--anyway writes it all the same; else shorten the stroke, or keep the loop";
    let mut fault = FoldFault::at_place(job.robot, job.driven.place, message, help);
    fault.verdict = Some(Verdict::NotEquivalent);
    fault.diagnostic = fault.diagnostic.code(Some(Code::CouplingNotLinear));
    changes.faults.push(fault);
    None
}

/// One equality of the two joints in place of the closure.
pub(super) fn mjcf(job: &Job<'_>, changes: &mut Changes) {
    let form = "a polynomial of the fourth degree";
    let Some(coupled) = within_limits(job, form, changes) else { return };
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
    mjcf_ties::couple(&job.cut, named.map(String::as_str), &coupled.relation.polynomial, changes);
    let step = text(1e3 * mjcf_ties::step(&job.cut));
    changes.notes.push(format!(
        "the coupling is set for the file's time step of {step} ms (solref is twice that): change both together"
    ));
}

/// `mimic` on the crank's joint; SDFormat knows it from 1.11 on.
pub(super) fn by_mimic(job: &Job<'_>, changes: &mut Changes) {
    let form = format!("the straight line that {} holds", job.robot.format.name());
    if within_limits(job, &form, changes).is_some() {
        mimic::follow(job, job.motor, &job.driven.name, job.figures.line(), changes);
    }
}
