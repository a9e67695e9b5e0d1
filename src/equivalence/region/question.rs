//! What is asked about a region, as plain values.

use super::super::builds::SizeRanges;
use super::super::claims::Zeroing;
use super::super::criterion::{Basis, Criterion};
use crate::drive::{Direct, TwoRods, TwoRodsDrawing};

/// What "equivalent" has to mean for two joints.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RegionLimits {
    /// Largest |angle error| of each joint, rad.
    pub angle: f64,
    /// Largest norm of E.
    pub ratio: f64,
    /// Smallest angle of either rod to the path of its pin, on the joint's side and at a crank, rad.
    pub transmission_angle: f64,
    /// Largest tilt of a rod in the ball at its crank, rad, where it is judged.
    pub ball_tilt: Option<f64>,
}

/// What is asked: may these two direct joints stand in for this drive?
#[derive(Clone, Debug)]
pub struct RegionQuestion<'a> {
    /// The drive as drawn.
    pub drawing: &'a TwoRodsDrawing,
    /// The same from its zero pose.
    pub drive: &'a TwoRods,
    /// The region: pitch and roll, each ascending, rad.
    pub turns: [[f64; 2]; 2],
    /// What is to stand in, T as emitted.
    pub direct: Direct,
    /// What it is held against.
    pub limits: RegionLimits,
    /// What the verdict is over, for the words of it.
    pub basis: Basis,
    /// Every build that it is over, the drawn one among them; in the order of [`TwoRodsDrawing::sizes`].
    pub sizes: SizeRanges,
    /// How each built robot gets its zero. As drawn: each motor reads what the drawn drive's reads in the zero pose where its
    /// crank stands at the same angle from the drawn pin, whatever the sizes made of the joints.
    pub zeroing: Zeroing,
}

impl RegionLimits {
    /// The limit of `criterion`; `None` where it is not judged.
    #[must_use]
    pub fn of(&self, criterion: Criterion) -> Option<f64> {
        match criterion {
            Criterion::Angle => Some(self.angle),
            Criterion::Ratio => Some(self.ratio),
            Criterion::TransmissionAngle | Criterion::CrankSide => Some(self.transmission_angle),
            Criterion::BallTilt => self.ball_tilt,
            _ => None,
        }
    }
}

/// One build in one pose.
#[derive(Clone, Debug, PartialEq)]
pub struct RegionWitness {
    /// Its sizes, in the order of [`TwoRodsDrawing::sizes`].
    pub sizes: Vec<f64>,
    /// Pitch and roll, rad.
    pub joints: [f64; 2],
    /// The figure there; NaN where a rod does not reach.
    pub value: f64,
}
