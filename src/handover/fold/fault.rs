//! What stands against folding a loop.

use std::fmt;

use crate::diagnostic::Diagnostic;
use crate::equivalence::Verdict;
use crate::robot::{Document, Element, Place, Robot};

/// One thing that stands against it.
#[derive(Clone, Debug)]
pub struct FoldFault {
    /// Which of the robot's documents it is in.
    pub document: usize,
    /// What, where, and what to do.
    pub diagnostic: Diagnostic,
    /// The verdict, where that is what stands against it.
    pub verdict: Option<Verdict>,
}

impl fmt::Display for FoldFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.diagnostic.fmt(f)
    }
}

impl std::error::Error for FoldFault {}

impl FoldFault {
    pub(super) fn of(diagnostic: Diagnostic) -> Self {
        Self { document: 0, diagnostic, verdict: None }
    }

    /// Without its place, which is one of another text.
    pub(super) fn without_place(self) -> Self {
        let Diagnostic { message, help, .. } = self.diagnostic;
        Self { document: 0, diagnostic: Diagnostic { help, ..Diagnostic::error(message) }, ..self }
    }

    /// In another file than the robot's: its line goes into the message.
    #[must_use]
    pub fn elsewhere(document: &Document, fault: &Diagnostic) -> Self {
        let place = fault.place.clone().unwrap_or_default();
        let (line, _) = document.line_column(place.start);
        let message = format!("{}:{line}: {}", document.path, fault.message);
        Self::of(Diagnostic { message, place: None, ..fault.clone() })
    }

    /// With what to do.
    pub(super) fn with_help(self, help: &str) -> Self {
        Self { diagnostic: self.diagnostic.help(help), ..self }
    }

    /// At the first tag of an element of the robot's first document.
    pub(super) fn at(element: Element<'_>, message: impl Into<String>, help: &str) -> Self {
        Self::of(Diagnostic::error(message).at(element.tag_range()).help(help))
    }

    /// At a place of the robot.
    pub(super) fn at_place(
        robot: &Robot,
        place: Place,
        message: impl Into<String>,
        help: &str,
    ) -> Self {
        Self::placed(robot, Some(place), Diagnostic::error(message).help(help))
    }

    /// At the first tag of what stands at a place of the robot, where there is one.
    pub(super) fn placed(robot: &Robot, place: Option<Place>, diagnostic: Diagnostic) -> Self {
        match place.and_then(|at| Some((at, robot.element(at)?))) {
            Some((at, element)) => {
                let diagnostic = diagnostic.at(element.tag_range());
                Self { document: at.document, ..Self::of(diagnostic) }
            }
            None => Self::of(diagnostic),
        }
    }
}
