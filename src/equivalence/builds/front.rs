//! A drive before another: what it does to the turns of what it drives, over every build, and its own margins.

use super::super::assessment::Assessment;
use super::super::criterion::Criterion;
use super::super::finding::{Aim, Budget};
use super::super::held::worst_witness;
use super::super::outcome::Outcome;
use super::chain::{Chain, Error};
use super::question::{BuildWitness, DriveQuestion};
use super::stage::Stage;
use super::worst::Search;
use crate::drive::OneJoint as _;
use crate::numeric::Interval;

/// A drive whose joint is the crank of what stands behind it, with every build of it.
#[derive(Clone, Debug)]
pub struct Front<'a> {
    /// What is asked of it; its limits of angle and ratio are not, and its direct joint has no offset.
    pub question: DriveQuestion<'a>,
    chain: Chain<'a>,
}

/// How far a drive is off its direct joint over a range of its joint turns.
#[derive(Clone, Debug)]
pub struct FrontErrors {
    /// Joint turn less that of the direct joint, rad.
    pub angle: Interval,
    /// i / ratio − 1.
    pub ratio: Interval,
    /// Builds that come near to the ends of these: of the angle and of the ratio, upward and downward.
    pub(in super::super) worst: [[Vec<f64>; 2]; 2],
}

/// What the drive in front is found to keep by itself.
#[derive(Clone, Debug)]
pub struct FrontMargins {
    /// Does every build reach every turn, without passing a stop?
    pub assembly: Outcome,
    /// Transmission angle, and what else is judged of rods; turns are the crank's.
    pub criteria: Vec<Assessment>,
    /// The build and pose that break one furthest.
    pub witness: Option<(Criterion, BuildWitness)>,
}

impl FrontMargins {
    /// Of assembly and all margins.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        self.criteria.iter().fold(self.assembly, |all, one| all.min_certain(one.outcome))
    }
}

/// Boxes of each search.
const BUDGET: Budget = Budget(400);

impl<'a> Front<'a> {
    /// `None` where the drawing has no build of its own.
    #[must_use]
    pub fn of(question: DriveQuestion<'a>) -> Option<Self> {
        let (drawing, drive) = (question.drawing, question.drive);
        let stages = Stage::all(drawing, drive, &question.sizes, question.zeroing)?;
        let chain = Chain::new(stages, drive, question.turns, question.joint);
        Some(Self { question, chain })
    }

    /// How far off it is anywhere over the joint turns `turns`, in whatever build; `None` where nothing is certain.
    #[must_use]
    pub fn over(&self, turns: Interval) -> Option<FrontErrors> {
        let [angle, ratio] =
            [Error::Angle, Error::Ratio].map(|error| self.chain.over_turns(error, turns));
        let ((angle, angles), (ratio, ratios)) = (angle?, ratio?);
        Some(FrontErrors { angle, ratio, worst: [angles, ratios] })
    }

    /// Angle error (rad) and ratio error of the build of `sizes` at the joint turn `joint`.
    #[must_use]
    pub fn at(&self, sizes: &[f64], joint: f64) -> Option<[Interval; 2]> {
        let of = |error| self.chain.enclosed(error, sizes, joint);
        Some([of(Error::Angle)?, of(Error::Ratio)?])
    }

    /// The same of the drawn sizes, in plain arithmetic; NaN where it does not reach.
    #[must_use]
    pub fn drawn_at(&self, joint: f64) -> [f64; 2] {
        let DriveQuestion { drive, joint: direct, .. } = &self.question;
        drive.motion(joint).map_or([f64::NAN; 2], |motion| {
            [joint - motion.motor / direct.ratio - direct.offset, motion.ratio / direct.ratio - 1.0]
        })
    }

    /// All sizes as drawn.
    #[must_use]
    pub fn drawn(&self) -> Vec<f64> {
        self.chain.drawn()
    }

    /// What it keeps by itself over the joint turns `turns` and from the zero pose to them.
    pub(in super::super) fn margins(&self, turns: [f64; 2], aim: Aim) -> FrontMargins {
        let question = DriveQuestion { turns, ..self.question.clone() };
        let chain = self.chain.clone();
        let search = Search { question: &question, chain, turns, aim, budget: BUDGET };
        let found = search.margins();
        let figures = question.figures();
        let criteria: Vec<Assessment> = question.criteria(&figures, &found).collect();
        FrontMargins {
            assembly: found.assembly,
            witness: worst_witness(&criteria, |criterion| found.of(criterion)),
            criteria,
        }
    }
}
