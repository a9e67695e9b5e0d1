//! Blocks for a terminal, a file or a log: indented, broken to its width, pictures drawn with characters.

use anstyle::AnsiColor;

use crate::diagnostic::rows;
use crate::study::Warning;

use super::blocks::{Block, Cell, Characters, Column, Group, Holds, Table, Tone};
use super::columns::columns;
use super::picture;
use super::style::Style;

/// Every group that says something, a blank line between them.
pub(super) fn text(groups: &[Group], style: Style) -> String {
    let filled = groups.iter().filter(|group| !group.is_empty());
    let shown: Vec<String> =
        filled.map(|group| group.iter().map(|block| shown(block, style)).collect()).collect();
    style.fit(shown.join("\n"))
}

fn shown(block: &Block, style: Style) -> String {
    match block {
        Block::Title(name, verdict, words) => title(name, verdict.as_ref(), words, style),
        Block::Heading(words, more) => {
            format!("  {}\n", format!("{} {more}", style.heading(words)).trim_end())
        }
        Block::Line(line) => wrapped(line, style.width, "  "),
        Block::List(lines) => lines.iter().map(|l| wrapped(l, style.width, "  - ")).collect(),
        Block::Notes(lines) => lines.iter().map(|l| wrapped(l, style.width, "    ")).collect(),
        Block::Facts(facts) => facts.iter().map(|(name, lines)| fact(name, lines)).collect(),
        Block::Table(table) => set(table, style),
        Block::Warnings(warnings) => warnings.iter().map(|w| warning(w, style)).collect(),
        Block::Caution(words) => {
            style.faint(&wrapped(&format!("caution: {words}"), style.width, "  "))
        }
        Block::Characters(Characters::Curve(points, band)) => {
            picture::draw(points, *band, style).iter().map(|line| format!("{line}\n")).collect()
        }
        Block::Characters(Characters::Bars(rows)) => rows.iter().map(bar_row).collect(),
    }
}

fn title(name: &str, verdict: Option<&Cell>, words: &str, style: Style) -> String {
    let name = style.heading(name);
    match verdict {
        None => format!("{name}: {words}\n"),
        Some(verdict) => {
            let word = verdict.text.to_uppercase();
            format!("{name}: {} {words}\n", toned(&word, verdict.tone, style))
        }
    }
}

fn fact(name: &str, lines: &[String]) -> String {
    let names = std::iter::once(name).chain(std::iter::repeat(""));
    names.zip(lines).map(|(name, line)| format!("  {name:<13}{line}\n")).collect()
}

fn warning(warning: &Warning, style: Style) -> String {
    let text =
        wrapped(&format!("[{}] {}", warning.code, warning.message), style.width, "  warning ");
    text.replacen("warning", &style.strong("warning", AnsiColor::Yellow), 1)
}

fn toned(text: &str, tone: Tone, style: Style) -> String {
    match tone {
        Tone::Plain => text.to_owned(),
        Tone::Good => style.strong(text, AnsiColor::Green),
        Tone::Bad => style.strong(&text.to_uppercase(), AnsiColor::Red),
        Tone::Open => style.strong(text, AnsiColor::Yellow),
        Tone::Faint => style.faint(text),
    }
}

const BAR: usize = 40;

fn bar_row((label, share, words): &(String, Option<f64>, String)) -> String {
    match share {
        Some(share) => format!("  {label:>10} {:<BAR$} {words}\n", bar(*share, BAR)),
        None => format!("  {label:>10} {words}\n"),
    }
}

/// A share of `of` cells filled.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a share of a bar of a few dozen cells"
)]
pub(super) fn bar(share: f64, of: usize) -> String {
    "█".repeat((share.clamp(0.0, 1.0) * of as f64).round() as usize)
}

fn set(table: &Table, style: Style) -> String {
    let shown: Vec<bool> = table.columns.iter().map(|c| c.0 != Holds::OnPage).collect();
    let (mut header, mut left) = (Vec::new(), Vec::new());
    for Column(holds, name) in table.columns.iter().filter(|c| c.0 != Holds::OnPage) {
        let named = matches!(holds, Holds::Figures | Holds::Words);
        header.push(if named { name.clone() } else { String::new() });
        left.push(*holds == Holds::Words);
    }
    indent(&mut header);
    let row = |row: &Vec<Cell>| {
        let cells = row.iter().zip(&shown).filter(|(_, shown)| **shown);
        let mut cells: Vec<String> =
            cells.map(|(cell, _)| toned(&cell.text, cell.tone, style)).collect();
        indent(&mut cells);
        cells
    };
    columns(&header, &table.rows.iter().map(row).collect::<Vec<_>>(), &left)
}

fn indent(cells: &mut [String]) {
    if let Some(first) = cells.first_mut() {
        first.insert_str(0, "  ");
    }
}

/// `text` broken at spaces to `width` columns: the first line behind `first`, the others behind as many blanks.
pub(super) fn wrapped(text: &str, width: usize, first: &str) -> String {
    let indent = " ".repeat(first.chars().count());
    rows(text.split_whitespace(), width, first, &indent).join("\n") + "\n"
}
