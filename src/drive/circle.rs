//! A pin's circle about an axis, and where on it a rod from a given point ends.
//!
//! With d = X − centre, x = d·u, y = d·v, z = d·n for a point X and a rod of length b from it:
//!
//! ```text
//! h² = x² + y²     K = (|d|² + r² − b²)/2r     S = ±√(h² − K²)     e = (K (x, y) + S (−y, x))/h²
//! ```
//!
//! That is the planar meeting of two circles with the effective rod √(b² − z²), which varies with the pose where the
//! axes are not parallel. No real S: the rod does not reach. Derived here.

use super::angular::Angular;
use super::space::{Axis, Vector};
use crate::numeric::{Interval, Scalar};

/// The circle that a pin runs on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle<T = f64> {
    /// Its centre: the foot of the pin on the axis.
    pub centre: Vector<T>,
    /// The unit axis n; angles are right-handed about it.
    pub axis: Vector<T>,
    /// The unit direction u from which angles count, square to the axis.
    pub datum: Vector<T>,
    /// n × u, where the angle is 90 deg.
    pub quarter: Vector<T>,
    /// Its radius, > 0.
    pub radius: T,
}

/// Where a rod from a given point ends on a circle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Meeting<T> {
    /// (sin, cos) of the pin's angle from the circle's datum.
    pub(super) direction: (T, T),
    /// S, signed: how far the rod is from being in line with the arm, zero where the circle's end is at its limit.
    pub(super) s: T,
}

impl<T: Scalar> Circle<T> {
    /// The circle of `radius` about `centre`, its angles counted from `from` made square to `axis`.
    ///
    /// `None` where axis or datum may have no direction.
    pub fn about(centre: Vector<T>, axis: Vector<T>, from: Vector<T>, radius: T) -> Option<Self> {
        let axis = axis.unit()?;
        let datum = from.square_to(axis).unit()?;
        Some(Self { centre, axis, datum, quarter: axis.cross(datum), radius })
    }

    /// The circle of `pin` about `axis`; its angle there is 0. `None` where the pin may lie on the axis.
    pub fn through(pin: Vector<T>, axis: &Axis<T>) -> Option<Self> {
        let centre = axis.foot(pin)?;
        let arm = pin - centre;
        Self::about(centre, axis.direction, arm, arm.length())
    }

    /// The arm from the centre to the pin at an angle of this sine and cosine.
    pub fn arm(&self, (sine, cosine): (T, T)) -> Vector<T> {
        (self.datum * cosine + self.quarter * sine) * self.radius
    }

    /// d in the circle's frame.
    pub(super) fn seen(&self, point: Vector<T>) -> [T; 3] {
        let d = point - self.centre;
        [d.dot(self.datum), d.dot(self.quarter), d.dot(self.axis)]
    }

    /// K.
    pub(super) fn along(&self, d_squared: T, rod: T) -> T {
        let [r, two] = [self.radius, T::exactly(2.0)];
        (d_squared + (r - rod) * (r + rod)) / (two * r)
    }

    /// Where a `rod` from `point` ends, with S of the sign of `side`; `None` where it does not reach, or every place
    /// may do.
    #[inline(always)]
    pub(super) fn meet(&self, point: Vector<T>, rod: T, side: f64) -> Option<Meeting<T>> {
        let [x, y, z] = self.seen(point);
        let h2 = x.square() + y.square();
        let k = self.along(h2 + z.square(), rod);
        let s = (h2 - k.square()).root()? * T::exactly(side);
        let direction = ((k * y + s * x) / h2, (k * x - s * y) / h2);
        h2.is_certainly_nonzero().then_some(Meeting { direction, s })
    }
}

impl<T> Circle<T> {
    /// The same circle in another kind of number.
    pub fn map<U>(self, f: impl Fn(T) -> U + Copy) -> Circle<U> {
        Circle {
            centre: self.centre.map(f),
            axis: self.axis.map(f),
            datum: self.datum.map(f),
            quarter: self.quarter.map(f),
            radius: f(self.radius),
        }
    }
}

impl Circle<Interval> {
    /// The constant circle that this one encloses.
    pub(super) fn constant<T: Angular>(self) -> Circle<T> {
        self.map(T::constant)
    }
}

impl Circle {
    /// (sin, cos) of the angle at which a rod from `point` would lie in line with the arm: the pose at a limit.
    pub(super) fn in_line(&self, point: Vector, rod: f64) -> (f64, f64) {
        let [x, y, z] = self.seen(point);
        let (h, k) = (libm::hypot(x, y), self.along(x * x + y * y + z * z, rod));
        (y / h.copysign(k), x / h.copysign(k))
    }

    /// By how much a `rod` from `point` is too short (positive) or too long (negative) to end on the circle.
    pub(super) fn missing(&self, point: Vector, rod: f64) -> f64 {
        let [x, y, z] = self.seen(point);
        let h = libm::hypot(x, y);
        let near = libm::hypot(h - self.radius, z);
        let far = libm::hypot(h + self.radius, z);
        if rod < near { near - rod } else { (far - rod).min(0.0) }
    }

    /// The pin at `angle`, rad.
    #[must_use]
    pub fn pin(&self, angle: f64) -> Vector {
        self.centre + self.arm(libm::sincos(angle))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit_circle() -> Circle {
        let [x, z] = [Vector::new(1.0, 0.0, 0.0), Vector::new(0.0, 0.0, 1.0)];
        Circle::about(Vector::zero(), z, x, 1.0).unwrap()
    }

    #[test]
    fn a_rod_that_does_not_reach_tells_what_is_missing() {
        let far = Vector::new(5.0, 0.0, 0.0);
        assert!(unit_circle().meet(far, 3.5, 1.0).is_none());
        assert!((unit_circle().missing(far, 3.5) - 0.5).abs() < 1e-15);
        assert!((unit_circle().missing(far, 6.25) + 0.25).abs() < 1e-15);
        assert_eq!(unit_circle().missing(far, 4.5), 0.0);
    }

    #[test]
    fn a_rod_from_the_axis_fits_everywhere_or_nowhere_and_is_no_meeting() {
        assert!(unit_circle().meet(Vector::new(0.0, 0.0, 1.0), 2_f64.sqrt(), 1.0).is_none());
    }

    #[test]
    fn both_ends_of_a_rod_are_its_length_apart_on_either_side() {
        let point = Vector::new(0.3, 1.7, -0.4);
        for side in [-1.0, 1.0] {
            let circle = unit_circle();
            let pin = circle.arm(circle.meet(point, 1.3, side).unwrap().direction);
            assert!(((point - pin).length() - 1.3).abs() < 1e-15);
        }
    }
}
