//! The crank's turn as a polynomial of the joint's, for engines that couple two joints.
//!
//! The polynomial is fitted to value and slope together, with equal weight for errors of both over u, the joint's turn
//! scaled to −1…1 over the stroke: the slope is the ratio, and with it the torque. Least squares at Chebyshev points of
//! the motor's turn; the lowest degree that is exact to rounding is taken, else the fourth.

use std::f64::consts::PI;

use nalgebra::{SMatrix, SVector};

use super::fault::EmitFault;
use crate::linkage::LinkageFault;
use crate::study::Mechanism;

/// Coefficients of powers 0…4.
pub type Quartic = [f64; 5];

/// A polynomial from joint turns to motor turns, both from the zero pose about the design's axis, rad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coupling {
    /// Coefficients of powers 0…4 of the joint's turn.
    pub coefficients: Quartic,
    /// The highest power that is used.
    pub degree: usize,
    /// Largest error of the joint's angle for a given crank angle over the stroke, rad; computed, not proved.
    pub angle_error: f64,
    /// Largest error of the slope, thus of ratio and torque, as a share; computed, not proved.
    pub torque_error: f64,
}

/// Points of the fit.
const POINTS: u32 = 48;

/// Points that the errors are looked for at.
const CHECKED: u32 = 600;

/// A fit this close is exact but for rounding: rad, and as a share.
const EXACT: f64 = 1e-9;

/// One pose: turns of joint and motor, and the slope of the latter, dφ/dψ.
#[derive(Clone, Copy, Debug)]
struct Sample {
    joint: f64,
    motor: f64,
    slope: f64,
}

impl Coupling {
    /// The polynomial for the mechanism over its stroke.
    ///
    /// # Errors
    /// [`EmitFault::CrankNotOfJoint`] where the rocker stands still inside the stroke: then two crank angles belong to
    /// one joint angle. [`EmitFault::StopNotReached`] for a pose lost to rounding at the very end of the branch.
    pub fn of(mechanism: &Mechanism) -> Result<Self, EmitFault> {
        let [from, to] = mechanism.stroke.motor;
        if let Some(&motor) = mechanism.branch.dead_turns(from, to).first() {
            return Err(EmitFault::CrankNotOfJoint { motor });
        }
        let middle = 0.5 * (from + to);
        let node = |k: u32| {
            middle - 0.5 * (to - from) * libm::cos(PI * (f64::from(k) + 0.5) / f64::from(POINTS))
        };
        let points = samples(mechanism, (0..POINTS).map(node))?;
        let step = (to - from) / f64::from(CHECKED);
        let even =
            (0..=CHECKED).map(|k| if k == CHECKED { to } else { from + step * f64::from(k) });
        let checked = samples(mechanism, even)?;
        let fits = (1..=4).filter_map(|degree| fitted(&points, &checked, degree, mechanism));
        let mut last = None;
        for fit in fits {
            let exact = fit.angle_error < EXACT && fit.torque_error < EXACT;
            last = Some(fit);
            if exact {
                break;
            }
        }
        last.ok_or(EmitFault::NoRatio)
    }

    /// The motor's turn where the joint has turned by `joint`, rad.
    #[must_use]
    pub fn motor(&self, joint: f64) -> f64 {
        value(&self.coefficients, joint)
    }
}

fn samples(
    mechanism: &Mechanism,
    turns: impl Iterator<Item = f64>,
) -> Result<Vec<Sample>, EmitFault> {
    let sample = |motor: f64| -> Result<Sample, LinkageFault> {
        let slope = mechanism.branch.pose(motor)?.transmission_ratio();
        Ok(Sample { joint: mechanism.branch.joint_turn(motor)?, motor, slope })
    };
    turns.map(|motor| sample(motor).map_err(|_| EmitFault::StopNotReached { motor })).collect()
}

fn fitted(
    points: &[Sample],
    checked: &[Sample],
    degree: usize,
    mechanism: &Mechanism,
) -> Option<Coupling> {
    let [a, b] = mechanism.stroke.joint;
    let (middle, half) = (0.5 * (a + b), 0.5 * (b - a).abs());
    let mut scaled = least_squares(points, degree, middle, half)?;
    let mut power = 1.0;
    for coefficient in &mut scaled {
        *coefficient /= power;
        power *= half;
    }
    let mut coefficients = moved(scaled, -middle);
    coefficients.iter_mut().filter(|c| c.abs() < 1e-14).for_each(|c| *c = 0.0);
    let worst = |error: &dyn Fn(&Sample) -> f64| checked.iter().map(error).fold(0.0, f64::max);
    let angle_error = worst(&|s| ((value(&coefficients, s.joint) - s.motor) / s.slope).abs());
    let torque_error = worst(&|s| (slope(&coefficients, s.joint) / s.slope - 1.0).abs());
    Some(Coupling { coefficients, degree, angle_error, torque_error })
}

/// Coefficients of powers of u; those above `degree` are 0.
fn least_squares(points: &[Sample], degree: usize, middle: f64, half: f64) -> Option<Quartic> {
    let mut normal = SMatrix::<f64, 5, 5>::zeros();
    let mut right = SVector::<f64, 5>::zeros();
    for point in points {
        let u = (point.joint - middle) / half;
        let (values, slopes) = rows(u, degree);
        normal += values * values.transpose() + slopes * slopes.transpose();
        right += values * point.motor + slopes * (point.slope * half);
    }
    for unused in degree + 1..5 {
        *normal.get_mut((unused, unused))? = 1.0;
    }
    Some(normal.cholesky()?.solve(&right).into())
}

/// Powers of u up to `degree`, and their slopes.
fn rows(u: f64, degree: usize) -> (SVector<f64, 5>, SVector<f64, 5>) {
    let used = |k: usize| if k <= degree { 1.0 } else { 0.0 };
    let powers = [1.0, u, u * u, u * u * u, u * u * u * u];
    let slopes = [0.0, 1.0, 2.0 * u, 3.0 * u * u, 4.0 * u * u * u];
    let masked = |row: [f64; 5]| {
        SVector::from_iterator(row.into_iter().enumerate().map(|(k, x)| x * used(k)))
    };
    (masked(powers), masked(slopes))
}

fn value(coefficients: &Quartic, x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

fn slope([_, b, c, d, e]: &Quartic, x: f64) -> f64 {
    b + x * (2.0 * c + x * (3.0 * d + x * 4.0 * e))
}

/// The polynomial p(y + `by`) in powers of y, by Horner's scheme.
#[must_use]
pub(super) fn moved(coefficients: Quartic, by: f64) -> Quartic {
    let mut c = coefficients;
    for first in 0..4 {
        let mut above = 0.0;
        for (k, coefficient) in c.iter_mut().enumerate().rev() {
            if k >= first {
                *coefficient += by * above;
                above = *coefficient;
            }
        }
    }
    c
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mechanism(file: &str) -> Mechanism {
        let path = format!("{}/models/{file}", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(&path).unwrap();
        let (design, _) = crate::design::parse(&path, &text).unwrap();
        Mechanism::of(&design).unwrap()
    }

    #[test]
    fn a_parallelogram_is_a_straight_line() {
        let line = Coupling::of(&mechanism("ankle.toml")).unwrap();
        assert_eq!(line.degree, 1);
        assert!(line.angle_error < 1e-12 && (line.coefficients[1] - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_general_linkage_takes_the_fourth_power_and_says_how_far_off_it_is() {
        let fit = Coupling::of(&mechanism("knee_offset.toml")).unwrap();
        assert_eq!(fit.degree, 4);
        assert!(fit.angle_error > 1e-9 && fit.angle_error < 0.02, "{fit:?}");
        assert!(fit.torque_error > fit.angle_error && fit.torque_error < 0.1, "{fit:?}");
    }

    #[test]
    fn a_moved_polynomial_has_the_same_values() {
        let p = [0.3, -1.2, 0.5, 0.25, -0.125];
        let q = moved(p, 0.75);
        for y in [-1.0, 0.0, 0.4] {
            assert!((value(&q, y) - value(&p, y + 0.75)).abs() < 1e-15);
        }
    }
}
