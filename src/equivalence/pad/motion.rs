//! What a stand-in does with the pad: arms that turn with the motor at constant rates, or a straight line.

use crate::linkage::{Branch, LinkageFault, Pad, PadPose, Stroke};
use crate::numeric::minimax::{self, Piece};
use crate::numeric::{Interval, elementary, peaks};

use super::super::direct_joint::DirectJoint;

words! {
    /// What stands in the robot file in a finger's place.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
    pub enum PadStandIn {
        /// A hinge at the motor, and one at the crank pin that turns against it, so that the pad keeps its attitude.
        #[default]
        Counter = "counter",
        /// One slide along the closing direction.
        Slide = "slide",
        /// One hinge at the joint axis, with the pad on the rocker.
        Hinge = "hinge",
    }
}

impl PadStandIn {
    /// In words.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::Counter => "counter-turning pair",
            Self::Slide => "slide",
            Self::Hinge => "hinge",
        }
    }
}

/// An arm that turns by `per_turn` for each motor turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Arm {
    pub(super) per_turn: f64,
    /// In the zero pose, m.
    pub(super) at: [f64; 2],
}

const NO_ARM: Arm = Arm { per_turn: 0.0, at: [0.0; 2] };

/// What a stand-in makes of the pad at one motor turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ModelPose {
    /// Turn of the pad from the zero pose, rad.
    pub tilt: f64,
    /// Displacement of the pad point from the zero pose, m.
    pub moved: [f64; 2],
    /// Travel along n for each motor turn that its force is told from, m/rad.
    pub force_rate: f64,
}

/// How a stand-in moves the pad with the motor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PadMotion {
    /// Which it is.
    pub stand_in: PadStandIn,
    /// Turn of the pad for each motor turn.
    pub tilt_rate: f64,
    /// Travel along n for each motor turn that a slide is commanded by, m/rad; 0 for the others.
    pub travel: f64,
    /// Travel along n for each motor turn that a slide's force is told from, m/rad; 0 for the others.
    pub force_travel: f64,
    /// The crank of a counter-turning pair.
    crank: Arm,
    /// What the pad point is on: from the crank's end, or from the joint axis.
    pub(super) arm: Arm,
}

impl PadMotion {
    /// The counter-turning pair whose hinge at P turns by `multiplier` for each motor turn: −1 keeps the attitude.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn counter(branch: &Branch, pad: &Pad, multiplier: f64) -> Result<Self, LinkageFault> {
        let zero = branch.pose(0.0)?;
        let crank = Arm { per_turn: 1.0, at: zero.e.map(|x| x * zero.bars.crank) };
        let tilt_rate = multiplier + 1.0;
        let arm = Arm { per_turn: tilt_rate, at: pad.point };
        Ok(Self::turning(PadStandIn::Counter, crank, arm))
    }

    /// The hinge at B that turns with the direct joint `joint`, the pad on it.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn hinge(branch: &Branch, pad: &Pad, joint: &DirectJoint) -> Result<Self, LinkageFault> {
        let tilt_rate = 1.0 / joint.ratio;
        let arm = Arm { per_turn: tilt_rate, at: pad.from_joint_axis(branch)? };
        Ok(Self::turning(PadStandIn::Hinge, NO_ARM, arm))
    }

    fn turning(stand_in: PadStandIn, crank: Arm, arm: Arm) -> Self {
        Self { stand_in, tilt_rate: arm.per_turn, travel: 0.0, force_travel: 0.0, crank, arm }
    }

    /// The slide along n with the constants whose worst errors over `stroke` are least: one of opening, one of force.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn slide(branch: &Branch, pad: &Pad, stroke: &Stroke) -> Result<Self, LinkageFault> {
        let at = |turn: f64| pad.at(branch, turn);
        let [from, to] = stroke.motor;
        at(from)?;
        let closed = |pose: PadPose| -pose.opened / pad.fingers;
        let rate = |pose: PadPose| -pose.opening_rate / pad.fingers;
        let travel_at = |turn: f64| at(turn).map_or(f64::NAN, closed);
        let rate_at = |turn: f64| at(turn).map_or(f64::NAN, rate);
        let ends = peaks(rate_at, stroke.motor).map(|peak| peak.1);
        let start = (travel_at(to) - travel_at(from)) / (to - from);
        let travel = minimax::best_slope(start, |k| {
            let [low, high] = peaks(|turn| travel_at(turn) - k * turn, stroke.motor);
            let over = |(turn, value): (f64, f64)| Piece { height: value + k * turn, run: turn };
            let (low, high) = (over(low), over(high));
            vec![high, Piece { height: -low.height, run: -low.run }]
        });
        Ok(Self {
            stand_in: PadStandIn::Slide,
            tilt_rate: 0.0,
            travel,
            force_travel: 0.5 * (ends[0] + ends[1]),
            crank: NO_ARM,
            arm: NO_ARM,
        })
    }

    /// The multiplier of the counter-turning pair that follows the coupler best on the mean over `stroke`: −1 for a
    /// parallelogram.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn mean_multiplier(branch: &Branch, stroke: &Stroke) -> Result<f64, LinkageFault> {
        let [from, to] = stroke.motor;
        let turned = branch.coupler_turn(to)? - branch.coupler_turn(from)?;
        Ok(turned / (to - from) - 1.0)
    }

    /// The pad that closes along `closing` at motor turn `turn`, rad.
    #[must_use]
    pub fn at(&self, closing: [f64; 2], turn: f64) -> ModelPose {
        let [nx, ny] = closing;
        let mut moved = [self.travel * turn * nx, self.travel * turn * ny];
        let mut force_rate = self.force_travel;
        for Arm { per_turn, at: [x, y] } in [self.crank, self.arm] {
            let (sin, cos) = libm::sincos(per_turn * turn);
            let [along, up] = [x * cos - y * sin, x * sin + y * cos];
            moved = [moved[0] + along - x, moved[1] + up - y];
            force_rate += per_turn * (ny * along - nx * up);
        }
        ModelPose { tilt: self.tilt_rate * turn, moved, force_rate }
    }

    /// Anywhere over the turns `turns` of the motor (of the crank, behind another drive): travel of the pad point along `along`
    /// for each, m/rad, and its slope.
    pub(super) fn rates(
        &self,
        along: [f64; 2],
        closing: [f64; 2],
        turns: Interval,
    ) -> [Interval; 2] {
        let straight = self.travel * (along[0] * closing[0] + along[1] * closing[1]);
        let mut rates = [Interval::point(straight), Interval::ZERO];
        let [ax, ay] = along.map(Interval::point);
        for Arm { per_turn, at: [x, y] } in [self.crank, self.arm] {
            let per_turn = Interval::point(per_turn);
            let (sin, cos) = elementary::sin_cos(per_turn * turns);
            let [x, y] = [x, y].map(Interval::point);
            let [right, up] = [x * cos - y * sin, x * sin + y * cos];
            rates[0] = rates[0] + per_turn * (ay * right - ax * up);
            rates[1] = rates[1] - per_turn * per_turn * (ax * right + ay * up);
        }
        rates
    }

    /// What its force is told from, anywhere over `turns`, m/rad.
    pub(super) fn force_rates(&self, closing: [f64; 2], turns: Interval) -> Interval {
        let [rate, _] = self.rates(closing, closing, turns);
        rate + (Interval::point(self.force_travel) - Interval::point(self.travel))
    }

    /// Turn of the hinge at P for each motor turn.
    #[must_use]
    pub fn multiplier(&self) -> f64 {
        self.tilt_rate - 1.0
    }
}
