//! Which of a ring's bodies is the crank, and what its bodies bear besides.

use super::four_bar::{FourBarLoop, Obstacle};
use super::ring::Ring;
use crate::robot::{JointId, LinkId, Robot};

/// The ring walked so that the crank comes right behind the carrier, and how it was told from the child, as a clause.
///
/// The motor's side is the crank's. Where nothing drives either, a body on a ball is no crank, and
/// the child is the body that bears more: further joints first, then mass.
pub(super) fn crank_first(
    robot: &Robot,
    ring: Ring,
    motor: Option<JointId>,
) -> (Ring, &'static str) {
    let drives = |k: usize| {
        let joint = ring.pins.get(k).and_then(|pin| pin.joint);
        joint.is_some_and(|id| motor.map_or_else(|| is_driven(robot, id), |motor| motor == id))
    };
    let told = if motor.is_some() { "as told" } else { "an actuator drives it" };
    match (drives(0), drives(3)) {
        (true, false) => return (ring, told),
        (false, true) => return (ring.reversed(), told),
        _ => {}
    }
    let hinged =
        |k: usize| ring.pins.get(k).is_some_and(|pin| pin.joint.is_some() && pin.axis.is_some());
    match (hinged(0), hinged(3)) {
        (true, false) => return (ring, "the other body has no hinge on the carrier"),
        (false, true) => return (ring.reversed(), "the other body has no hinge on the carrier"),
        _ => {}
    }
    let spare = |k: usize| ring.spare.get(k).copied().unwrap_or(0);
    match spare(1).cmp(&spare(3)) {
        std::cmp::Ordering::Less => return (ring, "it bears no further joints"),
        std::cmp::Ordering::Greater => return (ring.reversed(), "it bears no further joints"),
        std::cmp::Ordering::Equal => {}
    }
    let mass = |k: usize| ring.bodies.get(k).map_or(0.0, |body| mass(robot, *body));
    if mass(1) > mass(3) {
        (ring.reversed(), "it is the lighter of the two on the carrier")
    } else {
        (ring, "it is the lighter of the two on the carrier")
    }
}

fn is_driven(robot: &Robot, joint: JointId) -> bool {
    robot.actuators.iter().any(|actuator| actuator.joint == joint)
}

fn mass(robot: &Robot, link: LinkId) -> f64 {
    robot.links.get(link).and_then(|link| link.inertial).map_or(0.0, |inertial| inertial.mass)
}

/// What a direct joint could not stand for.
pub(super) fn faults(robot: &Robot, found: &FourBarLoop, spare: &[u32]) -> Vec<Obstacle> {
    let name =
        |k: usize| found.links.get(k).and_then(|id| robot.links.get(*id)).map_or("", |l| &l.name);
    let mut out = Vec::new();
    if spare.get(2).is_some_and(|extra| *extra > 0) {
        out.push(Obstacle::new(
            "coupler_bears",
            format!("the coupler {:?} bears further parts: its motion is no rocker's", name(2)),
        ));
    }
    if spare.get(1).is_some_and(|extra| *extra > 0) {
        out.push(Obstacle::new(
            "crank_bears",
            format!("the crank {:?} bears further joints", name(1)),
        ));
    }
    for pin in &found.pins[1..3] {
        if pin.joint.is_some_and(|id| is_driven(robot, id)) {
            out.push(Obstacle::new("driven_pin", format!("{} is driven", pin.name)));
        }
    }
    out
}
