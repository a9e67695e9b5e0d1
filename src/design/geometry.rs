//! The linkage as drawn, from `[linkage]` and `[zero]` or from `[pivots]`.

use super::dimension::Dimension;
use super::lengths::{self, Lengths};
use super::model::{AxisPoints, Geometry, SpatialPivots};
use super::pivots::{self, Pinned};
use super::section::Section;
use super::sense::Sense;
use super::tolerances;
use super::zero::Zero;

/// What the geometry is read from.
pub(super) struct Sources<'s, 'a> {
    /// Everything.
    pub(super) root: &'s Section<'a>,
    /// `[tolerance]`.
    pub(super) tolerance: Option<&'s Section<'a>>,
    /// `[zero]`.
    pub(super) zero: &'s Zero<'a>,
    /// `axis_points`.
    pub(super) axis_points: AxisPoints,
}

/// The four lengths and the zero pose.
pub(super) fn read(sources: &Sources<'_, '_>) -> Option<Geometry> {
    let root = sources.root;
    match (root.section("linkage"), root.section("pivots")) {
        (Some(linkage), None) => drawn(sources, &linkage),
        (None, Some(pivots)) => pinned(sources, &pivots),
        (Some(_), Some(pivots)) => {
            let help = "keep [linkage] with [zero], or keep [pivots]";
            pivots.fault(
                "the linkage is given twice, by [linkage] and by [pivots]",
                "second time",
                help,
            );
            None
        }
        (None, None) => {
            if root.get("linkage").is_none()
                && root.get("pivots").is_none()
                && !root.is_misspelt("pivots")
            {
                let help = "add [linkage] with ground, crank, coupler and rocker, or [pivots] with the four pins";
                root.missing("linkage", help);
            }
            None
        }
    }
}

fn drawn(sources: &Sources<'_, '_>, linkage: &Section<'_>) -> Option<Geometry> {
    let lengths = tolerances::apply(sources.tolerance, lengths::read(linkage));
    let (crank, rocker) = sources.zero.pose(sources.root, Sense::new(sources.axis_points));
    let sense = Sense::new(sources.axis_points).angle(1.0);
    let frame = [[1.0, 0.0, 0.0], [0.0, sense, 0.0], [0.0, 0.0, sense]];
    assemble(lengths, crank?, rocker?, 0.0, frame, None)
}

fn pinned(sources: &Sources<'_, '_>, table: &Section<'_>) -> Option<Geometry> {
    sources.zero.refuse_pose();
    let pinned = pivots::read(sources.root, table, sources.axis_points)?;
    let lengths = pinned.lengths.map(|nominal| Some(Dimension::drawn(nominal, None)));
    let lengths = tolerances::apply(sources.tolerance, lengths);
    let crank = Dimension::drawn(pinned.crank, None);
    let Pinned { rocker, rounding, drawing_frame, spatial, .. } = pinned;
    assemble(lengths, crank, rocker, rounding, drawing_frame, spatial)
}

fn assemble(
    lengths: Lengths,
    zero_crank: Dimension,
    zero_rocker: f64,
    rounding: f64,
    drawing_frame: [[f64; 3]; 3],
    pivots: Option<SpatialPivots>,
) -> Option<Geometry> {
    let [ground, crank, coupler, rocker] = lengths;
    Some(Geometry {
        ground: ground?,
        crank: crank?,
        coupler: coupler?,
        rocker: rocker?,
        zero_crank,
        zero_rocker,
        rounding,
        pivots,
        drawing_frame,
    })
}

/// Whether any tolerance is drawn.
pub(super) fn has_tolerance(geometry: &Geometry) -> bool {
    let dimensions = [
        &geometry.ground,
        &geometry.crank,
        &geometry.coupler,
        &geometry.rocker,
        &geometry.zero_crank,
    ];
    dimensions.iter().any(|dimension| dimension.tolerance.is_some())
}
