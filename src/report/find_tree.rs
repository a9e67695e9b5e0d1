//! What `find` says of a tree: joints that follow each other, and fingers that no loop holds.

use crate::handover::find::{MovingPair, UnheldJaw};
use crate::study::lengths;
use crate::units::{degrees, fixed, number};

use super::blocks::{Block, Group};
use super::style::Detail;

/// A finger of a tree, its multipliers beside the linkage's own rate.
pub(super) fn unheld(jaw: &UnheldJaw, detail: Detail) -> Group {
    let what = "parallel jaw, followers not held by a loop".to_owned();
    let mut said = Vec::new();
    if detail.is_full() {
        unheld_lines(jaw, &mut said);
    }
    said.push(("note", vec![STATE_IT.to_owned()]));
    vec![Block::Title(jaw.crank.clone(), None, what), Block::Facts(said)]
}

/// What would have it judged.
const STATE_IT: &str =
    "state the rocker's pin with --loops to have it judged as the linkage that it is";

fn unheld_lines(jaw: &UnheldJaw, said: &mut Vec<(&'static str, Vec<String>)>) {
    let mut line = |name, text: String| said.push((name, vec![text]));
    let UnheldJaw { driver, crank, finger, rocker, bars, .. } = jaw;
    let [own, tip, other] = jaw.multipliers.map(number);
    line(
        "driver",
        format!(
            "{driver}: crank {crank} turns {own} times, finger {finger} {tip} times, rocker {rocker} {other} times"
        ),
    );
    line(
        "lengths",
        format!(
            "{}, the rocker's pin where finger and rocker move alike as drawn: it is not in the file",
            lengths(bars)
        ),
    );
    let turns = format!("by the multipliers {} per turn of the crank", fixed(jaw.coupler_rate, 4));
    match (jaw.drawn_coupler_rate, jaw.tilt_error) {
        (Some([least, most]), Some(error)) => line(
            "finger",
            format!(
                "{turns}; that linkage turns it {}…{} over the crank's limits, up to {} otherwise",
                fixed(least, 4),
                fixed(most, 4),
                degrees(error)
            ),
        ),
        _ => line("finger", format!("{turns}; the crank has no limits over which to compare")),
    }
}

pub(super) fn pairs(pairs: &[MovingPair]) -> Group {
    let head = Block::heading("joints that move together without a loop");
    vec![head, Block::List(pairs.iter().map(pair_line).collect())]
}

fn pair_line(pair: &MovingPair) -> String {
    let curve = if pair.is_curved { ", a polynomial with this slope as drawn" } else { "" };
    let parent = if pair.same_parent {
        "; both hang on one link, as crank and rocker do: state the last pin with --loops to have it judged"
    } else {
        ""
    };
    format!(
        "{} follows {} times {}{curve} ({}){parent}",
        pair.follower,
        pair.leader,
        number(pair.multiplier),
        pair.whereabouts
    )
}

/// `line 12` of `path/to/file:12:5`.
pub(super) fn line_of(whereabouts: &str) -> String {
    whereabouts.rsplit(':').nth(1).map_or(String::new(), |line| format!("line {line}"))
}
