//! A value with its slopes by N variables, both enclosed: a closed form evaluated with it brings its derivatives.
//!
//! # Source
//! Forward differentiation: L. B. Rall, Automatic Differentiation (1981), ch. 2 (rules of calculus; from memory).

use std::ops::{Add, Div, Mul, Neg, Sub};

use super::interval::Interval;
use super::scalar::Scalar;

/// A value over a box and its slope in the direction of each variable there.
#[derive(Clone, Copy, Debug)]
pub struct Jet<const N: usize> {
    /// Encloses every value.
    pub value: Interval,
    /// Enclose every partial derivative.
    pub slopes: [Interval; N],
}

impl<const N: usize> Jet<N> {
    /// A constant.
    #[must_use]
    pub fn constant(value: Interval) -> Self {
        Self { value, slopes: [Interval::ZERO; N] }
    }

    /// A function of the variable `index` alone, whose derivative by it is `slope`.
    #[must_use]
    pub fn along(index: usize, value: Interval, slope: Interval) -> Self {
        let mut jet = Self::constant(value);
        if let Some(slot) = jet.slopes.get_mut(index) {
            *slot = slope;
        }
        jet
    }

    /// The variable `index` itself.
    #[must_use]
    pub fn variable(index: usize, value: Interval) -> Self {
        Self::along(index, value, Interval::point(1.0))
    }

    /// Are all slopes zero? What is zero is not computed with.
    fn is_constant(&self) -> bool {
        self.slopes.iter().all(|slope| *slope == Interval::ZERO)
    }

    /// `value`, with slopes from those of both.
    fn with(
        self,
        other: Self,
        value: Interval,
        f: impl Fn(Interval, Interval) -> Interval,
    ) -> Self {
        let mut slopes = self.slopes;
        for (mine, its) in slopes.iter_mut().zip(other.slopes) {
            *mine = f(*mine, its);
        }
        Self { value, slopes }
    }

    /// `value`, with every slope times `factor`.
    fn scaled(self, value: Interval, factor: Interval) -> Self {
        Self { value, slopes: self.slopes.map(|slope| slope * factor) }
    }
}

impl<const N: usize> Neg for Jet<N> {
    type Output = Self;
    fn neg(self) -> Self {
        Self { value: -self.value, slopes: self.slopes.map(|slope| -slope) }
    }
}

impl<const N: usize> Add for Jet<N> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        self.with(other, self.value + other.value, |p, q| p + q)
    }
}

impl<const N: usize> Sub for Jet<N> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self.with(other, self.value - other.value, |p, q| p - q)
    }
}

#[allow(clippy::suspicious_arithmetic_impl, reason = "the product rule has a sum")]
impl<const N: usize> Mul for Jet<N> {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        let (x, y) = (self.value, other.value);
        if other.is_constant() {
            return self.scaled(x * y, y);
        }
        if self.is_constant() {
            return other.scaled(x * y, x);
        }
        self.with(other, x * y, |p, q| p * y + x * q)
    }
}

#[allow(
    clippy::suspicious_arithmetic_impl,
    reason = "the quotient rule has a product and a difference"
)]
impl<const N: usize> Div for Jet<N> {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        let (y, quotient) = (other.value, self.value / other.value);
        if other.is_constant() {
            return Self { value: quotient, slopes: self.slopes.map(|slope| slope / y) };
        }
        self.with(other, quotient, |p, q| (p - quotient * q) / y)
    }
}

impl<const N: usize> Scalar for Jet<N> {
    fn exactly(x: f64) -> Self {
        Self::constant(Interval::point(x))
    }

    fn square(self) -> Self {
        self.scaled(self.value.square(), Interval::point(2.0) * self.value)
    }

    /// Slopes without bound where the root may be zero.
    fn root(self) -> Option<Self> {
        let root = self.value.root()?;
        Some(self.scaled(root, Interval::point(0.5) / root))
    }

    fn balance([p, q]: [Self; 2], [m, n]: [Self; 2]) -> Self {
        let value = Interval::balance([p.value, q.value], [m.value, n.value]);
        let plain = (p + q) - (m + n);
        Self { value, ..plain }
    }

    fn middle(self) -> f64 {
        self.value.mid()
    }

    fn is_certainly_nonzero(self) -> bool {
        self.value.is_certainly_nonzero()
    }

    fn both_ways(self, other: Self) -> Self {
        let mut slopes = self.slopes;
        for (slope, its) in slopes.iter_mut().zip(other.slopes) {
            *slope = slope.both_ways(its);
        }
        Self { value: self.value.both_ways(other.value), slopes }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// √(x² + y)/(x − y) + x, which uses every rule.
    fn f<T: Scalar>(x: T, y: T) -> T {
        (x.square() + y).root().unwrap() / (x - y) + x * T::exactly(1.0)
            - T::balance([x, y], [y, T::exactly(0.5)])
    }

    #[test]
    fn every_rule_gives_the_slope_that_differences_show() {
        let (x, y) = (2.0, 0.7);
        let point = Interval::point;
        let jet = f(Jet::<2>::variable(0, point(x)), Jet::variable(1, point(y)));
        let h = 1e-5;
        let by_x = (f(x + h, y) - f(x - h, y)) / (2.0 * h);
        let by_y = (f(x, y + h) - f(x, y - h)) / (2.0 * h);
        assert!((jet.value.mid() - f(x, y)).abs() < 1e-14);
        assert!((jet.slopes[0].mid() - by_x).abs() < 1e-9, "{jet:?} {by_x}");
        assert!((jet.slopes[1].mid() - by_y).abs() < 1e-9, "{jet:?} {by_y}");
        assert!(jet.slopes.iter().all(|slope| slope.width() < 1e-13));
    }

    #[test]
    fn a_box_encloses_the_slopes_of_all_its_points() {
        let (x, y) = (Interval::new(1.9, 2.1), Interval::new(0.6, 0.8));
        let over = f(Jet::<2>::variable(0, x), Jet::variable(1, y));
        for (x, y) in [(1.9, 0.6), (1.9, 0.8), (2.1, 0.6), (2.1, 0.8), (2.0, 0.7)] {
            let at =
                f(Jet::<2>::variable(0, Interval::point(x)), Jet::variable(1, Interval::point(y)));
            assert!(over.value.contains(at.value.mid()));
            assert!(over.slopes.iter().zip(at.slopes).all(|(o, a)| o.contains(a.mid())));
        }
    }

    #[test]
    fn a_root_that_may_be_zero_has_slopes_without_bound() {
        let root = Jet::<1>::variable(0, Interval::new(0.0, 1.0)).root().unwrap();
        assert_eq!(root.slopes[0], Interval::ENTIRE);
    }
}
