//! The linkages that the drawing allows.

use crate::design::{Design, Dimension, SetBy};
use crate::equivalence::{Family, Zeroing, size_range};
use crate::linkage::FourBar;
use crate::numeric::Interval;

fn range(dimension: &Dimension) -> Interval {
    let (lower, upper) = dimension.tolerance.as_ref().map_or((0.0, 0.0), |t| (t.lower, t.upper));
    size_range(dimension.nominal, lower, upper)
}

/// Every linkage within the drawn tolerances.
pub(super) fn drawn_family(design: &Design) -> Family {
    let g = &design.geometry;
    let bars = FourBar {
        ground: range(&g.ground),
        crank: range(&g.crank),
        coupler: range(&g.coupler),
        rocker: range(&g.rocker),
    };
    Family { bars, crank_error: range(&g.zero_crank) - Interval::point(g.zero_crank.nominal) }
}

/// How each built robot gets its zero; on each robot where nothing is said, which is what the drawn linkage does.
pub(super) fn zeroing(design: &Design) -> Zeroing {
    match design.set_by {
        None | Some(SetBy::Jig) => Zeroing::OnEachRobot,
        Some(SetBy::Drawing) => Zeroing::AsDrawn,
    }
}
