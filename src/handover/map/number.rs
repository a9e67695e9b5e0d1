//! The kinds of numbers that generated code works in.

words! {
    /// What the code computes in.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Number {
        /// IEEE 754 binary32.
        Float = "float",
        /// IEEE 754 binary64.
        Double = "double",
    }
}

/// The nearest binary32.
#[allow(
    clippy::cast_possible_truncation,
    reason = "rounding to the nearest float is what is meant"
)]
pub(super) fn float(value: f64) -> f32 {
    value as f32
}

impl Number {
    /// Half a unit in the last place of 1.
    pub(super) fn unit(self) -> f64 {
        match self {
            Self::Float => 0.5 * f64::from(f32::EPSILON),
            Self::Double => 0.5 * f64::EPSILON,
        }
    }

    /// The smallest number above 0: what a result too small for its digits may be off.
    pub(super) fn smallest(self) -> f64 {
        match self {
            Self::Float => f64::from(f32::from_bits(1)),
            Self::Double => f64::from_bits(1),
        }
    }

    /// The nearest number of this kind.
    pub(super) fn nearest(self, value: f64) -> f64 {
        match self {
            Self::Float => f64::from(float(value)),
            Self::Double => value,
        }
    }

    /// The largest number of this kind that is not above `value`.
    pub(super) fn below(self, value: f64) -> f64 {
        match self {
            Self::Float if self.nearest(value) > value => f64::from(float(value).next_down()),
            _ => self.nearest(value),
        }
    }

    /// The smallest number of this kind that is not below `value`.
    pub(super) fn above(self, value: f64) -> f64 {
        -self.below(-value)
    }

    /// All digits of `value`, a number of this kind, in decimals.
    pub(super) fn decimals(self, value: f64) -> String {
        match self {
            Self::Float => format!("{:?}", float(value)),
            Self::Double => format!("{value:?}"),
        }
    }
}
