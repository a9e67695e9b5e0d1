//! The finger of a jaw that an MJCF file hangs on the rocker: hung on the driver's link, where it stands as drawn.
//!
//! ```text
//!      P x--- finger ---o Q            P o--- finger             x a closure, o a joint of the tree: the body keeps all its
//!       /              /                /                        bytes but its place, its joint's pin and what that joint
//! crank/              / rocker   →     / crank                   bears, which is the driver's now
//!     /              /                /
//!    o A            o B              o A
//! ```

use super::gone::Moved;
use super::numbers::list;
use super::{Changes, FoldFault, Job, overlaps, visuals};
use crate::robot::{Element, LinkId, Robot};

/// Attributes that turn a body otherwise than `quat` does.
const OTHER_TURNS: [&str; 4] = ["axisangle", "xyaxes", "zaxis", "euler"];

/// No turn, rad.
const DUST: f64 = 1e-12;

/// Its place on the driver, its pin, and nothing that its joint bears twice.
pub(super) fn place(job: &Job<'_>, changes: &mut Changes) {
    let Some(moved) = own(job) else { return };
    let robot = job.robot;
    let joint = robot.joints.get(moved.seat.joint);
    let (Some(body), Some(joint)) = (body(robot, moved.seat.link), joint) else { return };
    let Some(hinge) = robot.element(joint.place) else { return };
    if hinge.parent().is_none_or(|parent| parent.id() != body.id()) {
        let message =
            "the finger's joint stands in a frame of its own, and its pin cannot be put elsewhere";
        return changes.faults.push(FoldFault::at(
            hinge,
            message,
            "write the joint into the <body> itself, then fold",
        ));
    }
    let pose = moved.seat.pose;
    changes.edits.set(body, "pos", &list(pose.translation.vector.as_slice()));
    OTHER_TURNS.iter().for_each(|key| changes.edits.unset(body, key));
    let turn = pose.rotation.quaternion();
    if pose.rotation.angle() > DUST {
        changes.edits.set(body, "quat", &list(&[turn.w, turn.i, turn.j, turn.k]));
    } else {
        changes.edits.unset(body, "quat");
    }
    keep_class(body, robot, moved, changes);
    changes.edits.set(hinge, "pos", &list(moved.seat.pin.coords.as_slice()));
    visuals::strip_joint(job, joint, changes);
    changes.notes.extend(no_contact(job, moved));
}

/// Puts the finger where it goes, with all that has changed inside it.
pub(super) fn hang(job: &Job<'_>, changes: &mut Changes) {
    let Some(moved) = own(job) else { return };
    let [finger, driver] = [moved.seat.link, moved.seat.onto].map(|link| body(job.robot, link));
    let (Some(finger), Some(driver)) = (finger, driver) else { return };
    if let Err(overlap) = changes.edits.hang(finger, driver) {
        changes.faults.push(overlaps(&overlap.1));
    }
}

fn own<'a>(job: &'a Job<'_>) -> Option<&'a Moved> {
    let joint = job.rehung()?.joint;
    job.cut.gone.moved.iter().find(|moved| moved.seat.joint == joint)
}

fn body(robot: &Robot, link: LinkId) -> Option<Element<'_>> {
    robot.element(robot.links.get(link)?.place)
}

/// What it inherits is what it inherited.
fn keep_class(finger: Element<'_>, robot: &Robot, moved: &Moved, changes: &mut Changes) {
    let Some(driver) = body(robot, moved.seat.onto) else { return };
    let before = finger.parent().and_then(class_within);
    if finger.value("childclass").is_some() || before == class_within(driver) {
        return;
    }
    let class = before.unwrap_or_else(|| outermost_class(finger));
    changes.edits.set(finger, "childclass", &class);
}

/// The class of what stands in an element without one of its own.
fn class_within(element: Element<'_>) -> Option<String> {
    let around = std::iter::successors(Some(element), |at| at.parent());
    around.into_iter().find_map(|at| Some(at.value("childclass")?.into_owned()))
}

fn outermost_class(element: Element<'_>) -> String {
    let mut sections = element.document().root().children_named("default");
    let named = sections.find_map(|section| Some(section.value("class")?.into_owned()));
    named.unwrap_or_else(|| "main".to_owned())
}

/// Engines pass over the contact of a body with the one that bears it.
fn no_contact(job: &Job<'_>, moved: &Moved) -> Option<String> {
    let [_, crank, coupler, _] = job.four_bar.bodies();
    let links = |body: LinkId| job.bodies.links(body).filter_map(|id| job.robot.links.get(id));
    let touches =
        |body: LinkId| links(body).any(|link| link.shapes.iter().any(|shape| shape.touches));
    let is_of = |body: LinkId, name: &str| links(body).any(|link| link.name == name);
    let excludes = |element: Element<'_>| {
        let [Some(a), Some(b)] = ["body1", "body2"].map(|key| element.value(key)) else {
            return false;
        };
        is_of(crank, &a) && is_of(coupler, &b) || is_of(crank, &b) && is_of(coupler, &a)
    };
    let sections = job.cut.document.root().children_named("contact");
    let is_excluded = sections.flat_map(Element::children).any(excludes);
    let name = |link: LinkId| job.robot.link_name(link);
    (touches(crank) && touches(coupler) && !is_excluded).then(|| {
        format!(
            "{:?} hangs on {:?} now: engines pass over the contact of these two",
            name(moved.seat.link),
            name(moved.seat.onto)
        )
    })
}
