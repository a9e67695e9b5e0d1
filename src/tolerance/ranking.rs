//! Which length matters most?

use serde::{Serialize, Serializer};

use crate::drive::Measure;
use crate::equivalence::Zeroing;
use crate::linkage::{Branch, Pose};

use super::spread::{Spread, Variable};
use super::varied::Varied;

/// What is ranked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ranked {
    /// The angle error of a joint that turns by this for each motor turn, and its ratio error.
    Joint(f64),
    /// The tilt of a pad on the coupler.
    Tilt,
}

/// What one figure of the drawing does to the joint, or to the pad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contribution {
    /// Which figure.
    pub variable: Varied,
    /// Slope of the angle error, or of the tilt, where it is steepest in the stroke: rad per m, or rad per rad; signed.
    pub slope: f64,
    /// The motor turn of that pose.
    pub at_turn: f64,
    /// Slope of i / ratio where it is steepest: per m or per rad; signed. `None` for a pad.
    pub ratio_slope: Option<f64>,
    /// Share of the variance of the angle error, or of the tilt, in the pose where its spread is largest, 0…1.
    pub share: f64,
}

#[derive(Serialize)]
struct Keys {
    #[serde(flatten)]
    name: Varied,
    angle_slope: Option<f64>,
    angle_slope_unit: Option<&'static str>,
    tilt_slope: Option<f64>,
    tilt_slope_unit: Option<&'static str>,
    at_motor_rad: f64,
    ratio_slope: Option<f64>,
    ratio_slope_unit: Option<&'static str>,
    share: f64,
}

impl Serialize for Contribution {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let [by_angle, by_ratio] = match self.variable.measure {
            Measure::Length => ["rad/m", "1/m"],
            Measure::Angle => ["1", "1/rad"],
            Measure::Number => ["rad", "1"],
        };
        let slope = Some((self.slope, by_angle));
        let (of_angle, of_tilt) =
            if self.ratio_slope.is_some() { (slope, None) } else { (None, slope) };
        let keys = Keys {
            name: self.variable,
            angle_slope: of_angle.map(|s| s.0),
            angle_slope_unit: of_angle.map(|s| s.1),
            tilt_slope: of_tilt.map(|s| s.0),
            tilt_slope_unit: of_tilt.map(|s| s.1),
            at_motor_rad: self.at_turn,
            ratio_slope: self.ratio_slope,
            ratio_slope_unit: self.ratio_slope.map(|_| by_ratio),
            share: self.share,
        };
        keys.serialize(serializer)
    }
}

/// Poses looked at.
const POSES: u32 = 181;

/// The four lengths, and the zero crank angle where it deviates, the largest share first. First order, at 181 poses: good for a ranking,
/// not for a verdict.
///
/// Members of a group vary together: their joint effect is shared out in proportion to each one's covariance with the
/// whole.
#[must_use]
pub fn ranking(
    branch: &Branch,
    ranked: Ranked,
    zeroing: Zeroing,
    turns: [f64; 2],
    spread: &Spread,
) -> Vec<Contribution> {
    let mut poses: Vec<Slopes> = Vec::new();
    for k in 0..POSES {
        let turn = turns[0] + (turns[1] - turns[0]) * f64::from(k) / f64::from(POSES - 1);
        poses.extend(slopes(branch, ranked, zeroing, turn));
    }
    let shares = worst_shares(&poses, spread);
    let steepest = |pick: &dyn Fn(&Slopes) -> f64| {
        poses
            .iter()
            .max_by(|a, b| pick(a).abs().total_cmp(&pick(b).abs()))
            .map(|s| (pick(s), s.turn))
    };
    let mut ranked: Vec<Contribution> = Variable::ALL
        .into_iter()
        .enumerate()
        .zip(shares)
        .filter(|((_, variable), _)| {
            *variable != Variable::ZeroCrank || deviates(spread, *variable)
        })
        .filter_map(|((index, variable), share)| {
            let (slope, at_turn) = steepest(&|s| s.angle.get(index).copied().unwrap_or(0.0))?;
            let (ratio, _) = steepest(&|s| s.ratio.get(index).copied().unwrap_or(0.0))?;
            let ratio_slope = (ranked != Ranked::Tilt).then_some(ratio);
            let variable = variable.into();
            Some(Contribution { variable, slope, at_turn, ratio_slope, share })
        })
        .collect();
    ranked.sort_by(|a, b| b.share.total_cmp(&a.share));
    ranked
}

fn deviates(spread: &Spread, variable: Variable) -> bool {
    let mut pairs = Variable::ALL.into_iter().zip(&spread.deviations);
    pairs.any(|(v, d)| v == variable && d.half_width() > 0.0)
}

struct Slopes {
    turn: f64,
    angle: [f64; 5],
    ratio: [f64; 5],
}

fn slopes(branch: &Branch, ranked: Ranked, zeroing: Zeroing, turn: f64) -> Option<Slopes> {
    let pose = branch.pose(turn).ok()?;
    let of_angle = |pose: &Pose| match ranked {
        Ranked::Joint(_) => pose.rocker_slopes(),
        Ranked::Tilt => pose.coupler_slopes(),
    };
    let here = of_angle(&pose);
    let angle = match zeroing {
        Zeroing::AsDrawn => here,
        Zeroing::OnEachRobot => {
            let [a, b, c, g, r] = here;
            let [a0, b0, c0, g0, r0] = of_angle(&branch.pose(0.0).ok()?);
            [a - a0, b - b0, c - c0, g - g0, r - r0]
        }
    };
    let ratio = match ranked {
        // i / ratio = slope / r.
        Ranked::Joint(slope) => {
            let factor = -slope / pose.velocity_ratio().powi(2);
            pose.ratio_slopes().map(|x| x * factor)
        }
        Ranked::Tilt => [0.0; 5],
    };
    Some(Slopes { turn, angle, ratio })
}

/// Shares of the variance in the pose where it is largest.
fn worst_shares(poses: &[Slopes], spread: &Spread) -> [f64; 5] {
    let covariances = poses.iter().map(|s| covariance_shares(&s.angle, spread));
    let worst = covariances.max_by(|a, b| a.1.total_cmp(&b.1));
    match worst {
        Some((parts, total)) if total > 0.0 => parts.map(|p| p / total),
        _ => [0.0; 5],
    }
}

/// Each variable's covariance with the whole, and their sum, the variance.
fn covariance_shares(angle: &[f64; 5], spread: &Spread) -> ([f64; 5], f64) {
    let sigma = spread.distribution.sigma();
    let mut effect = [0.0; 5];
    for ((slot, slope), deviation) in effect.iter_mut().zip(angle).zip(&spread.deviations) {
        *slot = slope * deviation.half_width() * sigma;
    }
    let mut parts = effect.map(|x| x * x);
    for group in &spread.groups {
        let member = |k: usize| Variable::ALL.get(k).is_some_and(|v| group.members.contains(v));
        for (k, part) in parts.iter_mut().enumerate().filter(|(k, _)| member(*k)) {
            let others =
                effect.iter().enumerate().filter(|(l, _)| *l != k && member(*l)).map(|(_, x)| x);
            *part +=
                group.correlation * effect.get(k).copied().unwrap_or(0.0) * others.sum::<f64>();
        }
    }
    (parts, parts.iter().sum())
}
