//! The figures of a drawing, by name.

use super::space::Vector;

/// What a size is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// m.
    Length,
    /// rad.
    Angle,
    /// A plain number.
    Number,
}

/// One figure of a drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Which stage of a series it belongs to, counted from the motor; 0 elsewhere.
    pub stage: usize,
    /// Its key in the design file; of points with the coordinate, e.g. `crank_x`; of axes with the direction of the tilt.
    pub name: &'static str,
    /// What it is measured in.
    pub measure: Measure,
    /// As drawn, SI.
    pub value: f64,
}

/// Names of a point's coordinates as sizes.
pub(super) type Names = [&'static str; 3];

/// Sizes of points and of the tilts of axes, for the kinds that are drawn by points.
#[derive(Default)]
pub(super) struct PointSizes(Vec<Size>);

impl PointSizes {
    pub(super) fn point(mut self, names: Names, at: Vector) -> Self {
        self.0.extend(names.into_iter().zip([at.x, at.y, at.z]).map(|(name, value)| Size {
            stage: 0,
            name,
            measure: Measure::Length,
            value,
        }));
        self
    }

    /// Two tilts of an axis, none as drawn.
    pub(super) fn tilts(mut self, names: [&'static str; 2]) -> Self {
        self.0.extend(names.map(|name| Size {
            stage: 0,
            name,
            measure: Measure::Angle,
            value: 0.0,
        }));
        self
    }

    pub(super) fn length(mut self, name: &'static str, value: f64) -> Self {
        self.0.push(Size { stage: 0, name, measure: Measure::Length, value });
        self
    }

    pub(super) fn all(self) -> Vec<Size> {
        self.0
    }
}
