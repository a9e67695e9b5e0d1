//! Crank and rod kept to be seen: without mass and contact, moved along with the driven joint.
//!
//! Their joints follow the driven joint along straight lines: the crank as the direct joint says, the rod by the mean
//! slope of its own angle over the stroke. In a parallelogram that is exact.

use super::{Changes, FoldFault, Job, inertial, mimic, mjcf_ties};
use crate::handover::stand_in::in_file::bodies::featherweight;
use crate::handover::stand_in::in_file::spring::{RodLine, rod_line};
use crate::robot::{Element, FileJoint, LinkId};

fn kept_rod(job: &Job<'_>) -> Option<RodLine> {
    rod_line(job, |joint| job.cut.gone.joints.contains(&joint))
}

/// Links of crank and coupler.
fn seen(job: &Job<'_>) -> Vec<LinkId> {
    let [_, crank, coupler, _] = job.four_bar.bodies();
    job.bodies.links(crank).chain(job.bodies.links(coupler)).collect()
}

fn elements<'a>(job: &Job<'a>) -> Vec<Element<'a>> {
    let links = seen(job).into_iter().filter_map(|id| job.robot.links.get(id));
    links.filter_map(|link| job.robot.element(link.place)).collect()
}

fn no_rod_line(job: &Job<'_>) -> FoldFault {
    let help = "leave --keep-visuals out";
    let message = "the rod hangs on a ball: nothing can move it along";
    FoldFault::at_place(job.robot, job.four_bar.pins[1].place, message, help)
}

/// Both joints follow by `mimic`.
pub(super) fn urdf(job: &Job<'_>, changes: &mut Changes) {
    let Some(rod) = kept_rod(job) else { return changes.faults.push(no_rod_line(job)) };
    for link in elements(job) {
        link.children()
            .filter(|c| matches!(c.name(), "inertial" | "collision"))
            .for_each(|c| changes.edits.remove(c));
    }
    for (joint, line) in followers(job, &rod) {
        mimic::follow(job, joint, &job.driven.name, line, changes);
    }
    for dynamics in kept_joints(job, &rod).filter_map(|joint| joint.child("dynamics")) {
        for key in ["damping", "friction"] {
            if dynamics.value(key).is_some() {
                changes.edits.set(dynamics, key, "0");
            }
        }
    }
}

/// Crank's and rod's joint, each with slope and shift of its reading.
fn followers<'a>(job: &Job<'a>, rod: &RodLine) -> Vec<(&'a FileJoint, [f64; 2])> {
    let rod = job.robot.joints.get(rod.joint).map(|joint| (joint, [rod.slope, rod.shift]));
    [Some((job.motor, job.figures.line())), rod].into_iter().flatten().collect()
}

/// Their elements: what the driven joint bears now must not count twice.
fn kept_joints<'a>(job: &Job<'a>, rod: &RodLine) -> impl Iterator<Item = Element<'a>> {
    let joints = followers(job, rod).into_iter();
    joints.filter_map(|(joint, _)| job.robot.element(joint.place))
}

/// Both joints follow by `mimic`, which the format knows from 1.11 on.
pub(super) fn sdformat(job: &Job<'_>, changes: &mut Changes) {
    let Some(rod) = kept_rod(job) else { return changes.faults.push(no_rod_line(job)) };
    for link in elements(job) {
        link.children().filter(|c| c.name() == "collision").for_each(|c| changes.edits.remove(c));
        inertial::sdformat(link, &featherweight(), changes);
    }
    for (joint, line) in followers(job, &rod) {
        mimic::follow(job, joint, &job.driven.name, line, changes);
    }
    let axes = kept_joints(job, &rod).filter_map(|joint| joint.child("axis"));
    for dynamics in axes.filter_map(|axis| axis.child("dynamics")) {
        for key in ["damping", "friction", "spring_stiffness"] {
            dynamics.child(key).into_iter().for_each(|loss| changes.edits.set_text(loss, "0"));
        }
    }
}

/// Both joints follow by an equality each; the bodies get next to no mass, which the engine needs.
pub(super) fn mjcf(job: &Job<'_>, changes: &mut Changes) {
    let Some(rod) = kept_rod(job) else { return changes.faults.push(no_rod_line(job)) };
    for body in elements(job) {
        inertial::mjcf(body, &featherweight(), changes);
        for geom in body.children_named("geom") {
            changes.edits.set(geom, "contype", "0");
            changes.edits.set(geom, "conaffinity", "0");
        }
    }
    for (joint, [slope, shift]) in followers(job, &rod) {
        if joint.name.is_empty() || job.driven.name.is_empty() {
            let help = "give the joints names, then fold";
            changes.faults.push(FoldFault::at_place(
                job.robot,
                joint.place,
                "a joint that follows another needs a name",
                help,
            ));
            return;
        }
        strip_joint(job, joint, changes);
        // The engine's polynomial counts from both joints' drawn readings.
        let drawn = shift + slope * job.driven.drawn_at - joint.drawn_at;
        let polynomial = [drawn, slope, 0.0, 0.0, 0.0];
        mjcf_ties::couple(&job.cut, [&joint.name, &job.driven.name], &polynomial, changes);
    }
    changes.notes.push("crank and rod stay to be seen, 1 mg each; their couplings cost the engine time: leave --keep-visuals out for training".to_owned());
}

/// What the driven joint bears now must not count twice, and limits must not fight the coupling.
pub(super) fn strip_joint(job: &Job<'_>, joint: &FileJoint, changes: &mut Changes) {
    let Some(element) = job.robot.element(joint.place) else { return };
    for (key, known) in
        [("damping", joint.damping), ("frictionloss", joint.friction), ("armature", joint.armature)]
    {
        if known.is_some_and(|x| x.abs() > 0.0) {
            changes.edits.set(element, key, "0");
        }
    }
    if joint.stiffness.is_some() {
        changes.edits.set(element, "stiffness", "0");
    }
    if joint.limit.is_some() {
        changes.edits.unset(element, "range");
        changes.edits.set(element, "limited", "false");
    }
    if joint.effort.is_some() {
        changes.edits.unset(element, "actuatorfrcrange");
        changes.edits.set(element, "actuatorfrclimited", "false");
    }
}
