//! The table over the stroke of a drive that is no planar four-bar.

use crate::design::{Design, Drawn};
use crate::drive::{Drawing, OneJoint as _, Place, RodPose};
use crate::equivalence::DirectJoint;
use crate::linkage::Drive;
use crate::numeric::evenly;

use super::driven::Driven;
use super::stroke_loads::{self, PoseFigures};
use super::stroke_table::{Poses, Turns};

/// One pose; angles in rad, turns from the zero pose about the joint axis, lengths in m. `None` where a kind has no such thing.
#[derive(Clone, Copy, Debug)]
pub struct DriveRow {
    /// Motor turn.
    pub motor: f64,
    /// Joint turn.
    pub joint: f64,
    /// Crank angle from A→B.
    pub crank: Option<f64>,
    /// Lever angle from A→B.
    pub rocker: Option<f64>,
    /// Direction of the rod from its motor's end, where it moves in a plane.
    pub coupler: Option<f64>,
    /// i, motor rate per joint rate, signed.
    pub ratio: f64,
    /// Its slope per rad of joint turn.
    pub slope: f64,
    /// Smallest transmission angle of the rods.
    pub transmission_angle: Option<f64>,
    /// Joint turn of the drive less the direct joint's.
    pub angle_error: f64,
    /// What the motor reads.
    pub motor_reading: f64,
    /// What the joint reads.
    pub joint_reading: f64,
    /// Tilt of the balls at P and Q.
    pub ball_tilt: [Option<f64>; 2],
    /// Angle at the motor's end, 0 at a dead point.
    pub crank_side: Option<f64>,
    /// Travel along the slide line from the zero pose.
    pub travel: Option<f64>,
    /// dx/dψ, m per rad.
    pub travel_rate: Option<f64>,
    /// Length between the two pins of an actuator.
    pub length: Option<f64>,
    /// Largest tilt of all balls, of all stages of a series.
    pub largest_tilt: Option<f64>,
    /// What the design's motor and masses make of it.
    pub figures: PoseFigures,
}

/// The joint turns of the poses asked for, by rising motor turn.
///
/// # Errors
/// In words: a reading that the drive does not reach.
pub fn joint_turns(poses: Poses, driven: &Driven) -> Result<Vec<f64>, String> {
    each_joint_turn(poses, driven).collect()
}

/// The same one after another.
#[must_use]
pub fn each_joint_turn(poses: Poses, driven: &Driven) -> Turns<'_> {
    let last = |steps: usize| u32::try_from(steps.max(2) - 1).unwrap_or(u32::MAX);
    let told = |fault: crate::drive::DriveFault| fault.to_string();
    let of_motor = move |turn: f64| driven.drive.joint_turn(turn).map_err(told);
    let is_reached = move |turn: f64| driven.drive.motion(turn).map(|_| turn).map_err(told);
    match poses {
        Poses::Even(steps, Drive::Joint) => {
            let joint = evenly(driven.stroke.joint, last(steps));
            if driven.stroke.mean_ratio() < 0.0 && driven.stroke.joint[0] < driven.stroke.joint[1] {
                Box::new(joint.rev().map(is_reached))
            } else {
                Box::new(joint.map(is_reached))
            }
        }
        Poses::Even(steps, Drive::Motor) => {
            let motor = evenly(driven.stroke.motor, last(steps));
            Box::new(motor.map(move |turn| of_motor(turn).and_then(is_reached)))
        }
        Poses::AtMotor(reading) => {
            let turn = of_motor(driven.readings.motor_turn(reading));
            Box::new(std::iter::once(turn.and_then(is_reached)))
        }
        Poses::AtJoint(reading) => {
            Box::new(std::iter::once(is_reached(driven.readings.joint_turn(reading))))
        }
    }
}

/// A row for each joint turn that the drive reaches.
#[must_use]
pub fn drive_rows(
    design: &Design<Drawn>,
    driven: &Driven,
    joint: &DirectJoint,
    turns: &[f64],
) -> Vec<DriveRow> {
    let figures = stroke_loads::of_turns(design, driven);
    let drawing = &design.geometry.drawing;
    let row = |turn: &f64| row(drawing, driven, joint, *turn, figures(*turn));
    turns.iter().filter_map(row).collect()
}

fn row(
    drawing: &Drawing,
    driven: &Driven,
    direct: &DirectJoint,
    joint: f64,
    figures: PoseFigures,
) -> Option<DriveRow> {
    let motion = driven.drive.motion(joint).ok()?;
    let rods = driven.drive.rods(joint).ok()?;
    let only = match rods.as_slice() {
        [rod] if !matches!(drawing, Drawing::Series(_)) => Some(rod),
        _ => None,
    };
    let zero = super::check_drive::zero_pose(drawing);
    let tilts = rods.iter().flat_map(RodPose::ball_tilts).flatten();
    let least =
        |figure: fn(&RodPose) -> Option<f64>| rods.iter().filter_map(figure).min_by(f64::total_cmp);
    let start = || driven.drive.rods(0.0).ok()?.first()?.travel();
    let sliding = match rods.as_slice() {
        [rod] => rod.travel(),
        _ => None,
    };
    Some(DriveRow {
        motor: motion.motor,
        joint,
        crank: Some(zero.crank + motion.motor).filter(|at| at.is_finite()),
        rocker: Some(zero.rocker + joint).filter(|at| at.is_finite()),
        coupler: only
            .filter(|_| is_planar(drawing))
            .map(|rod| libm::atan2(rod.reached.rod.y, rod.reached.rod.x)),
        ratio: motion.ratio,
        slope: motion.slope,
        transmission_angle: least(|rod| Some(rod.transmission_angle())),
        angle_error: joint - motion.motor / direct.ratio - direct.offset,
        motor_reading: driven.readings.motor(motion.motor),
        joint_reading: driven.readings.joint(joint),
        ball_tilt: only.map_or([None; 2], RodPose::ball_tilts),
        crank_side: least(RodPose::crank_side),
        travel: sliding.and_then(|here| Some(here - start()?)),
        travel_rate: only.filter(|_| sliding.is_some()).map(|rod| motion.ratio / rod.gain),
        length: only
            .filter(|rod| matches!(rod.reached.place, Place::Length(_)))
            .map(|rod| rod.reached.length),
        largest_tilt: tilts.max_by(f64::total_cmp),
        figures,
    })
}

/// Does the rod move in a plane whose x is the ground line?
fn is_planar(drawing: &Drawing) -> bool {
    match drawing {
        Drawing::BallRod { sizes, .. } => {
            [sizes.axial, sizes.twist, sizes.lean].iter().all(|size| size.abs() < 1e-12)
        }
        Drawing::PlanarActuator { .. } | Drawing::PlanarSlider { .. } => true,
        _ => false,
    }
}
