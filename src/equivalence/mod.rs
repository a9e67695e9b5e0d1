//! Criteria, the verdict with its three outcomes, the best constants.

/// What was found out about a claim.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The claim holds.
    Holds,
    /// The claim fails.
    Fails,
    /// Neither was shown within the effort given.
    Undecided,
    /// Not looked at, and does not count.
    NotAssessed,
}

/// May a direct joint stand in?
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Every assessed criterion holds.
    Equivalent,
    /// At least one fails.
    NotEquivalent,
    /// None fails, but not every one was shown to hold.
    Undecided,
}
