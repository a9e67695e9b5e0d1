//! The verdict in one sentence, what it rests on, the three things that one looks for first; and the index of several
//! designs.

use crate::equivalence::{Assessment, Figure, Outcome, Verdict};
use crate::report::blocks::{Cell, Holds, Table, dash};
use crate::report::check::{rests, worst_place};
use crate::report::criteria::worst_and_limit;
use crate::report::finger::cards as finger_cards;
use crate::report::pictures::{nearest, nearest_row};
use crate::report::words::{capital, escaped, prose, ratio_shown, sentence};
use crate::study::{Check, Course, FingerFindings, drive_word};
use crate::units::{angles, degrees};

use super::Leaf;
use super::element::{card, heading, mark, table};
use super::joint as paste;

/// The verdict as a word.
pub(super) fn word(check: &Check) -> String {
    capital(&Cell::verdict(check.verdict).text)
}

/// What a verdict is worth, in a sentence.
fn meaning(check: &Check) -> String {
    if let Some(finger) = check.finger.as_ref().filter(|_| check.is_of_pad()) {
        let title = finger.stand_in.title();
        return match check.verdict {
            Verdict::Equivalent => {
                format!("a {title} may stand in for each finger's linkage in a robot model")
            }
            Verdict::NotEquivalent => format!("a {title} must not stand in for a finger's linkage"),
            Verdict::Undecided => {
                format!("it could be neither proved nor refuted that a {title} may stand in")
            }
        };
    }
    let drive = drive_word(check);
    match check.verdict {
        Verdict::Equivalent => {
            format!("a direct joint may stand in for the {drive} in a robot model")
        }
        Verdict::NotEquivalent => format!("a direct joint must not stand in for the {drive}"),
        Verdict::Undecided => {
            "it could be neither proved nor refuted that a direct joint may stand in".to_owned()
        }
    }
}

/// The head of a design.
pub(super) fn verdict(leaf: &Leaf<'_>, issue: &str) -> String {
    let check = &leaf.review.check;
    let head = Head {
        rank: leaf.rank,
        design: &check.design,
        verdict: check.verdict,
        meaning: &meaning(check),
        reason: &check.reason,
        rests: &rests(check),
    };
    head.shown(issue)
}

/// What stands at the head of a design.
pub(super) struct Head<'a> {
    pub(super) rank: u8,
    pub(super) design: &'a str,
    pub(super) verdict: Verdict,
    /// What the verdict is worth.
    pub(super) meaning: &'a str,
    pub(super) reason: &'a str,
    /// What it rests on.
    pub(super) rests: &'a str,
}

impl Head<'_> {
    pub(super) fn shown(&self, issue: &str) -> String {
        let verdict = Cell::verdict(self.verdict);
        let (class, sign) = mark(verdict.tone).unwrap_or_default();
        format!(
            "<header class=\"top\">\n{}{}<div class=\"verdict {class}\" role=\"status\" aria-atomic=\"true\">\n\
             <p class=\"word\"><span class=\"sign\" aria-hidden=\"true\">{sign}</span>{}: <span class=\"means\">{}</span></p>\n\
             <p>{}</p>\n<p class=\"rests\">This rests on: {}.</p>\n</div>\n</header>\n",
            heading(self.rank, None, self.design),
            issued(issue),
            capital(&verdict.text),
            self.meaning,
            prose(&sentence(self.reason)),
            prose(self.rests)
        )
    }
}

fn issued(issue: &str) -> String {
    if issue.is_empty() {
        String::new()
    } else {
        format!("<p class=\"issue\">{}</p>\n", escaped(issue))
    }
}

/// The criterion that is nearest to its limit, or furthest beyond it, and its worst figure.
fn tightest(check: &Check) -> Option<(&Assessment, Figure)> {
    let assessed = check.criteria.iter().filter_map(|c| Some((c, c.worst()?)));
    let load = |c: &Assessment| {
        if c.outcome == Outcome::Fails { c.load() + 1e6 } else { c.load() }
    };
    assessed.max_by(|a, b| load(a.0).total_cmp(&load(b.0)))
}

/// What one looks for first.
pub(super) fn glance(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    if let Some(finger) = check.finger.as_ref().filter(|_| check.is_of_pad()) {
        return gripper_glance(leaf, finger);
    }
    let turn = match degrees(check.readings.sense * check.direct_joint.offset).as_str() {
        "0 deg" => "joint turn".to_owned(),
        offset => format!("(joint turn − {offset})"),
    };
    let relation = format!("motor turn = ratio · {turn}, both from the zero pose");
    let ratio = format!("ratio {}", ratio_shown(check.direct_joint.ratio));
    let direct = card("Direct joint", &ratio, &format!("<p>{}</p>", prose(&relation)));
    format!(
        "<dl class=\"glance as-drawn\">\n{}{direct}{}</dl>\n",
        worst_pose(leaf),
        paste::card(leaf)
    )
}

/// What one looks for first of a gripper.
fn gripper_glance(leaf: &Leaf<'_>, finger: &FingerFindings) -> String {
    let check = &leaf.review.check;
    let cards = finger_cards(check, finger)
        .map(|(what, figure, below)| card(what, &figure, &format!("<p>{}</p>", prose(&below))));
    let into = format!(
        "{}<p><a href=\"#{}-joint\">what each of the three costs</a></p>",
        paste::formats(leaf).unwrap_or_default(),
        leaf.id
    );
    let into = card("Into the simulator", finger.stand_in.title(), &into);
    format!("<dl class=\"glance four\">\n{}{into}{}</dl>\n", cards.concat(), worst_pose(leaf))
}

fn worst_pose(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let found = tightest(check)
        .and_then(|(c, _)| Some((c, worst_row(leaf, c)?, worst_place(check, c, 1)?)));
    let Some((c, row, at)) = found else { return card("Worst pose", "not known", "") };
    let fails = if c.outcome == Outcome::Fails { ", fails" } else { "" };
    let below = format!(
        "<p>{}</p><button type=\"button\" class=\"go needs-script\" data-go=\"{}\" data-row=\"{}\">Show this pose</button>",
        prose(&format!("{} {}{fails}", c.criterion.title(), worst_and_limit(c))),
        leaf.id,
        row
    );
    card("Worst pose", &at, &below)
}

/// The row nearest to where a criterion is worst.
fn worst_row(leaf: &Leaf<'_>, c: &Assessment) -> Option<usize> {
    match &leaf.review.course {
        Course::Linkage(rows) if leaf.review.check.is_of_pad() => {
            c.worst_at_motor.map(|turn| nearest(rows, |row| row.turn - turn))
        }
        Course::Linkage(rows) => c.worst_at_joint.map(|turn| nearest_row(rows, turn)),
        Course::Drive(found) => c.worst_at_joint.map(|turn| nearest_row(&found.rows, turn)),
    }
}

/// The index at the head of a page of several designs.
pub(super) fn index(title: &str, rows: Vec<Vec<Cell>>, issue: &str) -> String {
    let table_of = Table::new("The designs", &["design"], rows)
        .and(Holds::Words, "verdict")
        .and(Holds::Figures, "stroke of the joint")
        .and(Holds::Figures, "ratio")
        .and(Holds::Figures, "nearest to its limit");
    format!(
        "<header id=\"index\" class=\"index\">\n{}{}{}</header>\n",
        heading(1, None, title),
        issued(issue),
        table(&table_of)
    )
}

/// The row of a design in the index.
pub(super) fn row(leaf: &Leaf<'_>) -> Vec<Cell> {
    let check = &leaf.review.check;
    let tight = tightest(check);
    let tight = tight.map(|(c, _)| format!("{} {}", c.criterion.title(), worst_and_limit(c)));
    let (readings, of_pad) = (&check.readings, check.is_of_pad());
    let [stroke, ratio] = if of_pad {
        [format!("motor {}", angles(readings.motor_range(check.stroke.motor), 1)), dash()]
    } else {
        let stroke = angles(readings.joint_range(check.stroke.joint), 1);
        [stroke, ratio_shown(check.direct_joint.ratio)]
    };
    vec![
        Cell { link: Some(leaf.id.to_owned()), ..check.design.clone().into() },
        Cell { text: word(check), ..Cell::verdict(check.verdict) },
        stroke.into(),
        ratio.into(),
        tight.unwrap_or_else(dash).into(),
    ]
}
