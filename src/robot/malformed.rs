//! What the XML parser found wrong, in words that say what to mend.

use std::fmt;

use quick_xml::Error;
use quick_xml::errors::{IllFormedError, SyntaxError};

use crate::diagnostic::Diagnostic;

/// A file that is no XML, and why.
#[derive(Clone, Debug)]
pub struct Malformed {
    /// What can be shown of the text.
    pub text: String,
    /// The fault at its place.
    pub fault: Diagnostic,
}

impl fmt::Display for Malformed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.fault.fmt(f)
    }
}

impl std::error::Error for Malformed {}

/// The fault at byte `at`; `open` are the elements around it, with where each begins.
pub(super) fn fault(text: &str, open: &[(String, usize)], at: usize, error: &Error) -> Diagnostic {
    let place = at.min(text.len())..line_end(text, at);
    match error {
        Error::Syntax(SyntaxError::UnclosedComment) => cut(place, "a comment", "-->"),
        Error::Syntax(SyntaxError::UnclosedCData) => cut(place, "a CDATA section", "]]>"),
        Error::Syntax(SyntaxError::UnclosedDoctype) => cut(place, "the document type", ">"),
        Error::Syntax(SyntaxError::UnclosedPI | SyntaxError::UnclosedXmlDecl) => {
            cut(place, "a processing instruction", "?>")
        }
        Error::Syntax(SyntaxError::InvalidBangMarkup) => {
            Diagnostic::error("no markup begins like this")
                .at(place)
                .help("comments are written <!-- ... -->")
        }
        Error::Syntax(_) => cut(place, "a tag", ">"),
        Error::IllFormed(IllFormedError::MismatchedEndTag { expected, found }) => {
            let opened = open.last().map_or(place.clone(), |(name, at)| *at..*at + 1 + name.len());
            let (line, _) =
                (text.get(..opened.start).unwrap_or_default().matches('\n').count() + 1, 0);
            Diagnostic::error(format!("</{found}> closes <{expected}>"))
                .at(place)
                .label(format!("<{expected}> of line {line} is still open"))
                .help(format!("close <{expected}> first, or take the surplus tag out"))
        }
        Error::IllFormed(IllFormedError::UnmatchedEndTag(name)) => {
            Diagnostic::error(format!("</{name}> closes nothing"))
                .at(place)
                .help("take the tag out, or open what it closes")
        }
        other => Diagnostic::error(format!("not well-formed XML: {other}"))
            .at(place)
            .help("mend the XML; an XML editor shows the place"),
    }
}

fn cut(place: std::ops::Range<usize>, what: &str, end: &str) -> Diagnostic {
    Diagnostic::error(format!("{what} begins here and does not end"))
        .at(place)
        .help(format!("the file is cut short, or {end} is missing"))
}

fn line_end(text: &str, at: usize) -> usize {
    let rest = text.get(at..).unwrap_or_default();
    at.min(text.len()) + rest.find('\n').unwrap_or(rest.len())
}
