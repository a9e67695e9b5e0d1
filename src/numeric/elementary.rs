//! Sine, cosine and the angle of a vector, enclosed with certainty.
//!
//! Sine and cosine of a float: the argument is reduced by multiples of π/2 held in three parts, then both series
//! are summed in interval arithmetic with their remainder. The angle of a vector takes any float as a guess and
//! encloses how far the guess is off, so its certainty rests on sine and cosine alone, not on a library's arctangent.

use super::interval::Interval;
use super::scalar::Scalar as _;

/// π/2 in three parts: the first two are floats with trailing zeros, so that small multiples of them are exact; the
/// last is an enclosure of the rest.
///
/// Digits of π: 3.14159 26535 89793 23846 26433 83279 50288 41971 69399 37510 58209 74944 59230 (any handbook); the split
/// is checked in the tests.
const HALF_PI_HIGH: f64 = 1.570_796_326_734_125_6;
const HALF_PI_MIDDLE: f64 = 6.077_100_506_303_966e-11;
const HALF_PI_REST: [f64; 2] = [2.022_266_248_795_9e-21, 2.022_266_248_796_0e-21];

/// The three parts, for who needs floats alone.
pub(super) const HALF_PI: [f64; 3] = [HALF_PI_HIGH, HALF_PI_MIDDLE, HALF_PI_REST[0]];

/// Beyond this many quarter turns the reduction is not worth its care and [−1, 1] is returned.
const QUARTERS: f64 = 1_048_576.0;

/// An enclosure of π.
#[must_use]
pub fn pi() -> Interval {
    Interval::new(std::f64::consts::PI, std::f64::consts::PI.next_up())
}

fn quarter_turns(n: f64) -> Interval {
    let n = Interval::point(n);
    n * Interval::point(HALF_PI_HIGH)
        + (n * Interval::point(HALF_PI_MIDDLE)
            + n * Interval::new(HALF_PI_REST[0], HALF_PI_REST[1]))
}

/// x − n·π/2; the products with the first two parts are exact for |n| < 2²⁰, since both have 33 bits at most, so they
/// are not widened.
fn reduced(x: f64, n: f64) -> Interval {
    let head = Interval::point(x) - Interval::point(n * HALF_PI_HIGH);
    let body = head - Interval::point(n * HALF_PI_MIDDLE);
    body - Interval::point(n) * Interval::new(HALF_PI_REST[0], HALF_PI_REST[1])
}

/// 1 − y/f₁ + y²/(f₁f₂) − … in plain floats, given 1/f₁, 1/f₂, …
///
/// For 0 ≤ y ≤ 0.63 and f₁ ≥ 2 the result is within 4u of the real sum, u = 2⁻⁵³: each step 1 − (y/f)·s, with
/// y/f ≤ 0.315 and s ≤ 1, adds u and passes on 0.315 of the error of s and of the 4u from y, 1/f and two products, so
/// that e ≤ 0.315 (4u + e) + u, e ≤ 3.3u. What the series leaves out is below 0.63¹⁰/20! < 10⁻²⁰.
fn alternating(y: f64, reciprocals: &[f64]) -> f64 {
    reciprocals.iter().rev().fold(1.0, |sum, reciprocal| 1.0 - y * reciprocal * sum)
}

/// 1/(2·3), 1/(4·5), …
const SINE: [f64; 9] = reciprocals([6.0, 20.0, 42.0, 72.0, 110.0, 156.0, 210.0, 272.0, 342.0]);
/// 1/(1·2), 1/(3·4), …
const COSINE: [f64; 9] = reciprocals([2.0, 12.0, 30.0, 56.0, 90.0, 132.0, 182.0, 240.0, 306.0]);

const fn reciprocals([a, b, c, d, e, f, g, h, i]: [f64; 9]) -> [f64; 9] {
    [1.0 / a, 1.0 / b, 1.0 / c, 1.0 / d, 1.0 / e, 1.0 / f, 1.0 / g, 1.0 / h, 1.0 / i]
}

/// 8u: twice the error of the sums.
const SERIES_ERROR: f64 = 4.0 * f64::EPSILON;

const WHOLE: (f64, f64) = (-1.0, 1.0);

fn clamp_to_unit(x: Interval) -> Interval {
    Interval::new(x.lo().max(WHOLE.0), x.hi().min(WHOLE.1))
}

/// Sine and cosine of the float `x` (rad), enclosed to about two units in the last place.
#[must_use]
pub fn sin_cos_at(x: f64) -> (Interval, Interval) {
    let n = (x * std::f64::consts::FRAC_2_PI).round();
    if !n.is_finite() || n.abs() >= QUARTERS {
        let unit = Interval::new(WHOLE.0, WHOLE.1);
        return (unit, unit);
    }
    let r = reduced(x, n);
    let middle = r.mid();
    let y = middle * middle;
    // Neither sum changes faster than the argument.
    let off = SERIES_ERROR + r.width();
    let around = |value: f64| Interval::point(value) + Interval::new(-off, off);
    let sine = clamp_to_unit(r * around(alternating(y, &SINE)));
    let cosine = clamp_to_unit(around(alternating(y, &COSINE)));
    match n.rem_euclid(4.0) {
        q if q < 0.5 => (sine, cosine),
        q if q < 1.5 => (cosine, -sine),
        q if q < 2.5 => (-sine, -cosine),
        _ => (-cosine, sine),
    }
}

/// Sine and cosine over an interval of angles (rad).
///
/// | the interval | result |
/// |---|---|
/// | wider than 3 quarter turns, or far out | `[−1, 1]` for both |
/// | otherwise | hull of the values at both ends, and of ±1 where a crest or trough may lie inside |
#[must_use]
pub fn sin_cos(x: Interval) -> (Interval, Interval) {
    let unit = Interval::new(WHOLE.0, WHOLE.1);
    if x.width() > 4.7 || x.magnitude() > QUARTERS {
        return (unit, unit);
    }
    if x.lo() >= x.hi() {
        return sin_cos_at(x.lo());
    }
    let ((s0, c0), (s1, c1)) = (sin_cos_at(x.lo()), sin_cos_at(x.hi()));
    let (mut sine, mut cosine) = (s0.hull(s1), c0.hull(c1));
    let first = (x.lo() * std::f64::consts::FRAC_2_PI).floor();
    for step in 0..6_u8 {
        let n = first + f64::from(step);
        if quarter_turns(n).intersection(x).is_none() {
            continue;
        }
        match n.rem_euclid(4.0) {
            q if q < 0.5 => cosine = cosine.hull(Interval::point(1.0)),
            q if q < 1.5 => sine = sine.hull(Interval::point(1.0)),
            q if q < 2.5 => cosine = cosine.hull(Interval::point(-1.0)),
            _ => sine = sine.hull(Interval::point(-1.0)),
        }
    }
    (sine, cosine)
}

/// The angle (rad) of the vector (x, y) near `guess`, enclosed: `guess` may be off by up to half a right angle and
/// may carry any number of whole turns. The whole line where the vector's direction is too uncertain.
///
/// With the vector turned back by the guess, its angle is atan δ, δ = y′/x′, and δ(1 − δ²/3) ≤ atan δ ≤ δ for δ ≥ 0.
#[must_use]
pub fn angle_near(y: Interval, x: Interval, guess: f64) -> Interval {
    let (sine, cosine) = sin_cos_at(guess);
    let ahead = x * cosine + y * sine;
    if !ahead.is_positive() {
        return Interval::ENTIRE;
    }
    let delta = (y * cosine - x * sine) / ahead;
    if delta.magnitude() > 1.0 {
        return Interval::ENTIRE;
    }
    let curved = Interval::new((-delta.square() / Interval::point(3.0)).lo(), 0.0);
    Interval::point(guess) + delta * (Interval::point(1.0) + curved)
}

/// An enclosure of the angle (rad, 0…π/2) whose sine is `s`, clamped to 0…1.
#[must_use]
pub fn arc_sine(s: f64) -> Interval {
    pi() * Interval::point(0.5) - arc_cosine(s.clamp(0.0, 1.0))
}

/// An enclosure of the angle whose cosine is `c` (clamped to −1…1), for c a single float; rad in 0…π.
#[must_use]
pub fn arc_cosine(c: f64) -> Interval {
    let c = Interval::point(c.clamp(-1.0, 1.0));
    let one = Interval::point(1.0);
    let sine = ((one - c) * (one + c)).root().unwrap_or(Interval::ZERO);
    let enclosed = angle_near(sine, c, libm::atan2(sine.mid(), c.mid()));
    Interval::new(enclosed.lo().max(0.0), enclosed.hi())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        clippy::float_cmp,
        reason = "whole numbers below 2^53, compared exactly"
    )]
    fn the_three_parts_of_half_pi_add_up() {
        // π/2 − first − second, from 50 digits of π (any handbook), computed with integers of 10⁻⁴⁰.
        let digits: i128 = 15_707_963_267_948_966_192_313_216_916_397_514_421; // π/2 · 10³⁷
        let as_fixed = |x: f64, exponent: i32| -> i128 {
            // x is a dyadic fraction: x·2^exponent is a whole number.
            let whole = (x * 2.0_f64.powi(exponent)) as i128;
            assert!((whole as f64) * 2.0_f64.powi(-exponent) == x);
            whole
        };
        let high = as_fixed(HALF_PI_HIGH, 40);
        let middle = as_fixed(HALF_PI_MIDDLE, 86);
        assert!(high > 0 && middle > 0);
        // 10³⁷/2⁴⁰ is not whole; compare in units of 10⁻³⁷ with rounding below 10⁻³⁶.
        let high_digits = mul_shift(high, 40);
        let middle_digits = mul_shift(middle, 86);
        let rest = (digits - high_digits - middle_digits) as f64 * 1e-37;
        assert!(HALF_PI_REST[0] + 1e-36 < rest && rest < HALF_PI_REST[1] - 1e-36, "{rest:e}");
    }

    #[test]
    fn both_parts_of_half_pi_leave_room_for_twenty_bits_more() {
        for part in [HALF_PI_HIGH, HALF_PI_MIDDLE] {
            assert_eq!(part.to_bits().trailing_zeros().min(20), 20, "{part:e}");
        }
    }

    /// whole · 10³⁷ / 2^shift, rounded down, by long multiplication in base 10.
    fn mul_shift(whole: i128, shift: u32) -> i128 {
        let mut quotient: i128 = whole >> shift;
        let mut remainder: i128 = whole - (quotient << shift);
        for _ in 0..37 {
            remainder *= 10;
            let digit = remainder >> shift;
            quotient = quotient * 10 + digit;
            remainder -= digit << shift;
        }
        quotient
    }

    #[test]
    fn known_sines_lie_inside() {
        // sin 1 = 0.84147 09848 07896 50665 25023 21630 29899 96225…, cos 1 = 0.54030 23058 68139 71740 09366 07442 97660…
        let (s, c) = sin_cos_at(1.0);
        assert!(s.contains(0.841_470_984_807_896_5) && s.width() < 3e-15);
        assert!(c.contains(0.540_302_305_868_139_7) && c.width() < 3e-15);
    }

    proptest! {
        #[test]
        fn the_library_values_lie_near(x in -50.0..50.0_f64) {
            let (s, c) = sin_cos_at(x);
            prop_assert!(Interval::new(s.lo() - 2e-16, s.hi() + 2e-16).contains(libm::sin(x)));
            prop_assert!(Interval::new(c.lo() - 2e-16, c.hi() + 2e-16).contains(libm::cos(x)));
            prop_assert!(s.width() < 2e-14 && c.width() < 2e-14);
        }

        #[test]
        fn every_sine_of_an_interval_lies_inside(a in -10.0..10.0_f64, w in 0.0..5.0_f64, t in 0.0..1.0_f64) {
            let (s, c) = sin_cos(Interval::new(a, a + w));
            let x = (a + t * w).clamp(a, a + w);
            let (sx, cx) = sin_cos_at(x);
            prop_assert!(s.lo() <= sx.lo() + 1e-15 && sx.hi() <= s.hi() + 1e-15);
            prop_assert!(c.lo() <= cx.lo() + 1e-15 && cx.hi() <= c.hi() + 1e-15);
        }

        #[test]
        fn an_angle_is_found_again(t in -3.1..3.1_f64, r in 1e-3..1e3_f64, off in -0.5..0.5_f64) {
            let (s, c) = sin_cos_at(t);
            let angle = angle_near(s * Interval::point(r), c * Interval::point(r), t + off);
            prop_assert!(angle.contains(t));
        }
    }
}
