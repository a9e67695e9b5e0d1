//! Plain arithmetic on one lane, to be inlined into loops over all lanes: no calls, no branches, nothing that depends on
//! the machine.

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

#[inline(always)]
fn series<const N: usize>(z: f64, coefficients: &[f64; N]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * z + c)
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
    fn what_is_not_a_number_is_passed_over() {
        assert_eq!([greater(1.0, f64::NAN), lesser(1.0, f64::NAN)], [1.0, 1.0]);
        assert_eq!(between([-1.0, 1.0], f64::NAN), -1.0);
    }
}
