//! The one door to a verdict: from the linkage, the direct joint and what has to hold, as plain values, to the verdict
//! with all that it rests on.

use super::assessment::Assessment;
use super::builds::{BuildWitness, Front, FrontMargins};
use super::criterion::Criterion;
use super::extremes::{largest_stroke, largest_tolerance};
use super::finding::{Budget, Finding, Witness};
use super::held::{Held, Reach, is_proved, ratio_range, stretches, worst_witness};
use super::inertia::{assess, assess_finger};
use super::nominal::Figures;
use super::outcome::{Outcome, Verdict};
use super::pad::{self, FingerWeighing, PadFigures};
use super::proof::Prover;
use super::question::Question;
use super::weighing::{Weighing, weigh};
use crate::linkage::{Extreme, LinkageFault, Sweep};

/// The verdict and what it rests on.
#[derive(Clone, Debug)]
pub struct Judgement {
    /// May the direct joint stand in?
    pub verdict: Verdict,
    /// Is the verdict proved, or shown by a pose; not only computed?
    pub proved: bool,
    /// One for each of [`Question::criteria`], in that order.
    pub criteria: Vec<Assessment>,
    /// The linkage and pose that break the criterion furthest over its limit, where a search found one.
    pub witness: Option<(Criterion, Witness)>,
    /// Of a pad behind another drive: the build of that drive which goes with the witness.
    pub front_build: Option<Vec<f64>>,
    /// The build and pose of that drive that break a margin of its own furthest, where one does.
    pub front_witness: Option<(Criterion, BuildWitness)>,
    /// The drawn linkage's worst figures; the ratio error is infinite across a dead point.
    pub figures: Figures,
    /// Those of the pad, where one rides on the coupler.
    pub pad: Option<PadFigures>,
    /// i / ratio lies certainly between these over the family, where that is known and both are above 0.
    pub ratio_range: Option<[f64; 2]>,
    /// Every drive with its masses, where they are given.
    pub weighing: Option<Weighing>,
    /// Every gripper with its masses, where they are given and a pad rides on the coupler.
    pub finger_weighing: Option<FingerWeighing>,
    /// Motor turns over which angle, ratio and transmission angle are proved, ascending, rad; none where nothing is.
    pub proved_turns: Option<[f64; 2]>,
    /// Stretches of motor turns over which the search could not decide.
    pub undecided_turns: Vec<[f64; 2]>,
}

/// May the direct joint stand in?
///
/// # Errors
/// Where rounding denies a pose at the very end of the branch.
///
/// # Examples
/// From four lengths (m) to a verdict, without masses and without a file:
/// ```
/// use unloop::equivalence::{
///     Basis, Constants, Family, Limits, Question, Verdict, Weights, Zeroing, judge,
/// };
/// use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke, Sweep};
/// use unloop::numeric::Interval;
/// let bars = FourBar { ground: 0.3, crank: 0.045, coupler: 0.3, rocker: 0.045 };
/// let branch = Branch::through(bars, 90_f64.to_radians(), Closure::Open)?;
/// let stroke = Stroke::on(&branch, Drive::Joint, [-0.6, 0.7])?;
/// let best = Constants { ratio: None, offset: Some(0.0) };
/// let joint = best.resolve(&Sweep::over(&branch, stroke)?);
/// let degrees = f64::to_radians;
/// let limits = Limits { angle: degrees(0.5), ratio: 0.02, transmission_angle: degrees(30.0) };
/// let question = Question {
///     branch: &branch, stroke, joint, limits,
///     inertia_limit: 0.05, inertia_is_asked: false, weights: Weights::NotGiven(&["masses"]),
///     basis: Basis::Tolerance, zeroing: Zeroing::OnEachRobot, finger: None,
///     family: Family::symmetric(&bars, 0.1e-3, Interval::ZERO),
/// };
/// assert_eq!(judge(&question)?.verdict, Verdict::Equivalent);
/// # Ok::<(), unloop::linkage::LinkageFault>(())
/// ```
pub fn judge(question: &Question<'_>) -> Result<Judgement, LinkageFault> {
    judge_behind(question, None)
}

/// The same of a pad whose crank the drive `front` turns, where there is one: turns are the crank's.
///
/// # Errors
/// As [`judge`].
pub fn judge_behind(
    question: &Question<'_>,
    front: Option<&Front<'_>>,
) -> Result<Judgement, LinkageFault> {
    let figures = Figures::of(&Sweep::over(question.branch, question.stroke)?, &question.joint);
    let prover = question.prover().behind(front);
    let found = prover.judge(&question.family, question.stroke.motor);
    let weighing = weigh(question);
    let finger_weighing = question.finger.as_ref().and_then(|finger| pad::weigh(question, finger));
    let pad = prover.pad_figures(&question.stroke);
    let drawn = |criterion| match criterion {
        Criterion::Angle => Some(figures.angle),
        Criterion::Ratio => Some(figures.ratio),
        Criterion::TransmissionAngle => Some(figures.transmission_angle),
        of_pad => pad.and_then(|pad| pad.of(of_pad)),
    };
    let mut criteria: Vec<Assessment> = question
        .criteria()
        .iter()
        .map(|&criterion| match (drawn(criterion), found.of(criterion)) {
            (Some(drawn), Some(finding)) => {
                question.assess(criterion, drawn, finding, found.assembly)
            }
            _ => match &question.finger {
                Some(_) => assess_finger(question, finger_weighing.as_ref()),
                None => assess(question, weighing.as_ref()),
            },
        })
        .collect();
    if let Some(front) = &found.front {
        question.add_margins(&mut criteria, front);
    }
    let (proved_turns, undecided_turns) = if found.hold() {
        (Some(question.stroke.motor), Vec::new())
    } else {
        question.stretches(&prover)
    };
    if proved_turns == Some(question.stroke.motor) {
        criteria.iter_mut().for_each(Assessment::hold_on_every_stretch);
    }
    let verdict = Verdict::of(criteria.iter().map(|c| c.outcome));
    let proved = is_proved(verdict, &criteria);
    let witness = worst_witness(&criteria, |criterion| found.of(criterion));
    let build_of = |(broken, _): &(Criterion, Witness)| {
        let (_, build) = found.fronts.iter().find(|(criterion, _)| criterion == broken)?;
        Some(build.clone())
    };
    Ok(Judgement {
        verdict,
        proved,
        front_build: witness.as_ref().and_then(build_of),
        front_witness: found.front.as_ref().and_then(|front| front.witness.clone()),
        witness,
        criteria,
        figures,
        pad,
        ratio_range: found.of(Criterion::Ratio).and_then(ratio_range),
        weighing,
        finger_weighing,
        proved_turns,
        undecided_turns,
    })
}

/// What outweighs what in a verdict.
fn severity(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::NotAssessed => 0,
        Outcome::Holds => 1,
        Outcome::Undecided => 2,
        Outcome::Fails => 3,
    }
}

/// Lengths are decimals turned into floats: they are right to this share.
const DECIMALS_ROUNDED: f64 = 1e-15;

impl Question<'_> {
    /// What proves it.
    pub(super) fn prover(&self) -> Prover<'_> {
        Prover::new(self.branch, &self.joint, self.zeroing, self.limits)
            .of_pad(self.finger.as_ref())
    }

    fn limit(&self, criterion: Criterion) -> f64 {
        match criterion {
            Criterion::Angle => self.limits.angle,
            Criterion::Ratio => self.limits.ratio,
            Criterion::Inertia => self.inertia_limit,
            Criterion::TransmissionAngle => self.limits.transmission_angle,
            of_pad => self.finger.and_then(|f| f.limits.of(of_pad)).unwrap_or(f64::INFINITY),
        }
    }

    /// A criterion of the motion from the drawn linkage's worst figure and what the search found over the family.
    fn assess(
        &self,
        criterion: Criterion,
        drawn: Extreme,
        finding: &Finding,
        assembly: Outcome,
    ) -> Assessment {
        let held = Held {
            criterion,
            limit: self.limit(criterion),
            basis: self.basis,
            range: self.stroke.motor,
            doubt: self.rounding_at(drawn.turn),
        };
        let at = |turn: f64| [Some(turn), self.branch.joint_turn(turn).ok()];
        held.assess(drawn, finding, assembly, &at)
    }

    /// The margins of the drive in front: where both have one, the worse stands for both.
    fn add_margins(&self, criteria: &mut Vec<Assessment>, front: &FrontMargins) {
        for margin in &front.criteria {
            let turn = margin.worst_at_joint;
            let mut margin = Assessment {
                worst_at_motor: turn,
                worst_at_joint: turn.and_then(|turn| self.branch.joint_turn(turn).ok()),
                ..margin.clone()
            };
            match criteria.iter_mut().find(|own| own.criterion == margin.criterion) {
                None => criteria.push(margin),
                Some(own) => {
                    let weight = |c: &Assessment| (severity(c.outcome), c.load());
                    if weight(&margin) > weight(own) {
                        std::mem::swap(own, &mut margin);
                    }
                }
            }
        }
        criteria.sort_by_key(|c| c.criterion);
    }

    /// What a figure of the drawn linkage carries of its decimals' roundings: they are divided by the transmission angle,
    /// in slopes by its square.
    fn rounding_at(&self, turn: f64) -> f64 {
        let angle = self.branch.pose(turn).map_or(1.0, |pose| pose.transmission_angle().sin());
        DECIMALS_ROUNDED / (angle * angle)
    }

    /// How far it would still hold.
    #[must_use]
    pub fn reach(&self) -> Reach {
        let prover = self.prover().with_budget(Budget(1500));
        let (turns, crank_error) = (self.stroke.motor, self.family.crank_error);
        Reach {
            symmetric_tolerance: largest_tolerance(&prover, self.branch, crank_error, turns),
            stroke: largest_stroke(&prover, self.branch, &self.family, turns),
        }
    }

    /// Stretches of the stroke by what could be shown over each: (the longest proved, undecided).
    fn stretches(&self, prover: &Prover<'_>) -> (Option<[f64; 2]>, Vec<[f64; 2]>) {
        let prover = prover.with_budget(Budget(400));
        stretches(self.stroke.motor, |turns| prover.decide(&self.family, turns))
    }
}
