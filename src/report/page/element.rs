//! Blocks as HTML, and the few elements besides. Every text that comes in is escaped here.

use crate::report::blocks::{Block, Cell, Column, Holds, Table, Tone};
use crate::report::words::{capital, prose, sentence};

/// Blocks below a heading of `rank`; what a terminal draws with characters is left out.
pub(super) fn set(rank: u8, blocks: &[Block]) -> String {
    let mut out = String::new();
    // What the heading just above says besides; a table below it says its name no second time.
    let mut above = None;
    for (at, block) in blocks.iter().enumerate() {
        match block {
            Block::Heading(words, more) if says(blocks.get(at + 1)) => {
                out.push_str(&heading(rank + 1, None, &capital(words)));
                above = Some(more.as_str());
            }
            Block::Table(shown) if shown.caption.is_empty() => {
                let caption = capital(above.unwrap_or_default().trim_matches(['(', ')']));
                out.push_str(&table(&Table { caption, ..shown.clone() }));
                above = None;
            }
            Block::Table(shown) if above.is_some() || at == 0 => {
                out.push_str(&table_named_above(shown));
                above = None;
            }
            block => {
                above = matches!(block, Block::Heading(..)).then_some("");
                out.push_str(&one(rank, block));
            }
        }
    }
    out
}

/// Does the heading's second part go above a table that has no words of its own?
fn says(next: Option<&Block>) -> bool {
    matches!(next, Some(Block::Table(table)) if table.caption.is_empty())
}

fn one(rank: u8, block: &Block) -> String {
    let sentences = |lines: &[String]| list(lines.iter().map(|line| sentence(line)));
    match block {
        Block::Title(_, _, words) | Block::Line(words) => paragraph(&sentence(words)),
        Block::Heading(words, more) => {
            heading(rank + 1, None, capital(&format!("{words} {more}")).trim_end())
        }
        Block::List(lines) | Block::Notes(lines) => sentences(lines),
        Block::Facts(facts) => facts_shown(facts),
        Block::Table(shown) => table(shown),
        Block::Warnings(warnings) => {
            list(warnings.iter().map(|w| format!("[{}] {}", w.code, sentence(&w.message))))
        }
        Block::Caution(words) => paragraph(&format!("Caution: {words}")),
        Block::Characters(_) => String::new(),
    }
}

fn facts_shown(facts: &[(&str, Vec<String>)]) -> String {
    let shown = facts.iter().map(|(name, lines)| {
        let lines: Vec<String> = lines.iter().map(|line| prose(line)).collect();
        format!("<div><dt>{name}</dt><dd>{}</dd></div>\n", lines.join("<br>"))
    });
    format!("<dl class=\"facts\">\n{}</dl>\n", shown.collect::<String>())
}

/// A heading of rank 1…6, with an id where one is given.
pub(super) fn heading(rank: u8, id: Option<&str>, words: &str) -> String {
    let id = id.map_or_else(String::new, |id| format!(" id=\"{id}\""));
    format!("<h{rank}{id}>{}</h{rank}>\n", prose(words))
}

/// A paragraph.
pub(super) fn paragraph(words: &str) -> String {
    format!("<p>{}</p>\n", prose(words))
}

/// A list, or nothing where it is empty.
pub(super) fn list(lines: impl IntoIterator<Item = String>) -> String {
    let items: String = lines.into_iter().map(|l| format!("<li>{}</li>\n", prose(&l))).collect();
    if items.is_empty() { items } else { format!("<ul class=\"lines\">\n{items}</ul>\n") }
}

/// A table: the first column names its row, the caption is read out before it.
pub(super) fn table(shown: &Table) -> String {
    table_with(shown, "")
}

/// A table whose name stands right above it: its caption is read out alone.
pub(super) fn table_named_above(shown: &Table) -> String {
    table_with(shown, " class=\"spoken\"")
}

fn table_with(shown: &Table, look: &str) -> String {
    let columns = || shown.columns.iter().filter(|column| column.0 != Holds::Bars);
    let head: String = columns()
        .map(|Column(holds, name)| {
            format!("<th scope=\"col\"{}>{}</th>", align(*holds), prose(name))
        })
        .collect();
    let body: String = shown.rows.iter().map(|cells| row(shown, cells)).collect();
    let caption = prose(&shown.caption);
    format!(
        "<div class=\"scroll\" role=\"region\" aria-label=\"{caption}\" tabindex=\"0\">\n<table>\n<caption{look}>{caption}</caption>\n\
         <thead><tr>{head}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>\n</div>\n"
    )
}

/// Every figure carries its column's name, for screens on which the row is a block.
fn row(shown: &Table, cells: &[Cell]) -> String {
    let cells = cells.iter().zip(&shown.columns).filter(|(_, c)| c.0 != Holds::Bars);
    let mut cells = cells.map(|(text, Column(holds, name))| (cell(text), *holds, name));
    let first = cells.next().map_or(String::new(), |(text, ..)| text);
    let rest = cells.map(|(text, holds, name)| {
        format!("<td{} data-name=\"{}\">{text}</td>", align(holds), prose(name))
    });
    format!("<tr><th scope=\"row\">{first}</th>{}</tr>\n", rest.collect::<String>())
}

fn align(holds: Holds) -> &'static str {
    if holds == Holds::Figures { "" } else { " class=\"words\"" }
}

fn cell(cell: &Cell) -> String {
    let text = prose(&cell.text);
    match (&cell.link, mark(cell.tone)) {
        (Some(to), _) => format!("<a href=\"#{to}\">{text}</a>"),
        (None, Some((class, sign))) => {
            format!(
                "<span class=\"{class}\"><span class=\"sign\" aria-hidden=\"true\">{sign}</span> {text}</span>"
            )
        }
        (None, None) => text,
    }
}

/// A class of the style sheet and a sign.
pub(super) fn mark(tone: Tone) -> Option<(&'static str, &'static str)> {
    match tone {
        Tone::Plain => None,
        Tone::Good => Some(("yes", "✓")),
        Tone::Bad => Some(("no", "✕")),
        Tone::Open => Some(("open", "?")),
        Tone::Faint => Some(("none", "–")),
    }
}

/// A small card: what, the figure, and a line of HTML below it.
pub(super) fn card(what: &str, figure: &str, below: &str) -> String {
    let [what, figure] = [what, figure].map(prose);
    format!("<div><dt>{what}</dt><dd><p class=\"big\">{figure}</p>{below}</dd></div>\n")
}

/// Something that opens on demand; on paper it stays as it is.
pub(super) fn fold(summary: &str, body: &str) -> String {
    format!("<details><summary>{}</summary>\n{body}</details>\n", prose(summary))
}
