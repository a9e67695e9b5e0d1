//! Motors that turn two joints together without a loop: what a tree has instead of two rods, or of a motor on the carrier's parent.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::FoundLoop;
use crate::robot::{JointId, Robot, SharedDrive};

/// Two joints, one carried by the other, that motors turn together.
#[derive(Clone, Debug, Serialize)]
pub struct SharedJoints {
    /// The joint next to the base, and the one that it carries.
    pub joints: [String; 2],
    /// The motors, in the order of the file.
    pub motors: Vec<SharedMotor>,
}

/// One of the motors.
#[derive(Clone, Debug, Serialize)]
pub struct SharedMotor {
    /// Its name; empty where it has none.
    pub name: String,
    /// Its length, or its turn, per turn of each joint: its row of the matrix. `None` where that is no constant of the file, as
    /// between two points.
    pub row: Option<[f64; 2]>,
    /// Where it stands, as `file:line:column`.
    #[serde(rename = "at")]
    pub whereabouts: String,
}

/// Every two joints that motors turn together, but those of a closed loop.
pub(super) fn shared(robot: &Robot, loops: &[FoundLoop]) -> Vec<SharedJoints> {
    let pins: BTreeSet<&str> =
        loops.iter().flat_map(|one| &one.joints).map(String::as_str).collect();
    let mut found: BTreeMap<[JointId; 2], Vec<SharedMotor>> = BTreeMap::new();
    for drive in robot.shared_drives.iter().filter(|drive| !drive.actuator.is_off) {
        let Some(joints) = two_joints(robot, drive) else { continue };
        if joints.iter().any(|id| pins.contains(robot.joint_name(*id))) {
            continue;
        }
        let of = |id: JointId| drive.joints.iter().find(|(own, _)| *own == id)?.1;
        let [first, second] = joints;
        let row = of(first).zip(of(second));
        found.entry(joints).or_default().push(SharedMotor {
            name: drive.name.clone(),
            row: row.map(|(p, r)| [p, r].map(|of| of * drive.actuator.gear)),
            whereabouts: robot.whereabouts(drive.place),
        });
    }
    let told = |(joints, motors): ([JointId; 2], Vec<SharedMotor>)| SharedJoints {
        joints: joints.map(|id| robot.joint_name(id).to_owned()),
        motors,
    };
    found.into_iter().map(told).collect()
}

/// The two joints of a drive, of which the first carries the second.
fn two_joints(robot: &Robot, drive: &SharedDrive) -> Option<[JointId; 2]> {
    let &[(one, _), (two, _)] = drive.joints.as_slice() else { return None };
    let carries = |first: JointId, second: JointId| {
        Some(robot.joints.get(first)?.child == robot.joints.get(second)?.parent)
    };
    if carries(one, two)? { Some([one, two]) } else { carries(two, one)?.then_some([two, one]) }
}
