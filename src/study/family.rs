//! The linkages that the drawing allows, and what they are held against.

use crate::design::{Design, Dimension, Drawn, DrawnSize, SetBy};
use crate::drive::Size;
use crate::equivalence::{
    Basis, DirectJoint, Family, Limits, SizeRanges, Typed, Zeroing, size_range, typed_range,
};
use crate::linkage::{FourBar, Sweep};
use crate::numeric::Interval;

/// A drawn dimension's deviations where `toleranced`, and with what rounding may have done to it.
fn deviations(dimension: &Dimension, toleranced: bool, rounding: f64) -> [f64; 2] {
    let tolerance = dimension.tolerance.as_ref().filter(|_| toleranced);
    let (lower, upper) = tolerance.map_or((0.0, 0.0), |t| (t.lower, t.upper));
    [lower - rounding, upper + rounding]
}

/// The linkages that a verdict over `basis` is about: the drawn one, or every one within the drawn tolerances.
pub(super) fn family(design: &Design, basis: Basis) -> Family {
    let (g, toleranced) = (&design.geometry, basis == Basis::Tolerance);
    let lengths = |of: fn(f64, f64, f64) -> Interval| {
        let length = |dimension: &Dimension| {
            let [lower, upper] = deviations(dimension, toleranced, g.rounding);
            of(dimension.nominal, lower, upper)
        };
        FourBar {
            ground: length(&g.ground),
            crank: length(&g.crank),
            coupler: length(&g.coupler),
            rocker: length(&g.rocker),
        }
    };
    let shortest = g.crank.nominal.min(g.ground.nominal);
    let [lower, upper] = deviations(&g.zero_crank, toleranced, 2.0 * g.rounding / shortest);
    let crank = size_range(g.zero_crank.nominal, lower, upper);
    Family {
        bars: lengths(size_range),
        crank_error: crank - Interval::point(g.zero_crank.nominal),
        typed: Typed { bars: lengths(typed_range), crank_error: Interval::new(lower, upper) },
    }
}

/// The builds that a verdict over `basis` is about: the drawn one, or every one within the drawn tolerances.
pub(super) fn size_ranges(design: &Design<Drawn>, basis: Basis) -> SizeRanges {
    drawn_ranges(|| design.geometry.sizes(), basis)
}

/// The same of these sizes.
pub(super) fn drawn_ranges<'a, I: Iterator<Item = (Size, &'a DrawnSize)>>(
    sizes: impl Fn() -> I,
    basis: Basis,
) -> SizeRanges {
    let ranges = |of: fn(f64, f64, f64) -> Interval| {
        let one = |(size, drawn): (Size, &DrawnSize)| {
            let tolerance = drawn.tolerance.as_ref().filter(|_| basis == Basis::Tolerance);
            let (lower, upper) = tolerance.map_or((0.0, 0.0), |t| (t.lower, t.upper));
            of(size.value, lower, upper)
        };
        sizes().map(one).collect()
    };
    SizeRanges { all: ranges(size_range), typed: ranges(typed_range) }
}

/// How each built robot gets its zero; on each robot where nothing is said, which is what the drawn linkage does.
pub(super) fn zeroing<G>(design: &Design<G>) -> Zeroing {
    zeroed_by(design.set_by)
}

/// See [`zeroing`].
pub(super) fn zeroed_by(set_by: Option<SetBy>) -> Zeroing {
    match set_by {
        None | Some(SetBy::Jig) => Zeroing::OnEachRobot,
        Some(SetBy::Drawing) => Zeroing::AsDrawn,
    }
}

/// What the motion is held against.
pub(super) fn limits<G>(design: &Design<G>) -> Limits {
    let accept = &design.accept;
    Limits {
        angle: accept.angle,
        ratio: accept.ratio,
        transmission_angle: accept.transmission_angle,
    }
}

/// |dφ/dψ| on the verdict's basis: within tolerance from the certified range of i / ratio, where there is one.
pub(super) fn magnitudes(
    over: Basis,
    sweep: &Sweep<'_>,
    joint: &DirectJoint,
    certified: Option<[f64; 2]>,
) -> [f64; 2] {
    if let (Basis::Tolerance, Some(range)) = (over, certified) {
        return range.map(|share| joint.ratio.abs() * share);
    }
    let [slow, fast] = sweep.velocity_ratio_magnitude();
    [1.0 / fast, 1.0 / slow]
}
