//! Builds drawn at random: how many satisfy the criteria, and how the figures scatter.
//!
//! Sixteen replicates of a quasi-random sequence, each with a random shift of its own, run side by side; the spread
//! between them is the error bar. The same seed gives the same figures whatever the number of threads.

use serde::{Serialize, Serializer};
use serde_json::json;

use crate::equivalence::Criterion;
use crate::numeric::parallel;
use crate::numeric::sampling::Sequence;

use super::constants::{OwnConstants, Scatter, own_constants};
use super::look::{Look, OfJoint, OfPad};
use super::pad::{self, PadGrid, own_multiplier};
use super::request::Request;
use super::spread::{Distribution, Spread};
use super::stroke_grid::StrokeGrid;
use super::tally::{BINS, Figure, Holds, Tally};
use crate::numeric::lane_arithmetic::{LANES, Lane};

pub(super) const REPLICATES: u32 = 16;

/// Builds of one replicate in one round.
pub(super) const ROUND: u32 = 8192;

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
    /// `angle`, `ratio`, `tilt`, `shift`, `opening`, `grip`, `transmission_angle`, `closes`, `all`.
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
#[derive(Clone, Debug)]
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
    /// The worst of each figure over the stroke, the one to lead with first: angle and ratio error of a joint; tilt, shift,
    /// opening and grip error of a pad.
    pub figures: Vec<(Criterion, Scattered)>,
    /// Counts of the first of them, rad.
    pub histogram: Histogram,
    /// At how many even poses each build was seen; `None` where its worst poses were looked for.
    pub poses: Option<u32>,
    /// How the emitted constants scatter from build to build; `None` where no build has any.
    pub own: Option<OwnConstants>,
    /// How the multiplier of a counter-turning pair does, and over how many builds.
    pub own_multiplier: Option<(u64, Scatter)>,
}

impl Statistics {
    /// How one figure scatters; `None` where it is not of what was drawn.
    #[must_use]
    pub fn of(&self, criterion: Criterion) -> Option<&Scattered> {
        self.figures.iter().find(|(of, _)| *of == criterion).map(|(_, scattered)| scattered)
    }
}

impl Serialize for Statistics {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let histogram_of = |criterion| self.of(criterion).map(|_| &self.histogram);
        let told = json!({
            "samples": self.samples,
            "stopped": self.stopped,
            "seed": self.seed,
            "distribution": self.distribution,
            "poses": self.poses,
            "yields": self.yields,
            "angle_error_rad": self.of(Criterion::Angle),
            "ratio_error": self.of(Criterion::Ratio),
            "tilt_rad": self.of(Criterion::Tilt),
            "shift_m": self.of(Criterion::Shift),
            "opening_m": self.of(Criterion::Opening),
            "grip": self.of(Criterion::Grip),
            "angle_histogram": histogram_of(Criterion::Angle),
            "tilt_histogram": histogram_of(Criterion::Tilt),
        });
        told.serialize(serializer)
    }
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
    /// Where the bins end that begin at 0, in the figure's unit: rad of an angle.
    #[serde(rename = "top_rad")]
    pub top: f64,
    /// Builds in each; the last count is what lies beyond.
    pub counts: Vec<u64>,
}

/// Draws builds until `request.samples` are done or `go_on` says no; it is asked with the number done between rounds.
pub fn sample(request: &Request<'_>, go_on: &(dyn Fn(u64) -> bool + Sync)) -> Statistics {
    let sequences: Vec<Sequence> =
        (0..REPLICATES).map(|r| Sequence::replicate(request.seed, r)).collect();
    let (seed, distribution) = (request.seed, request.spread.distribution);
    let Some(finger) = request.finger else {
        let look = &OfJoint(grid(request));
        let drawn = Draw { request, sequences: &sequences, look }.run(go_on);
        let own = own_constants(request, &sequences, drawn.each);
        return Statistics { own, ..drawn.summary(seed, distribution) };
    };
    let look = &OfPad(PadGrid::new(request, finger));
    let drawn = Draw { request, sequences: &sequences, look }.run(go_on);
    let own_multiplier = own_multiplier(request, &sequences, drawn.each);
    let poses = Some(pad::poses(request.turns));
    Statistics { own_multiplier, poses, ..drawn.summary(seed, distribution) }
}

fn grid(request: &Request<'_>) -> StrokeGrid {
    StrokeGrid::new(request.branch, &request.joint, request.zeroing, request.turns)
}

/// Builds of each replicate.
pub(super) fn each_replicate(samples: u64) -> u32 {
    let each = samples.div_ceil(u64::from(REPLICATES)).clamp(1, u64::from(u32::MAX / 2));
    u32::try_from(each).unwrap_or(u32::MAX / 2)
}

/// Builds of each replicate, one more for the first where they do not share evenly.
fn shares(samples: u64) -> impl Iterator<Item = u32> {
    let (each, over) = (samples / u64::from(REPLICATES), samples % u64::from(REPLICATES));
    (0..REPLICATES)
        .map(move |k| u32::try_from(each + u64::from(u64::from(k) < over)).unwrap_or(u32::MAX / 2))
}

/// Rounds of all replicates, whatever is looked at in each build.
pub(super) struct Drawing<'a, const N: usize> {
    pub(super) sequences: &'a [Sequence],
    /// Builds of all of them.
    pub(super) samples: u64,
    /// Builds of one replicate between two questions whether to go on.
    pub(super) round: u32,
    /// What is looked at.
    pub(super) of: [Criterion; N],
}

impl<const N: usize> Drawing<'_, N> {
    /// Draws until all are done or `go_on` says no: `round` counts so many builds of a sequence from a number on.
    pub(super) fn run(
        &self,
        tally: &dyn Fn() -> Tally<N>,
        round: &(dyn Fn(&Sequence, u32, u32) -> Tally<N> + Sync),
        go_on: &(dyn Fn(u64) -> bool + Sync),
    ) -> Drawn<N> {
        let mut tallies: Vec<Tally<N>> = self.sequences.iter().map(|_| tally()).collect();
        let each = each_replicate(self.samples);
        let shares: Vec<(&Sequence, u32)> =
            self.sequences.iter().zip(shares(self.samples)).collect();
        let (mut done, mut stopped) = (0, false);
        while done < each {
            if !go_on(u64::from(done) * u64::from(REPLICATES)) {
                stopped = true;
                break;
            }
            // The first have the most, so that those with builds left stand before the others.
            let left = shares.iter().map(|(one, share)| (*one, share.saturating_sub(done)));
            let left: Vec<(&Sequence, u32)> = left.filter(|(_, count)| *count > 0).collect();
            let found =
                parallel::each(&left, |(one, left)| round(one, done, self.round.min(*left)));
            for (tally, more) in tallies.iter_mut().zip(&found) {
                tally.merge(more);
            }
            done += self.round.min(each - done);
        }
        let mut all = tally();
        tallies.iter().for_each(|tally| all.merge(tally));
        Drawn { of: self.of, tallies, all, each: done, stopped }
    }
}

/// Builds to draw.
struct Draw<'a, L> {
    request: &'a Request<'a>,
    sequences: &'a [Sequence],
    look: &'a L,
}

/// Builds drawn.
pub(super) struct Drawn<const N: usize> {
    of: [Criterion; N],
    /// A replicate each.
    tallies: Vec<Tally<N>>,
    /// All of them.
    all: Tally<N>,
    each: u32,
    stopped: bool,
}

impl<L> Draw<'_, L> {
    fn run<const N: usize>(&self, go_on: &(dyn Fn(u64) -> bool + Sync)) -> Drawn<N>
    where
        L: Look<N> + Sync,
    {
        let samples = self.request.samples;
        let drawing = Drawing { sequences: self.sequences, samples, round: ROUND, of: L::OF };
        drawing.run(
            &|| self.tally(),
            &|sequence, from, count| self.round(sequence, from, count),
            go_on,
        )
    }

    fn tally<const N: usize>(&self) -> Tally<N>
    where
        L: Look<N>,
    {
        let holds = Holds {
            figures: L::OF.map(|criterion| self.request.limit(criterion)),
            cosine: self.request.limits.transmission_angle.cos(),
        };
        Tally::new(holds, L::OF.map(|criterion| self.request.top(criterion)))
    }

    fn round<const N: usize>(&self, sequence: &Sequence, from: u32, count: u32) -> Tally<N>
    where
        L: Look<N>,
    {
        let (mut tally, mut bench) = (self.tally(), L::bench());
        let mut block = Block::new();
        let request = self.request;
        let mut work = |block: &mut Block| {
            let (rows, filled) = block.take(&request.spread);
            self.look.count(&mut bench, request.branch.bars(), rows, filled, &mut tally);
        };
        sequence.points(from, count, |point| {
            block.push(request.spread.tied(point));
            if block.filled == LANES {
                work(&mut block);
            }
        });
        work(&mut block);
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

    /// The deviations of the builds that have come, and how many these are; empty again.
    fn take(&mut self, spread: &Spread) -> ([Lane; 5], usize) {
        let mut rows = self.uniform;
        spread.deviate(&mut rows);
        (rows, std::mem::take(&mut self.filled))
    }
}

const SHARES: [f64; 5] = [0.5, 0.9, 0.95, 0.99, 0.999];

impl<const N: usize> Drawn<N> {
    /// Builds of each replicate.
    pub(super) fn each(&self) -> u32 {
        self.each
    }

    pub(super) fn summary(&self, seed: u64, distribution: Distribution) -> Statistics {
        let figures: Vec<(Criterion, Scattered)> =
            self.of.into_iter().enumerate().map(|(k, of)| (of, self.scattered(k))).collect();
        let fine = self.histogram(0);
        Statistics {
            samples: self.all.builds,
            stopped: self.stopped,
            yields: self.yields(),
            seed,
            distribution,
            figures,
            histogram: Histogram { top: fine.top, counts: coarse(&fine.counts) },
            poses: None,
            own: None,
            own_multiplier: None,
        }
    }

    /// How the figure of a criterion scatters, in all its bins.
    pub(super) fn histogram(&self, index: usize) -> Histogram {
        let figure = self.all.figures.get(index);
        Histogram {
            top: figure.map_or(0.0, |figure| figure.top),
            counts: figure.map_or_else(Vec::new, |figure| figure.counts.clone()),
        }
    }

    fn scattered(&self, index: usize) -> Scattered {
        let each = |of: &dyn Fn(&Tally<N>, &Figure) -> f64| {
            let figure =
                |t: &Tally<N>| t.figures.get(index).map_or(f64::NAN, |figure| of(t, figure));
            let drawn = self.tallies.iter().filter(|tally| tally.builds > 0);
            estimate(figure(&self.all), drawn.map(figure))
        };
        let quantile = |share| Quantile { share, figure: each(&|_, f| f.quantile(share)) };
        Scattered {
            mean: each(&|t, f| f.sum / share(t.builds)),
            quantiles: SHARES.map(quantile).to_vec(),
        }
    }

    fn yields(&self) -> Vec<Yield> {
        let (satisfied, builds) = (&self.all.satisfied, self.all.builds);
        let of = self.of.into_iter().map(Criterion::name).zip(satisfied.figures);
        of.chain([
            (Criterion::TransmissionAngle.name(), satisfied.transmission_angle),
            ("closes", satisfied.closes),
            ("all", satisfied.all),
        ])
        .map(|(name, count)| Yield {
            name,
            share: share(count) / share(builds),
            interval: wilson(share(count), share(builds)),
        })
        .collect()
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
