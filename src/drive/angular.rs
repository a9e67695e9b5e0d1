//! Numbers that are angles too: plain floats, intervals, and values with gradients and curvatures.

use std::f64::consts::TAU;

use crate::numeric::elementary;
use crate::numeric::{Bent, Interval, Jet, Scalar};

/// A number that sines can be taken of and angles made of, so that one text of a closed form serves plain floats,
/// enclosures over boxes, and gradients.
pub trait Angular: Scalar {
    /// A constant of which `enclosed` is known: its middle as a plain float, all of it otherwise.
    fn constant(enclosed: Interval) -> Self;

    /// Sine and cosine of the angle, rad.
    fn sin_cos(self) -> (Self, Self);

    /// The angle (rad) of the vector (x, y), of all its values a whole turn apart the one next to `guess`. Enclosures
    /// are the whole line where the direction is less certain than 45 deg to either side of the guess.
    #[must_use]
    fn angle_near(y: Self, x: Self, guess: f64) -> Self;

    /// 2π.
    #[must_use]
    fn whole_turn() -> Self {
        Self::constant(elementary::pi() * Interval::point(2.0))
    }
}

impl Angular for f64 {
    fn constant(enclosed: Interval) -> Self {
        enclosed.mid()
    }

    fn sin_cos(self) -> (Self, Self) {
        libm::sincos(self)
    }

    fn angle_near(y: Self, x: Self, guess: f64) -> Self {
        let sharp = libm::atan2(y, x);
        sharp + TAU * ((guess - sharp) / TAU).round()
    }
}

impl Angular for Interval {
    fn constant(enclosed: Interval) -> Self {
        enclosed
    }

    fn sin_cos(self) -> (Self, Self) {
        elementary::sin_cos(self)
    }

    fn angle_near(y: Self, x: Self, guess: f64) -> Self {
        let sharp = f64::angle_near(y.mid(), x.mid(), guess);
        let is_near = (sharp - guess).abs() < std::f64::consts::FRAC_PI_4;
        elementary::angle_near(y, x, if is_near { sharp } else { guess })
    }
}

impl<const N: usize> Angular for Jet<N> {
    fn constant(enclosed: Interval) -> Self {
        Self::constant(enclosed)
    }

    fn sin_cos(self) -> (Self, Self) {
        let (sine, cosine) = elementary::sin_cos(self.value);
        let sloped = |value, factor| Self { value, slopes: self.slopes.map(|s| s * factor) };
        (sloped(sine, cosine), sloped(cosine, -sine))
    }

    /// Slopes by (x dy − y dx)/(x² + y²).
    fn angle_near(y: Self, x: Self, guess: f64) -> Self {
        let value = Interval::angle_near(y.value, x.value, guess);
        let length = x.value.square() + y.value.square();
        let mut slopes = y.slopes;
        for (by_y, by_x) in slopes.iter_mut().zip(x.slopes) {
            *by_y = (x.value * *by_y - y.value * by_x) / length;
        }
        Self { value, slopes }
    }
}

impl<const N: usize> Angular for Bent<N> {
    fn constant(enclosed: Interval) -> Self {
        Self::constant(enclosed)
    }

    fn sin_cos(self) -> (Self, Self) {
        let (sine, cosine) = elementary::sin_cos(self.value);
        (self.through([sine, cosine, -sine]), self.through([cosine, -sine, -cosine]))
    }

    fn angle_near(y: Self, x: Self, guess: f64) -> Self {
        Self::angle(&y, &x, Interval::angle_near(y.value, x.value, guess))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_angle_is_told_on_the_sheet_of_the_guess() {
        for turns in [-3.0, 0.0, 2.0] {
            let guess = 3.1 + TAU * turns;
            let plain = f64::angle_near(-0.1, -1.0, guess);
            assert!((plain - guess).abs() < 0.2);
            let point = Interval::point;
            let enclosed = Interval::angle_near(point(-0.1), point(-1.0), guess);
            assert!(enclosed.contains(plain) && enclosed.width() < 1e-14, "{enclosed:?} {plain}");
        }
    }

    #[test]
    fn the_slope_of_an_angle_undoes_that_of_sine_and_cosine() {
        let angle = Jet::<1>::variable(0, Interval::point(2.4));
        let (sine, cosine) = Angular::sin_cos(angle);
        let back = Angular::angle_near(sine, cosine, 2.0);
        assert!(back.value.contains(2.4) && back.slopes[0].contains(1.0));
        assert!(back.value.width() < 1e-13 && back.slopes[0].width() < 1e-13);
    }
}
