//! What the design says of the parts that bear: motor, rod, pins, screw.

use crate::design::{self, Design, Drawn, ScrewFigures};
use crate::dynamics::{Allowed, DriveLoadParts, Motor, Parts, Rod};

use super::bearings::bearings;

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
