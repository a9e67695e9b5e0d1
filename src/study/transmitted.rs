//! How much of the motor's torque arrives at the joint of one design, on its verdict's basis.

use crate::design::Design;
use crate::dynamics::{self, Allowed, MonotoneStroke};
use crate::equivalence::{Basis, Criterion, Prover, ratio_range};

use super::bearing_parts::bearings;
use super::family::{family, limits, magnitudes, zeroing};
use super::fault::Fault;
use super::mechanism::Mechanism;

/// Joint torque per motor torque over the stroke, as sizes: what is reached everywhere, after friction in the pins, and
/// what is exceeded nowhere, without it. `ratio` is |i| on the verdict's basis, as [`super::Check::ratio_magnitude`].
///
/// The first is 0 where the pins lock the drive, or may with a linkage within tolerance.
#[must_use]
pub fn torque_ratio(design: &Design, mechanism: &Mechanism, ratio: [f64; 2]) -> [f64; 2] {
    let bearings = bearings(design);
    if bearings.friction.is_none() {
        return ratio;
    }
    let Ok(stroke) = MonotoneStroke::over(&mechanism.branch, mechanism.stroke) else {
        // At a dead point the crank turns without end for a turn of the joint, and so do its pins.
        return [0.0, ratio[1]];
    };
    let allowed = allowed(design, ratio);
    let found = dynamics::transmitted(&stroke, &bearings, allowed.as_ref());
    [found.guaranteed.value, ratio[1]]
}

/// The linkages that the verdict is over; `None` where that is the drawn one alone.
fn allowed(design: &Design, ratio: [f64; 2]) -> Option<Allowed> {
    (design.accept.over == Basis::Tolerance).then(|| {
        let family = family(design, Basis::Tolerance);
        Allowed { bars: family.bars, crank_error: family.crank_error, ratio }
    })
}

/// The same with the range of |i| found out.
pub(super) fn judged(design: &Design, mechanism: &Mechanism) -> Result<Option<Allowed>, Fault> {
    if design.accept.over == Basis::Nominal {
        return Ok(None);
    }
    let (sweep, joint) = mechanism.sweep()?;
    let prover = Prover::new(&mechanism.branch, &joint, zeroing(design), limits(design));
    let found = prover.judge(&family(design, Basis::Tolerance), mechanism.stroke.motor);
    let ratio = magnitudes(
        Basis::Tolerance,
        &sweep,
        &joint,
        found.of(Criterion::Ratio).and_then(ratio_range),
    );
    Ok(allowed(design, ratio))
}
