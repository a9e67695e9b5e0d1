//! Builds drawn at random, one by one, for a program that wants each of them: those that [`super::sample`] counts.

use crate::linkage::FourBar;
use crate::numeric::lane_arithmetic::LANES;
use crate::numeric::parallel;
use crate::numeric::sampling::Sequence;

use super::build::Bench;
use super::constants::{OwnMoves, Rule};
use super::look::builds;
use super::request::Request;
use super::statistics::{REPLICATES, each_replicate};
use super::stroke_grid::StrokeGrid;
use super::tally::Worst;

/// Builds of one replicate between two questions whether to go on: each is solved exactly.
const ROUND: u32 = 64;

/// One build with its worst figures over the stroke.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrawnBuild {
    /// Its lengths, m.
    pub bars: FourBar,
    /// Crank angle in the zero pose less the drawn one, rad.
    pub crank_error: f64,
    /// Its loop closes in every pose of the stroke and in its zero pose.
    pub closes: bool,
    /// Largest |angle error| of the emitted direct joint, rad; π beyond 90 deg, infinite where the loop does not close.
    pub angle_error: f64,
    /// Largest |i / ratio − 1|; infinite where the rocker turns back or the loop does not close.
    pub ratio_error: f64,
    /// Smallest transmission angle, rad; 0 where the loop does not close.
    pub transmission_angle: f64,
    /// The direct joint that fits this build best; `None` where it has none.
    pub own: Option<OwnJoint>,
}

/// The direct joint of one build: its best constants by the rule that the emitted ones were found by (as in
/// [`super::OwnConstants`]), and where its stroke ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OwnJoint {
    /// Motor turn per joint turn, signed.
    pub ratio: f64,
    /// rad.
    pub offset: f64,
    /// Joint turns at both ends of the motor's stroke, ascending, rad.
    pub limits: [f64; 2],
}

/// The first `request.samples` builds, fewer where `go_on` says no; it is asked between rounds with the number done.
///
/// The same seed gives the same builds, and more of them begin with the fewer.
pub fn drawn(request: &Request<'_>, go_on: &(dyn Fn(u64) -> bool + Sync)) -> Vec<DrawnBuild> {
    let grid = StrokeGrid::new(request.branch, &request.joint, request.zeroing, request.turns);
    let rule = Rule::of(request);
    let sequences: Vec<Sequence> =
        (0..REPLICATES).map(|r| Sequence::replicate(request.seed, r)).collect();
    let each = each_replicate(request.samples);
    let wanted = usize::try_from(request.samples).unwrap_or(usize::MAX);
    let (mut found, mut done) = (Vec::new(), 0);
    while done < each && go_on(u64::from(done) * u64::from(REPLICATES)) {
        let count = ROUND.min(each - done);
        let one = |sequence: &Sequence| {
            of_replicate(request, &grid, rule.as_ref(), sequence, [done, count])
        };
        let mut rows: Vec<_> =
            parallel::each(&sequences, one).into_iter().map(Vec::into_iter).collect();
        for _ in 0..count {
            found.extend(rows.iter_mut().filter_map(Iterator::next));
        }
        done += count;
    }
    found.truncate(wanted);
    found
}

fn of_replicate(
    request: &Request<'_>,
    grid: &StrokeGrid,
    rule: Option<&Rule<'_>>,
    sequence: &Sequence,
    [from, count]: [u32; 2],
) -> Vec<DrawnBuild> {
    let mut points = Vec::new();
    sequence.points(from, count, |point| points.push(request.spread.tied(point)));
    let mut bench = Bench::new();
    let mut found = Vec::with_capacity(points.len());
    for chunk in points.chunks(LANES) {
        let rows = request.spread.deviations_of(chunk);
        bench.run(grid, &builds(request.branch.bars(), rows));
        for lane in 0..chunk.len() {
            let deviations = rows.map(|row| row.get(lane).copied().unwrap_or(0.0));
            let own = rule.and_then(|rule| rule.of_deviations(deviations));
            found.push(build(request, deviations, &bench.worst(lane), own));
        }
    }
    found
}

fn build(
    request: &Request<'_>,
    deviations: [f64; 5],
    worst: &Worst<2>,
    own: Option<OwnMoves>,
) -> DrawnBuild {
    let [angle, ratio] = worst.figures.map(|x| if worst.closes { x } else { f64::INFINITY });
    DrawnBuild {
        bars: request.bars_with(deviations),
        crank_error: deviations[4],
        closes: worst.closes,
        angle_error: angle,
        ratio_error: ratio,
        transmission_angle: if worst.closes {
            libm::acos(worst.cosine.clamp(0.0, 1.0))
        } else {
            0.0
        },
        own: own.map(|own| OwnJoint {
            ratio: request.joint.ratio + own.moved[0],
            offset: request.joint.offset + own.moved[1],
            limits: own.limits,
        }),
    }
}
