//! How far it still holds: the largest tolerance and the largest stroke, each proved.

use super::super::family::{size_range, typed_range};
use super::super::held::Reach;
use super::super::outcome::Outcome;
use super::question::{DriveQuestion, SizeRanges};
use crate::drive::{JointDrive, Measure, OneJoint as _, Size};

/// Halvings of what is not settled: to less than 1 % of it.
const HALVINGS: u32 = 7;

/// Sizes of a drive that it is looked for of, at most.
const FEW: usize = 8;

/// Tolerances are looked for up to this, m.
const MOST: f64 = 2e-3;

/// Strokes are looked for up to this many times the one asked for.
const LONGEST: f64 = 4.0;

impl DriveQuestion<'_> {
    /// How far it would still hold. The tolerance is one figure for every length but leads, with angles and leads as they are
    /// drawn. Neither is told of chains and of drives drawn by points, whose search is too slow for it.
    #[must_use]
    pub fn reach(&self) -> Reach {
        Reach { symmetric_tolerance: self.largest_tolerance(), stroke: self.largest_stroke() }
    }

    fn largest_tolerance(&self) -> Option<f64> {
        let JointDrive::Rod(_) = self.drive else { return None };
        if self.sizes.all.len() > FEW {
            return None;
        }
        let holds = |t: f64| self.decide(self.turns, &self.with_lengths(t)) == Outcome::Holds;
        holds(0.0).then(|| largest(MOST, holds))
    }

    fn with_lengths(&self, tolerance: f64) -> SizeRanges {
        let sizes = self.drawing.sizes();
        let is_length = |size: &Size| size.measure == Measure::Length && size.name != "lead";
        let ranges = |known: &[_], of: fn(f64, f64, f64) -> _| {
            let one = |(size, known): (&Size, &_)| {
                if is_length(size) { of(size.value, -tolerance, tolerance) } else { *known }
            };
            sizes.iter().zip(known).map(one).collect()
        };
        SizeRanges {
            all: ranges(&self.sizes.all, size_range),
            typed: ranges(&self.sizes.typed, typed_range),
        }
    }

    fn largest_stroke(&self) -> Option<[f64; 2]> {
        if matches!(self.drive, JointDrive::Series(_)) || self.sizes.all.len() > FEW {
            return None;
        }
        let [from, to] = self.turns;
        let centre = 0.0_f64.clamp(from, to);
        let [below, above] = self.drive.reach();
        let low = below.map_or(f64::NEG_INFINITY, |stop| stop.joint);
        let high = above.map_or(f64::INFINITY, |stop| stop.joint);
        let part =
            |share: f64| [(centre + (from - centre) * share), (centre + (to - centre) * share)];
        let holds = |share: f64| {
            let turns = part(share);
            let is_inside = turns[0] > low && turns[1] < high;
            is_inside && self.decide(turns, &self.sizes) == Outcome::Holds
        };
        let share = largest(LONGEST, holds);
        (share > 0.0).then(|| part(share))
    }
}

/// The largest figure up to `most` that holds, by halving; 0 where none was found.
fn largest(most: f64, holds: impl Fn(f64) -> bool) -> f64 {
    if holds(most) {
        return most;
    }
    let (mut low, mut high) = (0.0, most);
    for _ in 0..HALVINGS {
        let middle = if low > 0.0 { 0.5 * (low + high) } else { 0.25 * high };
        if holds(middle) { low = middle } else { high = middle }
    }
    low
}
