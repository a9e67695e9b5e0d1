//! Joints that follow others without a loop: what a tree format has instead of a linkage.

use serde::Serialize;

use crate::robot::{JointId, Robot};

/// Two joints that move together by a line or polynomial of the file.
#[derive(Clone, Debug, Serialize)]
pub struct MovingPair {
    /// The joint that follows.
    pub follower: String,
    /// The joint that leads.
    pub leader: String,
    /// Slope of the follower's reading over the leader's in the drawn pose.
    pub multiplier: f64,
    /// Terms beyond a straight line are there.
    pub is_curved: bool,
    /// Both hang on the same link: they may be the crank and the rocker of one drive.
    pub same_parent: bool,
    /// Where the file says it, as `file:line:column`.
    #[serde(rename = "at")]
    pub whereabouts: String,
}

/// Every pair of joints that the file moves together.
#[must_use]
pub fn pairs(robot: &Robot) -> Vec<MovingPair> {
    let pair = |follower: JointId, leader: JointId, multiplier, is_curved, place| {
        let whereabouts = robot.whereabouts(place);
        let (follower, leader) = (robot.joints.get(follower)?, robot.joints.get(leader)?);
        Some(MovingPair {
            follower: follower.name.clone(),
            leader: leader.name.clone(),
            multiplier,
            is_curved,
            same_parent: follower.parent == leader.parent,
            whereabouts,
        })
    };
    let mimics = robot.joints.iter().enumerate().filter_map(|(id, joint)| {
        let mimic = joint.mimic.as_ref()?;
        pair(id, robot.joint_named(&mimic.leader)?, mimic.multiplier, false, joint.place)
    });
    let couplings = robot.couplings.iter().filter(|c| c.is_active).filter_map(|coupling| {
        let [_, slope, higher @ ..] = coupling.polynomial;
        let is_curved = higher.iter().any(|x| x.abs() > 0.0);
        pair(coupling.follower, coupling.leader?, slope, is_curved, coupling.place)
    });
    mimics.chain(couplings).collect()
}
