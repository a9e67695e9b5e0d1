//! A joint that follows another along a straight line, by `mimic`.

use super::numbers::text;
use super::said::Said;
use super::{Changes, FoldFault, Job};
use crate::robot::{FileJoint, Format, escaped};

/// Has a joint follow another, in a format that knows no other coupling.
pub(super) fn follow(
    job: &Job<'_>,
    joint: &FileJoint,
    leader: &str,
    line: [f64; 2],
    changes: &mut Changes,
) {
    match job.robot.format {
        Format::Sdformat => sdformat(job, joint, leader, line, changes),
        Format::Urdf | Format::Mjcf => urdf(job, joint, leader, line, changes),
    }
}

/// Puts a `mimic` on a URDF joint, or changes the one that is there.
fn urdf(
    job: &Job<'_>,
    joint: &FileJoint,
    leader: &str,
    [slope, shift]: [f64; 2],
    changes: &mut Changes,
) {
    let Some(element) = job.robot.element(joint.place) else { return };
    let figures =
        [("joint", leader.to_owned()), ("multiplier", text(slope)), ("offset", text(shift))];
    if let Some(known) = element.child("mimic") {
        for (key, value) in figures {
            changes.edits.set(known, key, &value);
        }
        return;
    }
    changes.edits.append(element, &Said::Attribute.element("mimic", &figures));
}

/// Puts a `mimic` on an SDFormat joint's axis, in the place of the one that is there.
fn sdformat(
    job: &Job<'_>,
    joint: &FileJoint,
    leader: &str,
    [slope, shift]: [f64; 2],
    changes: &mut Changes,
) {
    let axis = job.robot.element(joint.place).and_then(|element| element.child("axis"));
    let Some(axis) = axis else { return };
    let version = job.cut.document.root().value("version");
    let minor =
        version.as_deref().and_then(|v| v.split_once('.')).and_then(|(_, m)| m.parse::<u32>().ok());
    if minor.is_none_or(|minor| minor < 11) {
        changes.faults.push(FoldFault::at(
            job.cut.document.root(),
            "joints that follow others are known from SDFormat 1.11 on",
            "raise the version in the file's first line where your engine allows it, then fold",
        ));
        return;
    }
    if let Some(known) = axis.child("mimic") {
        changes.edits.remove(known);
    }
    let name = leader.rsplit("::").next().unwrap_or(leader);
    changes.edits.append(
        axis,
        &format!(
            "<mimic joint=\"{}\">\n  <multiplier>{}</multiplier>\n  <offset>{}</offset>\n  <reference>0</reference>\n</mimic>",
            escaped(name),
            text(slope),
            text(shift)
        ),
    );
}
