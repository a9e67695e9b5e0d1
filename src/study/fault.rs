//! A fault of the design, with the parameter that it lies in.

use std::fmt;

use crate::design::{InFile, Parameter};
use crate::diagnostic::{Code, Diagnostic};

/// What is wrong with a design that reads well: which parameter, what, and what to change it to.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// The parameter whose place in the file is to be shown.
    pub parameter: Parameter,
    /// By which more can be asked about it.
    pub code: Code,
    /// What is wrong.
    pub message: String,
    /// At the place.
    pub label: String,
    /// How to mend it.
    pub help: String,
}

impl Fault {
    /// The drive's zero pose cannot be built from its sizes.
    pub(super) fn no_build() -> Self {
        Self {
            parameter: Parameter::Drive,
            code: Code::LoopDoesNotClose,
            message: "the drive cannot be built from its sizes".to_owned(),
            label: "no zero pose".to_owned(),
            help: "check sizes, points and axes of the zero pose".to_owned(),
        }
    }

    /// The same at the user's own line.
    #[must_use]
    pub fn diagnostic(&self, design: &impl InFile) -> Diagnostic {
        let found = design.places().diagnose(self.parameter, self.message.clone()).code(self.code);
        found.label(self.label.clone()).help(self.help.clone())
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; {}", self.message, self.label, self.help)
    }
}

impl std::error::Error for Fault {}
