//! Exit status as an answer.

use std::process::ExitCode;

use crate::equivalence::Verdict;

/// What the process answers; the order is the order in which several answers are merged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Exit {
    /// 0: shown equivalent, or done.
    Done,
    /// 3: undecided within the effort given.
    Undecided,
    /// 1: not equivalent, or refused because of it.
    NotEquivalent,
    /// 2: the input or the call is wrong.
    Wrong,
}

impl Exit {
    pub(super) fn of(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Equivalent => Self::Done,
            Verdict::NotEquivalent => Self::NotEquivalent,
            Verdict::Undecided => Self::Undecided,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        match exit {
            Exit::Done => Self::SUCCESS,
            Exit::NotEquivalent => Self::from(1),
            Exit::Wrong => Self::from(2),
            Exit::Undecided => Self::from(3),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_several_answers_wrong_input_outranks_refuted_outranks_undecided() {
        let merged =
            [Exit::Undecided, Exit::Wrong, Exit::NotEquivalent, Exit::Done].into_iter().max();
        assert_eq!(merged, Some(Exit::Wrong));
        assert_eq!(
            [Exit::Undecided, Exit::NotEquivalent].into_iter().max(),
            Some(Exit::NotEquivalent)
        );
    }
}
