//! The one door to a verdict: from the linkage, the direct joint and what has to hold, as plain values, to the verdict
//! with all that it rests on.

use super::assessment::{Assessment, Shown, Why};
use super::builds::{BuildWitness, Front, FrontMargins};
use super::criterion::{Basis, Criterion, Figure};
use super::extremes::{largest_stroke, largest_tolerance};
use super::finding::{Budget, Finding, Shows, Witness};
use super::nominal::Figures;
use super::outcome::{Outcome, Verdict};
use super::pad::{self, FingerWeighing, PadFigures};
use super::proof::Prover;
use super::question::Question;
use super::weighing::{Weighing, assess, assess_finger, weigh};
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

/// How far it would still hold, each proved; `None` where it does not hold at all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// One tolerance ± for all four lengths, m.
    pub symmetric_tolerance: Option<f64>,
    /// Motor turns, ascending, rad, over the same linkages and with the same constants.
    pub stroke: Option<[f64; 2]>,
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
