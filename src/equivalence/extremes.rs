//! How far it still holds: the largest tolerance and the largest stroke, each proved.

use crate::linkage::Branch;
use crate::numeric::Interval;

use super::advice::LengthName;
use super::family::Family;
use super::outcome::Outcome;
use super::proof::Prover;

/// The largest tolerance ± on every length (one figure for all, in the unit of the lengths) with which all criteria are
/// proved over the motor turns `turns`; `None` where they are not even without any.
///
/// Found by doubling and bisection to 1 %, then rounded down: what is returned was proved, since a smaller box lies in
/// a larger one.
#[must_use]
pub fn largest_tolerance(
    prover: &Prover<'_>,
    branch: &Branch,
    crank_error: Interval,
    turns: [f64; 2],
) -> Option<f64> {
    let bars = branch.bars();
    let shortest = bars.ground.min(bars.crank).min(bars.coupler).min(bars.rocker);
    largest_half_width(shortest, |tolerance| {
        prover.decide(&Family::symmetric(bars, tolerance, crank_error), turns) == Outcome::Holds
    })
}

/// The largest tolerance ± on `length` alone, the others as in `family`; `None` where they already are too much.
#[must_use]
pub fn largest_alone(
    prover: &Prover<'_>,
    branch: &Branch,
    family: &Family,
    length: LengthName,
    turns: [f64; 2],
) -> Option<f64> {
    let bars = branch.bars();
    largest_half_width(length.of(bars), |tolerance| {
        prover.decide(&family.with_length(length, bars, tolerance), turns) == Outcome::Holds
    })
}

/// By doubling and bisection to 1 % from a thousandth of `size`.
fn largest_half_width(size: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
    let shortest = size;
    let (mut low, mut high) = (0.0, 1e-3 * shortest);
    if holds(high) {
        while high < 0.5 * shortest && holds(high) {
            low = high;
            high *= 2.0;
        }
    } else {
        low = high;
        while low > 1e-9 * shortest && !holds(low) {
            high = low;
            low *= 0.5;
        }
        if !holds(low) {
            return holds(0.0).then_some(0.0);
        }
    }
    while high - low > 0.01 * low {
        let middle = 0.5 * (low + high);
        if holds(middle) { low = middle } else { high = middle }
    }
    Some(low)
}

/// The largest range of motor turns, `turns` scaled about the pose of it nearest to the zero pose, over which all
/// criteria are proved for `family`; may be longer than `turns`. `None` where even a thousandth of it is not proved.
#[must_use]
pub fn largest_stroke(
    prover: &Prover<'_>,
    branch: &Branch,
    family: &Family,
    turns: [f64; 2],
) -> Option<[f64; 2]> {
    let [from, to] = turns;
    let centre = 0.0_f64.clamp(from, to);
    let part = |share: f64| [centre + (from - centre) * share, centre + (to - centre) * share];
    let holds = |share: f64| prover.decide(family, part(share)) == Outcome::Holds;
    let end = longest_share(branch, part);
    let (mut low, mut high) = if holds(1.0) {
        (1.0, end)
    } else if holds(1e-3) {
        (1e-3, 1.0)
    } else {
        return None;
    };
    while high - low > 0.005 * low {
        let middle = 0.5 * (low + high);
        if holds(middle) { low = middle } else { high = middle }
    }
    Some(part(low))
}

/// The share at which the first end reaches the end of the branch, or a whole turn.
fn longest_share(branch: &Branch, part: impl Fn(f64) -> [f64; 2]) -> f64 {
    let ([from, to], [centre, _]) = (part(1.0), part(0.0));
    let whole = std::f64::consts::TAU;
    let below = branch.below.map_or(centre - whole, |b| b.turn);
    let above = branch.above.map_or(centre + whole, |b| b.turn);
    let low = if from < centre { (centre - below) / (centre - from) } else { f64::INFINITY };
    let high = if to > centre { (above - centre) / (to - centre) } else { f64::INFINITY };
    low.min(high).max(1.0)
}
