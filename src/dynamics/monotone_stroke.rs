//! A stroke along which the joint turns one way: means over the joint angle.

use std::ops::Deref;

use super::crank_stroke::CrankStroke;
use super::fault::DynamicsFault;
use crate::linkage::{Branch, LinkageFault, Pose, Stroke};

/// A stroke on its branch along which the joint turns one way: no dead point lies inside. All that holds of a
/// [`CrankStroke`] holds of it.
#[derive(Clone, Copy, Debug)]
pub struct MonotoneStroke<'a>(CrankStroke<'a>);

impl<'a> MonotoneStroke<'a> {
    /// `stroke` on `branch`, if the joint turns one way along it.
    ///
    /// # Errors
    /// [`DynamicsFault::DeadPoint`] where the rocker stands still inside the stroke; a pose that cannot be reached.
    pub fn over(branch: &'a Branch, stroke: Stroke) -> Result<Self, DynamicsFault> {
        let [from, to] = stroke.motor;
        match branch.dead_turns(from, to).first() {
            Some(&turn) => Err(DynamicsFault::DeadPoint { turn }),
            None => Ok(Self(CrankStroke::over(branch, stroke)?)),
        }
    }

    /// The poses for means over the joint angle, with weights that add up to 1.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub(super) fn weighted_poses(&self) -> Result<Vec<(Pose, f64)>, LinkageFault> {
        Ok(self.weighted_turns()?.into_iter().map(|(_, pose, weight)| (pose, weight)).collect())
    }

    /// The same with their motor turns.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub(super) fn weighted_turns(&self) -> Result<Vec<(f64, Pose, f64)>, LinkageFault> {
        self.0.weighted_turns(Pose::velocity_ratio)
    }
}

impl<'a> Deref for MonotoneStroke<'a> {
    type Target = CrankStroke<'a>;

    fn deref(&self) -> &CrankStroke<'a> {
        &self.0
    }
}
