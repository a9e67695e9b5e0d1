//! The coupled form: the crank stays a body with its motor, the coupler goes, one coupling ties crank and joint.

use super::numbers::list;
use super::{Changes, FoldFault, Job};
use crate::dynamics::{Coupling, Course};

/// Crank reading as a polynomial of the driven joint's reading, both from their `drawn_at`.
struct Tie {
    polynomial: [f64; 5],
    /// Largest angle error of the straight line over the stroke, rad.
    line_error: f64,
}

fn tie(job: &Job<'_>) -> Result<Tie, FoldFault> {
    let fault = |why: String| {
        let help = "shorten the stroke by the joint's limits, or keep the loop";
        FoldFault::at_place(job.robot, job.driven.place, why, help)
    };
    let course = Course::over(&job.reach.branch, job.reach.stroke()).map_err(|_| {
        fault("the coupling cannot be fitted: the stroke reaches a dead point".into())
    })?;
    let coupling = Coupling::over(&course)
        .map_err(|_| fault("the coupling cannot be fitted over the stroke".into()))?;
    let [low, high] = job.reach.joint;
    let (zero, sign) = (job.reach.zero_joint, job.four_bar.motor_sign());
    let motor =
        |drawn_joint: f64| sign * (coupling.motor_turn(drawn_joint - zero) + job.reach.zero);
    let polynomial = shifted(&coupling, zero, job.reach.zero).map(|a| sign * a);
    let line = job.figures.slope;
    let offset = job.figures.shift + line * job.driven.drawn_at - job.motor.drawn_at;
    let line_error = (0..=200)
        .map(|k| {
            let joint = zero + low + (high - low) * f64::from(k) / 200.0;
            ((motor(joint) - line * joint - offset) / line).abs()
        })
        .fold(0.0_f64, f64::max);
    Ok(Tie { polynomial, line_error })
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
    let line = format!(
        "<joint joint1=\"{}\" joint2=\"{}\" polycoef=\"{}\" solref=\"0.004 1\" solimp=\"0.999 0.9999 0.001 0.5 2\"/>",
        crate::robot::escaped(named[0]),
        crate::robot::escaped(named[1]),
        list(&tie.polynomial)
    );
    super::visuals::append_to_section(job, "equality", &line, changes);
    changes.notes.push(
        "the coupling is set for a time step of 2 ms (solref 0.004 1): give it twice your step"
            .to_owned(),
    );
}

/// The crank follows the joint along a straight line; refused where that is not within the verdict's limits.
fn line(job: &Job<'_>, format: &str) -> Result<(), FoldFault> {
    let tie = tie(job)?;
    if tie.line_error <= 0.5_f64.to_radians() || job.options.anyway {
        return Ok(());
    }
    let why = format!(
        "{format} couples joints by a straight line, and this linkage is {:.2} deg off one",
        tie.line_error.to_degrees()
    );
    let help = "MJCF holds a polynomial; --anyway writes the line all the same";
    Err(FoldFault::at_place(job.robot, job.driven.place, why, help))
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
