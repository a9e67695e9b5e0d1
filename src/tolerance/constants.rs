//! The constants of the direct joint from build to build: what a training run should scatter the emitted ones by.
//!
//! Each build looked at gets its own best constants by the rule that the drawn linkage's were found by: the least worst
//! angle error over the stroke, the offset held where the design gives it. What a build's differ from the drawn
//! linkage's own best is put on the emitted constants, a share on the ratio, an angle on the offset. So a ratio that the
//! design gives (1 for a parallelogram) scatters about the given one; an offset that the design gives stays, and moves
//! only by what the build's rocker stands off in the zero pose where errors count from the drawing.

use crate::equivalence::{Constants, DirectJoint, Zeroing};
use crate::linkage::{Branch, Drive, Stroke, Sweep};
use crate::numeric::parallel;
use crate::numeric::sampling::Sequence;

use super::request::Request;
use super::spread::{Deviation, Spread};
use super::tally::Moments;
use crate::numeric::lane_arithmetic::{LANES, Lane};

/// Builds looked at from each sequence; far fewer than are drawn, since each is solved exactly.
pub(super) const EACH: u32 = 16;

/// How a figure scatters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub deviation: f64,
    /// Smallest and largest seen.
    pub seen: [f64; 2],
}

/// How the constants scatter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OwnConstants {
    /// Builds looked at that close over the stroke; the corners of the tolerances come on top for the smallest and largest.
    pub builds: u64,
    /// Transmission ratio.
    pub ratio: Scatter,
    /// Offset, rad.
    pub offset: Scatter,
    /// Correlation of the two, 0 where one does not scatter.
    pub correlation: f64,
}

/// The constants over the first builds of each of `sequences` and over the corners; `None` where the drawn linkage has
/// no best constants, or no build closes.
pub(super) fn own_constants(
    request: &Request<'_>,
    sequences: &[Sequence],
    each: u32,
) -> Option<OwnConstants> {
    let rule = Rule::of(request)?;
    let centre = [request.joint.ratio, request.joint.offset];
    let moved = |deviations| Some(rule.of_deviations(deviations)?.moved);
    let (builds, [ratio, offset], correlation) =
        scatter(&request.spread, sequences, each, centre, &moved)?;
    Some(OwnConstants { builds, ratio, offset, correlation })
}

/// How two figures scatter that lie about `centre` by what `moved` says of a build: builds looked at that have them, each
/// figure, their correlation.
pub(super) fn scatter(
    spread: &Spread,
    sequences: &[Sequence],
    each: u32,
    centre: [f64; 2],
    moved: &(dyn Fn([f64; 5]) -> Option<[f64; 2]> + Sync),
) -> Option<(u64, [Scatter; 2], f64)> {
    let of_builds = parallel::each(sequences, |sequence| {
        let first = first_builds(spread, sequence, each.min(EACH));
        first.into_iter().filter_map(moved).collect::<Vec<_>>()
    });
    let corners: Vec<[f64; 2]> = corners(spread).filter_map(moved).collect();
    scattered(&of_builds, &corners, centre)
}

/// The same from what `moved` said of builds, by replicates, and of corners, which count for the smallest and largest only.
pub(super) fn scattered(
    of_builds: &[Vec<[f64; 2]>],
    corners: &[[f64; 2]],
    centre: [f64; 2],
) -> Option<(u64, [Scatter; 2], f64)> {
    let mut moments = Moments::default();
    moments.add_all(of_builds.iter().flatten().copied());
    let seen = of_builds.iter().flatten().chain(corners);
    let [first, second] = seen.fold([[f64::INFINITY, f64::NEG_INFINITY]; 2], |[r, o], [x, y]| {
        [[r[0].min(*x), r[1].max(*x)], [o[0].min(*y), o[1].max(*y)]]
    });
    let ([m0, m1], [d0, d1]) = (moments.mean(), moments.deviation());
    let scatter = |centre: f64, mean: f64, deviation: f64, range: [f64; 2]| Scatter {
        mean: centre + mean,
        deviation,
        seen: range.map(|x| centre + x),
    };
    let builds = u64::try_from(of_builds.iter().map(Vec::len).sum::<usize>()).ok()?;
    let both = [scatter(centre[0], m0, d0, first), scatter(centre[1], m1, d1, second)];
    (builds > 0).then(|| (builds, both, moments.correlation()))
}

/// Deviations of the first builds of a sequence.
fn first_builds(spread: &Spread, sequence: &Sequence, count: u32) -> Vec<[f64; 5]> {
    let mut points = Vec::new();
    sequence.points(0, count, |point| points.push(spread.tied(point)));
    let deviations = points.chunks(LANES).flat_map(|chunk| {
        let rows = spread.deviations_of(chunk);
        let of = move |lane: usize| rows.map(|row: Lane| row.get(lane).copied().unwrap_or(0.0));
        (0..chunk.len()).map(of)
    });
    deviations.collect()
}

/// Deviations of the corners of the tolerances.
fn corners(spread: &Spread) -> impl Iterator<Item = [f64; 5]> {
    let at = |corner: u32| {
        let mut bit = 0;
        spread.deviations.map(|Deviation { lower, upper }| {
            bit += 1;
            if corner >> (bit - 1) & 1 == 0 { lower } else { upper }
        })
    };
    (0..32).map(at)
}

/// What the direct joint of one build is.
pub(super) struct OwnMoves {
    /// Its ratio and offset less the emitted ones.
    pub(super) moved: [f64; 2],
    /// Its joint turns at the ends of the stroke, ascending, rad.
    pub(super) limits: [f64; 2],
}

/// How the constants of a build are found.
pub(super) struct Rule<'a> {
    request: &'a Request<'a>,
    constants: Constants,
    /// The drawn linkage's own best.
    drawn: DirectJoint,
}

impl<'a> Rule<'a> {
    pub(super) fn of(request: &'a Request<'a>) -> Option<Self> {
        let constants = Constants { ratio: None, offset: request.given_offset };
        let (drawn, _) = best(&constants, request.branch, request.turns)?;
        Some(Self { request, constants, drawn })
    }

    /// Of the build with these deviations; `None` where it has no constants.
    pub(super) fn of_deviations(&self, deviations: [f64; 5]) -> Option<OwnMoves> {
        let (drawn, joint) = (self.request.branch, self.request.joint);
        let (bars, zero) = (self.request.bars_with(deviations), drawn.zero_crank() + deviations[4]);
        let branch = Branch::through(bars, zero, drawn.closure()).ok()?;
        let (own, stroke) = best(&self.constants, &branch, self.request.turns)?;
        let off = match self.request.zeroing {
            Zeroing::OnEachRobot => 0.0,
            Zeroing::AsDrawn => {
                libm::remainder(branch.zero_rocker() - drawn.zero_rocker(), std::f64::consts::TAU)
            }
        };
        let share = own.ratio / self.drawn.ratio - 1.0;
        let moved = [joint.ratio * share, own.offset - self.drawn.offset + off];
        let mut limits = stroke.joint.map(|turn| turn + off);
        limits.sort_by(f64::total_cmp);
        moved.iter().all(|x| x.is_finite()).then_some(OwnMoves { moved, limits })
    }
}

fn best(constants: &Constants, branch: &Branch, turns: [f64; 2]) -> Option<(DirectJoint, Stroke)> {
    let stroke = Stroke::on(branch, Drive::Motor, turns).ok()?;
    Some((constants.resolve(&Sweep::over(branch, stroke).ok()?), stroke))
}
