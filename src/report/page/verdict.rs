//! The verdict in one sentence, what it rests on, the three things that one looks for first; and the index of several
//! designs.

use crate::equivalence::{Assessment, Figure, Outcome, Verdict};
use crate::report::blocks::{Cell, Holds, Table, dash};
use crate::report::check::{joint, rests, worst_and_limit};
use crate::report::pictures::nearest_row;
use crate::report::words::{capital, prose, ratio_shown, sentence};
use crate::study::Check;
use crate::units::{angles, degrees};

use super::Leaf;
use super::element::{card, heading, mark, table};
use super::joint as paste;

/// The verdict as a word.
pub(super) fn word(check: &Check) -> String {
    capital(&Cell::verdict(check.verdict).text)
}

/// What a verdict is worth, in a sentence.
fn meaning(check: &Check) -> &'static str {
    match check.verdict {
        Verdict::Equivalent => "a direct joint may stand in for the linkage in a robot model",
        Verdict::NotEquivalent => "a direct joint may not stand in for the linkage",
        Verdict::Undecided => {
            "it could be neither proved nor refuted that a direct joint may stand in"
        }
    }
}

/// The head of a design.
pub(super) fn verdict(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let (class, sign) = mark(Cell::verdict(check.verdict).tone).unwrap_or_default();
    format!(
        "<header class=\"top\">\n{}<div class=\"verdict {class}\">\n\
         <p class=\"word\"><span class=\"sign\" aria-hidden=\"true\">{sign}</span>{}: <span class=\"means\">{}</span></p>\n\
         <p>{}</p>\n<p class=\"rests\">This rests on: {}.</p>\n</div>\n{}</header>\n",
        heading(leaf.rank, None, &check.design),
        word(check),
        meaning(check),
        prose(&sentence(&check.reason)),
        prose(&rests(check)),
        glance(leaf)
    )
}

/// The criterion that is nearest to its limit, or furthest beyond it, and its worst figure.
fn tightest(check: &Check) -> Option<(&Assessment, Figure)> {
    let assessed = check.criteria.iter().filter_map(|c| Some((c, c.worst()?)));
    let load = |c: &Assessment| {
        if c.outcome == Outcome::Fails { c.load() + 1e6 } else { c.load() }
    };
    assessed.max_by(|a, b| load(a.0).total_cmp(&load(b.0)))
}

fn glance(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let offset = degrees(check.readings.sense * check.direct_joint.offset);
    let relation = format!("motor turn = ratio · (joint turn − {offset}), both from the zero pose");
    let ratio = format!("ratio {}", ratio_shown(check.direct_joint.ratio));
    let direct = card("Direct joint", &ratio, &format!("<p>{}</p>", prose(&relation)));
    format!("<dl class=\"glance\">\n{}{direct}{}</dl>\n", worst_pose(leaf), paste::card(leaf))
}

fn worst_pose(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let found = tightest(check).and_then(|(c, _)| Some((c, c.worst_at_joint?)));
    let Some((c, at)) = found else { return card("Worst pose", "not known", "") };
    let fails = if c.outcome == Outcome::Fails { ", fails" } else { "" };
    let below = format!(
        "<p>{}</p><button type=\"button\" class=\"go\" data-go=\"{}\" data-row=\"{}\" hidden>Show this pose</button>",
        prose(&format!("{} {}{fails}", c.criterion.title(), worst_and_limit(c))),
        leaf.id,
        nearest_row(&leaf.review.rows, at)
    );
    card("Worst pose", &format!("joint {}", joint(check, at, 1)), &below)
}

/// The index at the head of a page of several designs.
pub(super) fn index(leaves: &[Leaf<'_>]) -> String {
    let table_of = Table::new("The designs", &["design"], leaves.iter().map(row).collect())
        .and(Holds::Words, "verdict")
        .and(Holds::Figures, "stroke of the joint")
        .and(Holds::Figures, "ratio")
        .and(Holds::Figures, "nearest to its limit");
    format!(
        "<header id=\"index\" class=\"index\">\n{}{}</header>\n",
        heading(1, None, &format!("Design review of {} four-bar drives", leaves.len())),
        table(&table_of)
    )
}

fn row(leaf: &Leaf<'_>) -> Vec<Cell> {
    let check = &leaf.review.check;
    let tight = tightest(check);
    let tight = tight.map(|(c, _)| format!("{} {}", c.criterion.title(), worst_and_limit(c)));
    vec![
        Cell { link: Some(leaf.id.to_owned()), ..check.design.clone().into() },
        Cell { text: word(check), ..Cell::verdict(check.verdict) },
        angles(check.readings.joint_range(check.stroke.joint), 1).into(),
        ratio_shown(check.direct_joint.ratio).into(),
        tight.unwrap_or_else(dash).into(),
    ]
}
