//! The turn as a polynomial that is exact in the zero pose, and how far it is certainly off the linkage.

use std::collections::BinaryHeap;

use super::number::Number;
use crate::drive::Transfer as OfDrive;
use crate::linkage::Transfer as OfFourBar;
use crate::numeric::{Interval, Polynomial, Ranked, Scalar as _, evenly};

/// One end's turn as a function of the other's, whatever the drive: turns from the zero pose, rad.
pub(super) trait Transfer {
    /// The turn at `turn`; `None` where it is not reached.
    fn at(&self, turn: f64) -> Option<f64>;

    /// Turn per turn from the zero pose to `turn`; NaN where it is not reached.
    fn mean_rate(&self, turn: f64) -> f64;

    /// The turn and its first three derivatives at every turn of `turn`, enclosed.
    fn over(&self, turn: Interval) -> Option<[Interval; 4]>;

    /// Its first three derivatives alone.
    fn rates_over(&self, turn: Interval) -> Option<[Interval; 3]>;
}

impl Transfer for OfFourBar {
    fn at(&self, turn: f64) -> Option<f64> {
        self.at(turn).ok()
    }

    fn mean_rate(&self, turn: f64) -> f64 {
        self.mean_rate(turn)
    }

    fn over(&self, turn: Interval) -> Option<[Interval; 4]> {
        self.over(turn)
    }

    fn rates_over(&self, turn: Interval) -> Option<[Interval; 3]> {
        self.rates_over(turn)
    }
}

impl Transfer for OfDrive<'_> {
    fn at(&self, turn: f64) -> Option<f64> {
        self.at(turn).ok()
    }

    fn mean_rate(&self, turn: f64) -> f64 {
        self.mean_rate(turn)
    }

    fn over(&self, turn: Interval) -> Option<[Interval; 4]> {
        self.over(turn)
    }

    fn rates_over(&self, turn: Interval) -> Option<[Interval; 3]> {
        self.rates_over(turn)
    }
}

/// turn = x · P(t), t = (x − middle) · `per_half`, x the other end's turn, all from the zero pose, rad.
///
/// Exact at x = 0, so that few digits are lost near it; every coefficient is a number of the code's own kind.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Approximation {
    pub(super) polynomial: Polynomial,
    pub(super) middle: f64,
    pub(super) per_half: f64,
}

impl Approximation {
    /// The turn itself: that of a parallelogram.
    pub(super) fn same_turn() -> Self {
        Self { polynomial: Polynomial { coefficients: vec![1.0] }, middle: 0.0, per_half: 1.0 }
    }

    /// The one of `degree` ≥ 1 in the turn over `range`, with coefficients as they are written in `number`.
    pub(super) fn of_degree(
        transfer: &dyn Transfer,
        range: [f64; 2],
        degree: u32,
        number: Number,
    ) -> Self {
        let [from, to] = range;
        let middle = number.nearest(0.5 * (from + to));
        let per_half = number.nearest(2.0 / (to - from));
        let rate = |t: f64| transfer.mean_rate((t / per_half + middle).clamp(from, to));
        let exact = Polynomial::interpolating(rate, degree.saturating_sub(1));
        let coefficients = exact.coefficients.into_iter().map(|c| number.nearest(c)).collect();
        Self { polynomial: Polynomial { coefficients }, middle, per_half }
    }

    /// In the turn.
    pub(super) fn degree(&self) -> usize {
        self.polynomial.coefficients.len()
    }

    /// The turn and its first three derivatives over `x`.
    fn over(&self, x: Interval) -> [Interval; 4] {
        let scale = Interval::point(self.per_half);
        let t = (x - Interval::point(self.middle)) * scale;
        let [p, d1, d2, d3] = self.polynomial.over(t);
        let (d1, d2) = (d1 * scale, d2 * scale.square());
        let d3 = d3 * scale * scale.square();
        let [two, three] = [2.0, 3.0].map(Interval::point);
        [x * p, p + x * d1, two * d1 + x * d2, three * d2 + x * d3]
    }

    /// The turn at `x` in doubles.
    fn at(&self, x: f64) -> f64 {
        x * self.polynomial.at((x - self.middle) * self.per_half)
    }

    /// The largest error seen at evenly spaced poses of `range`; no bound.
    pub(super) fn seen(&self, transfer: &dyn Transfer, range: [f64; 2]) -> f64 {
        let error = |x: f64| transfer.at(x).map_or(f64::INFINITY, |turn| (turn - self.at(x)).abs());
        evenly(range, SAMPLES).map(error).fold(0.0, f64::max)
    }

    /// The turn is certainly off the linkage's by no more than this over `range`, rad; `None` where that was not shown.
    pub(super) fn largest_error(&self, transfer: &dyn Transfer, range: [f64; 2]) -> Option<f64> {
        let error = Difference { transfer, approximation: self };
        largest(&|x| error.of_turn(x), range, TURN_FLOOR)
    }

    /// The rate, as a share of the linkage's own, likewise.
    pub(super) fn largest_rate_error(
        &self,
        transfer: &dyn Transfer,
        range: [f64; 2],
    ) -> Option<f64> {
        let error = Difference { transfer, approximation: self };
        largest(&|x| error.of_rate(x), range, RATE_FLOOR)
    }
}

/// Poses that an error is looked for at before it is bounded.
const SAMPLES: u32 = 200;

/// E = linkage − approximation, by Taylor's form of third order about the middle of a piece:
/// E(X) ⊂ E(m) + E′(m)(X−m) + ½E″(m)(X−m)² + ⅙E‴(X)(X−m)³.
struct Difference<'a> {
    transfer: &'a dyn Transfer,
    approximation: &'a Approximation,
}

impl Difference<'_> {
    /// The rates' difference and its two derivatives.
    fn rates(&self, x: Interval) -> Option<[Interval; 3]> {
        let [_, rate, slope, curvature] = self.approximation.over(x);
        let [r, s, c] = self.transfer.rates_over(x)?;
        Some([r - rate, s - slope, c - curvature])
    }

    fn of_turn(&self, x: Interval) -> Option<Interval> {
        let middle = Interval::point(x.mid());
        let e = self.transfer.over(middle)?[0] - self.approximation.over(middle)[0];
        let [slope, bend, _] = self.rates(middle)?;
        let off = x - middle;
        if off == Interval::ZERO {
            return Some(e);
        }
        let third = self.rates(x)?[2];
        let [half, sixth] = [2.0, 6.0].map(|n| Interval::point(1.0) / Interval::point(n));
        Some(e + slope * off + half * bend * off.square() + sixth * third * (off * off.square()))
    }

    fn of_rate(&self, x: Interval) -> Option<Interval> {
        let middle = Interval::point(x.mid());
        let [slope, bend, _] = self.rates(middle)?;
        let third = self.rates(x)?[2];
        let off = x - middle;
        let half = Interval::point(0.5);
        let rate = self.transfer.rates_over(x)?[0];
        let error = slope + bend * off + half * third * off.square();
        (!rate.contains(0.0)).then(|| error / rate)
    }
}

/// A bound this much above the largest value seen is close enough.
const CLOSE: f64 = 1.05;

/// Errors below this drown in the rounding of their own bound: of the turn, rad.
const TURN_FLOOR: f64 = 1e-12;

/// Of the rate, whose bound is one order coarser, as a share.
const RATE_FLOOR: f64 = 1e-9;

/// Pieces to look at before the bound is taken as it is.
const MOST_PIECES: u32 = 4000;

/// Pieces to begin with.
const PIECES: u32 = 16;

/// A bound for |f| over `range`, close to the largest value where that is above `floor`; the largest bound is halved
/// first.
fn largest(f: &dyn Fn(Interval) -> Option<Interval>, range: [f64; 2], floor: f64) -> Option<f64> {
    let at = |x: f64| f(Interval::point(x)).map(Interval::magnitude);
    let piece = |over: Interval| {
        let bound = f(over).map_or(f64::INFINITY, Interval::magnitude);
        Ranked { bound, of: over }
    };
    let mut seen = evenly(range, SAMPLES).try_fold(0.0, |most, x| Some(f64::max(most, at(x)?)))?;
    let edges: Vec<f64> = evenly(range, PIECES).collect();
    let pairs = edges.iter().zip(edges.iter().skip(1));
    let mut open: BinaryHeap<Ranked<Interval>> =
        pairs.map(|(from, to)| piece(Interval::new(*from, *to))).collect();
    for _ in 0..MOST_PIECES {
        let worst = open.peek()?;
        if worst.bound <= (CLOSE * seen).max(floor) {
            break;
        }
        let halves = open.pop()?.of.halves();
        for half in halves {
            seen = seen.max(at(half.mid())?);
            open.push(piece(half));
        }
    }
    open.peek().map(|worst| worst.bound).filter(|bound| bound.is_finite())
}

#[cfg(test)]
mod tests {
    use super::{Approximation, Interval, Number, evenly};
    use crate::linkage::{Branch, Closure, FourBar, Transfer};

    const KNEE: FourBar = FourBar { ground: 0.21, crank: 0.04, coupler: 0.215, rocker: 0.052 };

    fn stroke() -> [f64; 2] {
        [-40.34_f64, 62.41].map(f64::to_radians)
    }

    fn knee() -> Transfer {
        Transfer::ToJoint(Branch::through(KNEE, 80_f64.to_radians(), Closure::Open).unwrap())
    }

    #[test]
    fn certified_errors_are_close_to_what_is_seen_and_never_below() {
        for degree in [5, 7, 9, 11] {
            let fit = Approximation::of_degree(&knee(), stroke(), degree, Number::Double);
            let (seen, bound) =
                (fit.seen(&knee(), stroke()), fit.largest_error(&knee(), stroke()).unwrap());
            assert!(seen <= bound && bound <= 1.06 * seen, "{degree} {seen:e} {bound:e}");
        }
    }

    #[test]
    fn the_rates_bound_holds_every_difference_seen() {
        let fit = Approximation::of_degree(&knee(), stroke(), 7, Number::Float);
        let bound = fit.largest_rate_error(&knee(), stroke()).unwrap();
        for x in evenly(stroke(), 1000) {
            let exact = knee().over(Interval::point(x)).unwrap()[1].mid();
            let error = fit.over(Interval::point(x))[1].mid() / exact - 1.0;
            assert!(error.abs() <= bound, "{x}");
        }
    }

    #[test]
    fn a_parallelograms_turn_is_the_motors_to_the_last_digits() {
        let bars = FourBar { ground: 0.3, crank: 0.045, coupler: 0.3, rocker: 0.045 };
        let ankle = Transfer::ToJoint(Branch::through(bars, 1.5, Closure::Open).unwrap());
        let bound = Approximation::same_turn().largest_error(&ankle, [-0.6, 0.7]).unwrap();
        assert!(bound < 1e-12, "{bound:e}");
    }
}
