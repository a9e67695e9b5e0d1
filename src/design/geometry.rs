//! The linkage as drawn, from `[linkage]` and `[zero]` or from `[pivots]`.

use super::Draws;
use super::dimension::Dimension;
use super::entry::Entry;
use super::finger;
use super::gripper::Finger;
use super::lengths::{self, Lengths};
use super::model::{AxisPoints, Geometry, Places, SpatialPivots};
use super::pivots::{self, Pinned};
use super::robot::{MotorFrom, PlacedJoint, Placing};
use super::section::Section;
use super::sense::Sense;
use super::tolerances;
use super::zero::Zero;
use crate::linkage::PadOn;
use toml::de::DeValue;

/// What the geometry is read from.
pub(super) struct Sources<'s, 'a> {
    /// Everything.
    pub(super) root: &'s Section<'a>,
    /// The file's name, from which others are found.
    pub(super) path: &'s str,
    /// `[drive]`.
    pub(super) drive: Option<&'s Section<'a>>,
    /// `[tolerance]`.
    pub(super) tolerance: Option<&'s Section<'a>>,
    /// `[zero]`.
    pub(super) zero: &'s Zero<'a>,
    /// `axis_points`.
    pub(super) axis_points: AxisPoints,
}

impl Draws for Geometry {
    fn read(sources: &Sources<'_, '_>) -> Option<Self> {
        let help =
            "add [linkage] with ground, crank, coupler and rocker, or [pivots] with the four pins";
        match given(sources.root, help)? {
            Given::Lengths(linkage) => drawn(sources, &linkage),
            Given::Points(pivots) => pinned(sources, &pivots),
        }
    }

    fn has_tolerance(&self) -> bool {
        let dimensions = [&self.ground, &self.crank, &self.coupler, &self.rocker, &self.zero_crank];
        dimensions.iter().any(|dimension| dimension.tolerance.is_some())
    }

    fn placing(&self) -> Placing {
        let pivots = self.pivots.as_ref();
        let joint = pivots.map(|pivots| PlacedJoint { place: pivots.joint_place(), key: "axis" });
        Placing { joint, motor: Some(MotorFrom { across: self.ground.nominal, along: None }) }
    }

    fn has_jaw(root: &Section<'_>, _: Option<&Self>) -> Option<bool> {
        let is_coupler = |pad: Entry<'_>| matches!(pad.value, DeValue::String(text) if text == PadOn::Coupler.name());
        Some(root.within("finger", "pad").is_some_and(is_coupler))
    }

    fn finger(root: &Section<'_>, drawn: Option<&Self>) -> Option<Finger> {
        let finger = finger::read(root, drawn);
        finger::refuse_stand_in(root);
        finger
    }

    fn add_places(&self, _: &mut Places) {}
}

/// What the linkage is given by.
pub(super) enum Given<'a> {
    /// `[linkage]`.
    Lengths(Section<'a>),
    /// `[pivots]`.
    Points(Section<'a>),
}

/// `[linkage]` or `[pivots]`; a fault where there are both, or neither: `help` says what to add.
pub(super) fn given<'a>(root: &Section<'a>, help: &str) -> Option<Given<'a>> {
    match (root.section("linkage"), root.section("pivots")) {
        (Some(linkage), None) => Some(Given::Lengths(linkage)),
        (None, Some(pivots)) => Some(Given::Points(pivots)),
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
