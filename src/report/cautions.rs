//! Where a verdict ends, and what a drive does to hands and feet.

use crate::study::Check;

use super::blocks::Block;

/// Who decides in the end.
pub(super) const DECIDES: &str = "Local codes and a licensed engineer decide.";

/// What a drive does to hands and feet.
pub(super) const PINCH: &str = "Keep hands out of cranks, rods and actuators (pinch points); a raised or sprung leg stores energy after power-off.";

/// What a gripper does to fingers and to what it holds.
pub(super) const PINCH_OF_GRIPPER: &str = "Keep hands out of cranks, rods and pads (pinch points); without power a gripper drops what it holds unless its drive holds it, and beyond its toggle it opens under load.";

/// Of a linkage that can leave its shape.
pub(super) const CHANGE_POINT: &str =
    "This linkage has a change point: stops must keep it away from there, also when power fails.";

/// What a verdict is silent about, in a line.
pub(super) fn short_caution(check: &Check) -> String {
    let rigid = if check.in_space.is_some() { "rigid" } else { "planar, rigid" };
    let point = if check.change_point.is_some() {
        "; stops must keep it from its change point, all four pins in line"
    } else {
        ""
    };
    format!("{rigid}, without play; says nothing of strength, control or safety{point} (--full)")
}

pub(super) fn caution(check: &Check) -> Block {
    let pinch = if check.is_of_pad() { PINCH_OF_GRIPPER } else { PINCH };
    let model = if check.in_space.is_some() { "rigid" } else { "planar, rigid" };
    let mut text = format!(
        "{model}, without play; loads, strength and control are not covered. {pinch} {DECIDES}"
    );
    if check.change_point.is_some() {
        text.push(' ');
        text.push_str(CHANGE_POINT);
    }
    Block::Caution(text)
}
