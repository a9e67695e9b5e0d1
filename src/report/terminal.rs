//! Blocks for a terminal, a file or a log: indented, no line wider than it, pictures drawn with characters.
//!
//! All that is said passes here, so that no name in it can move the cursor or forge a line.

use anstyle::AnsiColor;

use crate::diagnostic::{rows, visible, width_of};
use crate::study::Warning;

use super::blocks::{Block, Cell, Characters, Column, Group, Holds, Table, Tone, dash};
use super::columns::columns;
use super::picture;
use super::style::Style;
use super::words::UNITS;

/// Every group that says something, a blank line between them.
pub(super) fn text(groups: &[Group], style: Style) -> String {
    let filled = groups.iter().filter(|group| !group.is_empty());
    let shown: Vec<String> =
        filled.map(|group| group.iter().map(|block| shown(block, style)).collect()).collect();
    style.fit(shown.join("\n"))
}

fn shown(block: &Block, style: Style) -> String {
    let clause = |first: &'static str| move |line: &String| wrapped(line, style.width, first);
    match block {
        Block::Title(name, verdict, words) => title(name, verdict.as_ref(), words, style),
        Block::Heading(words, more) => heading(words, more, style),
        Block::Line(line) => clause("  ")(line),
        Block::List(lines) => lines.iter().map(clause("  - ")).collect(),
        Block::Notes(lines) => lines.iter().map(clause("    ")).collect(),
        Block::Facts(facts) => facts.iter().map(|(name, lines)| fact(name, lines, style)).collect(),
        Block::Table(table) => set(table, style),
        Block::Warnings(warnings) => warnings.iter().map(|w| warning(w, style)).collect(),
        Block::Caution(words) => {
            style.faint(&wrapped(&format!("caution: {words}"), style.width, "  "))
        }
        Block::Characters(Characters::Curve(points, band)) => {
            picture::draw(points, *band, style).iter().map(|line| format!("{line}\n")).collect()
        }
        Block::Characters(Characters::Bars(rows)) => {
            rows.iter().map(|row| bar_row(row, style)).collect()
        }
    }
}

fn title(name: &str, verdict: Option<&Cell>, words: &str, style: Style) -> String {
    let word = verdict.map_or_else(String::new, |cell| format!("{} ", cell.text.to_uppercase()));
    let text = hanging(&format!("{name}: {word}{words}"), style.width);
    let text = match verdict {
        Some(cell) => text.replacen(word.trim(), &toned(word.trim(), cell.tone, style), 1),
        None => text,
    };
    let name = visible(name);
    text.replacen(&*name, &style.heading(&name), 1)
}

fn heading(words: &str, more: &str, style: Style) -> String {
    let text = wrapped(&format!("{words} {more}"), style.width, "  ");
    text.replacen(words, &style.heading(words), 1)
}

/// Columns of the names of facts.
const NAMES: usize = 13;

/// A screen below this has no room for names beside what they name.
const NARROW: usize = 60;

fn fact(name: &str, lines: &[String], style: Style) -> String {
    if style.width < NARROW {
        let told: String = lines.iter().map(|line| wrapped(line, style.width, "    ")).collect();
        return wrapped(name, style.width, "  ") + &told;
    }
    let names = std::iter::once(name).chain(std::iter::repeat(""));
    let line =
        |(name, line): (&str, &String)| wrapped(line, style.width, &format!("  {name:<NAMES$}"));
    names.zip(lines).map(line).collect()
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

/// Columns of the longest bar, and those beside it.
const BAR: usize = 40;
const BESIDE_BAR: usize = 28;

fn bar_row((label, share, words): &(String, Option<f64>, String), style: Style) -> String {
    let longest = style.width.saturating_sub(BESIDE_BAR).min(BAR);
    match share {
        Some(share) => format!("  {label:>10} {:<longest$} {words}\n", bar(*share, longest)),
        None => wrapped(words, style.width, &format!("  {label:>10} ")),
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

/// In columns, without its bars where these are too many, or a row in a clause of its own.
pub(super) fn set(table: &Table, style: Style) -> String {
    let fits = |text: &String| text.lines().all(|line| width_of(line) <= style.width);
    let in_columns = [true, false].map(|bars| under_each_other(table, bars, style));
    in_columns.into_iter().find(fits).unwrap_or_else(|| folded(table, style))
}

fn under_each_other(table: &Table, bars: bool, style: Style) -> String {
    let is_shown = |holds: Holds| holds != Holds::OnPage && (bars || holds != Holds::Bars);
    let shown: Vec<&Column> = table.columns.iter().filter(|c| is_shown(c.0)).collect();
    let mut header: Vec<String> = shown.iter().map(|column| column.shown().to_owned()).collect();
    let left: Vec<bool> = shown.iter().map(|column| column.0 == Holds::Words).collect();
    indent(&mut header);
    let row = |row: &Vec<Cell>| {
        let cells = row.iter().zip(&table.columns).filter(|(_, column)| is_shown(column.0));
        let cells = cells.map(|(cell, _)| toned(&visible(&cell.text), cell.tone, style));
        let mut cells: Vec<String> = cells.collect();
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

/// Each row as a clause: its name, then each figure behind the name of its column.
fn folded(table: &Table, style: Style) -> String {
    let head = table.columns.first().map_or("", Column::shown);
    let head = if head.is_empty() { String::new() } else { wrapped(head, style.width, "  ") };
    head + &table.rows.iter().map(|row| folded_row(table, row, style)).collect::<String>()
}

fn folded_row(table: &Table, row: &[Cell], style: Style) -> String {
    let said = row.iter().zip(&table.columns).skip(1);
    let said = said.filter(|(_, column)| !matches!(column.0, Holds::OnPage | Holds::Bars));
    let said = said.filter(|(cell, _)| !cell.text.is_empty() && cell.text != dash());
    let clause = |(cell, column): (&Cell, &Column)| {
        let text = toned(&visible(&cell.text), cell.tone, style);
        // What came out speaks for itself.
        let name = if column.1 == "outcome" { "" } else { column.shown() };
        format!("{name} {text}").trim().to_owned()
    };
    let clauses: Vec<String> = said.map(clause).collect();
    let name = row.first().map_or("", |cell| &cell.text);
    let told = set_in(&format!("{}: {}", visible(name), clauses.join("; ")), style.width, 4, 6);
    format!("{told}\n")
}

/// `text` broken at spaces to `width` columns: the first line behind `first`, the others behind as many blanks.
pub(super) fn wrapped(text: &str, width: usize, first: &str) -> String {
    let text = visible(text);
    let blanks = width_of(first);
    let words = pieces(&text, width.saturating_sub(blanks));
    rows(words.iter().map(String::as_str), width, first, &" ".repeat(blanks)).join("\n") + "\n"
}

/// The same from the first column, the other lines set in.
pub(super) fn hanging(text: &str, width: usize) -> String {
    set_in(&visible(text), width, 0, 2) + "\n"
}

fn set_in(text: &str, width: usize, first: usize, others: usize) -> String {
    let words = pieces(text, width.saturating_sub(others));
    let [first, others] = [first, others].map(|blanks| " ".repeat(blanks));
    rows(words.iter().map(String::as_str), width, &first, &others).join("\n")
}

/// Words of at most `room` columns, a figure and its unit as one where there is room for both.
fn pieces(text: &str, room: usize) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match words.last_mut() {
            Some(last) if belongs(last, word) && width_of(last) + 1 + width_of(word) <= room => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.extend(cut(word, room.max(1))),
        }
    }
    words
}

/// Is `word` the unit of the figure before it, or the second half of one?
fn belongs(before: &str, word: &str) -> bool {
    let bare = word.trim_end_matches([',', ';', '.', ')', ':']);
    let (figure, first) = before.rsplit_once(' ').unwrap_or((before, ""));
    let is_figure = |text: &str| text.ends_with(|c: char| c.is_ascii_digit());
    (first.is_empty() && is_figure(before) && UNITS.contains(&bare))
        || (is_figure(figure)
            && matches!((first, bare), ("N", "m" | "mm" | "m/rad") | ("kg", "m2" | "mm")))
}

/// A word in pieces of at most `room` columns.
fn cut(word: &str, room: usize) -> Vec<String> {
    if width_of(word) <= room || word.contains('\u{1b}') {
        return vec![word.to_owned()];
    }
    let mut pieces = vec![String::new()];
    for c in word.chars() {
        let wide = width_of(c.encode_utf8(&mut [0; 4]));
        match pieces.last_mut() {
            Some(piece) if width_of(piece) + wide <= room => piece.push(c),
            _ => pieces.push(c.to_string()),
        }
    }
    pieces
}
