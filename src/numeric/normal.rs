//! The normal distribution and its inverse.

use super::wide::widely;

/// Φ(z), the share below `z` standard deviations.
#[must_use]
pub fn share_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Φ⁻¹(p): how many standard deviations lie `p` of all below, 0 < p < 1; relative accuracy about 1e-15.
///
/// # Source
/// M. J. Wichura, Algorithm AS 241: The percentage points of the normal distribution, Applied Statistics 37 (1988)
/// 477–484, routine PPND16 (coefficients from memory, checked against 30-digit values in the tests).
#[must_use]
pub fn quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= CENTRAL {
        return central(q);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = (-tail.ln()).sqrt();
    let z = if r <= 5.0 {
        horner(&MIDDLE, r - 1.6) / horner(&MIDDLE_BELOW, r - 1.6)
    } else {
        horner(&TAIL, r - 5.0) / horner(&TAIL_BELOW, r - 5.0)
    };
    if q < 0.0 { -z } else { z }
}

/// [`quantile`] of every number of `row`, the same to the last bit and faster.
pub fn quantiles<const N: usize>(row: &mut [f64; N]) {
    let shares = *row;
    widely(|| row.iter_mut().for_each(|p| *p = central(*p - 0.5)));
    for (z, p) in row.iter_mut().zip(shares) {
        if (p - 0.5).abs() > CENTRAL {
            *z = quantile(p);
        }
    }
}

/// How far from ½ the middle's formula reaches.
const CENTRAL: f64 = 0.425;

#[inline(always)]
fn central(q: f64) -> f64 {
    let r = 0.180_625 - q * q;
    q * horner(&CENTRE, r) / horner(&CENTRE_BELOW, r)
}

#[inline(always)]
fn horner(coefficients: &[f64; 8], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

const CENTRE: [f64; 8] = [
    3.387_132_872_796_366_5,
    133.141_667_891_784_38,
    1_971.590_950_306_551_3,
    13_731.693_765_509_46,
    45_921.953_931_549_87,
    67_265.770_927_008_7,
    33_430.575_583_588_13,
    2_509.080_928_730_122_7,
];
const CENTRE_BELOW: [f64; 8] = [
    1.0,
    42.313_330_701_600_91,
    687.187_007_492_057_9,
    5_394.196_021_424_751,
    21_213.794_301_586_597,
    39_307.895_800_092_71,
    28_729.085_735_721_943,
    5_226.495_278_852_854,
];
const MIDDLE: [f64; 8] = [
    1.423_437_110_749_683_5,
    4.630_337_846_156_546,
    5.769_497_221_460_691,
    3.647_848_324_763_204_5,
    1.270_458_252_452_368_4,
    0.241_780_725_177_450_6,
    0.022_723_844_989_269_184,
    7.745_450_142_783_414e-4,
];
const MIDDLE_BELOW: [f64; 8] = [
    1.0,
    2.053_191_626_637_759,
    1.676_384_830_183_803_8,
    0.689_767_334_985_1,
    0.148_103_976_427_480_08,
    0.015_198_666_563_616_457,
    5.475_938_084_995_345e-4,
    1.050_750_071_644_416_9e-9,
];
const TAIL: [f64; 8] = [
    6.657_904_643_501_103,
    5.463_784_911_164_114,
    1.784_826_539_917_291_3,
    0.296_560_571_828_504_87,
    0.026_532_189_526_576_124,
    0.001_242_660_947_388_078_4,
    2.711_555_568_743_487_6e-5,
    2.010_334_399_292_288_1e-7,
];
const TAIL_BELOW: [f64; 8] = [
    1.0,
    0.599_832_206_555_888,
    0.136_929_880_922_735_8,
    0.014_875_361_290_850_615,
    7.868_691_311_456_133e-4,
    1.846_318_317_510_054_8e-5,
    1.421_511_758_316_446e-7,
    2.044_263_103_389_939_8e-15,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_match_thirty_digit_values() {
        // sqrt(2)·erfinv(2p − 1) by mpmath 1.3 at 30 digits.
        let known = [
            (0.5, 0.0),
            (0.975, 1.959_963_984_540_054_2),
            (0.95, 1.644_853_626_951_472_7),
            (0.001, -3.090_232_306_167_813_5),
            (1e-10, -6.361_340_902_404_056),
            (1e-100, -21.273_453_560_965_324),
            (0.6, 0.253_347_103_135_799_8),
        ];
        for (p, z) in known {
            let ours = quantile(p);
            assert!((ours - z).abs() <= 4e-15 * z.abs().max(0.1), "{p}: {ours} {z}");
        }
    }

    #[test]
    fn quantiles_of_a_row_are_those_of_its_numbers() {
        let shares: [f64; 99] = std::array::from_fn(|k| (k as f64 + 1.0) / 100.0);
        let mut row = shares;
        quantiles(&mut row);
        assert_eq!(row, shares.map(quantile));
    }

    #[test]
    fn quantile_and_share_are_inverse() {
        for k in 1..200 {
            let p = f64::from(k) / 200.0;
            assert!((share_below(quantile(p)) - p).abs() < 1e-14);
        }
    }
}
