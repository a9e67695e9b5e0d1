//! What the studies find, as plain data in SI; angles in rad, turns counted from the zero pose about the joint axis.

use crate::design::Basis;
use crate::equivalence::{Outcome, Verdict};

/// Everything `check` finds.
#[derive(Clone, Debug)]
pub struct Check {
    /// The design's name.
    pub design: String,
    /// May a direct joint stand in?
    pub verdict: Verdict,
    /// Why, in one sentence.
    pub reason: String,
    /// What the verdict is over.
    pub basis: Basis,
    /// The verdict is proved, not only computed.
    pub proved: bool,
    /// Zero pose: crank angle φ₀ and rocker angle ψ₀ from A→B, rad.
    pub zero: ZeroPose,
    /// The stroke as turns from the zero pose.
    pub stroke: StrokeRange,
    /// The direct joint: joint turn = motor turn / ratio + offset.
    pub direct_joint: DirectJoint,
    /// |dφ/dψ| over the stroke on the verdict's basis, smallest and largest; the largest may be infinite.
    pub ratio_magnitude: [f64; 2],
    /// Criteria in the order angle, ratio, inertia, transmission angle.
    pub criteria: Vec<Criterion>,
    /// Warnings.
    pub warnings: Vec<Warning>,
}

/// The zero pose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ZeroPose {
    /// Crank angle φ₀, rad.
    pub crank: f64,
    /// Rocker angle ψ₀, rad, solved.
    pub rocker: f64,
}

/// Paired ends of the stroke: `joint[k]` belongs to `motor[k]`; motor rises.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrokeRange {
    /// Motor turns.
    pub motor: [f64; 2],
    /// Joint turns.
    pub joint: [f64; 2],
}

/// joint turn = motor turn / ratio + offset.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DirectJoint {
    /// Motor turn per joint turn, signed.
    pub ratio: f64,
    /// rad, about the joint axis.
    pub offset: f64,
}

/// One criterion of the verdict.
#[derive(Clone, Debug)]
pub struct Criterion {
    /// `angle`, `ratio`, `inertia`, `transmission_angle`.
    pub name: &'static str,
    /// The limit in SI.
    pub limit: f64,
    /// The nominal linkage's worst figure.
    pub nominal: Option<f64>,
    /// The joint turn where it is worst.
    pub worst_at_joint: Option<f64>,
    /// A certified bound over the tolerance box.
    pub tolerance_bound: Option<f64>,
    /// What came out.
    pub outcome: Outcome,
    /// Proved, not only computed.
    pub proved: bool,
    /// Why it was not assessed or is undecided.
    pub note: Option<String>,
}

/// A warning with a stable code.
#[derive(Clone, Debug, PartialEq)]
pub struct Warning {
    /// Stable, snake case.
    pub code: &'static str,
    /// For people.
    pub message: String,
}

/// One pose of the stroke table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrokeRow {
    /// Motor turn.
    pub motor: f64,
    /// Joint turn of the linkage.
    pub joint: f64,
    /// dφ/dψ, signed; infinite at a dead point.
    pub transmission_ratio: f64,
}
