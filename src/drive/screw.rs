//! The screw between a motor and what it shifts.

use std::f64::consts::{PI, TAU};

/// A screw by what decides its motion and its losses.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screw {
    /// Travel per turn of the motor, starts × pitch; negative for the other hand or mounting. Unit of length.
    pub lead: f64,
    /// Share of the motor's work that arrives when it drives, 0…1 (not 0).
    pub efficiency: f64,
    /// Mean diameter of the thread, > 0. Unit of length.
    pub mean_diameter: f64,
}

impl Screw {
    /// Motor angle per travel, rad per unit of length, signed.
    #[must_use]
    pub fn gain(&self) -> f64 {
        TAU / self.lead
    }

    /// α, rad: tan α = lead/(π · mean diameter).
    #[must_use]
    pub fn lead_angle(&self) -> f64 {
        libm::atan2(self.lead.abs(), PI * self.mean_diameter)
    }

    /// ρ′, rad: what the efficiency of driving, tan α/tan(α + ρ′), comes from.
    ///
    /// # Source
    /// Power screws in any text on machine design (memory).
    #[must_use]
    pub fn friction_angle(&self) -> f64 {
        let angle = self.lead_angle();
        libm::atan2(libm::tan(angle), self.efficiency) - angle
    }

    /// Share of the load's work that arrives at the motor when the load drives: tan(α − ρ′)/tan α. Not above zero where
    /// the screw locks itself. Near 2 − 1/efficiency for small lead angles.
    #[must_use]
    pub fn back_efficiency(&self) -> f64 {
        let angle = self.lead_angle();
        libm::tan(angle - self.friction_angle()) / libm::tan(angle)
    }

    /// Does the load never turn the motor, α ≤ ρ′? No constant ratio with damping stands in for such a screw.
    #[must_use]
    pub fn locks_itself(&self) -> bool {
        self.lead_angle() <= self.friction_angle()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_of_the_work_lost_is_where_a_screw_begins_to_lock_itself() {
        let screw = |efficiency| Screw { lead: -5.0, efficiency, mean_diameter: 16.0 };
        // α ≤ ρ′ where the efficiency is at most tan α/tan 2α = (1 − tan² α)/2.
        let edge = 0.5 * (1.0 - (5.0 / (16.0 * PI)).powi(2));
        assert!(screw(edge - 1e-6).locks_itself() && !screw(edge + 1e-6).locks_itself());
        assert!(screw(edge).back_efficiency().abs() < 1e-14);
        assert!((screw(0.9).back_efficiency() - (2.0 - 1.0 / 0.9)).abs() < 2e-3);
    }
}
