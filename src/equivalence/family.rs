//! The linkages that a drawing allows.

use crate::linkage::FourBar;
use crate::numeric::Interval;

use super::advice::LengthName;

/// Every linkage whose lengths lie in a box, with every error of its crank in the zero pose.
#[derive(Clone, Copy, Debug)]
pub struct Family {
    /// The lengths.
    pub bars: FourBar<Interval>,
    /// Crank angle in the zero pose less the drawn one, rad.
    pub crank_error: Interval,
}

/// A figure read from decimal text and turned into SI carries less than this many roundings.
const ROUNDINGS: u32 = 64;

/// `nominal` with its deviations, rounded outward so that the drawn decimals certainly lie inside.
#[must_use]
pub fn size_range(nominal: f64, lower: f64, upper: f64) -> Interval {
    let end = |deviation: f64| {
        Interval::around(nominal, ROUNDINGS) + Interval::around(deviation, ROUNDINGS)
    };
    Interval::new(end(lower).lo(), end(upper).hi())
}

impl Family {
    /// Every length ± `tolerance`, with `crank_error`.
    #[must_use]
    pub fn symmetric(bars: &FourBar, tolerance: f64, crank_error: Interval) -> Self {
        let range = |length: f64| size_range(length, -tolerance, tolerance);
        let bars = FourBar {
            ground: range(bars.ground),
            crank: range(bars.crank),
            coupler: range(bars.coupler),
            rocker: range(bars.rocker),
        };
        Self { bars, crank_error }
    }

    /// The same with `length` of the drawn `bars` ± `half_width`.
    #[must_use]
    pub fn with_length(&self, length: LengthName, bars: &FourBar, half_width: f64) -> Self {
        let range = size_range(length.of(bars), -half_width, half_width);
        Self { bars: length.set(&self.bars, range), ..*self }
    }
}
