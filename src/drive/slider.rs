//! A nut on a straight guide that pushes the joint's lever by a rod.
//!
//! ```text
//! x = d·t ± √(b² − |d|² + (d·t)²)     d = Q − A     dx/dψ = r_B/(ŵ·t)
//! ```
//!
//! The upper sign is the nut ahead of Q along the guide, ŵ·t < 0. ŵ·t = 0 is the dead point; the guide bears F √(1 − (ŵ·t)²)
//! sideways.

use super::circle::Circle;
use super::fault::DriveFault;
use super::input_end::InputEnd;
use super::rod_drive::RodDrive;
use super::rod_pose::RodOnHinge;
use super::space::{Axis, Vector};
use crate::numeric::{Interval, Scalar};

/// A slider drive by its points in the carrier's frame, in the zero pose. Lengths in one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slider<T = f64> {
    /// A point of the guide, from which the nut's travel counts; the guide is the nut pin's path.
    pub guide: Vector<T>,
    /// The direction of the guide.
    pub direction: Vector<T>,
    /// Length of the rod between pin centres, > 0.
    pub coupler: T,
    /// The joint axis.
    pub joint: Axis<T>,
    /// The pin Q on the lever.
    pub rocker: Vector<T>,
    /// Travel per turn of the motor, signed.
    pub lead: T,
}

impl<T: Scalar> Slider<T> {
    /// Poses by joint turns from the pose as drawn, the nut ahead of Q along the guide (`side` +1) or behind it (−1);
    /// `None` where Q may lie on the joint axis.
    pub fn geometry(&self, side: f64) -> Option<RodOnHinge<T>> {
        let joint = Circle::through(self.rocker, &self.joint)?;
        let direction = self.direction.unit()?;
        let (point, rod, lead) = (self.guide, self.coupler, self.lead);
        Some(RodOnHinge { joint, input: InputEnd::Slide { point, direction, rod, side, lead } })
    }

    /// The same in another kind of number.
    pub fn map<U>(&self, f: impl Fn(T) -> U + Copy) -> Slider<U> {
        Slider {
            guide: self.guide.map(f),
            direction: self.direction.map(f),
            coupler: f(self.coupler),
            joint: self.joint.map(f),
            rocker: self.rocker.map(f),
            lead: f(self.lead),
        }
    }
}

impl Slider {
    /// The drive whose zero pose is as drawn, with the nut at the one of its two places nearer to travel `nut`.
    ///
    /// # Errors
    /// [`DriveFault::CannotReach`], [`DriveFault::ZeroPoseIsStop`], [`DriveFault::Undetermined`].
    pub fn drive(&self, nut: f64) -> Result<RodDrive, DriveFault> {
        const NO_PLACE: DriveFault = DriveFault::Undetermined(
            "the lever's pin lies on the joint axis, or an axis or guide has no direction",
        );
        let along = self.direction.unit().ok_or(NO_PLACE)?;
        let level = (self.rocker - self.guide).dot(along);
        let side = if nut > level { 1.0 } else { -1.0 };
        let sure = self.map(Interval::point).geometry(side).ok_or(NO_PLACE)?;
        RodDrive::new(sure, 0.0, None)
    }
}
