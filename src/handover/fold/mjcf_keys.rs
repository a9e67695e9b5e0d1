//! Keyframes: the numbers of the joints that go, cut out of `qpos` and `qvel`; control signals as they are meant now.

use std::ops::Range;

use super::cut::Cut;
use super::mjcf_actuators::{self, Signal};
use super::numbers::text;
use super::{Changes, FoldFault};
use crate::robot::{Attribute, Element, FileJoint, JointId, LinkId, Robot};

/// Edits of every keyframe.
pub(super) fn cut(cut: &Cut<'_>, changes: &mut Changes) {
    let widths: Vec<([usize; 2], bool)> = cut
        .robot
        .joints
        .iter()
        .enumerate()
        .map(|(id, joint)| (joint.coordinates(), cut.gone.joints.contains(&id)))
        .collect();
    let root = cut.document.root();
    let keys = root.children_named("keyframe").flat_map(|section| section.children_named("key"));
    for key in keys {
        for (at, name) in ["qpos", "qvel"].into_iter().enumerate() {
            let Some(attribute) = key.attribute(name) else { continue };
            if !cut.gone.moved.is_empty() {
                reorder(cut, key, attribute, at, changes);
                continue;
            }
            let of =
                widths.iter().map(|(width, gone)| (width.get(at).copied().unwrap_or(0), *gone));
            match numbers(cut, attribute, of) {
                Some(places) => {
                    places.into_iter().for_each(|place| changes.edits.replace(place, ""))
                }
                None => changes.faults.push(miscounted(key, name)),
            }
        }
        if let Some(attribute) = key.attribute("ctrl") {
            controls(cut, key, attribute, changes);
        }
    }
}

fn miscounted(key: Element<'_>, name: &str) -> FoldFault {
    let message =
        format!("the keyframe's {name} has not as many numbers as the model has coordinates");
    FoldFault::at(key, message, "correct or remove the keyframe, then fold")
}

/// The numbers in the order of the new tree: depth first, a finger that moves last on its driver. That stands, or turns, as
/// its driver has it: in a key whose loop is closed that is where the rocker had it.
fn reorder(
    cut: &Cut<'_>,
    key: Element<'_>,
    attribute: Attribute<'_>,
    at: usize,
    changes: &mut Changes,
) {
    let Some(said) = by_joint(cut, attribute, at) else {
        return changes.faults.push(miscounted(key, attribute.name()));
    };
    let of = |id: JointId| -> Option<String> {
        let own = said.get(id)?.join(" ");
        let Some(moved) = cut.gone.moved.iter().find(|moved| moved.seat.joint == id) else {
            return Some(own);
        };
        let driver = said.get(moved.driver)?.first()?.parse::<f64>().ok()?;
        let [slope, shift] = moved.line;
        Some(text(slope * driver + if at == 0 { shift } else { 0.0 }))
    };
    let new: Option<Vec<String>> = order(cut).into_iter().map(of).collect();
    let Some(new) = new else { return changes.faults.push(miscounted(key, attribute.name())) };
    let new: Vec<&str> = new.iter().map(String::as_str).filter(|own| !own.is_empty()).collect();
    changes.edits.replace(attribute.value_range(), new.join(" "));
}

/// What a keyframe says of each joint; `None` where the count is wrong.
fn by_joint<'a>(cut: &Cut<'a>, attribute: Attribute<'_>, at: usize) -> Option<Vec<Vec<&'a str>>> {
    let places = places(cut, attribute)?;
    let mut each = places.into_iter().map(|place| Some(cut.document.text().get(place)?.trim_end()));
    let width = |joint: &FileJoint| joint.coordinates().get(at).copied().unwrap_or(0);
    let joints = cut.robot.joints.iter();
    let said: Option<Vec<Vec<&str>>> =
        joints.map(|joint| (0..width(joint)).map(|_| each.next()?).collect()).collect();
    said.filter(|_| each.next().is_none())
}

/// The joints of the new file in the order of its tree.
fn order(cut: &Cut<'_>) -> Vec<JointId> {
    let all = 0..cut.robot.joints.len();
    let mut order: Vec<JointId> = all.filter(|id| !cut.gone.joints.contains(id)).collect();
    for moved in &cut.gone.moved {
        let on = |link: LinkId| move |id: &JointId| is_under(cut.robot, *id, link);
        let (finger, mut others): (Vec<_>, Vec<_>) =
            order.into_iter().partition(on(moved.seat.link));
        let end = others.iter().rposition(on(moved.seat.onto)).map_or(others.len(), |at| at + 1);
        others.splice(end..end, finger);
        order = others;
    }
    order
}

/// Whether a joint bears `link`, or stands behind it in the tree.
fn is_under(robot: &Robot, joint: JointId, link: LinkId) -> bool {
    let child = robot.joints.get(joint).map(|joint| joint.child);
    let above = |at: &LinkId| robot.joints.iter().find(|j| j.child == *at).map(|j| j.parent);
    std::iter::successors(child, above).take(robot.links.len()).any(|at| at == link)
}

/// The signals of a keyframe whose actuators take them otherwise now.
fn controls(cut: &Cut<'_>, key: Element<'_>, attribute: Attribute<'_>, changes: &mut Changes) {
    let sections = cut.robot.documents.iter().map(|document| {
        let sections = document.root().children_named("actuator");
        sections.flat_map(Element::children).collect::<Vec<_>>()
    });
    let each: Vec<Vec<Element<'_>>> = sections.collect();
    let here = each.first().map(Vec::as_slice).unwrap_or_default();
    let signals: Vec<Option<Signal>> =
        here.iter().map(|element| mjcf_actuators::signal(cut, *element)).collect();
    if signals.iter().flatten().all(|signal| signal.is_same()) {
        return;
    }
    let places = places(cut, attribute).unwrap_or_default();
    if let Some(state) = key.attribute("act") {
        changes.faults.push(FoldFault::at(
            key,
            format!(
                "the keyframe's act {:?} may hold the motor's target, which changes its meaning",
                state.value()
            ),
            "correct or remove the keyframe's act, then fold",
        ));
    }
    if places.len() != signals.len() || each.iter().skip(1).any(|other| !other.is_empty()) {
        return changes.faults.push(FoldFault::at(
            key,
            "the keyframe's ctrl has not one number for each actuator of this file, and the motor's changes its meaning",
            "correct or remove the keyframe's ctrl, then fold",
        ));
    }
    let whole = cut.document.text();
    for (place, signal) in places.into_iter().zip(signals) {
        let Some(signal) = signal.filter(|signal| !signal.is_same()) else { continue };
        let written = whole.get(place.clone()).unwrap_or_default();
        let figure = written.trim_end();
        if let Ok(known) = figure.parse::<f64>() {
            let place = place.start..place.start + figure.len();
            changes.edits.replace(place, text(signal.of(known)));
        }
    }
}

/// Bytes of the numbers that go, each with the blanks behind it; `None` where the count is wrong.
fn numbers(
    cut: &Cut<'_>,
    attribute: Attribute<'_>,
    widths: impl Iterator<Item = (usize, bool)>,
) -> Option<Vec<Range<usize>>> {
    let places = places(cut, attribute)?;
    let flags: Vec<bool> =
        widths.flat_map(|(width, gone)| std::iter::repeat_n(gone, width)).collect();
    if flags.len() != places.len() {
        return None;
    }
    Some(places.into_iter().zip(flags).filter(|(_, gone)| *gone).map(|(place, _)| place).collect())
}

/// Bytes of each number, with the blanks behind it.
fn places(cut: &Cut<'_>, attribute: Attribute<'_>) -> Option<Vec<Range<usize>>> {
    let range = attribute.value_range();
    let raw = cut.document.text().get(range.clone())?;
    let mut places = Vec::new();
    let mut at = raw.len() - raw.trim_start().len();
    while at < raw.len() {
        let rest = raw.get(at..)?;
        let length = rest.find(char::is_whitespace).unwrap_or(rest.len());
        let behind = rest.get(length..)?;
        let next = at + length + (behind.len() - behind.trim_start().len());
        places.push(range.start + at..range.start + next);
        at = next;
    }
    Some(places)
}
