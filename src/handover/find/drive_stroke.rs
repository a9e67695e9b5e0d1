//! How far a drive that was found may move, and its margins there.

use std::f64::consts::TAU;

use crate::drive::{JointDrive, OneJoint};

/// Smallest transmission angle of the rods, rad.
pub(super) fn margin(drive: &JointDrive, turn: f64) -> f64 {
    let rods = drive.rods(turn).unwrap_or_default();
    rods.iter().map(|rod| rod.transmission_angle()).fold(f64::INFINITY, f64::min)
}

/// Largest tilt of a rod in its balls, rad.
pub(super) fn tilt(drive: &JointDrive, turn: f64) -> f64 {
    let rods = drive.rods(turn).unwrap_or_default();
    rods.iter().flat_map(|rod| rod.ball_tilts()).flatten().fold(0.0, f64::max)
}

/// How far a drive may move.
pub(super) struct Stroke<'a> {
    pub(super) drive: &'a JointDrive,
    pub(super) limits: Option<[f64; 2]>,
    pub(super) motor_limits: Option<[f64; 2]>,
    pub(super) floor: f64,
}

/// Between two looks, rad.
const STEP: f64 = TAU / 1440.0;

impl Stroke<'_> {
    /// Joint turns from the drawn pose, ascending; `None` where there are none.
    pub(super) fn ends(&self) -> Option<[f64; 2]> {
        let [low, high] = [-1.0, 1.0].map(|direction| self.end(direction));
        (high - low > 1e-6).then_some([low, high])
    }

    fn end(&self, direction: f64) -> f64 {
        let mut inside = 0.0;
        while inside < TAU / 2.0 {
            let next: f64 = inside + STEP;
            if !self.allows(direction * next) {
                return direction * self.bisected(direction, inside, next);
            }
            inside = next;
        }
        direction * inside
    }

    fn bisected(&self, direction: f64, mut inside: f64, mut outside: f64) -> f64 {
        for _ in 0..50 {
            let middle = f64::midpoint(inside, outside);
            if self.allows(direction * middle) {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        inside
    }

    fn allows(&self, turn: f64) -> bool {
        let within = |limits: Option<[f64; 2]>, x: f64| {
            limits.is_none_or(|[low, high]| (low - 1e-12..=high + 1e-12).contains(&x))
        };
        let Ok(motor) = self.drive.motor_turn(turn) else { return false };
        let is_free = self.limits.is_none() && self.motor_limits.is_none();
        within(self.limits, turn)
            && within(self.motor_limits, motor)
            && (!is_free || margin(self.drive, turn) >= self.floor)
    }
}
