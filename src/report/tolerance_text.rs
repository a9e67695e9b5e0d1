//! `tolerance` for a person: which length matters, worst case beside statistics, what could be allowed.

use std::fmt::Write as _;

use crate::equivalence::Criterion;
use crate::study::{Range, ToleranceFindings, Worst, degrees, figure, percent};
use crate::tolerance::{
    ClassChoice, Contribution, Deviation, Estimate, Scattered, Statistics, Variable,
};
use crate::units::{millimetres, number, rounded_down};

use super::style::Style;
use super::words::{outcome_shown, table, warnings_shown, wrapped};

/// The findings for a person.
#[must_use]
pub fn tolerance_text(found: &ToleranceFindings, style: Style) -> String {
    if let Some(at) = found.still {
        return style.fit(standing_still(found, at, style));
    }
    let blocks = [
        headline(found, style),
        ranking(found, style),
        figures(found, style),
        histogram(found, style),
        allowed(found, style),
        ranges(found, style),
        warnings_shown(&found.warnings, style),
        caution(style),
    ];
    let shown: Vec<String> = blocks.into_iter().filter(|b| !b.is_empty()).collect();
    style.fit(shown.join("\n"))
}

/// No table where no figure has a bound.
fn standing_still(found: &ToleranceFindings, at: f64, style: Style) -> String {
    let head =
        format!("{}: no direct joint, whatever the tolerances\n", style.heading(&found.design));
    let why = wrapped(&still_in_words(at), style.width, "  ");
    let asked = "more: unloop explain rocker_stands_still";
    [head + &why, warnings_shown(&found.warnings, style), format!("  {asked}\n"), caution(style)]
        .into_iter()
        .filter(|block| !block.is_empty())
        .collect::<Vec<_>>()
        .join("\n")
}

/// What a rocker that stands still at the joint turn `at` means for a tolerance study.
pub(super) fn still_in_words(at: f64) -> String {
    format!(
        "the rocker stands still in the stroke, at joint {} from the zero pose: the transmission ratio has no bound there, \
         so that no constant ratio, no largest tolerance and no spread can be given. End the stroke well before that pose, \
         or change the zero pose or the lengths",
        degrees(at)
    )
}

fn headline(found: &ToleranceFindings, style: Style) -> String {
    let drawn = match &found.statistics {
        Some(s) => {
            let stopped = if s.stopped { " (stopped before all were drawn)" } else { "" };
            let kind = found.request.distribution.name();
            let cut = if kind == "normal" { ", ± = 3 σ, cut off there" } else { "" };
            format!(
                "{} builds drawn at random{stopped}, {kind}{cut}, seed {}",
                s.samples, found.request.seed
            )
        }
        None => "no tolerance is drawn".to_owned(),
    };
    format!(
        "{}: what the tolerances do to a direct joint with ratio {:.5}\n  {drawn}\n",
        style.heading(&found.design),
        found.direct_joint.ratio
    )
}

pub(super) fn deviation(found: &ToleranceFindings, variable: Variable) -> String {
    let drawn = found
        .deviations
        .iter()
        .find(|(v, _)| *v == variable)
        .map_or_else(Deviation::default, |(_, d)| *d);
    let show = |x: f64| if variable == Variable::ZeroCrank { degrees(x) } else { millimetres(x) };
    if drawn.lower == 0.0 && drawn.upper == 0.0 {
        "–".to_owned()
    } else if (drawn.lower + drawn.upper).abs() <= 1e-9 * drawn.upper.abs() {
        format!("±{}", show(drawn.upper))
    } else {
        format!("{}…{}", show(drawn.lower), show(drawn.upper))
    }
}

fn ranking(found: &ToleranceFindings, style: Style) -> String {
    let mut out = format!("  {} (first order)\n", style.heading("which length matters"));
    out.push_str(&table(&RANKING_HEADER, &ranking_rows(found)));
    out
}

/// Columns of [`ranking_rows`].
pub(super) const RANKING_HEADER: [&str; 6] =
    ["  length", "drawn", "angle at most", "ratio at most", "of the spread", ""];

/// Steepest slopes by 0.1 mm, or by 1 deg of the zero crank angle; a bar of characters last.
pub(super) fn ranking_rows(found: &ToleranceFindings) -> Vec<Vec<String>> {
    let row = |c: &Contribution| {
        let (step, unit) = if c.variable == Variable::ZeroCrank {
            (1f64.to_radians(), "1 deg")
        } else {
            (1e-4, "0.1 mm")
        };
        let bar = "█".repeat(bar_length(c.share, 20));
        vec![
            format!("  {}", c.variable.name()),
            deviation(found, c.variable),
            format!("{} per {unit}", degrees(c.angle_slope * step)),
            format!("{} per {unit}", percent(c.ratio_slope * step)),
            format!("{:.0} %", (100.0 * c.share).round() + 0.0),
            bar,
        ]
    };
    found.ranking.iter().map(row).collect()
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a share of a bar of a few dozen cells"
)]
fn bar_length(share: f64, of: usize) -> usize {
    (share.clamp(0.0, 1.0) * of as f64).round() as usize
}

/// Columns of [`figure_rows`].
pub(super) const FIGURE_HEADER: [&str; 8] = [
    "  worst over the stroke",
    "limit",
    "every build",
    "mean",
    "95 % below",
    "99.9 % below",
    "builds within",
    "",
];

/// Worst case beside statistics.
pub(super) fn figure_rows(found: &ToleranceFindings, style: Style) -> Vec<Vec<String>> {
    let row = |w: &Worst| {
        let bound = w.bound.map_or_else(|| "not known".to_owned(), |b| figure(w.criterion, b));
        let [mean, most, nearly_all] = drawn_figures(found, w.criterion);
        vec![
            format!("  {}", w.criterion.title()),
            figure(w.criterion, w.limit),
            bound,
            mean,
            most,
            nearly_all,
            builds_within(found, w.criterion),
            outcome_shown(w.outcome, style),
        ]
    };
    found.worst.iter().map(row).collect()
}

fn figures(found: &ToleranceFindings, style: Style) -> String {
    let mut out =
        format!("  {}\n", style.heading("worst case (every build, proved) beside statistics"));
    out.push_str(&table(&FIGURE_HEADER, &figure_rows(found, style)));
    if let Some(all) = all_together(found) {
        let _ = writeln!(out, "  {all}");
    }
    out
}

/// How many builds satisfy all criteria.
pub(super) fn all_together(found: &ToleranceFindings) -> Option<String> {
    let all = found.statistics.as_ref()?.yields.iter().find(|y| y.name == "all")?;
    Some(format!(
        "all criteria together: {} of builds (95 % interval {}…{})",
        share(all.share),
        share(all.interval[0]),
        share(all.interval[1])
    ))
}

/// A share of builds; never rounded up to all of them.
fn share(x: f64) -> String {
    let percent = 100.0 * x;
    let cut = (percent * 1e3).floor() / 1e3;
    if x >= 1.0 - 1e-12 { "100 %".to_owned() } else { format!("{cut:.3} %") }
}

fn drawn_figures(found: &ToleranceFindings, criterion: Criterion) -> [String; 3] {
    let none = || ["–".to_owned(), "–".to_owned(), "–".to_owned()];
    let Some(s) = &found.statistics else { return none() };
    let Scattered { mean, quantiles } = match criterion {
        Criterion::Angle => &s.angle,
        Criterion::Ratio => &s.ratio,
        Criterion::Inertia | Criterion::TransmissionAngle => return none(),
    };
    let at = |wanted: f64| {
        let found = quantiles.iter().find(|q| q.share >= wanted);
        found.map_or_else(|| "–".to_owned(), |q| with_error(criterion, &q.figure))
    };
    [with_error(criterion, mean), at(0.95), at(0.999)]
}

/// The figure, with its standard error where that shows in two digits of it.
fn with_error(criterion: Criterion, e: &Estimate) -> String {
    if e.error.is_finite() && e.error > 0.01 * e.value.abs() {
        format!("{} ± {}", figure(criterion, e.value), figure(criterion, e.error))
    } else {
        figure(criterion, e.value)
    }
}

fn builds_within(found: &ToleranceFindings, criterion: Criterion) -> String {
    let within = found
        .statistics
        .as_ref()
        .and_then(|s| s.yields.iter().find(|y| y.name == criterion.name()));
    within.map_or_else(|| "–".to_owned(), |y| share(y.share))
}

const BAR: usize = 40;

fn histogram(found: &ToleranceFindings, style: Style) -> String {
    let Some(s) = &found.statistics else { return String::new() };
    let rows = halved(s);
    let Some(tallest) = rows.iter().copied().max().filter(|t| *t > 0) else { return String::new() };
    let mut out = format!("  {} (builds)\n", style.heading("worst angle error over the stroke"));
    let width = s.angle_histogram.top / 16.0;
    for (row, count) in (0..16_u32).zip(&rows) {
        let from = f64::from(row) * width;
        let limit = if from <= found.limits.angle && found.limits.angle < from + width {
            "  limit"
        } else {
            ""
        };
        let bar = "█".repeat(bar_length(ratio(*count, tallest), BAR));
        let _ = writeln!(out, "  {:>10} {bar:<BAR$} {count}{limit}", degrees(from));
    }
    let beyond = s.angle_histogram.counts.last().copied().unwrap_or(0);
    let _ = writeln!(
        out,
        "  {:>10} end of what can occur{}",
        degrees(s.angle_histogram.top),
        past(beyond)
    );
    out
}

fn past(beyond: u64) -> String {
    if beyond == 0 {
        String::new()
    } else {
        format!(" where the loop closes; {beyond} builds beyond or not closing")
    }
}

#[allow(clippy::cast_precision_loss, reason = "counts stay far below 2^52")]
fn ratio(count: u64, of: u64) -> f64 {
    count as f64 / of as f64
}

/// The 32 bins two by two.
fn halved(s: &Statistics) -> Vec<u64> {
    let inside = s.angle_histogram.counts.get(..32).unwrap_or_default();
    inside.chunks(2).map(|pair| pair.iter().sum()).collect()
}

/// One tolerance for all four lengths with which the verdict is proved.
pub(super) fn allowed_alike(found: &ToleranceFindings) -> String {
    let symmetric = found
        .symmetric
        .map_or_else(|| "nothing".to_owned(), |t| format!("±{}", millimetres(rounded_down(t))));
    format!("all four lengths alike: {symmetric}")
}

/// Columns of [`allowed_rows`].
pub(super) const ALLOWED_HEADER: [&str; 4] =
    ["  length", "alone, others as drawn", "coarsest class alone", "coarsest classes together"];

/// What each length could be allowed.
pub(super) fn allowed_rows(found: &ToleranceFindings) -> Vec<Vec<String>> {
    let rows =
        found.alone.iter().zip(&found.budget.alone).map(|((length, tolerance), (_, class))| {
            let all = found.budget.together.as_ref();
            let together = all.and_then(|all| all.iter().find(|c| c.length == *length));
            vec![
                format!("  {}", length.name()),
                tolerance.map_or_else(
                    || "nothing".to_owned(),
                    |t| format!("±{}", millimetres(rounded_down(t))),
                ),
                class.as_ref().map_or_else(|| "none".to_owned(), shown_class),
                together.map_or_else(|| "none".to_owned(), shown_class),
            ]
        });
    rows.collect()
}

fn allowed(found: &ToleranceFindings, style: Style) -> String {
    let mut out = format!("  {}\n", style.heading("what could be allowed, proved"));
    let _ = writeln!(out, "  - {}", allowed_alike(found));
    out.push_str(&table(&ALLOWED_HEADER, &allowed_rows(found)));
    if let Some(lost) = &found.lost_motion {
        out.push_str(&wrapped(
            &format!(
                "play in the pins: {}…{} of lost motion at the joint, crank held, load reversed",
                degrees(lost.least),
                degrees(lost.most)
            ),
            style.width,
            "  - ",
        ));
    }
    out
}

fn shown_class(choice: &ClassChoice) -> String {
    format!("{} (±{})", choice.class, millimetres(choice.half_width))
}

fn ranges(found: &ToleranceFindings, style: Style) -> String {
    let lines = range_lines(found);
    if lines.is_empty() {
        return String::new();
    }
    let listed: String = lines.iter().map(|line| wrapped(line, style.width, "  - ")).collect();
    format!("  {}\n{listed}", style.heading("what a training run should randomise"))
}

/// What a training run should randomise.
pub(super) fn range_lines(found: &ToleranceFindings) -> Vec<String> {
    let r = &found.ranges;
    let mut lines = Vec::new();
    if let Some(ratio) = &r.ratio {
        lines.push(format!("ratio of the joint {}", scattered(ratio, found.direct_joint.ratio)));
    }
    if let Some(offset) = &r.zero_offset {
        lines.push(offset_line(offset, found.direct_joint.offset));
    }
    if let Some(correlation) = r.correlation {
        lines.push(format!("correlation of the two {correlation:.2}"));
    }
    if let Some(play) = &r.play {
        lines.push(format!("play {}…{}", degrees(play.bounds[0]), degrees(play.bounds[1])));
    }
    if let Some(armature) = &r.armature {
        lines.push(format!(
            "armature n²J {}…{} kg m2, with the ratio squared",
            number(armature.bounds[0]),
            number(armature.bounds[1])
        ));
    }
    let own = found.statistics.as_ref().and_then(|s| s.own);
    lines.extend(own.map(|own| {
        format!(
            "ratio and offset are those of the joint that is emitted; they scatter as each build's own best constants over the \
             stroke do about the drawn linkage's. Smallest and largest of the corners of the tolerances and of {} builds, computed",
            own.builds
        )
    }));
    lines
}

/// `1.35806, in builds 1.35803…1.35809, mean 1.35806, σ 0.000012`, with two digits of σ.
fn scattered(range: &Range, emitted: f64) -> String {
    let [low, high] = range.bounds;
    let Some([mean, deviation]) = range.normal.filter(|[_, d]| *d > 0.0) else {
        return format!("{emitted:.5}, the same in all builds");
    };
    let places = decimals(deviation);
    format!(
        "{emitted:.places$}, in builds {low:.places$}…{high:.places$}, mean {mean:.places$}, σ {deviation:.places$}"
    )
}

/// Decimals that show two digits of `x`, 3 to 9.
fn decimals(x: f64) -> usize {
    (3..9).find(|places| x * 10_f64.powi(*places) >= 10.0).map_or(9, |p| p.unsigned_abs() as usize)
}

fn offset_line(offset: &Range, emitted: f64) -> String {
    let [low, high] = offset.bounds;
    match offset.normal {
        Some([_, deviation]) if deviation > 0.0 => format!(
            "zero offset of the joint {}, in builds {}…{}, σ {}",
            degrees(emitted),
            degrees(low),
            degrees(high),
            degrees(deviation)
        ),
        _ => format!("zero offset of the joint {}, the same in all builds", degrees(emitted)),
    }
}

fn caution(style: Style) -> String {
    style.faint(&wrapped(
        "caution: planar, rigid linkages; play is bounded apart from the lengths. Statistics hold for the distribution \
         assumed, not for your shop: measure parts. Local codes and a licensed engineer decide.",
        style.width,
        "  ",
    ))
}
