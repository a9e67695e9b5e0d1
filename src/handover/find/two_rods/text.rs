//! A double loop as a design file of kind `two_rods`.

use super::super::cycles::Bodies;
use super::super::design_text::mass_tables;
use super::super::drive_text::{direction, point};
use super::super::masses::{as_read, beside_the_world, together};
use super::super::motor_side::MotorSide;
use super::super::obstacle::Obstacle;
use super::super::written::{degrees, millimetres, quoted};
use super::TwoRodsInFile;
use crate::design::{Preset, TwoJointDesign};
use crate::drive::{Axis, DrawnLeg};
use crate::dynamics::{Body, leg_places};
use crate::robot::{LinkId, Robot};
use crate::study::link_frames;

/// What the motors are called in the design: their joints' names where a table may have them.
pub(super) fn motor_names(robot: &Robot, found: &TwoRodsInFile) -> [String; 2] {
    let names = found.motors.map(|id| robot.joint_name(id).to_owned());
    let fits = |name: &String| {
        !name.is_empty()
            && !name.contains('.')
            && !["middle", "child", "carrier"].contains(&&**name)
    };
    if names.iter().all(fits) { names } else { ["first".to_owned(), "second".to_owned()] }
}

/// The design without masses: points, readings, ranges, motors.
pub(super) fn design_text(
    robot: &Robot,
    name: &str,
    found: &TwoRodsInFile,
    preset: Preset,
) -> String {
    let place = found.joints.first().and_then(|id| robot.joints.get(*id));
    let place = place.map_or(String::new(), |joint| robot.whereabouts(joint.place));
    let place = place.replace(|c: char| c.is_control(), " ");
    let names = motor_names(robot, found);
    let legs = found.drawing.legs.iter().zip(&names).zip(found.has_no_screw);
    let legs = legs.map(|((drawn, name), has_no_screw)| leg(name, drawn, has_no_screw));
    let mut blocks = vec![
        format!("# Read from {place}.\nname = {}\n\n[drive]\nkind = \"two_rods\"\n", quoted(name)),
        joint("pitch", &found.drawing.pitch) + "\n" + &joint("roll", &found.drawing.roll),
    ];
    blocks.extend(legs);
    blocks.push(zero(found));
    blocks.push(stroke(found));
    blocks.push(format!("[accept]\npreset = \"{}\"\n", preset.name()));
    blocks.push(motor_side(robot, found).map_or(String::new(), |side| side.text(None)));
    blocks.push(on_robot(robot, found));
    blocks.into_iter().filter(|block| !block.is_empty()).collect::<Vec<_>>().join("\n")
}

fn joint(key: &str, axis: &Axis) -> String {
    let why = if key == "pitch" {
        "    # in the frame of the carrier's link, as the file draws it"
    } else {
        ""
    };
    format!(
        "[joint.{key}]{why}\npoint = {}\naxis  = {}\n",
        point(axis.point),
        direction(axis.direction)
    )
}

fn leg(name: &str, drawn: &DrawnLeg, has_no_screw: bool) -> String {
    let table = quoted(name);
    match drawn {
        DrawnLeg::Crank { motor, crank, foot, rod } => {
            let own =
                rod.map_or(String::new(), |rod| format!("rod   = \"{}\"\n", millimetres(rod)));
            format!(
                "[motor.{table}]\npoint = {}\naxis  = {}\ncrank = {}\nfoot  = {}\n{own}",
                point(motor.point),
                direction(motor.direction),
                point(*crank),
                point(*foot)
            )
        }
        DrawnLeg::Actuator { pin, foot, line_offset, lead, .. } => {
            let offset = if *line_offset == 0.0 {
                String::new()
            } else {
                format!("line_offset = \"{}\"\n", millimetres(*line_offset))
            };
            let why = if has_no_screw {
                "    # not in the file, which moves the slide itself: put in the real one"
            } else {
                "    # by the gear of the file's actuator"
            };
            format!(
                "[motor.{table}]\ninput = \"linear_actuator\"\npoint = {}\nfoot  = {}\n{offset}\n\
                 [motor.{table}.screw]\nlead = \"{}\"{why}\n",
                point(*pin),
                point(*foot),
                millimetres(*lead)
            )
        }
    }
}

fn both(ends: [f64; 2]) -> String {
    let [first, second] = ends.map(degrees);
    format!("[\"{first}\", \"{second}\"]")
}

fn zero(found: &TwoRodsInFile) -> String {
    format!(
        "[zero]                            # the pose that the file draws\nmotor_reads = {}\njoint_reads = {}\n\
         # set_by = \"jig\"                # how each built robot gets its zero, or \"drawing\": needed with a tolerance\n",
        both(found.motor_reads),
        both(found.joint_reads)
    )
}

fn stroke(found: &TwoRodsInFile) -> String {
    let [pitch, roll] = found.region.map(both);
    format!(
        "[stroke]                          # the ranges of the file's joints\npitch = {pitch}\nroll  = {roll}\n"
    )
}

/// What the file says of both motors alike; `None` where it says nothing or not the same of both.
pub(super) fn motor_side(robot: &Robot, found: &TwoRodsInFile) -> Option<MotorSide> {
    let [first, second] = motor_sides(robot, found);
    first.filter(|first| Some(*first) == second)
}

pub(super) fn motor_sides(robot: &Robot, found: &TwoRodsInFile) -> [Option<MotorSide>; 2] {
    [0, 1].map(|k: usize| {
        let id = *found.motors.get(k)?;
        let joint = robot.joints.get(id)?;
        let actuator = robot.actuator_of(id);
        let losses = [joint.damping.unwrap_or(0.0), joint.friction.unwrap_or(0.0), 0.0];
        let side = MotorSide::new(joint, actuator.map(|one| &one.properties), losses);
        Some(side.geared(*found.per_reading.get(k)?))
    })
}

fn on_robot(robot: &Robot, found: &TwoRodsInFile) -> String {
    let joints = found.joints.map(|id| robot.joint_name(id));
    let motors = found.motors.map(|id| robot.joint_name(id));
    let links = [found.parent, found.child].map(|id| robot.link_name(id));
    let mut all = joints.iter().chain(&motors).chain(&links);
    if all.any(|name| name.is_empty()) {
        return String::new();
    }
    let pair = |names: [&str; 2]| format!("[{}, {}]", quoted(names[0]), quoted(names[1]));
    let middle = found.middle.map(|id| robot.link_name(id)).filter(|name| !name.is_empty());
    let middle = middle.map_or(String::new(), |name| format!("middle = {}\n", quoted(name)));
    format!(
        "[[robot]]\njoints = {}\nmotors = {}\nparent = {}\n{middle}child  = {}\n",
        pair(joints),
        pair(motors),
        quoted(links[0]),
        quoted(links[1])
    )
}

/// The bodies, each in its own frame of the design that `design` is without them; where a body that must weigh something
/// weighs nothing, that goes to `remarks` and no table is written.
pub(super) fn masses(
    robot: &Robot,
    bodies: &Bodies,
    found: &TwoRodsInFile,
    design: &TwoJointDesign,
    remarks: &mut Vec<Obstacle>,
) -> String {
    let (Some(carrier), Ok(drive)) = (robot.links.get(found.parent), design.drawing.drive()) else {
        return String::new();
    };
    let Ok(places) = leg_places(&drive, [0.0; 2]) else { return String::new() };
    let [middle, child] =
        link_frames(&design.drawing.pitch, &design.drawing.roll, design.joint_reads);
    let weighed = |body: LinkId, frame| -> Option<Body> {
        let links = bodies.links(bodies.of_link(body));
        Some(together(robot, links, &(carrier.pose * frame))?.body())
    };
    let names = motor_names(robot, found).map(|name| quoted(&name));
    let mut tables: Vec<(String, Option<Body>)> = Vec::new();
    for ((own, place), name) in found.bodies.iter().zip(&places).zip(&names) {
        let [first, last] = *own;
        let parts = [
            ("crank", place.crank, first),
            ("rod", place.rod, last),
            ("housing", place.housing, first),
            ("nut", place.nut, last),
        ];
        let parts = parts
            .into_iter()
            .filter(|(key, ..)| matches!(*key, "housing" | "nut") == place.crank.is_none());
        for (key, frame, body) in parts {
            let moments = frame.and_then(|frame| weighed(body, frame));
            tables.push((format!("{name}.{key}"), moments));
        }
    }
    tables.push(("child".to_owned(), weighed(found.child, child)));
    let missing: Vec<&str> =
        tables.iter().filter(|(_, body)| body.is_none()).map(|(key, _)| key.as_str()).collect();
    if !missing.is_empty() {
        let why =
            format!("the file gives no mass of {}: inertia is not judged", missing.join(", "));
        remarks.push(Obstacle::new("no_mass", why));
        return String::new();
    }
    tables.push(("middle".to_owned(), found.middle.and_then(|link| weighed(link, middle))));
    let own = beside_the_world(robot, bodies, found.parent);
    let own = as_read(robot, own, &carrier.pose).map(|moments| moments.body());
    tables.push(("carrier".to_owned(), own));
    let tables: Vec<(&str, Option<Body>, &str)> =
        tables.iter().map(|(key, body)| (key.as_str(), *body, "")).collect();
    mass_tables(&tables)
}
