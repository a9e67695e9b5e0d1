//! What the design says of the parts that bear: motor, rod, pins, screw.

use crate::design::{self, Design, Drawn, ScrewFigures};
use crate::dynamics::{Allowed, Bearings, DriveLoadParts, Motor, Parts, Pin, Rod};

/// What is known of the parts that bear.
pub(super) fn drive_parts(design: &Design<Drawn>) -> DriveLoadParts {
    let figures = design.geometry.screw.as_ref();
    let screw = figures.and_then(ScrewFigures::screw);
    DriveLoadParts {
        parts: parts(design, None),
        screw_efficiency: figures.and_then(|figures| figures.efficiency),
        back_efficiency: screw.map(|screw| screw.back_efficiency()),
        backlash: design.actuator.as_ref().and_then(|actuator| actuator.backlash),
    }
}

/// Motor, rod and pins.
pub(super) fn parts<G>(design: &Design<G>, allowed: Option<Allowed>) -> Parts {
    let motor = design.actuator.as_ref().map_or_else(Motor::default, |a| Motor {
        peak_torque: a.peak_torque,
        rated_torque: a.rated_torque,
        max_speed: a.max_speed,
    });
    Parts { motor, rod: design.rod.as_ref().map(rod), bearings: bearings(design), allowed }
}

/// The rod as a structural part.
pub(super) fn rod(drawn: &design::Rod) -> Rod {
    Rod {
        outer: drawn.outer,
        inner: drawn.inner,
        modulus: drawn.modulus,
        yield_stress: drawn.yield_stress,
    }
}

/// The pins of `design` as bearings.
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
