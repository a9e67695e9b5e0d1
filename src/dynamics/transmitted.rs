//! How much of the motor's torque arrives at the joint: |i| times what friction in the pins leaves.
//!
//! ```text
//! τ_joint/τ_crank = |i| (1 − f Σ (d/2) |turn of the pin per joint turn|/(c sin μ))      guaranteed: the smallest
//! τ_joint/τ_crank = |i|                                                                never exceeded: the largest
//! ```
//!
//! Every pin bears the rod's force as it is without friction (see `loads`); that friction takes some of it off, so that
//! less is taken in truth. Derived here.

use super::bearings::{Bearings, Bounds, joint_friction, rod_arm};
use super::monotone_stroke::MonotoneStroke;
use crate::linkage::{Extreme, FourBar, Half, Pose, PoseOf, Sweep};
use crate::numeric::Interval;

/// The linkages that a figure must hold for, where the drawn one is not the only one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowed {
    /// The lengths, m.
    pub bars: FourBar<Interval>,
    /// Crank angle in the zero pose less the drawn one, rad.
    pub crank_error: Interval,
    /// |i| of all of them over the whole stroke lies certainly between these; the larger may be infinite.
    pub ratio: [f64; 2],
}

/// Joint torque per motor torque over `stroke`, as sizes; of the drawn linkage, or of every `allowed` one.
///
/// Without a coefficient of friction nothing is taken off. 0 is guaranteed where the pins lock the drive, and where that
/// could not be ruled out for every linkage that is allowed.
#[must_use]
pub fn transmitted(
    stroke: &MonotoneStroke<'_>,
    bearings: &Bearings,
    allowed: Option<&Allowed>,
) -> Bounds {
    let [low, high] = sizes(stroke, allowed);
    let guaranteed = match (bearings.friction, allowed) {
        (None, _) => low,
        (Some(_), None) => least(stroke, bearings),
        (Some(_), Some(allowed)) => Search { stroke, bearings, allowed }.least(),
    };
    let guaranteed = Extreme { value: guaranteed.value.max(0.0), ..guaranteed };
    Bounds { guaranteed, never_exceed: high }
}

/// Smallest and largest |i|, with where they are on the drawn linkage.
pub(super) fn sizes(stroke: &MonotoneStroke<'_>, allowed: Option<&Allowed>) -> [Extreme; 2] {
    let [low, high] = drawn_sizes(stroke);
    let Some(allowed) = allowed else { return [low, high] };
    let [least, most] = allowed.ratio;
    [Extreme { value: least, ..low }, Extreme { value: most, ..high }]
}

fn drawn_sizes(stroke: &MonotoneStroke<'_>) -> [Extreme; 2] {
    let sweep = Sweep::over(stroke.branch(), *stroke.stroke());
    let found = sweep.ok().and_then(|sweep| sweep.transmission_ratio());
    let nothing = Extreme { value: f64::NAN, turn: stroke.ends()[0] };
    let [a, b] = found.unwrap_or([nothing; 2]);
    let size = |e: Extreme| Extreme { value: e.value.abs(), turn: e.turn };
    if a.value.abs() <= b.value.abs() { [size(a), size(b)] } else { [size(b), size(a)] }
}

/// |i| times what is left, where that is least on the drawn linkage.
fn least(stroke: &MonotoneStroke<'_>, bearings: &Bearings) -> Extreme {
    let worst = stroke.worst(|pose| -passed(pose, bearings));
    Extreme { value: -worst.value, turn: worst.turn }
}

fn passed(pose: &Pose, bearings: &Bearings) -> f64 {
    pose.transmission_ratio().abs() * bearings.left(pose)
}

impl Bearings {
    /// Share of the joint's torque that friction in the pins leaves; 1 where the coefficient is not known, at or below 0
    /// where they lock. Pins without a known diameter are left out.
    #[must_use]
    pub fn left(&self, pose: &Pose) -> f64 {
        let Some(coefficient) = self.friction else { return 1.0 };
        1.0 - coefficient * joint_friction(pose, self.radii()) / rod_arm(pose)
    }

    /// m; 0 where not known.
    fn radii(&self) -> [f64; 4] {
        self.pins().map(|(_, pin)| 0.5 * pin.diameter.unwrap_or(0.0))
    }
}

/// Pieces of the stroke are halved so often at most.
const HALVINGS: usize = 400;

/// Nearer than this share to what the drawn linkage has is near enough.
const NEAR: f64 = 1e-5;

/// A bound of the least over a box of linkages: the piece with the lowest is halved until that is near what is reached.
/// It stays below by what interval arithmetic does to the widths of the box: 0.6 % in the tests.
struct Search<'a> {
    stroke: &'a MonotoneStroke<'a>,
    bearings: &'a Bearings,
    allowed: &'a Allowed,
}

impl Search<'_> {
    fn least(&self) -> Extreme {
        let [from, to] = self.stroke.ends();
        let enough = (1.0 - NEAR) * least(self.stroke, self.bearings).value;
        let mut pieces = vec![(self.bound(from, to), from, to)];
        for _ in 0..HALVINGS {
            let Some(lowest) = pieces.iter_mut().min_by(|a, b| a.0.total_cmp(&b.0)) else { break };
            let (bound, from, to) = *lowest;
            let middle = 0.5 * (from + to);
            if bound >= enough || middle <= from || middle >= to {
                break;
            }
            *lowest = (self.bound(from, middle), from, middle);
            pieces.push((self.bound(middle, to), middle, to));
        }
        let lowest = pieces.into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
        let (value, from, to) = lowest.unwrap_or((f64::NEG_INFINITY, from, to));
        Extreme { value, turn: 0.5 * (from + to) }
    }

    fn bound(&self, from: f64, to: f64) -> f64 {
        self.enclosed(Interval::new(from, to)).map_or(f64::NEG_INFINITY, Interval::lo)
    }

    /// Of every linkage and pose of a piece; `None` where some may not close or stand at a dead point.
    fn enclosed(&self, piece: Interval) -> Option<Interval> {
        let branch = self.stroke.branch();
        let crank = Interval::point(branch.zero_crank()) + self.allowed.crank_error + piece;
        let pose = self.allowed.bars.pose(Half::of_range(crank), branch.closure())?;
        let rate = pose.velocity_ratio();
        if pose.m.contains(0.0) || rate.contains(0.0) {
            return None;
        }
        let one = Interval::point(1.0);
        let ratio = one / rate;
        let left = one - self.taken(&pose, ratio);
        let [low, high] = self.allowed.ratio;
        Some(ratio.abs().intersection(Interval::new(low, high))? * left)
    }

    /// The share that friction takes.
    fn taken(&self, pose: &PoseOf<Interval>, ratio: Interval) -> Interval {
        let one = Interval::point(1.0);
        let coupler = pose.coupler_rate() * ratio;
        let turns = [ratio, ratio - coupler, one - coupler, one];
        let arm = (pose.m / pose.bars.coupler).abs();
        let rubbed = turns
            .into_iter()
            .zip(self.bearings.radii())
            .fold(Interval::ZERO, |sum, (turn, radius)| sum + Interval::point(radius) * turn.abs());
        Interval::point(self.bearings.friction.unwrap_or(0.0)) * rubbed / arm
    }
}
