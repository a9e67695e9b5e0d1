//! A drive that is no planar four-bar as a design file that `check` reads.

use super::cycles::Bodies;
use super::design_text::mass_tables;
use super::four_bar::FourBarLoop;
use super::loop_drive::LoopDrive;
use super::rod_bodies::{RodBodies, RodFrames};
use super::written::{degrees, millimetres, quoted, rounded, without_dust};
use crate::design::Preset;
use crate::drive::{Axis, BallRodPoints, Drawing, Kind, Vector};
use crate::dynamics::JointStroke;
use crate::robot::Robot;

/// What the design file of a drive is made from.
#[derive(Clone, Copy)]
pub(super) struct DriveParts<'a> {
    pub(super) robot: &'a Robot,
    pub(super) name: &'a str,
    pub(super) found: &'a LoopDrive,
    /// Its bodies; `None` of one that has none of its own.
    pub(super) rod: Option<(&'a Bodies, &'a FourBarLoop)>,
    pub(super) preset: Preset,
}

/// The text of the design file. The same drive gives the same bytes.
pub(super) fn drive_text(parts: &DriveParts<'_>) -> String {
    let DriveParts { robot, name, found, preset, .. } = *parts;
    let kind = found.drawing.kind().name();
    let place =
        robot.joints.get(found.joint).map_or(String::new(), |joint| robot.whereabouts(joint.place));
    let place = place.replace(|c: char| c.is_control(), " ");
    let head =
        format!("# Read from {place}.\nname = {}\n\n[drive]\nkind = \"{kind}\"\n", quoted(name));
    let preset = format!("[accept]\npreset = \"{}\"\n", preset.name());
    let blocks = [
        head,
        drawn(found),
        screw(found),
        zero(found),
        stroke(found),
        preset,
        actuator(found),
        masses(parts).unwrap_or_default(),
        on_robot(robot, found),
    ];
    blocks.into_iter().filter(|block| !block.is_empty()).collect::<Vec<_>>().join("\n")
}

/// What the file says of the motor, with the losses of all that goes, as the design's motor has it.
fn actuator(found: &LoopDrive) -> String {
    found.motor_side.map_or(String::new(), |side| side.geared(found.motor_per_reading).text(None))
}

/// The bodies, each in its own frame of the drawing; the carrier in its link's.
fn masses(parts: &DriveParts<'_>) -> Option<String> {
    let DriveParts { robot, found, .. } = *parts;
    let (bodies, four_bar) = parts.rod?;
    let drive = found.drawing.drive().ok()?;
    let stroke = JointStroke::over(&drive, found.joint_turns).ok()?;
    let own = RodBodies::new(robot, bodies, four_bar, &RodFrames::new(robot, found, &stroke)?);
    let keys = match found.drawing.kind() {
        Kind::LinearActuator => ["housing", "nut"],
        Kind::Slider => ["nut", "coupler"],
        _ => ["crank", "coupler"],
    };
    Some(mass_tables(&[
        (keys[0], own.parts[0], ""),
        (keys[1], own.parts[1], ""),
        ("child", own.child, ""),
        (
            "carrier",
            own.carrier.map(|body| body.seen_from(stroke.frame())),
            "frame   = \"robot\"\n",
        ),
    ]))
}

pub(super) fn point(at: Vector) -> String {
    let [x, y, z] = [at.x, at.y, at.z].map(millimetres);
    format!("[\"{x}\", \"{y}\", \"{z}\"]")
}

pub(super) fn direction(of: Vector) -> String {
    let [x, y, z] = [of.x, of.y, of.z].map(|x| without_dust(rounded(x)));
    format!("[{x:?}, {y:?}, {z:?}]")
}

const PIVOTS: &str = "[pivots]                          # in the frame of the carrier's link, in the pose that the file draws: add the drawing's tolerances\n";

fn axis(name: &str, axis: &Axis) -> String {
    format!("{name}_axis = {}\n", direction(axis.direction))
}

/// The rod's own length, where the file draws the loop open; m.
fn own_rod(points: &BallRodPoints) -> String {
    let drawn = (points.rocker - points.crank).length();
    let own = points.rod.filter(|own| (own - drawn).abs() > 1e-12);
    own.map_or(String::new(), |own| format!("coupler    = \"{}\"\n", millimetres(own)))
}

fn drawn(found: &LoopDrive) -> String {
    match &found.drawing {
        Drawing::BallRodPoints(points) => format!(
            "{PIVOTS}motor      = {}\n{}joint      = {}\n{}crank      = {}\nrocker     = {}\n{}",
            point(points.motor.point),
            axis("motor", &points.motor),
            point(points.joint.point),
            axis("joint", &points.joint),
            point(points.crank),
            point(points.rocker),
            own_rod(points),
        ),
        Drawing::ActuatorPoints { points, .. } => {
            let offset = if points.line_offset == 0.0 {
                String::new()
            } else {
                format!("line_offset = \"{}\"\n", millimetres(points.line_offset))
            };
            format!(
                "{PIVOTS}motor      = {}\njoint      = {}\n{}rocker     = {}\n{offset}",
                point(points.motor),
                point(points.joint.point),
                axis("joint", &points.joint),
                point(points.rocker),
            )
        }
        Drawing::SliderPoints { points, .. } => format!(
            "{PIVOTS}motor      = {}    # a point of the guide\nmotor_axis = {}\njoint      = {}\n{}\
             rocker     = {}\ncoupler    = \"{}\"\n",
            point(points.guide),
            direction(points.direction),
            point(points.joint.point),
            axis("joint", &points.joint),
            point(points.rocker),
            millimetres(points.coupler),
        ),
        _ => String::new(),
    }
}

fn screw(found: &LoopDrive) -> String {
    let Some(lead) = found.lead() else { return String::new() };
    let why = if found.has_no_screw {
        "    # not in the file, which moves the slide itself: put in the real one"
    } else {
        "    # by the gear of the file's actuator"
    };
    format!("[screw]\nlead = \"{}\"{why}\n", millimetres(lead))
}

fn zero(found: &LoopDrive) -> String {
    let [motor, joint] = found.drawn_at.map(degrees);
    // A slide's reading is a length, and counts from elsewhere.
    let motor = match found.drawing {
        Drawing::BallRodPoints(_) => format!("motor_reads = \"{motor}\"\n"),
        _ => String::new(),
    };
    let nut = match &found.drawing {
        Drawing::SliderPoints { nut, .. } => format!("nut = \"{}\"\n", millimetres(*nut)),
        _ => String::new(),
    };
    format!(
        "[zero]                            # the pose that the file draws\n{nut}{motor}joint_reads = \"{joint}\"\n\
         # set_by = \"jig\"                # how each built robot gets its zero, or \"drawing\": needed with a tolerance\n"
    )
}

fn stroke(found: &LoopDrive) -> String {
    let why = if found.ended_by_limits {
        "what the limits of the file's joints allow"
    } else {
        "the file gives no limits: where the transmission angle is the preset's or more"
    };
    let [low, high] = found.joint_turns.map(|turn| degrees(found.drawn_at[1] + turn));
    format!("[stroke]                          # {why}\njoint = [\"{low}\", \"{high}\"]\n")
}

fn on_robot(robot: &Robot, found: &LoopDrive) -> String {
    let [parent, child] = found.links.map(|link| quoted(robot.link_name(link)));
    let axis = match &found.drawing {
        Drawing::BallRodPoints(points) => points.joint.direction,
        Drawing::ActuatorPoints { points, .. } => points.joint.direction,
        Drawing::SliderPoints { points, .. } => points.joint.direction,
        _ => return String::new(),
    };
    let joint = robot.joint_name(found.joint);
    if joint.is_empty()
        || robot.link_name(found.links[0]).is_empty()
        || robot.link_name(found.links[1]).is_empty()
    {
        return String::new();
    }
    let sign = if found.motor_sign < 0.0 { "motor_sign = -1\n" } else { "" };
    format!(
        "[[robot]]\njoint  = {}\nparent = {parent}\nchild  = {child}\naxis   = {}\n{sign}",
        quoted(joint),
        direction(axis)
    )
}
