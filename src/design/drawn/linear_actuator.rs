//! `kind = "linear_actuator"`: a cylinder or screw between two pins.

use super::{Drawn, by_screw, frame};
use crate::design::geometry::Sources;
use crate::design::points::Points;
use crate::design::screw;
use crate::design::section::Section;
use crate::design::sense::Sense;
use crate::design::sizes::Sizes;
use crate::design::zero::about;
use crate::drive::{Axis, Drawing, LinearActuator, Vector};
use crate::units::{UnitKind, angle, millimetres};

pub(super) fn read(sources: &Sources<'_, '_>) -> Option<Drawn> {
    let help = "add [linkage] with ground and rocker, or [pivots] with motor, joint and rocker";
    by_screw::driven(sources, help, [by_lengths, by_points])
}

fn by_lengths(sources: &Sources<'_, '_>, linkage: &Section<'_>) -> Option<Drawn> {
    let mut sizes = Sizes::default();
    let mut length = |name: &'static str, line: &str| {
        let entry = linkage.required(name, line)?;
        sizes.length(name, &entry)
    };
    let ground = length("ground", "ground = \"300 mm\"  # carrier's pin to joint axis");
    let rocker = length("rocker", "rocker = \"45 mm\"  # joint axis to the lever's pin");
    let line_offset = line_offset(linkage, &mut sizes);
    let screw = screw::read(sources.root, &mut sizes);
    let links = ground.zip(rocker).zip(line_offset);
    let links = links.map(|((ground, rocker), offset)| [ground, rocker, offset]);
    let lever = lever(sources, links, &mut sizes);
    let ((ground, rocker), line_offset) = ground.zip(rocker).zip(line_offset)?;
    let (figures, lengths) = screw?;
    let lead = figures.lead;
    let zero_rocker = lever?;
    let drawing =
        Drawing::PlanarActuator { ground, rocker, line_offset, lead, zero_rocker, lengths };
    let sense = Sense::new(sources.axis_points).angle(1.0);
    let frame = frame(Vector::new(1.0, 0.0, 0.0), Vector::new(0.0, 0.0, 1.0), sense)?;
    Some(Drawn { screw: Some(figures), ..Drawn::of(drawing, &sizes, frame) })
}

fn line_offset(table: &Section<'_>, sizes: &mut Sizes) -> Option<f64> {
    let Some(entry) = table.get("line_offset") else { return Some(0.0) };
    let offset = sizes.offset("line_offset", &entry)?;
    if offset < 0.0 {
        let help = "the distance of the slide line from the carrier's pin: zero or more";
        entry.fault("is negative", "a distance", help);
        return None;
    }
    Some(offset)
}

/// The lever's angle in the zero pose: as written, or as `[zero] length` has it.
fn lever(sources: &Sources<'_, '_>, links: Option<[f64; 3]>, sizes: &mut Sizes) -> Option<f64> {
    let sense = Sense::new(sources.axis_points);
    let line = "rocker = \"132 deg\"  # the lever's angle from the line pin to joint";
    let rocker = sources.zero.required(sources.root, "rocker", line);
    let Some(entry) = sources.zero.get("length") else {
        return sizes.angle("zero_rocker", &rocker?, sense);
    };
    let length = entry.positive(UnitKind::Length);
    let hint = about(&rocker?, sense)?;
    let [ground, rocker, offset] = links?;
    let squared = length? * length? + offset * offset;
    let cosine = (squared - ground * ground - rocker * rocker) / (2.0 * ground * rocker);
    if cosine.abs() >= 1.0 {
        let along =
            |distance: f64| millimetres((distance * distance - offset * offset).max(0.0).sqrt());
        let ends = [along((ground - rocker).abs()), along(ground + rocker)];
        let label = format!("the lengths allow {} to {}", ends[0], ends[1]);
        entry.fault(
            "is out of reach",
            &label,
            "correct the length, or ground, rocker and line_offset",
        );
        return None;
    }
    let solved = [cosine.acos(), -cosine.acos()];
    let near = sources.zero.nearest_of(hint, solved, sense)?;
    let lever = solved.get(near).copied()?;
    if sizes.has_tolerance() {
        let help = format!(
            "with tolerances the zero pose is named by the lever's angle: take this line out and write rocker = \"{}\"",
            angle(sense.angle(lever), 4)
        );
        entry.fault("names no pose of a toleranced drive", "of each build another", help);
        return None;
    }
    Some(lever)
}

fn by_points(sources: &Sources<'_, '_>, table: &Section<'_>) -> Option<Drawn> {
    let mut points = Points::new(sources, table);
    let motor = points.point("motor", ["motor_x", "motor_y", "motor_z"]);
    let joint = points.point("joint", ["joint_x", "joint_y", "joint_z"]);
    let rocker = points.point("rocker", ["rocker_x", "rocker_y", "rocker_z"]);
    let axis = points.direction("joint_axis", Some(Vector::new(0.0, 0.0, 1.0)));
    points.tilts(["joint_axis_u", "joint_axis_v"]);
    let line_offset = line_offset(table, &mut points.sizes);
    let screw = screw::read(sources.root, &mut points.sizes);
    let joint = Axis { point: joint?, direction: axis? };
    let (motor, rocker) = (motor?, rocker?);
    points.must_stand_off("motor", motor, &joint)?;
    points.must_stand_off("rocker", rocker, &joint)?;
    let (figures, lengths) = screw?;
    let drawn =
        LinearActuator { motor, joint, rocker, line_offset: line_offset?, lead: figures.lead };
    let sense = if points.is_spatial { 1.0 } else { Sense::new(sources.axis_points).angle(1.0) };
    let frame = frame(joint.point - motor, joint.direction, sense)?;
    let drawing = Drawing::ActuatorPoints { points: drawn, lengths };
    Some(Drawn {
        screw: Some(figures),
        is_in_carrier_frame: points.is_spatial,
        ..Drawn::of(drawing, &points.sizes, frame)
    })
}
