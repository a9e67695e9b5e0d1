//! What joints lose and weigh by themselves, as another joint has it, by power.

use crate::robot::FileJoint;

/// What is lost at a joint, and what it weighs by itself.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Losses {
    /// N m s/rad.
    pub(crate) damping: f64,
    /// N m.
    pub(crate) friction: f64,
    /// kg m².
    pub(crate) armature: f64,
}

impl Losses {
    /// What `joint` has, at itself.
    pub(crate) fn of(joint: &FileJoint) -> Self {
        Self {
            damping: joint.damping.unwrap_or(0.0),
            friction: joint.friction.unwrap_or(0.0),
            armature: joint.armature.unwrap_or(0.0),
        }
    }

    /// With what `joint` has, by the mean size of its rate per rate of the joint that bears it and the mean of its square.
    pub(crate) fn and(self, joint: Option<&FileJoint>, [plain, squared]: [f64; 2]) -> Self {
        let more = joint.map(Self::of).unwrap_or_default();
        Self {
            damping: self.damping + more.damping * squared,
            friction: self.friction + more.friction * plain,
            armature: self.armature + more.armature * squared,
        }
    }

    /// The same at a joint that turns `ratio` times as fast.
    pub(crate) fn behind(self, ratio: f64) -> Self {
        Self {
            damping: self.damping / (ratio * ratio),
            friction: self.friction / ratio.abs(),
            armature: self.armature / (ratio * ratio),
        }
    }
}

/// Of the sizes of some rates, and of their squares.
pub(crate) fn means(rates: impl Iterator<Item = f64>) -> [f64; 2] {
    let (mut sums, mut count) = ([0.0; 2], 0.0_f64);
    for rate in rates {
        sums = [sums[0] + rate.abs(), sums[1] + rate * rate];
        count += 1.0;
    }
    sums.map(|sum| sum / count.max(1.0))
}
