//! `tolerance` of two joints in words: how many builds hold, what is proved beside it, which size matters.

use crate::study::{
    RankedSize, RegionScatter, RegionTolerance, RegionWorstCase, WorstBuild, figure, size_words,
};
use crate::units::{alike, angle, percents};

use super::blocks::{Block, Cell, Group, Holds, Table, cells, or_dash};
use super::cautions::DECIDES;
use super::check::warned;
use super::drawn_builds::{at_random, between, of_spread, share, step, why_not_all};
use super::style::{Detail, Style};
use super::terminal;

/// Sizes that are told where not all are.
const FIRST: usize = 6;

/// The findings for a person; all sizes and the worst build seen only in full.
#[must_use]
pub fn region_tolerance_text(found: &RegionTolerance, detail: Detail, style: Style) -> String {
    let is_full = detail.is_full();
    let mut groups = vec![headline(found), worst_case(found, is_full), ranking(found, is_full)];
    groups.extend(found.statistics.iter().map(|s| worst_build(found, s, is_full)));
    groups.push(warned(&found.warnings));
    groups.push(vec![Block::Caution(caution(is_full))]);
    terminal::text(&groups, style) + "\n"
}

fn caution(is_full: bool) -> String {
    if is_full {
        format!(
            "rigid drives without play, each build looked at over a grid of poses: computed, not proved. Statistics hold for the distribution assumed, not for your shop: measure parts. {DECIDES}"
        )
    } else {
        "for the distribution assumed, not for your shop: measure parts (--full)".to_owned()
    }
}

fn headline(found: &RegionTolerance) -> Group {
    let title = Block::Title(found.design.clone(), None, answer(found));
    let drawn = found.statistics.as_ref().map_or_else(
        || "no tolerance is drawn".to_owned(),
        |s| at_random(s.samples, s.stopped, s.distribution, s.seed),
    );
    vec![title, Block::Line(format!("against a constant matrix; {drawn}"))]
}

fn answer(found: &RegionTolerance) -> String {
    let Some(s) = &found.statistics else {
        let word =
            if found.is_proved() { "HOLDS as drawn (proved)" } else { "not proved as drawn" };
        return format!("{word}; no tolerance is drawn");
    };
    if found.is_proved() {
        return "HOLDS for every build (proved)".to_owned();
    }
    let all = s.share("all").map_or(0.0, |all| all.share);
    let outcomes = found.worst_case.iter().map(|w| (w.criterion, w.outcome));
    let why = why_not_all(outcomes, "not all figures are proved");
    format!("{} of builds hold: {why}", share(all))
}

/// Shares of builds whose worst figures are told, and how they are called.
const TOLD: [(f64, &str); 3] =
    [(0.5, "half within"), (0.95, "95 % within"), (0.999, "99.9 % within")];

fn worst_case(found: &RegionTolerance, is_full: bool) -> Group {
    let told = if is_full { TOLD.as_slice() } else { TOLD.get(2..).unwrap_or_default() };
    let row = |w: &RegionWorstCase| {
        let statistics = found.statistics.as_ref();
        let scattered =
            statistics.and_then(|s| s.figures.iter().find(|f| f.criterion == w.criterion));
        let at = |wanted: f64| {
            let quantile = scattered.and_then(|f| f.quantiles.iter().find(|q| q.share >= wanted));
            let value = quantile.map(|q| q.figure.value).filter(|x| x.is_finite());
            or_dash(value, |x| figure(w.criterion, x))
        };
        let bound = w.bound.map_or_else(|| "not known".to_owned(), |b| figure(w.criterion, b));
        let within = statistics.and_then(|s| s.share(w.criterion.name()));
        let mut row = cells([w.criterion.title().to_owned(), figure(w.criterion, w.limit), bound]);
        row.extend(told.iter().map(|(share, _)| at(*share).into()));
        row.push(or_dash(within, |y| share(y.share)).into());
        row.push(Cell::outcome(w.outcome));
        row
    };
    let mut names = vec!["worst figure", "limit", "every build"];
    names.extend(told.iter().map(|(_, name)| name));
    names.push("hold");
    let rows = found.worst_case.iter().map(row).collect();
    let heading = Block::heading("every build (by proof) beside builds drawn at random");
    let table = Table::new("", &names, rows).and(Holds::Outcome, "every build");
    let mut group = vec![heading, Block::Table(table)];
    group.extend(found.statistics.as_ref().and_then(together).map(Block::Line));
    group
}

/// How many builds hold everything.
pub(super) fn together(s: &RegionScatter) -> Option<String> {
    let (all, reach) = (s.share("all")?, s.share("closes")?);
    Some(format!(
        "all together: {} of builds (95 % interval {}…{}); {} reach all of the region, and what does not holds nothing",
        share(all.share),
        share(all.interval[0]),
        share(all.interval[1]),
        share(reach.share)
    ))
}

/// What is drawn of a size.
pub(super) fn drawn(of: &RankedSize) -> String {
    between(of.deviation, of.measure)
}

fn ranking(found: &RegionTolerance, is_full: bool) -> Group {
    if found.ranking.is_empty() {
        return Group::new();
    }
    let told = if is_full { found.ranking.len() } else { FIRST.min(found.ranking.len()) };
    let sizes: Vec<&RankedSize> = found.ranking.iter().take(told).collect();
    let steps = |of: fn(&RankedSize) -> f64| -> Vec<f64> {
        sizes.iter().map(|size| of(size) * step(size.measure).0).collect()
    };
    let angles: Vec<f64> =
        steps(|size| size.angle_slope).into_iter().map(f64::to_degrees).collect();
    let ratios = percents(&steps(|size| size.ratio_slope));
    let row = |((size, angle), ratio): ((&&RankedSize, String), String)| {
        let unit = step(size.measure).1;
        cells([
            size.name.clone(),
            drawn(size),
            format!("{angle} per {unit}"),
            of_spread(size.angle_share),
            format!("{ratio} per {unit}"),
            of_spread(size.ratio_share),
        ])
    };
    let names =
        ["size", "drawn", "angle at most", "of its spread", "ratio at most", "of its spread"];
    let rows = sizes.iter().zip(alike(&angles, "deg")).zip(ratios).map(row).collect();
    let more = found.ranking.len() - told;
    let heading = Block::Heading("which size matters".to_owned(), "(first order)".to_owned());
    let mut group = vec![heading, Block::Table(Table::new("", &names, rows))];
    if more > 0 {
        group.push(Block::Line(format!("{more} more sizes matter less (--full)")));
    }
    group
}

fn worst_build(found: &RegionTolerance, s: &RegionScatter, is_full: bool) -> Group {
    let Some(WorstBuild { drive, worst }) = &s.worst_build else { return Group::new() };
    let what = worst.as_ref().map_or_else(
        || "does not reach all of the region".to_owned(),
        |worst| {
            let reads = [worst.at[0] + found.joint_reads[0], worst.at[1] + found.joint_reads[1]];
            let [pitch, roll] = reads.map(|x| angle(x, 1));
            let value = figure(worst.criterion, worst.value);
            format!("{} {value} at pitch {pitch}, roll {roll}", worst.criterion.title())
        },
    );
    let mut group = vec![Block::Line(format!("worst build seen: {what}"))];
    if is_full {
        let mut lines = size_words(&drive.axes);
        for motor in &drive.motors {
            lines.push(format!("{}: {}", motor.name, size_words(&motor.sizes).join(", ")));
        }
        group.push(Block::List(lines));
    }
    group
}
