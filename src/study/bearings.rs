//! The pins of a design as bearings.

use crate::design::{self, Design};
use crate::dynamics::{Bearings, Pin};

/// The pins of `design`.
pub(super) fn bearings<G>(design: &Design<G>) -> Bearings {
    let pins = &design.pins;
    Bearings {
        motor: pin(pins.motor.as_ref()),
        crank: pin(pins.crank.as_ref()),
        rocker: pin(pins.rocker.as_ref()),
        joint: pin(pins.joint.as_ref()),
        friction: pins.friction,
    }
}

fn pin(pin: Option<&design::Pin>) -> Pin {
    pin.map_or_else(Pin::default, |p| Pin {
        clearance: Some(p.clearance),
        diameter: p.diameter,
        width: p.width,
    })
}
