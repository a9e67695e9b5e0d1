//! One motor's side of a double loop: crank and rod, or housing and nut, as the file has them.

use std::f64::consts::TAU;

use nalgebra::{Isometry3, Point3};

use super::super::bearing::bearing;
use super::super::drive_shapes::lead_of;
use super::super::drives::{JointDrive, line};
use super::super::obstacle::Obstacle;
use super::super::pins::{LoopPin, joint_called};
use super::super::restraints::restraints;
use super::super::ring::Ring;
use super::super::roles::Look;
use super::vector;
use crate::drive::{Axis, DrawnLeg, Vector};
use crate::robot::{FileJoint, JointId, JointKind, LinkId, Robot};

/// A rod's length and the distance of its pins as drawn may differ by this, m; further off the design would not be read.
const GAP: f64 = 1e-4;

/// The same of what slides, whose reading would not fit, m.
const SLIDE_GAP: f64 = 1e-6;

/// Hinges of a rod's end that pass each other by more than this are no ball, m.
const APART: f64 = 1e-6;

/// Where legs are looked at.
pub(super) struct Place<'a> {
    pub(super) look: Look<'a>,
    /// From the model's frame to the carrier link's.
    pub(super) frame: Isometry3<f64>,
    /// How many pins of a ring both share.
    pub(super) pins: usize,
}

impl Place<'_> {
    fn point(&self, at: Point3<f64>) -> Vector {
        vector((self.frame * at).coords)
    }
}

/// What a ring holds beside the joints that both share.
pub(super) struct FoundLeg {
    pub(super) drawn: DrawnLeg,
    pub(super) motor: JointId,
    /// What the motor reads in the drawn pose, as a turn about its axis in rad.
    pub(super) reads: f64,
    pub(super) per_reading: f64,
    pub(super) has_no_screw: bool,
    pub(super) bodies: [LinkId; 2],
}

/// Of a ring that leaves the carrier over the motor's side; what keeps it from being a leg goes to `obstacles`.
pub(super) fn read(
    place: &Place<'_>,
    ring: &Ring,
    obstacles: &mut Vec<Obstacle>,
) -> Option<FoundLeg> {
    let own = ring.pins.get(..ring.pins.len().checked_sub(place.pins)?)?;
    let [motor, middle, foot] = own else {
        let names: Vec<&str> = own.iter().map(|pin| pin.name.as_str()).collect();
        obstacles.push(Obstacle::new(
            "not_four_joints",
            format!(
                "{} pins instead of three lie between carrier and {}: {}",
                own.len(),
                "the body that both loops turn",
                names.join(", ")
            ),
        ));
        return None;
    };
    for pin in own {
        obstacles.extend(pin_faults(place, ring, pin));
    }
    for part in [1, 2] {
        if let Some(why) = bearing(place.look.robot, place.look.bodies, ring, part).strong {
            let name = place.look.robot.link_name(*ring.bodies.get(part)?);
            let why = format!("{name:?} is more than a crank or rod: {why}");
            let code = if part == 1 { "crank_bears" } else { "coupler_bears" };
            obstacles.push(Obstacle::new(code, why));
        }
    }
    let bodies = [*ring.bodies.get(1)?, *ring.bodies.get(2)?];
    let read = match (motor.axis, middle.slide) {
        (Some(_), None) => crank(place, [motor, middle, foot]),
        (None, Some(_)) => actuator(place, [motor, middle, foot]),
        _ => Err(Obstacle::new(
            "other_joint",
            format!(
                "{} and {} are neither a crank's hinge with its rod nor an actuator's ball with its slide",
                motor.name, middle.name
            ),
        )),
    };
    let leg = read.map_err(|why| obstacles.push(why)).ok()?;
    Some(FoundLeg { bodies, ..leg }).filter(|leg| has_motor(place.look, ring, leg.motor, obstacles))
}

/// A motor, and one alone, works on the joint.
fn has_motor(look: Look<'_>, ring: &Ring, motor: JointId, obstacles: &mut Vec<Obstacle>) -> bool {
    let Look { robot, drives, told, .. } = look;
    let name = robot.joint_name(motor);
    let is_told = told.motors.iter().any(|one| one == name);
    let is_stated = ring.stated(robot).motor == Some(motor);
    let found = match drives.on(motor) {
        [JointDrive::Actuator(_)] => None,
        [] if is_told || is_stated => None,
        [] => Some((
            "motor_unknown",
            "nothing in the file drives it: name it with --motor".to_owned(),
        )),
        [other] => Some(("driven_twice", format!("{} drives it with others", other.called(robot)))),
        several => {
            let all: Vec<String> = several.iter().map(|one| one.called(robot)).collect();
            Some(("driven_twice", format!("{} drive it", all.join(", "))))
        }
    };
    let is_known = found.is_none();
    obstacles.extend(found.map(|(code, why)| {
        Obstacle::new(code, format!("joint {name:?} would be a motor's: {why}"))
    }));
    is_known
}

/// What a joint must not have, whichever it is: a spring, a tie to another.
fn bound(look: Look<'_>, id: JointId) -> Option<Obstacle> {
    let (robot, joint) = (look.robot, look.robot.joints.get(id)?);
    let called = joint_called(robot, joint);
    if joint.stiffness.is_some() {
        let why = format!(
            "{called} has a spring ({}): a drive of two rods has none",
            line(robot, joint.place)
        );
        return Some(Obstacle::new("spring", why));
    }
    if let Some(why) = restraints(robot, &[id]).pop() {
        return Some(why);
    }
    let tie = look.drives.tie_of(id)?;
    let why = format!("{called} is tied to another joint besides ({})", line(robot, tie));
    Some(Obstacle::new("driven_pin", why))
}

/// What a joint must not have that no motor turns: the same and a drive of its own.
pub(super) fn disturbed(look: Look<'_>, id: JointId) -> Option<Obstacle> {
    let joint = look.robot.joints.get(id)?;
    let called = joint_called(look.robot, joint);
    if let Some(drive) = look.drives.on(id).first() {
        let why =
            format!("{called} is driven itself, not by a crank ({})", drive.called(look.robot));
        return Some(Obstacle::new("driven_pin", why));
    }
    if look.told.motors.contains(&joint.name) {
        let why = format!("{called} was told to be a motor's and is no crank's hinge");
        return Some(Obstacle::new("driven_pin", why));
    }
    bound(look, id)
}

fn pin_faults(place: &Place<'_>, ring: &Ring, pin: &LoopPin) -> Vec<Obstacle> {
    let is_first = ring.pins.first().is_some_and(|first| first.joints == pin.joints);
    let moves = pin.slide.is_some() || is_first && pin.axis.is_some();
    let fault = |id: &JointId| {
        if moves { bound(place.look, *id) } else { disturbed(place.look, *id) }
    };
    pin.joints.iter().filter_map(fault).collect()
}

/// Whether two hinges or a ball hold a rod's end, with the points of both bodies.
struct End {
    points: [Point3<f64>; 2],
    is_ball: bool,
}

fn end(robot: &Robot, pin: &LoopPin) -> Result<End, Obstacle> {
    let joints: Vec<&FileJoint> =
        pin.joints.iter().filter_map(|id| robot.joints.get(*id)).collect();
    let kinds: Vec<JointKind> = joints.iter().map(|joint| joint.kind).collect();
    match (pin.closures.len(), kinds.as_slice()) {
        (1, []) | (0, [JointKind::Ball]) => Ok(End { points: pin.points, is_ball: true }),
        (0, [JointKind::Universal]) => Ok(End { points: pin.points, is_ball: false }),
        (0, [JointKind::Revolute, JointKind::Revolute]) => match joints.as_slice() {
            [first, second] => met(first, second)
                .map(|at| End { points: [at; 2], is_ball: false })
                .ok_or_else(|| no_ball(pin, "its two hinges do not meet in a point")),
            _ => Err(no_ball(pin, "it is no ball")),
        },
        _ => Err(no_ball(
            pin,
            "it is neither a ball nor two hinges that meet, and the rod could not follow",
        )),
    }
}

fn no_ball(pin: &LoopPin, why: &str) -> Obstacle {
    Obstacle::new("over_constrained", format!("{} holds an end of a rod: {why}", pin.name))
}

/// Where two axes meet; `None` where they do not, or are one.
fn met(first: &FileJoint, second: &FileJoint) -> Option<Point3<f64>> {
    let square = first.axis.cross(&second.axis);
    let size = square.norm_squared();
    let between = second.anchor - first.anchor;
    if size < 1e-2 || between.dot(&square).abs() > APART * size.sqrt() {
        return None;
    }
    Some(first.anchor + first.axis * (between.cross(&second.axis).dot(&square) / size))
}

/// Both ends of a rod; one of them at least is a ball.
fn ends(robot: &Robot, pins: [&LoopPin; 2]) -> Result<[End; 2], Obstacle> {
    let [first, second] = pins;
    let found = [end(robot, first)?, end(robot, second)?];
    if found.iter().any(|end| end.is_ball) {
        return Ok(found);
    }
    Err(no_ball(first, "with two hinges at the other end too it is locked: one must be a ball"))
}

fn hinge(robot: &Robot, pin: &LoopPin) -> Result<(JointId, f64), Obstacle> {
    let found = pin.joint.and_then(|id| Some((id, robot.joints.get(id)?.drawn_at)));
    found.ok_or_else(|| Obstacle::new("no_hinge", format!("{} is no joint of the file", pin.name)))
}

fn crank(
    place: &Place<'_>,
    [motor, at_crank, at_foot]: [&LoopPin; 3],
) -> Result<FoundLeg, Obstacle> {
    let robot = place.look.robot;
    let (joint, reads) = hinge(robot, motor)?;
    let [p, q] = ends(robot, [at_crank, at_foot])?;
    // Each body's own lengths: the rod's between its own pins.
    let own = (q.points[0] - p.points[1]).norm();
    let drawn = (q.points[1] - p.points[0]).norm();
    let gap = drawn - own;
    if gap.abs() > GAP
        || (p.points[1] - p.points[0]).norm() > GAP
        || (q.points[1] - q.points[0]).norm() > GAP
    {
        return Err(open(at_foot, [own, drawn]));
    }
    let along = motor.axis.ok_or_else(|| no_ball(motor, "it is no hinge"))?;
    Ok(FoundLeg {
        drawn: DrawnLeg::Crank {
            motor: Axis {
                point: place.point(motor.points[0]),
                direction: vector(place.frame * along),
            },
            crank: place.point(p.points[0]),
            foot: place.point(q.points[1]),
            rod: (gap.abs() > 1e-12).then_some(own),
        },
        motor: joint,
        reads,
        per_reading: 1.0,
        has_no_screw: false,
        bodies: [0; 2],
    })
}

fn open(pin: &LoopPin, [own, drawn]: [f64; 2]) -> Obstacle {
    let why = format!(
        "the loop is drawn open at {}: the rod is {:.3} mm long and its pins stand {:.3} mm apart. Draw it closed",
        pin.name,
        1e3 * own,
        1e3 * drawn
    );
    Obstacle::new("drawn_open", why)
}

fn actuator(place: &Place<'_>, [pin, slide, foot]: [&LoopPin; 3]) -> Result<FoundLeg, Obstacle> {
    let robot = place.look.robot;
    let (joint, reads) = hinge(robot, slide)?;
    let [a, q] = ends(robot, [pin, foot])?;
    let along = slide.slide.ok_or_else(|| no_ball(slide, "it does not slide"))?;
    if [&a, &q].iter().any(|end| (end.points[1] - end.points[0]).norm() > SLIDE_GAP) {
        let between = (q.points[1] - a.points[0]).norm();
        return Err(open(foot, [(q.points[0] - a.points[1]).norm(), between]));
    }
    let between = q.points[1] - a.points[0];
    let offset = (between - along * along.dot(&between)).norm();
    let gear = robot.actuator_of(joint).map(|one| one.gear);
    let (lead, has_no_screw) = lead_of(gear);
    Ok(FoundLeg {
        drawn: DrawnLeg::Actuator {
            pin: place.point(a.points[0]),
            foot: place.point(q.points[1]),
            line_offset: if offset < 1e-9 * between.norm() { 0.0 } else { offset },
            lead: lead * along.dot(&between).signum(),
            lengths: None,
        },
        motor: joint,
        reads: reads * TAU / lead,
        per_reading: TAU / lead,
        has_no_screw,
        bodies: [0; 2],
    })
}
