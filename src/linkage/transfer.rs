//! One end's turn as a function of the other's, with three derivatives, and the linkage driven from its other end.
//!
//! Seen from the reader's other side with A and B exchanged, rocker and crank change places too:
//!
//! ```text
//! ground g, crank c, coupler b, rocker a,   crank angle π − ψ,   rocker angle π − φ
//! ```
//!
//! so that the motor turn comes from the joint turn by the same closed form. Derived here.

use std::f64::consts::PI;

use super::branch::Branch;
use super::fault::LinkageFault;
use super::four_bar::FourBar;
use super::pose::{Half, PoseOf};
use crate::numeric::{Interval, quadrature};

/// Which end's turn is asked for, along one branch; turns from the zero pose, rad.
#[derive(Clone, Debug)]
pub enum Transfer {
    /// The joint turn at a motor turn.
    ToJoint(Branch),
    /// The motor turn at a joint turn: the branch is that of the exchanged linkage.
    ToMotor(Branch),
}

/// Turns shorter than this, rad, are integrals of the rate, which keep the digits of their quotient.
const SHORT: f64 = 0.1;

impl Branch {
    /// ψ − φ at every motor turn of a narrow `turn`, enclosed, on the sheet that all turns are counted on; `None` where
    /// the loop may not close.
    #[must_use]
    pub fn lead_over(&self, turn: Interval) -> Option<Interval> {
        let guess = self.zero_lead() + self.joint_lead(turn.mid()).ok()?;
        Some(self.poses(turn)?.rocker_lead_near(guess))
    }

    /// Every pose at the motor turns `turn`.
    fn poses(&self, turn: Interval) -> Option<PoseOf<Interval>> {
        let crank = Interval::point(self.zero_crank()) + turn;
        self.bars().exactly().pose(Half::of_range(crank), self.closure())
    }

    /// The branch of the same linkage driven from its other end.
    ///
    /// # Errors
    /// [`LinkageFault::FlatZeroPose`] where the zero pose is a dead point.
    pub fn exchanged(&self) -> Result<Self, LinkageFault> {
        let FourBar { ground, crank, coupler, rocker } = *self.bars();
        let bars = FourBar { ground, crank: rocker, coupler, rocker: crank };
        let zero = libm::remainder(PI - self.zero_rocker(), 2.0 * PI);
        let (closure, _) = Self::nearest_closure(&bars, zero, PI - self.zero_crank())?;
        Self::through(bars, zero, closure)
    }
}

impl Transfer {
    /// The branch that the turns are on and the sense in which it sees them.
    fn seen(&self) -> (&Branch, f64) {
        match self {
            Self::ToJoint(branch) => (branch, 1.0),
            Self::ToMotor(branch) => (branch, -1.0),
        }
    }

    /// The branch in whose frame the closed form stands: the exchanged one for the motor turn.
    #[must_use]
    pub fn branch(&self) -> &Branch {
        self.seen().0
    }

    /// −1 where the closed form sees all turns from the other side.
    #[must_use]
    pub fn sense(&self) -> f64 {
        self.seen().1
    }

    /// The turn at `turn`.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn at(&self, turn: f64) -> Result<f64, LinkageFault> {
        let (branch, sense) = self.seen();
        Ok(sense * branch.joint_turn(sense * turn)?)
    }

    /// Turn per turn from the zero pose to `turn`, with all its digits near the zero pose; NaN where the loop does not
    /// close.
    #[must_use]
    pub fn mean_rate(&self, turn: f64) -> f64 {
        let (branch, sense) = self.seen();
        if turn.abs() >= SHORT {
            return self.at(turn).map_or(f64::NAN, |reached| reached / turn);
        }
        let rate = |x: f64| branch.pose(sense * x).map_or(f64::NAN, |pose| pose.velocity_ratio());
        quadrature::mean(rate, 0.0, turn)
    }

    /// The turn and its first three derivatives at every turn of `turn`, enclosed; the turn itself is close only where
    /// `turn` is narrow. `None` where the loop may not close.
    #[must_use]
    pub fn over(&self, turn: Interval) -> Option<[Interval; 4]> {
        let (branch, sign) = self.seen();
        let sense = Interval::point(sign);
        let lead = branch.lead_over(turn * sense)? - branch.lead_over(Interval::ZERO)?;
        let [rate, slope, curvature] = self.rates_over(turn)?;
        Some([turn + sense * lead, rate, slope, curvature])
    }

    /// Its first three derivatives alone.
    #[must_use]
    pub fn rates_over(&self, turn: Interval) -> Option<[Interval; 3]> {
        let (branch, sign) = self.seen();
        let sense = Interval::point(sign);
        let pose = branch.poses(turn * sense)?;
        Some([
            pose.velocity_ratio(),
            sense * pose.velocity_ratio_slope(),
            pose.velocity_ratio_curvature(),
        ])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::linkage::Closure;

    const KNEE: FourBar = FourBar { ground: 0.21, crank: 0.04, coupler: 0.215, rocker: 0.052 };

    fn both(bars: FourBar, zero: f64, closure: Closure) -> [Transfer; 2] {
        let branch = Branch::through(bars, zero, closure).unwrap();
        let exchanged = branch.exchanged().unwrap();
        [Transfer::ToJoint(branch), Transfer::ToMotor(exchanged)]
    }

    #[test]
    fn there_and_back_gives_the_motor_turn_for_parallel_and_for_crossed_arms() {
        for (zero, closure) in
            [(1.4, Closure::Open), (1.4, Closure::Crossed), (-1.2, Closure::Open)]
        {
            let [there, back] = both(KNEE, zero, closure);
            for turn in [-0.7, -0.2, 0.0, 1e-7, 0.3, 0.5] {
                let joint = there.at(turn).unwrap();
                assert!((back.at(joint).unwrap() - turn).abs() < 1e-14, "{closure:?} {turn}");
            }
        }
    }

    #[test]
    fn derivatives_enclose_differences_in_both_directions() {
        for transfer in both(KNEE, 1.4, Closure::Open) {
            for turn in [-0.5, 0.1, 0.4] {
                let h = 1e-4;
                let near = Interval::new(turn - h, turn + h);
                let [_, rate, slope, curvature] = transfer.over(near).unwrap();
                let of = |x: f64| transfer.over(Interval::point(x)).unwrap().map(Interval::mid);
                let [up, down] = [of(turn + h), of(turn - h)];
                for (k, enclosed) in [rate, slope, curvature].into_iter().enumerate() {
                    let difference = (up[k] - down[k]) / (2.0 * h);
                    let wide = Interval::new(enclosed.lo() - 1e-9, enclosed.hi() + 1e-9);
                    assert!(wide.contains(difference), "{turn} {k} {difference} {enclosed:?}");
                }
            }
        }
    }

    #[test]
    fn the_mean_rate_keeps_its_digits_through_the_zero_pose() {
        for transfer in both(KNEE, 1.4, Closure::Open) {
            let middle = 0.5 * (transfer.mean_rate(1e-6) + transfer.mean_rate(-1e-6));
            assert!((middle - transfer.mean_rate(0.0)).abs() < 1e-11);
            let [before, behind] = [SHORT * (1.0 - 1e-12), SHORT].map(|x| transfer.mean_rate(x));
            assert!((before - behind).abs() < 1e-13, "{before} {behind}");
        }
    }
}
