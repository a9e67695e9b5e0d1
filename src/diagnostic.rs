//! A message that points at a place in a file.
//!
//! A [`Diagnostic`] is message, place and help; [`render`] shows a list of them against the user's own text,
//! sorted by place. It knows no design file: a place is a range of bytes.

mod code;
mod near;
mod rows;
mod visible;

pub use code::Code;
pub use near::{nearest_name, nearest_word};
pub use rows::{rows, width_of};
pub use visible::{is_hidden, visible, visible_path};

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Element, Group, Level, Origin, Renderer, Snippet};
use std::fmt;
use std::io;
use std::ops::Range;

/// How many messages are shown before the rest are only counted.
const SHOWN: usize = 100;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The file cannot be used.
    Error,
    /// The file can be used; the user should know.
    Warning,
}

/// A message, its place and its cure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// Error or warning.
    pub severity: Severity,
    /// By which more can be asked about it.
    pub code: Option<Code>,
    /// What is wrong, one line.
    pub message: String,
    /// Bytes of the file that are meant; none where the message is about the whole file.
    pub place: Option<Range<usize>>,
    /// What to say under the place.
    pub label: Option<String>,
    /// What to write instead.
    pub help: Option<String>,
}

impl fmt::Display for Diagnostic {
    /// The message and its cure, for who has no text to point at; [`render`] shows the place.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        self.help.as_ref().map_or(Ok(()), |help| write!(f, "; {help}"))
    }
}

impl std::error::Error for Diagnostic {}

impl Diagnostic {
    /// An error without a place yet.
    #[must_use]
    pub fn error(message: impl Into<String>) -> Self {
        Self::new(Severity::Error, message.into())
    }

    /// A warning without a place yet.
    #[must_use]
    pub fn warning(message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, message.into())
    }

    fn new(severity: Severity, message: String) -> Self {
        let message = visible(&message).into_owned();
        Self { severity, code: None, message, place: None, label: None, help: None }
    }

    /// That the file stops being UTF-8 at the byte `at`; `cure` is what to do where it is no UTF-16.
    pub(crate) fn not_utf8(bytes: &[u8], at: usize, cure: &str) -> Self {
        let byte = bytes.get(at).copied().unwrap_or(0);
        let line = 1 + bytes.iter().take(at).filter(|byte| **byte == b'\n').count();
        let of_utf16 = "the file is UTF-16: save it as UTF-8 in your editor";
        let what = format!("the file is not UTF-8: byte 0x{byte:02x} at offset {at}, line {line}");
        Self::error(what).help(if is_utf16(bytes) { of_utf16 } else { cure })
    }

    /// The same with its code, where it has one.
    #[must_use]
    pub fn code(mut self, code: impl Into<Option<Code>>) -> Self {
        self.code = code.into();
        self
    }

    /// The same at a place.
    #[must_use]
    pub fn at(mut self, place: Range<usize>) -> Self {
        self.place = Some(place);
        self
    }

    /// The same with words under the place.
    #[must_use]
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = Some(visible(&label.into()).into_owned());
        self
    }

    /// The same with what to write instead, one line or more.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(visible::visible_lines(&help.into()));
        self
    }

    /// Whether it is an error.
    #[must_use]
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

/// Every message against the text of the file at `path`, sorted by place, those without one first.
///
/// `coloured` adds ANSI colours. After a hundred messages the others are only counted. Ends with a line break
/// unless there is nothing to say.
#[must_use]
pub fn render(path: &str, text: &str, diagnostics: &[Diagnostic], coloured: bool) -> String {
    let sorted = by_place(diagnostics);
    let path = &visible(path);
    let mut out = String::new();
    for one in sorted.iter().take(SHOWN) {
        out.push_str(&render_one(path, text, one, coloured));
        out.push_str("\n\n");
    }
    if out.ends_with("\n\n") {
        out.pop();
    }
    if sorted.len() > SHOWN {
        out.push_str(&format!("\n(and {} more)\n", sorted.len() - SHOWN));
    }
    out
}

/// One line for each message, by place: `FILE:LINE: SEVERITY[CODE]: MESSAGE; HELP`, for editors and logs.
#[must_use]
pub fn render_lines(path: &str, text: &str, diagnostics: &[Diagnostic]) -> String {
    let path = visible(path);
    let line = |one: &&Diagnostic| {
        let severity = if one.is_error() { "error" } else { "warning" };
        let code = one.code.map_or_else(String::new, |code| format!("[{}]", code.name()));
        let line = one.place.as_ref().map_or(1, |place| line_at(text, place.start));
        let told = one.to_string().replace('\n', " ");
        format!("{path}:{line}: {severity}{code}: {told}\n")
    };
    by_place(diagnostics).iter().map(line).collect()
}

/// Does the file begin with the byte-order mark of UTF-16?
pub(crate) fn is_utf16(bytes: &[u8]) -> bool {
    bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff])
}

/// The number of the line in which the byte `at` of `text` stands.
#[must_use]
pub fn line_at(text: &str, at: usize) -> usize {
    1 + text.bytes().take(at).filter(|byte| *byte == b'\n').count()
}

fn by_place(diagnostics: &[Diagnostic]) -> Vec<&Diagnostic> {
    let mut sorted: Vec<&Diagnostic> = diagnostics.iter().collect();
    sorted.sort_by_key(|one| one.place.as_ref().map(|place| (place.start, place.end)));
    sorted
}

/// Why the system says no, in words that need no number beside them.
#[must_use]
pub fn why(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        io::ErrorKind::NotADirectory => "a part of the path is no folder".to_owned(),
        io::ErrorKind::StorageFull => "no space is left".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "nothing can be written there".to_owned(),
        _ => error.to_string(),
    }
}

fn render_one(path: &str, text: &str, one: &Diagnostic, coloured: bool) -> String {
    let level = match one.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let title = level.primary_title(one.message.as_str());
    let mut group = Group::with_title(match one.code {
        Some(code) => title.id(code.name()),
        None => title,
    });
    group = match &one.place {
        Some(place) => group.element(snippet(path, text, place, one.label.as_deref())),
        None => group.element(Element::Origin(Origin::path(path))),
    };
    if let Some(help) = &one.help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    renderer(coloured).render(&[group])
}

fn renderer(coloured: bool) -> Renderer {
    let renderer = if coloured { Renderer::styled() } else { Renderer::plain() };
    renderer.decor_style(DecorStyle::Ascii)
}

/// The first line of the place only: a place that spans lines is underlined to the end of its first.
fn snippet<'a>(
    path: &'a str,
    text: &'a str,
    place: &Range<usize>,
    label: Option<&'a str>,
) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
    let start = on_boundary(text, place.start);
    let (before, after) = text.split_at(start);
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    let line_end = after.find('\n').map_or(text.len(), |at| start + at);
    let line = text.get(line_start..line_end).unwrap_or("").trim_end_matches('\r');
    let end =
        on_boundary(text, place.end).clamp(start, line_start + line.len().max(start - line_start));
    let span = (start - line_start).min(line.len())..(end - line_start).min(line.len());
    Snippet::source(line)
        .line_start(line_at(text, start))
        .path(path)
        .annotation(AnnotationKind::Primary.span(span).label(label))
}

/// The character boundary at or below `at`, inside the text.
fn on_boundary(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str, place: Range<usize>) -> String {
        let one = Diagnostic::error("too short").at(place).label("here").help("make it longer");
        render("knee.toml", text, &[one], false)
    }

    #[test]
    fn a_message_underlines_the_users_own_line() {
        let text = "name = \"a\"\ncoupler = \"212 mm\"\n";
        assert_eq!(
            shown(text, 21..29),
            "error: too short\n --> knee.toml:2:11\n  |\n2 | coupler = \"212 mm\"\n  |           ^^^^^^^^ here\n  |\n  = help: make it longer\n"
        );
    }

    #[test]
    fn places_that_no_text_has_are_moved_inside() {
        for (start, end) in [(0, 0), (5, 999), (999, 1000), (1, 2), (4, 3)] {
            assert!(shown("µ = 1\r\n\tx = 2", start..end).contains("knee.toml:"));
        }
        assert!(shown("", 0..0).contains("too short"));
        assert!(shown("a\n", 2..2).contains("knee.toml:2:1"));
    }

    #[test]
    fn messages_are_sorted_by_place_and_those_about_the_whole_file_come_first() {
        let list = [
            Diagnostic::error("second").at(2..3),
            Diagnostic::warning("first").at(0..1),
            Diagnostic::error("whole file"),
        ];
        let shown = render("a", "a\nb\n", &list, false);
        let at = |word: &str| shown.find(word).unwrap();
        assert!(at("whole file") < at("first") && at("first") < at("second"));
    }

    #[test]
    fn colours_come_only_on_request() {
        let list = [Diagnostic::error("x").at(0..1)];
        assert!(!render("a", "a", &list, false).contains('\u{1b}'));
        assert!(render("a", "a", &list, true).contains('\u{1b}'));
    }

    #[test]
    fn beyond_a_hundred_messages_the_rest_are_counted() {
        let list = vec![Diagnostic::error("x").at(0..1); 150];
        assert!(render("a", "a", &list, false).ends_with("(and 50 more)\n"));
    }

    #[test]
    fn a_code_stands_in_brackets_behind_the_severity() {
        let list = [Diagnostic::error("x").code(Code::FlatZeroPose)];
        assert!(render("a", "a", &list, false).starts_with("error[flat_zero_pose]: x\n"));
    }

    #[test]
    fn nothing_to_say_is_nothing() {
        assert_eq!(render("a", "a", &[], false), "");
    }
}
