//! What the tolerances do: builds by their worst error, lengths by their share of it.

use crate::equivalence::Criterion;
use crate::report::drawing::{Bars, Chart, Histogram, Point};
use crate::report::tolerance::{deviation, of_spread};
use crate::study::ToleranceFindings;
use crate::units::degrees;

/// The worst angle error of every build.
pub(in crate::report) fn histogram(found: &ToleranceFindings, size: Point) -> Option<Chart> {
    let statistics = found.statistics.as_ref()?;
    let worst = found.worst.iter().find(|w| w.criterion == Criterion::Angle).and_then(|w| w.bound);
    let histogram = Histogram {
        title: "Worst angle error of every build".to_owned(),
        description: format!(
            "How the worst angle error over the stroke scatters over {} builds drawn at random; no build is worse than {}, the limit is {}.",
            statistics.samples,
            worst.map_or_else(|| "not known".to_owned(), degrees),
            degrees(found.limits.angle)
        ),
        label: "worst angle error over the stroke, deg".to_owned(),
        bins: histogram_bins(found),
        limit: found.limits.angle.to_degrees(),
        certified: worst.map(f64::to_degrees),
    };
    Some(histogram.chart(size))
}

/// From and to (deg), and the share of builds in between, per cent.
pub(in crate::report) fn histogram_bins(found: &ToleranceFindings) -> Vec<[f64; 3]> {
    let Some(statistics) = &found.statistics else { return Vec::new() };
    let inside = statistics.angle_histogram.get(..32).unwrap_or_default();
    let width = found.histogram_top.to_degrees() / 32.0;
    let all = share_base(statistics.samples).max(1.0);
    let bin = |(k, count): (u32, &u64)| {
        let from = f64::from(k) * width;
        [from, from + width, 100.0 * share_base(*count) / all]
    };
    (0..32).zip(inside).map(bin).collect()
}

#[allow(clippy::cast_precision_loss, reason = "counts stay far below 2^52")]
fn share_base(count: u64) -> f64 {
    count as f64
}

/// Which length matters most.
pub(in crate::report) fn ranking(found: &ToleranceFindings, width: f64) -> Option<Bars> {
    let any = found.ranking.iter().any(|c| c.share > 0.0);
    let rows = found.ranking.iter().map(|c| {
        let name = format!("{} {}", c.variable.name(), deviation(found, c.variable));
        (name, c.share, format!("{} of the spread", of_spread(c)))
    });
    let rows: Vec<_> = rows.collect();
    let first = rows.first().map_or(String::new(), |r| format!("{}: {}", r.0, r.2));
    any.then(|| Bars {
        title: "Which length matters most".to_owned(),
        description: format!("Share of the angle error's spread, largest first. {first}."),
        rows,
        width,
    })
}
