//! A loop as a design file that `check` reads.

use nalgebra::{Isometry3, Point3, Vector3};

use super::found::Jaw;
use super::four_bar::FourBarLoop;
use super::losses::Losses;
use super::motor_side::MotorSide;
use super::reach::{EndedBy, Reach, turns};
use super::roles::MotorSeat;
use super::written::{degrees, millimetres, quoted, rounded, short, without_dust};
use crate::design::Preset;
use crate::dynamics::{Body, Masses};
use crate::linkage::{Kind, Pad, nearest_special};
use crate::numeric::peaks;
use crate::robot::{FileJoint, Robot, tensor_entries};

/// Within this share of the longest length of a parallelogram the ratio is written as 1: the file's decimals.
const AS_DRAWN: f64 = 1e-4;

/// What a design file is made from.
#[derive(Clone, Copy)]
pub(super) struct DesignParts<'a> {
    pub(super) name: &'a str,
    pub(super) robot: &'a Robot,
    pub(super) found: &'a FourBarLoop,
    pub(super) reach: &'a Reach,
    pub(super) masses: Option<&'a Masses>,
    pub(super) preset: Preset,
    pub(super) jaw: Option<&'a Jaw>,
}

/// The text of the design file. The same loop gives the same bytes.
pub(super) fn design_text(parts: &DesignParts<'_>) -> String {
    let blocks = [
        head(parts),
        linkage(parts),
        zero(parts),
        stroke(parts),
        finger(parts),
        accept(parts),
        actuator(parts),
        masses(parts),
        robot(parts),
    ];
    blocks.into_iter().filter(|block| !block.is_empty()).collect::<Vec<_>>().join("\n")
}

fn head(parts: &DesignParts<'_>) -> String {
    let DesignParts { name, robot, found, .. } = parts;
    let place = robot.whereabouts(found.pins[3].place);
    let place = place.replace(|c: char| c.is_control(), " ");
    format!("# Read from {place}.\nname = {}\n", quoted(name))
}

fn linkage(parts: &DesignParts<'_>) -> String {
    let bars = parts.found.bars;
    let [ground, crank, coupler, rocker] =
        [bars.ground, bars.crank, bars.coupler, bars.rocker].map(millimetres);
    format!(
        "[linkage]                         # between pin centres, as the file has them: add the drawing's tolerances\n\
         ground  = \"{ground}\"\ncrank   = \"{crank}\"\ncoupler = \"{coupler}\"\nrocker  = \"{rocker}\"\n"
    )
}

/// The motor's and the joint's readings in the zero pose, in the file's own sense, rad.
pub(crate) fn readings(robot: &Robot, found: &FourBarLoop, reach: &Reach) -> [f64; 2] {
    let drawn =
        |id: Option<usize>| id.and_then(|id| robot.joints.get(id)).map_or(0.0, |j| j.drawn_at);
    [
        drawn(found.crank_joint()) + found.motor_sign() * reach.zero,
        drawn(found.joint()) + reach.zero_joint,
    ]
}

fn zero(parts: &DesignParts<'_>) -> String {
    let DesignParts { robot, found, reach, .. } = parts;
    let [motor, joint] = readings(robot, found, reach);
    let why = reach.zero_pose.why();
    format!(
        "[zero]                            # {why}\ncrank  = \"{}\"\nrocker = \"{}\"\nmotor_reads = \"{}\"\njoint_reads = \"{}\"\n\
         # set_by = \"jig\"                # how each built robot gets its zero, or \"drawing\": needed with a tolerance\n",
        degrees(reach.branch.zero_crank()),
        degrees(reach.branch.zero_rocker()),
        degrees(motor),
        degrees(joint),
    )
}

fn stroke(parts: &DesignParts<'_>) -> String {
    let DesignParts { robot, found, reach, .. } = parts;
    let [motor, joint] = readings(robot, found, reach);
    let turns_back = !reach.branch.dead_turns(reach.motor[0], reach.motor[1]).is_empty();
    let (key, reads, mut ends) = if turns_back || parts.jaw.is_some() {
        ("motor", motor, reach.motor)
    } else {
        ("joint", joint, reach.joint)
    };
    ends.sort_by(f64::total_cmp);
    let why = match reach.ended_by {
        EndedBy::Limits => "what the limits of the file's joints allow",
        EndedBy::TransmissionAngle => {
            "the file gives no limits: where the transmission angle is the preset's or more"
        }
        EndedBy::DeadPoint => {
            "what the limits of the file's joints allow, short of a dead point: the crank has no stop"
        }
    };
    let [low, high] = ends.map(|turn| degrees(reads + turn));
    format!("[stroke]                          # {why}\n{key} = [\"{low}\", \"{high}\"]\n")
}

/// The pad, and what it was taken from.
fn finger(parts: &DesignParts<'_>) -> String {
    let Some(jaw) = parts.jaw else { return String::new() };
    let Jaw { pad, point_told_by, closing_told_by, opening, .. } = jaw;
    let [x, y] = pad.point.map(millimetres);
    let [u, v] = pad.closing.map(|x| without_dust(rounded(x)));
    let (opening, why) = match opening {
        Some(opening) => (*opening, "between the two pads of the file"),
        None => (
            travelled(parts, pad),
            "not in the file: counted from the closed end of the stroke; put in the real one",
        ),
    };
    let other = if jaw.other.is_some() { "mirrored" } else { "none" };
    format!(
        "[finger]                          # a parallel jaw: the coupler carries the pad\n\
         pad     = \"coupler\"\n\
         point   = [\"{x}\", \"{y}\"]    # {}\n\
         closing = [{u:?}, {v:?}]    # {}\n\
         opening = \"{}\"    # {why}\n\
         other   = \"{other}\"\n",
        one_line(point_told_by),
        one_line(closing_told_by),
        millimetres(opening),
    )
}

fn one_line(text: &str) -> String {
    text.replace(|c: char| c.is_control(), " ")
}

/// The opening in the zero pose that leaves none at the closed end of the stroke, m.
fn travelled(parts: &DesignParts<'_>, pad: &Pad) -> f64 {
    let opened = |turn: f64| pad.at(&parts.reach.branch, turn).map_or(0.0, |pose| pose.opened);
    let [low, _] = peaks(opened, parts.reach.motor);
    (-low.1).max(0.0)
}

fn accept(parts: &DesignParts<'_>) -> String {
    let bars = parts.reach.branch.bars();
    let near = nearest_special(bars, parts.reach.branch.zero_crank(), parts.reach.branch.closure());
    let ratio = match near {
        Some((Kind::Parallelogram, off)) if off <= AS_DRAWN => {
            "[direct_joint]                    # a parallelogram but for the file's decimals\nratio = 1.0\n\n"
        }
        _ => "",
    };
    let preset = parts.preset.name();
    let ratio = if follows(parts) || parts.jaw.is_some() { "" } else { ratio };
    let free = if follows(parts) { FOLLOWS } else { "" };
    format!("{ratio}[accept]\npreset = \"{preset}\"\n{free}")
}

/// Crank and rod only follow a child that its own motor turns.
fn follows(parts: &DesignParts<'_>) -> bool {
    parts.found.roles.seat == MotorSeat::Child
}

/// No limits on what such a linkage does not do: it drives nothing.
const FOLLOWS: &str = "# The motor sits on the child's own joint, which is the direct joint; crank and rod only follow. What is judged is\n\
    # their inertia.\nangle  = \"360 deg\"\nratio  = \"1000000 %\"\ntransmission_angle = \"0.01 deg\"\n";

fn motor_joint<'a>(parts: &DesignParts<'a>) -> Option<&'a FileJoint> {
    parts.robot.joints.get(parts.found.motor()?)
}

fn actuator(parts: &DesignParts<'_>) -> String {
    let Some(joint) = motor_joint(parts).filter(|_| !follows(parts)) else { return String::new() };
    let actuator = parts.found.motor().and_then(|motor| parts.robot.actuator_of(motor));
    let stops = stops(parts, joint);
    MotorSide::new(joint, actuator.map(|a| &a.properties), losses(parts, joint)).text(stops)
}

/// Damping and friction at the motor's joint, with what the driven joint and the pins lose taken there by power, and the
/// armature of these: N m s/rad, N m, kg m².
fn losses(parts: &DesignParts<'_>, motor: &FileJoint) -> [f64; 3] {
    let lost = Losses::of_pins(parts.robot, parts.found, parts.reach).at_crank(parts.reach);
    [
        motor.damping.unwrap_or(0.0) + lost.damping,
        motor.friction.unwrap_or(0.0) + lost.friction,
        lost.armature,
    ]
}

/// The motor joint's limits as readings in the drawing's sense, where both ends are there.
fn stops(parts: &DesignParts<'_>, joint: &FileJoint) -> Option<[f64; 2]> {
    let ends = turns(joint, parts.found.motor_sign())?;
    let [motor, _] = readings(parts.robot, parts.found, parts.reach);
    ends.iter().all(|end| end.is_finite()).then(|| ends.map(|end| motor + end - parts.reach.zero))
}

fn masses(parts: &DesignParts<'_>) -> String {
    let Some(masses) = parts.masses else { return String::new() };
    let own = parts.found.pins[3].links[1];
    let carrier = parts.robot.links.get(own).and_then(|link| {
        let frame = super::masses::DrawingFrames::new(parts.found).carrier;
        Some(masses.carrier?.seen_from(&(link.pose.inverse() * frame)))
    });
    let tables = [
        ("crank", masses.crank, ""),
        ("coupler", masses.coupler, ""),
        ("child", Some(masses.child), ""),
        ("carrier", carrier, "frame   = \"robot\"\n"),
    ];
    mass_tables(&tables)
}

/// Tables of bodies that weigh something, each with its key and what else stands in it.
pub(super) fn mass_tables(tables: &[(&str, Option<Body>, &str)]) -> String {
    let table = |(key, body, frame): &(&str, Option<Body>, &str)| {
        Some(format!("[mass.{key}]\n{}{frame}", body_lines(&(*body)?)))
    };
    tables.iter().filter_map(table).collect::<Vec<_>>().join("\n")
}

fn body_lines(body: &Body) -> String {
    let center: Vec<String> = body.centre.iter().map(|x| quoted(&millimetres(*x))).collect();
    let entries = tensor_entries(&body.tensor());
    let largest = entries.iter().fold(0.0_f64, |most, x| most.max(x.abs()));
    let entry = |x: &f64| short(if x.abs() < 1e-12 * largest { 0.0 } else { *x });
    let inertia: Vec<String> = entries.iter().map(|x| format!("\"{} kg m2\"", entry(x))).collect();
    format!(
        "mass    = \"{} kg\"\ncenter  = [{}]\ninertia = [{}]\n",
        short(body.mass),
        center.join(", "),
        inertia.join(", ")
    )
}

fn robot(parts: &DesignParts<'_>) -> String {
    let DesignParts { robot, found, .. } = parts;
    let [child, parent] = found.pins[3].links;
    let (Some(parent), Some(child)) = (robot.links.get(parent), robot.links.get(child)) else {
        return String::new();
    };
    let jaw = parts.jaw;
    let named = if jaw.is_some() { found.crank_joint() } else { found.joint() };
    let carried = if jaw.is_some() { robot.links.get(found.links[2]) } else { Some(child) };
    let (Some(joint), Some(child)) = (named.and_then(|id| robot.joints.get(id)), carried) else {
        return String::new();
    };
    let names = [&joint.name, &parent.name, &child.name];
    if names.iter().any(|name| name.is_empty()) || parent.name == child.name {
        return String::new();
    }
    let [origin, motor] = places(found, &parent.pose);
    let axis = parent.pose.rotation.inverse() * found.axis;
    let point =
        |p: Point3<f64>| p.iter().map(|x| quoted(&millimetres(*x))).collect::<Vec<_>>().join(", ");
    let largest = axis.amax();
    let axis = axis.map(|x| if x.abs() < 1e-12 * largest { 0.0 } else { rounded(x) });
    format!(
        "[[robot]]\njoint    = {}\nparent   = {}\nchild    = {}\naxis     = [{:?}, {:?}, {:?}]\norigin   = [{}]\nmotor_at = [{}]\nmotor_sign = {}\n",
        quoted(names[0]),
        quoted(names[1]),
        quoted(names[2]),
        axis.x,
        axis.y,
        axis.z,
        point(origin),
        point(motor),
        found.motor_sign(),
    ) + &jaw.map_or(String::new(), |jaw| gripper(robot, found, jaw))
}

/// What a gripper's further joints and links are called, where the file names them.
fn gripper(robot: &Robot, found: &FourBarLoop, jaw: &Jaw) -> String {
    let other = jaw.other.as_ref().map(|other| &other.four_bar);
    let joint = |id: Option<usize>| id.map_or("", |id| robot.joint_name(id));
    let link = |id: Option<usize>| id.map_or("", |id| robot.link_name(id));
    let names = [
        ("crank_link", link(Some(found.links[1]))),
        ("pad_joint", joint(found.pins[1].joint)),
        ("other_joint", joint(other.and_then(|other| other.pins[0].joint))),
        ("other_pad_joint", joint(other.and_then(|other| other.pins[1].joint))),
        ("other_crank_link", link(other.map(|other| other.links[1]))),
        ("other_child", link(other.map(|other| other.links[2]))),
    ];
    let given = names.into_iter().filter(|(_, name)| !name.is_empty());
    given.map(|(key, name)| format!("{key} = {}\n", quoted(name))).collect()
}

/// Joint axis and motor axis in the parent link's frame, at the height of the driven joint's pin.
fn places(found: &FourBarLoop, parent: &Isometry3<f64>) -> [Point3<f64>; 2] {
    let base = found.pins[3].points[1];
    let motor = found.pins[0].points[0];
    let level: Vector3<f64> = found.axis * found.axis.dot(&(motor - base));
    [base, motor - level].map(|point| parent.inverse_transform_point(&point))
}
