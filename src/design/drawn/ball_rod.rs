//! `kind = "ball_rod"`: by its lengths, twist and lean, or by points and axes.

use super::{Drawn, Given, frame, given};
use crate::design::geometry::Sources;
use crate::design::points::Points;
use crate::design::section::Section;
use crate::design::sense::Sense;
use crate::design::sizes::Sizes;
use crate::drive::{Assembly, Axis, BallRod, BallRodPoints, Drawing, Vector};
use std::f64::consts::FRAC_PI_2;

pub(super) fn read(sources: &Sources<'_, '_>) -> Option<Drawn> {
    let help = "add [linkage] with ground, crank, coupler, rocker and, where they are not zero, axial, twist and lean; or [pivots] with four points and two axes";
    match given(sources, help)? {
        Given::Lengths(linkage) => by_lengths(sources, &linkage),
        Given::Points(pivots) => by_points(sources, &pivots),
    }
}

fn by_lengths(sources: &Sources<'_, '_>, linkage: &Section<'_>) -> Option<Drawn> {
    let mut sizes = Sizes::default();
    let drawn = seven(linkage, &mut sizes);
    let sense = Sense::new(sources.axis_points);
    let (crank, hint) = sources.zero.pose(sources.root, sense);
    let (drawn, crank, hint) = (drawn?, crank?, hint?);
    let place = sources.zero.get("crank")?.place;
    let zero_crank = sizes.put("zero_crank", &place, crank);
    let assembly = assembly(sources, &drawn, zero_crank, hint)?;
    let [_, joint] = drawn.circles()?;
    let x = Vector::new(1.0, 0.0, 0.0);
    let frame = frame(x, joint.axis, sense.angle(1.0))?;
    Some(Drawn::of(Drawing::BallRod { sizes: drawn, zero_crank, assembly }, &sizes, frame))
}

fn seven(linkage: &Section<'_>, sizes: &mut Sizes) -> Option<BallRod> {
    let mut length = |name: &'static str| {
        let entry = linkage.required(name, &format!("{name} = \"45 mm\""))?;
        sizes.length(name, &entry)
    };
    let lengths = ["ground", "crank", "coupler", "rocker"].map(&mut length);
    let axial = linkage.get("axial").map_or(Some(0.0), |entry| sizes.offset("axial", &entry));
    let twist = tilt(linkage, "twist", sizes);
    let lean = tilt(linkage, "lean", sizes);
    let [ground, crank, coupler, rocker] = lengths;
    Some(BallRod {
        ground: ground?,
        crank: crank?,
        coupler: coupler?,
        rocker: rocker?,
        axial: axial?,
        twist: twist?,
        lean: lean?,
    })
}

/// Twist or lean, right-handed about their axes from whichever side the drawing is seen; a lean to 90 deg lays the joint axis
/// along the ground line.
fn tilt(linkage: &Section<'_>, name: &'static str, sizes: &mut Sizes) -> Option<f64> {
    let Some(entry) = linkage.get(name) else { return Some(0.0) };
    let angle = sizes.angle(name, &entry, Sense::as_drawn())?;
    if name == "lean" && angle.abs() >= FRAC_PI_2 {
        let help = "the joint axis would lie along the ground line or beyond: turn the axis round, or check the angle";
        entry.fault("is not under 90 deg", "no lever angle can be told", help);
        return None;
    }
    Some(angle)
}

/// The assembly with the lever angle nearest to the one drawn. Where none can be told the study of the drive says why.
fn assembly(sources: &Sources<'_, '_>, sizes: &BallRod, crank: f64, hint: f64) -> Option<Assembly> {
    let solved = [Assembly::Open, Assembly::Crossed].map(|assembly| {
        let drive = sizes.drive(crank, assembly).ok()?;
        let [lever, _] = drive.zero_angles();
        Some((assembly, lever))
    });
    let [Some(open), Some(crossed)] = solved else { return Some(Assembly::Open) };
    let sense = Sense::new(sources.axis_points);
    let near = sources.zero.nearest_of(hint, [open.1, crossed.1], sense)?;
    Some(if near == 0 { open.0 } else { crossed.0 })
}

fn by_points(sources: &Sources<'_, '_>, table: &Section<'_>) -> Option<Drawn> {
    let mut points = Points::new(sources, table);
    if table.get("joint").is_some() && !points.is_spatial {
        let help = "write three coordinates for each, and motor_axis and joint_axis; for parallel axes in a drawing use kind = \"four_bar\", or [linkage]";
        table.fault("the points have two coordinates", "three are needed", help);
        return None;
    }
    points.is_spatial = true;
    let motor = points.point("motor", ["motor_x", "motor_y", "motor_z"]);
    let motor_axis = points.direction("motor_axis", None);
    let joint = points.point("joint", ["joint_x", "joint_y", "joint_z"]);
    let joint_axis = points.direction("joint_axis", None);
    let crank = points.point("crank", ["crank_x", "crank_y", "crank_z"]);
    let rocker = points.point("rocker", ["rocker_x", "rocker_y", "rocker_z"]);
    points.tilts(["motor_axis_u", "motor_axis_v"]);
    points.tilts(["joint_axis_u", "joint_axis_v"]);
    let rod = match table.get("coupler") {
        Some(entry) => Some(points.sizes.length("coupler", &entry)?),
        None => None,
    };
    let motor = Axis { point: motor?, direction: motor_axis? };
    let joint = Axis { point: joint?, direction: joint_axis? };
    let (crank, rocker) = (crank?, rocker?);
    points.must_stand_off("crank", crank, &motor)?;
    points.must_stand_off("rocker", rocker, &joint)?;
    let drawn = BallRodPoints { motor, joint, crank, rocker, rod };
    let along = joint.foot(rocker)? - motor.foot(crank)?;
    let across = along.square_to(motor.unit()?);
    let Some(frame) = frame(across, joint.direction, 1.0) else {
        let help = "the foot of the lever's ball on the joint axis lies on the motor axis, or the joint axis along the line between them: check points and axes";
        table.fault("the points leave no ground line", "no line from motor to joint", help);
        return None;
    };
    let drawn = Drawn::of(Drawing::BallRodPoints(drawn), &points.sizes, frame);
    Some(Drawn { is_in_carrier_frame: true, ..drawn })
}
