//! What is asked of the judge, as plain values.

use nalgebra::Isometry3;

use super::claims::Zeroing;
use super::criterion::{Basis, Criterion};
use super::direct_joint::DirectJoint;
use super::family::Family;
use super::nominal::Limits;
use super::pad::Finger;
use crate::dynamics::Masses;
use crate::linkage::{Branch, Stroke};

/// What is asked: may this direct joint stand in for this linkage?
#[derive(Clone, Copy, Debug)]
pub struct Question<'a> {
    /// The drawn linkage on its branch.
    pub branch: &'a Branch,
    /// Its stroke, as turns from the zero pose.
    pub stroke: Stroke,
    /// What is to stand in.
    pub joint: DirectJoint,
    /// Limits of angle, ratio and transmission angle.
    pub limits: Limits,
    /// Largest inertia error allowed, as a share.
    pub inertia_limit: f64,
    /// The inertia limit was asked for: where its masses are missing the verdict waits for them.
    pub inertia_is_asked: bool,
    /// What the verdict is over, for the words of it.
    pub basis: Basis,
    /// Every linkage that it is over, the drawn one among them.
    pub family: Family,
    /// How each built robot gets its zero.
    pub zeroing: Zeroing,
    /// Where a pad rides on the coupler: what it is about instead of the joint.
    pub finger: Option<Finger>,
    /// The masses, for the inertia criterion.
    pub weights: Weights<'a>,
}

impl Question<'_> {
    /// What it asks, in the order of [`Criterion::ALL`].
    #[must_use]
    pub fn criteria(&self) -> &'static [Criterion] {
        use Criterion::{Angle, Grip, Inertia, Opening, Ratio, Shift, Tilt, TransmissionAngle};
        match self.finger {
            Some(_) => &[Tilt, Shift, Opening, Grip, Inertia, TransmissionAngle],
            None => &[Angle, Ratio, Inertia, TransmissionAngle],
        }
    }
}

/// What is known of the masses.
#[derive(Clone, Copy, Debug)]
pub enum Weights<'a> {
    /// What is missing, named as in the design file.
    NotGiven(&'a [&'static str]),
    /// One drive for every joint that is built from the drawing. A rotor that is not given counts as none: crank and
    /// rod are judged alone then.
    Given(&'a [HungDrive]),
}

/// The parts of one drive and the link that bears it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HungDrive<P = Masses> {
    /// The parts, the link among them as the carrier.
    pub masses: P,
    /// Drives with the same number hang on one link.
    pub link: usize,
    /// The carrier frame in that link's own, where something places it.
    pub frame: Option<Isometry3<f64>>,
}
