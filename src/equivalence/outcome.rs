//! Three outcomes, and a fourth that does not count.

words! {
    /// What was found out about one criterion.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Outcome {
        /// The claim holds.
        Holds = "holds",
        /// The claim fails.
        Fails = "fails",
        /// Neither was shown within the effort given.
        Undecided = "undecided",
        /// Not looked at, and does not count.
        NotAssessed = "not_assessed",
    }
}

impl Outcome {
    /// The weaker of two: failure before undecided before holding.
    pub(super) fn min_certain(self, other: Self) -> Self {
        match (self, other) {
            (Self::Fails, _) | (_, Self::Fails) => Self::Fails,
            (Self::Holds, Self::Holds) => Self::Holds,
            _ => Self::Undecided,
        }
    }
}

words! {
    /// May a direct joint stand in?
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Verdict {
        /// Every assessed criterion holds, and at least one was assessed.
        Equivalent = "equivalent",
        /// At least one fails.
        NotEquivalent = "not_equivalent",
        /// None fails, but not every one was shown to hold.
        Undecided = "undecided",
    }
}

impl Verdict {
    /// From the outcomes of all criteria: one failure refutes; else one undecided leaves all undecided.
    #[must_use]
    pub(super) fn of(outcomes: impl IntoIterator<Item = Outcome>) -> Self {
        let mut verdict = None;
        for outcome in outcomes {
            verdict = match (outcome, verdict) {
                (Outcome::Fails, _) | (_, Some(Self::NotEquivalent)) => Some(Self::NotEquivalent),
                (Outcome::Undecided, _) | (_, Some(Self::Undecided)) => Some(Self::Undecided),
                (Outcome::Holds, _) => Some(Self::Equivalent),
                (Outcome::NotAssessed, before) => before,
            };
        }
        verdict.unwrap_or(Self::Undecided)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_failure_refutes_whatever_else_is_undecided() {
        assert_eq!(
            Verdict::of([Outcome::Holds, Outcome::Undecided, Outcome::Fails]),
            Verdict::NotEquivalent
        );
        assert_eq!(
            Verdict::of([Outcome::Fails, Outcome::Holds, Outcome::Undecided]),
            Verdict::NotEquivalent
        );
    }

    #[test]
    fn undecided_never_becomes_equivalent() {
        assert_eq!(Verdict::of([Outcome::Undecided, Outcome::Holds]), Verdict::Undecided);
        assert_eq!(
            Verdict::of([Outcome::Holds, Outcome::Undecided, Outcome::NotAssessed]),
            Verdict::Undecided
        );
    }

    #[test]
    fn what_was_not_assessed_does_not_count_and_nothing_assessed_is_undecided() {
        assert_eq!(Verdict::of([Outcome::NotAssessed, Outcome::Holds]), Verdict::Equivalent);
        assert_eq!(Verdict::of([Outcome::NotAssessed]), Verdict::Undecided);
    }
}
