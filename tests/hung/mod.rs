//! The drives of a design, each on its own link, with what `check` found to stand in for them.

use nalgebra::Isometry3;
use unloop::design::Design;
use unloop::dynamics::{Fidelity, Masses, Replacement};
use unloop::study::{self, Check};

pub(crate) struct Hung {
    pub(crate) masses: Masses,
    pub(crate) frame: Option<Isometry3<f64>>,
    pub(crate) replacement: Replacement,
    pub(crate) fidelity: Fidelity,
}

pub(crate) fn each(design: &Design, check: &Check) -> Vec<Hung> {
    let drives = check.inertia.as_ref().unwrap().drives.as_ref().unwrap();
    let hung = design.robots.iter().zip(drives).map(|(robot, found)| Hung {
        masses: study::drive_on(design, Some(robot), &check.zero).unwrap().masses,
        frame: study::carrier_frame(design, robot),
        replacement: found.replacement,
        fidelity: found.fidelity,
    });
    hung.collect()
}
