//! The push-rod as a column and a spring.

use serde::Serialize;

use std::f64::consts::PI;

/// A round rod or tube, pinned at both ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rod {
    /// Outer diameter, m.
    pub outer: f64,
    /// Inner diameter, m; 0 for a solid rod.
    pub inner: f64,
    /// Young's modulus, Pa.
    pub modulus: Option<f64>,
    /// Yield stress, Pa.
    pub yield_stress: Option<f64>,
}

words! {
    /// Which law a column's critical load follows.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum BucklingLaw {
        /// Elastic: slenderness at or above the change-over, or the yield stress not known.
        Euler = "Euler",
        /// Johnson's parabola, below the change-over.
        Johnson = "Johnson",
    }
}

/// A column's critical load.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Buckling {
    /// By which law.
    pub law: BucklingLaw,
    /// N.
    #[serde(rename = "load_n")]
    pub load: f64,
    /// Length / radius of gyration.
    pub slenderness: f64,
    /// Where the laws meet, π √(2E/σ_y); `None` where the yield stress is not known.
    #[serde(rename = "change_over_slenderness")]
    pub change_over: Option<f64>,
}

/// Slenderness at which Euler's stress is `stress` (Pa): π √(E/σ).
#[must_use]
pub fn euler_slenderness(modulus: f64, stress: f64) -> f64 {
    PI * (modulus / stress).sqrt()
}

impl Rod {
    /// Cross-section, m².
    #[must_use]
    pub fn area(&self) -> f64 {
        0.25 * PI * (self.outer - self.inner) * (self.outer + self.inner)
    }

    /// Second moment of area about a diameter, m⁴.
    #[must_use]
    pub fn second_moment_of_area(&self) -> f64 {
        self.area() * (self.outer * self.outer + self.inner * self.inner) / 16.0
    }

    /// Radius of gyration √(I/A), m.
    #[must_use]
    pub fn radius_of_gyration(&self) -> f64 {
        0.25 * libm::hypot(self.outer, self.inner)
    }

    /// The critical load over `length` (m) between the pins; `None` where the modulus is not known. Local buckling of
    /// the wall, bending and eccentricity are left out.
    ///
    /// # Source
    /// S. P. Timoshenko and J. M. Gere, Theory of Elastic Stability (1961), ch. 2 (Euler); Johnson's parabola is the one
    /// through σ_y at no length that touches Euler's curve: σ = σ_y (1 − σ_y s²/(4 π² E)). From memory.
    #[must_use]
    pub fn buckling(&self, length: f64) -> Option<Buckling> {
        let modulus = self.modulus?;
        let slenderness = length / self.radius_of_gyration();
        let change_over = self.yield_stress.map(|limit| euler_slenderness(modulus, 0.5 * limit));
        let euler = PI * PI * modulus * self.area() / (slenderness * slenderness);
        let johnson = |limit: f64| {
            let share = limit * slenderness * slenderness / (4.0 * PI * PI * modulus);
            self.area() * limit * (1.0 - share)
        };
        let (law, load) = match (self.yield_stress, change_over) {
            (Some(limit), Some(meet)) if slenderness < meet => {
                (BucklingLaw::Johnson, johnson(limit))
            }
            _ => (BucklingLaw::Euler, euler),
        };
        Some(Buckling { law, load, slenderness, change_over })
    }

    /// EA/b, N/m; `None` where the modulus is not known.
    #[must_use]
    pub fn stiffness(&self, length: f64) -> Option<f64> {
        Some(self.modulus? * self.area() / length)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TUBE: Rod =
        Rod { outer: 8e-3, inner: 6e-3, modulus: Some(69e9), yield_stress: Some(240e6) };

    #[test]
    fn johnson_meets_euler_with_the_same_slope_at_the_change_over() {
        let meet = TUBE.buckling(0.3).unwrap().change_over.unwrap() * TUBE.radius_of_gyration();
        let load = |share: f64| TUBE.buckling(meet * share).unwrap();
        assert_eq!(load(0.999).law, BucklingLaw::Johnson);
        assert_eq!(load(1.001).law, BucklingLaw::Euler);
        let half = 0.5 * 240e6 * TUBE.area();
        assert!((load(1.0).load - half).abs() < 1e-9 * half);
        let slope = (load(1.0 + 1e-5).load - load(1.0 - 1e-5).load) / 2e-5;
        assert!((slope + 2.0 * half).abs() < 1e-3 * half);
    }

    #[test]
    fn a_stub_is_crushed_at_the_yield_stress() {
        let stub = TUBE.buckling(1e-6).unwrap();
        assert!((stub.load / TUBE.area() - 240e6).abs() < 1.0);
    }

    #[test]
    fn a_thin_tube_has_the_textbook_second_moment() {
        let by_definition = PI / 64.0 * (8e-3_f64.powi(4) - 6e-3_f64.powi(4));
        assert!((TUBE.second_moment_of_area() - by_definition).abs() < 1e-24);
    }
}
