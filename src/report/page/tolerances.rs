//! What the drawn tolerances do.

use crate::report::blocks::{Block, Table, cells, or_dash};
use crate::report::check;
use crate::report::pictures;
use crate::report::randomised::ranges;
use crate::report::tolerance::{
    allowed, caution, headline, leading, ranking_table, size_word, stands_still, worst_case,
};
use crate::study::ToleranceFindings;
use crate::units::{degrees, fixed};

use super::Leaf;
use super::charts::{side_by_side, still};

/// The section's body.
pub(super) fn tolerances(leaf: &Leaf<'_>) -> String {
    let Some(found) = &leaf.review.tolerance else { return none_drawn(leaf) };
    if let Some(at) = found.still {
        return leaf.set(&stands_still(found, at));
    }
    let more = [worst_case(found), allowed(found), ranges(found), vec![caution(found)]].concat();
    leaf.set(&headline(found)) + &pictures(leaf, found) + &leaf.set(&more)
}

fn none_drawn(leaf: &Leaf<'_>) -> String {
    let allowed = check::allowed(&leaf.review.check);
    let could = allowed.map_or_else(String::new, |with| format!(" It is also proved {with}."));
    let write = match leaf.review.check.linkage {
        Some(_) => "Write e.g. crank = \"45 ±0.05 mm\" and [zero] set_by",
        None => "Write it beside a size, such as \"45 ±0.05 mm\",",
    };
    leaf.set(&[Block::Line(format!(
        "no tolerance is drawn: the verdict is about the drawn lengths.{could} {write} to have every build judged"
    ))])
}

fn pictures(leaf: &Leaf<'_>, found: &ToleranceFindings) -> String {
    let histogram = pictures::histogram(found).map(|chart| {
        let rows = pictures::histogram_bins(found).into_iter().map(|[from, to, share]| {
            cells([format!("{}…{}", fixed(from, 3), fixed(to, 3)), fixed(share, 2)])
        });
        let name = found.against.leads().title();
        let names = [&format!("worst {name}, deg"), "builds, %"];
        let table = Table::new(format!("Builds by their worst {name}"), &names, rows.collect());
        let caption = format!("{} All bars must lie left of the dotted limit.", chart.description);
        still(leaf, "histogram", &chart.draw(), &chart.title, &caption, &table)
    });
    let ranking = pictures::ranking(found).map(|bars| {
        let caption = format!(
            "Share of the {}'s spread that each {} brings in: tighten the first. The limit is {}.",
            found.against.leads().title(),
            size_word(found),
            or_dash(leading(found), |w| degrees(w.limit))
        );
        still(leaf, "ranking", &bars.draw(), &bars.title, &caption, &ranking_table(found))
    });
    side_by_side(histogram.into_iter().chain(ranking).collect())
}
