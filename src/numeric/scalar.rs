//! What a formula needs of its numbers, so that one text of it serves plain floats and intervals.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A number that the closed forms of the linkage can be written in.
pub trait Scalar:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
{
    /// The constant `x`, exactly.
    fn exactly(x: f64) -> Self;

    /// The square; tighter than `x * x` for an interval.
    #[must_use]
    fn square(self) -> Self;

    /// The square root; the part below zero, which rounding may bring, counts as zero. `None` when all of it lies below.
    fn root(self) -> Option<Self>;

    /// A representative value: the number itself, or the midpoint of an interval.
    fn middle(self) -> f64;

    /// `true` where the value is certainly not zero.
    fn is_certainly_nonzero(self) -> bool;
}

impl Scalar for f64 {
    fn exactly(x: f64) -> Self {
        x
    }

    fn square(self) -> Self {
        self * self
    }

    fn root(self) -> Option<Self> {
        (self >= 0.0).then(|| self.sqrt())
    }

    fn middle(self) -> f64 {
        self
    }

    fn is_certainly_nonzero(self) -> bool {
        self != 0.0
    }
}
