//! Vectors and axes in space over any kind of number.

use std::ops::{Add, Mul, Neg, Sub};

use super::angular::Angular;
use crate::numeric::Scalar;

/// A point or a direction; a point in the unit of length, from the origin of the carrier's frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vector<T = f64> {
    /// Along x.
    pub x: T,
    /// Along y.
    pub y: T,
    /// Along z.
    pub z: T,
}

/// A straight line with a direction: an axis of turning. The direction may have any length but zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis<T = f64> {
    /// Any point on it.
    pub point: Vector<T>,
    /// Which way it points; turns are right-handed about it.
    pub direction: Vector<T>,
}

impl<T> Vector<T> {
    /// From the three coordinates.
    pub const fn new(x: T, y: T, z: T) -> Self {
        Self { x, y, z }
    }

    /// Each coordinate as another kind of number.
    #[inline]
    pub fn map<U>(self, f: impl Fn(T) -> U) -> Vector<U> {
        Vector { x: f(self.x), y: f(self.y), z: f(self.z) }
    }
}

impl<T> Axis<T> {
    /// Each coordinate as another kind of number.
    pub fn map<U>(self, f: impl Fn(T) -> U + Copy) -> Axis<U> {
        Axis { point: self.point.map(f), direction: self.direction.map(f) }
    }
}

impl<T: Scalar> Add for Vector<T> {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        Self { x: self.x + other.x, y: self.y + other.y, z: self.z + other.z }
    }
}

impl<T: Scalar> Sub for Vector<T> {
    type Output = Self;
    #[inline]
    fn sub(self, other: Self) -> Self {
        Self { x: self.x - other.x, y: self.y - other.y, z: self.z - other.z }
    }
}

impl<T: Scalar> Neg for Vector<T> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self.map(|x| -x)
    }
}

impl<T: Scalar> Mul<T> for Vector<T> {
    type Output = Self;
    #[inline]
    fn mul(self, factor: T) -> Self {
        self.map(|x| x * factor)
    }
}

impl<T: Scalar> Vector<T> {
    /// The null vector.
    #[must_use]
    pub fn zero() -> Self {
        Self::new(T::exactly(0.0), T::exactly(0.0), T::exactly(0.0))
    }

    /// The scalar product.
    #[inline]
    pub fn dot(self, other: Self) -> T {
        self.x * other.x + self.y * other.y + self.z * other.z
    }

    /// The vector product.
    #[must_use]
    #[inline]
    pub fn cross(self, other: Self) -> Self {
        Self {
            x: self.y * other.z - self.z * other.y,
            y: self.z * other.x - self.x * other.z,
            z: self.x * other.y - self.y * other.x,
        }
    }

    /// The same vector, worked out in two ways: what both tell of it.
    #[must_use]
    pub fn both_ways(self, other: Self) -> Self {
        Self {
            x: self.x.both_ways(other.x),
            y: self.y.both_ways(other.y),
            z: self.z.both_ways(other.z),
        }
    }

    /// The squared length.
    pub fn length_squared(self) -> T {
        self.x.square() + self.y.square() + self.z.square()
    }

    /// The length.
    pub fn length(self) -> T {
        self.length_squared().root().unwrap_or_else(|| T::exactly(0.0))
    }

    /// The direction; `None` where the length may be zero.
    pub fn unit(self) -> Option<Self> {
        let length = self.length();
        length.is_certainly_nonzero().then(|| self.map(|x| x / length))
    }

    /// What of it lies square to the unit vector `direction`.
    #[must_use]
    pub fn square_to(self, direction: Self) -> Self {
        self - direction * self.dot(direction)
    }

    /// Turned right-handed about the unit vector `axis` by the angle of which `sine` and `cosine` are given.
    #[must_use]
    pub fn turned(self, axis: Self, turn: (T, T)) -> Self {
        self.about(axis).turned(turn)
    }

    /// Taken apart for turning about the unit vector `axis`.
    #[must_use]
    pub fn about(self, axis: Self) -> Swung<T> {
        let along = axis * self.dot(axis);
        Swung { along, across: self - along, ahead: axis.cross(self) }
    }
}

/// A vector taken apart for turning about an axis: along it, across it, and a quarter turn ahead of that.
#[derive(Clone, Copy, Debug)]
pub struct Swung<T> {
    along: Vector<T>,
    across: Vector<T>,
    ahead: Vector<T>,
}

impl<T: Scalar> Swung<T> {
    /// The vector turned right-handed by the angle of this sine and cosine.
    pub fn turned(&self, (sine, cosine): (T, T)) -> Vector<T> {
        self.along + self.across * cosine + self.ahead * sine
    }
}

impl<T: Scalar> Vector<T> {
    /// Two unit vectors square to this one and to each other; `None` where its length may be zero.
    pub fn across(self) -> Option<[Self; 2]> {
        let [zero, one] = [0.0, 1.0].map(T::exactly);
        let size = [self.x, self.y, self.z].map(|x| x.middle().abs());
        let aside = if size[0] <= size[1] && size[0] <= size[2] {
            Self::new(one, zero, zero)
        } else if size[1] <= size[2] {
            Self::new(zero, one, zero)
        } else {
            Self::new(zero, zero, one)
        };
        let along = self.unit()?;
        let first = aside.square_to(along).unit()?;
        Some([first, along.cross(first)])
    }
}

impl Vector {
    /// The angle between this and the plane square to `normal`, 0…π/2 rad, with all its digits at both ends; 0 where
    /// either has no length.
    #[must_use]
    pub fn angle_to_plane(self, normal: Self) -> f64 {
        libm::atan2(self.dot(normal).abs(), self.cross(normal).length())
    }
}

impl<T: Angular> Vector<T> {
    /// The constant whose coordinates lie in `enclosed`.
    #[must_use]
    pub fn constant(enclosed: Vector<crate::numeric::Interval>) -> Self {
        enclosed.map(T::constant)
    }
}

impl<T: Scalar> Axis<T> {
    /// The unit direction; `None` where the direction may have no length.
    pub fn unit(&self) -> Option<Vector<T>> {
        self.direction.unit()
    }

    /// The axis tilted by small angles (rad) about its own point, its direction made a unit vector.
    pub fn tilted(&self, [first, second]: [T; 2]) -> Option<Self> {
        let along = self.unit()?;
        let [u, v] = along.across()?;
        let direction = (along + u * first + v * second).unit()?;
        Some(Self { direction, ..*self })
    }

    /// The point of the axis nearest to `point`.
    pub fn foot(&self, point: Vector<T>) -> Option<Vector<T>> {
        let along = self.unit()?;
        Some(self.point + along * (point - self.point).dot(along))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turn_is_right_handed_and_keeps_what_lies_along_the_axis() {
        let z = Vector::new(0.0, 0.0, 1.0);
        let turned = Vector::new(2.0, 0.0, 5.0).turned(z, (1.0, 0.0));
        assert_eq!(turned, Vector::new(0.0, 2.0, 5.0));
    }

    #[test]
    fn an_axis_without_direction_has_no_foot() {
        let axis = Axis { point: Vector::zero(), direction: Vector::zero() };
        assert_eq!(axis.foot(Vector::new(1.0, 0.0, 0.0)), None);
    }
}
