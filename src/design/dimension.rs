//! A drawn size with its limits.

use crate::tolerance::Deviation;

/// A drawn figure with its tolerance; m or rad.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// The nominal size; where that lies outside its own limits, the middle of them.
    pub nominal: f64,
    /// The tolerance about it, where one is drawn.
    pub tolerance: Option<Tolerance>,
    /// The size as written, where it lies outside its own limits.
    pub written_outside: Option<f64>,
}

impl Dimension {
    /// A size as drawn. One outside its own limits (`60 +4.02/+3.98 mm`) can never be built: the middle of the limits
    /// takes its place, and the deviations count from there.
    #[must_use]
    pub fn drawn(size: f64, tolerance: Option<Tolerance>) -> Self {
        match tolerance {
            Some(Tolerance { lower, upper, written }) if lower > 0.0 || upper < 0.0 => {
                let (middle, half) = (0.5 * (lower + upper), 0.5 * (upper - lower));
                let tolerance = Tolerance { lower: -half, upper: half, written };
                Self {
                    nominal: size + middle,
                    tolerance: Some(tolerance),
                    written_outside: Some(size),
                }
            }
            tolerance => Self { nominal: size, tolerance, written_outside: None },
        }
    }
}

/// Deviations from the nominal size, `lower <= upper`, in the unit of the dimension (m or rad).
#[derive(Clone, Debug, PartialEq)]
pub struct Tolerance {
    /// Lower deviation, signed.
    pub lower: f64,
    /// Upper deviation, signed.
    pub upper: f64,
    /// As written, e.g. `±0.05 mm`, `ISO 2768-f`, `IT9`.
    pub written: String,
}

/// What a size may deviate by; by nothing where no tolerance is drawn.
#[must_use]
pub fn deviation(drawn: Option<&Tolerance>) -> Deviation {
    drawn.map_or_else(Deviation::default, |t| Deviation { lower: t.lower, upper: t.upper })
}
