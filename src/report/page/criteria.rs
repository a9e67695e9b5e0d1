//! The criteria with limits, worst figures and what came out.

use crate::equivalence::{Assessment, Figure, Outcome, Shown};
use crate::report::check_text::{advice_lines, pair, proved_lines};
use crate::report::words::{fixed, prose};
use crate::study::{Check, figure, note};

use super::Leaf;
use super::element::{heading, list, paragraph, sentence};

/// The section's body.
pub(super) fn criteria(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let rank = leaf.rank + 2;
    let mut out = board(check);
    let notes: Vec<String> = check
        .criteria
        .iter()
        .filter_map(|c| {
            Some(format!("{}: {}", sentence(c.criterion.title()).trim_end_matches('.'), note(c)?))
        })
        .collect();
    out.push_str(&list(&notes));
    out.push_str(&paragraph(
        "All must hold over the whole stroke; what is not assessed does not count and never turns into \"holds\". No standard sets these limits: they are the design's own, or those of its preset.",
    ));
    let blocks = [
        ("Proved besides (angle, ratio and transmission angle)", proved_lines(check)),
        (
            "Undecided",
            check.undecided_joint.iter().map(|j| format!("over joint {}", pair(*j))).collect(),
        ),
        ("What would do", advice_lines(check)),
    ];
    for (name, lines) in blocks {
        if !lines.is_empty() {
            out.push_str(&heading(rank, None, name));
            out.push_str(&list(&lines.iter().map(|l| sentence(l)).collect::<Vec<_>>()));
        }
    }
    out + &witness(check, rank)
}

fn board(check: &Check) -> String {
    let rows: String = check.criteria.iter().map(row).collect();
    let head: String = ["criterion", "limit", "worst", "margin", "at joint", "outcome", "rests on"]
        .iter()
        .map(|h| format!("<th scope=\"col\">{h}</th>"))
        .collect();
    format!(
        "<div class=\"scroll\" role=\"region\" aria-label=\"Criteria\" tabindex=\"0\">\n<table class=\"board\">\n<caption>Limits, worst figures, and what came out</caption>\n\
         <thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n</div>\n"
    )
}

fn row(c: &Assessment) -> String {
    let show = |x: Option<f64>| x.map_or_else(|| "–".to_owned(), |x| figure(c.criterion, x));
    let (class, sign, word) = match c.outcome {
        Outcome::Holds => ("yes", "✓", "holds"),
        Outcome::Fails => ("no", "✕", "fails"),
        Outcome::Undecided => ("open", "?", "undecided"),
        Outcome::NotAssessed => ("none", "–", "not assessed"),
    };
    let rests = match c.shown {
        Shown::NotShown => "–",
        Shown::ByPose => "a pose that breaks it",
        Shown::Proved => "proof",
        Shown::Computed => "computed, not proved",
    };
    let at = c
        .worst_at_joint
        .map_or_else(|| "–".to_owned(), |j| format!("{} deg", fixed(j.to_degrees(), 2)));
    let cells: String =
        [figure(c.criterion, c.limit), show(c.worst().map(Figure::value)), show(c.margin()), at]
            .iter()
            .map(|cell| format!("<td>{}</td>", prose(cell)))
            .collect();
    format!(
        "<tr><th scope=\"row\">{}</th>{cells}<td class=\"{class}\"><span class=\"sign\" aria-hidden=\"true\">{sign}</span> {word}</td><td>{rests}</td></tr>\n",
        c.criterion.title()
    )
}

/// The linkage and the pose that break a criterion.
fn witness(check: &Check, rank: u8) -> String {
    let Some((criterion, witness)) = check.witness else { return String::new() };
    let at = check.criterion(criterion).and_then(|c| c.worst_at_joint);
    let at = at.map_or_else(String::new, |j| format!(" at joint {} deg", fixed(j.to_degrees(), 2)));
    let mut out = heading(rank, None, "What refutes it");
    let lengths = crate::study::lengths(&witness.bars);
    out.push_str(&paragraph(&match Figure::new(witness.value) {
        Some(value) => format!(
            "With {lengths} the {}{at} is {}, recomputed in plain arithmetic.",
            criterion.title(),
            figure(criterion, value.value())
        ),
        None => format!("With {lengths} the loop does not close{at}."),
    }));
    out
}
