//! The table over the region of a drive of two joints.

use crate::design::TwoJointDesign;
use crate::numeric::evenly;

use super::{TwoMotors, lengths};

/// One pose. Arrays hold pitch and roll, or a figure for each motor in the order of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct RegionRow {
    /// Turns of pitch and roll from the zero pose, rad.
    pub joints: [f64; 2],
    /// What they read, rad.
    pub joint_readings: [f64; 2],
    /// Motor turns from the zero pose, rad.
    pub motors: [f64; 2],
    /// What they read, rad.
    pub motor_readings: [f64; 2],
    /// d motor / d joint: a row for each motor, columns pitch and roll.
    pub jacobian: [[f64; 2]; 2],
    /// Each rod against the path of its pin on the foot with the other motor held, folded into 0…π/2 rad: 0 where the foot is
    /// loose.
    pub transmission_angle: [f64; 2],
    /// Each rod against its crank, folded, rad; none of a linear actuator.
    pub crank_side: [Option<f64>; 2],
    /// The rod's tilt in the ball on the crank, rad.
    pub ball_tilt: [Option<f64>; 2],
    /// Length along the slide line of a linear actuator, m.
    pub length: [Option<f64>; 2],
    /// Arm of each rod about pitch and roll, m.
    pub arms: [[f64; 2]; 2],
    /// What two direct joints would be off: pitch and roll, rad.
    pub angle_error: [f64; 2],
    /// The largest share that a speed or torque of theirs is off, in whatever direction.
    pub rate_error: f64,
}

/// `counts` poses evenly spaced in pitch and in roll, both ends included, pitch outermost, both rising.
pub fn region_rows<'a>(
    design: &'a TwoJointDesign,
    of: &'a TwoMotors,
    counts: [u32; 2],
) -> impl Iterator<Item = RegionRow> + 'a {
    let [pitches, rolls] = counts.map(|count| count.max(2) - 1);
    let [pitch, roll] = of.region;
    let turns = evenly(pitch, pitches).flat_map(move |p| evenly(roll, rolls).map(move |r| [p, r]));
    turns.filter_map(|joints| row(design, of, joints))
}

pub(super) fn row(design: &TwoJointDesign, of: &TwoMotors, joints: [f64; 2]) -> Option<RegionRow> {
    let (pose, motors) = (of.drive.pose(joints).ok()?, of.drive.motor_turns(joints).ok()?);
    let sum = |turns: [f64; 2], reads: [f64; 2]| [turns[0] + reads[0], turns[1] + reads[1]];
    Some(RegionRow {
        joints,
        joint_readings: sum(joints, design.joint_reads),
        motors,
        motor_readings: sum(motors, design.motor_reads),
        jacobian: pose.jacobian,
        transmission_angle: [0, 1].map(|k| pose.joint_side(k)),
        crank_side: [0, 1].map(|k| pose.crank_side(k)),
        ball_tilt: [0, 1].map(|k| pose.crank_tilt(k)),
        length: lengths(&pose),
        arms: pose.joint_arms(),
        angle_error: of.direct.angle_error(&of.drive, joints).ok()?,
        rate_error: of.direct.rate_error_norm(&pose),
    })
}
