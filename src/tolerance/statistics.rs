//! Builds drawn at random: how many satisfy the criteria, and how the figures scatter.
//!
//! Sixteen replicates of a quasi-random sequence, each with a random shift of its own, run side by side; the spread
//! between them is the error bar. The same seed gives the same figures whatever the number of threads.

use serde::Serialize;

use crate::linkage::FourBar;
use crate::numeric::parallel;
use crate::numeric::sampling::Sequence;

use super::build::{Bench, Builds};
use super::constants::{OwnConstants, own_constants};
use super::request::Request;
use super::spread::Distribution;
use super::stroke_grid::StrokeGrid;
use super::tally::{BINS, Figure, Holds, Satisfied, Tally};
use crate::numeric::lane_arithmetic::{LANES, Lane};

pub(super) const REPLICATES: u32 = 16;

/// Builds of one replicate in one round.
const ROUND: u32 = 8192;

/// A figure with the error of its estimate (one standard error between replicates).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Estimate {
    /// The figure.
    pub value: f64,
    /// One standard error.
    #[serde(rename = "standard_error")]
    pub error: f64,
}

/// A quantile of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Quantile {
    /// The share of builds below, 0…1.
    pub share: f64,
    /// The figure there.
    #[serde(flatten)]
    pub figure: Estimate,
}

/// A share of builds with its 95 % confidence interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Yield {
    /// `angle`, `ratio`, `transmission_angle`, `closes`, `all`.
    pub name: &'static str,
    /// Share of builds.
    pub share: f64,
    /// 95 % interval.
    #[serde(rename = "interval_95")]
    pub interval: Interval95,
}

/// Lower and upper end of a 95 % confidence interval.
pub type Interval95 = [f64; 2];

/// What was drawn.
#[derive(Clone, Debug, Serialize)]
pub struct Statistics {
    /// Builds drawn.
    pub samples: u64,
    /// Stopped before all were drawn.
    pub stopped: bool,
    /// Same seed, same figures.
    pub seed: u64,
    /// How every figure scatters between its limits.
    pub distribution: Distribution,
    /// Shares of builds that satisfy each criterion, close, and satisfy all.
    pub yields: Vec<Yield>,
    /// The worst angle error over the stroke, rad.
    #[serde(rename = "angle_error_rad")]
    pub angle: Scattered,
    /// The worst ratio error.
    #[serde(rename = "ratio_error")]
    pub ratio: Scattered,
    /// Counts of the worst angle error.
    pub angle_histogram: Histogram,
    /// How the emitted constants scatter from build to build; `None` where no build has any.
    #[serde(skip)]
    pub own: Option<OwnConstants>,
}

/// A figure over all builds.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Scattered {
    /// Its mean.
    pub mean: Estimate,
    /// Its quantiles.
    pub quantiles: Vec<Quantile>,
}

/// Counts in even bins.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Histogram {
    /// Where the bins end that begin at 0, rad.
    #[serde(rename = "top_rad")]
    pub top: f64,
    /// Builds in each; the last count is what lies beyond.
    pub counts: Vec<u64>,
}

/// Draws builds until `request.samples` are done or `go_on` says no; it is asked with the number done between rounds.
pub fn sample(request: &Request<'_>, go_on: &(dyn Fn(u64) -> bool + Sync)) -> Statistics {
    let grid = StrokeGrid::new(request.branch, &request.joint, request.zeroing, request.turns);
    let sequences: Vec<Sequence> =
        (0..REPLICATES).map(|r| Sequence::replicate(request.seed, r)).collect();
    let mut tallies: Vec<Tally> = sequences.iter().map(|_| request.tally()).collect();
    let each = request.each_replicate();
    let (mut done, mut stopped) = (0, false);
    while done < each {
        if !go_on(u64::from(done) * u64::from(REPLICATES)) {
            stopped = true;
            break;
        }
        let count = ROUND.min(each - done);
        let round =
            parallel::each(&sequences, |sequence| request.round(&grid, sequence, done, count));
        for (tally, more) in tallies.iter_mut().zip(&round) {
            tally.merge(more);
        }
        done += count;
    }
    let own = own_constants(request, &sequences, done);
    request.summary(&tallies, stopped, own)
}

impl Request<'_> {
    /// Builds of each replicate.
    pub(super) fn each_replicate(&self) -> u32 {
        let each = self.samples.div_ceil(u64::from(REPLICATES)).clamp(1, u64::from(u32::MAX / 2));
        u32::try_from(each).unwrap_or(u32::MAX / 2)
    }

    fn tally(&self) -> Tally {
        let holds = Holds {
            angle: self.limits.angle,
            ratio: self.limits.ratio,
            cosine: self.limits.transmission_angle.cos(),
        };
        Tally::new(holds, self.tops)
    }

    fn round(&self, grid: &StrokeGrid, sequence: &Sequence, from: u32, count: u32) -> Tally {
        let (mut tally, mut bench) = (self.tally(), Bench::new());
        let mut block = Block::new();
        sequence.points(from, count, |point| {
            block.push(self.spread.tied(point));
            if block.filled == LANES {
                block.run(self, grid, &mut bench, &mut tally);
            }
        });
        block.run(self, grid, &mut bench, &mut tally);
        tally
    }
}

/// Builds waiting for a block to fill: their uniform numbers, a row a variable.
struct Block {
    uniform: [Lane; 5],
    filled: usize,
}

impl Block {
    fn new() -> Self {
        Self { uniform: [[0.5; LANES]; 5], filled: 0 }
    }

    #[inline]
    fn push(&mut self, uniform: [f64; 5]) {
        for (row, u) in self.uniform.iter_mut().zip(uniform) {
            if let Some(slot) = row.get_mut(self.filled) {
                *slot = u;
            }
        }
        self.filled += 1;
    }

    fn run(
        &mut self,
        request: &Request<'_>,
        grid: &StrokeGrid,
        bench: &mut Bench,
        tally: &mut Tally,
    ) {
        let mut rows = self.uniform;
        request.spread.deviate(&mut rows);
        bench.run(grid, &builds(request.branch.bars(), rows));
        tally.add_all((0..self.filled).map(|lane| bench.worst(lane)));
        self.filled = 0;
    }
}

/// The drawn linkage with the deviations of many builds.
pub(super) fn builds(drawn: &FourBar, rows: [Lane; 5]) -> Builds {
    let [crank, coupler, rocker, ground, crank_error] = rows;
    let deviations = [crank, coupler, rocker, ground];
    let mut lengths = [drawn.crank, drawn.coupler, drawn.rocker, drawn.ground].map(|x| [x; LANES]);
    for (length, deviation) in lengths.as_flattened_mut().iter_mut().zip(deviations.as_flattened())
    {
        *length += deviation;
    }
    Builds { lengths, crank_error }
}

const SHARES: [f64; 5] = [0.5, 0.9, 0.95, 0.99, 0.999];

impl Request<'_> {
    fn summary(&self, tallies: &[Tally], stopped: bool, own: Option<OwnConstants>) -> Statistics {
        let mut all = self.tally();
        for tally in tallies {
            all.merge(tally);
        }
        let each =
            |figure: &dyn Fn(&Tally) -> f64| estimate(figure(&all), tallies.iter().map(figure));
        let quantile = |pick: fn(&Tally) -> &Figure, share| Quantile {
            share,
            figure: each(&|t| pick(t).quantile(share)),
        };
        let scattered = |pick: fn(&Tally) -> &Figure| Scattered {
            mean: each(&|t| pick(t).sum / share(t.builds)),
            quantiles: SHARES.map(|share| quantile(pick, share)).to_vec(),
        };
        Statistics {
            samples: all.builds,
            stopped,
            yields: yields(&all.satisfied, all.builds),
            seed: self.seed,
            distribution: self.spread.distribution,
            angle: scattered(|t| &t.angle),
            ratio: scattered(|t| &t.ratio),
            angle_histogram: Histogram { top: self.tops[0], counts: coarse(&all.angle.counts) },
            own,
        }
    }
}

#[allow(clippy::cast_precision_loss, reason = "counts stay far below 2^52")]
fn share(count: u64) -> f64 {
    count as f64
}

fn estimate(value: f64, replicates: impl Iterator<Item = f64>) -> Estimate {
    let values: Vec<f64> = replicates.filter(|x| !x.is_nan()).collect();
    let count = f64::from(u32::try_from(values.len()).unwrap_or(u32::MAX));
    let mean = values.iter().sum::<f64>() / count;
    let square: f64 = values.iter().map(|x| (x - mean).powi(2)).sum();
    let error = if count > 1.0 { (square / (count - 1.0) / count).sqrt() } else { f64::NAN };
    Estimate { value, error }
}

fn yields(satisfied: &Satisfied, builds: u64) -> Vec<Yield> {
    [
        ("angle", satisfied.angle),
        ("ratio", satisfied.ratio),
        ("transmission_angle", satisfied.transmission_angle),
        ("closes", satisfied.closes),
        ("all", satisfied.all),
    ]
    .map(|(name, count)| Yield {
        name,
        share: share(count) / share(builds),
        interval: wilson(share(count), share(builds)),
    })
    .to_vec()
}

/// 95 % confidence interval of a share.
///
/// # Source
/// E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209–212. Builds are drawn more evenly than at random, so that it is on
/// the wide side here.
fn wilson(hits: f64, of: f64) -> Interval95 {
    const Z: f64 = 1.959_963_984_540_054;
    let p = hits / of;
    let middle = p + Z * Z / (2.0 * of);
    let half = Z * (p * (1.0 - p) / of + Z * Z / (4.0 * of * of)).sqrt();
    let scale = 1.0 + Z * Z / of;
    [((middle - half) / scale).max(0.0), ((middle + half) / scale).min(1.0)]
}

/// The histogram in 32 bins and one beyond.
fn coarse(counts: &[u64]) -> Vec<u64> {
    let (inside, beyond) = counts.split_at(BINS.min(counts.len()));
    let mut bins: Vec<u64> = inside.chunks(BINS / 32).map(|chunk| chunk.iter().sum()).collect();
    bins.push(beyond.iter().sum());
    bins
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_interval_of_a_share_matches_a_published_example() {
        // 15 of 148: 0.0624 to 0.1605, R. G. Newcombe, Statist. Med. 17 (1998) 857–872, table I, method 3 (from memory).
        let [low, high] = wilson(15.0, 148.0);
        assert!((low - 0.0624).abs() < 5e-5 && (high - 0.1605).abs() < 5e-5);
    }
}
