//! Keyframes: the numbers of the joints that go, cut out of `qpos` and `qvel`; control signals as they are meant now.

use std::ops::Range;

use super::mjcf_actuators::{self, Signal};
use super::numbers::text;
use super::{Changes, FoldFault, Job};
use crate::robot::{Attribute, Element};

/// Edits of every keyframe.
pub(super) fn cut(job: &Job<'_>, changes: &mut Changes) {
    let widths: Vec<([usize; 2], bool)> = job
        .robot
        .joints
        .iter()
        .enumerate()
        .map(|(id, joint)| (joint.coordinates(), job.gone.joints.contains(&id)))
        .collect();
    let root = job.document.root();
    let keys = root.children_named("keyframe").flat_map(|section| section.children_named("key"));
    for key in keys {
        for (at, name) in ["qpos", "qvel"].into_iter().enumerate() {
            let Some(attribute) = key.attribute(name) else { continue };
            let of =
                widths.iter().map(|(width, gone)| (width.get(at).copied().unwrap_or(0), *gone));
            match numbers(job, attribute, of) {
                Some(places) => {
                    places.into_iter().for_each(|place| changes.edits.replace(place, ""))
                }
                None => changes.faults.push(FoldFault::at(
                    key,
                    format!(
                        "the keyframe's {name} has not as many numbers as the model has coordinates"
                    ),
                    "correct or remove the keyframe, then fold",
                )),
            }
        }
        if let Some(attribute) = key.attribute("ctrl") {
            controls(job, key, attribute, changes);
        }
    }
}

/// The signals of a keyframe whose actuators take them otherwise now.
fn controls(job: &Job<'_>, key: Element<'_>, attribute: Attribute<'_>, changes: &mut Changes) {
    let sections = job.robot.documents.iter().map(|document| {
        let sections = document.root().children_named("actuator");
        sections.flat_map(Element::children).collect::<Vec<_>>()
    });
    let each: Vec<Vec<Element<'_>>> = sections.collect();
    let here = each.first().map(Vec::as_slice).unwrap_or_default();
    let signals: Vec<Option<Signal>> =
        here.iter().map(|element| mjcf_actuators::signal(job, *element)).collect();
    if signals.iter().flatten().all(|signal| signal.is_same()) {
        return;
    }
    let places = places(job, attribute).unwrap_or_default();
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
    let whole = job.document.text();
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
    job: &Job<'_>,
    attribute: Attribute<'_>,
    widths: impl Iterator<Item = (usize, bool)>,
) -> Option<Vec<Range<usize>>> {
    let places = places(job, attribute)?;
    let flags: Vec<bool> =
        widths.flat_map(|(width, gone)| std::iter::repeat_n(gone, width)).collect();
    if flags.len() != places.len() {
        return None;
    }
    Some(places.into_iter().zip(flags).filter(|(_, gone)| *gone).map(|(place, _)| place).collect())
}

/// Bytes of each number, with the blanks behind it.
fn places(job: &Job<'_>, attribute: Attribute<'_>) -> Option<Vec<Range<usize>>> {
    let range = attribute.value_range();
    let raw = job.document.text().get(range.clone())?;
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
