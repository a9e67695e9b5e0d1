//! The verdict on a drive that is no planar four-bar.

use super::super::assessment::{Assessment, Why};
use super::super::criterion::Criterion;
use super::super::finding::{Aim, Budget, DOUBT, Finding};
use super::super::held::{Held, is_proved, ratio_range, stretches, worst_witness};
use super::super::outcome::{Outcome, Verdict};
use super::chain::Chain;
use super::figures::DriveFigures;
use super::question::{BuildWitness, DriveQuestion, SizeRanges};
use super::stage::Stage;
use super::worst::{Found, Search};
use crate::drive::OneJoint as _;
use crate::linkage::Extreme;

/// The verdict and what it rests on.
#[derive(Clone, Debug)]
pub struct DriveJudgement {
    /// May the direct joint stand in?
    pub verdict: Verdict,
    /// Is the verdict proved, or shown by a pose; not only computed?
    pub proved: bool,
    /// In the order of [`Criterion::ALL`]; what is not written is not judged.
    pub criteria: Vec<Assessment>,
    /// The build and pose that break the criterion furthest over its limit, where a search found one.
    pub witness: Option<(Criterion, BuildWitness)>,
    /// The drawn drive's worst figures.
    pub figures: DriveFigures,
    /// i / ratio lies certainly between these over every build, where that is known and both are above 0.
    pub ratio_range: Option<[f64; 2]>,
    /// Joint turns over which all criteria of the motion are proved, ascending, rad; none where nothing is.
    pub proved_turns: Option<[f64; 2]>,
    /// Stretches of joint turns over which the search could not decide.
    pub undecided_turns: Vec<[f64; 2]>,
}

/// May the direct joint stand in for the drive? `inertia` is that criterion, judged elsewhere.
///
/// `None` where the drawing has no build of its own.
#[must_use]
pub fn judge_drive(question: &DriveQuestion<'_>, inertia: Assessment) -> Option<DriveJudgement> {
    let figures = question.figures();
    let found = question.search(question.turns, &question.sizes, Aim::Tight, BUDGET)?;
    let mut criteria: Vec<Assessment> = question.criteria(&figures, &found).collect();
    criteria.push(inertia);
    criteria.sort_by_key(|c| c.criterion);
    let (proved_turns, undecided_turns) = if found.outcome() == Outcome::Holds {
        (Some(question.turns), Vec::new())
    } else {
        stretches(question.turns, |turns| question.decide(turns, &question.sizes))
    };
    if proved_turns == Some(question.turns) {
        criteria.iter_mut().for_each(Assessment::hold_on_every_stretch);
    }
    let verdict = Verdict::of(criteria.iter().map(|c| c.outcome));
    Some(DriveJudgement {
        verdict,
        proved: is_proved(verdict, &criteria),
        witness: worst_witness(&criteria, |criterion| found.of(criterion)),
        criteria,
        figures,
        ratio_range: found.of(Criterion::Ratio).and_then(ratio_range),
        proved_turns,
        undecided_turns,
    })
}

/// Do all limits of the motion hold? The answer alone: no bound is brought closer than its limit takes, so that where
/// they do this is several times faster than a verdict with its figures.
#[must_use]
pub fn drive_outcome(question: &DriveQuestion<'_>) -> Outcome {
    let found = |aim| question.search(question.turns, &question.sizes, aim, BUDGET);
    if found(Aim::Decide).is_some_and(|found| found.outcome() == Outcome::Holds) {
        return Outcome::Holds;
    }
    // Not every build that breaks a limit is seen so soon, the drawn one perhaps.
    let Some(found) = found(Aim::Tight) else { return Outcome::Undecided };
    let figures = question.figures();
    let each = question.criteria(&figures, &found);
    each.fold(found.assembly, |all, one| all.min_certain(one.outcome))
}

/// For a verdict, and for one of many questions.
const BUDGET: Budget = Budget(400);
const SMALL_BUDGET: Budget = Budget(150);

impl DriveQuestion<'_> {
    /// Do all criteria of the motion hold between `turns`, over `sizes`?
    pub(super) fn decide(&self, turns: [f64; 2], sizes: &SizeRanges) -> Outcome {
        let found = self.search(turns, sizes, Aim::Decide, SMALL_BUDGET);
        found.map_or(Outcome::Undecided, |found| found.outcome())
    }

    /// The criteria of the motion from the drawn drive's figures and what was found of each.
    pub(super) fn criteria(
        &self,
        figures: &DriveFigures,
        found: &Found,
    ) -> impl Iterator<Item = Assessment> {
        let each = found.figures.iter();
        each.filter_map(move |(of, finding)| self.assessed(figures, *of, finding, found))
    }

    fn assessed(
        &self,
        figures: &DriveFigures,
        criterion: Criterion,
        finding: &Finding<BuildWitness>,
        found: &Found,
    ) -> Option<Assessment> {
        let drawn = self.drawn(figures, criterion)?;
        let mut assessed = self.assess(criterion, drawn, finding, found.assembly);
        let is_of_assembly = matches!(assessed.why, Some(Why::DoesNotClose | Why::NearlyFlat));
        if found.is_beyond_lengths && is_of_assembly {
            assessed.why = Some(Why::BeyondLengths);
        }
        Some(assessed)
    }

    fn drawn(&self, figures: &DriveFigures, criterion: Criterion) -> Option<Extreme> {
        match criterion {
            Criterion::Angle => Some(figures.angle),
            Criterion::Ratio => Some(figures.ratio_error),
            Criterion::TransmissionAngle => figures.transmission_angle,
            Criterion::CrankSide => figures.crank_side,
            Criterion::BallTilt => figures.ball_tilt,
            _ => None,
        }
    }

    fn assess(
        &self,
        criterion: Criterion,
        drawn: Extreme,
        finding: &Finding<BuildWitness>,
        assembly: Outcome,
    ) -> Assessment {
        let limit = self.limits.of(criterion).unwrap_or(f64::INFINITY);
        let held = Held { criterion, limit, basis: self.basis, range: self.turns, doubt: DOUBT };
        let at = |joint: f64| [self.drive.motor_turn(joint).ok(), Some(joint)];
        held.assess(drawn, finding, assembly, &at)
    }

    fn search(
        &self,
        turns: [f64; 2],
        sizes: &SizeRanges,
        aim: Aim,
        budget: Budget,
    ) -> Option<Found> {
        let stages = Stage::all(self.drawing, self.drive, sizes, self.zeroing)?;
        let chain = Chain::new(stages, self.drive, turns, self.joint);
        Some(Search { question: self, chain, turns, aim, budget }.run())
    }
}
