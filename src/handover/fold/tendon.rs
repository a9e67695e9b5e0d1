//! The coupled form of a linear actuator: a tendon from pin to pin, exact at every pose, in place of housing, nut and pin.
//!
//! The tendon is as long as the actuator, which the slide's reading counts up or down: motor reading = slope · length + shift, with
//! slope 1 or −1. What the slide had of its own, armature, damping, friction and largest force, the tendon has as it was.

use nalgebra::Point3;

use super::numbers::{list, text};
use super::seen::Seen;
use super::{Changes, FoldFault, Job};
use crate::drive::{Drawing, LinearActuator};
use crate::handover::Form;
use crate::handover::engine::EngineVersion;
use crate::handover::find::LoopDrive;
use crate::handover::stand_in::in_file::{FileDrive, Motion};
use crate::robot::{Element, LinkId, escaped};

/// The tendon of one fold.
#[derive(Clone, Copy, Debug)]
pub(super) struct PinTendon {
    /// The slide's reading along the tendon's length: slope and shift.
    line: [f64; 2],
}

/// The points of a linear actuator without a line beside its pin, which alone a tendon holds.
pub(super) fn points(found: &LoopDrive) -> Option<&LinearActuator> {
    match &found.drawing {
        Drawing::ActuatorPoints { points, .. } if points.line_offset == 0.0 => Some(points),
        _ => None,
    }
}

impl PinTendon {
    /// `None` where a tendon is not what is asked for.
    pub(super) fn of(drive: &FileDrive<'_>) -> Option<Self> {
        let Motion::Space(found, _) = drive.motion else { return None };
        let points = points(found).filter(|_| drive.form == Form::Coupled)?;
        // The actuator lengthens by lead per motor turn, the slide's reading grows by 1 / `motor_per_reading`.
        let slope = (points.lead * found.motor_per_reading).signum();
        let length = (points.rocker - points.motor).length();
        Some(Self { line: [slope, found.drawn_at[0] - slope * length] })
    }

    /// What the actuator sees in place of the slide.
    pub(super) fn seen(self) -> Seen {
        Seen { line: self.line, share: 1.0, armature_share: 1.0 }
    }
}

pub(super) fn name(job: &Job<'_>) -> String {
    format!("{}_actuator", job.driven.name)
}

/// Sites on carrier and child, and the tendon between them.
pub(super) fn mjcf(job: &Job<'_>, changes: &mut Changes) {
    if let Some(fault) = refused(job) {
        return changes.faults.push(fault);
    }
    let [a, _, q, _] = &job.four_bar.pins;
    let ends = [("motor_pin", a.links[0], a.points[0]), ("rocker_pin", q.links[1], q.points[1])];
    let names = ends.map(|(part, ..)| format!("{}_{part}", job.driven.name));
    for ((_, link, at), name) in ends.into_iter().zip(&names) {
        site(job, (link, at), name, changes);
    }
    let path = names.map(|name| format!("  <site site=\"{}\"/>\n", escaped(&name)));
    let spatial = format!("<spatial{}>\n{}</spatial>", properties(job), path.concat());
    let root = job.document.root();
    match root.child("tendon") {
        Some(section) => changes.edits.append(section, &spatial),
        None => {
            let lines = spatial.replace('\n', "\n  ");
            changes.edits.append(root, &format!("<tendon>\n  {lines}\n</tendon>"));
        }
    }
    changes.notes.push(format!(
        "tendon {:?} runs from pin to pin and is as long as the actuator: motor reading, ratio and torque are exact at every pose",
        name(job)
    ));
    if job.motor.armature.is_some_and(|x| x > 0.0) {
        changes.notes.push(format!(
            "an armature on a tendon needs the engine's version {} or later",
            EngineVersion::TENDON_ARMATURE
        ));
    }
}

/// Only what the slide has: a tendon is without any of it by itself.
fn properties(job: &Job<'_>) -> String {
    let of = |key: &str, figure: Option<f64>| {
        let figure = figure.filter(|x| x.abs() > 0.0);
        figure.map_or(String::new(), |x| format!(" {key}=\"{}\"", text(x)))
    };
    let motor = job.motor;
    let effort = motor.effort.map_or(String::new(), |most| {
        format!(" actuatorfrclimited=\"true\" actuatorfrcrange=\"{}\"", list(&[-most, most]))
    });
    format!(
        " name=\"{}\"{}{}{}{effort}",
        escaped(&name(job)),
        of("armature", motor.armature),
        of("damping", motor.damping),
        of("frictionloss", motor.friction),
    )
}

fn site(job: &Job<'_>, (link, at): (LinkId, Point3<f64>), name: &str, changes: &mut Changes) {
    let Some(link) = job.robot.links.get(link) else { return };
    let own = link.pose.inverse_transform_point(&at);
    let Some(body) = job.robot.element(link.place) else { return };
    let own: Vec<f64> = own.iter().map(|x| if x.abs() < 1e-14 { 0.0 } else { *x }).collect();
    let line = format!("<site name=\"{}\" pos=\"{}\"/>", escaped(name), list(&own));
    changes.edits.append(body, &line);
}

/// Names that are taken, and defaults of the file that would change what is made.
fn refused(job: &Job<'_>) -> Option<FoldFault> {
    let root = job.document.root();
    let made =
        ["actuator", "motor_pin", "rocker_pin"].map(|part| format!("{}_{part}", job.driven.name));
    let takes = |element: &Element<'_>| {
        matches!(element.name(), "site" | "spatial" | "fixed")
            && element.value("name").is_some_and(|name| made.iter().any(|made| *made == name))
    };
    if let Some(element) = root.descendants().find(takes) {
        let message = "a name that the tendon or its ends would get is taken";
        return Some(FoldFault::at(element, message, "rename this element, then fold"));
    }
    let defaults = root.children_named("default").flat_map(Element::children);
    let tendon = defaults.into_iter().find(|element| element.name() == "tendon")?;
    let message = "defaults for every tendon would change the one that is made";
    Some(FoldFault::at(tendon, message, "put them into a class of their own, then fold"))
}
