//! What the pins of a rocker that goes lose by themselves, as the motor's joint has it.

use super::FileDrive;
use crate::handover::find::Reach;

/// Poses over which losses are taken in the mean.
const POSES: u32 = 64;

/// What the pins of the rocker lose and weigh by themselves, at the motor's joint: N m s/rad, N m, kg m².
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct RockerLosses {
    pub(super) damping: f64,
    pub(super) friction: f64,
    pub(super) armature: f64,
}

impl RockerLosses {
    pub(super) fn of(drive: &FileDrive<'_>, reach: &Reach) -> Self {
        let [low, high] = reach.motor;
        let turns = (0..=POSES).map(|k| low + (high - low) * f64::from(k) / f64::from(POSES));
        let poses: Vec<_> = turns.filter_map(|turn| reach.branch.pose(turn).ok()).collect();
        let count = poses.iter().map(|_| 1.0).sum::<f64>().max(1.0);
        let mut sum = Self::default();
        for pose in &poses {
            let (r, s) = (pose.velocity_ratio(), pose.coupler_rate());
            for (pin, rate) in [(3, r), (2, r - s)] {
                sum.add(drive, pin, rate, 1.0 / count);
            }
        }
        sum
    }

    fn add(&mut self, drive: &FileDrive<'_>, pin: usize, rate: f64, share: f64) {
        let joint = drive.four_bar.pins.get(pin).and_then(|pin| pin.joint);
        let Some(joint) = joint.and_then(|id| drive.robot.joints.get(id)) else { return };
        let of = |figure: Option<f64>| figure.unwrap_or(0.0) * share;
        self.damping += of(joint.damping) * rate * rate;
        self.friction += of(joint.friction) * rate.abs();
        self.armature += of(joint.armature) * rate * rate;
    }
}
