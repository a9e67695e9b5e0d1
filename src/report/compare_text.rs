//! `compare` as text: for each file its joints, the differences first; and as lines for editors and logs.

use std::fmt::Write as _;

use anstyle::AnsiColor;

use crate::diagnostic::visible;
use crate::handover::compare::{
    ComparedFile, ComparedJoint, ComparedPair, Comparison, Measure, Row, RowOutcome,
};

use super::columns::columns;
use super::style::Style;
use super::terminal::wrapped;

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
    let head = format!("{} ({})", style.heading(&file.file), file.format);
    let mut out =
        format!("{} and {head}: {}\n", style.heading(&found.design), verdict(&file.joints, style));
    for joint in &file.joints {
        out.push('\n');
        out.push_str(&joint_text(joint, ["design", "file"], style));
    }
    out
}

/// Of two files that say the same one line is enough.
fn pair_text(pair: &ComparedPair, style: Style) -> String {
    let [first, second] = pair.files.each_ref().map(|file| style.heading(file));
    let mut out = format!("{first} and {second}: {}\n", verdict(&pair.joints, style));
    for joint in pair.joints.iter().filter(|joint| joint.rows.iter().any(is_open)) {
        out.push('\n');
        let open = joint.rows.iter().filter(|row| is_open(row)).cloned().collect();
        let shown = ComparedJoint { rows: open, ..joint.clone() };
        out.push_str(&joint_text(&shown, ["first", "second"], style));
    }
    out
}

fn verdict(joints: &[ComparedJoint], style: Style) -> String {
    let rows = || joints.iter().flat_map(|joint| &joint.rows);
    let count = |outcome| rows().filter(|row| row.outcome == outcome).count();
    let differences = count(RowOutcome::Differs);
    if differences > 0 {
        let what = if differences == 1 { "difference" } else { "differences" };
        return format!("{}, {differences} {what}", style.strong("NOT IN STEP", AnsiColor::Red));
    }
    if count(RowOutcome::Undecided) > 0 {
        return style.strong("UNDECIDED", AnsiColor::Yellow);
    }
    let same = count(RowOutcome::InStep);
    format!("{}, {same} figures", style.strong("IN STEP", AnsiColor::Green))
}

fn joint_text(joint: &ComparedJoint, sides: [&str; 2], style: Style) -> String {
    let mut head = style.heading(&joint.joint);
    let place = joint.at.as_ref().map(|line| format!("line {}", line.line));
    let facts: Vec<String> =
        joint.form.map(|form| form.title().to_owned()).into_iter().chain(place).collect();
    if !facts.is_empty() {
        let _ = write!(head, " ({})", facts.join(", "));
    }
    let mut out = head + "\n";
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
    let header = ["figure", first, second, "off by", "tolerance", "line", ""].map(str::to_owned);
    let cells: Vec<_> = sorted.iter().map(|row| cells(row)).collect();
    let text = columns(&header, &cells, &[]);
    let mut lines = text.lines();
    let mut out = lines.next().map_or(String::new(), |head| format!("{head}\n"));
    for (row, line) in sorted.iter().zip(lines) {
        let line = if is_open(row) { line.to_owned() } else { style.faint(line) };
        out.push_str(&line);
        out.push('\n');
    }
    out
}

fn cells(row: &Row) -> Vec<String> {
    let counts = row.difference.is_some();
    let off =
        row.difference.filter(|_| row.measure != Measure::Name).map_or(String::new(), |off| {
            if off.abs() <= f64::EPSILON {
                "0".to_owned()
            } else {
                row.measure.shown_difference(off)
            }
        });
    vec![
        row.title(),
        row.shown(row.first.as_ref()),
        row.shown(row.second.as_ref()),
        off,
        if counts { allowance(row) } else { String::new() },
        row.at.as_ref().map_or(String::new(), |line| line.line.to_string()),
        outcome(row.outcome).to_owned(),
    ]
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
