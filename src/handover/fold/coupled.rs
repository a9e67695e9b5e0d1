//! The coupled form: the crank stays a body with its motor, the coupler goes, one coupling ties crank and joint.

use super::numbers::text;
use super::{Changes, FoldFault, Job};
use crate::diagnostic::Code;
use crate::dynamics::{Coupling, MonotoneStroke};
use crate::equivalence::Verdict;

/// Crank reading as a polynomial of the driven joint's reading, both from their `drawn_at`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tie {
    /// a₀…a₄.
    pub(super) polynomial: [f64; 5],
    /// Largest error of the crank's angle, rad.
    pub(super) angle_error: f64,
    /// Largest error of its slope, as a share.
    pub(super) torque_error: f64,
}

pub(super) fn tie(job: &Job<'_>) -> Result<Tie, FoldFault> {
    let fault = |why: &str| {
        let help = "shorten the stroke by the joint's limits, or keep the loop";
        FoldFault::at_place(job.robot, job.driven.place, why, help)
    };
    let course = MonotoneStroke::over(&job.reach.branch, job.reach.stroke())
        .map_err(|_| fault("the coupling cannot be fitted: the stroke reaches a dead point"))?;
    let coupling = Coupling::over(&course)
        .map_err(|_| fault("the coupling cannot be fitted over the stroke"))?;
    let sign = job.four_bar.motor_sign();
    let polynomial = shifted(&coupling, job.reach.zero_joint, job.reach.zero).map(|a| sign * a);
    Ok(Tie {
        polynomial,
        angle_error: coupling.angle_error.value,
        torque_error: coupling.ratio_error.value,
    })
}

/// The straight line of the direct joint, which is all that other formats hold.
pub(super) fn straight(job: &Job<'_>) -> Tie {
    let check = &job.judged.check;
    Tie {
        polynomial: [job.figures.shift, job.figures.slope, 0.0, 0.0, 0.0],
        angle_error: check.angle_error.value * check.direct_joint.ratio.abs(),
        torque_error: check.transmission_ratio.worst_error.map_or(f64::NAN, |e| e.value),
    }
}

/// The coupling is held to the verdict's limits of angle, at the joint, and of ratio, in every format.
fn within_limits(job: &Job<'_>, tie: &Tie, form: &str) -> Result<(), FoldFault> {
    let accept = &job.judged.design.accept;
    let angle = tie.angle_error / job.judged.check.direct_joint.ratio.abs();
    let why = if angle.is_nan() || angle > accept.angle {
        format!(
            "the linkage's angle is {:.3} deg off {form} (limit {:.3} deg)",
            angle.to_degrees(),
            accept.angle.to_degrees()
        )
    } else if tie.torque_error.is_nan() || tie.torque_error > accept.ratio {
        format!(
            "the linkage's ratio is {} off {form}'s slope (limit {})",
            crate::study::percent(tie.torque_error),
            crate::study::percent(accept.ratio)
        )
    } else {
        return Ok(());
    };
    if job.options.anyway {
        return Ok(());
    }
    let message = format!("no coupled crank: {why}");
    let help = "--anyway writes it all the same; else shorten the stroke, or keep the loop";
    let mut fault = FoldFault::at_place(job.robot, job.driven.place, message, help);
    fault.verdict = Some(Verdict::NotEquivalent);
    fault.diagnostic = fault.diagnostic.code(Some(Code::CouplingNotLinear));
    Err(fault)
}

/// The polynomial about the drawn pose instead of the zero pose: motor(x) = Σ aₖ (x − x₀)ᵏ + m₀, expanded in x.
fn shifted(coupling: &Coupling, zero_joint: f64, zero_motor: f64) -> [f64; 5] {
    let a = coupling.coefficients;
    let mut out = [0.0; 5];
    // Horner's scheme on polynomials: multiply by (x − x₀), add the next coefficient.
    for coefficient in a.iter().rev() {
        let mut next = [0.0; 5];
        for k in 0..5 {
            let above = if k > 0 { out.get(k - 1).copied().unwrap_or(0.0) } else { 0.0 };
            let here = out.get(k).copied().unwrap_or(0.0);
            if let Some(entry) = next.get_mut(k) {
                *entry = above - zero_joint * here;
            }
        }
        next[0] += coefficient;
        out = next;
    }
    out[0] += zero_motor;
    out
}

/// One equality of the two joints in place of the closure.
pub(super) fn mjcf(job: &Job<'_>, changes: &mut Changes) {
    let tie = match tie(job) {
        Ok(tie) => tie,
        Err(fault) => return changes.faults.push(fault),
    };
    if let Err(fault) = within_limits(job, &tie, "a polynomial of the fourth degree") {
        return changes.faults.push(fault);
    }
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
    super::mjcf::couple(job, named.map(String::as_str), &tie.polynomial, changes);
    let step = text(1e3 * super::mjcf::step(job));
    changes.notes.push(format!(
        "the coupling is set for the file's time step of {step} ms (solref is twice that): change both together"
    ));
}

/// The crank follows the joint along a straight line; refused where that is not within the verdict's limits.
fn line(job: &Job<'_>, format: &str) -> Result<(), FoldFault> {
    within_limits(job, &straight(job), &format!("the straight line that {format} holds"))
}

/// `mimic` on the crank's joint.
pub(super) fn urdf(job: &Job<'_>, changes: &mut Changes) {
    if let Err(fault) = line(job, "URDF") {
        return changes.faults.push(fault);
    }
    super::visuals::urdf_mimic(job, job.motor, job.figures.slope, job.figures.shift, changes);
}

/// `mimic` on the crank's joint, from 1.11 on.
pub(super) fn sdformat(job: &Job<'_>, changes: &mut Changes) {
    if let Err(fault) = line(job, "SDFormat") {
        return changes.faults.push(fault);
    }
    super::visuals::sdformat_mimic(job, job.motor, job.figures.slope, job.figures.shift, changes);
}
