//! From the drawing's sense to the joint axis's.

use super::dimension::Tolerance;
use super::model::AxisPoints;
use super::section::Section;
use std::f64::consts::{PI, TAU};

/// Turns angles as drawn into angles about the joint axis.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sense(f64);

/// `axis_points`, toward where it is left out.
pub(super) fn axis_points(root: &Section<'_>) -> AxisPoints {
    let words = [("toward", AxisPoints::Toward), ("away", AxisPoints::Away)];
    root.get("axis_points").and_then(|entry| entry.choice(&words)).unwrap_or(AxisPoints::Toward)
}

impl Sense {
    /// Of angles that no view turns round.
    pub(super) fn as_drawn() -> Self {
        Self(1.0)
    }

    pub(super) fn new(axis_points: AxisPoints) -> Self {
        Self(match axis_points {
            AxisPoints::Toward => 1.0,
            AxisPoints::Away => -1.0,
        })
    }

    /// An angle, or the second coordinate of a plane point. Zero stays a positive zero.
    pub(super) fn angle(self, drawn: f64) -> f64 {
        drawn * self.0 + 0.0
    }

    /// A range of angles, lower end first.
    pub(super) fn range(self, [low, high]: [f64; 2]) -> [f64; 2] {
        let (a, b) = (self.angle(low), self.angle(high));
        [a.min(b), a.max(b)]
    }

    /// The deviations of an angle.
    pub(super) fn tolerance(self, drawn: Tolerance) -> Tolerance {
        let [lower, upper] = self.range([drawn.lower, drawn.upper]);
        Tolerance { lower, upper, ..drawn }
    }
}

/// The angle in (−π, π]; one that is there already is not touched.
pub(super) fn wrapped(angle: f64) -> f64 {
    let near = if angle.abs() <= PI { angle } else { libm::remainder(angle, TAU) };
    if near <= -PI { PI } else { near }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_angle_is_wrapped_into_minus_pi_exclusive_to_pi_inclusive() {
        for (angle, wanted) in
            [(PI, PI), (-PI, PI), (0.5, 0.5), (1.5 * PI, -0.5 * PI), (3.0 * PI, PI)]
        {
            assert!((wrapped(angle) - wanted).abs() < 1e-15, "{angle}");
        }
    }

    #[test]
    fn an_axis_that_points_away_turns_ranges_round_and_keeps_them_rising() {
        let away = Sense::new(AxisPoints::Away);
        let [low, high] = away.range([-0.5, 0.75]);
        assert!((low + 0.75).abs() < 1e-15 && (high - 0.5).abs() < 1e-15);
        assert!(away.angle(0.0).is_sign_positive());
    }
}
