//! What is asked about a drive that is no planar four-bar, as plain values.

use super::super::claims::Zeroing;
use super::super::criterion::{Basis, Criterion};
use super::super::direct_joint::DirectJoint;
use super::super::finding::Shows;
use super::super::nominal::Limits;
use crate::drive::{Drawing, JointDrive};
use crate::numeric::Interval;

/// Every build that a verdict is about: the range of each size, in the order of [`Drawing::sizes`].
#[derive(Clone, Debug)]
pub struct SizeRanges {
    /// What is proved is proved of these, which hold all that the typed decimals can mean.
    pub all: Vec<Interval>,
    /// What refutes lies in these.
    pub typed: Vec<Interval>,
}

/// What "equivalent" has to mean for a drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DriveLimits {
    /// Of angle, ratio and transmission angle.
    pub motion: Limits,
    /// Largest tilt of the rod in a ball end, rad, where it is judged.
    pub ball_tilt: Option<f64>,
    /// Smallest angle on the motor's side of the rod, rad, where it is judged.
    pub crank_side: Option<f64>,
}

/// What is asked: may this direct joint stand in for this drive?
#[derive(Clone, Debug)]
pub struct DriveQuestion<'a> {
    /// The drive as drawn.
    pub drawing: &'a Drawing,
    /// The same from its zero pose.
    pub drive: &'a JointDrive,
    /// The stroke: joint turns, ascending, rad.
    pub turns: [f64; 2],
    /// What is to stand in.
    pub joint: DirectJoint,
    /// What it is held against.
    pub limits: DriveLimits,
    /// What the verdict is over, for the words of it.
    pub basis: Basis,
    /// Every build that it is over, the drawn one among them.
    pub sizes: SizeRanges,
    /// How each built robot gets its zero.
    pub zeroing: Zeroing,
}

impl DriveLimits {
    /// The limit of `criterion`; `None` where it is not judged.
    #[must_use]
    pub fn of(&self, criterion: Criterion) -> Option<f64> {
        match criterion {
            Criterion::Angle => Some(self.motion.angle),
            Criterion::Ratio => Some(self.motion.ratio),
            Criterion::TransmissionAngle => Some(self.motion.transmission_angle),
            Criterion::BallTilt => self.ball_tilt,
            Criterion::CrankSide => self.crank_side,
            _ => None,
        }
    }
}

/// One build in one pose.
#[derive(Clone, Debug, PartialEq)]
pub struct BuildWitness {
    /// Its sizes, in the order of [`Drawing::sizes`].
    pub sizes: Vec<f64>,
    /// Joint turn, rad.
    pub joint: f64,
    /// The figure there; NaN where a rod does not reach.
    pub value: f64,
}

impl Shows for BuildWitness {
    fn value(&self) -> f64 {
        self.value
    }

    fn turn(&self) -> f64 {
        self.joint
    }
}
