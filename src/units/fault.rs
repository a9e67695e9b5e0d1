//! What is wrong with a text that should be a quantity, and what to write instead.

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
}
