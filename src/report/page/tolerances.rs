//! What the drawn tolerances do.

use crate::report::Style;
use crate::report::pictures::{self, CHART};
use crate::report::tolerance_text::{
    ALLOWED_HEADER, FIGURE_HEADER, RANKING_HEADER, all_together, allowed_alike, allowed_rows,
    figure_rows, range_lines, ranking_rows, still_in_words,
};
use crate::report::words::fixed;
use crate::study::{ToleranceFindings, degrees};
use crate::units::{millimetres, rounded_down};

use super::Leaf;
use super::charts::still;
use super::element::{heading, list, paragraph, sentence, table};

/// The section's body.
pub(super) fn tolerances(leaf: &Leaf<'_>) -> String {
    let Some(found) = &leaf.review.tolerance else { return none_drawn(leaf) };
    if let Some(at) = found.still {
        return paragraph(&sentence(&still_in_words(at)));
    }
    let rank = leaf.rank + 2;
    let mut out = String::new();
    if let Some(all) = all_together(found) {
        out.push_str(&paragraph(&sentence(&all)));
    }
    out.push_str(&pictures(leaf, found));
    out.push_str(&heading(rank, None, "Worst case beside statistics"));
    let last = |mut header: Vec<&'static str>| {
        if let Some(unnamed) = header.last_mut() {
            *unnamed = "outcome";
        }
        header
    };
    out.push_str(&table(
        "Every build (proved) beside builds drawn at random",
        &last(FIGURE_HEADER.to_vec()),
        &figure_rows(found, Style::PLAIN),
    ));
    out.push_str(&heading(rank, None, "What could be allowed, proved"));
    out.push_str(&paragraph(&sentence(&allowed_alike(found))));
    out.push_str(&table(
        "Tolerances with which the verdict would still be proved",
        &ALLOWED_HEADER,
        &allowed_rows(found),
    ));
    out.push_str(&heading(rank, None, "What a training run should randomise"));
    out + &list(&range_lines(found))
}

fn none_drawn(leaf: &Leaf<'_>) -> String {
    let allowed = leaf.review.check.extremes.symmetric_tolerance.filter(|t| *t > 0.0);
    let could = allowed.map_or_else(String::new, |t| {
        format!(
            " With ±{} on each of the four lengths it would still be proved.",
            millimetres(rounded_down(t))
        )
    });
    paragraph(&format!(
        "No tolerance is drawn: the verdict is about the drawn lengths.{could} Write e.g. crank = \"45 ±0.05 mm\" and [zero] set_by to have every build judged."
    ))
}

fn pictures(leaf: &Leaf<'_>, found: &ToleranceFindings) -> String {
    let mut figures = String::new();
    if let Some(chart) = pictures::histogram(found, CHART) {
        let bins = pictures::histogram_bins(found);
        let rows: Vec<Vec<String>> = bins
            .iter()
            .map(|[from, to, share]| {
                vec![format!("{}…{}", fixed(*from, 3), fixed(*to, 3)), fixed(*share, 2)]
            })
            .collect();
        let header = ["worst angle error, deg", "builds, %"];
        let table = table("Builds by their worst angle error", &header, &rows);
        let caption = format!("{} All bars must lie left of the dotted limit.", chart.description);
        figures.push_str(&still(leaf, "histogram", &chart.draw(), &caption, &table));
    }
    if let Some(bars) = pictures::ranking(found, CHART[0]) {
        let header = RANKING_HEADER.get(..5).unwrap_or_default();
        let mut rows = ranking_rows(found);
        rows.iter_mut().for_each(|row| row.truncate(5));
        let table = table("What each length does, first order", header, &rows);
        let caption = format!(
            "Share of the angle error's spread that each length brings in: tighten the first. The limit is {}.",
            degrees(found.limits.angle)
        );
        figures.push_str(&still(leaf, "ranking", &bars.draw(), &caption, &table));
    }
    if figures.is_empty() { figures } else { format!("<div class=\"charts\">\n{figures}</div>\n") }
}
