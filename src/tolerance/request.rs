//! What is asked of the study of builds drawn at random.

use crate::equivalence::{DirectJoint, Limits, Zeroing};
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
    /// How each robot gets its zero.
    pub zeroing: Zeroing,
    /// Motor turns of the stroke, rad.
    pub turns: [f64; 2],
    /// What a build is held against.
    pub limits: Limits,
    /// How lengths scatter.
    pub spread: Spread,
    /// Where the histograms of angle error (rad) and ratio error end: the certified bounds.
    pub tops: [f64; 2],
    /// Builds to draw; rounded up to whole rounds of all replicates, at least one build each.
    pub samples: u64,
    /// Same seed, same figures.
    pub seed: u64,
}

impl Request<'_> {
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
