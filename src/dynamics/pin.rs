//! A pin: play, pressure, shear, friction.

use std::f64::consts::PI;

/// One pin or bearing of the linkage.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pin {
    /// Diametral clearance, smallest and largest, m.
    pub clearance: Option<[f64; 2]>,
    /// m.
    pub diameter: Option<f64>,
    /// Bearing length, m.
    pub width: Option<f64>,
}

words! {
    /// Where a pin sits.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum PinPlace {
        /// At A, crank against carrier.
        Motor = "motor pin A",
        /// At P, crank against coupler.
        Crank = "crank pin P",
        /// At Q, coupler against rocker.
        Rocker = "rocker pin Q",
        /// At B, rocker against carrier.
        Joint = "joint pin B",
    }
}

impl Pin {
    /// Force / (diameter × bearing length), Pa; `None` where either is not known.
    #[must_use]
    pub fn bearing_pressure(&self, force: f64) -> Option<f64> {
        Some(force / (self.diameter? * self.width?))
    }

    /// Mean shear stress over `planes` cross-sections, Pa: 1 for a pin held at one end, 2 for one held in a fork.
    #[must_use]
    pub fn shear_stress(&self, force: f64, planes: f64) -> Option<f64> {
        let diameter = self.diameter?;
        Some(force / (planes * 0.25 * PI * diameter * diameter))
    }

    /// Bending stress of a pin in a fork, Pa, taken as a beam of `span` (m) with the force in the middle:
    /// 32 M/(π d³) with M = F span/4.
    #[must_use]
    pub fn bending_stress(&self, force: f64, span: f64) -> Option<f64> {
        Some(32.0 * Self::bending_moment(force, span) / (PI * self.diameter?.powi(3)))
    }

    /// F span/4, N m.
    #[must_use]
    pub fn bending_moment(force: f64, span: f64) -> f64 {
        0.25 * force * span
    }
}
