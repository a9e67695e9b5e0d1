//! The linkages that the drawing allows.

use crate::design::{Design, Dimension, SetBy};
use crate::equivalence::{Basis, Family, Zeroing, size_range};
use crate::linkage::FourBar;
use crate::numeric::Interval;

/// A drawn dimension with its tolerance where `toleranced`, and with what rounding may have done to it.
fn range(dimension: &Dimension, toleranced: bool, rounding: f64) -> Interval {
    let tolerance = dimension.tolerance.as_ref().filter(|_| toleranced);
    let (lower, upper) = tolerance.map_or((0.0, 0.0), |t| (t.lower, t.upper));
    size_range(dimension.nominal, lower - rounding, upper + rounding)
}

/// The linkages that a verdict over `basis` is about: the drawn one, or every one within the drawn tolerances.
pub(super) fn family(design: &Design, basis: Basis) -> Family {
    let (g, toleranced) = (&design.geometry, basis == Basis::Tolerance);
    let length = |dimension: &Dimension| range(dimension, toleranced, g.rounding);
    let shortest = g.crank.nominal.min(g.ground.nominal);
    let crank = range(&g.zero_crank, toleranced, 2.0 * g.rounding / shortest);
    let bars = FourBar {
        ground: length(&g.ground),
        crank: length(&g.crank),
        coupler: length(&g.coupler),
        rocker: length(&g.rocker),
    };
    Family { bars, crank_error: crank - Interval::point(g.zero_crank.nominal) }
}

/// How each built robot gets its zero; on each robot where nothing is said, which is what the drawn linkage does.
pub(super) fn zeroing(design: &Design) -> Zeroing {
    match design.set_by {
        None | Some(SetBy::Jig) => Zeroing::OnEachRobot,
        Some(SetBy::Drawing) => Zeroing::AsDrawn,
    }
}
