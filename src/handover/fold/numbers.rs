//! Figures as the fold writes them: twelve digits, so that rounding of its sums leaves no tail.

use crate::robot::markup::number;

/// Smaller is the rounding of a sum: no mass, length, inertia, angle or coefficient of a robot is.
const DUST: f64 = 1e-13;

fn rounded(x: f64) -> f64 {
    if x.abs() < DUST { 0.0 } else { digits(x) }
}

/// The twelve digits of a figure.
pub(super) fn digits(x: f64) -> f64 {
    format!("{x:.11e}").parse::<f64>().unwrap_or(x) + 0.0
}

/// One figure.
pub(super) fn text(x: f64) -> String {
    number(rounded(x))
}

/// Several, separated by blanks.
pub(super) fn list(figures: &[f64]) -> String {
    figures.iter().map(|x| text(*x)).collect::<Vec<_>>().join(" ")
}

/// Whether the file's figure stays: equal to twelve digits.
pub(super) fn is_same(known: Option<f64>, new: f64) -> bool {
    known.is_some_and(|known| (known - new).abs() <= 1e-12 * new.abs().max(known.abs()))
        || (known.is_none() && new.abs() <= 0.0)
}
