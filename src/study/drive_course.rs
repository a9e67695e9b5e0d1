//! A drive of another kind than a planar four-bar over its stroke: figures and poses for tables, curves and pictures.

use crate::drive::{JointDrive, OneJoint as _, RodOnHinge, RodPose, Series};
use crate::equivalence::DirectJoint;
use crate::numeric::evenly;

use super::driven::Driven;

/// A drive at poses evenly spaced in joint angle, rising motor turn.
#[derive(Clone, Debug)]
pub struct DriveCourse {
    /// One a pose.
    pub rows: Vec<CourseRow>,
    /// Every stage at the same poses, in order from the motor; one for all but a series.
    pub stages: Vec<StageCourse>,
}

/// Figures of one pose; angles in rad, lengths in m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CourseRow {
    /// Motor turn from the zero pose.
    pub motor: f64,
    /// Joint turn from the zero pose.
    pub joint: f64,
    /// What the motor reads.
    pub motor_reading: f64,
    /// What the joint reads.
    pub joint_reading: f64,
    /// Motor rate per joint rate, signed.
    pub ratio: f64,
    /// Joint turn less that of the direct joint.
    pub angle_error: f64,
    /// Smallest transmission angle of the rods; `None` without one.
    pub transmission_angle: Option<f64>,
    /// Smallest margin at the rods' other ends; `None` where there is no dead point.
    pub crank_side: Option<f64>,
    /// Largest tilt of the rods' balls; `None` where there is no bolt to tell it from.
    pub ball_tilt: Option<f64>,
    /// Travel along the slide line from the zero pose, where one rod has one.
    pub travel: Option<f64>,
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

/// `driven` at `poses` ≥ 2 poses of its stroke against `direct`; poses that are not reached are left out.
#[must_use]
pub fn drive_course(driven: &Driven, direct: &DirectJoint, poses: u32) -> DriveCourse {
    let [from, to] = driven.stroke.joint;
    let joints: Vec<f64> = evenly([from, to], poses.saturating_sub(1)).collect();
    let zero = driven.drive.rods(0.0).ok();
    let zero = zero.as_deref().and_then(travel);
    let row = |joint: f64| row(driven, direct, joint, zero);
    let rows: Vec<CourseRow> = joints.into_iter().filter_map(row).collect();
    let reached: Vec<f64> = rows.iter().map(|row| row.joint).collect();
    DriveCourse { rows, stages: stages(&driven.drive, &reached) }
}

fn row(driven: &Driven, direct: &DirectJoint, joint: f64, zero: Option<f64>) -> Option<CourseRow> {
    let motion = driven.drive.motion(joint).ok()?;
    let rods = driven.drive.rods(joint).ok()?;
    let each = |of: fn(&RodPose) -> Option<f64>| rods.iter().filter_map(of);
    let tilt = |rod: &RodPose| rod.ball_tilts().into_iter().flatten().reduce(f64::max);
    Some(CourseRow {
        motor: motion.motor,
        joint,
        motor_reading: driven.readings.motor(motion.motor),
        joint_reading: driven.readings.joint(joint),
        ratio: motion.ratio,
        angle_error: joint - motion.motor / direct.ratio - direct.offset,
        transmission_angle: each(|rod| Some(rod.transmission_angle())).reduce(f64::min),
        crank_side: each(RodPose::crank_side).reduce(f64::min),
        ball_tilt: each(tilt).reduce(f64::max),
        travel: travel(&rods).zip(zero).map(|(here, zero)| here - zero),
    })
}

/// Of the only rod.
fn travel(rods: &[RodPose]) -> Option<f64> {
    match rods {
        [one] => one.travel(),
        _ => None,
    }
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
