//! Sections that say what the terminal says, and little more: criteria, loads, cautions, the design file.

use crate::report::blocks::{Block, Group, listed};
use crate::report::cautions::{CHANGE_POINT, DECIDES, PINCH, PINCH_OF_GRIPPER};
use crate::report::check::{
    advice, criteria as assessed, joint, proved, undecided, warnings, witness,
};
use crate::report::drive_loads;
use crate::report::finger_loads;
use crate::report::loads::{caution, duties, headline, missing, pins, structure};
use crate::report::style::Detail;
use crate::report::words::escaped;
use crate::study::{Borne, Check};
use crate::units::degrees;

use super::Leaf;
use super::charts;

const ALL_MUST_HOLD: &str = "All must hold over the whole stroke; what is not assessed does not count and never turns into &quot;holds&quot;. \
    No standard sets these limits: they are the design's own, or those of its preset.";

/// The criteria with limits, worst figures and what came out, and what would do.
pub(super) fn criteria(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let (board, notes): (Vec<_>, Vec<_>) =
        assessed(check).into_iter().partition(|block| matches!(block, Block::Table(_)));
    let more = [notes, advice(check), proved(check), undecided(check), witness(check)].concat();
    format!(
        "<div class=\"board\">\n{}</div>\n<div class=\"as-drawn\">\n{}</div>\n<p class=\"hint\">{ALL_MUST_HOLD}</p>\n",
        leaf.set(&board),
        leaf.set(&more)
    )
}

/// What the drive bears, and with what margin.
pub(super) fn loads(leaf: &Leaf<'_>) -> String {
    match &leaf.review.loads {
        Ok(found) => {
            let more = match &found.borne {
                Borne::Joint(loads) => vec![
                    duties(found, loads),
                    pins(loads),
                    structure(found, loads),
                    drive_loads::group(found, loads),
                    missing(found, loads),
                ],
                Borne::Finger(finger) => finger_loads::groups(found, finger, Detail::Full),
            };
            let more = leaf.set(&more.concat());
            leaf.set(&headline(found)) + &charts::rod(leaf) + &more + &leaf.set(&[caution(found)])
        }
        Err(faults) => {
            let why: Vec<String> =
                faults.iter().map(|f| format!("{}: {}", f.message, f.label)).collect();
            leaf.set(&[Block::Line("not shown".to_owned()), Block::List(why)])
        }
    }
}

/// Assumptions, cautions, and what is not covered.
pub(super) fn cautions(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let mut group = warnings(check);
    if !group.is_empty() {
        group.insert(0, Block::heading("warnings for this design"));
    }
    group.extend(listed("cautions", dangers(check)));
    group.extend(listed("assumed", assumed(leaf)));
    group.extend(not_covered(leaf.review.check.linkage.is_none()));
    leaf.set(&group)
}

fn owned(lines: &[&str]) -> Vec<String> {
    lines.iter().map(|l| (*l).to_owned()).collect()
}

fn dangers(check: &Check) -> Vec<String> {
    let of_pad = check.is_of_pad();
    let hands = if of_pad {
        format!(
            "{PINCH_OF_GRIPPER} A closed grip or a spring stores energy after power-off: open it before work on it"
        )
    } else {
        format!(
            "{PINCH} Keep out too while a leg can fall, and block a raised or sprung leg before work on it"
        )
    };
    let mut lines = vec![
        hands,
        "limits in a simulator are not stops on a robot. Check direction and range of each motor at low torque first".to_owned(),
    ];
    if let Some(limit) = check.change_point {
        let beyond = degrees(limit.margin);
        lines.push(format!("{CHANGE_POINT} It lies {beyond} of motor angle beyond the stroke"));
    }
    if let Some(limit) = check.crank_limit {
        let beyond = degrees(limit.margin);
        lines.push(format!("the crank can go no further {beyond} beyond the stroke (toggle); pin forces grow without bound towards it"));
    }
    if let Some(limit) = check.rocker_limit.filter(|_| !of_pad) {
        let place = match limit.margin {
            margin if margin > 0.0 => format!("{} beyond the stroke", degrees(margin)),
            _ => format!("inside the stroke at joint {}", joint(check, limit.at, 2)),
        };
        lines.push(format!(
            "the rocker turns back {place} (dead point): it cannot drive the crank there"
        ));
    }
    lines
}

fn assumed(leaf: &Leaf<'_>) -> Vec<String> {
    let [axes, branch] = if leaf.review.check.linkage.is_none() {
        [
            "rigid parts, pins and balls without play; play is bounded apart where clearances are given",
            "the drive stays on the assembly in which its zero pose lies, and is followed by continuity",
        ]
    } else {
        [
            "four parallel axes, rigid parts, pins without play; play is bounded apart where clearances are given",
            "the linkage stays on the branch on which its zero pose lies, and is followed by continuity",
        ]
    };
    let mut lines = owned(&[axes, branch, "masses and inertias are those of the design file"]);
    let emitted = leaf.snippets.iter().find_map(|s| s.outcome.as_ref().ok());
    lines.extend(emitted.and_then(|e| e.joints.first()).iter().flat_map(|j| j.assumptions.clone()));
    lines
}

fn not_covered(in_space: bool) -> Group {
    let bends = if in_space {
        "bending, wear, control, heat, fatigue, impact, rod ends and threads"
    } else {
        "bending, wear, axes that are not parallel, control, heat, fatigue, impact, rod ends and threads"
    };
    let lines = owned(&[
        bends,
        "whether either model is strong, fast or safe enough: a verdict compares two models",
        DECIDES,
    ]);
    listed("not covered", lines)
}

/// The design file as read.
pub(super) fn source(leaf: &Leaf<'_>) -> String {
    source_of(&leaf.review.path, &leaf.review.text)
}

/// The file at `path`.
pub(super) fn source_of(path: &str, text: &str) -> String {
    let [path, text] = [super::file_name(path).as_str(), text].map(escaped);
    format!(
        "<p><code>{path}</code>, as read.</p>\n<pre class=\"file\" tabindex=\"0\" role=\"region\" aria-label=\"The design file\"><code>{text}</code></pre>\n"
    )
}
