//! Ties of joints: those of the motor's joint, moved to the driven joint (fixed tendons and joint equalities), and new ones.
//!
//! Motor turn = slope · joint turn, so that a tendon's coefficient grows by the slope; in a polynomial y = Σ aₖ xᵏ of
//! turns from the drawn pose a leader's slope goes into each power, a follower's divides all.

use super::cut::{Cut, MovedMotor};
use super::numbers::{is_same, list, text};
use super::{Changes, FoldFault};
use crate::robot::{Element, FileJoint, escaped};

/// Whether the element is a tie of the motor's joint; it speaks of the driven joint then, or a fault is noted.
pub(super) fn change(
    cut: &Cut<'_>,
    section: Option<&str>,
    element: Element<'_>,
    changes: &mut Changes,
) -> bool {
    let is_joint = element.name() == "joint";
    cut.on_joints().filter(|_| is_joint).any(|(motor, driven)| match section {
        Some("tendon") => in_tendon(cut, (motor, driven), element, changes),
        Some("equality") => in_equality(cut, (motor, driven), element, changes),
        _ => false,
    })
}

/// A motor and the joint that takes its part.
type Taken<'a> = (&'a MovedMotor<'a>, &'a FileJoint);

fn speaks(motor: &MovedMotor<'_>, element: Element<'_>, key: &str) -> bool {
    element.value(key).is_some_and(|name| name == motor.joint.name.as_str())
}

fn in_tendon(
    cut: &Cut<'_>,
    (motor, driven): Taken<'_>,
    element: Element<'_>,
    changes: &mut Changes,
) -> bool {
    if !speaks(motor, element, "joint") {
        return false;
    }
    let [slope, shift] = motor.seen.line;
    let tendon = element.parent();
    let has_both = tendon.is_some_and(|tendon| {
        let mut joints = tendon.children_named("joint");
        joints.any(|other| other.value("joint").is_some_and(|name| name == driven.name.as_str()))
    });
    if has_both || shift.abs() > 0.0 {
        let message = format!(
            "the tendon's length counts {:?}, whose zero the driven joint does not have, or both joints",
            motor.joint.name
        );
        let help = "put an actuator on the motor's joint itself in the tendon's place, then fold";
        changes.faults.push(FoldFault::at(element, message, help));
        return true;
    }
    let known = element.value("coef").and_then(|coef| coef.trim().parse::<f64>().ok());
    let known = known.unwrap_or(1.0);
    changes.edits.set(element, "joint", &driven.name);
    let new = known * slope;
    if !is_same(Some(known), new) {
        changes.edits.set(element, "coef", &text(new));
    }
    note(cut, (motor, driven), element, changes);
    true
}

fn note(cut: &Cut<'_>, (motor, driven): Taken<'_>, element: Element<'_>, changes: &mut Changes) {
    changes.notes.push(format!(
        "line {}: <{}> ties joint {:?} now, as it tied {:?}",
        cut.line(element),
        element.name(),
        driven.name,
        motor.joint.name
    ));
}

fn in_equality(
    cut: &Cut<'_>,
    (motor, driven): Taken<'_>,
    element: Element<'_>,
    changes: &mut Changes,
) -> bool {
    let ends = ["joint1", "joint2"].map(|key| speaks(motor, element, key));
    let coupling = cut.robot.couplings.iter();
    let coupling = coupling
        .into_iter()
        .find(|c| c.place.document == 0 && c.place.element == element.id() && ends.contains(&true));
    let Some(coupling) = coupling else { return false };
    let [slope, _] = motor.seen.line;
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
            changes.edits.set(element, key, &driven.name);
        }
    }
    let is_kept = new.iter().zip(coupling.polynomial).all(|(new, old)| is_same(Some(old), *new));
    if !is_kept {
        changes.edits.set(element, "polycoef", &list(&new));
    }
    note(cut, (motor, driven), element, changes);
    true
}

/// Ties the first joint to a polynomial of the second, both from their drawn readings, in the equality section, which is
/// made where there is none.
pub(super) fn couple(
    cut: &Cut<'_>,
    [follower, leader]: [&str; 2],
    polynomial: &[f64],
    changes: &mut Changes,
) {
    let line = format!(
        "<joint joint1=\"{}\" joint2=\"{}\" polycoef=\"{}\" solref=\"{} 1\" solimp=\"0.999 0.9999 0.001 0.5 2\"/>",
        escaped(follower),
        escaped(leader),
        list(polynomial),
        text(2.0 * step(cut))
    );
    let root = cut.document.root();
    match root.child("equality") {
        Some(section) => changes.edits.append(section, &line),
        None => changes.edits.append(root, &format!("<equality>\n  {line}\n</equality>")),
    }
}

/// The file's time step, s.
pub(super) fn step(cut: &Cut<'_>) -> f64 {
    let step = cut.setting("option", "timestep").and_then(|step| step.trim().parse::<f64>().ok());
    // The engine's own where the file gives none.
    step.filter(|step| step.is_finite() && *step > 0.0).unwrap_or(0.002)
}
