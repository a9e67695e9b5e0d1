//! What rounding does to the code's arithmetic: a running error bound.
//!
//! Every operation is right to half a unit in the last place, square root included; sine, cosine and angle of the
//! mathematical library to one. Products and sums are not fused and not taken apart.
//!
//! # Source
//! N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed., ch. 3 and 5 (memory).

use super::expression::{Function, Numbers, Operation};
use super::number::Number;
use crate::numeric::{Interval, Scalar as _, elementary};

/// A value of the code: where its exact value lies, and how far what is computed may be off it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bounded {
    /// What exact arithmetic on exact figures gives, over a box of inputs.
    pub(super) exact: Interval,
    /// Largest size of what is computed less that.
    pub(super) error: f64,
}

impl Bounded {
    /// An input as it is.
    pub(super) fn input(over: Interval) -> Self {
        Self { exact: over, error: 0.0 }
    }

    fn largest(self) -> f64 {
        self.exact.magnitude()
    }

    fn smallest(self) -> f64 {
        self.exact.mignitude()
    }
}

/// The bound is itself worked out in doubles: this much is added for that.
const OWN_ROUNDING: f64 = 1.0 + 1e-12;

/// Running error bounds for one kind of number.
pub(super) struct Rounding(pub(super) Number);

impl Rounding {
    /// With `units` half units in the last place of what is computed on top of `error`.
    fn rounded(&self, exact: Interval, error: f64, units: f64) -> Bounded {
        let result = exact.magnitude() + error;
        let error = (error + units * self.0.unit() * result + self.0.smallest()) * OWN_ROUNDING;
        Bounded { exact, error }
    }

    fn quotient(&self, x: Bounded, y: Bounded) -> Bounded {
        let exact = x.exact / y.exact;
        let divisor = y.smallest() - y.error;
        let error = if divisor > 0.0 {
            (x.error + exact.magnitude() * y.error) / divisor
        } else {
            f64::INFINITY
        };
        self.rounded(exact, error, 1.0)
    }

    fn square_root(&self, x: Bounded) -> Bounded {
        let exact = x.exact.root().unwrap_or(Interval::ENTIRE);
        let least = x.smallest();
        let error = if x.error == 0.0 {
            0.0
        } else if x.exact.is_positive() && least > x.error {
            x.error / (least.sqrt() + (least - x.error).sqrt())
        } else {
            x.error.sqrt()
        };
        self.rounded(exact, error, 1.0)
    }

    fn angle_of(&self, y: Bounded, x: Bounded) -> Bounded {
        let guess = libm::atan2(y.exact.mid(), x.exact.mid());
        let exact = elementary::angle_near(y.exact, x.exact, guess);
        let moved = libm::hypot(y.error, x.error);
        let radius = libm::hypot(y.smallest(), x.smallest()) - moved;
        // A vector that moves by less than its length turns by no more than a quarter turn per length.
        let error = if radius > 0.0 { moved / radius } else { f64::INFINITY };
        self.rounded(exact, error, 2.0)
    }
}

impl Numbers for Rounding {
    type Number = Bounded;

    fn constant(&self, value: f64) -> Bounded {
        Bounded { exact: Interval::point(value), error: (self.0.nearest(value) - value).abs() }
    }

    fn negative(&self, x: Bounded) -> Bounded {
        Bounded { exact: -x.exact, ..x }
    }

    fn binary(&self, operation: Operation, x: Bounded, y: Bounded) -> Bounded {
        match operation {
            Operation::Plus => self.rounded(x.exact + y.exact, x.error + y.error, 1.0),
            Operation::Minus => self.rounded(x.exact - y.exact, x.error + y.error, 1.0),
            Operation::Times => {
                let error = x.largest() * y.error + y.largest() * x.error + x.error * y.error;
                self.rounded(x.exact * y.exact, error, 1.0)
            }
            Operation::Over => self.quotient(x, y),
        }
    }

    fn call(&self, function: Function, x: Bounded, y: Option<Bounded>) -> Bounded {
        match (function, y) {
            (Function::SquareRoot, _) => self.square_root(x),
            (Function::Sine, _) => self.rounded(elementary::sin_cos(x.exact).0, x.error, 2.0),
            (Function::Cosine, _) => self.rounded(elementary::sin_cos(x.exact).1, x.error, 2.0),
            (Function::AngleOf, Some(second)) => self.angle_of(x, second),
            (Function::AngleOf, None) => Bounded { exact: Interval::ENTIRE, error: f64::INFINITY },
        }
    }

    fn held(&self, x: Bounded, [low, high]: [f64; 2]) -> Bounded {
        let exact = x.exact.intersection(Interval::new(low, high)).unwrap_or(x.exact);
        Bounded { exact, ..x }
    }
}

#[cfg(test)]
mod tests {
    use super::super::expression::{Doubles, Expression, Floats, angle_of, call, constant, name};
    use super::*;
    use proptest::prelude::*;

    fn formula() -> Expression {
        let x = || name("x");
        let root = call(Function::SquareRoot, constant(1.7) - x() * x());
        let wave = call(Function::Sine, x()) / (constant(2.1) + call(Function::Cosine, x()));
        angle_of(root - wave, constant(0.3) + x() * constant(0.1))
    }

    proptest! {
        #[test]
        fn what_floats_compute_is_no_further_off_than_the_bound(x in -1.0_f32..1.0) {
            let seen = f64::from(Floats.value(&formula(), &[("x", x)]).unwrap());
            let at = Interval::point(f64::from(x));
            let bound = Rounding(Number::Float).value(&formula(), &[("x", Bounded::input(at))]).unwrap();
            let exact = Doubles.value(&formula(), &[("x", f64::from(x))]).unwrap();
            prop_assert!((seen - exact).abs() <= bound.error + 1e-14, "{seen} {exact} {bound:?}");
            prop_assert!(bound.error < 3e-6);
        }
    }
}
