//! What the pins of a rocker that goes lose by themselves, as the motor's joint has it.

use super::FileDrive;
use crate::handover::find::{Losses, PIECES, Reach, means};
use crate::numeric::evenly;

/// What the pins of the rocker lose and weigh by themselves, at the motor's joint.
pub(super) fn of_rocker(drive: &FileDrive<'_>, reach: &Reach) -> Losses {
    let poses = evenly(reach.motor, PIECES).filter_map(|turn| reach.branch.pose(turn).ok());
    let rates = poses.map(|pose| (pose.velocity_ratio(), pose.coupler_rate()));
    let rates: Vec<(f64, f64)> = rates.collect();
    let [_, _, at_rocker, at_ground] =
        drive.four_bar.pins.each_ref().map(|pin| drive.robot.joints.get(pin.joint?));
    let ground = means(rates.iter().map(|(r, _)| *r));
    Losses::default().and(at_ground, ground).and(at_rocker, means(rates.iter().map(|(r, s)| r - s)))
}
