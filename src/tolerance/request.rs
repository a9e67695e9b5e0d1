//! What is asked of the study of builds drawn at random.

use crate::equivalence::{Criterion, DirectJoint, Finger, Limits, Zeroing};
use crate::linkage::{Branch, FourBar};

use super::spread::Spread;

/// What to draw.
#[derive(Clone, Debug)]
pub struct Request<'a> {
    /// The drawn linkage.
    pub branch: &'a Branch,
    /// The direct joint in its place.
    pub joint: DirectJoint,
    /// The joint's offset where it was given and not searched for, rad.
    pub given_offset: Option<f64>,
    /// Where a pad rides on the coupler: what stands in for its finger, in the joint's place.
    pub finger: Option<Finger>,
    /// How each robot gets its zero.
    pub zeroing: Zeroing,
    /// Motor turns of the stroke, rad.
    pub turns: [f64; 2],
    /// What a build is held against.
    pub limits: Limits,
    /// How lengths scatter.
    pub spread: Spread,
    /// Where the histogram of each figure ends: its certified bound.
    pub tops: Vec<(Criterion, f64)>,
    /// Builds to draw; rounded up to whole rounds of all replicates, at least one build each.
    pub samples: u64,
    /// Same seed, same figures.
    pub seed: u64,
}

impl Request<'_> {
    /// Where the histogram of a figure ends; nowhere where that is not said.
    pub(super) fn top(&self, criterion: Criterion) -> f64 {
        let said = self.tops.iter().find(|(of, _)| *of == criterion);
        said.map_or(f64::INFINITY, |(_, top)| *top)
    }

    /// What a figure is held against.
    pub(super) fn limit(&self, criterion: Criterion) -> f64 {
        match criterion {
            Criterion::Angle => self.limits.angle,
            Criterion::Ratio => self.limits.ratio,
            of_pad => self.finger.and_then(|f| f.limits.of(of_pad)).unwrap_or(f64::INFINITY),
        }
    }

    /// The drawn lengths with the deviations of one build (m, in the order of [`super::Variable::ALL`]).
    pub(super) fn bars_with(&self, [crank, coupler, rocker, ground, _]: [f64; 5]) -> FourBar {
        let drawn = self.branch.bars();
        FourBar {
            ground: drawn.ground + ground,
            crank: drawn.crank + crank,
            coupler: drawn.coupler + coupler,
            rocker: drawn.rocker + rocker,
        }
    }
}
