//! The worst figures of a drive over its joint turns and its builds, each bounded and with the build that has it.

use std::f64::consts::FRAC_PI_2;

use super::super::criterion::{Criterion, MET_WITHIN, Side};
use super::super::finding::{Aim, Budget, Finding, OneSide};
use super::super::outcome::Outcome;
use super::chain::{Chain, Error};
use super::claims::{Figure, Turns};
use super::question::{BuildWitness, DriveQuestion};
use super::stage::{Largest, RodStage, Stage};
use crate::drive::{JointDrive, OneJoint as _};
use crate::numeric::search::Effort;
use crate::numeric::{Interval, elementary};

/// A certified bound is at most this much above the worst figure seen, as a share of it.
const TIGHT: f64 = 0.001;

/// Nor is one that is below this share of its limit made closer than that.
const SMALL: f64 = 1e-4;

/// A stroke's ends may be roots: they are told to this, rad.
pub(super) const ROUNDED: f64 = 1e-12;

/// What was found out about a chain between two joint turns.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) assembly: Outcome,
    /// Every rod reaches, but an actuator was not shown to stay within its lengths.
    pub(super) is_beyond_lengths: bool,
    pub(super) figures: Vec<(Criterion, Finding<BuildWitness>)>,
}

impl Found {
    pub(super) fn of(&self, criterion: Criterion) -> Option<&Finding<BuildWitness>> {
        self.figures.iter().find(|(of, _)| *of == criterion).map(|(_, finding)| finding)
    }

    pub(super) fn outcome(&self) -> Outcome {
        let all = self.figures.iter().map(|(_, finding)| finding.outcome);
        all.fold(self.assembly, Outcome::min_certain)
    }
}

/// The question between two joint turns.
pub(super) struct Search<'a> {
    pub(super) question: &'a DriveQuestion<'a>,
    pub(super) chain: Chain<'a>,
    pub(super) turns: [f64; 2],
    pub(super) aim: Aim,
    pub(super) budget: Budget,
}

/// One side of a rod at a stage: which figure, and the criterion that it belongs to.
const SIDES: [(Figure, Criterion); 2] =
    [(Figure::JointSide, Criterion::TransmissionAngle), (Figure::CrankSide, Criterion::CrankSide)];

impl Search<'_> {
    pub(super) fn run(&self) -> Found {
        let Found { assembly, is_beyond_lengths, mut figures } = self.margins();
        for (criterion, error) in
            [(Criterion::Ratio, Error::Ratio), (Criterion::Angle, Error::Angle)]
        {
            let is_lost = self.aim == Aim::Decide
                && figures.iter().any(|(_, finding)| finding.outcome != Outcome::Holds);
            let finding = if assembly == Outcome::Holds && !is_lost {
                self.two_sided(criterion, error)
            } else {
                self.unknown()
            };
            figures.push((criterion, finding));
        }
        figures.sort_by_key(|(criterion, _)| *criterion);
        Found { assembly, is_beyond_lengths, figures }
    }

    /// Assembly, and the margins of every stage.
    pub(super) fn margins(&self) -> Found {
        let (mut assembly, mut is_beyond_lengths) = (Outcome::Holds, false);
        let mut figures: Vec<(Criterion, Finding<BuildWitness>)> = Vec::new();
        let mut turns = self.whole();
        for (at, (stage, constant)) in self.chain.each().enumerate().rev() {
            let Stage::Rod(stage) = stage else {
                turns = turns.times(constant);
                continue;
            };
            let (assembled, is_beyond) = self.assembled(stage, turns);
            assembly = assembly.min_certain(assembled);
            is_beyond_lengths |= is_beyond;
            for (criterion, finding) in self.margins_of(at, stage, turns) {
                worse(&mut figures, criterion, finding);
            }
            let Some(motor) = self.motor_turns(stage, constant, turns) else {
                assembly = assembly.min_certain(Outcome::Undecided);
                break;
            };
            turns = motor;
        }
        if assembly != Outcome::Holds {
            figures.iter_mut().for_each(|(_, finding)| leave_open(finding));
        }
        Found { assembly, is_beyond_lengths, figures }
    }

    /// All joint turns of the stroke, and those of a witness.
    fn whole(&self) -> Turns {
        let [from, to] = self.turns;
        let off = |end: f64| ROUNDED * end.abs().max(1.0);
        let all = Interval::new(from - off(from), to + off(to));
        Turns { all, typed: Interval::new(from, to) }
    }

    /// Does every build reach every turn, from its zero pose on, without passing a stop? And is it for an actuator's lengths
    /// that it may not?
    fn assembled(&self, stage: &RodStage<'_>, turns: Turns) -> (Outcome, bool) {
        let from_zero =
            Turns { all: turns.all.hull(Interval::ZERO), typed: turns.typed.hull(Interval::ZERO) };
        let clear = Aim::Decide.effort([0.0; 2], [TIGHT, SMALL], 1.0, self.budget);
        let is_clear = |figure: Figure| self.least(stage, figure, from_zero, &clear).upper < 0.0;
        let sides =
            is_clear(Figure::JointSide) && (!stage.has_motor_side() || is_clear(Figure::CrankSide));
        let shown = |fails: bool| if fails { Outcome::Fails } else { Outcome::Undecided };
        if !sides {
            (shown(stage.fails_to_reach(from_zero.typed)), false)
        } else if self.within_lengths(stage, from_zero) {
            (Outcome::Holds, false)
        } else {
            (shown(stage.exceeds_lengths(from_zero.typed)), true)
        }
    }

    /// Does an actuator stay between its own ends in every build?
    fn within_lengths(&self, stage: &RodStage<'_>, turns: Turns) -> bool {
        let Some([shortest, longest]) = stage.lengths() else { return true };
        let effort = Effort { proved_below: longest, ..self.effort([longest, longest], longest) };
        let most = stage.largest(Figure::Travel, 1.0, turns, &effort).upper;
        let effort =
            Effort { proved_below: -shortest, ..self.effort([-shortest, -shortest], longest) };
        let least = -stage.largest(Figure::Travel, -1.0, turns, &effort).upper;
        most <= longest && least >= shortest
    }

    /// Minus the smallest of a signed sine, which is taken as positive in the drawn zero pose.
    fn least(
        &self,
        stage: &RodStage<'_>,
        figure: Figure,
        turns: Turns,
        effort: &Effort,
    ) -> Largest {
        let sign = stage.plain(figure, &stage.drawn(), 0.0).unwrap_or(1.0).signum();
        stage.largest(figure, -sign, turns, effort)
    }

    fn margins_of(
        &self,
        at: usize,
        stage: &RodStage<'_>,
        turns: Turns,
    ) -> Vec<(Criterion, Finding<BuildWitness>)> {
        let limits = &self.question.limits;
        let mut found = Vec::new();
        for (figure, criterion) in SIDES {
            let Some(limit) = limits.of(criterion) else { continue };
            if figure == Figure::CrankSide && !stage.has_motor_side() {
                continue;
            }
            let sine = elementary::sin_cos_at(limit - MET_WITHIN).0;
            let effort = self.effort([-sine.hi(), -sine.lo()], 1.0);
            let least = self.least(stage, figure, turns, &effort);
            found.push((criterion, self.floor(at, &least, sine)));
        }
        if let Some(limit) = limits.ball_tilt {
            let sine = elementary::sin_cos_at((limit + MET_WITHIN).min(FRAC_PI_2)).0;
            let ends = (0..2).filter(|end| stage.has_bolt(*end));
            let sides = ends.flat_map(|end| [1.0, -1.0].map(|side| (Figure::Tilt(end), side)));
            for (figure, side) in sides {
                let effort = self.effort([sine.lo(), sine.hi()], sine.hi());
                let most = stage.largest(figure, side, turns, &effort);
                worse(&mut found, Criterion::BallTilt, self.ceiling(at, &most, sine));
            }
        }
        found
    }

    /// The angle whose sine must not fall below `sine`, from minus the smallest sine.
    fn floor(&self, at: usize, least: &Largest, sine: Interval) -> Finding<BuildWitness> {
        let outcome = if -least.upper >= sine.hi() {
            Outcome::Holds
        } else if -least.at.lo() < sine.lo() && least.at.width().is_finite() {
            Outcome::Fails
        } else {
            Outcome::Undecided
        };
        let bound = (least.upper < 0.0).then(|| elementary::arc_sine(-least.upper).lo());
        self.finding(at, least, outcome, bound, (-least.seen).clamp(-1.0, 1.0).asin())
    }

    /// The angle whose sine must not rise above `sine`.
    fn ceiling(&self, at: usize, most: &Largest, sine: Interval) -> Finding<BuildWitness> {
        let outcome = if most.upper <= sine.lo() {
            Outcome::Holds
        } else if most.at.lo() > sine.hi() && most.at.width().is_finite() {
            Outcome::Fails
        } else {
            Outcome::Undecided
        };
        let bound = (most.upper < 1.0).then(|| elementary::arc_sine(most.upper).hi());
        self.finding(at, most, outcome, bound, most.seen.clamp(-1.0, 1.0).asin())
    }

    fn finding(
        &self,
        at: usize,
        found: &Largest,
        outcome: Outcome,
        bound: Option<f64>,
        value: f64,
    ) -> Finding<BuildWitness> {
        let witness = self.of_whole(at, found, value);
        Finding { outcome, bound, sides: [f64::INFINITY; 2], witness, boxes: found.boxes }
    }

    /// The witness of one stage in a whole whose other stages are as drawn.
    fn of_whole(&self, at: usize, found: &Largest, value: f64) -> BuildWitness {
        if self.chain.stages.len() == 1 {
            return found.witness(value);
        }
        let own = |(k, stage): (usize, &Stage<'_>)| match stage {
            Stage::Rod(_) if k == at => found.sizes.clone(),
            Stage::Rod(stage) => stage.drawn(),
            Stage::Ratio(ratio) => vec![*ratio],
        };
        let sizes = self.chain.stages.iter().enumerate().flat_map(own).collect();
        let joint = self.question.joint_of_stage(at, found.joint).unwrap_or(f64::NAN);
        BuildWitness { sizes, joint, value }
    }

    /// The motor turns of a stage over its joint turns.
    fn motor_turns(&self, stage: &RodStage<'_>, constant: f64, turns: Turns) -> Option<Turns> {
        if self.chain.stages.len() == 1 {
            return Some(turns);
        }
        let effort =
            Effort { relative: 0.05, absolute: 1e-4, boxes: 300, ..self.effort([0.0; 2], 1.0) };
        let figure = Figure::Angle(constant, 0.0);
        let [up, down] = [1.0, -1.0].map(|side| stage.largest(figure, side, turns, &effort).upper);
        let error = Interval::new(-down, up);
        let all = Interval::point(constant) * (turns.all - error);
        let ends = [turns.typed.lo(), turns.typed.hi()];
        let [a, b] = ends.map(|turn| stage.drawn_motor(turn));
        all.width().is_finite().then_some(Turns { all, typed: Interval::new(a.min(b), a.max(b)) })
    }

    fn two_sided(&self, criterion: Criterion, error: Error) -> Finding<BuildWitness> {
        let limit = self.question.limits.of(criterion).unwrap_or(f64::INFINITY);
        let most = limit + MET_WITHIN;
        let joint = &self.question.joint;
        let figure = match error {
            Error::Ratio => Figure::Ratio(joint.ratio),
            Error::Angle => Figure::Angle(joint.ratio, joint.offset),
        };
        let sides = [1.0, -1.0].map(|side| {
            let found = match self.chain.alone() {
                Some(stage) => {
                    stage.largest(figure, side, self.whole(), &self.effort([most; 2], limit))
                }
                None => {
                    let close = if self.aim == Aim::Tight { TIGHT } else { f64::INFINITY };
                    let stretches = self.budget.0 / 40;
                    self.chain.largest(error, side, self.whole(), [close, most], stretches)
                }
            };
            let witness = found.witness(found.seen);
            let Largest { upper, seen, at, boxes, .. } = found;
            OneSide { upper, seen, witness, at, boxes }
        });
        Finding::of_sides(sides, most)
    }

    fn effort(&self, decide: [f64; 2], size: f64) -> Effort {
        self.aim.effort(decide, [TIGHT, SMALL], size, self.budget)
    }

    fn unknown(&self) -> Finding<BuildWitness> {
        let [from, to] = self.turns;
        let joint = 0.5 * (from + to);
        let witness = BuildWitness { sizes: self.chain.drawn(), joint, value: f64::NAN };
        let (outcome, sides) = (Outcome::Undecided, [f64::INFINITY; 2]);
        Finding { outcome, bound: None, sides, witness, boxes: 0 }
    }
}

impl DriveQuestion<'_> {
    /// The joint turn of the whole at the joint turn of one stage.
    fn joint_of_stage(&self, at: usize, turn: f64) -> Option<f64> {
        let JointDrive::Series(series) = self.drive else { return Some(turn) };
        let later = series.0.iter().skip(at + 1);
        later.into_iter().try_fold(turn, |turn, stage| stage.joint_turn(turn).ok())
    }
}

/// Nothing is certain of a build that may not even close in its zero pose.
fn leave_open(finding: &mut Finding<BuildWitness>) {
    finding.bound = None;
    if finding.outcome == Outcome::Holds {
        finding.outcome = Outcome::Undecided;
    }
}

/// Keeps the worse of the criterion's findings.
fn worse(
    figures: &mut Vec<(Criterion, Finding<BuildWitness>)>,
    criterion: Criterion,
    finding: Finding<BuildWitness>,
) {
    let Some((_, known)) = figures.iter_mut().find(|(of, _)| *of == criterion) else {
        figures.push((criterion, finding));
        return;
    };
    let is_floor = criterion.side() == Side::AtLeast;
    let worst = |a: f64, b: f64| if is_floor { a < b } else { a > b };
    let outcome = known.outcome.min_certain(finding.outcome);
    let bound = known.bound.zip(finding.bound).map(|(a, b)| if worst(a, b) { a } else { b });
    let boxes = known.boxes + finding.boxes;
    if worst(finding.witness.value, known.witness.value) {
        *known = finding;
    }
    (known.outcome, known.bound, known.boxes) = (outcome, bound, boxes);
}

impl Turns {
    /// Both ranges times a ratio.
    fn times(self, ratio: f64) -> Self {
        let by = Interval::point(ratio);
        Self { all: self.all * by, typed: self.typed * by }
    }
}
