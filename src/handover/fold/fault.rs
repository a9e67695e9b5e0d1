//! What stands against folding a loop.

use crate::diagnostic::Diagnostic;
use crate::equivalence::Verdict;
use crate::robot::{Element, Place, Robot};

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

impl FoldFault {
    pub(super) fn of(diagnostic: Diagnostic) -> Self {
        Self { document: 0, diagnostic, verdict: None }
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
        let diagnostic = Diagnostic::error(message).help(help);
        let diagnostic = match robot.element(place) {
            Some(element) => diagnostic.at(element.tag_range()),
            None => diagnostic,
        };
        Self { document: place.document, diagnostic, verdict: None }
    }
}
