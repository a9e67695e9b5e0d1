//! When it does not hold: how much stroke would be equivalent, and which length helps most.

use serde::{Serialize, Serializer};

use crate::linkage::{Branch, Drive, FourBar, Stroke, Sweep};

use super::direct_joint::Constants;
use super::nominal::{Figures, Limits};

/// The share of the stroke (0…1), drawn in towards its pose nearest to the zero pose, over which `holds` is true;
/// `None` where it is false however short.
///
/// Bisection, since a shorter stroke cannot have a worse figure for the same constants.
pub fn largest_share(stroke: &Stroke, holds: impl Fn([f64; 2]) -> bool) -> Option<([f64; 2], f64)> {
    let [from, to] = stroke.motor;
    let centre = 0.0_f64.clamp(from, to);
    let part = |share: f64| [centre + (from - centre) * share, centre + (to - centre) * share];
    if holds(part(1.0)) {
        return Some((part(1.0), 1.0));
    }
    let (mut low, mut high) = (1e-3, 1.0);
    if !holds(part(low)) {
        return None;
    }
    for _ in 0..20 {
        let middle = 0.5 * (low + high);
        if holds(part(middle)) { low = middle } else { high = middle }
    }
    Some((part(low), low))
}

words! {
    /// One of the four lengths.
    #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
    pub enum LengthName {
        /// A–B
        Ground = "ground",
        /// A–P
        Crank = "crank",
        /// P–Q
        Coupler = "coupler",
        /// B–Q
        Rocker = "rocker",
    }
}

impl LengthName {
    /// That length of `bars`.
    #[must_use]
    pub fn of<T: Copy>(self, bars: &FourBar<T>) -> T {
        match self {
            Self::Ground => bars.ground,
            Self::Crank => bars.crank,
            Self::Coupler => bars.coupler,
            Self::Rocker => bars.rocker,
        }
    }

    /// `bars` with that length changed.
    #[must_use]
    pub fn set<T: Copy>(self, bars: &FourBar<T>, length: T) -> FourBar<T> {
        let mut changed = *bars;
        match self {
            Self::Ground => changed.ground = length,
            Self::Crank => changed.crank = length,
            Self::Coupler => changed.coupler = length,
            Self::Rocker => changed.rocker = length,
        }
        changed
    }
}

/// A change of one length and what it brings.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Change {
    /// Which length.
    pub length: LengthName,
    /// Its new value.
    #[serde(rename = "to_m")]
    pub to: f64,
    /// The figures with it.
    #[serde(flatten)]
    pub figures: Figures,
    /// The largest figure over its limit; below 1 all hold.
    #[serde(rename = "enough", serialize_with = "is_enough")]
    pub load: f64,
}

/// Do all figures hold at this largest share of a limit?
fn is_enough<S: Serializer>(load: &f64, serializer: S) -> Result<S::Ok, S::Error> {
    (*load <= 1.0).serialize(serializer)
}

/// The change of one length by at most ±15 % that brings the worst figure lowest relative to its limit; `None` where
/// no change helps by a tenth or more.
///
/// The zero crank angle, the closure and the range given (`drive`, `range`) stay as they are. A grid of changes, finest
/// near none and near the parallelogram, then golden section around the best.
#[must_use]
pub fn most_helpful_change(
    branch: &Branch,
    drive: Drive,
    range: [f64; 2],
    constants: &Constants,
    limits: &Limits,
) -> Option<Change> {
    let judge = |length: LengthName, to: f64| {
        let bars = length.set(branch.bars(), to);
        figures_with(&bars, branch, drive, range, constants).map(|figures| {
            let load = figures.load(limits);
            Change { length, to, figures, load }
        })
    };
    let now = judge(LengthName::Ground, branch.bars().ground)?;
    let best = LengthName::ALL
        .into_iter()
        .filter_map(|length| best_change(length, branch.bars(), |to| judge(length, to)))
        .min_by(|a, b| a.load.total_cmp(&b.load))?;
    (best.load < 0.9 * now.load).then_some(best)
}

fn figures_with(
    bars: &FourBar,
    branch: &Branch,
    drive: Drive,
    range: [f64; 2],
    constants: &Constants,
) -> Option<Figures> {
    let branch = Branch::through(*bars, branch.zero_crank(), branch.closure()).ok()?;
    let stroke = Stroke::on(&branch, drive, range).ok()?;
    let sweep = Sweep::over(&branch, stroke).ok()?;
    Some(Figures::of(&sweep, &constants.resolve(&sweep)))
}

const STEPS: [f64; 8] = [0.15, 0.1, 0.06, 0.03, 0.015, 0.006, 0.002, 0.0005];

fn best_change(
    length: LengthName,
    bars: &FourBar,
    judge: impl Fn(f64) -> Option<Change>,
) -> Option<Change> {
    let now = length.of(bars);
    let opposite = match length {
        LengthName::Ground => bars.coupler,
        LengthName::Crank => bars.rocker,
        LengthName::Coupler => bars.ground,
        LengthName::Rocker => bars.crank,
    };
    let near = |to: f64| (to / now - 1.0).abs() <= 0.15;
    let grid = STEPS.into_iter().flat_map(|s| [now * (1.0 - s), now * (1.0 + s)]).chain([opposite]);
    let best =
        grid.filter(|to| near(*to)).filter_map(&judge).min_by(|a, b| a.load.total_cmp(&b.load))?;
    let reach = 0.5 * (best.to - now);
    let refined =
        golden(best.to - reach, best.to + reach, |to| judge(to).map_or(f64::INFINITY, |c| c.load));
    match judge(refined) {
        Some(finer) if finer.load < best.load => Some(finer),
        _ => Some(best),
    }
}

/// A low point of `f` between `a` and `b` to a thousandth of the bracket, by golden section.
fn golden(a: f64, b: f64, f: impl Fn(f64) -> f64) -> f64 {
    let shrink = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut a, mut b) = (a, b);
    for _ in 0..12 {
        let (x, y) = (b - shrink * (b - a), a + shrink * (b - a));
        if f(x) <= f(y) { b = y } else { a = x }
    }
    0.5 * (a + b)
}
