//! The fold of an SDFormat file.

use crate::handover::Form;
use std::ops::Range;

use super::gone::GoneBytes;
use super::mentions::{Names, follow_or_refuse, follow_or_refuse_meant, last, survivors};
use super::numbers::{is_same, text};
use super::said::Said;
use super::{Changes, Job, coupled, inertial, visuals};
use crate::robot::Element;

/// Edits of the whole file.
pub(super) fn change(job: &Job<'_>, changes: &mut Changes) {
    let root = job.cut.document.root();
    let gone = job.cut.take_out(changes);
    job.cut.write_bodies(inertial::sdformat, changes);
    match job.cut.options.model {
        Form::Coupled => coupled::by_mimic(job, changes),
        Form::Direct if job.cut.options.keep_visuals => visuals::sdformat(job, changes),
        Form::Direct | Form::Loop => {}
    }
    references(job, root, &gone, changes);
}

/// Names in nested models are written with the models' names in front, or without.
fn references(job: &Job<'_>, root: Element<'_>, gone: &GoneBytes, changes: &mut Changes) {
    let names = short(Names::of(job));
    let places = names.without_motor();
    let mut skipped: Option<Range<usize>> = None;
    for element in survivors(root, gone) {
        if skipped.as_ref().is_some_and(|range| range.contains(&element.range().start)) {
            continue;
        }
        // Shapes and masses speak of no link or joint, but of files.
        if matches!(element.name(), "visual" | "collision" | "inertial") {
            skipped = Some(element.range());
            continue;
        }
        let is_definition = matches!(element.name(), "link" | "joint" | "model" | "sensor")
            && element.value("name").is_some();
        let is_tie = element.name() == "mimic";
        let is_driven = is_tie
            && element
                .parent()
                .and_then(Element::parent)
                .is_some_and(|joint| joint.id() == job.driven.place.element);
        if is_driven && job.motor_moves() {
            if job.leader().is_none() {
                changes.edits.remove(element);
                changes
                    .notes
                    .push(format!("joint {:?} follows no other any more", job.driven.name));
            }
        } else if is_tie || stands_somewhere(element) {
            let prefix = prefix(job, element);
            let means = |said: &str, name: &str| {
                let rest = prefix.as_deref().and_then(|prefix| said.trim().strip_prefix(prefix));
                rest == Some(name)
            };
            let leads = element.value("joint").zip(names.motor);
            match leads.filter(|(said, motor)| is_tie && means(said, motor)) {
                Some(_) => {
                    moved_mimic(job, element, prefix.as_deref().unwrap_or_default(), changes)
                }
                None => follow_or_refuse_meant((job, &places), element, means, changes),
            }
        } else if !is_definition {
            follow_or_refuse(job, &names, element, changes);
        }
    }
}

/// Whether a joint that it names is a place or a direction: the driven joint is another.
fn stands_somewhere(element: Element<'_>) -> bool {
    matches!(element.name(), "pose" | "frame" | "xyz" | "parent" | "child" | "model")
}

/// What goes in front of the names of the folded loop's model where the element speaks of it; `None` in a model that the
/// loop is not in, whose names are its own.
fn prefix(job: &Job<'_>, element: Element<'_>) -> Option<String> {
    let models = |of| {
        let around = std::iter::successors(Some(of), |at: &Element<'_>| at.parent());
        around.filter(|at| at.name() == "model")
    };
    let scope = models(element).next().map(Element::id);
    let driven = job.robot.element(job.driven.place)?;
    let inside = models(driven).take_while(|model| Some(model.id()) != scope);
    let names: Vec<_> = inside.filter_map(|model| model.value("name")).collect();
    let is_around = scope.is_none() || models(driven).any(|model| Some(model.id()) == scope);
    is_around.then(|| names.iter().rev().map(|name| format!("{name}::")).collect())
}

/// The last part of each name, which is how siblings speak of one another.
fn short(names: Names<'_>) -> Names<'_> {
    Names { gone: names.gone.into_iter().map(last).collect(), motor: names.motor.map(last) }
}

/// A joint that follows the motor's follows the driven joint: multiplier · (leader − reference) + offset.
fn moved_mimic(job: &Job<'_>, element: Element<'_>, prefix: &str, changes: &mut Changes) {
    let figure = |key: &str, default: f64| Said::Child.known(element, key).unwrap_or(default);
    let (multiplier, reference) = (figure("multiplier", 1.0), figure("reference", 0.0));
    changes.edits.set(element, "joint", &format!("{prefix}{}", last(&job.driven.name)));
    for (key, known, new) in [
        ("multiplier", multiplier, job.figures.in_joint([multiplier, 0.0])[0]),
        ("reference", reference, job.figures.joint_along([0.0, reference])[1]),
    ] {
        if !is_same(Some(known), new) {
            Said::Child.set(element, key, &text(new), &mut changes.edits);
        }
    }
}

/// Limits, effort, speed and losses of the driven joint.
pub(super) fn driven_joint(job: &Job<'_>, element: Element<'_>, changes: &mut Changes) {
    let Some(axis) = element.child("axis") else { return };
    Said::Child.change(axis, "limit", &job.limits(), &mut changes.edits);
    let mut dynamics = job.losses();
    if let Some([rests_at, stiffness]) = changes.spring {
        dynamics.extend([("spring_reference", rests_at), ("spring_stiffness", stiffness)]);
    }
    Said::Child.change(axis, "dynamics", &dynamics, &mut changes.edits);
    job.follow_leader(changes);
    job.remark_armature(element, changes);
}
