//! What is wrong with a text that should be a quantity, and what to write instead.

use std::fmt;

const NO_UNIT: &str = "has no unit";

/// Why a text is no quantity of the kind wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// A predicate that follows the name of the entry: "has no unit".
    pub summary: String,
    /// What to say under the text itself.
    pub label: String,
    /// What to write instead.
    pub help: String,
}

impl fmt::Display for Fault {
    /// "it has no unit: a length, as in "45 mm"".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "it {}: {}", self.summary, self.help)
    }
}

impl std::error::Error for Fault {}

impl Fault {
    /// A fault from its three sentences.
    #[must_use]
    pub fn new(
        summary: impl Into<String>,
        label: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        Self { summary: summary.into(), label: label.into(), help: help.into() }
    }

    /// The fault of a number without a unit.
    #[must_use]
    pub fn no_unit(label: impl Into<String>, help: impl Into<String>) -> Self {
        Self::new(NO_UNIT, label, help)
    }

    /// Whether a number stands where a number and its unit belong.
    #[must_use]
    pub fn is_of_no_unit(&self) -> bool {
        self.summary == NO_UNIT
    }
}
