//! Two loops that turn one body about pitch and roll: each a crank, or an actuator, with a rod to that body.
//!
//! Both loops share the two hinges of the body and nothing else. Such a pair is one drive of kind `two_rods`; neither of its
//! loops is a drive of one joint. A pair that shares two joints and is something else is named with what keeps it from being
//! that.

mod judged;
mod leg;
mod text;
mod view;

use nalgebra::Vector3;

use super::found::FoundLoop;
use super::motor_side::MotorSide;
use super::obstacle::Obstacle;
use super::pins::{LoopPin, joint_called};
use super::ring::Ring;
use super::roles::Look;
use crate::design::TwoJointDesign;
use crate::drive::{Axis, TwoRodsDrawing, Vector};
use crate::robot::{FileJoint, JointId, JointKind, LinkId, Robot};
use crate::study::{RegionCheck, TwoMotors};

use leg::FoundLeg;

pub(super) use judged::judge;
pub(super) use view::two_joint_loops;

/// Two loops on the same two joints.
#[derive(Clone, Debug)]
pub struct TwoJointLoops {
    /// The name of the body that both turn.
    pub name: String,
    /// Names of both loops.
    pub loops: [String; 2],
    /// Names of pitch and roll, in that order from the carrier on.
    pub joints: [String; 2],
    /// Names of the motors' joints; empty where one is not known.
    pub motors: [String; 2],
    /// `file:line:column` of pitch.
    pub whereabouts: String,
    /// The drive; `None` where it is none of this kind.
    pub drive: Option<TwoRodsInFile>,
    /// What stands against two direct joints, the verdict aside.
    pub obstacles: Vec<Obstacle>,
    /// What else the user should know, each a clause.
    pub remarks: Vec<Obstacle>,
    /// Its design file.
    pub text: Option<String>,
    /// The same read and checked.
    pub judged: Option<JudgedTwoJoints>,
}

/// The drive of two joints that a file holds, as its drawn pose has it.
#[derive(Clone, Debug)]
pub struct TwoRodsInFile {
    /// Points and axes in the carrier link's frame; axes point as the file's joints count.
    pub drawing: TwoRodsDrawing,
    /// Pitch and roll.
    pub joints: [JointId; 2],
    /// The motors' joints.
    pub motors: [JointId; 2],
    /// The carrier's link, the link between the joints where there is one, the child's.
    pub parent: LinkId,
    /// The link between both joints; `None` where the file has both on the child itself.
    pub middle: Option<LinkId>,
    /// The link that both loops turn.
    pub child: LinkId,
    /// What pitch and roll read in the drawn pose, rad.
    pub joint_reads: [f64; 2],
    /// What the motors read where the drive stands in its zero pose, rad.
    pub motor_reads: [f64; 2],
    /// Motor turn per reading of its joint: 1 of a crank, of a slide rad/m.
    pub per_reading: [f64; 2],
    /// Limits of pitch and roll, readings in rad.
    pub region: [[f64; 2]; 2],
    /// The lead of a motor's screw is not in the file.
    pub has_no_screw: [bool; 2],
    /// What moves with each motor: crank and rod, or housing and nut.
    pub bodies: [[LinkId; 2]; 2],
    /// The pins of both loops, each from the carrier over the motor's side on.
    pub pins: [Vec<LoopPin>; 2],
}

/// A double loop as a design, checked.
#[derive(Clone, Debug)]
pub struct JudgedTwoJoints {
    /// Its design file, read.
    pub design: TwoJointDesign,
    /// The drive over its region.
    pub of: TwoMotors,
    /// What `check` finds.
    pub check: RegionCheck,
}

impl TwoRodsInFile {
    /// What the file says at each motor, by its own turn, with nothing of what goes; `None` where it has no such joint.
    #[must_use]
    pub fn motor_sides(&self, robot: &Robot) -> [Option<MotorSide>; 2] {
        text::motor_sides(robot, self)
    }

    /// The lengths that an engineer names a leg by, m, with their names.
    #[must_use]
    pub fn figures(&self, leg: usize) -> Vec<(&'static str, f64)> {
        use crate::drive::DrawnLeg::{Actuator, Crank};
        match self.drawing.legs.get(leg) {
            Some(Crank { motor, crank, foot, rod }) => {
                let arm = motor.foot(*crank).map_or(f64::NAN, |at| (*crank - at).length());
                vec![("crank_m", arm), ("rod_m", rod.unwrap_or((*foot - *crank).length()))]
            }
            Some(Actuator { pin, foot, line_offset, lead, .. }) => vec![
                ("length_m", (*foot - *pin).length()),
                ("line_offset_m", *line_offset),
                ("lead_m", *lead),
            ],
            None => Vec::new(),
        }
    }
}

/// The pairs among the rings that share two joints, in the order of their first ring; `loops` are those of the rings.
pub(super) fn pairs(look: Look<'_>, rings: &[Ring], loops: &[FoundLoop]) -> Vec<TwoJointLoops> {
    let mut found = Vec::new();
    for (k, ring) in rings.iter().enumerate() {
        let others = rings.iter().enumerate().filter(|(at, _)| *at != k);
        let sharing: Vec<(usize, Vec<JointId>)> = others
            .map(|(at, other)| (at, shared(ring, other)))
            .filter(|(_, joints)| joints.len() >= 2)
            .collect();
        let Some((first, joints)) = sharing.first().filter(|(at, _)| *at > k) else { continue };
        let named = |at: usize| loops.get(at).map_or(String::new(), |one| one.name.clone());
        let Some(other) = rings.get(*first) else { continue };
        let mut one = pair(look, [ring, other], joints);
        one.loops = [named(k), named(*first)];
        if sharing.len() > 1 {
            let names: Vec<String> = sharing.iter().map(|(at, _)| named(*at)).collect();
            let why =
                format!("{} loops share both joints ({})", sharing.len() + 1, names.join(", "));
            one.obstacles.push(Obstacle::new("shares_joints", why));
            one.drive = None;
        }
        found.push(one);
    }
    found
}

/// The joints of the one that the other has too, from the carrier on.
fn shared(ring: &Ring, other: &Ring) -> Vec<JointId> {
    let of = |ring: &Ring| -> Vec<JointId> {
        ring.pins.iter().flat_map(|pin| pin.joints.iter().copied()).collect()
    };
    let (own, others) = (of(ring), of(other));
    own.into_iter().filter(|joint| others.contains(joint)).collect()
}

fn pair(look: Look<'_>, rings: [&Ring; 2], joints: &[JointId]) -> TwoJointLoops {
    let robot = look.robot;
    let rings = rings.map(|ring| from_the_motor(ring.clone(), joints));
    let mut obstacles = Vec::new();
    let read = read(look, &rings, joints, &mut obstacles);
    let seat = universal(robot, joints).map(|u| u.joints);
    let name = |id: Option<JointId>| id.map_or(String::new(), |id| robot.joint_name(id).to_owned());
    let ends = [joints.first(), joints.last()].map(|id| id.copied());
    let [pitch, roll] = seat.map_or(ends, |joints| joints.map(Some));
    let child = roll.and_then(|id| Some(robot.link_name(robot.joints.get(id)?.child).to_owned()));
    let motors = read.as_ref().map(|one| one.motors.map(Some)).unwrap_or_default();
    TwoJointLoops {
        name: child.unwrap_or_default(),
        loops: Default::default(),
        joints: [name(pitch), name(roll)],
        motors: motors.map(name),
        whereabouts: pitch
            .and_then(|id| Some(robot.whereabouts(robot.joints.get(id)?.place)))
            .unwrap_or_default(),
        drive: read.filter(|_| obstacles.is_empty()),
        remarks: Vec::new(),
        obstacles,
        text: None,
        judged: None,
    }
}

/// The ring so that it leaves the carrier over its own pin, not over the joints that both share.
fn from_the_motor(ring: Ring, joints: &[JointId]) -> Ring {
    let is_shared = |pin: &LoopPin| pin.joints.iter().any(|id| joints.contains(id));
    if ring.pins.first().is_some_and(is_shared) { ring.reversed() } else { ring }
}

/// Pitch and roll with their links.
struct Universal {
    joints: [JointId; 2],
    links: [LinkId; 3],
    has_middle: bool,
}

/// Two hinges one behind the other; `None` where the joints are something else.
fn universal(robot: &Robot, joints: &[JointId]) -> Option<Universal> {
    let [a, b] = joints else { return None };
    let (first, second) = (robot.joints.get(*a)?, robot.joints.get(*b)?);
    let is_hinge = |joint: &FileJoint| joint.kind == JointKind::Revolute;
    if !is_hinge(first) || !is_hinge(second) {
        return None;
    }
    // In a body with both the first that is written is next to the parent.
    if first.parent == second.parent && first.child == second.child {
        let links = [first.parent, first.child, first.child];
        return Some(Universal { joints: [*a.min(b), *a.max(b)], links, has_middle: false });
    }
    let in_order = |joints: [JointId; 2], pitch: &FileJoint, roll: &FileJoint| {
        let links = [pitch.parent, pitch.child, roll.child];
        (pitch.child == roll.parent).then_some(Universal { joints, links, has_middle: true })
    };
    in_order([*a, *b], first, second).or_else(|| in_order([*b, *a], second, first))
}

fn read(
    look: Look<'_>,
    rings: &[Ring; 2],
    joints: &[JointId],
    obstacles: &mut Vec<Obstacle>,
) -> Option<TwoRodsInFile> {
    let robot = look.robot;
    let Some(seat) = universal(robot, joints) else {
        let names: Vec<&str> = joints.iter().map(|id| robot.joint_name(*id)).collect();
        obstacles.push(Obstacle::new(
            "other_joint",
            format!(
                "both loops share {}: they are not two hinges one behind the other, pitch in the carrier and roll carried by it",
                names.join(", ")
            ),
        ));
        return None;
    };
    let carrier = look.bodies.of_link(seat.links[0]);
    if rings.iter().any(|ring| ring.bodies.first() != Some(&carrier)) {
        obstacles.push(Obstacle::new(
            "motor_elsewhere",
            format!(
                "the motors do not sit on {:?}, on which {:?} turns",
                robot.link_name(seat.links[0]),
                robot.joint_name(seat.joints[0])
            ),
        ));
        return None;
    }
    let region = seated(look, rings, &seat, obstacles);
    let frame = robot.links.get(seat.links[0])?.pose.inverse();
    let place = leg::Place { look, frame, pins: if seat.has_middle { 2 } else { 1 } };
    let legs = rings.each_ref().map(|ring| leg::read(&place, ring, obstacles));
    let [Some(first), Some(second)] = legs else { return None };
    let axis = |id: JointId| {
        let joint = robot.joints.get(id)?;
        Some(Axis {
            point: vector((frame * joint.anchor).coords),
            direction: vector(frame * joint.axis),
        })
    };
    let [pitch, roll] = seat.joints;
    let drawing = TwoRodsDrawing {
        pitch: axis(pitch)?,
        roll: axis(roll)?,
        legs: [first.drawn, second.drawn],
    };
    let found = stands(robot, &seat, drawing, region?, [first, second], obstacles)?;
    Some(TwoRodsInFile { pins: rings.each_ref().map(|ring| ring.pins.clone()), ..found })
}

/// Whether the drawn pose is a zero pose, with the readings that belong to it.
fn stands(
    robot: &Robot,
    seat: &Universal,
    drawing: TwoRodsDrawing,
    region: [[f64; 2]; 2],
    [first, second]: [FoundLeg; 2],
    obstacles: &mut Vec<Obstacle>,
) -> Option<TwoRodsInFile> {
    let pose = drawing.drive().and_then(|drive| drive.pose([0.0; 2]));
    let pose = pose
        .map_err(|fault| {
            let why = format!("the drawn pose is no zero pose of two rods: {fault}");
            obstacles.push(Obstacle::new("outside_branch", why));
        })
        .ok()?;
    let turned = pose.rods.map(|rod| match rod.place {
        crate::drive::Place::Angle(sine, cosine) => libm::atan2(sine, cosine),
        _ => 0.0,
    });
    let reads = |id: JointId| robot.joints.get(id).map_or(0.0, |joint| joint.drawn_at);
    Some(TwoRodsInFile {
        drawing,
        joints: seat.joints,
        motors: [first.motor, second.motor],
        parent: seat.links[0],
        middle: seat.has_middle.then_some(seat.links[1]),
        child: seat.links[2],
        joint_reads: seat.joints.map(reads),
        motor_reads: [first.reads + turned[0], second.reads + turned[1]],
        per_reading: [first.per_reading, second.per_reading],
        region,
        has_no_screw: [first.has_no_screw, second.has_no_screw],
        bodies: [first.bodies, second.bodies],
        pins: Default::default(),
    })
}

/// What is asked of pitch and roll themselves; the region that their limits leave.
fn seated(
    look: Look<'_>,
    rings: &[Ring; 2],
    seat: &Universal,
    obstacles: &mut Vec<Obstacle>,
) -> Option<[[f64; 2]; 2]> {
    let robot = look.robot;
    let region = seat.joints.map(|id| {
        let joint = robot.joints.get(id)?;
        if let Some(why) = leg::disturbed(look, id) {
            obstacles.push(why);
        }
        let limit = joint.limit.filter(|ends| ends.iter().all(|end| end.is_finite()));
        if limit.is_none() {
            let why = format!(
                "{} has no limits: give it a range, as the verdict is over the ranges of both",
                joint_called(robot, joint)
            );
            obstacles.push(Obstacle::new("no_range", why));
        }
        limit
    });
    if seat.has_middle {
        let at = rings.iter().find_map(|ring| ring.spare.get(ring.bodies.len().checked_sub(1)?));
        if at.is_some_and(|spare| *spare > 0) {
            let why = format!(
                "{:?} between both joints bears further joints",
                robot.link_name(seat.links[1])
            );
            obstacles.push(Obstacle::new("crank_bears", why));
        }
    }
    let [pitch, roll] = region;
    Some([pitch?, roll?])
}

fn vector(of: Vector3<f64>) -> Vector {
    Vector::new(of.x, of.y, of.z)
}

/// Marks both loops of each pair: of one that is understood neither is a drive of one joint, nor is it called unknown.
pub(super) fn mark(loops: &mut [FoundLoop], pairs: &[TwoJointLoops]) {
    for one in loops.iter_mut().filter(|one| pairs.iter().any(|p| p.loops.contains(&one.name))) {
        // What holds both joints of a pair is its middle link, and no cross at a rod's end.
        one.obstacles.retain(|obstacle| obstacle.code != "cross_body");
    }
    for pair in pairs.iter().filter(|pair| pair.drive.is_some()) {
        let [pitch, roll] = &pair.joints;
        for one in loops.iter_mut().filter(|one| pair.loops.contains(&one.name)) {
            let why = format!(
                "one of the two loops that turn {:?} about {pitch:?} and {roll:?}: together they are a drive of kind two_rods, which two joints may stand for",
                pair.name
            );
            one.obstacles = vec![Obstacle::new("two_rods", why)];
            one.remarks.clear();
            (one.drive, one.drive_text, one.reach) = (None, None, None);
            (one.ratio, one.nature, one.zero_readings) = (None, None, None);
            one.candidates.clear();
        }
    }
}
