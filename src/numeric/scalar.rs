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

    /// (p + q) − (m + n) to its last digit, however nearly the four cancel.
    #[must_use]
    fn balance(plus: [Self; 2], minus: [Self; 2]) -> Self;

    /// A representative value: the number itself, or the midpoint of an interval.
    fn middle(self) -> f64;

    /// `true` where the value is certainly not zero.
    fn is_certainly_nonzero(self) -> bool;

    /// The same number, worked out in two ways: what both tell of it; plain floats take this one.
    #[must_use]
    fn both_ways(self, other: Self) -> Self;
}

/// The rounding error of `s = a + b` (Knuth's two-sum); exact where nothing overflows, NaN where it does.
///
/// # Source
/// D. E. Knuth, The Art of Computer Programming, vol. 2, sec. 4.2.2, theorem B.
#[inline]
pub(super) fn sum_error(a: f64, b: f64, s: f64) -> f64 {
    let t = s - a;
    (a - (s - t)) + (b - t)
}

/// (p + q) − (m + n) as four floats whose exact sum it is, the largest first.
#[inline]
pub(super) fn exact_balance([p, q]: [f64; 2], [m, n]: [f64; 2]) -> [f64; 4] {
    let (first, second) = (p - m, q - n);
    let sum = first + second;
    let errors = [sum_error(p, -m, first), sum_error(q, -n, second)];
    [sum, sum_error(first, second, sum), errors[0], errors[1]]
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

    #[inline]
    fn balance(plus: [Self; 2], minus: [Self; 2]) -> Self {
        let [sum, first, second, third] = exact_balance(plus, minus);
        sum + (first + (second + third))
    }

    fn middle(self) -> f64 {
        self
    }

    fn is_certainly_nonzero(self) -> bool {
        self != 0.0
    }

    fn both_ways(self, _: Self) -> Self {
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::Interval;

    #[test]
    fn lengths_that_nearly_cancel_leave_their_last_digits() {
        // 0.3 + (0.045 + one float) − 0.3 − 0.045: what is left is that one float.
        let (g, a) = (0.3, 0.045_f64);
        let left = f64::balance([g, a.next_up()], [a, g]);
        assert!(left > 0.0 && (left - (a.next_up() - a)).abs() < 1e-300);
        let point = Interval::point;
        let enclosed = Interval::balance([point(g), point(a.next_up())], [point(a), point(g)]);
        assert!(enclosed.contains(left) && enclosed.width() < 1e-30);
    }

    #[test]
    fn a_range_of_lengths_is_balanced_at_both_ends() {
        let wide = Interval::new(1.0, 2.0);
        let balance = Interval::balance([wide, wide], [wide, Interval::point(0.5)]);
        assert_eq!(balance, Interval::new(-0.5, 2.5));
        let endless = Interval::balance([Interval::ENTIRE, wide], [wide, wide]);
        assert_eq!(endless, Interval::ENTIRE);
    }
}
