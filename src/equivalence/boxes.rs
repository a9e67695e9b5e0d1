//! The box of linkages and poses that a proof is over.

use crate::linkage::{Branch, FourBar};
use crate::numeric::Interval;
use crate::numeric::search::{Effort, Found, Objective, largest};

use super::claims::{Domain, VARIABLES};
use super::family::Family;

/// What is to be proved of, and the part of it that a witness may come from.
#[derive(Clone, Copy, Debug)]
pub(super) struct Boxes {
    pub(super) outer: Domain,
    pub(super) inner: Domain,
}

/// Roundings between a decimal and its float in SI, at most.
const DECIMALS: u32 = 4;

impl Boxes {
    pub(super) fn of(branch: &Branch, family: &Family, turns: [f64; 2]) -> Self {
        let [from, to] = turns;
        let [low, high] = turns.map(|turn| rounding(branch, turn));
        let (outer, typed) = (Interval::new(from - low, to + high), &family.typed);
        // A pose that refutes lies on the stroke whichever way its ends were rounded.
        let is_long = from + low <= to - high;
        let inner =
            if is_long { Interval::new(from + low, to - high) } else { Interval::new(from, to) };
        Self {
            outer: domain(&family.bars, family.crank_error, outer),
            inner: domain(&typed.bars, typed.crank_error, inner),
        }
    }

    /// The same poses and all between them and the zero pose; `None` where that is among them.
    pub(super) fn with_zero(&self) -> Option<Self> {
        let hull = |domain: &Domain| {
            let [a, b, c, g, error, turn] = *domain;
            [a, b, c, g, error, turn.hull(Interval::ZERO)]
        };
        let whole = Self { outer: hull(&self.outer), inner: hull(&self.inner) };
        (whole.outer != self.outer).then_some(whole)
    }

    /// The largest value of `f` with an enclosure of its value at the witness, whichever way its decimals became floats.
    pub(super) fn largest<F: Objective<VARIABLES>>(
        &self,
        f: &F,
        effort: &Effort,
    ) -> (Found<VARIABLES>, Interval) {
        let found = largest(f, &self.outer, &self.inner, effort);
        let at = f.enclose(&found.witness.map(|x| Interval::around(x, DECIMALS)));
        (found, at.unwrap_or(Interval::ENTIRE))
    }
}

/// A joint angle is computed to this, rad, where rod and rocker stand square to each other.
const JOINT_ROUNDING: f64 = 1e-14;

/// At a dead point the joint goes with the square of the motor turn: no more than the root of the digits is lost.
const MOST_LOST: f64 = 1e7;

/// How far a stroke's end at the motor turn `turn` may be off, rad: a joint stroke's ends are roots, told no closer than
/// joint angles are computed, which lose digits with the transmission angle, and motor turns with the ratio.
fn rounding(branch: &Branch, turn: f64) -> f64 {
    let loss = branch
        .pose(turn)
        .map_or(1.0, |pose| 1.0 / (pose.velocity_ratio().abs() * pose.transmission_angle().sin()));
    JOINT_ROUNDING * loss.clamp(1.0, MOST_LOST) * turn.abs().max(1.0)
}

fn domain(bars: &FourBar<Interval>, crank_error: Interval, turn: Interval) -> Domain {
    let FourBar { ground, crank, coupler, rocker } = *bars;
    [crank, coupler, rocker, ground, crank_error, turn]
}
