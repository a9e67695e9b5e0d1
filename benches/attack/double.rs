//! Numbers of about 32 digits: an unevaluated sum of two floats.
//!
//! Sums and products without error after Knuth (The Art of Computer Programming, volume 2, section 4.2.2, theorem B)
//! and Dekker (Numerische Mathematik 18, 1971); the product's rounding is read off by a fused multiply-add. Sine and
//! cosine by their power series, angles by one Newton step from the float's own.

use std::ops::{Add, Div, Mul, Neg, Sub};
use std::sync::OnceLock;

/// What the closed form needs of a number, so that it can be followed with floats and settled with 32 digits.
pub trait Real:
    Copy
    + PartialOrd
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
{
    /// The float itself.
    fn of(x: f64) -> Self;
    /// The nearest float.
    fn value(self) -> f64;
    /// π.
    fn pi() -> Self;
    /// More than what rounding does to a cosine.
    fn hair() -> Self;
    /// Of a number that is not negative.
    fn sqrt(self) -> Self;
    /// Sine and cosine.
    fn sin_cos(self) -> (Self, Self);
    /// The angle of (x, self) in (−π, π].
    fn atan2(self, x: Self) -> Self;
    /// Its size.
    fn abs(self) -> Self {
        if self < Self::of(0.0) { -self } else { self }
    }
}

impl Real for f64 {
    fn of(x: f64) -> Self {
        x
    }
    fn value(self) -> f64 {
        self
    }
    fn pi() -> Self {
        std::f64::consts::PI
    }
    fn hair() -> Self {
        1e-14
    }
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
    fn sin_cos(self) -> (Self, Self) {
        f64::sin_cos(self)
    }
    fn atan2(self, x: Self) -> Self {
        f64::atan2(self, x)
    }
}

/// hi + lo, with |lo| at most half a unit in the last place of hi.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Double {
    hi: f64,
    lo: f64,
}

/// π = 3.14159265358979323846264338327950288…
const PI: Double = Double { hi: std::f64::consts::PI, lo: 1.224_646_799_147_353_2e-16 };

fn sum(a: f64, b: f64) -> (f64, f64) {
    let s = a + b;
    let t = s - a;
    (s, (a - (s - t)) + (b - t))
}

fn product(a: f64, b: f64) -> (f64, f64) {
    let p = a * b;
    (p, a.mul_add(b, -p))
}

impl Double {
    fn normal(hi: f64, lo: f64) -> Self {
        let s = hi + lo;
        Self { hi: s, lo: lo - (s - hi) }
    }

    /// A decimal such as `-12.345`, `3e-4`.
    pub fn decimal(text: &str) -> Option<Self> {
        let (mantissa, exponent) = match text.split_once(['e', 'E']) {
            Some((mantissa, exponent)) => (mantissa, exponent.parse::<i32>().ok()?),
            None => (text, 0),
        };
        let negative = mantissa.starts_with('-');
        let digits = mantissa.trim_start_matches(['-', '+']);
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
        let mut value = Self::of(0.0);
        for c in whole.chars().chain(fraction.chars()) {
            value = value * Self::of(10.0) + Self::of(f64::from(c.to_digit(10)?));
        }
        let power = exponent - i32::try_from(fraction.len()).ok()?;
        let scale = (0..power.unsigned_abs()).fold(Self::of(1.0), |p, _| p * Self::of(10.0));
        let scaled = if power < 0 { value / scale } else { value * scale };
        Some(if negative { -scaled } else { scaled })
    }

    /// Sine and cosine of an angle of at most 45 deg.
    fn sin_cos_small(self) -> (Self, Self) {
        let square = self * self;
        let (mut sin, mut cos) = (Self::of(0.0), Self::of(0.0));
        for k in (0..15_usize).rev() {
            sin = inverse_factorial(2 * k + 1) - sin * square;
            cos = inverse_factorial(2 * k) - cos * square;
        }
        (sin * self, cos)
    }
}

fn inverse_factorial(n: usize) -> Double {
    static TABLE: OnceLock<Vec<Double>> = OnceLock::new();
    let table = TABLE.get_or_init(|| {
        let mut term = Double::of(1.0);
        let mut all = vec![term];
        for k in 1..32_u32 {
            term = term / Double::of(f64::from(k));
            all.push(term);
        }
        all
    });
    table[n]
}

impl Add for Double {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        let (s, e) = sum(self.hi, other.hi);
        let (t, f) = sum(self.lo, other.lo);
        let first = Self::normal(s, e + t);
        Self::normal(first.hi, first.lo + f)
    }
}

impl Neg for Double {
    type Output = Self;
    fn neg(self) -> Self {
        Self { hi: -self.hi, lo: -self.lo }
    }
}

impl Sub for Double {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Double {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        let (p, e) = product(self.hi, other.hi);
        Self::normal(p, e + (self.hi * other.lo + self.lo * other.hi))
    }
}

impl Div for Double {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        let first = self.hi / other.hi;
        let rest = self - other * Self::of(first);
        let second = rest.hi / other.hi;
        let rest = rest - other * Self::of(second);
        let quotient = Self::normal(first, second);
        quotient + Self::of(rest.hi / other.hi)
    }
}

impl Real for Double {
    fn of(x: f64) -> Self {
        Self { hi: x, lo: 0.0 }
    }

    fn value(self) -> f64 {
        self.hi
    }

    fn pi() -> Self {
        PI
    }

    fn hair() -> Self {
        Self::of(1e-26)
    }

    fn sqrt(self) -> Self {
        if self.hi <= 0.0 {
            return Self::of(0.0);
        }
        let near = Self::of(self.hi.sqrt());
        near + (self - near * near) / (near + near)
    }

    fn sin_cos(self) -> (Self, Self) {
        let right = PI * Self::of(0.5);
        let quarters = (self.hi / right.hi).round();
        let (sin, cos) = (self - right * Self::of(quarters)).sin_cos_small();
        match quarters.rem_euclid(4.0) {
            q if q < 0.5 => (sin, cos),
            q if q < 1.5 => (cos, -sin),
            q if q < 2.5 => (-sin, -cos),
            _ => (-cos, sin),
        }
    }

    fn atan2(self, x: Self) -> Self {
        let near = Self::of(self.hi.atan2(x.hi));
        let (sin, cos) = near.sin_cos();
        near + (self * cos - x * sin) / (self * sin + x * cos)
    }
}
