//! The table over the stroke.

use crate::design::Design;
use crate::equivalence::DirectJoint;
use crate::linkage::{Pose, Stroke};

use super::findings::StrokeRow;
use super::mechanism::Mechanism;
use super::stroke_loads::{self, PoseFigures};

/// One pose of the table; angles in rad, turns from the zero pose about the joint axis.
#[derive(Clone, Copy, Debug)]
pub struct PoseRow {
    /// Motor turn.
    pub motor: f64,
    /// Joint turn of the linkage.
    pub joint: f64,
    /// What the motor reads there, as in `[stroke]`.
    pub motor_reading: f64,
    /// What the joint reads there.
    pub joint_reading: f64,
    /// Joint turn of the linkage less the direct joint's.
    pub angle_error: f64,
    /// The pose.
    pub pose: Pose,
    /// What the design's motor and masses make of it.
    pub figures: PoseFigures,
}

/// `steps` poses evenly spaced in motor angle over the stroke, both ends included, rising; at least two.
#[must_use]
pub fn stroke_table(mechanism: &Mechanism, joint: &DirectJoint, steps: usize) -> Vec<PoseRow> {
    motor_turns(&mechanism.stroke, steps).filter_map(|turn| row(mechanism, joint, turn)).collect()
}

/// The same with what the design's motor and masses make of each pose.
#[must_use]
pub fn stroke(
    design: &Design,
    mechanism: &Mechanism,
    joint: &DirectJoint,
    steps: usize,
) -> Vec<PoseRow> {
    let mut rows = stroke_table(mechanism, joint, steps);
    let figures = stroke_loads::of_poses(design, mechanism);
    rows.iter_mut().for_each(|row| row.figures = figures(&row.pose));
    rows
}

fn row(mechanism: &Mechanism, joint: &DirectJoint, motor: f64) -> Option<PoseRow> {
    let pose = mechanism.branch.pose(motor).ok()?;
    let turn = mechanism.branch.joint_turn(motor).ok()?;
    Some(PoseRow {
        motor,
        joint: turn,
        motor_reading: mechanism.readings.motor(motor),
        joint_reading: mechanism.readings.joint(turn),
        angle_error: turn - motor / joint.ratio - joint.offset,
        pose,
        figures: PoseFigures::default(),
    })
}

impl From<&PoseRow> for StrokeRow {
    fn from(row: &PoseRow) -> Self {
        Self {
            motor: row.motor,
            joint: row.joint,
            transmission_ratio: row.pose.transmission_ratio(),
            left: row.figures.left.unwrap_or(1.0),
        }
    }
}

#[allow(clippy::cast_precision_loss, reason = "a table has far fewer rows than 2^52")]
fn motor_turns(stroke: &Stroke, steps: usize) -> impl Iterator<Item = f64> {
    let [from, to] = stroke.motor;
    let last = steps.max(2) - 1;
    (0..=last).map(
        move |k| {
            if k == last { to } else { from + (to - from) * (k as f64 / last as f64) }
        },
    )
}
