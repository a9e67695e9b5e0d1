//! The fold of a URDF file.

use crate::handover::Form;
use std::ops::Range;

use super::gone::GoneBytes;
use super::mentions::{Names, follow_or_refuse, survivors};
use super::numbers::{is_same, text};
use super::said::Said;
use super::{Changes, FoldFault, Job, borne, coupled, inertial, visuals};
use crate::robot::{Element, Place};

/// Edits of the whole file.
pub(super) fn change(job: &Job<'_>, changes: &mut Changes) {
    let root = job.cut.document.root();
    let gone = job.cut.take_out(changes);
    job.cut.write_bodies(inertial::urdf, changes);
    match job.cut.options.model {
        Form::Coupled => coupled::by_mimic(job, changes),
        Form::Direct if job.cut.options.keep_visuals => visuals::urdf(job, changes),
        Form::Direct | Form::Loop => {}
    }
    references(job, root, &gone, changes);
}

fn references(job: &Job<'_>, root: Element<'_>, gone: &GoneBytes, changes: &mut Changes) {
    let names = Names::of(job);
    let mut skipped: Option<Range<usize>> = None;
    for element in survivors(root, gone) {
        if skipped.as_ref().is_some_and(|range| range.contains(&element.range().start)) {
            continue;
        }
        let is_followed = match element.name() {
            "gazebo" => simulator_block(job, &names, element, changes),
            "transmission" => transmission(job, element, changes),
            "mimic" => moved_mimic(job, element, changes),
            "joint" | "link" => element.parent().is_some_and(|p| p.id() == root.id()),
            _ => false,
        };
        match element.name() {
            // What stands in a link speaks of no other: shapes, masses, names of files.
            "gazebo" | "transmission" | "link" if is_followed => skipped = Some(element.range()),
            _ if is_followed => {}
            _ => follow_or_refuse(job, &names, element, changes),
        }
    }
}

/// What a simulator's block says of a bar's own looks and contact.
const LOOKS: [&str; 17] = [
    "material",
    "mu1",
    "mu2",
    "kp",
    "kd",
    "fdir1",
    "minDepth",
    "maxVel",
    "maxContacts",
    "selfCollide",
    "dampingFactor",
    "laserRetro",
    "stopCfm",
    "stopErp",
    "visual",
    "preserveFixedJoint",
    "disableFixedJointLumping",
];

/// A block for a link or joint that goes, goes too.
fn simulator_block(
    job: &Job<'_>,
    names: &Names<'_>,
    element: Element<'_>,
    changes: &mut Changes,
) -> bool {
    let Some(reference) = element.value("reference") else { return false };
    let goes = names.gone.contains(reference.as_ref()) || names.motor == Some(reference.as_ref());
    let stranger = element.children().find(|child| {
        let is_off = child.name() == "turnGravityOff" && child.text().trim() == "false";
        !LOOKS.contains(&child.name()) && !is_off
    });
    if let Some(child) = stranger.filter(|_| goes) {
        let what = format!("<{}> of the block for {reference:?}", child.name());
        let hangs = format!("{what} hangs on a part that goes with the linkage");
        let place = Place { document: 0, element: child.id() };
        borne::lose(&job.cut, place, &what, (hangs, "move it to a part that stays"), changes);
    }
    if goes {
        changes.edits.remove(element);
        changes.notes.push(format!("the <gazebo> block for {reference:?} is taken out"));
    }
    goes
}

/// The transmission of the motor's joint drives the driven joint, its reduction grown by the ratio.
fn transmission(job: &Job<'_>, element: Element<'_>, changes: &mut Changes) -> bool {
    if !job.motor_moves() {
        return false;
    }
    let joints: Vec<Element<'_>> = element.children_named("joint").collect();
    let is_named = |joint: &Element<'_>, name: &str| joint.value("name").is_some_and(|n| n == name);
    let Some(joint) = joints.iter().find(|joint| is_named(joint, &job.motor.name)) else {
        return false;
    };
    if joints.len() > 1 || has_transmission(job) {
        let message = "the motor's transmission cannot move: it has several joints, or the driven joint has one already";
        changes.faults.push(FoldFault::at(element, message, "take one of the two out, then fold"));
        return true;
    }
    changes.edits.set(*joint, "name", &job.driven.name);
    let reductions = element.descendants().filter(|e| e.name() == "mechanicalReduction");
    let mut count = 0;
    for reduction in reductions {
        count += 1;
        let known = reduction.text().trim().parse::<f64>().unwrap_or(1.0);
        let new = known * job.figures.slope;
        if !is_same(Some(known), new) {
            changes.edits.set_text(reduction, &text(new));
        }
    }
    if count == 0 && !is_same(Some(1.0), job.figures.slope) {
        let line =
            format!("<mechanicalReduction>{}</mechanicalReduction>", text(job.figures.slope));
        if let Some(actuator) = element.child("actuator") {
            changes.edits.append(actuator, &line);
        }
    }
    true
}

fn has_transmission(job: &Job<'_>) -> bool {
    let driven = job.four_bar.joint();
    job.robot.actuators.iter().any(|actuator| Some(actuator.joint) == driven)
}

/// A joint that follows the motor's follows the driven joint.
fn moved_mimic(job: &Job<'_>, element: Element<'_>, changes: &mut Changes) -> bool {
    if job.is_jaw() {
        return false;
    }
    let is_driven = element.parent().is_some_and(|p| p.id() == job.driven.place.element);
    if is_driven && job.leader().is_some() {
        // It follows the motor's leader now.
        return true;
    }
    if is_driven {
        changes.edits.remove(element);
        changes.notes.push(format!("joint {:?} follows no other any more", job.driven.name));
        return true;
    }
    let follows_motor = element.value("joint").is_some_and(|name| name == job.motor.name);
    if !(job.motor_moves() && follows_motor) {
        return false;
    }
    let figure = |key: &str, default: f64| Said::Attribute.known(element, key).unwrap_or(default);
    let (multiplier, offset) = (figure("multiplier", 1.0), figure("offset", 0.0));
    changes.edits.set(element, "joint", &job.driven.name);
    let new = job.figures.in_joint([multiplier, offset]);
    for (key, known, new) in [("multiplier", multiplier, new[0]), ("offset", offset, new[1])] {
        if !is_same(Some(known), new) {
            changes.edits.set(element, key, &text(new));
        }
    }
    true
}

/// Limits, effort, speed and losses of the driven joint.
pub(super) fn driven_joint(job: &Job<'_>, element: Element<'_>, changes: &mut Changes) {
    let is_endless = element.value("type").is_some_and(|kind| kind == "continuous");
    if is_endless && job.new_limit().is_some() {
        changes.edits.set(element, "type", "revolute");
    }
    Said::Attribute.change(element, "limit", &job.limits(), &mut changes.edits);
    Said::Attribute.change(element, "dynamics", &job.losses(), &mut changes.edits);
    job.follow_leader(changes);
    job.remark_armature(element, changes);
}
