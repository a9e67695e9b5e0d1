//! `find` as text: a line for the file, then a block for each loop.

use std::fmt::Write as _;

use anstyle::AnsiColor;

use crate::equivalence::Verdict;
use crate::handover::find::{EndedBy, Findings, FoundLoop, FourBarLoop, MovingPair};
use crate::study::{lengths, percent};
use crate::units::number;

use super::style::Style;
use super::words::wrapped;

/// One file's findings for a person.
#[must_use]
pub fn find_text(found: &Findings, style: Style) -> String {
    let mut out = headline(found, style);
    for one in &found.loops {
        out.push('\n');
        out.push_str(&loop_text(one, style));
    }
    if !found.pairs.is_empty() {
        out.push('\n');
        out.push_str(&pairs(&found.pairs, style));
    }
    if !found.remarks.is_empty() {
        out.push('\n');
        for (at, message) in &found.remarks {
            out.push_str(&wrapped(&format!("{at}: {message}"), style.width, "  note "));
        }
    }
    if !found.loops.is_empty() {
        out.push('\n');
        out.push_str(&wrapped(CAUTION, style.width, "  caution: "));
    }
    style.fit(out)
}

const CAUTION: &str = "a verdict covers the plane, rigid linkage with the lengths that the file has, no tolerance and no play; \
    add the drawing's tolerances with --design and check. A file can be wrong: measure the real pins before a robot walks on it";

fn headline(found: &Findings, style: Style) -> String {
    let count = match found.loops.len() {
        0 => "no closed loop".to_owned(),
        1 => "1 closed loop".to_owned(),
        n => format!("{n} closed loops"),
    };
    format!(
        "{}: {count} ({}, {} links, {} moving joints)\n",
        style.heading(&found.file),
        found.format,
        found.links,
        found.joints
    )
}

fn loop_text(one: &FoundLoop, style: Style) -> String {
    let mut out = format!("{}: {}\n", style.heading(&one.name), verdict(one, style));
    if let Some(judged) = &one.judged {
        out.push_str(&wrapped(&judged.check.reason, style.width, "  "));
    }
    let mut line = |name: &str, text: String| {
        out.push_str(&wrapped(&text, style.width, &format!("  {name:<11}")));
    };
    match (&one.four_bar, &one.parts) {
        (Some(found), Some(parts)) => four_bar_lines(one, found, parts, &mut line),
        _ => line("links", one.links.join(" – ")),
    }
    for (head, list) in [("obstacle", &one.obstacles), ("note", &one.remarks)] {
        for note in list {
            line(head, format!("[{}] {}", note.code, note.message));
        }
    }
    out
}

fn verdict(one: &FoundLoop, style: Style) -> String {
    match one.judged.as_ref().map(|judged| judged.check.verdict) {
        Some(Verdict::Equivalent) => style.strong("EQUIVALENT to a direct joint", AnsiColor::Green),
        Some(Verdict::NotEquivalent) => {
            style.strong("NOT EQUIVALENT to a direct joint", AnsiColor::Red)
        }
        Some(Verdict::Undecided) => style.strong("UNDECIDED", AnsiColor::Yellow),
        None if one.four_bar.is_some() => style.strong("NOT JUDGED", AnsiColor::Yellow),
        None => style.strong("NO FOUR-BAR", AnsiColor::Yellow),
    }
}

fn four_bar_lines(
    one: &FoundLoop,
    found: &FourBarLoop,
    [carrier, crank, coupler, child]: &[String; 4],
    line: &mut impl FnMut(&str, String),
) {
    line(
        "parts",
        format!(
            "carrier {carrier}, crank {crank} ({}), coupler {coupler}, child {child}",
            found.roles.motor_told_by
        ),
    );
    let [motor, _, _, joint] = &found.pins;
    let sense = if found.motor_sign() < 0.0 { "turns against it" } else { "turns the same way" };
    line(
        "pins",
        format!(
            "driven {} ({}); motor {} ({}), {sense}",
            joint.name,
            line_of(&joint.whereabouts),
            motor.name,
            line_of(&motor.whereabouts)
        ),
    );
    line("lengths", lengths(&found.bars));
    if let Some(nature) = one.nature {
        let near = nature.near.map_or(String::new(), |(kind, off)| {
            format!(", {} from a {}", percent(off), kind.name())
        });
        line("linkage", format!("{} ({}){near}", nature.kind.name(), nature.class.name()));
    }
    line("axes", axes(found));
    if let (Some(reach), Some([low, high])) = (&one.reach, one.ratio) {
        let range = |[a, b]: [f64; 2]| format!("{:.2}…{:.2} deg", a.to_degrees(), b.to_degrees());
        let why = match reach.ended_by {
            EndedBy::Limits => "the joints' limits".to_owned(),
            EndedBy::TransmissionAngle => format!(
                "no limits in the file: transmission angle {:.0} deg or more",
                reach.floor.to_degrees()
            ),
            EndedBy::DeadPoint => {
                "the joints' limits, and short of a dead point: the crank has no stop".to_owned()
            }
        };
        line(
            "ratio",
            format!(
                "{low:.4}…{high:.4} over motor {}, joint {} from the zero pose ({why})",
                range(reach.motor),
                range(reach.joint)
            ),
        );
    }
}

/// `line 12` of `path/to/file:12:5`.
fn line_of(whereabouts: &str) -> String {
    whereabouts.rsplit(':').nth(1).map_or(String::new(), |line| format!("line {line}"))
}

fn axes(found: &FourBarLoop) -> String {
    let worst = found.pins.iter().filter_map(|pin| pin.tilt).fold(0.0_f64, f64::max);
    let mut out = if worst < 5e-5 {
        "parallel".to_owned()
    } else {
        format!("parallel within {:.3} deg", worst.to_degrees())
    };
    let offsets = found.pins.iter().map(|pin| pin.axial * 1e3);
    if offsets.clone().any(|x| x.abs() >= 5e-4) {
        let [a, p, q, _] =
            [0, 1, 2, 3].map(|k| found.pins.get(k).map_or(0.0, |pin| pin.axial * 1e3));
        let _ = write!(
            out,
            "; along the axis the pins stand {a:.2} (motor), {p:.2} (crank), {q:.2} mm (rocker) from the joint"
        );
    }
    out
}

fn pairs(pairs: &[MovingPair], style: Style) -> String {
    let mut out = String::from("joints that move together without a loop\n");
    for pair in pairs {
        let curve = if pair.is_curved { ", a polynomial with this slope as drawn" } else { "" };
        let parent = if pair.same_parent {
            "; both hang on one link, as crank and rocker do: state the last pin with --loops to have it judged"
        } else {
            ""
        };
        let text = format!(
            "{} follows {} times {}{curve} ({}){parent}",
            pair.follower,
            pair.leader,
            number(pair.multiplier),
            pair.whereabouts
        );
        out.push_str(&wrapped(&text, style.width, "  "));
    }
    out
}
