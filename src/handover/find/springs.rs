//! Springs in a loop: those of its own four joints, and those that hold a further joint rigid.
//!
//! A loop of five bodies has two freedoms. Where a spring takes one of them up, the other is the motor's: a stiff spring
//! at rest holds its own joint as drawn; a soft one that cannot come to rest pushes another joint against its stop.

use nalgebra::{Matrix3, Vector3};
use serde::Serialize;

use super::obstacle::Obstacle;
use super::pins::LoopPin;
use super::ring::{HeldPin, Ring};
use crate::robot::{FileJoint, JointId, JointKind, Robot};

/// A spring across one of the loop's joints.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoopSpring {
    /// Which of [`super::FourBarLoop::pins`].
    #[serde(skip)]
    pub pin: usize,
    /// The joint.
    #[serde(skip)]
    pub joint: JointId,
    /// The joint's name.
    #[serde(rename = "joint")]
    pub name: String,
    /// N m/rad.
    #[serde(rename = "stiffness_n_m_per_rad")]
    pub stiffness: f64,
    /// The joint's reading at which it rests, rad.
    #[serde(rename = "rests_at_rad")]
    pub rests_at: f64,
}

/// A joint of the ring that does not move.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeldJoint {
    /// The joint.
    #[serde(skip)]
    pub joint: JointId,
    /// Its name.
    #[serde(rename = "joint")]
    pub name: String,
    /// Its reading as held, rad.
    #[serde(rename = "reads_rad")]
    pub reads: f64,
    /// How much that is more than in the drawn pose, rad.
    #[serde(rename = "turned_rad")]
    pub turned: f64,
    /// The joint whose spring holds it; the joint itself where that rests.
    #[serde(skip)]
    pub by: JointId,
    /// That joint's name.
    #[serde(rename = "held_by")]
    pub by_name: String,
}

/// A spring as close to its rest as this is at rest, rad.
const REST: f64 = 1e-6;

/// A drawn joint this close to its limit is at it, rad.
const AT_STOP: f64 = 1e-6;

fn spring(robot: &Robot, pin: &LoopPin) -> Option<LoopSpring> {
    let joint = pin.joint?;
    let found = robot.joints.get(joint)?;
    let (stiffness, rests_at) = (found.stiffness?, found.spring_reference);
    Some(LoopSpring { pin: 0, joint, name: found.name.clone(), stiffness, rests_at })
}

/// The springs of the four pins.
pub(super) fn springs(robot: &Robot, pins: &[LoopPin; 4]) -> Vec<LoopSpring> {
    let each = pins.iter().enumerate();
    each.filter_map(|(k, pin)| Some(LoopSpring { pin: k, ..spring(robot, pin)? })).collect()
}

/// A ring of more than four bodies with the joints held that its springs hold, where that leaves four.
pub(super) fn hold(
    robot: &Robot,
    ring: Ring,
    motors: &[usize],
    notes: &mut Vec<Obstacle>,
) -> (Ring, Vec<HeldJoint>) {
    if ring.bodies.len() <= 4 {
        return (ring, Vec::new());
    }
    let resting = resting(robot, &ring);
    if !resting.is_empty() && ring.bodies.len() - resting.len() == 4 {
        let held: Vec<HeldJoint> =
            resting.iter().filter_map(|pin| at_rest(robot, &ring, *pin)).collect();
        notes.extend(held.iter().map(rests));
        let still = (Vector3::z(), 0.0);
        let pins: Vec<HeldPin> =
            resting.into_iter().map(|pin| HeldPin { pin, turn: still }).collect();
        return (ring.without(&pins), held);
    }
    match at_stop(robot, &ring, motors) {
        Some((pin, held)) => (ring.without(&[pin]), vec![held]),
        None => (ring, Vec::new()),
    }
}

fn joint<'a>(robot: &'a Robot, ring: &Ring, pin: usize) -> Option<(JointId, &'a FileJoint)> {
    let id = ring.pins.get(pin)?.joint?;
    Some((id, robot.joints.get(id)?))
}

fn is_spring(robot: &Robot, ring: &Ring, pin: usize) -> bool {
    joint(robot, ring, pin).is_some_and(|(_, joint)| joint.stiffness.is_some())
}

fn resting(robot: &Robot, ring: &Ring) -> Vec<usize> {
    let rests = |pin: &usize| {
        joint(robot, ring, *pin).is_some_and(|(_, joint)| {
            joint.stiffness.is_some() && (joint.spring_reference - joint.drawn_at).abs() < REST
        })
    };
    (0..ring.pins.len()).filter(rests).collect()
}

fn at_rest(robot: &Robot, ring: &Ring, pin: usize) -> Option<HeldJoint> {
    let (id, joint) = joint(robot, ring, pin)?;
    Some(HeldJoint {
        joint: id,
        name: joint.name.clone(),
        reads: joint.drawn_at,
        turned: 0.0,
        by: id,
        by_name: joint.name.clone(),
    })
}

/// The joint of a five-bar that its only spring pushes against a limit while the motor stands.
fn at_stop(robot: &Robot, ring: &Ring, motors: &[usize]) -> Option<(HeldPin, HeldJoint)> {
    let ([motor], 5) = (motors, ring.bodies.len()) else { return None };
    let springs: Vec<usize> = (0..5).filter(|pin| is_spring(robot, ring, *pin)).collect();
    let [spring] = springs.as_slice() else { return None };
    let axis = ring.pins.iter().find_map(|pin| pin.axis)?;
    let rates = rates(robot, ring, &axis, *motor, *spring)?;
    let mut stops: Vec<(HeldPin, HeldJoint)> = Vec::new();
    for (pin, rate) in rates.into_iter().filter(|(pin, _)| pin != spring) {
        stops.extend(stop(robot, ring, &axis, pin, rate, *spring));
    }
    let touching = stops.iter().filter(|(_, held)| held.turned.abs() <= AT_STOP).count();
    match (stops.len(), touching) {
        (1, _) => stops.pop(),
        (_, 1) => stops.into_iter().find(|(_, held)| held.turned.abs() <= AT_STOP),
        _ => None,
    }
}

/// The limit that a joint with this rate (about the axis) runs into.
fn stop(
    robot: &Robot,
    ring: &Ring,
    axis: &Vector3<f64>,
    pin: usize,
    rate: f64,
    spring: usize,
) -> Option<(HeldPin, HeldJoint)> {
    let (id, joint) = joint(robot, ring, pin)?;
    let [low, high] = joint.limit.filter(|_| joint.kind == JointKind::Revolute)?;
    let sense = sense(ring, axis, pin);
    let reads = if rate * sense > 0.0 { high } else { low };
    let turned = reads - joint.drawn_at;
    let by = ring.pins.get(spring)?.joint?;
    let (name, by_name) = (joint.name.clone(), robot.joint_name(by).to_owned());
    let held = HeldJoint { joint: id, name, reads, turned, by, by_name };
    let turn = (*axis, sense * turned);
    (reads.is_finite() && rate.abs() > 1e-9).then_some((HeldPin { pin, turn }, held))
}

/// +1 where a pin's joint reads more as the body behind turns positively about the axis.
fn sense(ring: &Ring, axis: &Vector3<f64>, pin: usize) -> f64 {
    let own = ring.pins.get(pin).and_then(|pin| pin.axis);
    own.map_or(1.0, |own| own.dot(axis).signum())
}

/// Rates of all pins but the motor's as the spring moves its own joint towards its rest: turns of the body behind against
/// the body before, which add up to nothing, as do their moments about any point.
fn rates(
    robot: &Robot,
    ring: &Ring,
    axis: &Vector3<f64>,
    motor: usize,
    spring: usize,
) -> Option<Vec<(usize, f64)>> {
    let (_, sprung) = joint(robot, ring, spring).filter(|_| spring != motor)?;
    let pull = (sprung.spring_reference - sprung.drawn_at).signum() * sense(ring, axis, spring);
    let others: Vec<usize> = (0..5).filter(|pin| *pin != motor && *pin != spring).collect();
    let [a, b, c] = <[usize; 3]>::try_from(others).ok()?;
    let base = ring.pins.get(motor)?.points[0];
    let across =
        axis.cross(&if axis.x.abs() < 0.9 { Vector3::x() } else { Vector3::y() }).normalize();
    let up = axis.cross(&across);
    let column = |pin: usize| {
        let at = ring.pins.get(pin)?.points[0] - base;
        Some(Vector3::new(1.0, at.dot(&across), at.dot(&up)))
    };
    let matrix = Matrix3::from_columns(&[column(a)?, column(b)?, column(c)?]);
    let found = matrix.try_inverse()? * (column(spring)? * -pull);
    Some(vec![(a, found.x), (b, found.y), (c, found.z)])
}

fn rests(HeldJoint { name, .. }: &HeldJoint) -> Obstacle {
    Obstacle::new(
        "spring",
        format!("a spring in the loop, at joint {name:?}: held rigid here, at its rest"),
    )
}

/// What `find` says of a joint that is held at its stop.
pub(super) fn held_at_stop(robot: &Robot, held: &HeldJoint) -> Option<Obstacle> {
    let stiffness = robot.joints.get(held.by)?.stiffness.unwrap_or(0.0);
    let moved = if held.turned.abs() > AT_STOP { ", which is not the drawn pose" } else { "" };
    (held.by != held.joint).then(|| {
        Obstacle::new(
            "held_at_stop",
            format!(
                "joint {:?} is held at its limit, {:.2} deg{moved}, by the spring of joint {:?} ({} N m/rad): measured and judged so; where something touches, it gives way",
                held.name,
                held.reads.to_degrees(),
                held.by_name,
                stiffness
            ),
        )
    })
}

/// What `find` says of a spring of the loop itself.
pub(super) fn spring_note(spring: &LoopSpring) -> Obstacle {
    Obstacle::new(
        "spring",
        format!(
            "a spring of {} N m/rad at joint {:?}, at rest at {:.2} deg: its torque is no part of the verdict",
            spring.stiffness,
            spring.name,
            spring.rests_at.to_degrees()
        ),
    )
}
