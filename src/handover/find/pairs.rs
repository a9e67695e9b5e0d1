//! Joints that follow others without a loop: what a tree format has instead of a linkage.

use std::collections::{BTreeSet, HashMap};

use serde::Serialize;

use super::FoundLoop;
use crate::robot::{JointId, Place, Robot};

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

/// Two joints that the file ties: an equality, a mimic, a gearbox.
#[derive(Clone, Copy, Debug)]
pub(super) struct JointTie {
    /// The joint that follows and the one that leads.
    pub(super) joints: [JointId; 2],
    /// Of the follower's reading over the leader's, as drawn.
    slope: f64,
    is_curved: bool,
    pub(super) place: Place,
}

impl JointTie {
    /// The joint at the other end and its reading per reading of this one; `None` for another's tie or a curved one.
    pub(super) fn across(&self, joint: JointId) -> Option<(JointId, f64)> {
        let [follower, leader] = self.joints;
        match joint {
            _ if self.is_curved || self.slope == 0.0 => None,
            id if id == leader => Some((follower, self.slope)),
            id if id == follower => Some((leader, 1.0 / self.slope)),
            _ => None,
        }
    }
}

/// Every two joints that the file ties, mimics first.
pub(super) fn ties(robot: &Robot) -> Vec<JointTie> {
    let named = robot.joints.iter().enumerate().map(|(id, joint)| (joint.name.as_str(), id));
    let ids: HashMap<&str, JointId> = named.collect();
    let mimics = robot.joints.iter().enumerate().filter_map(|(id, joint)| {
        let mimic = joint.mimic.as_ref()?;
        let joints = [id, *ids.get(mimic.leader.as_str())?];
        Some(JointTie { joints, slope: mimic.multiplier, is_curved: false, place: joint.place })
    });
    let couplings = robot.couplings.iter().filter(|c| c.is_active).filter_map(|coupling| {
        let [_, slope, higher @ ..] = coupling.polynomial;
        let is_curved = higher.iter().any(|x| x.abs() > 0.0);
        let joints = [coupling.follower, coupling.leader?];
        Some(JointTie { joints, slope, is_curved, place: coupling.place })
    });
    mimics.chain(couplings).collect()
}

/// Every pair of joints that the file moves together.
#[must_use]
pub fn pairs(robot: &Robot) -> Vec<MovingPair> {
    let pair = |tie: JointTie| {
        let [follower, leader] = tie.joints.map(|id| robot.joints.get(id));
        let (follower, leader) = (follower?, leader?);
        Some(MovingPair {
            follower: follower.name.clone(),
            leader: leader.name.clone(),
            multiplier: tie.slope,
            is_curved: tie.is_curved,
            same_parent: follower.parent == leader.parent,
            whereabouts: robot.whereabouts(tie.place),
        })
    };
    ties(robot).into_iter().filter_map(pair).collect()
}

/// The pairs; joints of a closed loop are not taken for crank and rocker of one that is not closed.
pub(super) fn pairs_beside(robot: &Robot, loops: &[FoundLoop]) -> Vec<MovingPair> {
    let pins: BTreeSet<&str> =
        loops.iter().flat_map(|one| &one.joints).map(String::as_str).collect();
    let mut found = pairs(robot);
    for pair in &mut found {
        let is_known = pins.contains(&*pair.follower) || pins.contains(&*pair.leader);
        pair.same_parent &= !is_known;
    }
    found
}
