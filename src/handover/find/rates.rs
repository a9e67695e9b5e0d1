//! How fast the pins of a loop turn, for what they lose.

use super::four_bar::FourBarLoop;
use super::reach::Reach;
use crate::equivalence::Constants;
use crate::linkage::Sweep;
use crate::robot::{FileJoint, Robot};

/// Rates of the two pins per joint rate over the stroke, with s the coupler's rate per joint rate.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rates {
    /// Mean of |i − s|, at P.
    pub(crate) crank: f64,
    /// Mean of (i − s)².
    pub(crate) crank_squared: f64,
    /// Mean of |1 − s|, at Q.
    pub(crate) rocker: f64,
    /// Mean of (1 − s)².
    pub(crate) rocker_squared: f64,
}

/// Poses over which losses are taken in the mean.
const POSES: u32 = 64;

impl Reach {
    /// In the mean over the stroke.
    pub(crate) fn rates(&self) -> Rates {
        let [low, high] = self.motor;
        let mut sums = [0.0; 4];
        let mut count = 0.0_f64;
        for k in 0..=POSES {
            let turn = low + (high - low) * f64::from(k) / f64::from(POSES);
            let Ok(pose) = self.branch.pose(turn) else { continue };
            let i = pose.transmission_ratio();
            let s = pose.coupler_rate() * i;
            if !i.is_finite() {
                continue;
            }
            let rates = [(i - s).abs(), (i - s).powi(2), (1.0 - s).abs(), (1.0 - s).powi(2)];
            for (sum, rate) in sums.iter_mut().zip(rates) {
                *sum += rate;
            }
            count += 1.0;
        }
        let [crank, crank_squared, rocker, rocker_squared] = sums.map(|sum| sum / count.max(1.0));
        Rates { crank, crank_squared, rocker, rocker_squared }
    }
}

/// What the driven joint and the pins of crank and rod lose and weigh by themselves, at the driven joint, by power.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PinLosses {
    /// N m s/rad.
    pub(crate) damping: f64,
    /// N m.
    pub(crate) friction: f64,
    /// kg m².
    pub(crate) armature: f64,
}

impl PinLosses {
    pub(crate) fn new(robot: &Robot, found: &FourBarLoop, reach: &Reach) -> Self {
        let rates = reach.rates();
        let [_, crank, rocker, driven] = &found.pins;
        let sum = |figure: fn(&FileJoint) -> Option<f64>, [at_crank, at_rocker]: [f64; 2]| {
            let of = |id: Option<usize>| {
                id.and_then(|id| robot.joints.get(id)).and_then(figure).unwrap_or(0.0)
            };
            of(crank.joint) * at_crank + of(rocker.joint) * at_rocker + of(driven.joint)
        };
        let squared = [rates.crank_squared, rates.rocker_squared];
        Self {
            damping: sum(|j| j.damping, squared),
            friction: sum(|j| j.friction, [rates.crank, rates.rocker]),
            armature: sum(|j| j.armature, squared),
        }
    }

    /// The same at the crank's joint.
    pub(crate) fn at_motor(self, reach: &Reach) -> Self {
        let (branch, stroke) = (&reach.branch, reach.stroke());
        let best = Constants { ratio: None, offset: Some(0.0) };
        let ratio = Sweep::over(branch, stroke).map(|sweep| best.resolve(&sweep).ratio);
        let ratio = ratio.unwrap_or(stroke.mean_ratio()).abs();
        Self {
            damping: self.damping / (ratio * ratio),
            friction: self.friction / ratio,
            armature: self.armature / (ratio * ratio),
        }
    }
}
