//! The linkages that a drawing allows.

use crate::linkage::FourBar;
use crate::numeric::Interval;

use super::advice::LengthName;

/// Every linkage whose lengths lie in a box, with every error of its crank in the zero pose.
///
/// What is proved is proved of [`Family::bars`] and [`Family::crank_error`], which hold all that the typed decimals can
/// mean; what refutes lies in [`Family::typed`], which holds nothing else.
#[derive(Clone, Copy, Debug)]
pub struct Family {
    /// The lengths.
    pub bars: FourBar<Interval>,
    /// Crank angle in the zero pose less the drawn one, rad.
    pub crank_error: Interval,
    /// The same as typed, not rounded outward.
    pub typed: Typed,
}

/// Lengths and errors of the crank between the typed figures themselves.
#[derive(Clone, Copy, Debug)]
pub struct Typed {
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

/// The same, not rounded outward.
#[must_use]
pub fn typed_range(nominal: f64, lower: f64, upper: f64) -> Interval {
    Interval::new(nominal + lower, nominal + upper)
}

impl Family {
    /// Exactly this box of floats, which is typed as it is.
    #[must_use]
    pub fn exactly(bars: FourBar<Interval>, crank_error: Interval) -> Self {
        Self { bars, crank_error, typed: Typed { bars, crank_error } }
    }

    /// Every length ± `tolerance`, with `crank_error`.
    #[must_use]
    pub fn symmetric(bars: &FourBar, tolerance: f64, crank_error: Interval) -> Self {
        let every = Self::exactly(bars.exactly(), crank_error);
        LengthName::ALL.into_iter().fold(every, |f, name| f.with_length(name, bars, tolerance))
    }

    /// The same with `length` of the drawn `bars` ± `half_width`.
    #[must_use]
    pub fn with_length(&self, length: LengthName, bars: &FourBar, half_width: f64) -> Self {
        let (nominal, typed) = (length.of(bars), &self.typed);
        let range = |of: fn(f64, f64, f64) -> Interval| of(nominal, -half_width, half_width);
        Self {
            bars: length.set(&self.bars, range(size_range)),
            typed: Typed { bars: length.set(&typed.bars, range(typed_range)), ..*typed },
            ..*self
        }
    }
}
