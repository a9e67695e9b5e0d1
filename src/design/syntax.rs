//! Faults of the TOML itself, with what to write instead.

use crate::diagnostic::Diagnostic;
use crate::units::clipped;
use std::ops::Range;
use toml::de::Error;

/// So many faults of the TOML are told; a file with more is no TOML at all.
const TOLD: usize = 200;

/// One diagnostic for each fault; one alone where something is nested too deeply.
pub(super) fn faults(text: &str, errors: &[Error]) -> Vec<Diagnostic> {
    if let Some(error) = errors.iter().find(|error| error.message().contains("recurs")) {
        return vec![fault(text, error)];
    }
    let mut all: Vec<Diagnostic> =
        errors.iter().take(TOLD).map(|error| fault(text, error)).collect();
    all.sort_by_key(|one| one.place.as_ref().map(|place| (place.start, place.end)));
    all.dedup();
    all
}

/// The text with every key that has no value blanked out, where there is one: the parser gives up at it, and
/// what follows should be judged too. Every byte keeps its place.
pub(super) fn without_bare_keys(text: &str, errors: &[Error]) -> Option<String> {
    let bare =
        errors.iter().filter(|error| error.message().contains("key with no value")).take(TOLD);
    let lines: Vec<Range<usize>> =
        bare.filter_map(Error::span).map(|place| line_of(text, place.start)).collect();
    if lines.is_empty() {
        return None;
    }
    let mut bytes = text.as_bytes().to_vec();
    for line in lines {
        let end = line.end.min(bytes.len());
        for byte in bytes.get_mut(line.start..end).into_iter().flatten() {
            *byte = if *byte == b'\n' { b'\n' } else { b' ' };
        }
    }
    String::from_utf8(bytes).ok()
}

/// Whether a table header cannot be read: nobody knows then where the lines below it belong.
pub(super) fn loses_a_header(errors: &[Error]) -> bool {
    errors.iter().any(|error| {
        error.message().contains("unclosed table") || error.message().contains("recurs")
    })
}

/// Bytes of the line that holds `at`, its line break included.
pub(super) fn line_of(text: &str, at: usize) -> Range<usize> {
    let bytes = text.as_bytes();
    let at = at.min(bytes.len());
    let before = bytes.get(..at).unwrap_or(&[]);
    let start = before.iter().rposition(|byte| *byte == b'\n').map_or(0, |found| found + 1);
    let after = bytes.get(at..).unwrap_or(&[]);
    let end = after.iter().position(|byte| *byte == b'\n').map_or(bytes.len(), |found| at + found);
    start..end + 1
}

const TOO_DEEP: &str = "nested too deeply";

fn fault(text: &str, error: &Error) -> Diagnostic {
    let place = error.span().unwrap_or(0..0);
    let meant = Meant::new(text, &place);
    let (message, help) = words(error.message(), &meant);
    Diagnostic::error(message).at(place).help(help)
}

/// What stands at the fault.
struct Meant<'t> {
    /// The text that is blamed.
    blamed: &'t str,
    /// Its line.
    line: &'t str,
}

impl<'t> Meant<'t> {
    fn new(text: &'t str, place: &Range<usize>) -> Self {
        let before = text.get(..place.start).unwrap_or("");
        let start = before.rfind('\n').map_or(0, |at| at + 1);
        let line = text.get(start..).and_then(|rest| rest.lines().next()).unwrap_or("").trim();
        Self { blamed: text.get(place.clone()).unwrap_or("").trim(), line }
    }

    fn key(&self) -> String {
        let key = self.line.split('=').next().unwrap_or("").trim();
        clipped(if key.is_empty() { "key" } else { key })
    }

    fn has_decimal_comma(&self) -> bool {
        let bytes = self.line.as_bytes();
        bytes.windows(3).any(|three| {
            matches!(three, [before, b',', after] if before.is_ascii_digit() && after.is_ascii_digit())
        })
    }
}

/// Message and help for a message of the TOML parser.
fn words(message: &str, meant: &Meant<'_>) -> (String, String) {
    let says = |word: &str| message.contains(word);
    let (key, blamed) = (meant.key(), clipped(meant.blamed));
    let (what, help) = if says("recurs") {
        (TOO_DEEP.to_owned(), "a design file nests two tables deep at most".to_owned())
    } else if says("duplicate key") {
        twice(meant)
    } else if says("must be quoted") && meant.blamed.is_empty() {
        (format!("`{key}` has no value"), format!("write {key} = \"value\", or take the line out"))
    } else if says("must be quoted") {
        (
            format!("the value of `{key}` has no quotation marks"),
            format!("write {key} = \"{blamed}\""),
        )
    } else if says("key with no value") {
        ("a line without a value".to_owned(), format!("write {key} = \"value\""))
    } else if says("unclosed table") {
        ("a table header without its bracket".to_owned(), format!("write {}]", clipped(meant.line)))
    } else if says("unclosed array") {
        (
            "a list without its closing bracket `]`".to_owned(),
            "write [\"first\", \"second\"]".to_owned(),
        )
    } else if says("string, expected") {
        (
            "a text without its closing quotation mark".to_owned(),
            "put \" behind the text".to_owned(),
        )
    } else if says("missing escaped value") {
        ("a backslash in a text".to_owned(), "write \\\\ for one backslash".to_owned())
    } else if says("invalid boolean") {
        (
            format!("`{blamed}` is neither true nor false"),
            "write true or false in small letters".to_owned(),
        )
    } else if says("unexpected key or value") {
        behind_the_value(meant)
    } else {
        (
            format!("no valid TOML: {}", clipped(message)),
            "see the format at https://toml.io".to_owned(),
        )
    };
    (what, help)
}

fn twice(meant: &Meant<'_>) -> (String, String) {
    let blamed = clipped(meant.blamed);
    if meant.line.starts_with("[[") {
        (
            format!("`{blamed}` is a table and a list of tables"),
            format!("write [[{blamed}]] each time"),
        )
    } else if meant.line.starts_with('[') {
        (
            format!("table [{blamed}] is written twice"),
            "put all its lines under one header".to_owned(),
        )
    } else {
        (format!("`{blamed}` is written twice"), "keep one of the two lines".to_owned())
    }
}

fn behind_the_value(meant: &Meant<'_>) -> (String, String) {
    if meant.has_decimal_comma() {
        let line = clipped(&meant.line.replace(',', "."));
        ("a decimal comma".to_owned(), format!("write {line}"))
    } else {
        (
            "something stands behind the value".to_owned(),
            "one value a line; comments start with #".to_owned(),
        )
    }
}
