//! Words that several outputs share, and how they are set.

use crate::diagnostic::is_hidden;
use crate::units::fixed;

/// A transmission ratio with five decimals; a word where the rocker comes to no turn.
pub(super) fn ratio_shown(ratio: f64) -> String {
    if ratio.is_finite() { fixed(ratio, 5) } else { "none".to_owned() }
}

/// `text` for XML and HTML, in elements and in quoted attributes; what would not show, or show as something else, is an
/// escape.
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
            c if is_hidden(c) => out.extend(c.escape_default()),
            c => out.push(c),
        }
    }
    out
}

/// Words for a page: set as by [`typeset`], and escaped.
pub(super) fn prose(text: &str) -> String {
    escaped(&typeset(text))
}

/// Words that stay with the figure before them.
pub(super) const UNITS: [&str; 13] =
    ["%", "deg", "mm", "um", "N", "rad", "rad/s", "MPa", "kg", "g", "mm/s", "mN", "kN"];

/// A hyphen before a figure turned into a minus sign, and a figure held together with its unit.
pub(super) fn typeset(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut before = ' ';
    for (at, c) in text.char_indices() {
        let rest = text.get(at + c.len_utf8()..).unwrap_or_default();
        let is_sign = c == '-'
            && !before.is_alphanumeric()
            && before != '-'
            && rest.starts_with(|next: char| next.is_ascii_digit());
        let word = rest.split(|next: char| next.is_whitespace() || ",.;:)…".contains(next)).next();
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

/// `words` with a capital first.
pub(super) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    first + letters.as_str()
}

/// `words` as a sentence: a capital first, a full stop last.
pub(super) fn sentence(words: &str) -> String {
    let end = if words.ends_with('.') { "" } else { "." };
    capital(words) + end
}
