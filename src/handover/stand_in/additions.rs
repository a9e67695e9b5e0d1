//! What the parts that go leave to those that stay, in the drawing's frames, and how far off kinetic energy is then.

use crate::dynamics::{
    self, Body, Coupled, Coupling, CrankKept, Masses, MeasuredOver, Moments, MonotoneStroke,
    Replacement, fidelity,
};

/// To be added to the bodies' own.
pub(super) struct Additions {
    pub(super) carrier: Moments,
    /// Where it stays a body.
    pub(super) crank: Option<Moments>,
    pub(super) child: Moments,
}

impl Additions {
    /// Of crank and coupler.
    pub(super) fn direct(found: &Replacement) -> Self {
        Self { carrier: found.carrier_patch, crank: None, child: found.child_patch }
    }

    /// Of the coupler alone, where it goes.
    pub(super) fn kept(bodies: &CrankKept, masses: &Masses) -> Self {
        let own = |body: &Option<Body>| body.as_ref().map(Moments::from).unwrap_or_default();
        Self {
            carrier: Moments::from(&bodies.carrier) - own(&masses.carrier),
            crank: Some(Moments::from(&bodies.crank) - own(&masses.crank)),
            child: Moments::from(&bodies.child) - Moments::from(&masses.child),
        }
    }
}

/// Largest error of kinetic energy of `model`, as a share, and over which motions.
pub(super) fn headline(
    course: &MonotoneStroke<'_>,
    masses: &Masses,
    model: &impl dynamics::StandIn,
) -> (MeasuredOver, f64) {
    let (over, worst) = fidelity(course, masses, model).headline();
    (over, worst.value)
}

/// The same of a crank that moves as `coupling` has it.
pub(super) fn coupled_error(
    course: &MonotoneStroke<'_>,
    masses: &Masses,
    bodies: &CrankKept,
    coupling: &Coupling,
) -> (MeasuredOver, f64) {
    headline(course, masses, &Coupled { bodies, coupling, branch: course.branch() })
}
