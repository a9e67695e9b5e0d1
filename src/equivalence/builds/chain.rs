//! Drive after drive with every build of each: the errors of the whole from those of the stages.
//!
//! ```text
//! q = r₂(ψ − e₂)     e = e₂ + e₁/r₂ − offset     (1 + ε₁)(1 + ε₂) − 1
//! ```
//!
//! with e and ε of each stage against a constant r of its own, whose product is the direct joint's ratio. The tolerances of the
//! stages are independent, their poses are not: so the joint turns are cut into stretches, in each of which the stages are
//! bounded apart; where that is too coarse the stretch is halved.

use std::collections::BinaryHeap;

use super::claims::{Figure, Turns};
use super::question::BuildWitness;
use super::stage::{Largest, RodStage, Stage};
use crate::drive::{JointDrive, OneJoint as _};
use crate::equivalence::direct_joint::DirectJoint;
use crate::numeric::ranked::Ranked;
use crate::numeric::search::{Effort, NOTHING_TO_DECIDE};
use crate::numeric::{Interval, Scalar};

/// A chain with the constants that its stages are held against.
#[derive(Clone, Debug)]
pub(super) struct Chain<'a> {
    pub(super) stages: Vec<Stage<'a>>,
    /// A constant of each stage, from the motor on.
    constants: Vec<f64>,
    joint: DirectJoint,
}

/// Which error of the whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Error {
    Ratio,
    Angle,
}

/// A figure of one build of a stage at one of its joint turns.
type Told<'a, T> = dyn Fn(&RodStage<'a>, Figure, &[f64], T) -> Option<T>;

/// A range of joint turns of the whole with what is certain of it.
struct Stretch {
    turns: Interval,
    /// The error certainly lies in here.
    error: Interval,
    /// The sizes that are worst, upward and downward.
    worst: [Vec<f64>; 2],
}

/// How hard the stages of a stretch are looked at.
const IN_A_STRETCH: Effort = Effort {
    relative: 5e-3,
    absolute: 1e-7,
    decide: NOTHING_TO_DECIDE,
    boxes: 20,
    proved_below: f64::NEG_INFINITY,
    refuted_above: f64::INFINITY,
};

/// And where nobody looks closer.
const BY_ITSELF: Effort = Effort { relative: 1e-3, boxes: 40, ..IN_A_STRETCH };

impl<'a> Chain<'a> {
    /// `stages` of `drive`, which `joint` may stand in for between the joint turns `turns`.
    pub(super) fn new(
        stages: Vec<Stage<'a>>,
        drive: &JointDrive,
        turns: [f64; 2],
        joint: DirectJoint,
    ) -> Self {
        let mut constants = means(drive, turns);
        // The first stage makes up for what is left.
        let later: f64 = constants.iter().skip(1).product();
        if let Some(first) = constants.first_mut() {
            *first = joint.ratio / later;
        }
        Self { stages, constants, joint }
    }

    /// The stages with their constants, in order from the motor.
    pub(super) fn each(
        &self,
    ) -> impl DoubleEndedIterator<Item = (&Stage<'a>, f64)> + ExactSizeIterator {
        self.stages.iter().zip(self.constants.iter().copied())
    }

    /// The only stage, where it is one with a rod.
    pub(super) fn alone(&self) -> Option<&RodStage<'a>> {
        match self.stages.as_slice() {
            [Stage::Rod(stage)] => Some(stage),
            _ => None,
        }
    }

    /// The error over a stretch.
    fn over(&self, error: Error, turns: Interval, effort: &Effort) -> Option<Stretch> {
        let one = Interval::point(1.0);
        let (mut q, mut product, mut sum, mut gain) = (turns, one, Interval::ZERO, one);
        let mut worst = [Vec::new(), Vec::new()];
        for (k, (stage, constant)) in self.each().enumerate().rev() {
            let (ratio, angle, mut ends) = stage_over(stage, (k, constant), q, (error, effort))?;
            if error == Error::Angle && gain.hi() < 0.0 {
                ends.reverse();
            }
            for (all, own) in worst.iter_mut().zip(ends) {
                all.splice(0..0, own);
            }
            let constant = Interval::point(constant);
            product = product * (one + ratio);
            sum = sum + angle / gain;
            q = constant * (q - angle);
            gain = gain * constant;
        }
        // Rounding keeps the constants' product off the ratio.
        let share = gain / Interval::point(self.joint.ratio);
        let error = match error {
            Error::Ratio => share * product - one,
            Error::Angle => {
                turns * (one - share) + share * sum - Interval::point(self.joint.offset)
            }
        };
        Some(Stretch { turns, error, worst })
    }

    /// The error over `turns` and the sizes that are worst there, upward and downward; `None` where nothing is certain.
    pub(super) fn over_turns(
        &self,
        error: Error,
        turns: Interval,
    ) -> Option<(Interval, [Vec<f64>; 2])> {
        self.over(error, turns, &BY_ITSELF).map(|stretch| (stretch.error, stretch.worst))
    }

    /// The largest `side` × error over `turns`, to a share of `close` of it, or decided against `limit`.
    pub(super) fn largest(
        &self,
        error: Error,
        side: f64,
        turns: Turns,
        [close, limit]: [f64; 2],
        mut stretches: u32,
    ) -> Largest {
        let signed = |error: Interval| (error * Interval::point(side)).hi();
        let mut best = self.nothing(turns);
        let mut heap = BinaryHeap::new();
        for part in parts(turns.all, FIRST) {
            let Some(stretch) = self.over(error, part, &IN_A_STRETCH) else { return best };
            self.look(error, side, &stretch, turns.typed, &mut best);
            heap.push(Ranked { bound: signed(stretch.error), of: stretch });
            best.boxes += 1;
        }
        while let Some(top) = heap.peek() {
            let wanted = best.seen + close * top.bound.abs();
            let open = best.seen <= limit && top.bound > limit;
            if (top.bound <= wanted && !open) || best.seen > 20.0 * limit || stretches == 0 {
                break;
            }
            let Some(top) = heap.pop() else { break };
            for part in parts(top.of.turns, 2) {
                let Some(stretch) = self.over(error, part, &IN_A_STRETCH) else { return best };
                self.look(error, side, &stretch, turns.typed, &mut best);
                heap.push(Ranked { bound: signed(stretch.error).min(top.bound), of: stretch });
                best.boxes += 1;
            }
            stretches -= 1;
        }
        best.upper = heap.peek().map_or(f64::INFINITY, |top| top.bound);
        best
    }

    fn nothing(&self, turns: Turns) -> Largest {
        Largest {
            upper: f64::INFINITY,
            seen: f64::NEG_INFINITY,
            sizes: self.drawn(),
            joint: turns.typed.mid(),
            at: Interval::ENTIRE,
            boxes: 0,
        }
    }

    /// All sizes as drawn.
    pub(super) fn drawn(&self) -> Vec<f64> {
        let own = |stage: &Stage<'_>| match stage {
            Stage::Rod(stage) => stage.drawn(),
            Stage::Ratio(ratio) => vec![*ratio],
        };
        self.stages.iter().flat_map(own).collect()
    }

    /// The worst builds of a stretch at its ends.
    fn look(
        &self,
        error: Error,
        side: f64,
        stretch: &Stretch,
        typed: Interval,
        best: &mut Largest,
    ) {
        for sizes in &stretch.worst {
            for joint in [stretch.turns.lo(), stretch.turns.hi()] {
                let joint = joint.clamp(typed.lo(), typed.hi());
                let plain = self.plain(error, sizes, joint).map(|at| at * side);
                if plain.is_none_or(|at| at <= best.seen) {
                    continue;
                }
                let at = self.enclosed(error, sizes, joint).map(|at| at * Interval::point(side));
                if let Some(at) = at.filter(|at| at.mid() > best.seen) {
                    (best.seen, best.at, best.joint) = (at.mid(), at, joint);
                    best.sizes.clone_from(sizes);
                }
            }
        }
    }

    /// The error of one build at one joint turn.
    pub(super) fn enclosed(&self, error: Error, sizes: &[f64], joint: f64) -> Option<Interval> {
        self.at(error, sizes, Interval::around(joint, 4), &RodStage::enclosed)
    }

    /// The same in plain floats.
    fn plain(&self, error: Error, sizes: &[f64], joint: f64) -> Option<f64> {
        self.at(error, sizes, joint, &RodStage::plain)
    }

    /// The same with the figures that `of` tells of each stage.
    fn at<T: Scalar>(&self, error: Error, sizes: &[f64], joint: T, of: &Told<'a, T>) -> Option<T> {
        let (one, exactly) = (T::exactly(1.0), T::exactly);
        let (mut q, mut product, mut rest) = (joint, one, sizes);
        for (k, (stage, constant)) in self.each().enumerate().rev() {
            match stage {
                Stage::Ratio(own) => {
                    product = product * exactly(*own);
                    q = exactly(*own) * q;
                    rest = rest.get(..rest.len().checked_sub(1)?)?;
                }
                Stage::Rod(stage) => {
                    let own = rest.get(rest.len().checked_sub(stage.count())?..)?;
                    rest = rest.get(..rest.len() - own.len())?;
                    if error == Error::Ratio {
                        let off = of(stage, Figure::Ratio(constant), own, q)?;
                        product = product * ((off + one) * exactly(constant));
                    }
                    if is_turn_asked(error, k) {
                        let off = of(stage, Figure::Angle(constant, 0.0), own, q)?;
                        q = (q - off) * exactly(constant);
                    }
                }
            }
        }
        let ratio = exactly(self.joint.ratio);
        Some(match error {
            Error::Ratio => product / ratio - one,
            Error::Angle => joint - q / ratio - exactly(self.joint.offset),
        })
    }
}

/// Is the motor turn of stage `k` asked for? By the angle error, and by the ratios of the stages before it.
fn is_turn_asked(error: Error, k: usize) -> bool {
    error == Error::Angle || k > 0
}

/// Mean ratios of the stages over the joint turns of the whole, from the motor on.
fn means(drive: &JointDrive, turns: [f64; 2]) -> Vec<f64> {
    let JointDrive::Series(series) = drive else { return vec![1.0] };
    let mut q = turns;
    let mut means: Vec<f64> = Vec::new();
    for stage in series.0.iter().rev() {
        let motor = q.map(|turn| stage.motor_turn(turn).unwrap_or(f64::NAN));
        means.push((motor[1] - motor[0]) / (q[1] - q[0]));
        q = motor;
    }
    means.reverse();
    means
}

/// Ranges of ratio and angle error of stage `k` over its joint turns, and its sizes where the wanted error is largest and
/// smallest. Of what is not asked for nothing is told.
fn stage_over(
    stage: &Stage<'_>,
    (k, constant): (usize, f64),
    turns: Interval,
    (wanted, effort): (Error, &Effort),
) -> Option<(Interval, Interval, [Vec<f64>; 2])> {
    let one = Interval::point(1.0);
    let stage = match stage {
        Stage::Ratio(ratio) => {
            let off = Interval::point(*ratio) / Interval::point(constant) - one;
            return Some((off, -(off * turns), [vec![*ratio], vec![*ratio]]));
        }
        Stage::Rod(stage) => stage,
    };
    let figure = Figure::Angle(constant, 0.0);
    if wanted == Error::Angle {
        let (angle, ends) = stage.range(figure, turns, effort)?;
        return Some((Interval::ZERO, angle, ends));
    }
    let (ratio, ends) = stage.range(Figure::Ratio(constant), turns, effort)?;
    // Where the stage before it stands is soon known as well as the stretch itself.
    let roughly = Effort { absolute: ROUGHLY * turns.width(), ..*effort };
    let angle = if is_turn_asked(wanted, k) {
        stage.range(figure, turns, &roughly)?.0
    } else {
        Interval::ZERO
    };
    Some((ratio, angle, ends))
}

/// A turn that only places the stage before is told to this share of the stretch.
const ROUGHLY: f64 = 3e-3;

/// Stretches to begin with.
const FIRST: u32 = 12;

fn parts(over: Interval, count: u32) -> impl Iterator<Item = Interval> {
    let step = (over.hi() - over.lo()) / f64::from(count);
    let edge = move |k: u32| {
        if k == count { over.hi() } else { over.lo() + step * f64::from(k) }
    };
    (0..count).map(move |k| Interval::new(edge(k), edge(k + 1)))
}

impl Largest {
    pub(super) fn witness(&self, value: f64) -> BuildWitness {
        BuildWitness { sizes: self.sizes.clone(), joint: self.joint, value }
    }
}
