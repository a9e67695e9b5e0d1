//! What acts on a loop's joints and is no part of the linkage: tendons that spring, brake or stop, equalities that hold still,
//! springs and dampers whose figures are not read, links that no force moves.
//!
//! None of it is in a drive's figures, and no direct joint would keep it.

use super::drives::line;
use super::four_bar::FourBarLoop;
use super::obstacle::Obstacle;
use super::pins::joint_called;
use crate::handover::tie::Tie;
use crate::robot::{Format, JointId, Robot};

/// A tie and the linkage may be this far apart, as a share, before one of them cannot move.
const AGREE: f64 = 0.02;

/// An equality or `mimic` of crank and driven joint that has a ratio which the linkage has nowhere on its stroke, where the
/// file holds both.
pub(super) fn tied_otherwise(
    robot: &Robot,
    found: &FourBarLoop,
    [least, most]: [f64; 2],
) -> Option<Obstacle> {
    let (crank, joint) = (found.crank_joint()?, found.joint()?);
    let sense = robot.joints.get(crank)?.axis.dot(&robot.joints.get(joint)?.axis).signum();
    let (tie, ratio) = [(joint, crank), (crank, joint)].iter().find_map(|(follower, leader)| {
        let tie = Tie::of(robot, *follower)?;
        let [slope, _] = tie.line.filter(|_| tie.leader == robot.joint_name(*leader))?;
        Some((tie, if *follower == joint { 1.0 / slope } else { slope }))
    })?;
    let ratio = ratio * sense;
    let slack = AGREE * ratio.abs();
    // The loop of a file that cannot hold it is stated beside it: there the tie stands for the linkage.
    if robot.format == Format::Urdf || (least - slack..=most + slack).contains(&ratio) {
        return None;
    }
    let number = crate::units::number;
    let why = format!(
        "the file ties {:?} and {:?} besides ({}), with ratio {}, where the linkage has {}…{}: the two hold each other fast",
        robot.joint_name(crank),
        robot.joint_name(joint),
        line(robot, tie.place),
        number(ratio),
        number(least),
        number(most)
    );
    Some(Obstacle::new("tied_otherwise", why))
}

/// What acts on one of these joints, each an obstacle of its own.
pub(super) fn restraints(robot: &Robot, joints: &[JointId]) -> Vec<Obstacle> {
    let tendons = robot.restraints.iter().filter_map(|one| {
        let joint = one.joints.iter().find(|joint| joints.contains(joint))?;
        let name = if one.name.is_empty() { String::new() } else { format!(" {:?}", one.name) };
        let why = format!(
            "tendon{name} ({}) acts on joint {:?} by its {}: that is no part of a verdict, and a fold would lose it",
            line(robot, one.place),
            robot.joint_name(*joint),
            one.by
        );
        Some(Obstacle::new("tendon", why))
    });
    let active = robot.couplings.iter().filter(|one| one.is_active && one.leader.is_none());
    let held = active.filter(|one| joints.contains(&one.follower)).map(|one| {
        let why = format!(
            "an equality ({}) holds joint {:?} where it is: the loop does not move",
            line(robot, one.place),
            robot.joint_name(one.follower)
        );
        Obstacle::new("held_still", why)
    });
    let own = joints.iter().filter_map(|id| robot.joints.get(*id));
    let unread = own.filter(|joint| !joint.unread.is_empty()).map(|joint| {
        let why = format!(
            "{} ({}) has {}: what that does is not read, and a fold would lose it",
            joint_called(robot, joint),
            line(robot, joint.place),
            joint.unread
        );
        Obstacle::new("unread_figures", why)
    });
    tendons.chain(held).chain(unread).chain(fixed(robot, joints)).collect()
}

/// The first joint whose child no force moves.
fn fixed(robot: &Robot, joints: &[JointId]) -> Option<Obstacle> {
    let own = joints.iter().filter_map(|id| robot.joints.get(*id));
    own.filter_map(|joint| robot.links.get(joint.child)).find_map(|link| {
        let by = link.influences.iter().find(|one| one.holds)?;
        let why = format!(
            "{} ({}) holds link {:?} where it is: the loop does not move",
            by.what,
            line(robot, by.place),
            link.name
        );
        Some(Obstacle::new("held_still", why))
    })
}
