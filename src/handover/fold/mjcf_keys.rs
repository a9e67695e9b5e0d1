//! Keyframes: the numbers of the joints that go, cut out of `qpos` and `qvel`.

use std::ops::Range;

use super::{Changes, FoldFault, Job};
use crate::robot::Attribute;

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
    }
}

/// Bytes of the numbers that go, each with the blanks behind it; `None` where the count is wrong.
fn numbers(
    job: &Job<'_>,
    attribute: Attribute<'_>,
    widths: impl Iterator<Item = (usize, bool)>,
) -> Option<Vec<Range<usize>>> {
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
    let flags: Vec<bool> =
        widths.flat_map(|(width, gone)| std::iter::repeat_n(gone, width)).collect();
    if flags.len() != places.len() {
        return None;
    }
    Some(places.into_iter().zip(flags).filter(|(_, gone)| *gone).map(|(place, _)| place).collect())
}
