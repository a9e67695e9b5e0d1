//! The verdict in one sentence, what it rests on, and the three things that one looks for first.

use crate::equivalence::{Assessment, Outcome, Verdict};
use crate::report::pictures::nearest_row;
use crate::report::words::{fixed, prose, ratio_shown, rests};
use crate::study::{Check, degrees, figure};

use super::Leaf;
use super::element::{heading, sentence};
use super::joint;

/// The verdict as a word.
pub(super) fn word(check: &Check) -> &'static str {
    match check.verdict {
        Verdict::Equivalent => "Equivalent",
        Verdict::NotEquivalent => "Not equivalent",
        Verdict::Undecided => "Undecided",
    }
}

/// A class of the style sheet and a sign.
pub(super) fn mark(check: &Check) -> (&'static str, &'static str) {
    match check.verdict {
        Verdict::Equivalent => ("yes", "✓"),
        Verdict::NotEquivalent => ("no", "✕"),
        Verdict::Undecided => ("open", "?"),
    }
}

/// What an unbroken verdict is worth, in a sentence.
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
    let (class, sign) = mark(check);
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

/// The criterion that is nearest to its limit, or furthest beyond it.
pub(super) fn tightest(check: &Check) -> Option<&Assessment> {
    let assessed = check.criteria.iter().filter(|c| c.worst().is_some());
    let load = |c: &Assessment| {
        if c.outcome == Outcome::Fails { c.load() + 1e6 } else { c.load() }
    };
    assessed.max_by(|a, b| load(a).total_cmp(&load(b)))
}

fn glance(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    format!(
        "<dl class=\"glance\">\n{}{}{}</dl>\n",
        worst_pose(leaf),
        card(
            "Direct joint",
            &format!("ratio {}", ratio_shown(check.direct_joint.ratio)),
            &format!(
                "<p>motor turn = ratio · (joint turn − {}), both from the zero pose</p>",
                prose(&degrees(check.readings.sense * check.direct_joint.offset + 0.0))
            ),
        ),
        joint::card(leaf)
    )
}

/// A small card: what, the figure, and a line of HTML below it.
pub(super) fn card(what: &str, figure: &str, below: &str) -> String {
    format!(
        "<div><dt>{}</dt><dd><p class=\"big\">{}</p>{below}</dd></div>\n",
        prose(what),
        prose(figure)
    )
}

fn worst_pose(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let found = tightest(check).and_then(|c| Some((c, c.worst()?, c.worst_at_joint?)));
    let Some((c, worst, at)) = found else {
        return card("Worst pose", "not known", "");
    };
    let verb = c.criterion.side().limit_name();
    let fails = if c.outcome == Outcome::Fails { ", fails" } else { "" };
    let below = format!(
        "<p>{} {} ({verb} {}{fails})</p><button type=\"button\" class=\"go\" data-go=\"{}\" data-row=\"{}\" hidden>Show this pose</button>",
        c.criterion.title(),
        prose(&figure(c.criterion, worst.value())),
        prose(&figure(c.criterion, c.limit)),
        leaf.id,
        nearest_row(&leaf.review.rows, at)
    );
    card(
        "Worst pose",
        &format!("joint {} deg", fixed(check.readings.joint(at).to_degrees(), 1)),
        &below,
    )
}
