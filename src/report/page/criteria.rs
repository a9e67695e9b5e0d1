//! The criteria with limits, worst figures and what came out.

use crate::equivalence::Outcome;
use crate::report::check_text::{advice_lines, pair, proved_lines};
use crate::report::words::{fixed, prose};
use crate::study::{Check, Criterion, figure, title};

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
            Some(format!("{}: {}", sentence(title(c.name)).trim_end_matches('.'), c.note.as_ref()?))
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

fn row(c: &Criterion) -> String {
    let show = |x: Option<f64>| x.map_or_else(|| "–".to_owned(), |x| figure(c.name, x));
    let (class, sign, word) = match c.outcome {
        Outcome::Holds => ("yes", "✓", "holds"),
        Outcome::Fails => ("no", "✕", "fails"),
        Outcome::Undecided => ("open", "?", "undecided"),
        Outcome::NotAssessed => ("none", "–", "not assessed"),
    };
    let rests = match (c.outcome, c.proved) {
        (Outcome::NotAssessed | Outcome::Undecided, _) => "–",
        (Outcome::Fails, true) => "a pose that breaks it",
        (_, true) => "proof",
        (_, false) => "computed, not proved",
    };
    let at = c
        .worst_at_joint
        .map_or_else(|| "–".to_owned(), |j| format!("{} deg", fixed(j.to_degrees(), 2)));
    let cells: String = [figure(c.name, c.limit), show(c.worst()), show(c.margin()), at]
        .iter()
        .map(|cell| format!("<td>{}</td>", prose(cell)))
        .collect();
    format!(
        "<tr><th scope=\"row\">{}</th>{cells}<td class=\"{class}\"><span class=\"sign\" aria-hidden=\"true\">{sign}</span> {word}</td><td>{rests}</td></tr>\n",
        title(c.name)
    )
}

/// The linkage and the pose that break a criterion.
fn witness(check: &Check, rank: u8) -> String {
    let Some((name, witness)) = &check.witness else { return String::new() };
    let at = check.criteria.iter().find(|c| c.name == *name).and_then(|c| c.worst_at_joint);
    let at = at.map_or_else(String::new, |j| format!(" at joint {} deg", fixed(j.to_degrees(), 2)));
    let mut out = heading(rank, None, "What refutes it");
    out.push_str(&paragraph(&format!(
        "With {} the {}{at} is {}, recomputed in plain arithmetic.",
        crate::study::lengths(&witness.bars),
        title(name),
        figure(name, witness.value)
    )));
    out
}
