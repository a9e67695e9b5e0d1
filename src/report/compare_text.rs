//! `compare` as text: for each file its joints, the differences first; and as lines for editors and logs.

use std::fmt::Write as _;

use anstyle::AnsiColor;

use crate::diagnostic::visible;
use crate::handover::compare::{
    ComparedFile, ComparedJoint, ComparedPair, Comparison, Measure, Row, RowOutcome,
};

use super::blocks::{Cell, Holds, Table, Tone};
use super::style::Style;
use super::terminal::{self, hanging, wrapped};

const CAUTION: &str = "in step means: within the tolerance beside each row. Meshes, contacts, controllers and what else the \
    file holds are not looked at; keep real stops and torque limits in the hardware";

/// A comparison for a person.
#[must_use]
pub fn compare_text(found: &Comparison, style: Style) -> String {
    let files = found.files.iter().map(|file| file_text(found, file, style));
    let pairs = found.pairs.iter().map(|pair| pair_text(pair, style));
    let mut blocks: Vec<String> = files.chain(pairs).collect();
    blocks.push(wrapped(CAUTION, style.width, "  caution "));
    style.fit(blocks.join("\n"))
}

/// `FILE:LINE: MESSAGE` for all that differs or is undecided; nothing where all is in step.
#[must_use]
pub fn compare_lines(found: &Comparison) -> String {
    let mut out = String::new();
    for joint in found.joints() {
        for row in joint.rows.iter().filter(|row| is_open(row)) {
            let at = row.at.as_ref().or(joint.at.as_ref());
            let place = at.map_or(String::new(), |line| format!("{line}: "));
            let text = format!("{place}{}: {}", joint.joint, row.why);
            out.push_str(&visible(&text));
            out.push('\n');
        }
    }
    out
}

fn is_open(row: &Row) -> bool {
    matches!(row.outcome, RowOutcome::Differs | RowOutcome::Undecided)
}

fn file_text(found: &Comparison, file: &ComparedFile, style: Style) -> String {
    let words = format!("{} and {} ({})", found.design, file.file, file.format);
    let mut out = headed(&words, &file.joints, style);
    for joint in &file.joints {
        out.push('\n');
        out.push_str(&joint_text(joint, ["design", "file"], style));
    }
    out
}

/// Of two files that say the same one line is enough.
fn pair_text(pair: &ComparedPair, style: Style) -> String {
    let [first, second] = &pair.files;
    let mut out = headed(&format!("{first} and {second}"), &pair.joints, style);
    for joint in pair.joints.iter().filter(|joint| joint.rows.iter().any(is_open)) {
        out.push('\n');
        let open = joint.rows.iter().filter(|row| is_open(row)).cloned().collect();
        let shown = ComparedJoint { rows: open, ..joint.clone() };
        out.push_str(&joint_text(&shown, ["first", "second"], style));
    }
    out
}

/// What is compared, and what came out.
fn headed(words: &str, joints: &[ComparedJoint], style: Style) -> String {
    let (word, more, colour) = verdict(joints);
    let text = hanging(&format!("{words}: {word}{more}"), style.width);
    text.replacen(word, &style.strong(word, colour), 1)
}

fn verdict(joints: &[ComparedJoint]) -> (&'static str, String, AnsiColor) {
    let rows = || joints.iter().flat_map(|joint| &joint.rows);
    let count = |outcome| rows().filter(|row| row.outcome == outcome).count();
    let differences = count(RowOutcome::Differs);
    if differences > 0 {
        let what = if differences == 1 { "difference" } else { "differences" };
        return ("NOT IN STEP", format!(", {differences} {what}"), AnsiColor::Red);
    }
    if count(RowOutcome::Undecided) > 0 {
        return ("UNDECIDED", String::new(), AnsiColor::Yellow);
    }
    ("IN STEP", format!(", {} figures", count(RowOutcome::InStep)), AnsiColor::Green)
}

fn joint_text(joint: &ComparedJoint, sides: [&str; 2], style: Style) -> String {
    let mut head = joint.joint.clone();
    let place = joint.at.as_ref().map(|line| format!("line {}", line.line));
    let facts: Vec<String> =
        joint.form.map(|form| form.title().to_owned()).into_iter().chain(place).collect();
    if !facts.is_empty() {
        let _ = write!(head, " ({})", facts.join(", "));
    }
    let mut out = style.heading(&hanging(&head, style.width));
    for row in joint.rows.iter().filter(|row| is_open(row)) {
        let word = if row.outcome == RowOutcome::Differs { "differs" } else { "undecided" };
        let colour =
            if row.outcome == RowOutcome::Differs { AnsiColor::Red } else { AnsiColor::Yellow };
        let text = wrapped(&row.why, style.width, &format!("  {word} "));
        out.push_str(&text.replacen(word, &style.strong(word, colour), 1));
    }
    for note in &joint.notes {
        out.push_str(&wrapped(note, style.width, "  note "));
    }
    out.push_str(&rows_text(&joint.rows, sides, style));
    out
}

/// What differs first, what is in step faint.
fn rows_text(rows: &[Row], [first, second]: [&str; 2], style: Style) -> String {
    let mut sorted: Vec<&Row> = rows.iter().collect();
    sorted.sort_by_key(|row| !is_open(row));
    let names = ["figure", first, second, "off by", "tolerance", "line"];
    let table = Table::new("", &names, sorted.into_iter().map(cells).collect());
    terminal::set(&table.and(Holds::Outcome, "outcome"), style)
}

/// What a file's decimals leave of equal figures, in SI units.
const ROUNDING: f64 = 1e-12;

fn cells(row: &Row) -> Vec<Cell> {
    let counts = row.difference.is_some();
    let off =
        row.difference.filter(|_| row.measure != Measure::Name).map_or(String::new(), |off| {
            if off.abs() <= ROUNDING { "0".to_owned() } else { row.measure.shown_difference(off) }
        });
    let tone = if is_open(row) { Tone::Plain } else { Tone::Faint };
    [
        row.title(),
        row.shown(row.first.as_ref()),
        row.shown(row.second.as_ref()),
        off,
        if counts { allowance(row) } else { String::new() },
        row.at.as_ref().map_or(String::new(), |line| line.line.to_string()),
        outcome(row.outcome).to_owned(),
    ]
    .map(|text| Cell::toned(&text, tone))
    .to_vec()
}

/// The table's tolerance, but for what a drawn pose may be off on top of it.
fn allowance(row: &Row) -> String {
    match row.tolerance {
        Some(wider) if row.measure == Measure::Angle && wider > row.measure.allowed(0.0) => {
            row.measure.shown_difference(wider)
        }
        _ => row.measure.allowance(),
    }
}

fn outcome(outcome: RowOutcome) -> &'static str {
    match outcome {
        RowOutcome::InStep => "in step",
        RowOutcome::Differs => "DIFFERS",
        RowOutcome::Undecided => "UNDECIDED",
        RowOutcome::NotInFormat => "not in this format",
        RowOutcome::NotInDesign => "not in the design",
        RowOutcome::NotInFile => "not in the file",
    }
}
