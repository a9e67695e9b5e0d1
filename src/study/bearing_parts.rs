//! What the design says of the parts that bear: motor, rod, pins, screw.

use crate::design::{Design, Drawn};
use crate::drive::Screw;
use crate::dynamics::{Allowed, DriveLoadParts, Motor, Parts, Rod};

use super::bearings::bearings;

/// What is known of the parts that bear.
pub(super) fn drive_parts(design: &Design<Drawn>) -> DriveLoadParts {
    let figures = design.geometry.screw.as_ref();
    let screw = figures.and_then(|figures| {
        let (efficiency, mean_diameter) = (figures.efficiency?, figures.mean_diameter?);
        Some(Screw { lead: figures.lead, efficiency, mean_diameter })
    });
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
    let rod = design.rod.as_ref().map(|r| Rod {
        outer: r.outer,
        inner: r.inner,
        modulus: r.modulus,
        yield_stress: r.yield_stress,
    });
    Parts { motor, rod, bearings: bearings(design), allowed }
}
