//! What turns the crank of a gripper's finger where the motor does not: the stages of a series before the finger.

use super::drawn_size::{DrawnSize, ScrewFigures};
use crate::drive::{Drawing, Kind, Size};

/// The drive between the motor and the crank of a gripper's finger.
#[derive(Clone, Debug)]
pub struct Front {
    /// As a series, also where it is one drive: its joint is the crank.
    pub drawing: Drawing,
    /// One for each of its sizes: its tolerance about the value there, and where it stands in the file.
    pub drawn: Vec<DrawnSize>,
    /// The kinds of its stages, in order from the motor: a planar four-bar is drawn as the drive that it is a case of.
    pub kinds: Vec<Kind>,
    /// Its screws.
    pub screws: Vec<ScrewFigures>,
    /// What the crank reads in the zero pose, rad: the finger's own `[zero] motor_reads`.
    pub crank_reads: f64,
}

impl Front {
    /// Each size with what the drawing says of it.
    pub fn sizes(&self) -> impl Iterator<Item = (Size, &DrawnSize)> {
        self.drawing.sizes().into_iter().zip(&self.drawn)
    }

    /// Share of the motor's work that its screws let through to the crank; `None` where no screw says one.
    #[must_use]
    pub fn efficiency(&self) -> Option<f64> {
        let told: Vec<f64> = self.screws.iter().filter_map(|screw| screw.efficiency).collect();
        (!told.is_empty()).then(|| told.iter().product())
    }

    /// Share of a load's work at the crank that comes back to the motor, at most: 0 where a screw locks itself, and without
    /// what is not told of a screw, which only helps to hold.
    #[must_use]
    pub fn back_efficiency(&self) -> f64 {
        self.screws
            .iter()
            .filter_map(ScrewFigures::screw)
            .map(|screw| screw.back_efficiency().clamp(0.0, 1.0))
            .product()
    }

    /// Does the load never turn the motor?
    #[must_use]
    pub fn locks_itself(&self) -> bool {
        self.screws.iter().filter_map(ScrewFigures::screw).any(|screw| screw.locks_itself())
    }
}
