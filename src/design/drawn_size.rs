//! What a drawing says of a size beside its value, and of a screw.

use std::ops::Range;

use super::dimension::Tolerance;
use crate::drive::Screw;

/// What the drawing says of one size beside its value.
#[derive(Clone, Debug, Default)]
pub struct DrawnSize {
    /// Its tolerance, m or rad.
    pub tolerance: Option<Tolerance>,
    /// The size as written, where it lies outside its own limits; its value is then the middle of them.
    pub written_outside: Option<f64>,
    /// Bytes in the file.
    pub place: Option<Range<usize>>,
}

/// `[screw]`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScrewFigures {
    /// Travel per turn of the motor, m, signed.
    pub lead: f64,
    /// Share of the motor's work that arrives when it drives, 0…1; not told where it is left out.
    pub efficiency: Option<f64>,
    /// Mean diameter of the thread, m.
    pub mean_diameter: Option<f64>,
    /// The nut cannot turn against the housing.
    pub is_twist_guided: bool,
}

impl ScrewFigures {
    /// The screw, where all of it is told.
    #[must_use]
    pub fn screw(&self) -> Option<Screw> {
        let (efficiency, mean_diameter) = (self.efficiency?, self.mean_diameter?);
        Some(Screw { lead: self.lead, efficiency, mean_diameter })
    }
}
