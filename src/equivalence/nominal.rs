//! The drawn linkage's worst figures against the limits.

use serde::Serialize;

use crate::linkage::{Extreme, Sweep};

use super::direct_joint::DirectJoint;

/// What "equivalent" has to mean.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Limits {
    /// Largest angle error, rad.
    #[serde(rename = "angle_rad")]
    pub angle: f64,
    /// Largest |i / ratio − 1|.
    pub ratio: f64,
    /// Smallest transmission angle, rad.
    #[serde(rename = "transmission_angle_rad")]
    pub transmission_angle: f64,
}

/// The worst figures over the stroke, each with the motor turn where it lies.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Figures {
    /// Largest |angle error|, rad.
    #[serde(rename = "angle_error_rad", serialize_with = "Extreme::value_alone")]
    pub angle: Extreme,
    /// Largest |i / ratio − 1|; infinite across a dead point.
    #[serde(rename = "ratio_error", serialize_with = "Extreme::value_alone")]
    pub ratio: Extreme,
    /// Smallest transmission angle, rad.
    #[serde(rename = "transmission_angle_rad", serialize_with = "Extreme::value_alone")]
    pub transmission_angle: Extreme,
}

impl Figures {
    /// Over `sweep` with the constants of `joint`.
    #[must_use]
    pub fn of(sweep: &Sweep<'_>, joint: &DirectJoint) -> Self {
        let [low, high] = sweep.angle_error(1.0 / joint.ratio, joint.offset);
        let worst = if low.value.abs() > high.value.abs() { low } else { high };
        Self {
            angle: Extreme { value: worst.value.abs(), turn: worst.turn },
            ratio: sweep.ratio_error(joint.ratio),
            transmission_angle: sweep.transmission_angle(),
        }
    }

    /// By what factor each figure exceeds its limit (below 1 it holds): angle, ratio, transmission angle.
    #[must_use]
    pub fn loads(&self, limits: &Limits) -> [f64; 3] {
        [
            share(self.angle.value, limits.angle),
            share(self.ratio.value, limits.ratio),
            share(limits.transmission_angle, self.transmission_angle.value),
        ]
    }

    /// The largest of [`Figures::loads`].
    #[must_use]
    pub fn load(&self, limits: &Limits) -> f64 {
        self.loads(limits).into_iter().fold(0.0, f64::max)
    }

    /// Is every figure within its limit?
    #[must_use]
    pub fn hold(&self, limits: &Limits) -> bool {
        self.angle.value <= limits.angle
            && self.ratio.value <= limits.ratio
            && self.transmission_angle.value >= limits.transmission_angle
    }
}

fn share(value: f64, limit: f64) -> f64 {
    if value <= 0.0 { 0.0 } else { value / limit }
}
