//! What a model that loads by itself needs besides the joint: names that do not clash, and the links.

use super::stand_in::Request;
use std::collections::BTreeSet;

use super::fault::EmitFault;
use super::stand_in::crank::Names;
use super::stand_in::link_frame;
use super::stand_in::plan::{Plan, on_carrier};
use crate::design::{BodyMass, RobotJoint};
use crate::robot::markup::is_fit_for_a_name;
use crate::robot::{Link, mjcf};

/// What is wrong with the names in the `[[robot]]` tables, or that there are none.
pub(super) fn name_faults(request: &Request<'_>) -> Vec<EmitFault> {
    let robots = &request.design.robots;
    if robots.is_empty() {
        return vec![no_robot()];
    }
    let mut faults = Vec::new();
    for (k, robot) in robots.iter().enumerate() {
        let before = robots.get(..k).unwrap_or_default();
        let whys = [unfit(robot), repeated(robot, before)];
        let clash = request.ask.whole.then(|| clashing(robot, robots)).flatten();
        let clash = clash.or_else(|| taken(request, robot));
        let whys = whys.into_iter().flatten().chain(clash);
        faults.extend(whys.map(|why| EmitFault::UnfitName { robot: k, why }));
    }
    faults
}

fn no_robot() -> EmitFault {
    EmitFault::Missing {
        key: "[[robot]]",
        needed_for: "it names the joint, its two links and its axis on the robot".into(),
        help: "add a [[robot]] table with joint, parent, child, axis and origin".into(),
    }
}

fn unfit(robot: &RobotJoint) -> Option<String> {
    let names = [("joint", &robot.joint), ("parent", &robot.parent), ("child", &robot.child)];
    let (key, name) = names.into_iter().find(|(_, name)| !is_fit_for_a_name(name))?;
    Some(format!("the {key} name {name:?} is empty or holds characters that a robot file cannot"))
}

fn repeated(robot: &RobotJoint, before: &[RobotJoint]) -> Option<String> {
    if robot.parent == robot.child {
        return Some(format!("link {:?} is both parent and child of one joint", robot.parent));
    }
    if before.iter().any(|b| b.joint == robot.joint) {
        return Some(format!("two [[robot]] tables name the joint {:?}", robot.joint));
    }
    let twice = before.iter().any(|b| b.child == robot.child);
    twice.then(|| format!("two [[robot]] tables name the child link {:?}", robot.child))
}

/// A name of the crank's or the coupler's that some `[[robot]]` has given to something else.
fn taken(request: &Request<'_>, robot: &RobotJoint) -> Option<String> {
    let names = request.ask.form.keeps_crank().then(|| Names::of(robot))?;
    let given = |name: &str| {
        let robots = request.design.robots.iter();
        robots.flat_map(|r| [&r.joint, &r.parent, &r.child]).any(|other| other == name)
    };
    let name = names.all().into_iter().find(|name| given(name))?;
    Some(format!("the model gives the name {name:?} to a part of the drive itself"))
}

fn clashing(robot: &RobotJoint, robots: &[RobotJoint]) -> Option<String> {
    let own = ["world", mjcf::BASE];
    let taken = [&robot.parent, &robot.child].into_iter().find(|n| own.contains(&n.as_str()));
    if let Some(name) = taken {
        return Some(format!(
            "a whole model has a {name:?} of its own: no link may have that name"
        ));
    }
    let hangs = robots.iter().any(|other| other.child == robot.parent);
    hangs.then(|| {
        format!(
            "in a whole model each parent link is fixed, but {:?} is the child of another joint",
            robot.parent
        )
    })
}

/// The carriers, each once, and the children in the order of the joints, with what the linkage's parts add to them;
/// empty without `--whole`. `plans` in the order of the joints.
pub(super) fn links(
    request: &Request<'_>,
    plans: &[Plan],
) -> Result<(Vec<Link>, Vec<Link>), Vec<EmitFault>> {
    if !request.ask.whole {
        return Ok(Default::default());
    }
    let mut faults = Vec::new();
    let masses = &request.design.mass;
    let carriers = masses.carrier.as_ref().ok_or_else(|| no_mass("[mass.carrier]"));
    let carriers = carriers.and_then(|b| carrier_links(request, plans, b));
    let children = masses.child.as_ref().ok_or_else(|| no_mass("[mass.child]"));
    let children = children.and_then(|b| child_links(request, plans, b));
    let carriers = carriers.map_err(|f| faults.push(f)).unwrap_or_default();
    let children = children.map_err(|f| faults.push(f)).unwrap_or_default();
    if faults.is_empty() { Ok((carriers, children)) } else { Err(faults) }
}

fn no_mass(key: &'static str) -> EmitFault {
    EmitFault::Missing {
        key,
        needed_for: "--whole writes a model that loads by itself, with the masses of both links"
            .into(),
        help: format!(
            "add {key} with mass, center and six figures of inertia, or leave --whole out"
        ),
    }
}

/// Two joints on one carrier both add to it.
fn carrier_links(
    request: &Request<'_>,
    plans: &[Plan],
    body: &BodyMass,
) -> Result<Vec<Link>, EmitFault> {
    let own = link_frame::carrier(body)?;
    let robots = &request.design.robots;
    let mut seen = BTreeSet::new();
    let once = robots.iter().map(|r| r.parent.as_str()).filter(|name| seen.insert(*name));
    once.map(|name| {
        let inertial = link_frame::patched(name, &own, on_carrier(robots, plans, name))?;
        Ok(Link { name: name.to_owned(), inertial })
    })
    .collect()
}

fn child_links(
    request: &Request<'_>,
    plans: &[Plan],
    body: &BodyMass,
) -> Result<Vec<Link>, EmitFault> {
    let rocker = request.check.zero.rocker;
    let robots = request.design.robots.iter().zip(plans);
    robots
        .map(|(robot, plan)| {
            let own = link_frame::child(request.design, robot, body, rocker)?;
            let patch = plan.bodies.iter().map(|bodies| bodies.child);
            let inertial = link_frame::patched(&robot.child, &own, patch)?;
            Ok(Link { name: robot.child.clone(), inertial })
        })
        .collect()
}
