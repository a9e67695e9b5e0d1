//! Where the rocker stands still: words instead of figures without bound.

use crate::equivalence::DirectJoint;
use crate::linkage::Sweep;

use super::findings::Check;

/// A ratio beyond this is none: the best line through the joint's turns has no slope. The largest that a design may ask
/// for is a million.
pub(super) const NO_RATIO: f64 = 1e9;

/// Whether the best constant ratio is none, because the rocker comes to no turn over the stroke.
#[must_use]
pub(super) fn has_no_ratio(joint: &DirectJoint) -> bool {
    !joint.ratio.is_finite() || joint.ratio.abs() > NO_RATIO
}

/// A ratio that is none is infinite, which every output says in its own way.
pub(super) fn ratio_without_bound(check: &mut Check) {
    if has_no_ratio(&check.direct_joint) {
        check.direct_joint.ratio = f64::INFINITY;
        check.transmission_ratio.mean = f64::INFINITY;
    }
}

/// The joint turn at which the rocker stands still in the stroke, rad.
#[must_use]
pub(super) fn stands_still_at(sweep: &Sweep<'_>, joint: &DirectJoint) -> Option<f64> {
    let at = sweep.ratio_error(joint.ratio);
    let still = sweep.has_dead_point() || has_no_ratio(joint);
    still.then(|| sweep.angle_error_at(at.turn, 0.0, 0.0))
}
