//! The plane in which four pins lie.

use super::model::SpatialPivots;
use nalgebra::{Matrix3, Vector3};

/// Pins further out of their plane than this share of their extent make none.
const FLAT: f64 = 0.01;

/// Pins nearer to one line than this share of their extent have no plane of their own.
const IN_LINE: f64 = 0.01;

/// The unit normal of the plane in which the points lie, its largest part positive; none where they lie in no plane or in
/// one line.
pub(super) fn normal(points: &[Vector3<f64>; 4]) -> Option<Vector3<f64>> {
    let middle = points.iter().sum::<Vector3<f64>>() / 4.0;
    let scatter: Matrix3<f64> =
        points.iter().map(|point| (point - middle) * (point - middle).transpose()).sum();
    let most = scatter.amax();
    if !(most > 0.0 && most.is_finite()) {
        return None;
    }
    let eigen = (scatter / most).symmetric_eigen();
    let mut order = [0, 1, 2].map(|k| (eigen.eigenvalues.get(k).copied().unwrap_or(0.0), k));
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let [(least, which), (middle, _), (largest, _)] = order;
    if least > FLAT * FLAT * largest || middle < IN_LINE * IN_LINE * largest {
        return None;
    }
    let normal: Vector3<f64> = eigen.eigenvectors.column(which).into_owned();
    let leading = normal.iter().copied().max_by(|a, b| a.abs().total_cmp(&b.abs()))?;
    Some(if leading < 0.0 { -normal } else { normal })
}

impl SpatialPivots {
    /// The unit normal of the plane in which the four pins lie, its largest part positive; none where they lie in no plane
    /// or in one line.
    #[must_use]
    pub fn normal(&self) -> Option<[f64; 3]> {
        let points = [self.motor, self.joint, self.crank, self.rocker].map(Vector3::from);
        normal(&points).map(Into::into)
    }

    /// A direction as the design file has it: `[0, 1, 0]`, to six digits.
    #[must_use]
    pub fn written(direction: &[f64; 3]) -> String {
        let [x, y, z] = direction.map(|part| (part * 1e6).round() / 1e6 + 0.0);
        format!("[{x}, {y}, {z}]")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pins_across_y_have_y_as_their_normal_and_pins_in_line_none() {
        let pins = [[0.0, 0.0, 0.0], [0.0, 0.0, -0.3], [-0.045, 0.0, 0.0], [-0.045, 0.0, -0.3]];
        let found: [f64; 3] = normal(&pins.map(Vector3::from)).unwrap().into();
        assert_eq!(SpatialPivots::written(&found), "[0, 1, 0]");
        let line = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0], [3.0, 0.0, 0.0]];
        assert!(normal(&line.map(Vector3::from)).is_none());
    }
}
