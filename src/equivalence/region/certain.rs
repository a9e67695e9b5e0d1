//! What is certain of one build in one pose, whichever way its decimals became floats.

use super::values::{Figure, Setting};
use crate::drive::{Angular, TwoRods};
use crate::numeric::Interval;

/// Roundings between a decimal and its float in SI, at most.
const DECIMALS: u32 = 4;

fn decimals(sizes: &[f64]) -> Vec<Interval> {
    sizes.iter().map(|x| Interval::around(*x, DECIMALS)).collect()
}

/// Does one build, followed from its zero pose, certainly break the limit, whichever way its decimals became floats?
pub(super) fn breaks(
    setting: &Setting<'_>,
    figure: Figure,
    sizes: &[f64],
    joints: [f64; 2],
    limit: Option<[f64; 2]>,
) -> bool {
    let shown = || {
        let own: Vec<Interval> = sizes.iter().map(|x| Interval::point(*x)).collect();
        let drive = TwoRods::new(setting.question.drawing.built(&own)?).ok()?;
        let turns = drive.motor_turns(joints).ok()?;
        let build = setting.build(&decimals(sizes))?;
        let around = joints.map(|turn| Interval::around(turn, DECIMALS));
        Some(figure.size_within(&build.values(setting, around, turns)?))
    };
    let shown = shown();
    shown.zip(limit).is_some_and(|(size, [_, breaks])| size.lo() > breaks && size.hi().is_finite())
}

/// Is there a rod of this build that certainly does not reach?
pub(super) fn does_not_reach(setting: &Setting<'_>, sizes: &[f64], joints: [f64; 2]) -> bool {
    let Some(built) = setting.question.drawing.built(&decimals(sizes)) else { return false };
    let around = joints.map(|turn| Interval::around(turn, DECIMALS));
    built.at(around.map(Angular::sin_cos)).is_none()
}
