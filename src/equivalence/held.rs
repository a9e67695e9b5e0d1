//! One criterion held against its limit, and a stroke by what was shown over it: the same for linkages and for other drives.

use super::assessment::{Assessment, Shown, Why};
use super::criterion::{Basis, Criterion, Figure};
use super::finding::{Finding, Shows};
use super::outcome::{Outcome, Verdict};
use crate::linkage::Extreme;

/// How far it would still hold, each proved; `None` where it does not hold at all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// One tolerance ± for all four lengths, m.
    pub symmetric_tolerance: Option<f64>,
    /// Motor turns, ascending, rad, over the same linkages and with the same constants.
    pub stroke: Option<[f64; 2]>,
}

pub(super) fn is_proved(verdict: Verdict, criteria: &[Assessment]) -> bool {
    let mut assessed = criteria.iter().filter(|c| c.outcome != Outcome::NotAssessed);
    match verdict {
        Verdict::Equivalent => assessed.all(Assessment::is_proved),
        Verdict::NotEquivalent => assessed.any(|c| c.outcome == Outcome::Fails && c.is_proved()),
        Verdict::Undecided => false,
    }
}

/// The certified range of i / ratio in a finding of the ratio; `None` where there is none above 0.
#[must_use]
pub fn ratio_range<W>(ratio: &Finding<W>) -> Option<[f64; 2]> {
    let [above, below] = ratio.sides;
    (above.is_finite() && below < 1.0).then_some([1.0 - below, 1.0 + above])
}

/// The witness of the failing criterion that is furthest over its limit.
pub(super) fn worst_witness<'a, W: Clone + 'a>(
    criteria: &[Assessment],
    found: impl Fn(Criterion) -> Option<&'a Finding<W>>,
) -> Option<(Criterion, W)> {
    criteria
        .iter()
        .filter(|c| c.outcome == Outcome::Fails)
        .filter_map(|c| Some((c, found(c.criterion)?)))
        .filter(|(_, finding)| finding.outcome == Outcome::Fails)
        .max_by(|(a, _), (b, _)| a.load().total_cmp(&b.load()))
        .map(|(c, finding)| (c.criterion, finding.witness.clone()))
}

/// What one criterion of a motion is held against.
#[derive(Clone, Copy, Debug)]
pub(super) struct Held {
    pub(super) criterion: Criterion,
    pub(super) limit: f64,
    pub(super) basis: Basis,
    /// The turns of the stroke by which its poses are told, ascending, rad.
    pub(super) range: [f64; 2],
    /// What the drawn figure may be off.
    pub(super) doubt: f64,
}

impl Held {
    /// From the drawn mechanism's worst figure and what the search found over the family; `at` tells motor and joint turn.
    pub(super) fn assess<W: Shows>(
        &self,
        drawn: Extreme,
        finding: &Finding<W>,
        assembly: Outcome,
        at: &dyn Fn(f64) -> [Option<f64>; 2],
    ) -> Assessment {
        let Self { criterion, limit, basis, .. } = *self;
        let nominal = Figure::new(drawn.value);
        // The drawn mechanism belongs to the family. Without a figure its rocker stands still somewhere.
        let doubt = criterion.met_within() + self.doubt;
        let drawn_breaks = nominal.is_none_or(|figure| criterion.margin(figure, limit) < -doubt);
        let seen = Figure::new(finding.witness.value());
        let outcome = match finding.outcome {
            Outcome::Fails => Outcome::Fails,
            _ if drawn_breaks => Outcome::Fails,
            Outcome::Holds => Outcome::Holds,
            Outcome::Undecided | Outcome::NotAssessed => Outcome::Undecided,
        };
        // The search stops far beyond the limit; the drawn mechanism alone may be worse than its witness.
        let drawn_is_worse = match (nominal, seen) {
            (Some(drawn), Some(seen)) => {
                criterion.load(drawn, limit) >= criterion.load(seen, limit)
            }
            (drawn, _) => finding.outcome != Outcome::Fails || drawn.is_none(),
        };
        let [motor, joint] = at(self.worst_at(finding, drawn, drawn_is_worse));
        let by_drawn = finding.outcome != Outcome::Fails || drawn_is_worse;
        Assessment {
            criterion,
            limit,
            basis,
            nominal,
            bound: finding.bound.filter(|bound| *bound < NO_BOUND).and_then(Figure::new),
            seen: if by_drawn { nominal } else { seen }.filter(|_| outcome == Outcome::Fails),
            worst_at_motor: motor,
            worst_at_joint: joint,
            worst_at_joints: None,
            outcome,
            shown: match outcome {
                Outcome::Holds => Shown::Proved,
                Outcome::Fails => Shown::ByPose,
                Outcome::Undecided | Outcome::NotAssessed => Shown::NotShown,
            },
            why: why(outcome, nominal, drawn, finding, assembly),
        }
    }

    /// The turn where it is worst: the drawn mechanism's own, or within tolerance that of the worst seen.
    fn worst_at<W: Shows>(
        &self,
        finding: &Finding<W>,
        drawn: Extreme,
        drawn_is_worse: bool,
    ) -> f64 {
        let turn = match self.basis {
            Basis::Nominal => drawn.turn,
            Basis::Tolerance if finding.boxes == 0 || drawn_is_worse => drawn.turn,
            Basis::Tolerance => finding.witness.turn(),
        };
        // The box is a hair wider than the stroke.
        let [from, to] = self.range;
        turn.clamp(from, to)
    }
}

fn why<W: Shows>(
    outcome: Outcome,
    nominal: Option<Figure>,
    drawn: Extreme,
    finding: &Finding<W>,
    assembly: Outcome,
) -> Option<Why> {
    let shown = finding.witness.value();
    match (outcome, assembly) {
        (Outcome::Fails, _) if nominal.is_none() => Some(Why::StandsStill(drawn.turn)),
        (Outcome::Fails, _) if shown.is_infinite() => {
            Some(Why::StandsStill(finding.witness.turn()))
        }
        (Outcome::Fails, _) if shown.is_nan() && finding.outcome == Outcome::Fails => {
            Some(Why::DoesNotClose)
        }
        (Outcome::Undecided, Outcome::Fails) => Some(Why::DoesNotClose),
        (Outcome::Undecided, Outcome::Undecided | Outcome::NotAssessed) => Some(Why::NearlyFlat),
        (Outcome::Undecided, Outcome::Holds) => Some(Why::OutOfBoxes(finding.boxes)),
        _ => None,
    }
}

/// Stretches of a stroke by what `decide` could show over each: (the longest proved, undecided).
pub(super) fn stretches(
    [from, to]: [f64; 2],
    decide: impl Fn([f64; 2]) -> Outcome,
) -> (Option<[f64; 2]>, Vec<[f64; 2]>) {
    let edge = |k: u32| from + (to - from) * f64::from(k) / f64::from(STRETCHES);
    let outcomes: Vec<([f64; 2], Outcome)> = (0..STRETCHES)
        .map(|k| [edge(k), edge(k + 1)])
        .map(|turns| (turns, decide(turns)))
        .collect();
    let width = |range: &[f64; 2]| range[1] - range[0];
    let proved =
        runs(&outcomes, Outcome::Holds).into_iter().max_by(|a, b| width(a).total_cmp(&width(b)));
    (proved, runs(&outcomes, Outcome::Undecided))
}

/// A bound above this, rad or share, is none: the search stopped far beyond every limit.
const NO_BOUND: f64 = 1e6;

/// Pieces that the stroke is cut into to show what part of it is proved.
const STRETCHES: u32 = 32;

/// Runs of neighbouring stretches with one outcome, joined.
fn runs(outcomes: &[([f64; 2], Outcome)], wanted: Outcome) -> Vec<[f64; 2]> {
    let mut runs: Vec<[f64; 2]> = Vec::new();
    for (range, _) in outcomes.iter().filter(|(_, outcome)| *outcome == wanted) {
        match runs.last_mut() {
            Some(last) if last[1] >= range[0] => last[1] = range[1],
            _ => runs.push(*range),
        }
    }
    runs
}
