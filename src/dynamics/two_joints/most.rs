//! The largest |a x| + |b y| of the vectors (x, y) that bound a power over a whole region, certain.
//!
//! It is the largest of the four a x ± b y of both vectors, taken either way. Over a rectangle of poses each is at most what it
//! is where every joint by which it certainly rises or falls stands at its end and the others in their middle, and from there
//!
//! ```text
//! Σ max (g_j δ_j + ½ c_jj δ_j²) + |c_pr| h_p h_r     |δ_j| ≤ h_j
//! ```
//!
//! with its slopes g there, its curvatures c over the rectangle and half sides h of those that do not stand at their ends.
//! Rectangles are halved, the worst first, until nothing is left that counts.

use std::cell::RefCell;
use std::collections::BinaryHeap;

use super::patch::Rectangle;
use super::placed::Placed;
use super::power::{Power, Rows};
use crate::drive::{Region, TwoRods};
use crate::numeric::{Bent, Interval, Jet, Ranked, Scalar};

/// A bound is at most this much above what was seen, as a share of it.
const CLOSE: f64 = 5e-5;

/// Rectangles to look at before a bound is left as it is.
const MOST: u32 = 4000;

/// A side this small, rad, is not halved.
const SMALLEST: f64 = 1e-4;

/// J with its slopes and curvatures over rectangles that were looked at.
#[derive(Default)]
pub(super) struct Known(RefCell<Vec<(Rectangle, Option<Rows<Bent<2>>>)>>);

impl Known {
    fn rates(&self, drive: &TwoRods, turns: Rectangle) -> Option<Rows<Bent<2>>> {
        let mut all = self.0.borrow_mut();
        if let Some((_, rates)) = all.iter().find(|(known, _)| *known == turns) {
            return *rates;
        }
        let rates = drive.bent_rates(turns);
        all.push((turns, rates));
        rates
    }
}

/// What is asked for the largest of.
pub(super) struct Asked<'a> {
    pub(super) drive: &'a TwoRods,
    pub(super) region: &'a Region,
    pub(super) known: &'a Known,
    pub(super) power: &'a Power,
    /// a and b, neither negative.
    pub(super) weights: [f64; 2],
}

/// Where a sum is expanded from over a rectangle, and how far each joint may be from there.
struct Expansion {
    joints: [f64; 2],
    halves: [Interval; 2],
}

impl Expansion {
    fn of(slopes: [Interval; 2], turns: Rectangle) -> Self {
        let (mut joints, mut halves) = (turns.map(Interval::mid), [Interval::ZERO; 2]);
        let each = joints.iter_mut().zip(&mut halves).zip(turns.into_iter().zip(slopes));
        for ((joint, half), (turn, slope)) in each {
            if slope.lo() >= 0.0 {
                *joint = turn.hi();
            } else if slope.hi() <= 0.0 {
                *joint = turn.lo();
            } else {
                *half = Interval::point((turn - Interval::point(*joint)).magnitude());
            }
        }
        Self { joints, halves }
    }

    /// The most of a sum with this value and these slopes, either way, there, and these curvatures over the rectangle.
    fn most(&self, value: Interval, slopes: [Interval; 2], over: &Bent<2>) -> f64 {
        let curvature = |j: usize, k: usize| over.curvature(j, k).unwrap_or(Interval::ENTIRE);
        let [half_p, half_r] = self.halves;
        let mut most = value;
        for (k, (slope, half)) in slopes.into_iter().zip(self.halves).enumerate() {
            if half != Interval::ZERO {
                most = most + rise(Interval::point(slope.magnitude()), curvature(k, k), half);
            }
        }
        if half_p != Interval::ZERO && half_r != Interval::ZERO {
            most = most + Interval::point(curvature(0, 1).magnitude()) * half_p * half_r;
        }
        most.hi()
    }
}

/// How far each joint may be from the middle of a rectangle.
fn away(turns: Rectangle) -> [Interval; 2] {
    turns.map(|turn| turn - Interval::point(turn.mid()))
}

/// Slopes over a rectangle, met with those in its middle and the curvatures.
fn closer_slopes(over: &Bent<2>, middle: [Interval; 2], turns: Rectangle) -> [Interval; 2] {
    let [dp, dr] = away(turns);
    let curvature = |j: usize, k: usize| over.curvature(j, k).unwrap_or(Interval::ENTIRE);
    let ([p, r], [from_p, from_r]) = (over.slopes, middle);
    [
        p.both_ways(from_p + (curvature(0, 0) * dp + curvature(0, 1) * dr)),
        r.both_ways(from_r + (curvature(0, 1) * dp + curvature(1, 1) * dr)),
    ]
}

/// A value in the middle of a rectangle with what these slopes make of it.
fn ranging(middle: Interval, [p, r]: [Interval; 2], turns: Rectangle) -> Interval {
    let [dp, dr] = away(turns);
    middle + (p * dp + r * dr)
}

/// Not less than slope δ + ½ curvature δ² for any |δ| ≤ half.
fn rise(slope: Interval, curvature: Interval, half: Interval) -> Interval {
    let (straight, bend) = (slope * half, Interval::point(curvature.hi()));
    if bend.hi() < 0.0 {
        let top = slope.square() / (Interval::point(-2.0) * bend);
        if top.hi() < straight.hi() { top } else { straight }
    } else {
        straight + Interval::point(0.5) * bend * half.square()
    }
}

impl Asked<'_> {
    /// The largest, rounded up, and the pose where the largest was seen; `None` where somewhere it is not certain to have a
    /// value.
    pub(super) fn most(&self) -> Option<Placed> {
        let Region { pitch, roll, .. } = *self.region;
        let whole = [pitch, roll].map(|[from, to]| Interval::new(from, to));
        let mut seen = Placed { value: 0.0, joints: whole.map(Interval::mid) };
        let (mut heap, mut looked) = (BinaryHeap::new(), 1);
        heap.push(self.look(whole, f64::INFINITY, &mut seen));
        while let Some(Ranked { bound, of: turns }) = heap.pop() {
            let is_close = bound <= seen.value * (1.0 + CLOSE);
            let halves = (!is_close && looked < MOST).then(|| self.halves(turns)).flatten();
            let Some(halves) = halves else {
                return bound.is_finite().then_some(Placed { value: bound, ..seen });
            };
            for half in halves {
                looked += 1;
                heap.push(self.look(half, bound, &mut seen));
            }
        }
        None
    }

    /// A rectangle with its bound, which is no more than that of the whole it was cut from.
    fn look(&self, turns: Rectangle, of_whole: f64, seen: &mut Placed) -> Ranked<Rectangle> {
        let bound = self.bound(turns, seen).unwrap_or(f64::INFINITY);
        Ranked { bound: bound.min(of_whole), of: turns }
    }

    /// `None` where it is not certain.
    fn bound(&self, turns: Rectangle, seen: &mut Placed) -> Option<f64> {
        let sums = self.sums(&self.known.rates(self.drive, turns)?)?;
        if !sums.iter().all(|sum| sum.value.width().is_finite()) {
            return None;
        }
        let middle = self.seen_at(turns.map(Interval::mid), seen)?;
        let mut most = seen.value;
        for (index, (sum, middle)) in sums.into_iter().zip(middle).enumerate() {
            for (over, middle, side) in [(sum, middle, 1.0), (-sum, -middle, -1.0)] {
                let slopes = closer_slopes(&over, middle.slopes, turns);
                // What certainly is no more than was seen changes nothing.
                let value = over.value.both_ways(ranging(middle.value, slopes, turns));
                if value.hi() <= seen.value {
                    continue;
                }
                let from = Expansion::of(slopes, turns);
                let here = *self.seen_at(from.joints, seen)?.get(index)?;
                let bound = from.most(Interval::point(side) * here.value, here.slopes, &over);
                most = most.max(if bound < value.hi() { bound } else { value.hi() });
            }
        }
        Some(most)
    }

    /// The sums at one pose.
    fn seen_at(&self, joints: [f64; 2], seen: &mut Placed) -> Option<[Jet<2>; 4]> {
        let here = self.sums(&self.drive.sloped_rates_at(joints)?)?;
        let largest = here.iter().map(|sum| sum.value.mignitude()).fold(0.0, f64::max);
        if largest > seen.value {
            *seen = Placed { value: largest, joints };
        }
        Some(here)
    }

    /// a x ± b y of both vectors.
    fn sums<T: Scalar>(&self, rates: &Rows<T>) -> Option<[T; 4]> {
        let [a, b] = self.weights.map(T::exactly);
        let [[x, y], [u, v]] = self.power.normals(rates)?;
        Some([a * x + b * y, a * x - b * y, a * u + b * v, a * u - b * v])
    }

    /// Both halves across the side that is longer as a share of the region's; `None` where it is too small.
    fn halves(&self, [pitch, roll]: Rectangle) -> Option<[Rectangle; 2]> {
        let share = |side: Interval, [from, to]: [f64; 2]| {
            if to > from { side.width() / (to - from) } else { 0.0 }
        };
        let is_pitch = share(pitch, self.region.pitch) >= share(roll, self.region.roll);
        let side = if is_pitch { pitch } else { roll };
        (side.width() > SMALLEST)
            .then(|| side.halves().map(|half| if is_pitch { [half, roll] } else { [pitch, half] }))
    }
}
