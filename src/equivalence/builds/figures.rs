//! The drawn drive's worst figures over its stroke, each with the joint turn where it lies.

use super::super::criterion::Criterion;
use super::super::direct_joint::DirectJoint;
use super::question::{DriveLimits, DriveQuestion};
use crate::drive::{JointDrive, OneJoint as _, RodPose};
use crate::linkage::Extreme;
use crate::numeric::{peaks, remembered};

/// Worst figures of a drive as drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DriveFigures {
    /// The transmission ratio, smallest and largest, signed.
    pub ratio: [Extreme; 2],
    /// Largest |angle error|, rad.
    pub angle: Extreme,
    /// Largest |i / ratio − 1|.
    pub ratio_error: Extreme,
    /// Smallest transmission angle of its rods, rad; none where there is no rod.
    pub transmission_angle: Option<Extreme>,
    /// Smallest angle at the motor's end, rad; none where no dead point can be.
    pub crank_side: Option<Extreme>,
    /// Largest tilt of a rod in its ball ends, rad; none where there is no bolt to tell it from.
    pub ball_tilt: Option<Extreme>,
}

fn extreme((turn, value): (f64, f64)) -> Extreme {
    Extreme { value, turn }
}

impl DriveFigures {
    /// Of `drive` between the joint turns `turns` with `joint` in its place.
    #[must_use]
    pub fn of(drive: &JointDrive, turns: [f64; 2], joint: &DirectJoint) -> Self {
        let motion = remembered(|turn| drive.motion(turn).ok());
        let ratio = peaks(|turn| motion(turn).map_or(f64::NAN, |m| m.ratio), turns).map(extreme);
        let off = |at: Extreme| Extreme { value: at.value / joint.ratio - 1.0, ..at };
        let error = |turn: f64| {
            let motor = motion(turn).map_or(f64::NAN, |m| m.motor);
            turn - motor / joint.ratio - joint.offset
        };
        let margins = remembered(|turn| margins_of_rods(drive, turn));
        let margin = |which: fn(&Margins) -> Option<f64>| {
            let at = |turn: f64| which(&margins(turn)?);
            at(turns[0])?;
            Some(peaks(|turn| at(turn).unwrap_or(f64::NAN), turns).map(extreme))
        };
        let least = |which| margin(which).map(|[low, _]| low);
        Self {
            ratio,
            angle: largest_size(peaks(error, turns).map(extreme)),
            ratio_error: largest_size(ratio.map(off)),
            transmission_angle: least(|margins| margins.transmission_angle),
            crank_side: least(|margins| margins.crank_side),
            ball_tilt: margin(|margins| margins.ball_tilt).map(|[_, high]| high),
        }
    }

    /// The first figure that is judged and not within its limit.
    #[must_use]
    pub fn broken(&self, limits: &DriveLimits) -> Option<Criterion> {
        let over = |figure: Option<Extreme>, floor: f64| figure.is_none_or(|f| f.value >= floor);
        let tilt = self.ball_tilt.zip(limits.ball_tilt);
        let (motion, crank_side) = (&limits.motion, limits.crank_side.unwrap_or(0.0));
        let held = [
            (Criterion::Angle, self.angle.value <= motion.angle),
            (Criterion::Ratio, self.ratio_error.value <= motion.ratio),
            (
                Criterion::TransmissionAngle,
                over(self.transmission_angle, motion.transmission_angle),
            ),
            (Criterion::CrankSide, over(self.crank_side, crank_side)),
            (Criterion::BallTilt, tilt.is_none_or(|(tilt, limit)| tilt.value <= limit)),
        ];
        held.into_iter().find_map(|(criterion, holds)| (!holds).then_some(criterion))
    }
}

/// The worst margins of all rods in one pose, where they have them.
#[derive(Clone, Copy)]
struct Margins {
    transmission_angle: Option<f64>,
    crank_side: Option<f64>,
    ball_tilt: Option<f64>,
}

fn margins_of_rods(drive: &JointDrive, turn: f64) -> Option<Margins> {
    let rods = drive.rods(turn).ok()?;
    let tilts = rods.iter().flat_map(RodPose::ball_tilts).flatten();
    Some(Margins {
        transmission_angle: rods.iter().map(RodPose::transmission_angle).min_by(f64::total_cmp),
        crank_side: rods.iter().filter_map(RodPose::crank_side).min_by(f64::total_cmp),
        ball_tilt: tilts.max_by(f64::total_cmp),
    })
}

impl DriveQuestion<'_> {
    pub(super) fn figures(&self) -> DriveFigures {
        DriveFigures::of(self.drive, self.turns, &self.joint)
    }
}

fn largest_size([low, high]: [Extreme; 2]) -> Extreme {
    let worst = if low.value.abs() > high.value.abs() { low } else { high };
    Extreme { value: worst.value.abs(), turn: worst.turn }
}
