//! Words and small blocks that several outputs share.

use anstyle::AnsiColor;

use crate::equivalence::{Basis, Outcome, Shown, Verdict};
use crate::study::{Check, Warning};

use super::columns::columns;
use super::style::Style;

/// The word for an outcome on a screen.
pub(super) fn outcome_shown(outcome: Outcome, style: Style) -> String {
    match outcome {
        Outcome::Holds => style.strong("holds", AnsiColor::Green),
        Outcome::Fails => style.strong("FAILS", AnsiColor::Red),
        Outcome::Undecided => style.strong("undecided", AnsiColor::Yellow),
        Outcome::NotAssessed => style.faint("not assessed"),
    }
}

/// What a verdict rests on.
pub(super) fn rests(check: &Check) -> String {
    match check.verdict {
        Verdict::Equivalent => held(check),
        Verdict::NotEquivalent => refuted(check),
        Verdict::Undecided => match check.basis {
            Basis::Nominal => "neither proved nor refuted; drawn lengths only".to_owned(),
            Basis::Tolerance => "neither proved nor refuted over the drawn tolerances".to_owned(),
        },
    }
}

fn held(check: &Check) -> String {
    let whole = match check.basis {
        Basis::Nominal => "proved for every pose of the drawn linkage",
        Basis::Tolerance => "proved for every pose of every linkage within the drawn tolerances",
    };
    let computed: Vec<&str> = check
        .criteria
        .iter()
        .filter(|c| c.shown == Shown::Computed)
        .map(|c| c.criterion.title())
        .collect();
    match computed[..] {
        [] => whole.to_owned(),
        _ => format!("{whole}, but for the {}: computed, not proved", computed.join(" and ")),
    }
}

fn refuted(check: &Check) -> String {
    let failing = check.criteria.iter().filter(|c| c.outcome == Outcome::Fails);
    let Some(decides) = failing.max_by(|a, b| a.load().total_cmp(&b.load())) else {
        return String::new();
    };
    let is_drawn = check.witness.is_none_or(|(criterion, _)| criterion != decides.criterion);
    match (decides.shown, check.basis) {
        (Shown::Computed | Shown::NotShown, _) => {
            "computed: no such joint has real bodies".to_owned()
        }
        (_, Basis::Tolerance) if !is_drawn => {
            "shown by a pose of a linkage within the drawn tolerances".to_owned()
        }
        _ => "shown by a pose of the drawn linkage".to_owned(),
    }
}

/// `x` with `decimals` digits behind the point, a true minus sign and never "−0".
pub(super) fn fixed(x: f64, decimals: usize) -> String {
    let text = format!("{x:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

/// A transmission ratio with five decimals; a word where the rocker comes to no turn.
pub(super) fn ratio_shown(ratio: f64) -> String {
    if ratio.is_finite() { fixed(ratio, 5) } else { "none".to_owned() }
}

/// `text` for XML and HTML, in elements and in quoted attributes; control characters, which neither can hold, become
/// replacement characters.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' => out.push(c),
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            c if c.is_control() => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// Words for a page: set as by [`typeset`], and escaped.
pub(super) fn prose(text: &str) -> String {
    escaped(&typeset(text))
}

/// A hyphen before a figure turned into a minus sign, and a figure held together with its unit.
pub(super) fn typeset(text: &str) -> String {
    const UNITS: [&str; 10] = ["%", "deg", "mm", "um", "N", "rad", "rad/s", "MPa", "kg", "g"];
    let mut out = String::with_capacity(text.len());
    let mut before = ' ';
    for (at, c) in text.char_indices() {
        let rest = text.get(at + c.len_utf8()..).unwrap_or_default();
        let is_sign = c == '-'
            && !before.is_alphanumeric()
            && before != '-'
            && rest.starts_with(|next: char| next.is_ascii_digit());
        let word = rest.split(|next: char| next.is_whitespace() || ",.;)…".contains(next)).next();
        let holds =
            c == ' ' && before.is_ascii_digit() && word.is_some_and(|word| UNITS.contains(&word));
        out.push(if is_sign {
            '−'
        } else if holds {
            '\u{a0}'
        } else {
            c
        });
        before = c;
    }
    out
}

/// `words` as a sentence: a capital first, a full stop last.
pub(super) fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    let end = if words.ends_with('.') { "" } else { "." };
    format!("{first}{}{end}", letters.as_str())
}

/// `text` broken at spaces to `width` columns: the first line behind `first`, the others behind as many blanks.
pub(super) fn wrapped(text: &str, width: usize, first: &str) -> String {
    let indent = " ".repeat(first.chars().count());
    let (mut out, mut line) = (String::new(), String::from(first));
    let mut empty = true;
    for word in text.split_whitespace() {
        if !empty && line.chars().count() + 1 + word.chars().count() > width {
            out.push_str(&line);
            out.push('\n');
            (line, empty) = (indent.clone(), true);
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    format!("{out}{line}\n")
}

/// Warnings, one block each.
pub(super) fn warnings_shown(warnings: &[Warning], style: Style) -> String {
    let mut out = String::new();
    for warning in warnings {
        let text =
            wrapped(&format!("[{}] {}", warning.code, warning.message), style.width, "  warning ");
        let head = style.strong("warning", AnsiColor::Yellow);
        out.push_str(&text.replacen("warning", &head, 1));
    }
    out
}

/// A table without rules: the first column to the left, figures to the right.
pub(super) fn table(header: &[&str], rows: &[Vec<String>]) -> String {
    columns(header, rows, |at| at == 0)
}
