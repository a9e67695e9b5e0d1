//! The largest singular value of a 2×2 matrix, in closed form.
//!
//! # Source
//! G. H. Golub and C. F. Van Loan, Matrix Computations, 4th ed., sec. 8.6 (memory); checked in the tests.

use nalgebra::{Matrix2, Vector2};

/// The largest singular value.
pub(super) fn norm(m: &Matrix2<f64>) -> f64 {
    let length = |x: f64, y: f64| (x * x + y * y).sqrt();
    0.5 * (length(m.m11 + m.m22, m.m12 - m.m21) + length(m.m11 - m.m22, m.m12 + m.m21))
}

/// Unit vectors u and v with uᵀ m v the largest singular value.
pub(super) fn directions(m: &Matrix2<f64>) -> (Vector2<f64>, Vector2<f64>) {
    let sum = libm::atan2(m.m21 + m.m12, m.m11 - m.m22);
    let difference = libm::atan2(m.m21 - m.m12, m.m11 + m.m22);
    let unit = |angle: f64| {
        let (sine, cosine) = libm::sincos(angle);
        Vector2::new(cosine, sine)
    };
    (unit(0.5 * (sum + difference)), unit(0.5 * (sum - difference)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn norm_and_directions_are_those_of_the_singular_values() {
        for m in [
            Matrix2::new(1.0, 2.0, 3.0, 4.0),
            Matrix2::new(-0.3, 0.7, 0.7, 0.1),
            Matrix2::new(0.0, -2.0, 1.0, 0.0),
        ] {
            let (u, v) = directions(&m);
            assert!((norm(&m) - m.singular_values().max()).abs() < 1e-14);
            assert!((u.norm() - 1.0).abs() + (v.norm() - 1.0).abs() < 1e-14);
            assert!(((u.transpose() * m * v).x - norm(&m)).abs() < 1e-14, "{m}");
        }
    }
}
