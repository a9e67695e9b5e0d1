//! Which length matters most?

use serde::{Serialize, Serializer};

use crate::equivalence::Zeroing;
use crate::linkage::Branch;

use super::spread::{Spread, Variable};

/// What one figure of the drawing does to the joint.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Contribution {
    /// Which figure.
    #[serde(flatten, serialize_with = "with_units")]
    pub variable: Variable,
    /// Slope of the angle error where it is steepest in the stroke: rad per m, or rad per rad; signed.
    pub angle_slope: f64,
    /// The motor turn of that pose.
    #[serde(rename = "at_motor_rad")]
    pub at_turn: f64,
    /// Slope of i / ratio where it is steepest: per m or per rad; signed.
    pub ratio_slope: f64,
    /// Share of the variance of the angle error in the pose where its spread is largest, 0…1.
    pub share: f64,
}

#[derive(Serialize)]
struct Units {
    name: Variable,
    angle_slope_unit: &'static str,
    ratio_slope_unit: &'static str,
}

fn with_units<S: Serializer>(variable: &Variable, serializer: S) -> Result<S::Ok, S::Error> {
    let [angle_slope_unit, ratio_slope_unit] = match variable {
        Variable::ZeroCrank => ["1", "1/rad"],
        _ => ["rad/m", "1/m"],
    };
    Units { name: *variable, angle_slope_unit, ratio_slope_unit }.serialize(serializer)
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
    slope: f64,
    zeroing: Zeroing,
    turns: [f64; 2],
    spread: &Spread,
) -> Vec<Contribution> {
    let mut poses: Vec<Slopes> = Vec::new();
    for k in 0..POSES {
        let turn = turns[0] + (turns[1] - turns[0]) * f64::from(k) / f64::from(POSES - 1);
        poses.extend(slopes(branch, slope, zeroing, turn));
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
            let (angle_slope, at_turn) = steepest(&|s| s.angle.get(index).copied().unwrap_or(0.0))?;
            let (ratio_slope, _) = steepest(&|s| s.ratio.get(index).copied().unwrap_or(0.0))?;
            Some(Contribution { variable, angle_slope, at_turn, ratio_slope, share })
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

fn slopes(branch: &Branch, slope: f64, zeroing: Zeroing, turn: f64) -> Option<Slopes> {
    let pose = branch.pose(turn).ok()?;
    let (here, ratio) = (pose.rocker_slopes(), pose.ratio_slopes());
    let angle = match zeroing {
        Zeroing::AsDrawn => here,
        Zeroing::OnEachRobot => {
            let [a, b, c, g, r] = here;
            let [a0, b0, c0, g0, r0] = branch.pose(0.0).ok()?.rocker_slopes();
            [a - a0, b - b0, c - c0, g - g0, r - r0]
        }
    };
    // i / ratio = slope / r.
    let factor = -slope / pose.velocity_ratio().powi(2);
    Some(Slopes { turn, angle, ratio: ratio.map(|x| x * factor) })
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
