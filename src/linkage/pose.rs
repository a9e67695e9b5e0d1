//! One pose of the linkage in closed form: no angle is needed until one is printed.
//!
//! With e the crank's direction, u the rocker's, ⊥ a turn by a quarter to the left, h = P − B and w = Q − P:
//!
//! ```text
//! h = a e − g x,   M = c (u⊥·w),   M² = ((b+c)² − h²)(h² − (b−c)²)/4     M < 0 open, M > 0 crossed
//! ```
//!
//! The rest is written in the **mismatch** d = w − g x = c u − a e, which is what keeps the linkage from being a
//! parallelogram in this pose. Its part along h follows from the lengths alone, its part across h from a quadratic:
//!
//! ```text
//! d·h  = α = ((c² − a²) − (b² − g²))/2
//! d·h⊥ = β = M + a g sin φ = q/(a g sin φ − M),   q = α² + (c² − a²) g (a cos φ − g) + (b² − g²) a (g cos φ − a)
//! dψ/dφ − 1 = g d_y / M          dθ/dφ = a (e × d)/M          tan(ψ − φ) = (e × d)/(a + e·d)
//! ```
//!
//! so that a parallelogram gives exactly 1, 0 and 0, and one that is nearly so keeps all its digits. Derived here.

use nalgebra::{Point2, Vector2};

use crate::numeric::elementary;
use crate::numeric::{Interval, Scalar};

use super::fault::LinkageFault;
use super::four_bar::FourBar;

/// A rocker that turns by less than this share of the crank's turn stands still but for rounding.
const STILL: f64 = 1e-13;

words! {
    /// The two assemblies of a four-bar at one crank angle.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Closure {
        /// Q lies left of the directed line P→B.
        Open = "open",
        /// Q lies right of the directed line P→B.
        Crossed = "crossed",
    }
}

impl Closure {
    /// The sign of M: −1 open, +1 crossed.
    #[must_use]
    pub fn sign(self) -> f64 {
        match self {
            Self::Open => -1.0,
            Self::Crossed => 1.0,
        }
    }

    /// The other assembly.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Open => Self::Crossed,
            Self::Crossed => Self::Open,
        }
    }
}

/// Sine and cosine of **half** the crank angle: they hold the digits near φ = 0 and φ = 180 deg.
#[derive(Clone, Copy, Debug)]
pub struct Half<T = f64> {
    /// sin(φ/2)
    pub sin: T,
    /// cos(φ/2)
    pub cos: T,
}

impl Half<f64> {
    /// Of the crank angle `phi`, rad.
    #[must_use]
    pub fn of_angle(phi: f64) -> Self {
        let (sin, cos) = libm::sincos(0.5 * phi);
        Self { sin, cos }
    }
}

impl Half<Interval> {
    /// Of every crank angle in `phi`, rad.
    #[must_use]
    pub fn of_range(phi: Interval) -> Self {
        let (sin, cos) = elementary::sin_cos(phi * Interval::point(0.5));
        Self { sin, cos }
    }
}

/// A pose over any kind of number; lengths in the unit of the linkage.
#[derive(Clone, Copy, Debug)]
pub struct PoseOf<T> {
    /// The linkage.
    pub bars: FourBar<T>,
    /// cos φ, sin φ: the crank's direction e.
    pub e: [T; 2],
    /// The mismatch d.
    pub d: [T; 2],
    /// M = c u⊥·w, signed by the closure; zero at a crank limit.
    pub m: T,
    /// h², the squared diagonal from P to B.
    pub diagonal_squared: T,
    /// dψ/dφ − 1.
    pub ratio_less_one: T,
}

/// A pose of one linkage in plain floats.
pub type Pose = PoseOf<f64>;

impl<T: Scalar> FourBar<T> {
    /// The pose at the crank angle of `half`; `None` where coupler and rocker do not meet.
    pub fn pose(&self, half: Half<T>, closure: Closure) -> Option<PoseOf<T>> {
        PoseOf::solve(self, half, closure)
    }
}

impl FourBar {
    /// The pose at crank angle `phi` (rad).
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`] where coupler and rocker do not meet.
    ///
    /// # Examples
    /// ```
    /// use unloop::linkage::{Closure, FourBar};
    /// let ankle = FourBar { ground: 0.3, crank: 0.045, coupler: 0.3, rocker: 0.045 };
    /// let pose = ankle.at(1.2, Closure::Open)?;
    /// assert_eq!(pose.velocity_ratio(), 1.0);
    /// # Ok::<(), unloop::linkage::LinkageFault>(())
    /// ```
    pub fn at(&self, phi: f64, closure: Closure) -> Result<Pose, LinkageFault> {
        self.pose(Half::of_angle(phi), closure).ok_or_else(|| self.cannot_close(phi))
    }
}

fn sum_of_products<T: Scalar>(a: [T; 2], b: [T; 2]) -> T {
    a[0] * b[0] + a[1] * b[1]
}

impl<T: Scalar> PoseOf<T> {
    /// Two circles' meeting, on the side of `closure`; `None` where they do not meet, or only touch all along.
    pub(super) fn solve(bars: &FourBar<T>, half: Half<T>, closure: Closure) -> Option<Self> {
        let FourBar { ground: g, crank: a, coupler: b, rocker: c } = *bars;
        let [t1, t2, t3] = bars.signs();
        let (four_ag, two) = (T::exactly(4.0) * a * g, T::exactly(2.0));
        let (sin2, cos2) = (half.sin.square(), half.cos.square());
        let h2 = (g - a).square() + four_ag * sin2;
        let beyond_sum = t3 * (a + b + c + g) + four_ag * cos2;
        let beyond_difference = t1 * t2 + four_ag * sin2;
        let m = (beyond_sum.root()? * beyond_difference.root()?) * T::exactly(0.5 * closure.sign());
        let e = [T::exactly(1.0) - two * sin2, two * half.sin * half.cos];
        let h = [(a - g) - two * a * sin2, a * e[1]];
        let [rocker_excess, coupler_excess] = [(c - a) * (c + a), (b - g) * (b + g)];
        let along = along_mismatch(bars);
        let back = (g - a) - two * g * sin2; // g cos φ − a
        let q = [along.square(), rocker_excess * g * h[0], coupler_excess * a * back];
        let across = across_mismatch(g * h[1], m, q);
        if !h2.is_certainly_nonzero() {
            return None;
        }
        let d = [(along * h[0] - across * h[1]) / h2, (along * h[1] + across * h[0]) / h2];
        Some(Self { bars: *bars, e, d, m, diagonal_squared: h2, ratio_less_one: g * d[1] / m })
    }

    /// Rocker rate per crank rate, dψ/dφ; infinite at a crank limit.
    pub fn velocity_ratio(&self) -> T {
        T::exactly(1.0) + self.ratio_less_one
    }

    /// Coupler rate per crank rate, dθ/dφ.
    pub fn coupler_rate(&self) -> T {
        self.bars.crank * self.crank_cross_mismatch() / self.m
    }

    /// e × d = c sin(ψ − φ).
    pub fn crank_cross_mismatch(&self) -> T {
        self.e[0] * self.d[1] - self.e[1] * self.d[0]
    }

    /// a + e·d = c cos(ψ − φ).
    pub fn crank_dot_rocker(&self) -> T {
        self.bars.crank + sum_of_products(self.e, self.d)
    }

    /// c u, the rocker from B to Q.
    pub fn rocker_vector(&self) -> [T; 2] {
        let a = self.bars.crank;
        [a * self.e[0] + self.d[0], a * self.e[1] + self.d[1]]
    }

    /// w, the coupler from P to Q.
    pub fn coupler_vector(&self) -> [T; 2] {
        [self.bars.ground + self.d[0], self.d[1]]
    }

    /// Cosine of the angle at Q between coupler and rocker (0…180 deg): (b² + c² − h²)/(2bc).
    pub fn cosine_at_q(&self) -> T {
        let FourBar { coupler: b, rocker: c, .. } = self.bars;
        (b.square() + c.square() - self.diagonal_squared) / (T::exactly(2.0) * b * c)
    }

    /// Derivatives of d and M per crank angle.
    fn mismatch_rates(&self) -> ([T; 2], T) {
        let (r, excess, a) = (self.velocity_ratio(), self.ratio_less_one, self.bars.crank);
        let (cu, w) = (self.rocker_vector(), self.coupler_vector());
        let d_rate =
            [a * -self.e[1] * excess - self.d[1] * r, a * self.e[0] * excess + self.d[0] * r];
        let m_rate = cu[0] * d_rate[1] - cu[1] * d_rate[0] - r * sum_of_products(cu, w);
        (d_rate, m_rate)
    }

    /// d²ψ/dφ², the slope of the velocity ratio per rad of crank angle.
    pub fn velocity_ratio_slope(&self) -> T {
        let (d_rate, m_rate) = self.mismatch_rates();
        (self.bars.ground * d_rate[1] - self.ratio_less_one * m_rate) / self.m
    }

    /// d³ψ/dφ³, from the second derivatives of d and M.
    pub fn velocity_ratio_curvature(&self) -> T {
        let (r, excess, slope) =
            (self.velocity_ratio(), self.ratio_less_one, self.velocity_ratio_slope());
        let (a, e, d) = (self.bars.crank, self.e, self.d);
        let (cu, w) = (self.rocker_vector(), self.coupler_vector());
        let (dd, m_rate) = self.mismatch_rates();
        let d2 = [
            -(dd[1] * r) - d[1] * slope - a * e[0] * excess - a * e[1] * slope,
            dd[0] * r + d[0] * slope - a * e[1] * excess + a * e[0] * slope,
        ];
        let cu_turned = cu[0] * w[1] - cu[1] * w[0]; // c u⊥·w with the turn on u, which is M
        let along = slope * sum_of_products(cu, w) + r.square() * cu_turned;
        let m2 =
            cu[0] * d2[1] - cu[1] * d2[0] - T::exactly(2.0) * r * sum_of_products(cu, dd) - along;
        (self.bars.ground * d2[1] - T::exactly(2.0) * slope * m_rate - excess * m2) / self.m
    }

    /// d²θ/dφ², the slope of the coupler's rate.
    pub fn coupler_rate_slope(&self) -> T {
        let (dd, m_rate) = self.mismatch_rates();
        let (e, d, a) = (self.e, self.d, self.bars.crank);
        let cross_rate = e[0] * dd[1] - e[1] * dd[0] - sum_of_products(e, d);
        (a * cross_rate - self.coupler_rate() * m_rate) / self.m
    }
}

fn size<T: Scalar>(x: T) -> f64 {
    x.middle().abs()
}

/// α = ((c² − a²) − (b² − g²))/2, with the squares paired so that less is lost: opposite sides near a parallelogram,
/// neighbours near a kite.
fn along_mismatch<T: Scalar>(bars: &FourBar<T>) -> T {
    let FourBar { ground: g, crank: a, coupler: b, rocker: c } = *bars;
    let excess = |x: T, y: T| (x - y) * (x + y);
    let opposite = [excess(c, a), excess(g, b)];
    let neighbours = [excess(c, b), excess(g, a)];
    let weight = |pair: [T; 2]| size(pair[0]) + size(pair[1]);
    let half = |pair: [T; 2]| (pair[0] + pair[1]) * T::exactly(0.5);
    if weight(opposite) <= weight(neighbours) {
        half(opposite).both_ways(half(neighbours))
    } else {
        half(neighbours).both_ways(half(opposite))
    }
}

/// β = M + a g sin φ, or the quotient form where that loses fewer digits: where the two nearly cancel, and the terms of
/// q, whose rounding is divided by a g sin φ − M, are small, as they are near a parallelogram.
fn across_mismatch<T: Scalar>(lever: T, m: T, q: [T; 3]) -> T {
    let opposite = lever - m;
    let coarse = size(q[0]) + size(q[1]) + size(q[2]);
    let (plain, cancel) = (m + lever, lever.middle() * m.middle() < 0.0);
    if !cancel || !opposite.is_certainly_nonzero() {
        return plain;
    }
    let quotient = (q[0] + q[1] + q[2]) / opposite;
    if coarse < size(lever) * size(opposite) {
        quotient.both_ways(plain)
    } else {
        plain.both_ways(quotient)
    }
}

impl Pose {
    /// Rocker angle ψ less crank angle φ, rad, in (−π, π]: exact to the last digits where the linkage is nearly a
    /// parallelogram.
    #[must_use]
    pub fn rocker_lead(&self) -> f64 {
        libm::atan2(self.crank_cross_mismatch(), self.crank_dot_rocker())
    }

    /// Rocker angle ψ, rad, in (−π, π].
    #[must_use]
    pub fn rocker_angle(&self) -> f64 {
        let [x, y] = self.rocker_vector();
        libm::atan2(y, x)
    }

    /// Coupler angle θ, rad, in (−π, π].
    #[must_use]
    pub fn coupler_angle(&self) -> f64 {
        let [x, y] = self.coupler_vector();
        libm::atan2(y, x)
    }

    /// Crank rate per rocker rate, dφ/dψ; infinite at a dead point (within rounding, so that a rocker that stands still has
    /// no ratio made of it), 0 at a crank limit.
    #[must_use]
    pub fn transmission_ratio(&self) -> f64 {
        let rate = self.velocity_ratio();
        if rate.abs() <= STILL { f64::INFINITY } else { 1.0 / rate }
    }

    /// Angle between coupler and rocker folded into 0…π/2, rad.
    #[must_use]
    pub fn transmission_angle(&self) -> f64 {
        libm::atan2(self.m.abs(), (self.cosine_at_q() * self.bars.coupler * self.bars.rocker).abs())
    }

    /// The crank pin P, with A at the origin and B on +x.
    #[must_use]
    pub fn crank_pin(&self) -> Point2<f64> {
        Point2::new(self.bars.crank * self.e[0], self.bars.crank * self.e[1])
    }

    /// The rocker pin Q.
    #[must_use]
    pub fn rocker_pin(&self) -> Point2<f64> {
        Point2::new(self.bars.ground, 0.0) + Vector2::from(self.rocker_vector())
    }
}

impl PoseOf<Interval> {
    /// ψ − φ (rad) enclosed, on the sheet of `guess`.
    #[must_use]
    pub fn rocker_lead_near(&self, guess: f64) -> Interval {
        elementary::angle_near(self.crank_cross_mismatch(), self.crank_dot_rocker(), guess)
    }
}
