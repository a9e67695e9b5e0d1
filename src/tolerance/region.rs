//! Builds of a drive of two joints drawn at random, each judged over the region; and which size matters.

use std::cmp::Ordering;
use std::f64::consts::FRAC_PI_2;
use std::sync::{Mutex, PoisonError};

use crate::equivalence::{
    Criterion, MET_WITHIN, Peak, RegionBuilds, RegionErrors, RegionLimits, RegionWorst, Side,
};
use crate::numeric::sampling::Sequence;

use super::sized::SizeSpread;
use super::spread::Distribution;
use super::statistics::{Drawing, Estimate, Histogram, Quantile, REPLICATES, Scattered, Yield};
use super::tally::{Holds, Tally, Worst};

/// Builds of one replicate between two questions whether to go on: each is looked at in hundreds of poses.
const ROUND: u32 = 64;

/// What to draw.
#[derive(Debug)]
pub struct RegionRequest<'a> {
    /// Builds over the region.
    pub builds: &'a RegionBuilds<'a>,
    /// What a build is held against.
    pub limits: RegionLimits,
    /// How the sizes scatter.
    pub spread: SizeSpread,
    /// Where the histogram of the rate error's norm ends and where that of the angle error does (rad): beyond their certified
    /// bounds, or far beyond their limits.
    pub tops: [f64; 2],
    /// Builds to draw.
    pub samples: u64,
    /// Same seed, same figures.
    pub seed: u64,
}

/// What was drawn.
#[derive(Clone, Debug)]
pub struct RegionStatistics {
    /// Builds drawn.
    pub samples: u64,
    /// Stopped before all were drawn.
    pub stopped: bool,
    /// Same seed, same figures.
    pub seed: u64,
    /// How every size scatters between its limits.
    pub distribution: Distribution,
    /// Shares of builds that satisfy each criterion, reach (`closes`), and satisfy all. A build that does not reach satisfies none.
    pub yields: Vec<Yield>,
    /// How the worst of each figure over the region scatters: the share of a quantile is that of builds which are no worse. NaN
    /// where that build does not reach.
    pub figures: Vec<(Criterion, Vec<Quantile>)>,
    /// The same of the two errors, counted.
    pub histograms: Vec<(Criterion, Histogram)>,
    /// The build that was worst: one that does not reach, else furthest over or nearest to a limit.
    pub worst: Option<DrawnRegionBuild>,
}

/// One build.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnRegionBuild {
    /// Its sizes.
    pub sizes: Vec<f64>,
    /// Its worst figures; `None` where it does not reach.
    pub worst: Option<RegionWorst>,
    /// The largest of figure over limit; infinite where it does not reach.
    load: f64,
}

impl DrawnRegionBuild {
    fn is_beyond(&self, other: &Self) -> bool {
        let by_sizes = || {
            let mut pairs = self.sizes.iter().zip(&other.sizes).map(|(a, b)| a.total_cmp(b));
            pairs.find(|order| *order != Ordering::Equal).unwrap_or(Ordering::Equal)
        };
        // Equals are told apart, so that the order of work does not show.
        self.load.total_cmp(&other.load).then_with(by_sizes) == Ordering::Greater
    }

    /// The criterion that it is nearest to, or furthest over, with its figure and place; `None` where it does not reach.
    #[must_use]
    pub fn leading(&self, limits: &RegionLimits) -> Option<(Criterion, Peak)> {
        let worst = self.worst.as_ref()?;
        let all = RegionBuilds::CRITERIA.into_iter().zip(worst);
        let told = all.filter_map(|(criterion, peak)| {
            let peak = (*peak)?;
            Some((criterion, peak, load(criterion, peak.value, limits)?))
        });
        let (criterion, peak, _) = told.max_by(|a, b| a.2.total_cmp(&b.2))?;
        Some((criterion, peak))
    }
}

fn is_error(criterion: Criterion) -> bool {
    matches!(criterion, Criterion::Angle | Criterion::Ratio)
}

/// A figure as what must not be large: a margin as what it lacks of a right angle.
fn as_ceiling(criterion: Criterion, value: f64) -> f64 {
    match criterion.side() {
        Side::AtMost => value,
        Side::AtLeast => FRAC_PI_2 - value,
    }
}

fn load(criterion: Criterion, value: f64, limits: &RegionLimits) -> Option<f64> {
    let limit = as_ceiling(criterion, limits.of(criterion)?);
    let value = as_ceiling(criterion, value);
    Some(if limit > 0.0 { value / limit } else { f64::INFINITY })
}

/// Draws builds until `request.samples` are done or `go_on` says no; it is asked with the number done between rounds.
#[must_use]
pub fn sample_region(
    request: &RegionRequest<'_>,
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> RegionStatistics {
    let sequences: Vec<Sequence> =
        (0..REPLICATES).map(|r| Sequence::replicate(request.seed, r)).collect();
    let as_drawn = request.builds.drawn_sizes();
    let beyond_all: Mutex<Option<DrawnRegionBuild>> = Mutex::new(None);
    let round = |sequence: &Sequence, from: u32, count: u32| {
        let mut tally = request.tally();
        let mut beyond: Option<DrawnRegionBuild> = None;
        sequence.wide_points(from, count, request.spread.dimensions(), |point| {
            let deviations = request.spread.deviations_of(point);
            let sizes: Vec<f64> = as_drawn.iter().zip(&deviations).map(|(x, d)| x + d).collect();
            let build = request.build(sizes);
            tally.add_all(std::iter::once(counted(&build)));
            keep(&mut beyond, build);
        });
        if let Some(build) = beyond {
            keep(&mut beyond_all.lock().unwrap_or_else(PoisonError::into_inner), build);
        }
        tally
    };
    let of = RegionBuilds::CRITERIA;
    let samples = request.samples;
    let drawing = Drawing { sequences: &sequences, samples, round: ROUND, of };
    let drawn = drawing.run(&|| request.tally(), &round, go_on);
    let found = drawn.summary(request.seed, request.spread.distribution);
    let errors = of.into_iter().enumerate().filter(|(_, criterion)| is_error(*criterion));
    let histograms = errors.map(|(k, criterion)| (criterion, drawn.histogram(k))).collect();
    let mut yields: Vec<Yield> = Vec::new();
    for one in found.yields {
        let is_told = yields.iter().any(|told| told.name == one.name);
        if !is_told && request.is_judged(one.name) {
            yields.push(one);
        }
    }
    let is_there = |of: Criterion| request.builds.is_there(of);
    let figures = found.figures.into_iter().filter(|(criterion, _)| is_there(*criterion));
    RegionStatistics {
        samples: found.samples,
        stopped: found.stopped,
        seed: found.seed,
        distribution: found.distribution,
        yields,
        figures: figures.map(|(criterion, of)| (criterion, quantiles(criterion, of))).collect(),
        histograms,
        worst: beyond_all.into_inner().unwrap_or_else(PoisonError::into_inner),
    }
}

fn keep(slot: &mut Option<DrawnRegionBuild>, build: DrawnRegionBuild) {
    if slot.as_ref().is_none_or(|kept| build.is_beyond(kept)) {
        *slot = Some(build);
    }
}

/// A build as a tally counts it.
fn counted(build: &DrawnRegionBuild) -> Worst<5> {
    let Some(worst) = &build.worst else {
        return Worst { closes: false, figures: [f64::INFINITY; 5], cosine: 1.0 };
    };
    let mut figures = [0.0; 5];
    for ((slot, criterion), peak) in figures.iter_mut().zip(RegionBuilds::CRITERIA).zip(worst) {
        *slot = peak.map_or(0.0, |peak| as_ceiling(criterion, peak.value));
    }
    Worst { closes: true, figures, cosine: 0.0 }
}

/// Margins turned back.
fn quantiles(criterion: Criterion, of: Scattered) -> Vec<Quantile> {
    let told = |value: f64| if value.is_finite() { as_ceiling(criterion, value) } else { f64::NAN };
    let one = |quantile: Quantile| {
        let Estimate { value, error } = quantile.figure;
        Quantile { figure: Estimate { value: told(value), error }, ..quantile }
    };
    of.quantiles.into_iter().map(one).collect()
}

impl RegionRequest<'_> {
    fn build(&self, sizes: Vec<f64>) -> DrawnRegionBuild {
        let worst = self.builds.worst(&sizes);
        let load = worst.as_ref().map_or(f64::INFINITY, |worst| {
            let all = RegionBuilds::CRITERIA.into_iter().zip(worst);
            let loads = all.filter_map(|(of, peak)| load(of, (*peak)?.value, &self.limits));
            loads.fold(0.0, f64::max)
        });
        DrawnRegionBuild { sizes, worst, load }
    }

    /// Is a share of builds told by this name?
    fn is_judged(&self, name: &str) -> bool {
        let of = RegionBuilds::CRITERIA.into_iter().find(|criterion| criterion.name() == name);
        of.is_none_or(|of| self.builds.is_there(of) && self.limits.of(of).is_some())
    }

    fn tally(&self) -> Tally<5> {
        let limit = |criterion: Criterion| {
            let limit = self.limits.of(criterion);
            limit.map_or(f64::INFINITY, |limit| as_ceiling(criterion, limit) + MET_WITHIN)
        };
        let top = |criterion| match criterion {
            Criterion::Ratio => self.tops[0],
            Criterion::Angle => self.tops[1],
            _ => FRAC_PI_2,
        };
        let holds = Holds { figures: RegionBuilds::CRITERIA.map(limit), cosine: 1.0 };
        Tally::new(holds, RegionBuilds::CRITERIA.map(top))
    }
}

/// What one size does to both joints, first order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RegionContribution {
    /// Its place in the list of sizes.
    pub size: usize,
    /// How fast the angle error of either joint moves with it where it does so fastest, rad per m or per rad.
    pub angle_slope: f64,
    /// The norm of what E moves by, per m or per rad, where it is largest.
    pub ratio_slope: f64,
    /// Share of the variance of the angle error where that is largest, 0…1.
    pub angle_share: f64,
    /// Share of all that scatters E where that is most, 0…1: of the sum of squared norms.
    pub ratio_share: f64,
}

/// A size is moved by this to both sides, m or rad.
const STEP: f64 = 1e-6;

/// The sizes that scatter, what matters most for either error first; empty where the drawn drive does not reach. Differences of
/// neighbouring builds: good for a ranking, not for a verdict.
#[must_use]
pub fn region_ranking(builds: &RegionBuilds<'_>, spread: &SizeSpread) -> Vec<RegionContribution> {
    let moved: Option<Vec<(usize, f64, Vec<RegionErrors>)>> = spread
        .scattering()
        .map(|size| {
            let half_width = spread.deviations.get(size)?.half_width();
            Some((size, half_width, slopes(builds, size)?))
        })
        .collect();
    let moved = moved.unwrap_or_default();
    let poses = moved.first().map_or(0, |(.., slopes)| slopes.len());
    let effects = |of: &dyn Fn(&RegionErrors) -> f64, pose: usize| -> Vec<f64> {
        let effect = |(_, half, slopes): &(usize, f64, Vec<RegionErrors>)| {
            slopes.get(pose).map_or(0.0, |slope| (of(slope) * half).powi(2))
        };
        moved.iter().map(effect).collect()
    };
    let of_angles = (0..poses)
        .flat_map(|pose| [effects(&|e| e.angles[0], pose), effects(&|e| e.angles[1], pose)]);
    let angle_shares = shares_where_most(of_angles);
    let ratio_shares = shares_where_most((0..poses).map(|pose| effects(&RegionErrors::norm, pose)));
    let most = |slopes: &[RegionErrors], of: &dyn Fn(&RegionErrors) -> f64| {
        slopes.iter().map(of).fold(0.0, f64::max)
    };
    let shares = angle_shares.into_iter().zip(ratio_shares);
    let mut ranked: Vec<RegionContribution> = moved
        .iter()
        .zip(shares)
        .map(|((size, _, slopes), (angle_share, ratio_share))| RegionContribution {
            size: *size,
            angle_slope: most(slopes, &|e| e.angles[0].abs().max(e.angles[1].abs())),
            ratio_slope: most(slopes, &RegionErrors::norm),
            angle_share,
            ratio_share,
        })
        .collect();
    let share = |c: &RegionContribution| c.angle_share.max(c.ratio_share);
    ranked.sort_by(|a, b| share(b).total_cmp(&share(a)));
    ranked
}

/// Derivatives of all errors by one size in every node.
fn slopes(builds: &RegionBuilds<'_>, size: usize) -> Option<Vec<RegionErrors>> {
    let beside = |step: f64| {
        let mut sizes = builds.drawn_sizes();
        *sizes.get_mut(size)? += step;
        builds.errors(&sizes)
    };
    let slope = |up: f64, down: f64| (up - down) / (2.0 * STEP);
    let both = |up: [f64; 2], down: [f64; 2]| [slope(up[0], down[0]), slope(up[1], down[1])];
    let one = |(up, down): (RegionErrors, RegionErrors)| RegionErrors {
        rates: [both(up.rates[0], down.rates[0]), both(up.rates[1], down.rates[1])],
        angles: both(up.angles, down.angles),
    };
    Some(beside(STEP)?.into_iter().zip(beside(-STEP)?).map(one).collect())
}

/// Of lists of parts, the one with the largest sum, as shares of it.
fn shares_where_most(all: impl Iterator<Item = Vec<f64>>) -> Vec<f64> {
    let sum = |parts: &Vec<f64>| parts.iter().sum::<f64>();
    let most = all.max_by(|a, b| sum(a).total_cmp(&sum(b))).unwrap_or_default();
    let total = sum(&most);
    most.into_iter().map(|part| if total > 0.0 { part / total } else { 0.0 }).collect()
}
