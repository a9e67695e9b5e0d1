//! How fast the pins of a loop turn, for what they lose.

use super::four_bar::FourBarLoop;
use super::losses::{Losses, means};
use super::reach::Reach;
use crate::equivalence::Constants;
use crate::linkage::Sweep;
use crate::numeric::evenly;
use crate::robot::Robot;

/// Rates of the two pins per joint rate, with s the coupler's rate per joint rate: means over the stroke of their sizes and of
/// their squares.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rates {
    /// Of i − s, at P.
    pub(crate) crank: [f64; 2],
    /// Of 1 − s, at Q.
    pub(crate) rocker: [f64; 2],
}

/// Pieces of the stroke over which losses are taken in the mean.
pub(crate) const PIECES: u32 = 64;

impl Reach {
    /// In the mean over the stroke.
    pub(crate) fn rates(&self) -> Rates {
        let poses = evenly(self.motor, PIECES).filter_map(|turn| self.branch.pose(turn).ok());
        let rates = poses.filter_map(|pose| {
            let i = pose.transmission_ratio();
            i.is_finite().then(|| (i, pose.coupler_rate() * i))
        });
        let rates: Vec<(f64, f64)> = rates.collect();
        Rates {
            crank: means(rates.iter().map(|(i, s)| i - s)),
            rocker: means(rates.iter().map(|(_, s)| 1.0 - s)),
        }
    }
}

impl Losses {
    /// What the driven joint and the pins of crank and rod lose and weigh by themselves, at the driven joint.
    pub(crate) fn of_pins(robot: &Robot, found: &FourBarLoop, reach: &Reach) -> Self {
        let Rates { crank, rocker } = reach.rates();
        let [_, at_crank, at_rocker, driven] =
            found.pins.each_ref().map(|pin| robot.joints.get(pin.joint?));
        Self::default().and(at_crank, crank).and(at_rocker, rocker).and(driven, [1.0; 2])
    }

    /// The same at the crank's joint.
    pub(crate) fn at_crank(self, reach: &Reach) -> Self {
        let (branch, stroke) = (&reach.branch, reach.stroke());
        let best = Constants { ratio: None, offset: Some(0.0) };
        let ratio = Sweep::over(branch, stroke).map(|sweep| best.resolve(&sweep).ratio);
        self.behind(ratio.unwrap_or(stroke.mean_ratio()))
    }
}
