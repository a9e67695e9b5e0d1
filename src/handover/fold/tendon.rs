//! The coupled form of a linear actuator: a tendon from pin to pin, exact at every pose, in place of housing, nut and pin.
//!
//! The tendon is as long as the actuator, which the slide's reading counts up or down: motor reading = slope · length + shift, with
//! slope 1 or −1. What the slide had of its own, armature, damping, friction and largest force, the tendon has as it was.

use nalgebra::Point3;

use super::cut::Cut;
use super::numbers::{list, text};
use super::seen::Seen;
use super::{Changes, FoldFault, Job};
use crate::drive::{Drawing, LinearActuator};
use crate::handover::Form;
use crate::handover::engine::EngineVersion;
use crate::handover::find::LoopDrive;
use crate::handover::stand_in::in_file::{FileDrive, Motion};
use crate::robot::{Element, FileActuator, FileJoint, JointProperties, LinkId, escaped};

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

pub(super) fn name(driven: &FileJoint) -> String {
    format!("{}_actuator", driven.name)
}

/// Sites on carrier and child, and the tendon between them.
pub(super) fn mjcf(job: &Job<'_>, changes: &mut Changes) {
    let own = name(job.driven);
    let names = ["motor_pin", "rocker_pin"].map(|part| format!("{}_{part}", job.driven.name));
    let made = [own.as_str(), &names[0], &names[1]];
    if let Some(fault) = refused(&job.cut, &made) {
        return changes.faults.push(fault);
    }
    let [a, _, q, _] = &job.four_bar.pins;
    let ends = [(a.links[0], a.points[0]), (q.links[1], q.points[1])];
    for (end, name) in ends.into_iter().zip(&names) {
        site(&job.cut, end, name, changes);
    }
    let motor = match Properties::of(&job.cut, &own, job.motor) {
        Ok(motor) => motor,
        Err(fault) => return changes.faults.push(fault),
    };
    spatial(&job.cut, &motor, &names, changes);
    changes.notes.push(format!(
        "tendon {own:?} runs from pin to pin and is as long as the actuator: motor reading, ratio and torque are exact at every pose"
    ));
    if job.motor.armature.is_some_and(|x| x > 0.0) {
        changes.notes.push(version_note());
    }
}

/// Which engines have what stands on it.
pub(super) fn version_note() -> String {
    format!(
        "an armature on a tendon needs the engine's version {} or later",
        EngineVersion::TENDON_ARMATURE
    )
}

/// A tendon between two sites.
pub(super) fn spatial(
    cut: &Cut<'_>,
    own: &Properties<'_>,
    ends: &[String; 2],
    changes: &mut Changes,
) {
    let path = ends.each_ref().map(|name| format!("  <site site=\"{}\"/>\n", escaped(name)));
    put(cut, &format!("<spatial{}>\n{}</spatial>", own.text(), path.concat()), changes);
}

/// A tendon whose length is a sum of readings, each times its figure.
pub(super) fn fixed(
    cut: &Cut<'_>,
    own: &Properties<'_>,
    joints: &[(String, f64)],
    changes: &mut Changes,
) {
    let share = |(joint, share): &(String, f64)| {
        format!("  <joint joint=\"{}\" coef=\"{}\"/>\n", escaped(joint), text(*share))
    };
    let joints: String = joints.iter().map(share).collect();
    put(cut, &format!("<fixed{}>\n{joints}</fixed>", own.text()), changes);
}

/// Into the file's section of tendons, which is made where there is none.
fn put(cut: &Cut<'_>, tendon: &str, changes: &mut Changes) {
    let root = cut.document.root();
    match root.child("tendon") {
        Some(section) => changes.edits.append(section, tendon),
        None => changes.tendons.push(tendon.to_owned()),
    }
}

/// Makes the section where the file has none.
pub(super) fn section(cut: &Cut<'_>, changes: &mut Changes) {
    if changes.tendons.is_empty() {
        return;
    }
    let lines = std::mem::take(&mut changes.tendons).join("\n").replace('\n', "\n  ");
    changes.edits.append(cut.document.root(), &format!("<tendon>\n  {lines}\n</tendon>"));
}

/// What bounds the torque of a motor's joint as its actuators have it, before their gear; nothing where there are none.
fn before_gear(
    cut: &Cut<'_>,
    joint: &FileJoint,
    ends: [f64; 2],
) -> Result<Option<[f64; 2]>, FoldFault> {
    let own = |actuator: &&FileActuator| {
        cut.robot.joints.get(actuator.joint).is_some_and(|at| at.place == joint.place)
    };
    let mut gears = cut.robot.actuators.iter().filter(own).map(|actuator| actuator.gear);
    let Some(gear) = gears.next() else { return Ok(None) };
    if gears.any(|other| (other - gear).abs() > 0.0) {
        let message = format!(
            "actuatorfrcrange of joint {:?} bounds actuators of several gears, which no tendon does",
            joint.name
        );
        let help = "give each actuator a forcerange instead, then fold";
        return Err(FoldFault::at_place(cut.robot, joint.place, message, help));
    }
    let mut ends = ends.map(|end| end / gear);
    ends.sort_by(f64::total_cmp);
    Ok(Some(ends))
}

/// What stands on a tendon in a motor's joint's place, per length: a tendon is without any of it by itself.
pub(super) struct Properties<'a> {
    pub(super) name: &'a str,
    pub(super) armature: Option<f64>,
    pub(super) damping: Option<f64>,
    pub(super) friction: Option<f64>,
    /// Largest force each way, low and high, before the gear of what pulls it.
    pub(super) effort: Option<[f64; 2]>,
    /// Smallest and largest length.
    pub(super) range: Option<[f64; 2]>,
}

impl<'a> Properties<'a> {
    /// As the motor's joint had it, whose readings count the same lengths, without its limits.
    ///
    /// # Errors
    /// An engine bounds a tendon's force before the gear of the actuators that pull it, which must be one gear then.
    pub(super) fn of(cut: &Cut<'_>, name: &'a str, joint: &FileJoint) -> Result<Self, FoldFault> {
        let JointProperties { armature, damping, friction, .. } = joint.properties;
        let effort = joint.effort_ends.map(|ends| before_gear(cut, joint, ends)).transpose()?;
        Ok(Self { name, armature, damping, friction, effort: effort.flatten(), range: None })
    }

    fn text(&self) -> String {
        let of = |key: &str, figure: Option<f64>| {
            let figure = figure.filter(|x| x.abs() > 0.0);
            figure.map_or(String::new(), |x| format!(" {key}=\"{}\"", text(x)))
        };
        let between = |limited: &str, key: &str, ends: Option<[f64; 2]>| {
            ends.map_or(String::new(), |ends| {
                format!(" {limited}=\"true\" {key}=\"{}\"", list(&ends))
            })
        };
        format!(
            " name=\"{}\"{}{}{}{}{}",
            escaped(self.name),
            of("armature", self.armature),
            of("damping", self.damping),
            of("frictionloss", self.friction),
            between("limited", "range", self.range),
            between("actuatorfrclimited", "actuatorfrcrange", self.effort),
        )
    }
}

/// A named point of a link, which stands there in the model's frame in the drawn pose.
pub(super) fn site(
    cut: &Cut<'_>,
    (link, at): (LinkId, Point3<f64>),
    name: &str,
    changes: &mut Changes,
) {
    let Some(link) = cut.robot.links.get(link) else { return };
    let own = link.pose.inverse_transform_point(&at);
    let Some(body) = cut.robot.element(link.place) else { return };
    let own: Vec<f64> = own.iter().map(|x| if x.abs() < 1e-14 { 0.0 } else { *x }).collect();
    let line = format!("<site name=\"{}\" pos=\"{}\"/>", escaped(name), list(&own));
    changes.edits.append(body, &line);
}

/// Names that are taken, and defaults of the file that would change what is made.
pub(super) fn refused(cut: &Cut<'_>, made: &[&str]) -> Option<FoldFault> {
    let root = cut.document.root();
    let takes = |element: &Element<'_>| {
        matches!(element.name(), "site" | "spatial" | "fixed")
            && element.value("name").is_some_and(|name| made.iter().any(|made| **made == *name))
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
