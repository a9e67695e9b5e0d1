//! What a design of another drive than a planar four-bar draws: its sizes with their tolerances, its screw, its stages.

use std::ops::Range;

use super::dimension::Tolerance;
use super::model::Design;
use crate::drive::{Drawing, Size};

/// A drive of one joint as drawn.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// Its kind and sizes.
    pub drawing: Drawing,
    /// One for each of [`Drawing::sizes`]: its tolerance about the value there, and where it stands in the file.
    pub drawn: Vec<DrawnSize>,
    /// `[screw]`, of linear drives.
    pub screw: Option<ScrewFigures>,
    /// The stages of a series in order from the motor, each a design of its own.
    pub stages: Vec<AnyDesign>,
    /// Unit vectors of the axes that bodies and robots are placed by, in the frame that the points are written in: x along the
    /// ground line, y, z along the joint axis.
    pub drawing_frame: [[f64; 3]; 3],
    /// The points were given in the carrier's own frame.
    pub is_in_carrier_frame: bool,
}

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

impl Drawn {
    /// Each size with what the drawing says of it.
    pub fn sizes(&self) -> impl Iterator<Item = (Size, &DrawnSize)> {
        self.drawing.sizes().into_iter().zip(&self.drawn)
    }

    /// Is any tolerance drawn?
    #[must_use]
    pub fn has_tolerance(&self) -> bool {
        self.drawn.iter().any(|size| size.tolerance.is_some())
    }
}

/// A design of whatever drive.
#[derive(Clone, Debug)]
pub enum AnyDesign {
    /// A planar four-bar.
    FourBar(Box<Design>),
    /// Another drive of one joint.
    OneJoint(Box<Design<Drawn>>),
}
