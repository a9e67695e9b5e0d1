//! Who drives a loop, what it carries, and why each was taken.
//!
//! The motor is known from the file's drives, through tendons and ties too, or told. The child is the part that does
//! something: it touches things, bears joints, links or sensors, is more than a bar to look at. Where neither says
//! anything nothing is guessed: the loop is measured both ways and not judged.

use super::FindOptions;
use super::bearing::{Bearing, bearing};
use super::cycles::Bodies;
use super::drives::{Drives, JointDrive, line};
use super::obstacle::Obstacle;
use super::ring::Ring;
use crate::robot::{JointId, LinkId, Robot};

/// Who drives, and what is carried.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Roles {
    /// The motor's joint; `None` where nothing says which it is.
    pub motor: Option<JointId>,
    /// How the motor is known, as a clause.
    pub motor_told_by: String,
    /// Which end of the linkage the motor sits on.
    pub seat: MotorSeat,
    /// What drives the motor's joint itself; empty where it is tied to a driven one, or was told.
    pub drives: Vec<JointDrive>,
    /// The driven joint that the motor's is tied to by an equality, a mimic or a gearbox: the two are one motor.
    pub tied_to: Option<JointId>,
    /// How the child was told from the other bodies, as a clause.
    pub child_told_by: String,
    /// Why the coupler is what is carried, as a clause: the loop is a parallel jaw. `None` where the child is carried.
    pub jaw_told_by: Option<String>,
}

words! {
    /// Which end of a linkage the motor sits on.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum MotorSeat {
        /// On the crank: the linkage drives the child.
        Crank = "crank",
        /// On the child's own joint: crank and rod only follow.
        Child = "child",
    }
}

/// What a ring is looked at with.
#[derive(Clone, Copy)]
pub(super) struct Look<'a> {
    pub(super) robot: &'a Robot,
    pub(super) bodies: &'a Bodies,
    pub(super) drives: &'a Drives,
    /// What the user says of the roles.
    pub(super) told: FindOptions<'a>,
}

/// A ring walked crank first, with its roles and what stands against them.
pub(super) struct Cast {
    pub(super) ring: Ring,
    pub(super) roles: Roles,
    pub(super) obstacles: Vec<Obstacle>,
}

/// Which end of the ring the motor sits on, by the pin's number: 0 or the last.
#[derive(Clone, Debug)]
pub(super) struct Motor {
    pub(super) pin: usize,
    pub(super) told_by: String,
    pub(super) tied_to: Option<JointId>,
}

/// The pins of the ring that a motor works on, and how that is known. Told ones go before those of the file, and those
/// before joints that are tied to a driven one elsewhere.
pub(super) fn driven_pins(look: Look<'_>, ring: &Ring) -> Vec<usize> {
    motors(look, ring).into_iter().map(|motor| motor.pin).collect()
}

pub(super) fn motors(Look { robot, drives, told, .. }: Look<'_>, ring: &Ring) -> Vec<Motor> {
    let joints: Vec<(usize, JointId)> =
        ring.pins.iter().enumerate().filter_map(|(k, pin)| Some((k, pin.joint?))).collect();
    let each = |one: &dyn Fn(JointId) -> Option<(String, Option<JointId>)>| -> Vec<Motor> {
        let known = joints.iter().filter_map(|(pin, joint)| Some((*pin, one(*joint)?)));
        known.map(|(pin, (told_by, tied_to))| Motor { pin, told_by, tied_to }).collect()
    };
    let stated = ring.stated(robot);
    let said = each(&|joint| {
        let name = &robot.joints.get(joint)?.name;
        let is_said = told.motors.contains(name) || stated.motor == Some(joint);
        is_said.then(|| ("as told".to_owned(), None))
    });
    if !said.is_empty() {
        return said;
    }
    let driven = each(&|joint| {
        let drive = drives.on(joint).first()?;
        Some((format!("{} drives it", drive.called(robot)), None))
    });
    if !driven.is_empty() {
        return driven;
    }
    let led = told.motors.iter().filter_map(|name| robot.joint_named(name));
    let led: Vec<JointId> = led.collect();
    each(&|joint| {
        let told = led.iter().copied().find(|leader| drives.tied(*leader, joint));
        let leader = told.or_else(|| drives.leader(joint))?;
        let name = robot.joint_name(leader);
        let at = drives
            .tie_of(joint)
            .map_or(String::new(), |place| format!(" ({})", line(robot, place)));
        let how = if told.is_some() { "joint that is told," } else { "driven joint" };
        Some((format!("it is tied to the {how} {name:?}{at}"), Some(leader)))
    })
}

/// Gives crank and child their places. `ring` has four bodies, the carrier first.
pub(super) fn cast(look: Look<'_>, ring: Ring) -> Cast {
    let Look { robot, bodies, drives, .. } = look;
    let found = motors(look, &ring);
    let (at_ends, at_rod): (Vec<Motor>, Vec<Motor>) =
        found.into_iter().partition(|motor| motor.pin == 0 || motor.pin == 3);
    let mut obstacles: Vec<Obstacle> =
        at_rod.iter().map(|motor| driven_pin(&ring, motor)).collect();
    let motor = match at_ends.as_slice() {
        [only] => Some(only),
        [_, _] => {
            obstacles.push(driven_twice(&at_ends));
            None
        }
        _ => None,
    };
    if at_ends.is_empty() && at_rod.is_empty() {
        obstacles.push(motor_unknown());
    }
    let borne = [1, 2, 3].map(|k| bearing(robot, bodies, &ring, k));
    let child = child(look, &ring, &borne, motor.map(|motor| motor.pin));
    obstacles.extend(child.obstacle.clone());
    let is_turned = child.end == 1;
    let seat = match motor {
        Some(motor) if (motor.pin == 0) == is_turned => MotorSeat::Child,
        _ => MotorSeat::Crank,
    };
    let joint = motor.and_then(|motor| ring.pins.get(motor.pin)?.joint);
    let roles = Roles {
        motor: joint,
        motor_told_by: motor.map_or("nothing says which".to_owned(), |m| m.told_by.clone()),
        seat,
        drives: joint.map_or_else(Vec::new, |joint| drives.on(joint).to_vec()),
        tied_to: motor.and_then(|motor| motor.tied_to),
        child_told_by: child.told_by,
        jaw_told_by: child.jaw,
    };
    let ring = if is_turned { ring.reversed() } else { ring };
    obstacles.extend(crank_bears(robot, &ring));
    Cast { ring, roles, obstacles }
}

/// Which end of the ring is the child: body 1 or body 3.
struct Child {
    end: usize,
    told_by: String,
    obstacle: Option<Obstacle>,
    /// The coupler is what is carried, and why.
    jaw: Option<String>,
}

impl Child {
    fn at(end: usize, told_by: String) -> Self {
        Self { end, told_by, obstacle: None, jaw: None }
    }
}

fn child(look: Look<'_>, ring: &Ring, borne: &[Bearing; 3], motor: Option<usize>) -> Child {
    let robot = look.robot;
    let opposite = opposite(ring, borne, motor);
    match told_child(look, ring) {
        Some(2) => return Child { jaw: Some("as told".to_owned()), obstacle: None, ..opposite },
        Some(end) => return Child::at(end, "as told".to_owned()),
        None => {}
    }
    let strong = borne.each_ref().map(|one| one.strong.as_deref());
    let weak = borne.each_ref().map(|one| one.weak.as_deref());
    for evidence in [strong, weak] {
        match evidence {
            [None, None, None] => {}
            [first, Some(why), last] => {
                return on_coupler((ring, robot), why, [first, last], motor, opposite);
            }
            [first, None, last] => return by_evidence([first, last], opposite),
        }
    }
    Child {
        obstacle: opposite.obstacle.clone().or_else(|| heavy(ring, robot, borne, motor)),
        ..opposite
    }
}

/// Where the end that would be carried is a bar the coupler is what is carried; with further joints on it, or two that
/// bear something, it is said that the coupler is no rod.
fn on_coupler(
    (ring, robot): (&Ring, &Robot),
    why: &str,
    [first, last]: [Option<&str>; 2],
    motor: Option<usize>,
    opposite: Child,
) -> Child {
    let other = match motor {
        Some(0) => last,
        Some(_) => first,
        None => first.or(last),
    };
    let has_joints = ring.spare.get(2).is_some_and(|spare| *spare > 0);
    if other.is_none() && !has_joints {
        return Child { jaw: Some(why.to_owned()), obstacle: None, ..opposite };
    }
    let tie = other.filter(|_| !has_joints).map(|why| {
        let end = name(ring, robot, opposite.end);
        format!("; {end:?} bears something too ({why}): name the one that is carried with --child")
    });
    let obstacle = coupler_bears(ring, robot, why, &tie.unwrap_or_default());
    Child { obstacle: Some(obstacle), ..opposite }
}

fn by_evidence(ends: [Option<&str>; 2], opposite: Child) -> Child {
    match ends {
        [Some(why), None] => Child::at(1, why.to_owned()),
        [None, Some(why)] => Child::at(3, why.to_owned()),
        _ => opposite,
    }
}

/// The end that the motor does not sit on; where it is not known the heavier, a body on a ball never being the crank.
fn opposite(ring: &Ring, borne: &[Bearing; 3], motor: Option<usize>) -> Child {
    if let Some(pin) = motor {
        return Child::at(
            if pin == 0 { 3 } else { 1 },
            "the motor sits on the other end".to_owned(),
        );
    }
    let hinged =
        |k: usize| ring.pins.get(k).is_some_and(|pin| pin.joint.is_some() && pin.axis.is_some());
    match (hinged(0), hinged(3)) {
        (true, false) => return Child::at(3, "only the other end is a hinge".to_owned()),
        (false, true) => return Child::at(1, "only the other end is a hinge".to_owned()),
        _ => {}
    }
    let [first, _, last] = borne.each_ref().map(|one| one.mass);
    Child::at(if first > last { 1 } else { 3 }, "it is not the lighter of the two".to_owned())
}

/// Nothing but mass says what is carried: then it must not be the crank or the rod that weighs most.
fn heavy(
    ring: &Ring,
    robot: &Robot,
    borne: &[Bearing; 3],
    motor: Option<usize>,
) -> Option<Obstacle> {
    let pin = motor?;
    let [first, coupler, last] = borne.each_ref().map(|one| one.mass);
    let (crank, child) = if pin == 0 { (first, last) } else { (last, first) };
    let crank_body = if pin == 0 { 1 } else { 3 };
    let heavier = if coupler > 2.0 * (crank + child) {
        2
    } else if crank > 2.0 * child.max(coupler) {
        crank_body
    } else {
        return None;
    };
    Some(Obstacle::new(
        "child_unknown",
        format!(
            "which body is the child? {:?} weighs most of the loop and nothing else tells: name it with --child",
            name(ring, robot, heavier)
        ),
    ))
}

pub(super) fn told_child(Look { robot, bodies, told, .. }: Look<'_>, ring: &Ring) -> Option<usize> {
    let stated = ring.stated(robot).child;
    let is_said = |link: LinkId| {
        let named = robot.links.get(link).is_some_and(|link| told.children.contains(&link.name));
        named || stated == Some(link)
    };
    (1..ring.bodies.len()).find(|k| {
        let Some(body) = ring.bodies.get(*k) else { return false };
        ring.members(*k, *body).flat_map(|body| bodies.links(body)).any(is_said)
    })
}

fn name<'a>(ring: &Ring, robot: &'a Robot, k: usize) -> &'a str {
    let before = k.checked_sub(1).and_then(|k| ring.pins.get(k));
    before.map_or("", |pin| robot.link_name(pin.links[1]))
}

pub(super) fn coupler_bears(ring: &Ring, robot: &Robot, why: &str, tie: &str) -> Obstacle {
    Obstacle::new(
        "coupler_bears",
        format!(
            "the coupler {:?} is more than a rod ({why}): its motion is no rocker's{tie}",
            name(ring, robot, 2)
        ),
    )
}

pub(super) fn crank_bears(robot: &Robot, ring: &Ring) -> Option<Obstacle> {
    let bears = ring.spare.get(1).is_some_and(|spare| *spare > 0);
    bears.then(|| {
        let message = format!("the crank {:?} bears further joints", name(ring, robot, 1));
        Obstacle::new("crank_bears", message)
    })
}

fn driven_pin(ring: &Ring, motor: &Motor) -> Obstacle {
    let pin = ring.pins.get(motor.pin).map_or("", |pin| pin.name.as_str());
    Obstacle::new("driven_pin", format!("{pin} is driven, a pin of the rod ({})", motor.told_by))
}

pub(super) fn driven_twice(motors: &[Motor]) -> Obstacle {
    let why: Vec<&str> = motors.iter().map(|motor| motor.told_by.as_str()).collect();
    Obstacle::new(
        "driven_twice",
        format!(
            "both joints on the carrier are driven ({}): name the motor's with --motor",
            why.join("; ")
        ),
    )
}

pub(super) fn motor_unknown() -> Obstacle {
    Obstacle::new(
        "motor_unknown",
        "which joint is the motor's? Nothing in the file drives this loop: name it with --motor JOINT, or motor = \"JOINT\" in its [[loop]]",
    )
}
