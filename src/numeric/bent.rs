//! A value with its slopes and curvatures by N variables, all enclosed: a closed form evaluated with it brings both
//! derivatives.
//!
//! ```text
//! (pq)ᵢⱼ = pᵢⱼ q + p qᵢⱼ + pᵢ qⱼ + pⱼ qᵢ     (p/q)ᵢⱼ = (pᵢⱼ − z qᵢⱼ − zᵢ qⱼ − zⱼ qᵢ)/q     f(p)ᵢⱼ = f′ pᵢⱼ + f″ pᵢ pⱼ
//! ```
//!
//! # Source
//! Forward differentiation: L. B. Rall, Automatic Differentiation (1981), ch. 2 (rules of calculus; from memory).

use std::ops::{Add, Div, Mul, Neg, Sub};

use super::interval::Interval;
use super::scalar::Scalar;
use super::search::Curvatures;

/// A value over a box, its slopes and its curvatures there.
#[derive(Clone, Copy, Debug)]
pub struct Bent<const N: usize> {
    /// Encloses every value.
    pub value: Interval,
    /// Enclose every partial derivative.
    pub slopes: [Interval; N],
    /// Enclose every second derivative; only what lies on and below the diagonal is kept.
    lower: Curvatures<N>,
    order: Order,
}

/// Which derivatives are not zero everywhere: what is zero is not computed with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Order {
    Constant,
    Straight,
    Curved,
}

const ZERO: Interval = Interval::ZERO;

impl<const N: usize> Bent<N> {
    /// A constant.
    #[must_use]
    pub fn constant(value: Interval) -> Self {
        Self { value, slopes: [ZERO; N], lower: [[ZERO; N]; N], order: Order::Constant }
    }

    /// The variable `index` itself.
    #[must_use]
    pub fn variable(index: usize, value: Interval) -> Self {
        let mut variable = Self::constant(value);
        if let Some(slot) = variable.slopes.get_mut(index) {
            *slot = Interval::point(1.0);
            variable.order = Order::Straight;
        }
        variable
    }

    /// A function of which value, slopes and, on and below the diagonal, curvatures are known.
    #[must_use]
    pub fn known(value: Interval, slopes: [Interval; N], lower: Curvatures<N>) -> Self {
        Self { value, slopes, lower, order: Order::Curved }
    }

    /// The second derivative by the variables `row` and `column`.
    #[must_use]
    pub fn curvature(&self, row: usize, column: usize) -> Option<Interval> {
        self.lower.get(row.max(column))?.get(row.min(column)).copied()
    }

    /// A function of this value alone, of which value, slope and curvature are given.
    #[must_use]
    #[inline(never)]
    pub fn through(&self, [value, slope, curvature]: [Interval; 3]) -> Self {
        if self.order == Order::Constant {
            return Self::constant(value);
        }
        let slopes = self.slopes.map(|own| slope * own);
        let lower = pairs([&self.lower; 2], [&self.slopes; 2], |[bend, _], [p, _], [q, _]| {
            slope * bend + curvature * (p * q)
        });
        Self { value, slopes, lower, order: Order::Curved }
    }

    /// The angle `value` of the vector (x, y): with z = x + jy, θᵢ = Im zᵢ/z and θᵢⱼ = Im (zᵢⱼ/z − zᵢzⱼ/z²).
    #[must_use]
    #[inline(never)]
    pub fn angle(y: &Self, x: &Self, value: Interval) -> Self {
        let length = x.value.square() + y.value.square();
        let (mut turn, mut growth) = ([ZERO; N], [ZERO; N]);
        for ((turn, growth), (p, q)) in
            turn.iter_mut().zip(&mut growth).zip(x.slopes.iter().zip(&y.slopes))
        {
            *turn = (x.value * *q - y.value * *p) / length;
            *growth = (x.value * *p + y.value * *q) / length;
        }
        let lower = pairs([&x.lower, &y.lower], [&turn, &growth], |[p, q], own, other| {
            (x.value * q - y.value * p) / length - (own[0] * other[1] + own[1] * other[0])
        });
        Self { value, slopes: turn, lower, order: Order::Curved }
    }

    fn with(
        &self,
        other: &Self,
        value: Interval,
        f: impl Fn(Interval, Interval) -> Interval,
    ) -> Self {
        let order = self.order.max(other.order);
        let mut sum = Self { value, order, ..*self };
        for (mine, its) in sum.slopes.iter_mut().zip(&other.slopes) {
            *mine = f(*mine, *its);
        }
        if order == Order::Curved {
            for (mine, its) in below(&mut sum.lower).zip(below_of(&other.lower)) {
                *mine = f(*mine, *its);
            }
        }
        sum
    }

    /// `value`, with every derivative through `f`, which leaves zero alone.
    fn each(&self, value: Interval, f: impl Fn(Interval) -> Interval) -> Self {
        let mut each = Self { value, ..*self };
        if self.order >= Order::Straight {
            each.slopes.iter_mut().for_each(|slope| *slope = f(*slope));
        }
        if self.order == Order::Curved {
            below(&mut each.lower).for_each(|bend| *bend = f(*bend));
        }
        each
    }
}

/// What lies on and below the diagonal.
fn below<const N: usize>(all: &mut Curvatures<N>) -> impl Iterator<Item = &mut Interval> {
    all.iter_mut().enumerate().flat_map(|(k, row)| row.iter_mut().take(k + 1))
}

fn below_of<const N: usize>(all: &Curvatures<N>) -> impl Iterator<Item = &Interval> {
    all.iter().enumerate().flat_map(|(k, row)| row.iter().take(k + 1))
}

/// What two functions' curvatures and slopes by each pair of variables make.
fn pairs<const N: usize>(
    [p, q]: [&Curvatures<N>; 2],
    [u, v]: [&[Interval; N]; 2],
    f: impl Fn([Interval; 2], [Interval; 2], [Interval; 2]) -> Interval,
) -> Curvatures<N> {
    let mut lower = [[ZERO; N]; N];
    let rows = lower.iter_mut().zip(p.iter().zip(q)).zip(u.iter().zip(v)).enumerate();
    for (k, ((row, (p, q)), (own, its))) in rows {
        let columns = row.iter_mut().zip(p.iter().zip(q)).zip(u.iter().zip(v)).take(k + 1);
        for ((slot, (p, q)), (other, others)) in columns {
            *slot = f([*p, *q], [*own, *its], [*other, *others]);
        }
    }
    lower
}

impl<const N: usize> Neg for Bent<N> {
    type Output = Self;
    #[inline(never)]
    fn neg(self) -> Self {
        self.each(-self.value, |p| -p)
    }
}

impl<const N: usize> Add for Bent<N> {
    type Output = Self;
    #[inline(never)]
    fn add(self, other: Self) -> Self {
        let value = self.value + other.value;
        match (self.order, other.order) {
            (_, Order::Constant) => Self { value, ..self },
            (Order::Constant, _) => Self { value, ..other },
            _ => self.with(&other, value, |p, q| p + q),
        }
    }
}

impl<const N: usize> Sub for Bent<N> {
    type Output = Self;
    #[inline(never)]
    fn sub(self, other: Self) -> Self {
        let value = self.value - other.value;
        match (self.order, other.order) {
            (_, Order::Constant) => Self { value, ..self },
            (Order::Constant, _) => other.each(value, |q| -q),
            _ => self.with(&other, value, |p, q| p - q),
        }
    }
}

#[allow(clippy::suspicious_arithmetic_impl, reason = "the product rule has a sum")]
impl<const N: usize> Mul for Bent<N> {
    type Output = Self;
    #[inline(never)]
    fn mul(self, other: Self) -> Self {
        let (x, y) = (self.value, other.value);
        match (self.order, other.order) {
            (_, Order::Constant) => return self.each(x * y, |p| p * y),
            (Order::Constant, _) => return other.each(x * y, |q| x * q),
            _ => {}
        }
        let rules = |[p, q]: [Interval; 2], own: [Interval; 2], its: [Interval; 2]| {
            p * y + x * q + (own[0] * its[1] + own[1] * its[0])
        };
        let lower = pairs([&self.lower, &other.lower], [&self.slopes, &other.slopes], rules);
        let mut slopes = self.slopes;
        for (mine, its) in slopes.iter_mut().zip(&other.slopes) {
            *mine = *mine * y + x * *its;
        }
        Self { value: x * y, slopes, lower, order: Order::Curved }
    }
}

#[allow(
    clippy::suspicious_arithmetic_impl,
    reason = "the quotient rule has products and differences"
)]
impl<const N: usize> Div for Bent<N> {
    type Output = Self;
    #[inline(never)]
    fn div(self, other: Self) -> Self {
        let (y, quotient) = (other.value, self.value / other.value);
        if other.order == Order::Constant {
            return self.each(quotient, |p| p / y);
        }
        let mut slopes = self.slopes;
        for (mine, its) in slopes.iter_mut().zip(&other.slopes) {
            *mine = (*mine - quotient * *its) / y;
        }
        let rules = |[p, q]: [Interval; 2], own: [Interval; 2], its: [Interval; 2]| {
            (p - quotient * q - (own[0] * its[1] + own[1] * its[0])) / y
        };
        let lower = pairs([&self.lower, &other.lower], [&slopes, &other.slopes], rules);
        Self { value: quotient, slopes, lower, order: Order::Curved }
    }
}

impl<const N: usize> Scalar for Bent<N> {
    fn exactly(x: f64) -> Self {
        Self::constant(Interval::point(x))
    }

    fn square(self) -> Self {
        let two = Interval::point(2.0);
        self.through([self.value.square(), two * self.value, two])
    }

    /// Slopes and curvatures without bound where the root may be zero.
    fn root(self) -> Option<Self> {
        let (root, half) = (self.value.root()?, Interval::point(0.5));
        let slope = half / root;
        Some(self.through([root, slope, -(half * slope / root.square())]))
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
        self.with(&other, self.value.both_ways(other.value), Interval::both_ways)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::{Jet, elementary};

    /// √(x² + y)/(x − y) + xy, which uses every rule of arithmetic.
    fn f<T: Scalar>(x: T, y: T) -> T {
        (x.square() + y).root().unwrap() / (x - y) + x * y - T::balance([x, y], [y, -x])
    }

    fn variables([x, y]: [Interval; 2]) -> [Bent<2>; 2] {
        [Bent::variable(0, x), Bent::variable(1, y)]
    }

    /// Slopes of f at a point.
    fn slopes([x, y]: [f64; 2]) -> [f64; 2] {
        let at = |k, x| Jet::<2>::variable(k, Interval::point(x));
        f(at(0, x), at(1, y)).slopes.map(Interval::mid)
    }

    #[test]
    fn every_rule_gives_the_curvature_that_differences_of_slopes_show() {
        let (at, h) = ([2.0, 0.7], 1e-5);
        let [x, y] = variables(at.map(Interval::point));
        let bent = f(x, y);
        for k in 0..2 {
            let beside = |h: f64| {
                let mut moved = at;
                moved[k] += h;
                slopes(moved)
            };
            let (up, down) = (beside(h), beside(-h));
            for j in 0..2 {
                let difference = (up[j] - down[j]) / (2.0 * h);
                let curvature = bent.curvature(k, j).unwrap();
                assert!((curvature.mid() - difference).abs() < 1e-8, "{k} {j} {curvature:?}");
                assert!(curvature.width() < 1e-12);
            }
            assert!((bent.slopes[k].mid() - slopes(at)[k]).abs() < 1e-13);
        }
    }

    #[test]
    fn a_box_encloses_the_curvatures_of_all_its_points() {
        let [x, y] = variables([Interval::new(1.9, 2.1), Interval::new(0.6, 0.8)]);
        let over = f(x, y);
        for at in [[1.9, 0.6], [1.9, 0.8], [2.1, 0.6], [2.1, 0.8], [2.0, 0.7]] {
            let [x, y] = variables(at.map(Interval::point));
            let there = f(x, y);
            for (k, j) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                let [wide, at] = [over, there].map(|bent| bent.curvature(k, j).unwrap());
                assert!(wide.contains(at.mid()), "{k} {j}");
            }
        }
    }

    #[test]
    fn an_angle_undoes_its_sine_and_cosine_to_the_second_derivative() {
        let [angle, size] = variables([2.4, 1.3].map(Interval::point));
        let (sine, cosine) = elementary::sin_cos(angle.value);
        let y = angle.through([sine, cosine, -sine]) * size;
        let x = angle.through([cosine, -sine, -cosine]) * size;
        let back = Bent::angle(&y, &x, angle.value);
        assert!(back.slopes[0].contains(1.0) && back.slopes[1].contains(0.0));
        for (k, j) in [(0, 0), (0, 1), (1, 1)] {
            let curvature = back.curvature(k, j).unwrap();
            assert!(curvature.contains(0.0) && curvature.width() < 1e-13, "{curvature:?}");
        }
    }
}
