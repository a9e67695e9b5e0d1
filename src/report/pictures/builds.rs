//! What the tolerances do: builds by their worst error, lengths by their share of it.

use crate::report::drawing::{Axis, Bars, Chart, Form, Ink, Layer};
use crate::report::drawn_builds::of_spread;
use crate::report::tolerance::{deviation, leading, ratio, size_word};
use crate::study::ToleranceFindings;
use crate::units::degrees;

use super::CHART;

/// The worst of the figure to lead with, of every build.
pub(in crate::report) fn histogram(found: &ToleranceFindings) -> Option<Chart> {
    let samples = found.statistics.as_ref()?.samples;
    let leading = leading(found)?;
    let name = leading.criterion.title();
    let limit = leading.limit.to_degrees();
    let certified = leading.bound.map(f64::to_degrees).filter(|c| c.is_finite());
    let bins = histogram_bins(found);
    let tallest = bins.iter().map(|b| b[2]).fold(0.0, f64::max);
    let last = bins.last().map_or(0.0, |b| b[1]);
    let corner = leading.corner.map(f64::to_degrees).filter(|c| c.is_finite());
    let right = last.max(limit).max(certified.or(corner).unwrap_or(0.0)) * 1.04;
    let (beyond, inside): (Vec<_>, Vec<_>) = bins.into_iter().partition(|b| b[0] >= limit);
    let mut layers = vec![Layer(Form::Columns(inside), Ink::Bar, "builds".into())];
    if beyond.iter().any(|b| b[2] > 0.0) {
        layers.push(Layer(Form::Columns(beyond), Ink::BarBeyond, "beyond the limit".into()));
    }
    let proved = "no build is worse (proved)";
    layers.extend(certified.map(|worst| Layer(Form::Upright(worst), Ink::Direct, proved.into())));
    let corner = corner
        .map(|worst| Layer(Form::Upright(worst), Ink::Direct, "worst corner (computed)".into()));
    layers.extend(corner);
    layers.push(Layer(Form::Upright(limit), Ink::Limit, "limit".into()));
    let worst = match (leading.bound, leading.corner) {
        (Some(bound), _) => format!("no build is worse than {}", degrees(bound)),
        (None, Some(corner)) => {
            format!("the worst corner of the tolerances is at {} (computed)", degrees(corner))
        }
        (None, None) => "no build is worse than not known".to_owned(),
    };
    let limit = degrees(leading.limit);
    Some(Chart {
        title: format!("Worst {name} of every build"),
        description: format!(
            "How the worst {name} over the stroke scatters over {samples} builds drawn at random; {worst}, the limit is {limit}."
        ),
        size: CHART,
        x: Axis { label: format!("worst {name} over the stroke, deg"), range: [0.0, right] },
        y: Axis { label: "builds, %".to_owned(), range: [0.0, 1.08 * tallest.max(1e-9)] },
        layers,
    })
}

/// From and to (deg), and the share of builds in between, per cent.
pub(in crate::report) fn histogram_bins(found: &ToleranceFindings) -> Vec<[f64; 3]> {
    let Some(statistics) = &found.statistics else { return Vec::new() };
    let inside = statistics.histogram.counts.get(..32).unwrap_or_default();
    let width = statistics.histogram.top.to_degrees() / 32.0;
    let all = statistics.samples.max(1);
    let bin = |(k, count): (u32, &u64)| {
        let from = f64::from(k) * width;
        [from, from + width, 100.0 * ratio(*count, all)]
    };
    (0..32).zip(inside).map(bin).collect()
}

/// Which length matters most.
pub(in crate::report) fn ranking(found: &ToleranceFindings) -> Option<Bars> {
    let any = found.ranking.iter().any(|c| c.share > 0.0);
    let rows = found.ranking.iter().map(|c| {
        let name = format!("{} {}", c.variable, deviation(found, c.variable));
        (name, c.share, format!("{} of the spread", of_spread(c.share)))
    });
    let rows: Vec<_> = rows.collect();
    let first = rows.first().map_or(String::new(), |r| format!("{}: {}", r.0, r.2));
    any.then(|| Bars {
        title: format!("Which {} matters most", size_word(found)),
        description: format!(
            "Share of the {}'s spread, largest first. {first}.",
            found.against.leads().title()
        ),
        rows,
        width: CHART[0],
    })
}
