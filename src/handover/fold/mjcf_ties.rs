//! Ties of joints: those of the motor's joint, moved to the driven joint (fixed tendons and joint equalities), and new ones.
//!
//! Motor turn = slope · joint turn, so that a tendon's coefficient grows by the slope; in a polynomial y = Σ aₖ xᵏ of
//! turns from the drawn pose a leader's slope goes into each power, a follower's divides all.

use super::numbers::{is_same, list, text};
use super::{Changes, FoldFault, Job};
use crate::robot::{Element, escaped};

/// Whether the element is a tie of the motor's joint; it speaks of the driven joint then, or a fault is noted.
pub(super) fn change(
    job: &Job<'_>,
    section: Option<&str>,
    element: Element<'_>,
    changes: &mut Changes,
) -> bool {
    if !job.motor_moves() || job.motor.name.is_empty() || element.name() != "joint" {
        return false;
    }
    match section {
        Some("tendon") => in_tendon(job, element, changes),
        Some("equality") => in_equality(job, element, changes),
        _ => false,
    }
}

fn speaks(job: &Job<'_>, element: Element<'_>, key: &str) -> bool {
    element.value(key).is_some_and(|name| name == job.motor.name.as_str())
}

fn in_tendon(job: &Job<'_>, element: Element<'_>, changes: &mut Changes) -> bool {
    if !speaks(job, element, "joint") {
        return false;
    }
    let tendon = element.parent();
    let has_both = tendon.is_some_and(|tendon| {
        let mut joints = tendon.children_named("joint");
        joints
            .any(|other| other.value("joint").is_some_and(|name| name == job.driven.name.as_str()))
    });
    if has_both || job.figures.shift.abs() > 0.0 {
        let message = format!(
            "the tendon's length counts {:?}, whose zero the driven joint does not have, or both joints",
            job.motor.name
        );
        let help = "put an actuator on the motor's joint itself in the tendon's place, then fold";
        changes.faults.push(FoldFault::at(element, message, help));
        return true;
    }
    let known = element.value("coef").and_then(|coef| coef.trim().parse::<f64>().ok());
    let known = known.unwrap_or(1.0);
    changes.edits.set(element, "joint", &job.driven.name);
    let new = known * job.figures.slope;
    if !is_same(Some(known), new) {
        changes.edits.set(element, "coef", &text(new));
    }
    note(job, element, changes);
    true
}

fn note(job: &Job<'_>, element: Element<'_>, changes: &mut Changes) {
    changes.notes.push(format!(
        "line {}: <{}> ties joint {:?} now, as it tied {:?}",
        job.line(element),
        element.name(),
        job.driven.name,
        job.motor.name
    ));
}

fn in_equality(job: &Job<'_>, element: Element<'_>, changes: &mut Changes) -> bool {
    let ends = ["joint1", "joint2"].map(|key| speaks(job, element, key));
    let coupling = job.robot.couplings.iter();
    let coupling = coupling
        .into_iter()
        .find(|c| c.place.document == 0 && c.place.element == element.id() && ends.contains(&true));
    let Some(coupling) = coupling else { return false };
    let slope = job.figures.slope;
    let [follows, leads] = ends;
    let mut power = 1.0;
    let mut new = coupling.polynomial;
    for a in &mut new {
        *a *= power;
        if leads {
            power *= slope;
        }
        if follows {
            *a /= slope;
        }
    }
    for (key, speaks) in [("joint1", follows), ("joint2", leads)] {
        if speaks {
            changes.edits.set(element, key, &job.driven.name);
        }
    }
    let is_kept = new.iter().zip(coupling.polynomial).all(|(new, old)| is_same(Some(old), *new));
    if !is_kept {
        changes.edits.set(element, "polycoef", &list(&new));
    }
    note(job, element, changes);
    true
}

/// Ties the first joint to a polynomial of the second, both from their drawn readings, in the equality section, which is
/// made where there is none.
pub(super) fn couple(
    job: &Job<'_>,
    [follower, leader]: [&str; 2],
    polynomial: &[f64],
    changes: &mut Changes,
) {
    let line = format!(
        "<joint joint1=\"{}\" joint2=\"{}\" polycoef=\"{}\" solref=\"{} 1\" solimp=\"0.999 0.9999 0.001 0.5 2\"/>",
        escaped(follower),
        escaped(leader),
        list(polynomial),
        text(2.0 * step(job))
    );
    let root = job.document.root();
    match root.child("equality") {
        Some(section) => changes.edits.append(section, &line),
        None => changes.edits.append(root, &format!("<equality>\n  {line}\n</equality>")),
    }
}

/// The file's time step, s.
pub(super) fn step(job: &Job<'_>) -> f64 {
    let step = job.setting("option", "timestep").and_then(|step| step.trim().parse::<f64>().ok());
    // The engine's own where the file gives none.
    step.filter(|step| step.is_finite() && *step > 0.0).unwrap_or(0.002)
}
