//! What a model that loads by itself needs besides the joint: names that do not clash, and the links.

use std::collections::BTreeSet;

use super::Form;
use super::fault::EmitFault;
use super::stand_in::crank::Names;
use super::stand_in::jaw::{self, JawJoint, JawRole};
use super::stand_in::plan::{Plan, on_carrier, on_palm};
use super::stand_in::{Draws, Jaw, Request, link_frame};
use crate::design::{BodyMass, RobotJoint};
use crate::robot::markup::is_fit_for_a_name;
use crate::robot::{BorneJoint, ClosingPin, Inertial, Link, mjcf};

/// What is wrong with the names in the `[[robot]]` tables, or that there are none.
pub(super) fn name_faults<G: Draws>(request: &Request<'_, G>) -> Vec<EmitFault> {
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
fn taken<G: Draws>(request: &Request<'_, G>, robot: &RobotJoint) -> Option<String> {
    if jaw::asked(request).is_some() {
        return taken_in_gripper(request, robot);
    }
    let names = request.ask.form.keeps_crank().then(|| Names::of(robot))?;
    let given = |name: &str| {
        let robots = request.design.robots.iter();
        robots.flat_map(|r| [&r.joint, &r.parent, &r.child]).any(|other| other == name)
    };
    let name = names.all().into_iter().find(|name| given(name))?;
    Some(format!("the model gives the name {name:?} to a part of the drive itself"))
}

/// Among grippers every joint and every link has a name of its own.
fn taken_in_gripper<G: Draws>(request: &Request<'_, G>, robot: &RobotJoint) -> Option<String> {
    let names = jaw::names(request, robot);
    let unfit = names.iter().find(|name| !is_fit_for_a_name(name));
    if let Some(name) = unfit {
        return Some(format!("the name {name:?} holds characters that a robot file cannot"));
    }
    let robots = &request.design.robots;
    let others = robots.iter().filter(|other| other.joint != robot.joint);
    let parts = others.flat_map(|other| jaw::names(request, other));
    let plain = robots.iter().flat_map(|r| [r.joint.clone(), r.parent.clone(), r.child.clone()]);
    let given: BTreeSet<String> = plain.chain(parts).collect();
    let name = names.iter().find(|name| given.contains(*name))?;
    Some(format!("two parts of the model would have the name {name:?}"))
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

/// The links of a file; empty where a snippet leaves them to the user.
#[derive(Default)]
pub(super) struct Links {
    /// Each once.
    pub(super) carriers: Vec<Link>,
    /// What each `[[robot]]`'s driven joint moves, in their order.
    pub(super) children: Vec<Link>,
    /// What else each gripper has.
    pub(super) others: Vec<(Vec<BorneJoint>, Vec<ClosingPin>)>,
}

/// With what the linkage's parts add to them. `plans` and `jaws` in the order of the joints.
pub(super) fn links(
    request: &Request<'_>,
    plans: &[Plan],
    jaws: &[Option<Jaw>],
) -> Result<Links, Vec<EmitFault>> {
    let is_linked = request.ask.whole || request.ask.form == Form::Loop;
    let others = jaws.iter().flatten().map(|jaw| {
        let others =
            jaw.others(|one| if is_linked { Some(link(one)).transpose() } else { Ok(None) });
        Ok((others?, jaw.pins.clone()))
    });
    let others = others.collect::<Result<Vec<_>, _>>().map_err(|fault| vec![fault])?;
    if jaw::drives_itself(request) && is_linked {
        return gripper_links(request, jaws, others);
    }
    if !request.ask.whole {
        return Ok(Links { others, ..Links::default() });
    }
    let zero = request.check.zero.rocker;
    let child =
        |robot: &RobotJoint, body: &BodyMass| link_frame::child(request.design, robot, body, zero);
    bare_links(request, plans, jaws, &child).map(|links| Links { others, ..links })
}

/// The figures of a child in its own frame.
type OfChild<'a> = dyn Fn(&RobotJoint, &BodyMass) -> Result<Inertial, EmitFault> + 'a;

/// Carriers and children alone.
pub(super) fn bare_links<G: Draws>(
    request: &Request<'_, G>,
    plans: &[Plan],
    jaws: &[Option<Jaw>],
    of_child: &OfChild<'_>,
) -> Result<Links, Vec<EmitFault>> {
    let mut faults = Vec::new();
    let masses = &request.design.mass;
    let carriers = masses.carrier.as_ref().ok_or_else(|| no_mass("[mass.carrier]"));
    let carriers = carriers.and_then(|b| carrier_links(request, (plans, jaws), b));
    let children = masses.child.as_ref().ok_or_else(|| no_mass("[mass.child]"));
    let children = children.and_then(|b| child_links(request, plans, (b, of_child)));
    let carriers = carriers.map_err(|f| faults.push(f)).unwrap_or_default();
    let children = children.map_err(|f| faults.push(f)).unwrap_or_default();
    if faults.is_empty() {
        Ok(Links { carriers, children, others: Vec::new() })
    } else {
        Err(faults)
    }
}

/// The palms where the model is whole, and what the drivers move.
fn gripper_links(
    request: &Request<'_>,
    jaws: &[Option<Jaw>],
    others: Vec<(Vec<BorneJoint>, Vec<ClosingPin>)>,
) -> Result<Links, Vec<EmitFault>> {
    let drivers = jaws.iter().flatten().filter_map(Jaw::driver);
    let children = drivers.map(link).collect::<Result<Vec<_>, _>>().map_err(|f| vec![f])?;
    if !request.ask.whole {
        return Ok(Links { carriers: Vec::new(), children, others });
    }
    let palm = request.design.mass.carrier.as_ref().ok_or_else(|| no_mass("[mass.carrier]"));
    let carriers = palm.and_then(|body| carrier_links(request, (&[], jaws), body));
    Ok(Links { carriers: carriers.map_err(|fault| vec![fault])?, children, others })
}

/// The link that a gripper's joint moves, as a real body.
fn link(one: &JawJoint) -> Result<Link, EmitFault> {
    let body = one.body.ok_or_else(|| no_mass("[mass.coupler]"))?;
    let key = match one.role {
        JawRole::Crank => "[mass.crank] inertia",
        JawRole::Pad => "[mass.coupler] inertia",
        JawRole::Rocker => "[mass.child] inertia",
    };
    Ok(Link { name: one.joint.child.clone(), inertial: link_frame::real(&body, key)? })
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
fn carrier_links<G: Draws>(
    request: &Request<'_, G>,
    (plans, jaws): (&[Plan], &[Option<Jaw>]),
    body: &BodyMass,
) -> Result<Vec<Link>, EmitFault> {
    let own = link_frame::carrier(body)?;
    let robots = &request.design.robots;
    let mut seen = BTreeSet::new();
    let once = robots.iter().map(|r| r.parent.as_str()).filter(|name| seen.insert(*name));
    once.map(|name| {
        let added = on_carrier(robots, plans, name).chain(on_palm(robots, jaws, name));
        let inertial = link_frame::patched(name, &own, added)?;
        Ok(Link { name: name.to_owned(), inertial })
    })
    .collect()
}

fn child_links<G: Draws>(
    request: &Request<'_, G>,
    plans: &[Plan],
    (body, of_child): (&BodyMass, &OfChild<'_>),
) -> Result<Vec<Link>, EmitFault> {
    let robots = request.design.robots.iter().zip(plans);
    robots
        .map(|(robot, plan)| {
            let own = of_child(robot, body)?;
            let patch = plan.bodies.iter().map(|bodies| bodies.child);
            let inertial = link_frame::patched(&robot.child, &own, patch)?;
            Ok(Link { name: robot.child.clone(), inertial })
        })
        .collect()
}
