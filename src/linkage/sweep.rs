//! The stroke, and the extremes over it: found, not sampled.
//!
//! Between the stationary poses of the velocity ratio the ratio is monotone, so that every extreme of ratio and angle
//! error lies at a known pose or at the one root of a piece.

use serde::{Serialize, Serializer};

use std::f64::consts::TAU;

use crate::numeric::roots;

use super::branch::Branch;
use super::fault::LinkageFault;
use super::stationary::stationary_turns;

words! {
    /// Which angle a stroke is given in.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Drive {
        /// Motor (crank) turn.
        Motor = "motor",
        /// Joint (rocker) turn.
        Joint = "joint",
    }
}

/// A stroke on the branch: paired ends as turns from the zero pose, rad; motor rising.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Stroke {
    /// Motor turns.
    #[serde(rename = "motor_rad")]
    pub motor: [f64; 2],
    /// The joint turns that belong to them.
    #[serde(rename = "joint_rad")]
    pub joint: [f64; 2],
}

/// Strokes beyond this are refused, rad.
const LONGEST: f64 = 100.0 * TAU;

impl Stroke {
    /// The stroke `range` (rad, ascending, turns from the zero pose) of `drive` on `branch`.
    ///
    /// # Errors
    /// The first end that cannot be reached, or [`LinkageFault::JointTurnOutOfReach`] / `MotorTurnOutOfReach` past
    /// 100 turns.
    pub fn on(branch: &Branch, drive: Drive, range: [f64; 2]) -> Result<Self, LinkageFault> {
        let end = |at: f64| match drive {
            Drive::Motor => {
                within(branch, at).and_then(|motor| Ok((motor, branch.joint_turn(motor)?)))
            }
            Drive::Joint => followed(branch, at).map(|motor| (motor, at)),
        };
        let (first, second) = (end(range[0])?, end(range[1])?);
        let [low, high] = if first.0 <= second.0 { [first, second] } else { [second, first] };
        Ok(Self { motor: [low.0, high.0], joint: [low.1, high.1] })
    }

    /// Motor turn per joint turn over the whole stroke.
    #[must_use]
    pub fn mean_ratio(&self) -> f64 {
        (self.motor[1] - self.motor[0]) / (self.joint[1] - self.joint[0])
    }
}

fn limited(turn: f64) -> f64 {
    turn.clamp(-LONGEST, LONGEST)
}

/// The motor turn of the joint turn `joint`.
fn followed(branch: &Branch, joint: f64) -> Result<f64, LinkageFault> {
    let motor = branch.motor_turn(limited(joint))?;
    if joint.abs() > LONGEST {
        let (wanted, reach) = (joint, limited(joint));
        return Err(LinkageFault::JointTurnOutOfReach { wanted, reach, barrier: None });
    }
    Ok(motor)
}

fn within(branch: &Branch, turn: f64) -> Result<f64, LinkageFault> {
    branch.reach(turn)?;
    if turn.abs() > LONGEST {
        let reach = limited(turn);
        return Err(LinkageFault::MotorTurnOutOfReach {
            wanted: turn,
            reach,
            barrier: super::BarrierKind::CrankLimit,
        });
    }
    Ok(turn)
}

/// A figure at its worst or best and where: motor turn, rad.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Extreme {
    /// The figure.
    pub value: f64,
    /// Motor turn from the zero pose.
    #[serde(rename = "at_motor_rad")]
    pub turn: f64,
}

impl Extreme {
    /// The figure without its place, for a JSON that has none.
    pub(crate) fn value_alone<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.value.serialize(serializer)
    }
}

/// A stroke with its stationary poses.
#[derive(Clone, Debug)]
pub struct Sweep<'a> {
    branch: &'a Branch,
    stroke: Stroke,
    /// Ends of the stroke and stationary poses of the velocity ratio, ascending motor turns.
    nodes: Vec<Node>,
}

#[derive(Clone, Copy, Debug)]
struct Node {
    turn: f64,
    ratio_less_one: f64,
}

impl<'a> Sweep<'a> {
    /// The sweep over `stroke`.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`] where rounding denies a pose at the very end of the branch.
    pub fn over(branch: &'a Branch, stroke: Stroke) -> Result<Self, LinkageFault> {
        let mut turns = vec![stroke.motor[0], stroke.motor[1]];
        turns.extend(stationary_turns(branch, stroke.motor));
        turns.sort_by(f64::total_cmp);
        turns.dedup();
        let node = |turn: f64| -> Result<Node, LinkageFault> {
            Ok(Node { turn, ratio_less_one: branch.pose(turn)?.ratio_less_one })
        };
        let nodes = turns.into_iter().map(node).collect::<Result<Vec<_>, _>>()?;
        Ok(Self { branch, stroke, nodes })
    }

    /// The stroke.
    #[must_use]
    pub fn stroke(&self) -> &Stroke {
        &self.stroke
    }

    /// Motor turns of the ends and of the stationary poses of the velocity ratio, ascending.
    pub fn node_turns(&self) -> impl Iterator<Item = f64> + '_ {
        self.nodes.iter().map(|node| node.turn)
    }

    /// Smallest and largest velocity ratio dψ/dφ, less one.
    #[must_use]
    pub fn ratio_less_one(&self) -> [Extreme; 2] {
        extremes(self.nodes.iter().map(|n| Extreme { value: n.ratio_less_one, turn: n.turn }))
    }

    /// Does the rocker stand still somewhere in the stroke?
    #[must_use]
    pub fn has_dead_point(&self) -> bool {
        let [low, high] = self.ratio_less_one();
        low.value <= -1.0 && high.value >= -1.0
    }

    /// Smallest and largest |dψ/dφ|; the smallest is 0 across a dead point.
    #[must_use]
    pub fn velocity_ratio_magnitude(&self) -> [f64; 2] {
        let [low, high] = self.ratio_less_one().map(|e| (1.0 + e.value).abs());
        [if self.has_dead_point() { 0.0 } else { low.min(high) }, low.max(high)]
    }

    /// Smallest and largest transmission ratio dφ/dψ, signed; `None` across a dead point, where it is unbounded.
    #[must_use]
    pub fn transmission_ratio(&self) -> Option<[Extreme; 2]> {
        if self.has_dead_point() {
            return None;
        }
        let inverse = |e: Extreme| Extreme { value: 1.0 / (1.0 + e.value), turn: e.turn };
        Some(extremes(self.ratio_less_one().into_iter().map(inverse)))
    }

    /// The largest |i / ratio − 1| for the constant `ratio`; infinite across a dead point.
    #[must_use]
    pub fn ratio_error(&self, ratio: f64) -> Extreme {
        if self.has_dead_point() {
            let turn = self.branch.dead_turns(self.stroke.motor[0], self.stroke.motor[1]);
            return Extreme {
                value: f64::INFINITY,
                turn: turn.first().copied().unwrap_or(self.stroke.motor[0]),
            };
        }
        let slope = 1.0 / ratio;
        let relative = |e: Extreme| {
            let value = (((slope - 1.0) - e.value) / (1.0 + e.value)).abs();
            Extreme { value, turn: e.turn }
        };
        let [low, high] = self.ratio_less_one().map(relative);
        if low.value >= high.value { low } else { high }
    }

    /// Joint turn less slope · motor turn − offset, at one motor turn; NaN outside the branch.
    #[must_use]
    pub fn angle_error_at(&self, turn: f64, slope: f64, offset: f64) -> f64 {
        let lead = self.branch.joint_lead(turn).unwrap_or(f64::NAN);
        lead + (1.0 - slope) * turn - offset
    }

    /// Smallest and largest angle error of the direct joint `joint = slope · motor + offset`, rad.
    #[must_use]
    pub fn angle_error(&self, slope: f64, offset: f64) -> [Extreme; 2] {
        let excess = slope - 1.0;
        let rate =
            |turn: f64| self.branch.pose(turn).map_or(f64::NAN, |p| p.ratio_less_one - excess);
        let inner = self.nodes.windows(2).filter_map(|pair| match pair {
            [a, b] if (a.ratio_less_one - excess) * (b.ratio_less_one - excess) < 0.0 => {
                Some(roots::bracketed(rate, a.turn, b.turn))
            }
            _ => None,
        });
        extremes(
            self.node_turns()
                .chain(inner)
                .map(|turn| Extreme { value: self.angle_error_at(turn, slope, offset), turn }),
        )
    }

    /// The smallest transmission angle, rad: at an end or where the crank crosses the ground line, since the diagonal
    /// from P to B is monotone in between.
    #[must_use]
    pub fn transmission_angle(&self) -> Extreme {
        let [from, to] = self.stroke.motor;
        let crossings = multiples_between(self.branch.zero_crank(), std::f64::consts::PI, from, to);
        let at = |turn: f64| {
            let value = self.branch.pose(turn).map_or(0.0, |p| p.transmission_angle());
            Extreme { value, turn }
        };
        extremes([from, to].into_iter().chain(crossings).map(at))[0]
    }
}

/// Turns in `from..to` at which `zero + turn` is a multiple of `step`.
fn multiples_between(zero: f64, step: f64, from: f64, to: f64) -> Vec<f64> {
    let first = ((zero + from) / step).ceil();
    let nth = |k: u32| (first + f64::from(k)) * step - zero;
    (0..1_000_u32).map(nth).take_while(|&turn| turn < to).filter(|&turn| turn > from).collect()
}

/// The first smallest and the first largest; what is no number stays, so that it passes no limit.
fn extremes(mut figures: impl Iterator<Item = Extreme>) -> [Extreme; 2] {
    let first = figures.next().unwrap_or(Extreme { value: f64::NAN, turn: 0.0 });
    figures.fold([first, first], |[low, high], e| {
        let lost = e.value.is_nan();
        let (lower, higher) = (lost || e.value < low.value, lost || e.value > high.value);
        [if lower { e } else { low }, if higher { e } else { high }]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_that_is_no_number_is_not_forgotten() {
        let figures = [1.0, f64::NAN, 3.0].map(|value| Extreme { value, turn: 0.0 });
        let [low, high] = extremes(figures.into_iter());
        assert!(low.value.is_nan() && high.value.is_nan());
    }
}
