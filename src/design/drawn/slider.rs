//! `kind = "slider"`: a nut on a guide that pushes a rod.

use super::{Drawn, by_screw, frame};
use crate::design::dimension::Dimension;
use crate::design::geometry::Sources;
use crate::design::points::Points;
use crate::design::screw;
use crate::design::section::Section;
use crate::design::sense::Sense;
use crate::design::sizes::Sizes;
use crate::drive::{Axis, Drawing, Slider, Vector};
use crate::units::{UnitKind, fixed};

/// `[zero] nut` further from both places of the nut than this share of the rod picks neither.
const NUT_HINT: f64 = 0.1;

pub(super) fn read(sources: &Sources<'_, '_>) -> Option<Drawn> {
    let help = "add [linkage] with ground, coupler, rocker and guide, or [pivots] with motor, motor_axis, joint, rocker and coupler";
    by_screw::driven(sources, help, [by_lengths, by_points])
}

fn by_lengths(sources: &Sources<'_, '_>, linkage: &Section<'_>) -> Option<Drawn> {
    let mut sizes = Sizes::default();
    let sense = Sense::new(sources.axis_points);
    let [ground, coupler, rocker] = ["ground", "coupler", "rocker"].map(|name| {
        let entry = linkage.required(name, &format!("{name} = \"45 mm\""))?;
        sizes.length(name, &entry)
    });
    let line = "guide = { point = [\"0 mm\", \"20 mm\"], direction = \"0 deg\" }";
    let guide = linkage.required("guide", line).and_then(|_| linkage.section("guide"));
    let guide = guide.and_then(|guide| on_guide(&guide, sense, &mut sizes));
    let screw = screw::read(sources.root, &mut sizes);
    let line = "rocker = \"132 deg\"  # the lever's angle from the line origin to joint";
    let lever = sources.zero.required(sources.root, "rocker", line);
    let zero_rocker = lever.and_then(|entry| sizes.angle("zero_rocker", &entry, sense));
    let nut = nut(sources);
    let (guide, direction) = guide?;
    let (figures, _) = screw?;
    let (ground, coupler, rocker, zero_rocker) = (ground?, coupler?, rocker?, zero_rocker?);
    let lead = figures.lead;
    let points = Slider::planar([ground, coupler, rocker, lead], guide, [direction, zero_rocker]);
    let nut = nut?;
    check_nut(sources, &points, nut)?;
    let drawing =
        Drawing::PlanarSlider { ground, coupler, rocker, guide, direction, lead, zero_rocker, nut };
    let frame = frame(Vector::new(1.0, 0.0, 0.0), Vector::new(0.0, 0.0, 1.0), sense.angle(1.0))?;
    Some(Drawn { screw: Some(figures), ..Drawn::of(drawing, &sizes, frame) })
}

/// Point and direction of `guide`, about the joint axis.
fn on_guide(guide: &Section<'_>, sense: Sense, sizes: &mut Sizes) -> Option<([f64; 2], f64)> {
    let point = guide.required("point", "point = [\"0 mm\", \"20 mm\"]");
    let items = point.and_then(|entry| entry.items_of::<2>("two lengths: [\"0 mm\", \"20 mm\"]"));
    let point = items.and_then(|[x, y]| {
        let across = crate::design::sizes::offset(&y).map(|drawn| turned(drawn, sense));
        let x = sizes.offset("guide_x", &x)?;
        Some([x, sizes.put("guide_y", &y.place, across?)])
    });
    let direction = guide
        .required("direction", "direction = \"0 deg\"  # from the line origin to joint")
        .and_then(|entry| sizes.angle("guide_direction", &entry, sense));
    point.zip(direction)
}

/// A length across the line to the joint, about the joint axis.
fn turned(drawn: Dimension, sense: Sense) -> Dimension {
    Dimension {
        nominal: sense.angle(drawn.nominal),
        tolerance: drawn.tolerance.map(|tolerance| sense.tolerance(tolerance)),
        written_outside: drawn.written_outside.map(|written| sense.angle(written)),
    }
}

fn nut(sources: &Sources<'_, '_>) -> Option<f64> {
    let line =
        "nut = \"174 mm\"  # about, along the guide from its point: it picks one of two places";
    sources.zero.required(sources.root, "nut", line)?.quantity(UnitKind::Length)
}

/// The nut has two places along its guide; a fault where the one written is near neither. Where the rod does not reach, the study
/// of the drive says so.
fn check_nut(sources: &Sources<'_, '_>, drawn: &Slider, nut: f64) -> Option<()> {
    let along = drawn.direction.unit()?;
    let reach = drawn.rocker - drawn.guide;
    let level = reach.dot(along);
    let beside = reach.square_to(along);
    let half = (drawn.coupler * drawn.coupler - beside.dot(beside)).sqrt();
    let places = [level - half, level + half];
    if half.is_nan() || places.iter().any(|one| (one - nut).abs() <= NUT_HINT * drawn.coupler) {
        return Some(());
    }
    let [behind, ahead] = places.map(|place| format!("{} mm", fixed(place * 1e3, 1)));
    if let Some(entry) = sources.zero.get("nut") {
        let label = format!("the lengths put the nut at {behind} or {ahead}");
        let help = format!("write the one that is drawn: nut = \"{behind}\" or nut = \"{ahead}\"");
        entry.fault("fits neither place of the nut", &label, help);
    }
    None
}

fn by_points(sources: &Sources<'_, '_>, table: &Section<'_>) -> Option<Drawn> {
    let mut points = Points::new(sources, table);
    let guide = points.point("motor", ["guide_x", "guide_y", "guide_z"]);
    let direction = points.direction("motor_axis", None);
    let joint = points.point("joint", ["joint_x", "joint_y", "joint_z"]);
    let rocker = points.point("rocker", ["rocker_x", "rocker_y", "rocker_z"]);
    let axis = points.direction("joint_axis", Some(Vector::new(0.0, 0.0, 1.0)));
    points.tilts(["guide_u", "guide_v"]);
    points.tilts(["joint_axis_u", "joint_axis_v"]);
    let coupler = table.required("coupler", "coupler = \"120 mm\"  # the rod between pin centres");
    let coupler = coupler.and_then(|entry| points.sizes.length("coupler", &entry));
    let screw = screw::read(sources.root, &mut points.sizes);
    let nut = nut(sources);
    let joint = Axis { point: joint?, direction: axis? };
    let (guide, direction, rocker) = (guide?, direction?, rocker?);
    points.must_stand_off("rocker", rocker, &joint)?;
    let (figures, _) = screw?;
    let lead = figures.lead;
    let drawn = Slider { guide, direction, coupler: coupler?, joint, rocker, lead };
    let nut = nut?;
    check_nut(sources, &drawn, nut)?;
    let sense = if points.is_spatial { 1.0 } else { Sense::new(sources.axis_points).angle(1.0) };
    // A guide that starts on the joint axis leaves the line from there to the joint open: along the guide then.
    let frame = frame(joint.point - guide, joint.direction, sense)
        .or_else(|| frame(direction, joint.direction, sense))?;
    let drawing = Drawing::SliderPoints { points: drawn, nut };
    Some(Drawn {
        screw: Some(figures),
        is_in_carrier_frame: points.is_spatial,
        ..Drawn::of(drawing, &points.sizes, frame)
    })
}
