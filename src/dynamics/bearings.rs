//! The four pins, how far each turns with the joint, and what rubs and damps in them.

use serde::Serialize;

use super::pin::{Pin, PinPlace};
use crate::linkage::{Extreme, Pose};

/// The four pins and what rubs in them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Bearings {
    /// At A.
    pub motor: Pin,
    /// At P.
    pub crank: Pin,
    /// At Q.
    pub rocker: Pin,
    /// At B.
    pub joint: Pin,
    /// Coefficient of dry friction, the same in all.
    pub friction: Option<f64>,
}

impl Bearings {
    /// The pins with their places, from A along the drive to B.
    #[must_use]
    pub fn pins(&self) -> [(PinPlace, Pin); 4] {
        [
            (PinPlace::Motor, self.motor),
            (PinPlace::Crank, self.crank),
            (PinPlace::Rocker, self.rocker),
            (PinPlace::Joint, self.joint),
        ]
    }

    /// The pins for which `figure` is not known.
    pub(super) fn lacking(&self, figure: impl Fn(&Pin) -> bool) -> Vec<PinPlace> {
        self.pins().into_iter().filter(|(_, pin)| !figure(pin)).map(|(place, _)| place).collect()
    }

    /// Sum of the smallest and of the largest clearances that are known, m; `None` where none is.
    pub(super) fn clearance(&self) -> Option<[f64; 2]> {
        let known = self.pins().into_iter().filter_map(|(_, pin)| pin.clearance);
        known.reduce(|[low, high], [l, h]| [low + l, high + h])
    }
}

/// How far each pin turns per joint turn, signed: A, P, Q, B.
#[must_use]
pub fn pin_turns(pose: &Pose) -> [f64; 4] {
    let crank = pose.transmission_ratio();
    let coupler = pose.coupler_rate() * crank;
    [crank, crank - coupler, 1.0 - coupler, 1.0]
}

/// Dry friction at the joint, N m, of a friction torque in each pin (A, P, Q, B): Σ f |turn|.
#[must_use]
pub fn joint_friction(pose: &Pose, at_pins: [f64; 4]) -> f64 {
    pin_turns(pose).iter().zip(at_pins).map(|(turn, f)| f * turn.abs()).sum()
}

/// Arm of the rod's force about the joint axis, c sin μ, m.
#[must_use]
pub fn rod_arm(pose: &Pose) -> f64 {
    pose.m.abs() / pose.bars.coupler
}

/// A figure that holds all over the stroke, and one that is never exceeded on it, as sizes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Bounds {
    /// Reached at every pose; the pose is where it is no more than that.
    pub guaranteed: Extreme,
    /// Exceeded at no pose; the pose is where it is reached.
    pub never_exceed: Extreme,
}
