//! The part of a circuit that the linkage can run through from its zero pose without passing a change point or a
//! crank limit.
//!
//! On it the sign of M never changes, so the closure at the zero pose stays the closure, and the rocker angle is a
//! closed form without jumps: ψ = arg h + arg(K + 1j M), where arg h is continuous because h = a e − g x never
//! vanishes there.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::dead_points::dead_points;
use super::fault::{BarrierKind, LinkageFault};
use super::four_bar::FourBar;
use super::pose::{Closure, Pose};
use crate::numeric::roots;

/// An end of the branch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Barrier {
    /// Motor turn from the zero pose, rad, signed.
    pub turn: f64,
    /// What stands there.
    pub kind: BarrierKind,
}

/// How close to a change point, as a share of the longest length, counts as one.
const CHANGE_POINT: f64 = 1e-9;

/// Crank angles this close, rad, are the same but for rounding.
const SAME_ANGLE: f64 = 1e-14;

/// One branch, seen from its zero pose.
#[derive(Clone, Debug)]
pub struct Branch {
    bars: FourBar,
    closure: Closure,
    zero_crank: f64,
    zero_lead: f64,
    /// The barrier at a negative turn, if the crank does not turn fully.
    pub below: Option<Barrier>,
    /// The barrier at a positive turn.
    pub above: Option<Barrier>,
    dead: Vec<f64>,
}

/// Crank angles at which M = 0, in [−π, π].
fn barriers(bars: &FourBar) -> Vec<(f64, BarrierKind)> {
    let FourBar { ground: g, crank: a, coupler: b, rocker: c } = *bars;
    let [t1, t2, t3] = bars.signs();
    let is_small = |t: f64| t.abs() <= CHANGE_POINT * bars.longest();
    let four_ag = 4.0 * a * g;
    // h = b + c stretches coupler and rocker: cos²(φ/2) = −T₃ Σ/4ag. h = |b − c| folds them: sin²(φ/2) = −T₁T₂/4ag.
    let stretched = -t3 * (a + b + c + g) / four_ag;
    let folded = -t1 * t2 / four_ag;
    let mut found = barrier(stretched, is_small(t3)).map_or(vec![], |(half, kind)| {
        let limit = 2.0 * (FRAC_PI_2 - half);
        vec![(limit, kind), (-limit, kind)]
    });
    if let Some((half, kind)) = barrier(folded, is_small(t1) || is_small(t2)) {
        found.extend([(2.0 * half, kind), (-2.0 * half, kind)]);
    }
    found
}

/// The angle whose squared sine is `share` where there is one above zero; 0 where the lengths are so close to it that
/// it counts as a change point.
fn barrier(share: f64, close: bool) -> Option<(f64, BarrierKind)> {
    let kind = if close { BarrierKind::ChangePoint } else { BarrierKind::CrankLimit };
    let share = share.clamp(0.0, 1.0);
    (close || share > 0.0).then(|| (libm::atan2(share.sqrt(), (1.0 - share).sqrt()), kind))
}

/// `angle` as a turn in (0, 2π].
fn turn_up(angle: f64) -> f64 {
    let turn = angle.rem_euclid(TAU);
    if turn <= 0.0 { TAU } else { turn }
}

impl Pose {
    /// ψ − φ at the crank angle `phi` (rad), without jumps along a branch.
    pub(crate) fn lead_along(&self, phi: f64) -> f64 {
        let FourBar { ground: g, crank: a, coupler: b, rocker: c } = self.bars;
        let along = 0.5 * (self.diagonal_squared + (c - b) * (c + b));
        let [ex, ey] = self.e;
        let diagonal = if a <= g {
            PI + libm::atan2(-a * ey, g - a * ex) - phi
        } else {
            libm::atan2(g * ey, a - g * ex)
        };
        let continuous = diagonal + libm::atan2(self.m, along);
        let sharp = self.rocker_lead();
        sharp + TAU * ((continuous - sharp) / TAU).round()
    }
}

impl Branch {
    /// The branch through crank angle `zero_crank` (rad) on the side of `closure`.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`] or [`LinkageFault::FlatZeroPose`].
    pub fn through(bars: FourBar, zero_crank: f64, closure: Closure) -> Result<Self, LinkageFault> {
        let zero = bars.at(zero_crank, closure)?;
        let found = barriers(&bars);
        let flat = zero.m.abs() <= CHANGE_POINT * bars.coupler * bars.rocker;
        let at_barrier = |&(angle, _): &(f64, BarrierKind)| {
            libm::remainder(angle - zero_crank, TAU).abs() <= SAME_ANGLE * zero_crank.abs().max(1.0)
        };
        if flat || found.iter().any(at_barrier) {
            return Err(LinkageFault::FlatZeroPose);
        }
        let nearest = |direction: f64| {
            found
                .iter()
                .map(|&(angle, kind)| (turn_up(direction * (angle - zero_crank)), kind))
                .min_by(|x, y| x.0.total_cmp(&y.0))
                .map(|(turn, kind)| Barrier { turn: direction * turn, kind })
        };
        let dead = dead_points(&bars)
            .into_iter()
            .filter(|p| p.closure == closure)
            .map(|p| p.crank)
            .collect();
        let mut branch = Self {
            bars,
            closure,
            zero_crank,
            zero_lead: 0.0,
            below: nearest(-1.0),
            above: nearest(1.0),
            dead,
        };
        branch.zero_lead = zero.lead_along(zero_crank);
        Ok(branch)
    }

    /// The assembly of `bars` at crank angle `zero_crank` whose rocker angle is nearest to `rocker` (rad), with both
    /// solved rocker angles (open, crossed).
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn nearest_closure(
        bars: &FourBar,
        zero_crank: f64,
        rocker: f64,
    ) -> Result<(Closure, [f64; 2]), LinkageFault> {
        let open = bars.at(zero_crank, Closure::Open)?.rocker_angle();
        let crossed = bars.at(zero_crank, Closure::Crossed)?.rocker_angle();
        let off = |angle: f64| libm::remainder(angle - rocker, TAU).abs();
        let closure = if off(open) <= off(crossed) { Closure::Open } else { Closure::Crossed };
        Ok((closure, [open, crossed]))
    }

    /// The four lengths.
    #[must_use]
    pub fn bars(&self) -> &FourBar {
        &self.bars
    }

    /// The side of P→B on which Q lies all along the branch.
    #[must_use]
    pub fn closure(&self) -> Closure {
        self.closure
    }

    /// Crank angle of the zero pose, rad.
    #[must_use]
    pub fn zero_crank(&self) -> f64 {
        self.zero_crank
    }

    /// ψ − φ in the zero pose, rad, on the sheet that all turns are counted on.
    #[must_use]
    pub fn zero_lead(&self) -> f64 {
        self.zero_lead
    }

    /// Rocker angle of the zero pose, rad, in (−π, π].
    #[must_use]
    pub fn zero_rocker(&self) -> f64 {
        libm::remainder(self.zero_crank + self.zero_lead, TAU)
    }

    /// The pose at motor turn `turn` (rad) from the zero pose.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn pose(&self, turn: f64) -> Result<Pose, LinkageFault> {
        self.bars.at(self.zero_crank + turn, self.closure)
    }

    /// ψ − φ less its value in the zero pose: the joint turn less the motor turn, rad.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn joint_lead(&self, turn: f64) -> Result<f64, LinkageFault> {
        let phi = self.zero_crank + turn;
        let pose = self.bars.at(phi, self.closure)?;
        Ok(pose.lead_along(phi) - self.zero_lead)
    }

    /// Joint turn at motor turn `turn`, both from the zero pose, rad.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn joint_turn(&self, turn: f64) -> Result<f64, LinkageFault> {
        Ok(turn + self.joint_lead(turn)?)
    }

    /// Is the motor turn on the branch, and if not, what stands in the way?
    ///
    /// # Errors
    /// [`LinkageFault::MotorTurnOutOfReach`].
    pub fn reach(&self, turn: f64) -> Result<(), LinkageFault> {
        let barrier = if turn < 0.0 { self.below } else { self.above };
        match barrier {
            Some(b) if turn.abs() >= b.turn.abs() => Err(LinkageFault::MotorTurnOutOfReach {
                wanted: turn,
                reach: b.turn,
                barrier: b.kind,
            }),
            _ => Ok(()),
        }
    }

    /// Motor turns of the dead points in `from..=to`, ascending.
    #[must_use]
    pub fn dead_turns(&self, from: f64, to: f64) -> Vec<f64> {
        let mut turns = Vec::new();
        for &angle in &self.dead {
            let mut turn = from + (angle - self.zero_crank - from).rem_euclid(TAU);
            while turn <= to {
                turns.push(turn);
                turn += TAU;
            }
        }
        turns.sort_by(f64::total_cmp);
        turns
    }

    /// The nearest dead point from `turn` in `direction` (±1) before the branch ends; `None` where there is none.
    #[must_use]
    pub fn next_dead_turn(&self, turn: f64, direction: f64) -> Option<f64> {
        let barrier = if direction < 0.0 { self.below } else { self.above };
        self.dead
            .iter()
            .map(|&angle| turn + direction * turn_up(direction * (angle - self.zero_crank - turn)))
            .filter(|&at| barrier.is_none_or(|b| at.abs() < b.turn.abs() || at * direction < 0.0))
            .min_by(|x, y| (direction * x).total_cmp(&(direction * y)))
    }

    /// How far the crank can go from the zero pose with the joint going one way all along: the nearest dead point or
    /// barrier, or a whole turn.
    fn monotone_end(&self, direction: f64) -> (f64, Option<BarrierKind>, bool) {
        let barrier = if direction < 0.0 { self.below } else { self.above };
        if let Some(dead) = self.next_dead_turn(0.0, direction) {
            return (dead, None, true);
        }
        match barrier {
            Some(b) => (b.turn, Some(b.kind), true),
            None => (direction * TAU, None, false),
        }
    }

    /// Joint turn at a barrier or just before it, where rounding may deny the pose itself.
    fn joint_turn_at_end(&self, end: f64) -> f64 {
        (0..60_i32)
            .map(|k| end * (1.0 - f64::EPSILON * 2.0_f64.powi(k)))
            .find_map(|turn| self.joint_turn(turn).ok())
            .unwrap_or(0.0)
    }

    /// The joint turns that can be reached from the zero pose before a dead point or barrier, ascending; infinite
    /// where the joint turns fully.
    #[must_use]
    pub fn swing(&self) -> [f64; 2] {
        let mut ends = [-1.0, 1.0].map(|direction| {
            let (end, _, ends) = self.monotone_end(direction);
            let joint = self.joint_turn_at_end(end);
            if ends { joint } else { joint.signum() * f64::INFINITY }
        });
        ends.sort_by(f64::total_cmp);
        ends
    }

    /// The motor turn that brings the joint to `joint` (rad from the zero pose), followed from the zero pose without
    /// passing a dead point or barrier.
    ///
    /// # Errors
    /// [`LinkageFault::ZeroPoseIsDeadPoint`], [`LinkageFault::JointTurnOutOfReach`].
    pub fn motor_turn(&self, joint: f64) -> Result<f64, LinkageFault> {
        let rate = self.pose(0.0)?.velocity_ratio();
        if rate.abs() < 1e-12 {
            return Err(LinkageFault::ZeroPoseIsDeadPoint);
        }
        let direction = joint.signum() * rate.signum();
        let (mut end, barrier, ends) = self.monotone_end(direction);
        let mut reach = self.joint_turn_at_end(end);
        while !ends && reach.abs() < joint.abs() {
            end += direction * TAU;
            reach = self.joint_turn_at_end(end);
        }
        if reach.abs() <= joint.abs() {
            return Err(LinkageFault::JointTurnOutOfReach { wanted: joint, reach, barrier });
        }
        let gap = |turn: f64| self.joint_turn(turn).unwrap_or(reach) - joint;
        Ok(roots::bracketed(gap, 0.0, end))
    }
}
