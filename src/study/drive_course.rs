//! A drive of another kind than a planar four-bar over its stroke: figures and poses for tables, curves and pictures.

use crate::design::{Design, Drawn};
use crate::drive::{JointDrive, OneJoint as _, RodOnHinge, RodPose, Series};
use crate::equivalence::DirectJoint;
use crate::linkage::Drive;

use super::drive_table::{DriveRow, drive_rows, joint_turns};
use super::driven::Driven;
use super::stroke_table::{Poses, with_rest};

/// A drive at poses evenly spaced in joint angle, rising motor turn, the zero pose among them.
#[derive(Clone, Debug)]
pub struct DriveCourse {
    /// One a pose.
    pub rows: Vec<DriveRow>,
    /// Every stage at the same poses, in order from the motor; one for all but a series.
    pub stages: Vec<StageCourse>,
}

/// One stage over the stroke.
#[derive(Clone, Debug)]
pub enum StageCourse {
    /// A belt, gear or cable.
    Ratio {
        /// Motor turn / joint turn.
        ratio: f64,
        /// Motor and joint turn of each pose.
        turns: Vec<[f64; 2]>,
    },
    /// A rod.
    Rod {
        /// Where it hangs.
        geometry: Box<RodOnHinge>,
        /// Its poses.
        poses: Vec<RodPose>,
    },
}

/// The drive of `design` at `poses` ≥ 2 poses of its stroke and in its zero pose, where that lies between them, against
/// `direct`; poses that are not reached are left out.
pub(super) fn drive_course(
    design: &Design<Drawn>,
    driven: &Driven,
    direct: &DirectJoint,
    poses: usize,
) -> DriveCourse {
    let turns = joint_turns(Poses::Even(poses, Drive::Joint), driven).unwrap_or_default();
    let turns = with_rest(turns);
    let rows = drive_rows(design, driven, direct, &turns);
    let reached: Vec<f64> = rows.iter().map(|row| row.joint).collect();
    DriveCourse { rows, stages: stages(&driven.drive, &reached) }
}

fn stages(drive: &JointDrive, joints: &[f64]) -> Vec<StageCourse> {
    match drive {
        JointDrive::Ratio(ratio) => {
            let turns = joints.iter().map(|joint| [ratio.0 * joint, *joint]).collect();
            vec![StageCourse::Ratio { ratio: ratio.0, turns }]
        }
        JointDrive::Rod(rod) => {
            let poses = joints.iter().filter_map(|joint| rod.pose(*joint).ok()).collect();
            vec![StageCourse::Rod { geometry: Box::new(*rod.geometry()), poses }]
        }
        JointDrive::Series(Series(all)) => {
            let (mut found, mut turns) = (Vec::new(), joints.to_vec());
            for stage in all.iter().rev() {
                found.extend(stages(stage, &turns));
                turns
                    .iter_mut()
                    .for_each(|turn| *turn = stage.motor_turn(*turn).unwrap_or(f64::NAN));
            }
            found.reverse();
            found
        }
    }
}
