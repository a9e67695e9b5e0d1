//! Plain arithmetic on one lane, to be inlined into loops over all lanes: no calls, no branches, nothing that depends on
//! the machine.

use super::elementary;

/// Linkages in a block.
pub(crate) const LANES: usize = 32;

/// One figure of every linkage of a block.
pub(crate) type Lane = [f64; LANES];

/// Cosine and sine of an angle.
pub(crate) type Direction = [f64; 2];

/// `v` turned by the angle of `by`.
#[inline(always)]
pub(crate) fn turned(v: Direction, by: Direction) -> Direction {
    [v[0] * by[0] - v[1] * by[1], v[1] * by[0] + v[0] * by[1]]
}

/// `v` turned back by the angle of `by`.
#[inline(always)]
pub(crate) fn turned_back(v: Direction, by: Direction) -> Direction {
    turned(v, [by[0], -by[1]])
}

/// The greater; `a` where `b` is not a number. One instruction, which `f64::max` is not.
#[inline(always)]
pub(crate) fn greater(a: f64, b: f64) -> f64 {
    if b > a { b } else { a }
}

/// The lesser; `a` where `b` is not a number.
#[inline(always)]
pub(crate) fn lesser(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

/// `x` kept within its range; the lower end where it is not a number.
#[inline(always)]
pub(crate) fn between([low, high]: [f64; 2], x: f64) -> f64 {
    lesser(high, greater(low, x))
}

/// Reach of [`small_direction`], rad.
pub(crate) const SMALL_TURN: f64 = 0.8;

/// Direction of a small angle, rad, to 1e-15 up to [`SMALL_TURN`] either way: Taylor's series.
#[inline(always)]
pub(crate) fn small_direction(x: f64) -> Direction {
    let z = x * x;
    [series(z, &COSINE), x * series(z, &SINE)]
}

/// arcsin `s` to 1e-15 for |s| ≤ [`SMALL_SINE`], far too small beyond: Taylor's series.
#[inline(always)]
pub(crate) fn small_arcsine(s: f64) -> f64 {
    s * series(s * s, &ARCSINE)
}

/// Sine of 10 deg, about.
pub(crate) const SMALL_SINE: f64 = 0.174;

/// Reach of [`half_direction`], rad: what lies beyond loses digits.
pub(crate) const LARGEST_TURN: f64 = 1e6;

/// Cosine and sine of **half** the angle `x`, rad, each to 5e-16 for |x| ≤ [`LARGEST_TURN`].
///
/// Quarter turns are taken off in three parts of π/2, the first two of 33 bits, so that small multiples of them are exact.
#[inline(always)]
pub(crate) fn half_direction(x: f64) -> Direction {
    let [high, middle, rest] = elementary::HALF_PI;
    // The sum has no room for halves: it is rounded, and its last bits count the quarters.
    const ROUNDER: f64 = 6_755_399_441_055_744.0;
    let half = 0.5 * x;
    let rounded = half * std::f64::consts::FRAC_2_PI + ROUNDER;
    let (quarters, n) = (rounded.to_bits(), rounded - ROUNDER);
    let [cos, sin] = small_direction(((half - n * high) - n * middle) - n * rest);
    let (near, off) = if quarters & 1 == 1 { (sin, cos) } else { (cos, sin) };
    // cos, −sin, −cos, sin and sin, cos, −sin, −cos in turn.
    [signed(near, quarters + 1), signed(off, quarters)]
}

/// `x` with its sign turned where the second last bit is set.
#[inline(always)]
fn signed(x: f64, bits: u64) -> f64 {
    f64::from_bits(x.to_bits() ^ (bits & 2) << 62)
}

/// The angle of the vector (x, y), rad, in −π…π, to 3e-15; not a number for no vector, or where `y` is none.
#[inline(always)]
pub(crate) fn angle(y: f64, x: f64) -> f64 {
    use std::f64::consts::{FRAC_PI_2, PI};
    let (along, across) = (x.abs(), y.abs());
    let eighth = small_angle(lesser(across, along), greater(across, along));
    let quarter = if across > along { FRAC_PI_2 - eighth } else { eighth };
    (if x < 0.0 { PI - quarter } else { quarter }).copysign(y)
}

/// arctan(`less`/`more`) to 2e-15 for 0 ≤ less ≤ more. Beyond 22.5 deg the rest to 45 deg is taken instead, in the one
/// division that there is.
#[inline(always)]
pub(crate) fn small_angle(less: f64, more: f64) -> f64 {
    const TANGENT: f64 = std::f64::consts::SQRT_2 - 1.0;
    // A factor, not a choice: of a choice a compiler makes two divisions.
    let beyond = if less > TANGENT * more { 1.0 } else { 0.0 };
    let t = (less - beyond * more) / (more + beyond * less);
    let z = t * t;
    beyond * std::f64::consts::FRAC_PI_4 + (t + t * (z * series(z, &ARCTANGENT)))
}

/// Even and odd powers apart: two short chains of work instead of one.
#[inline(always)]
fn series<const N: usize>(z: f64, coefficients: &[f64; N]) -> f64 {
    let every_second = |from: usize| {
        let coefficients = coefficients.iter().skip(from).step_by(2);
        coefficients.rev().fold(0.0, |sum, c| sum * (z * z) + c)
    };
    every_second(0) + z * every_second(1)
}

/// (−1)ⁿ/(2n)!
const COSINE: [f64; 9] = [
    1.0,
    -1.0 / 2.0,
    1.0 / 24.0,
    -1.0 / 720.0,
    1.0 / 40_320.0,
    -1.0 / 3_628_800.0,
    1.0 / 479_001_600.0,
    -1.0 / 87_178_291_200.0,
    1.0 / 20_922_789_888_000.0,
];

/// (−1)ⁿ/(2n + 1)!
const SINE: [f64; 8] = [
    1.0,
    -1.0 / 6.0,
    1.0 / 120.0,
    -1.0 / 5_040.0,
    1.0 / 362_880.0,
    -1.0 / 39_916_800.0,
    1.0 / 6_227_020_800.0,
    -1.0 / 1_307_674_368_000.0,
];

/// (2n)!/(4ⁿ n!² (2n + 1))
const ARCSINE: [f64; 9] = [
    1.0,
    1.0 / 6.0,
    3.0 / 40.0,
    15.0 / 336.0,
    105.0 / 3_456.0,
    945.0 / 42_240.0,
    10_395.0 / 599_040.0,
    135_135.0 / 9_676_800.0,
    2_027_025.0 / 175_472_640.0,
];

/// (arctan t/t − 1)/t² in powers of t², through its values at the 9 Chebyshev points of 0 ≤ t² ≤ tan² 22.5 deg: arctan t/t is
/// off by 3.6e-15 at most. Made by `tests/scripts/arctangent.py`.
const ARCTANGENT: [f64; 9] = [
    -0.333_333_333_333_309_3,
    0.199_999_999_977_248_88,
    -0.142_857_139_303_785_66,
    0.111_110_896_492_110_55,
    -0.090_902_559_526_906_57,
    0.076_810_452_027_429_48,
    -0.065_509_073_075_630_9,
    0.051_688_349_359_193_62,
    -0.027_232_884_060_574_88,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_series_agree_with_the_library() {
        for k in -80..=80 {
            let x = f64::from(k) / 100.0;
            let [cos, sin] = small_direction(x);
            assert!((cos - libm::cos(x)).abs() < 1e-15 && (sin - libm::sin(x)).abs() < 1e-15);
            let s = x * SMALL_SINE / 0.8;
            assert!((small_arcsine(s) - libm::asin(s)).abs() < 1e-15 * (1.0 + s.abs()), "{s}");
        }
    }

    #[test]
    fn half_an_angle_has_the_librarys_direction_over_thousands_of_turns() {
        for k in -200_000..=200_000 {
            for x in [f64::from(k) * 1.3e-4, f64::from(k) * 4.999_7] {
                let (sin, cos) = libm::sincos(0.5 * x);
                let [c, s] = half_direction(x);
                assert!((c - cos).abs() < 5e-16 && (s - sin).abs() < 5e-16, "{x}: {c} {s}");
            }
        }
    }

    #[test]
    fn the_angle_of_a_vector_is_the_librarys() {
        for k in -200_000..=200_000 {
            let (y, x) = libm::sincos(f64::from(k) * 1.570_8e-5);
            for size in [1e-30, 0.7, 1e30] {
                let found = angle(size * y, size * x);
                let (off, size) = (found - libm::atan2(size * y, size * x), found.abs());
                assert!(off.abs() <= 3e-15 && off.abs() <= 5e-15 * size, "{k}: {found} {off:e}");
            }
        }
        assert_eq!([angle(0.0, 1.0), angle(0.0, -1.0)], [0.0, std::f64::consts::PI]);
        assert!(angle(0.0, 0.0).is_nan() && angle(f64::NAN, 1.0).is_nan());
    }

    #[test]
    fn what_is_not_a_number_is_passed_over() {
        assert_eq!([greater(1.0, f64::NAN), lesser(1.0, f64::NAN)], [1.0, 1.0]);
        assert_eq!(between([-1.0, 1.0], f64::NAN), -1.0);
    }
}
