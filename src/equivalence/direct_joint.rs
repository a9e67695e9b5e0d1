//! The direct joint's two constants.

use serde::Serialize;

use crate::linkage::{Extreme, Sweep};
use crate::numeric::minimax::{self, Piece};
use crate::numeric::{peaks, remembered};

/// joint turn = motor turn / ratio + offset, both counted from the zero pose.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DirectJoint {
    /// Motor turn per joint turn, signed.
    pub ratio: f64,
    /// rad, about the joint axis.
    #[serde(rename = "offset_rad")]
    pub offset: f64,
}

/// The constants asked for; `None` is to be found: the one with the smallest worst angle error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Constants {
    /// Transmission ratio.
    pub ratio: Option<f64>,
    /// Offset, rad.
    pub offset: Option<f64>,
}

impl Constants {
    /// The direct joint over `sweep`, exact minimax where a constant is to be found.
    #[must_use]
    pub fn resolve(&self, sweep: &Sweep<'_>) -> DirectJoint {
        let slope = match (self.ratio, self.offset) {
            (Some(ratio), _) => 1.0 / ratio,
            (None, Some(offset)) => best_slope(sweep, |slope| pinned(sweep, slope, offset)),
            (None, None) => best_slope(sweep, |slope| centred(sweep, slope)),
        };
        let offset = self.offset.unwrap_or_else(|| {
            let [low, high] = sweep.angle_error(slope, 0.0);
            0.5 * (low.value + high.value)
        });
        DirectJoint { ratio: self.ratio.unwrap_or(1.0 / slope), offset }
    }
}

impl Constants {
    /// The direct joint of a drive that is followed over its joint turns `joints` (ascending, rad) by its motor turn `motor`;
    /// `None` where that is not known at the ends.
    #[must_use]
    pub fn over_joint_turns(
        &self,
        motor: &dyn Fn(f64) -> f64,
        joints: [f64; 2],
    ) -> Option<DirectJoint> {
        let motor = &remembered(motor);
        let error = |slope: f64| peaks(|joint| joint - slope * motor(joint), joints);
        let slope = match (self.ratio, self.offset) {
            (Some(ratio), _) => 1.0 / ratio,
            (None, offset) => {
                let [from, to] = joints.map(motor);
                let mean = (joints[1] - joints[0]) / (to - from);
                minimax::best_slope(Some(mean).filter(|m| m.is_finite())?, |slope| {
                    touching(error(slope), slope, offset, motor)
                })
            }
        };
        let offset = self.offset.unwrap_or_else(|| {
            let [low, high] = error(slope);
            0.5 * (low.1 + high.1)
        });
        Some(DirectJoint { ratio: self.ratio.unwrap_or(1.0 / slope), offset })
    }
}

/// The worst errors at `slope`, each as (joint turn, error), as pieces in the slope: both ends with a given offset, else half
/// the spread, which is the worst error with the best offset.
fn touching(
    errors: [(f64, f64); 2],
    slope: f64,
    offset: Option<f64>,
    motor: &dyn Fn(f64) -> f64,
) -> Vec<Piece> {
    let [low, high] = errors.map(|(joint, error)| {
        let run = motor(joint);
        Piece { height: error + slope * run, run }
    });
    match offset {
        Some(offset) => vec![
            Piece { height: high.height - offset, run: high.run },
            Piece { height: offset - low.height, run: -low.run },
        ],
        None => vec![Piece {
            height: 0.5 * (high.height - low.height),
            run: 0.5 * (high.run - low.run),
        }],
    }
}

fn best_slope(sweep: &Sweep<'_>, touching: impl FnMut(f64) -> Vec<Piece>) -> f64 {
    minimax::best_slope(1.0 / sweep.stroke().mean_ratio(), touching)
}

/// The worst error at both signs, as pieces in the slope.
fn pinned(sweep: &Sweep<'_>, slope: f64, offset: f64) -> Vec<Piece> {
    let [low, high] = sweep.angle_error(slope, offset);
    let over = |e: Extreme| Piece { height: e.value + slope * e.turn, run: e.turn };
    let (low, high) = (over(low), over(high));
    vec![high, Piece { height: -low.height, run: -low.run }]
}

/// Half the spread of the error, which is the worst error with the best offset.
fn centred(sweep: &Sweep<'_>, slope: f64) -> Vec<Piece> {
    let [low, high] = sweep.angle_error(slope, 0.0);
    let height = 0.5 * ((high.value + slope * high.turn) - (low.value + slope * low.turn));
    vec![Piece { height, run: 0.5 * (high.turn - low.turn) }]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::linkage::{Branch, Closure, Drive, FourBar, Stroke};

    fn with_sweep<T>(
        bars: FourBar,
        zero: f64,
        stroke: [f64; 2],
        read: impl Fn(&Sweep<'_>) -> T,
    ) -> T {
        let branch = Branch::through(bars, zero, Closure::Open).unwrap();
        let stroke = Stroke::on(&branch, Drive::Motor, stroke).unwrap();
        read(&Sweep::over(&branch, stroke).unwrap())
    }

    fn worst(sweep: &Sweep<'_>, joint: DirectJoint) -> f64 {
        let [low, high] = sweep.angle_error(1.0 / joint.ratio, joint.offset);
        low.value.abs().max(high.value.abs())
    }

    const KNEE: FourBar = FourBar { ground: 0.2, crank: 0.05, coupler: 0.21, rocker: 0.06 };

    #[test]
    fn no_neighbouring_ratio_has_a_smaller_worst_error() {
        with_sweep(KNEE, 1.4, [-0.6, 0.8], |sweep| {
            let best = Constants { ratio: None, offset: Some(0.0) }.resolve(sweep);
            for factor in [0.999, 0.9999, 0.999_999, 1.000_001, 1.0001, 1.001] {
                let other = DirectJoint { ratio: best.ratio * factor, ..best };
                assert!(worst(sweep, other) >= worst(sweep, best) * (1.0 - 1e-12));
            }
        });
    }

    #[test]
    fn the_best_line_touches_both_sides_and_beats_the_pinned_one() {
        with_sweep(KNEE, 1.4, [-0.6, 0.8], |sweep| {
            let line = Constants { ratio: None, offset: None }.resolve(sweep);
            let pinned = Constants { ratio: None, offset: Some(0.0) }.resolve(sweep);
            let [low, high] = sweep.angle_error(1.0 / line.ratio, line.offset);
            assert!((low.value + high.value).abs() < 1e-13);
            assert!(worst(sweep, line) <= worst(sweep, pinned));
        });
    }

    #[test]
    fn a_parallelogram_has_ratio_one_exactly() {
        let bars = FourBar { ground: 0.3, crank: 0.045, coupler: 0.3, rocker: 0.045 };
        for stroke in [[-0.6, 0.7], [0.0, 0.7], [0.1, 0.7], [-0.7, -0.1]] {
            with_sweep(bars, 1.5, stroke, |sweep| {
                let best = Constants { ratio: None, offset: Some(0.0) }.resolve(sweep);
                assert!((best.ratio - 1.0).abs() < 1e-15, "{stroke:?} {best:?}");
                assert!(worst(sweep, best) < 1e-15);
            });
        }
    }
}
