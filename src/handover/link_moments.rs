//! What a link of a robot file weighs, as moments about the origin of its own frame and back.

use crate::dynamics::{Body, Inertia, Moments};
use crate::robot::{Inertial, tensor_entries};

/// Moments of an inertial about its link's origin.
pub(super) fn moments(inertial: &Inertial) -> Moments {
    let (mass, centre) = (inertial.mass, inertial.center.into());
    Moments::from(&Body { mass, centre, inertia: Inertia::Tensor(inertial.matrix()) })
}

/// What has these moments about its link's origin.
pub(super) fn inertial(moments: &Moments) -> Inertial {
    let body = moments.body();
    Inertial {
        mass: body.mass,
        center: without_dust(body.centre.into()),
        tensor: without_dust(tensor_entries(&body.tensor())),
    }
}

/// What is but the rounding of the largest figure becomes 0.
pub(super) fn without_dust<const N: usize>(figures: [f64; N]) -> [f64; N] {
    let largest = figures.iter().fold(0.0_f64, |most, x| most.max(x.abs()));
    figures.map(|x| if x.abs() < 1e-15 * largest { 0.0 } else { x })
}
