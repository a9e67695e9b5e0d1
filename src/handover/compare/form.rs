//! As what does a robot file hold the linkage: a direct joint, a crank coupled to the joint, or the loop itself?

use nalgebra::Vector3;

use super::facts::JointFacts;
use crate::design::Design;
use crate::handover::Form;
use crate::handover::find::{Bodies, FindOptions, FoundLoop, FourBarLoop, measured};
use crate::handover::stand_in::coupling::Relation;
use crate::robot::{JointId, Robot};

/// A joint's form with what makes it.
pub(super) enum Found<'a> {
    Direct,
    /// The crank's joint, where the file says it, and the relation where it is a function of the joint's reading.
    Coupled {
        crank: JointId,
        relation: Option<Relation>,
    },
    /// The loop; its four-bar is the second where it has one with the joint as its driven one.
    Loop(&'a FoundLoop, Option<&'a FourBarLoop>),
}

impl Found<'_> {
    pub(super) fn form(&self) -> Form {
        match self {
            Self::Direct => Form::Direct,
            Self::Coupled { .. } => Form::Coupled,
            Self::Loop(..) => Form::Loop,
        }
    }
}

/// The loops of the robot, each of the design's joints as the driven one where it could be that or the motor's.
pub(super) fn loops(robot: &Robot, design: &Design, joints: &[Option<JointId>]) -> Vec<FoundLoop> {
    let look = |motors: &[String]| {
        measured(robot, FindOptions { motors, ..FindOptions::new(design.accept.preset) })
    };
    let found = look(&[]);
    let motors: Vec<String> = found.iter().filter_map(|l| motor(robot, l, joints)).collect();
    if motors.is_empty() { found } else { look(&motors) }
}

/// The other end's joint, where a joint of the design was taken for the motor's, or nothing in the file says which is.
fn motor(robot: &Robot, found: &FoundLoop, joints: &[Option<JointId>]) -> Option<String> {
    let bar = found.four_bar.as_ref()?;
    let is_ours = |id: JointId| joints.contains(&Some(id));
    let (crank, driven) = (bar.crank_joint()?, bar.joint()?);
    let other = match (is_ours(crank), is_ours(driven)) {
        (true, false) => driven,
        (false, true) if !found.candidates.is_empty() => crank,
        _ => return None,
    };
    robot.joints.get(other).map(|joint| joint.name.clone())
}

/// A crank that weighs no more is only there to be seen, kg.
const FEATHERWEIGHT: f64 = 1e-5;

/// Where the design has the motor of one joint.
#[derive(Clone, Copy, Debug)]
pub(super) struct MotorPlace<'a> {
    /// The parent link's name.
    pub(super) parent: &'a str,
    /// The joint's axis and a point on the motor's, in the parent's frame; `None` where the design does not tell.
    pub(super) axis: Vector3<f64>,
    pub(super) at: Option<Vector3<f64>>,
    /// Further away than this another joint is meant, m.
    pub(super) within: f64,
    /// Of the direct joint.
    pub(super) ratio: f64,
}

impl MotorPlace<'_> {
    /// Whether what follows the joint so turns far faster or slower than the crank: a rotor before its gearbox does.
    fn is_rotor(&self, relation: Option<&Relation>) -> bool {
        let share = relation.map(|relation| (relation.polynomial[1] / self.ratio).abs());
        share.is_some_and(|share| !(1.0 / 3.0..=3.0).contains(&share))
    }

    /// Whether the joint turns a body about the motor's axis, or would if its place were not a slip.
    fn is_at(&self, robot: &Robot, id: JointId) -> bool {
        let Some(facts) = JointFacts::of(robot, id, self.parent) else { return false };
        let is_parallel = facts.axis.cross(&self.axis).norm() < 0.1;
        let is_near = self.at.is_none_or(|at| {
            let off = facts.origin - at;
            (off - self.axis * self.axis.dot(&off)).norm() < self.within
        });
        let weighs = facts.child_body().is_some_and(|body| body.mass > FEATHERWEIGHT);
        is_parallel && is_near && weighs
    }
}

/// The form of one joint; `ours` are all joints of the design.
pub(super) fn found<'a>(
    robot: &Robot,
    id: JointId,
    ours: &[Option<JointId>],
    motor: MotorPlace<'_>,
    loops: &'a [FoundLoop],
) -> Found<'a> {
    let drives = |l: &&FoundLoop| l.four_bar.as_ref().is_some_and(|bar| bar.joint() == Some(id));
    if let Some(found) = loops.iter().find(drives) {
        return Found::Loop(found, found.four_bar.as_ref());
    }
    let name = robot.joints.get(id).map_or("", |joint| joint.name.as_str());
    let pin = format!("joint {name:?}");
    if let Some(found) = loops.iter().find(|l| l.pins.contains(&pin)) {
        return Found::Loop(found, None);
    }
    match coupled(robot, id, ours, motor) {
        Some((crank, relation)) => Found::Coupled { crank, relation },
        None => Found::Direct,
    }
}

/// A joint on the same carrier that moves along, is none of the design's and turns where its motor is: the crank.
pub(super) fn coupled(
    robot: &Robot,
    id: JointId,
    ours: &[Option<JointId>],
    motor: MotorPlace<'_>,
) -> Option<(JointId, Option<Relation>)> {
    let bodies = Bodies::new(robot);
    let carrier = |at: JointId| robot.joints.get(at).map(|joint| bodies.of_link(joint.parent));
    let is_crank = |at: JointId| {
        at != id
            && !ours.contains(&Some(at))
            && carrier(at) == carrier(id)
            && motor.is_at(robot, at)
    };
    let candidates = mimics(robot, id).into_iter().chain(couplings(robot, id));
    let mut candidates = candidates.into_iter();
    candidates.find(|(at, relation)| is_crank(*at) && !motor.is_rotor(relation.as_ref()))
}

fn mimics(robot: &Robot, id: JointId) -> Vec<(JointId, Option<Relation>)> {
    let Some(own) = robot.joints.get(id) else { return Vec::new() };
    let leads = robot.joints.iter().enumerate().filter_map(|(at, joint)| {
        let mimic = joint.mimic.as_ref().filter(|mimic| mimic.leader == own.name)?;
        Some((at, Some(Relation::line(mimic.multiplier, mimic.offset))))
    });
    let follows = own.mimic.as_ref().and_then(|mimic| {
        let leader = robot.joint_named(&mimic.leader)?;
        Some((leader, Relation::inverse(mimic.multiplier, mimic.offset)))
    });
    leads.chain(follows).collect()
}

fn couplings(robot: &Robot, id: JointId) -> Vec<(JointId, Option<Relation>)> {
    let drawn = |at: JointId| robot.joints.get(at).map_or(0.0, |joint| joint.drawn_at);
    let active = robot.couplings.iter().filter(|c| c.is_active);
    let each = active.filter_map(|coupling| {
        let (follower, leader) = (coupling.follower, coupling.leader?);
        let [constant, slope, higher @ ..] = coupling.polynomial;
        let (x, y) = (drawn(leader), drawn(follower));
        if leader == id {
            let polynomial = coupling.polynomial;
            return Some((follower, Some(Relation { from_joint: x, from_crank: y, polynomial })));
        }
        let is_line = higher.iter().all(|a| a.abs() <= 0.0);
        let turned = Relation::inverse(slope, constant).filter(|_| is_line);
        let moved = turned.map(|line| Relation { from_joint: y, from_crank: x, ..line });
        (follower == id).then_some((leader, moved))
    });
    each.collect()
}
