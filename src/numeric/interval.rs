//! Closed intervals of reals with outward rounding, in plain round-to-nearest arithmetic.
//!
//! Each operation computes both ends to nearest and then steps outward by one float, unless the result is known to
//! be exact. That needs neither a changed rounding mode nor any CPU flag, and costs at most one unit in the last
//! place on each side.
//!
//! What there is of IEEE 1788-2015, and what is not:
//!
//! | the standard's | here |
//! |---|---|
//! | inf-sup intervals over binary64, bare | yes |
//! | empty interval | no: operations that could give it return `Option` |
//! | entire line, half-lines | yes, as infinite ends; there is no separate "empty at infinity" |
//! | neg, add, sub, mul, div | yes, not tightest (one float wider a side); div by an interval that holds 0 gives the entire line |
//! | sqr, sqrt | yes; sqrt of the part at or above 0 |
//! | sin, cos, atan2 | yes ([`crate::numeric::elementary`]), valid, not tightest |
//! | other elementary functions, reverse operations | no |
//! | intersection, convex hull, midpoint, width, magnitude, subset, interior | yes |
//! | decorations, flags, text input and output, reductions | no |

use std::ops::{Add, Div, Mul, Neg, Sub};

use super::scalar::{Scalar, exact_balance, sum_error};

/// The reals from `lo` to `hi`, both included where finite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    lo: f64,
    hi: f64,
}

/// One float below; stays at −∞.
#[inline]
fn down(x: f64) -> f64 {
    x.next_down()
}

/// One float above; stays at +∞.
#[inline]
fn up(x: f64) -> f64 {
    x.next_up()
}

/// An end of a product below `LEAST` is told as `NOTHING`: floats below the least normal one are a hundred times slower, and so is
/// what is made of them.
const LEAST: f64 = 1e-290;
const NOTHING: f64 = 1e-200;

/// A hair more than half a last place of 1: beyond |x| = [`LEAST`] the floats next to x lie within STEP·|x|.
///
/// # Source
/// S. M. Rump, P. Zimmermann, S. Boldo and G. Melquiond, Computing predecessor and successor in rounding to nearest, BIT 49
/// (2009) (memory).
const STEP: f64 = 0.5 * f64::EPSILON * (1.0 + f64::EPSILON);

#[inline]
fn add_down(a: f64, b: f64) -> f64 {
    let s = a + b;
    if sum_error(a, b, s) >= 0.0 { s } else { down(s) }
}

#[inline]
fn add_up(a: f64, b: f64) -> f64 {
    let s = a + b;
    if sum_error(a, b, s) <= 0.0 { s } else { up(s) }
}

/// A product of ends, in which 0 times an infinite end is 0 (the end is a bound, not a number).
#[inline]
fn end_product(a: f64, b: f64) -> f64 {
    let product = a * b;
    if product.is_nan() { 0.0 } else { product }
}

/// The lesser of two numbers: one instruction, which `f64::min` is not.
#[inline]
fn lesser(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

/// The greater of two numbers.
#[inline]
fn greater(a: f64, b: f64) -> f64 {
    if b > a { b } else { a }
}

/// Four floats' exact sum, enclosed.
#[inline]
fn total([sum, first, second, third]: [f64; 4]) -> Interval {
    let point = Interval::point;
    point(sum) + (point(first) + (point(second) + point(third)))
}

/// Outward by one float, but for a zero that came from a zero factor.
#[inline]
fn outward(lo: f64, hi: f64) -> Interval {
    Interval { lo: down(lo), hi: up(hi) }
}

impl Interval {
    /// The whole line.
    pub const ENTIRE: Self = Self { lo: f64::NEG_INFINITY, hi: f64::INFINITY };
    /// Zero and nothing else.
    pub const ZERO: Self = Self { lo: 0.0, hi: 0.0 };

    /// From `lo` to `hi`; the whole line where they are not in order, not numbers, or both the same infinity.
    #[must_use]
    pub fn new(lo: f64, hi: f64) -> Self {
        let holds_a_number = lo <= hi && lo < f64::INFINITY && hi > f64::NEG_INFINITY;
        if holds_a_number { Self { lo, hi } } else { Self::ENTIRE }
    }

    /// The single number `x`; the whole line for NaN and infinities.
    #[must_use]
    pub fn point(x: f64) -> Self {
        if x.is_finite() { Self { lo: x, hi: x } } else { Self::ENTIRE }
    }

    /// `x` and `ulps` floats to either side: for a figure that carries a few roundings.
    #[must_use]
    pub fn around(x: f64, ulps: u32) -> Self {
        let mut wide = Self::point(x);
        for _ in 0..ulps {
            wide = outward(wide.lo, wide.hi);
        }
        wide
    }

    /// Lower end.
    #[must_use]
    pub fn lo(self) -> f64 {
        self.lo
    }

    /// Upper end.
    #[must_use]
    pub fn hi(self) -> f64 {
        self.hi
    }

    /// A float inside, near the middle.
    #[must_use]
    pub fn mid(self) -> f64 {
        let middle = 0.5 * self.lo + 0.5 * self.hi;
        if middle.is_finite() {
            middle.clamp(self.lo, self.hi)
        } else {
            0.0_f64.clamp(self.lo, self.hi)
        }
    }

    /// Upper bound of the width.
    #[must_use]
    pub fn width(self) -> f64 {
        add_up(self.hi, -self.lo)
    }

    /// Largest absolute value.
    #[must_use]
    pub fn magnitude(self) -> f64 {
        self.lo.abs().max(self.hi.abs())
    }

    /// Smallest absolute value.
    #[must_use]
    pub fn mignitude(self) -> f64 {
        if self.contains(0.0) { 0.0 } else { self.lo.abs().min(self.hi.abs()) }
    }

    /// Does `x` lie inside?
    #[must_use]
    pub fn contains(self, x: f64) -> bool {
        self.lo <= x && x <= self.hi
    }

    /// Does every number of `other` lie inside?
    #[must_use]
    pub fn encloses(self, other: Self) -> bool {
        self.lo <= other.lo && other.hi <= self.hi
    }

    /// The numbers in both; `None` where there are none.
    #[must_use]
    pub fn intersection(self, other: Self) -> Option<Self> {
        let (lo, hi) = (self.lo.max(other.lo), self.hi.min(other.hi));
        (lo <= hi).then_some(Self { lo, hi })
    }

    /// The smallest interval around both.
    #[must_use]
    pub fn hull(self, other: Self) -> Self {
        Self { lo: self.lo.min(other.lo), hi: self.hi.max(other.hi) }
    }

    /// Absolute values.
    #[must_use]
    pub fn abs(self) -> Self {
        Self { lo: self.mignitude(), hi: self.magnitude() }
    }

    /// Certainly above zero.
    #[must_use]
    pub fn is_positive(self) -> bool {
        self.lo > 0.0
    }

    /// The product where an end is next to nothing, or endless.
    #[inline(never)]
    fn product(self, other: Self) -> Self {
        if self == Self::ZERO || other == Self::ZERO {
            return Self::ZERO;
        }
        let ac = end_product(self.lo, other.lo);
        let ad = end_product(self.lo, other.hi);
        let bc = end_product(self.hi, other.lo);
        let bd = end_product(self.hi, other.hi);
        let lo = lesser(lesser(ac, ad), lesser(bc, bd));
        let hi = greater(greater(ac, ad), greater(bc, bd));
        let ends = [self.lo, self.hi, other.lo, other.hi];
        // Where no end is small but nothing, a product that is nothing has a factor that is, and is not rounded.
        let is_exact = ends.iter().all(|x| *x == 0.0 || x.abs() > 1e-140);
        let is_positive = self.lo >= 0.0 && other.lo >= 0.0;
        let told = |end: f64, stepped: f64, nothing: f64| match end.abs() {
            size if size >= LEAST => stepped,
            0.0 if is_exact => 0.0,
            _ => nothing,
        };
        let least = if is_positive { 0.0 } else { -NOTHING };
        Self { lo: told(lo, down(lo), least), hi: told(hi, up(hi), NOTHING) }
    }

    /// The two halves at the midpoint.
    #[must_use]
    pub fn halves(self) -> [Self; 2] {
        let middle = self.mid();
        [Self { lo: self.lo, hi: middle }, Self { lo: middle, hi: self.hi }]
    }
}

/// `−[a, b] = [−b, −a]`, exact.
impl Neg for Interval {
    type Output = Self;
    fn neg(self) -> Self {
        Self { lo: -self.hi, hi: -self.lo }
    }
}

/// | | result |
/// |---|---|
/// | always | `[a + c rounded down, b + d rounded up]`; exact sums stay exact |
impl Add for Interval {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        Self { lo: add_down(self.lo, other.lo), hi: add_up(self.hi, other.hi) }
    }
}

/// | | result |
/// |---|---|
/// | always | `[a − d rounded down, b − c rounded up]` |
impl Sub for Interval {
    type Output = Self;
    #[inline]
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

/// | `[a, b] × [c, d]` | lower end | upper end |
/// |---|---|---|
/// | either factor is exactly 0 | 0 | 0 |
/// | otherwise | least of ac, ad, bc, bd | greatest of them |
///
/// Below 1e-290 an end is told as 0 where that is exact, else as ±1e-200 outward.
impl Mul for Interval {
    type Output = Self;
    #[inline]
    fn mul(self, other: Self) -> Self {
        let [ac, ad] = [self.lo * other.lo, self.lo * other.hi];
        let [bc, bd] = [self.hi * other.lo, self.hi * other.hi];
        let lo = lesser(lesser(ac, ad), lesser(bc, bd));
        let hi = greater(greater(ac, ad), greater(bc, bd));
        let is_finite = (self.hi - self.lo) + (other.hi - other.lo) < f64::INFINITY;
        let least = lesser(lo.abs(), hi.abs());
        if is_finite && least > LEAST && least < 1.0 / LEAST {
            Self { lo: lo - lo.abs() * STEP, hi: hi + hi.abs() * STEP }
        } else {
            self.product(other)
        }
    }
}

/// | `[a, b] ÷ [c, d]` | lower end | upper end |
/// |---|---|---|
/// | the divisor holds 0 | −∞ | ∞ |
/// | the dividend is exactly 0 | 0 | 0 |
/// | c > 0 | a/d, where a < 0 a/c | b/c, where b < 0 b/d |
/// | d < 0 | that of `[−b, −a] ÷ [−d, −c]` | likewise |
impl Div for Interval {
    type Output = Self;
    #[inline]
    fn div(self, other: Self) -> Self {
        if other.contains(0.0) {
            return Self::ENTIRE;
        }
        if self == Self::ZERO {
            return Self::ZERO;
        }
        let (over, by) = if other.lo > 0.0 { (self, other) } else { (-self, -other) };
        let low = if over.lo >= 0.0 { by.hi } else { by.lo };
        let high = if over.hi >= 0.0 { by.lo } else { by.hi };
        let wide = outward(over.lo / low, over.hi / high);
        // Nothing divided is nothing, without rounding.
        let kept = |end: f64, wide: f64| if end == 0.0 { 0.0 } else { wide };
        Self { lo: kept(over.lo, wide.lo), hi: kept(over.hi, wide.hi) }
    }
}

impl Scalar for Interval {
    fn exactly(x: f64) -> Self {
        Self::point(x)
    }

    /// | `[a, b]²` | result |
    /// |---|---|
    /// | holds 0 | `[0, greatest of a², b²]` |
    /// | otherwise | the squares of the end nearer to 0 and of the other |
    #[inline]
    fn square(self) -> Self {
        let (low, high) = (self.mignitude(), self.magnitude());
        Self { lo: down(low * low).max(0.0), hi: if high == 0.0 { 0.0 } else { up(high * high) } }
    }

    /// | `√[a, b]` | result |
    /// |---|---|
    /// | b < 0 | none |
    /// | a ≤ 0 ≤ b | `[0, √b]` |
    /// | a > 0 | `[√a, √b]` |
    #[inline]
    fn root(self) -> Option<Self> {
        if self.hi < 0.0 {
            return None;
        }
        let low = if self.lo <= 0.0 { 0.0 } else { down(self.lo.sqrt()).max(0.0) };
        Some(Self { lo: low, hi: if self.hi == 0.0 { 0.0 } else { up(self.hi.sqrt()) } })
    }

    /// The ends are sums of ends; each is summed without loss and rounded outward once.
    #[inline]
    fn balance([p, q]: [Self; 2], [m, n]: [Self; 2]) -> Self {
        let low = total(exact_balance([p.lo, q.lo], [m.hi, n.hi]));
        let high = total(exact_balance([p.hi, q.hi], [m.lo, n.lo]));
        Self { lo: low.lo, hi: high.hi }
    }

    fn middle(self) -> f64 {
        self.mid()
    }

    fn is_certainly_nonzero(self) -> bool {
        !self.contains(0.0)
    }

    fn both_ways(self, other: Self) -> Self {
        self.intersection(other).unwrap_or(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_exact_sum_stays_a_point() {
        assert_eq!(Interval::point(1.5) + Interval::point(2.25), Interval::point(3.75));
    }

    #[test]
    fn an_inexact_sum_encloses_the_real_one() {
        // 1 + 2^-60 lies strictly between 1 and the next float.
        let sum = Interval::point(1.0) + Interval::point(2.0_f64.powi(-60));
        assert_eq!((sum.lo(), sum.hi()), (1.0, 1.0_f64.next_up()));
    }

    #[test]
    fn a_product_of_mixed_signs_takes_the_extreme_corners() {
        let product = Interval::new(-2.0, 3.0) * Interval::new(-5.0, 4.0);
        assert!(product.encloses(Interval::new(-15.0, 12.0)));
        assert!(Interval::new(-15.1, 12.1).encloses(product));
    }

    #[test]
    fn a_divisor_that_holds_zero_gives_the_whole_line() {
        assert_eq!(Interval::point(1.0) / Interval::new(-1.0, 1.0), Interval::ENTIRE);
        assert_eq!(Interval::point(1.0) / Interval::ZERO, Interval::ENTIRE);
    }

    #[test]
    fn a_square_is_never_negative() {
        let square = Interval::new(-3.0, 2.0).square();
        assert!(square.lo() == 0.0 && square.hi() >= 9.0);
    }

    #[test]
    fn a_root_below_zero_does_not_exist() {
        assert!(Interval::new(-2.0, -1.0).root().is_none());
        assert!(Interval::new(-1.0, 4.0).root().is_some_and(|r| r.lo() == 0.0 && r.hi() >= 2.0));
    }

    #[test]
    fn underflow_keeps_the_real_product_inside() {
        let tiny = Interval::point(1e-200) * Interval::point(1e-200);
        assert!(tiny.lo() >= 0.0 && tiny.hi() > 0.0);
        let signed = Interval::point(-1e-200) * Interval::point(1e-200);
        assert!(signed.lo() < 0.0 && signed.hi() >= 0.0);
    }

    #[test]
    fn overflow_keeps_the_real_sum_and_product_inside() {
        let huge = Interval::point(f64::MAX);
        assert!((huge + huge).lo() <= f64::MAX && (huge + huge).hi() == f64::INFINITY);
        assert!((huge * huge).lo() <= f64::MAX && (huge * huge).hi() == f64::INFINITY);
        assert!((huge - huge).contains(0.0));
    }

    #[test]
    fn not_a_number_becomes_the_whole_line() {
        assert_eq!(Interval::point(f64::NAN), Interval::ENTIRE);
        assert_eq!(Interval::new(2.0, 1.0), Interval::ENTIRE);
    }
}
