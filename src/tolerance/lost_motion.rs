//! What play in the pins lets the joint do while the crank is held.

use serde::Serialize;

/// Joint angle lost when the load reverses, crank held, rod without weight; rad.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LostMotion {
    /// Smallest clearances in the pose where it is least.
    #[serde(rename = "least_rad")]
    pub least: f64,
    /// Largest clearances in the pose where it is most: a bound over the stroke.
    #[serde(rename = "most_rad")]
    pub most: f64,
    /// Standard deviation in the worst pose, each clearance equally likely between its limits.
    #[serde(rename = "standard_deviation_rad")]
    pub deviation: f64,
}

/// From the diametral clearances `pins` (each smallest and largest, m) and the smallest and largest arm c sin μ of the
/// rod about the joint (m).
///
/// Lost motion is Σ clearance / (c sin μ): half a clearance to either side of each pin, along the rod.
///
/// # Source
/// Derived here; the equal part of equal clearances agrees with K.-L. Ting, J. Zhu and D. Watkins, Mech. Mach. Theory 35
/// (2000) 391–401.
#[must_use]
pub fn lost_motion(pins: &[[f64; 2]], [shortest_arm, longest_arm]: [f64; 2]) -> LostMotion {
    let sum = |k: usize| pins.iter().filter_map(|p| p.get(k)).sum::<f64>();
    let variance: f64 = pins.iter().map(|[low, high]| (high - low).powi(2) / 12.0).sum();
    LostMotion {
        least: sum(0) / longest_arm,
        most: sum(1) / shortest_arm,
        deviation: variance.sqrt() / shortest_arm,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::linkage::{Closure, FourBar};

    #[test]
    fn twenty_micrometres_in_all_four_pins_lose_what_the_check_value_says() {
        // check-values.toml, lost-norton-4-1: 0.02 mm in each pin, 0.09514548399208 deg.
        let bars = FourBar { ground: 100.0, crank: 40.0, coupler: 120.0, rocker: 80.0 };
        let mu = bars.at(40.0_f64.to_radians(), Closure::Open).unwrap().transmission_angle();
        let lost = lost_motion(&[[0.02, 0.02]; 4], [80.0 * mu.sin(); 2]);
        assert!((lost.most.to_degrees() - 0.095_145_483_992_08).abs() < 1e-12);
        assert!((lost.least - lost.most).abs() < 1e-18 && lost.deviation == 0.0);
    }
}
