//! The drawn drive's worst figures over its stroke, each with the joint turn where it lies.

use super::super::direct_joint::DirectJoint;
use super::question::{DriveLimits, DriveQuestion};
use crate::drive::{JointDrive, OneJoint as _, RodPose};
use crate::linkage::Extreme;
use crate::numeric::peaks;

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
        let motion = |turn: f64| drive.motion(turn).ok();
        let ratio = peaks(|turn| motion(turn).map_or(f64::NAN, |m| m.ratio), turns).map(extreme);
        let off = |turn: f64| motion(turn).map_or(f64::NAN, |m| m.ratio / joint.ratio - 1.0);
        let error = |turn: f64| {
            let motor = motion(turn).map_or(f64::NAN, |m| m.motor);
            turn - motor / joint.ratio - joint.offset
        };
        Self {
            ratio,
            angle: largest_size(peaks(error, turns).map(extreme)),
            ratio_error: largest_size(peaks(off, turns).map(extreme)),
            transmission_angle: Self::of_rods(drive, turns, -1.0, &|rod| {
                Some(rod.transmission_angle())
            }),
            crank_side: Self::of_rods(drive, turns, -1.0, &RodPose::crank_side),
            ball_tilt: Self::of_rods(drive, turns, 1.0, &|rod| {
                rod.ball_tilts().into_iter().flatten().max_by(f64::total_cmp)
            }),
        }
    }

    /// The largest (`side` +1) or smallest (−1) of a figure of all rods; `None` where no rod has it.
    fn of_rods(
        drive: &JointDrive,
        turns: [f64; 2],
        side: f64,
        figure: &dyn Fn(&RodPose) -> Option<f64>,
    ) -> Option<Extreme> {
        let worst = |turn: f64| {
            let rods = drive.rods(turn).ok()?;
            rods.iter().filter_map(figure).max_by(|a, b| (side * a).total_cmp(&(side * b)))
        };
        worst(turns[0])?;
        let [low, high] = peaks(|turn| worst(turn).unwrap_or(f64::NAN), turns).map(extreme);
        Some(if side > 0.0 { high } else { low })
    }

    /// Is every figure that is judged within its limit?
    #[must_use]
    pub fn hold(&self, limits: &DriveLimits) -> bool {
        let over = |figure: Option<Extreme>, floor: f64| figure.is_none_or(|f| f.value >= floor);
        let tilt = self.ball_tilt.zip(limits.ball_tilt);
        self.angle.value <= limits.motion.angle
            && self.ratio_error.value <= limits.motion.ratio
            && over(self.transmission_angle, limits.motion.transmission_angle)
            && over(self.crank_side, limits.crank_side.unwrap_or(0.0))
            && tilt.is_none_or(|(tilt, limit)| tilt.value <= limit)
    }
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
