//! What the tolerances do to a drive of two joints: builds by their worst errors, sizes by their share of them.

use crate::equivalence::Criterion;
use crate::report::drawing::{Axis, Bars, Chart, Form, Ink, Layer};
use crate::report::region_tolerance::drawn;
use crate::report::tolerance::ratio;
use crate::study::{RankedSize, RegionTolerance, ScatteredFigure, figure};
use crate::units::percent;

use super::CHART;

/// The worst of either error over the region, of every build.
pub(in crate::report) fn region_histograms(found: &RegionTolerance) -> Vec<Chart> {
    let figures = found.statistics.iter().flat_map(|s| &s.figures);
    figures.filter_map(|of| histogram(found, of)).collect()
}

fn histogram(found: &RegionTolerance, of: &ScatteredFigure) -> Option<Chart> {
    let samples = found.statistics.as_ref()?.samples;
    let worst = found.worst_case.iter().find(|w| w.criterion == of.criterion)?;
    let counted = of.histogram.as_ref()?;
    let (scale, unit) = match of.criterion {
        Criterion::Angle => (1f64.to_degrees(), "deg"),
        _ => (1e2, "%"),
    };
    let name = of.criterion.title();
    let (limit, bound) = (scale * worst.limit, worst.bound.map(|bound| scale * bound));
    let fine = Fine::new(&counted.counts, scale * counted.top)?;
    let [first, last] = fine.ends()?;
    let right = last.max(limit).max(bound.unwrap_or(0.0));
    // Where all builds stand far from zero, it is left out.
    let left = if first > 0.5 * right { first - 0.1 * (right - first) } else { 0.0 };
    let range = [left, right + 0.04 * (right - left)];
    let bins = fine.bins(range, samples);
    let tallest = bins.iter().map(|bin| bin[2]).fold(0.0, f64::max);
    let (beyond, inside): (Vec<_>, Vec<_>) = bins.into_iter().partition(|bin| bin[0] >= limit);
    let mut layers = vec![Layer(Form::Columns(inside), Ink::Bar, "builds".into())];
    if beyond.iter().any(|bin| bin[2] > 0.0) {
        layers.push(Layer(Form::Columns(beyond), Ink::BarBeyond, "beyond the limit".into()));
    }
    let none = "no build is worse (proved)";
    layers.extend(bound.map(|bound| Layer(Form::Upright(bound), Ink::Direct, none.into())));
    layers.push(Layer(Form::Upright(limit), Ink::Limit, "limit".into()));
    let told = |value: f64| figure(of.criterion, value);
    let bounded = worst.bound.map_or_else(|| "not known".to_owned(), told);
    Some(Chart {
        title: format!("Worst {name} of every build"),
        description: format!(
            "How the worst {name} over the region scatters over {samples} builds drawn at random; no build is worse than {bounded}, the limit is {}.",
            told(worst.limit)
        ),
        size: CHART,
        x: Axis { label: format!("worst {name} over the region, {unit}"), range },
        y: Axis { label: "builds, %".to_owned(), range: [0.0, 1.08 * tallest.max(1e-9)] },
        layers,
    })
}

/// A histogram in many bins, the last of which is all beyond.
struct Fine<'a> {
    inside: &'a [u64],
    /// Of a bin, in the chart's unit.
    width: f64,
}

/// Columns that the whole width of a chart would hold.
const COLUMNS: f64 = 48.0;

impl<'a> Fine<'a> {
    /// With all bins up to `top` but the last, in the chart's unit.
    fn new(counts: &'a [u64], top: f64) -> Option<Self> {
        let (_, inside) = counts.split_last()?;
        let bins = f64::from(u32::try_from(inside.len()).ok()?);
        (bins > 0.0).then(|| Self { inside, width: top / bins })
    }

    /// From and to of each bin that is not empty, with its count.
    fn filled(&self) -> impl Iterator<Item = ([f64; 2], u64)> + '_ {
        let bins = (0_u32..).zip(self.inside).filter(|(_, count)| **count > 0);
        bins.map(|(k, count)| ([k, k + 1].map(|k| f64::from(k) * self.width), *count))
    }

    /// Where the first that is not empty begins and the last one ends.
    fn ends(&self) -> Option<[f64; 2]> {
        let ([first, _], _) = self.filled().next()?;
        Some([first, self.filled().map(|(bin, _)| bin[1]).fold(first, f64::max)])
    }

    /// Columns wide enough to be seen: from, to, and the share of builds, per cent.
    fn bins(&self, [left, right]: [f64; 2], samples: u64) -> Vec<[f64; 3]> {
        let per = ((right - left) / (COLUMNS * self.width)).ceil().max(1.0);
        let mut columns: Vec<[f64; 3]> = Vec::new();
        for ([from, _], count) in self.filled() {
            let share = 100.0 * ratio(count, samples.max(1));
            let column = per * self.width;
            let start = (0.5 + (from / self.width)).div_euclid(per) * column;
            match columns.last_mut().filter(|last| last[0] >= start - 0.5 * column) {
                Some(last) => last[2] += share,
                None => columns.push([start, start + column, share]),
            }
        }
        columns
    }
}

/// Sizes that are drawn as bars.
const FIRST: usize = 8;

/// Which sizes matter most for either error.
pub(in crate::report) fn region_rankings(found: &RegionTolerance) -> Vec<Bars> {
    let angle = ranking(found, Criterion::Angle, |size| size.angle_share);
    let ratio = ranking(found, Criterion::Ratio, |size| size.ratio_share);
    angle.into_iter().chain(ratio).collect()
}

fn ranking(
    found: &RegionTolerance,
    criterion: Criterion,
    share: fn(&RankedSize) -> f64,
) -> Option<Bars> {
    let mut sizes: Vec<&RankedSize> =
        found.ranking.iter().filter(|size| share(size) > 0.0).collect();
    sizes.sort_by(|a, b| share(b).total_cmp(&share(a)));
    let row = |size: &&RankedSize| {
        let words = format!("{} of the spread", percent(share(size)));
        (format!("{} {}", size.name, drawn(size)), share(size), words)
    };
    let rows: Vec<_> = sizes.iter().take(FIRST).map(row).collect();
    let (name, _, words) = rows.first()?;
    let description = format!(
        "Share of the spread of the {}, largest first, to first order. {name}: {words}.",
        criterion.title()
    );
    Some(Bars {
        title: format!("Which sizes matter most for the {}", criterion.title()),
        description,
        rows,
        width: CHART[0],
    })
}
