//! What acts on a loop's joints and is no part of the linkage: tendons that spring, brake or stop, equalities that hold still,
//! springs and dampers whose figures are not read.
//!
//! None of it is in a drive's figures, and no direct joint would keep it.

use super::drives::line;
use super::obstacle::Obstacle;
use super::pins::joint_called;
use crate::robot::{JointId, Robot};

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
    tendons.chain(held).chain(unread).collect()
}
