//! What is claimed of the pad, as functions over the box of linkages and poses with their exact slopes.
//!
//! With Δ the coupler's turn, R t the pad point from P, ν the direction that is asked (n or across it) and m(x) the
//! stand-in's displacement of the pad point:
//!
//! ```text
//! tilt:      Δ − κ x
//! place:     ν·(a e − a₀ e₀ + R t − t) − ν·m(x)
//! grip:      n·T′ / m_n′(x) − 1,    n·T′ = a n·e⊥ + s n·(R t)⊥
//! ```
//!
//! e₀ is the crank's direction in the zero pose: each build's own where it is zeroed there, the drawn one else. Force and
//! rate are inverse to each other, so that the third is force of the model / force of the linkage − 1.

use std::f64::consts::TAU;

use super::super::claims::{CRANK_ERROR, Domain, Point, Setting, TURN, VARIABLES, Zeroing};
use super::super::criterion::Criterion;
use super::Finger;
use crate::linkage::{FourBar, Half, PoseOf};
use crate::numeric::search::{Curvatures, Objective};
use crate::numeric::{Interval, Jet, Scalar, elementary};

/// A pad that closes by less than this share of the crank's length per rad stands still: its force is no figure.
const STANDS_STILL: f64 = 1e-6;

/// ± one figure of the pad: tilt (rad), shift, opening (m) or grip.
#[derive(Clone, Copy, Debug)]
pub(in super::super) struct PadClaim<'a> {
    pub(in super::super) setting: Setting<'a>,
    pub(in super::super) finger: &'a Finger,
    /// Tilt, shift, opening or grip.
    pub(in super::super) criterion: Criterion,
    /// +1 or −1.
    pub(in super::super) side: f64,
}

/// A finger in one pose, over any kind of number.
struct Here<T> {
    pose: PoseOf<T>,
    /// The zero pose, where each build is zeroed there.
    zero: Option<PoseOf<T>>,
    /// The coupler's turn Δ, with its sine and cosine.
    tilt: T,
    sin_cos: [T; 2],
    /// The motor turn.
    turn: T,
    /// Sine and cosine of what each of the stand-in's arms has turned by.
    arms: [[T; 2]; 2],
}

fn dot<T: Scalar>(p: [f64; 2], q: [T; 2]) -> T {
    T::exactly(p[0]) * q[0] + T::exactly(p[1]) * q[1]
}

fn left<T: Scalar>([x, y]: [T; 2]) -> [T; 2] {
    [-y, x]
}

/// `arm` turned by the angle of this sine and cosine.
fn turned<T: Scalar>(arm: [f64; 2], [sin, cos]: [T; 2]) -> [T; 2] {
    let [x, y] = arm.map(T::exactly);
    [x * cos - y * sin, x * sin + y * cos]
}

impl<T: Scalar> Here<T> {
    /// R t.
    fn pad(&self, finger: &Finger) -> [T; 2] {
        turned(finger.pad.point, self.sin_cos)
    }

    /// Slopes of Δ by a, b, c, g, the crank's error and the motor turn.
    fn tilt_slopes(&self) -> [T; VARIABLES] {
        let [a, b, c, g, s] = self.pose.coupler_slopes();
        match self.zero.as_ref().map(PoseOf::coupler_slopes) {
            Some([a0, b0, c0, g0, s0]) => [a - a0, b - b0, c - c0, g - g0, s - s0, s],
            None => [a, b, c, g, s, s],
        }
    }

    /// n·T′.
    fn closing_rate(&self, finger: &Finger) -> T {
        let n = finger.pad.closing;
        let crank = self.pose.bars.crank * dot(n, left(self.pose.e));
        crank + self.pose.coupler_rate() * dot(n, left(self.pad(finger)))
    }

    fn closing_rate_slopes(&self, finger: &Finger) -> [T; VARIABLES] {
        let (n, pose, arm) = (finger.pad.closing, &self.pose, self.pad(finger));
        let (square, along) = (dot(n, left(arm)), dot(n, arm));
        let s = pose.coupler_rate();
        let [sa, sb, sc, sg, sp] = pose.coupler_rate_slopes();
        let [da, db, dc, dg, de, dx] = self.tilt_slopes();
        let by = |rate: T, tilt: T| rate * square - s * along * tilt;
        let back = pose.bars.crank * dot(n, pose.e);
        [
            by(sa, da) + dot(n, left(pose.e)),
            by(sb, db),
            by(sc, dc),
            by(sg, dg),
            by(sp, de) - back,
            by(sp, dx) - back,
        ]
    }

    /// ν·m, ν·m′ and ν·m″ of the stand-in.
    fn model(&self, finger: &Finger, along: [f64; 2]) -> [T; 3] {
        let motion = &finger.motion;
        let straight = T::exactly(
            motion.travel * (along[0] * finger.pad.closing[0] + along[1] * finger.pad.closing[1]),
        );
        let mut sum = [straight * self.turn, straight, T::exactly(0.0)];
        for (arm, sin_cos) in motion.arms.iter().zip(self.arms) {
            let rate = T::exactly(arm.per_turn);
            let at = turned(arm.at, sin_cos);
            sum[0] = sum[0] + dot(along, at) - dot(along, arm.at.map(T::exactly));
            sum[1] = sum[1] + rate * dot(along, left(at));
            sum[2] = sum[2] - rate * rate * dot(along, at);
        }
        sum
    }
}

impl PadClaim<'_> {
    /// The direction asked, and by what a place counts.
    fn direction(&self) -> ([f64; 2], f64) {
        let pad = &self.finger.pad;
        match self.criterion {
            Criterion::Opening => (pad.closing, pad.fingers),
            _ => (pad.across, 1.0),
        }
    }

    /// The crank pin in the drawn zero pose, along `direction`.
    fn drawn_pin(&self, direction: [f64; 2]) -> f64 {
        let branch = self.setting.branch;
        let e = Half::of_angle(branch.zero_crank());
        let (sin, cos) = (2.0 * e.sin * e.cos, 1.0 - 2.0 * e.sin * e.sin);
        branch.bars().crank * (direction[0] * cos + direction[1] * sin)
    }

    fn value<T: Scalar>(&self, here: &Here<T>) -> T {
        let finger = self.finger;
        match self.criterion {
            Criterion::Tilt => here.tilt - T::exactly(finger.motion.tilt_rate) * here.turn,
            Criterion::Grip => here.closing_rate(finger) / self.model_rate(here) - T::exactly(1.0),
            _ => self.place(here),
        }
    }

    fn place<T: Scalar>(&self, here: &Here<T>) -> T {
        let (finger, (direction, count)) = (self.finger, self.direction());
        let pin = |pose: &PoseOf<T>| dot(direction, pose.e);
        let crank = here.pose.bars.crank;
        let moved = match &here.zero {
            Some(zero) => crank * (pin(&here.pose) - pin(zero)),
            None => crank * pin(&here.pose) - T::exactly(self.drawn_pin(direction)),
        };
        let arm =
            dot(direction, here.pad(finger)) - dot(direction, finger.pad.point.map(T::exactly));
        T::exactly(count) * (moved + arm - here.model(finger, direction)[0])
    }

    /// m_n′, for the force.
    fn model_rate<T: Scalar>(&self, here: &Here<T>) -> T {
        let force = T::exactly(self.finger.motion.force_travel - self.finger.motion.travel);
        here.model(self.finger, self.finger.pad.closing)[1] + force
    }

    fn slopes<T: Scalar>(&self, here: &Here<T>) -> [T; VARIABLES] {
        match self.criterion {
            Criterion::Tilt => {
                let mut slopes = here.tilt_slopes();
                slopes[TURN] = slopes[TURN] - T::exactly(self.finger.motion.tilt_rate);
                slopes
            }
            Criterion::Grip => self.grip_slopes(here),
            _ => self.place_slopes(here),
        }
    }

    fn place_slopes<T: Scalar>(&self, here: &Here<T>) -> [T; VARIABLES] {
        let (finger, (direction, count)) = (self.finger, self.direction());
        let square = dot(direction, left(here.pad(finger)));
        let mut by = here.tilt_slopes().map(|tilt| square * tilt);
        let (a, e) = (here.pose.bars.crank, here.pose.e);
        let ahead = dot(direction, left(e));
        let (from, from_ahead) = match &here.zero {
            Some(zero) => (dot(direction, zero.e), dot(direction, left(zero.e))),
            None => (T::exactly(0.0), T::exactly(0.0)),
        };
        by[0] = by[0] + (dot(direction, e) - from);
        by[CRANK_ERROR] = by[CRANK_ERROR] + a * (ahead - from_ahead);
        by[TURN] = by[TURN] + a * ahead - here.model(finger, direction)[1];
        by.map(|slope| T::exactly(count) * slope)
    }

    fn grip_slopes<T: Scalar>(&self, here: &Here<T>) -> [T; VARIABLES] {
        let rate = self.model_rate(here);
        let mut by = here.closing_rate_slopes(self.finger).map(|slope| slope / rate);
        let bend = here.model(self.finger, self.finger.pad.closing)[2];
        by[TURN] = by[TURN] - here.closing_rate(self.finger) * bend / rate.square();
        by
    }

    /// The coupler's angle (rad) at the turn and in the zero pose of the linkage at `at`: guesses for enclosures.
    fn guesses(&self, at: &Point) -> Option<[f64; 2]> {
        let built = self.setting.branch_at(at)?;
        let drawn = self.setting.branch.coupler_angle(0.0).ok()?;
        let own = built.coupler_angle(0.0).ok()?;
        let zero = drawn + libm::remainder(own - drawn, TAU);
        Some([zero + built.coupler_turn(at[TURN]).ok()?, zero])
    }

    fn over(&self, over: &Domain) -> Option<Here<Interval>> {
        let (s, turn) = (&self.setting, over[TURN]);
        let [guess, zero_guess] = self.guesses(&over.map(Interval::mid))?;
        let pose = s.pose(over, turn)?;
        let (zero, from) = match s.zeroing {
            Zeroing::OnEachRobot => {
                let zero = s.pose(over, Interval::ZERO)?;
                (Some(zero), zero.coupler_angle_near(zero_guess))
            }
            Zeroing::AsDrawn => {
                let drawn = s.branch.bars().exactly();
                let half = Half::of_range(Interval::point(s.branch.zero_crank()));
                let pose = drawn.pose(half, s.branch.closure())?;
                (None, pose.coupler_angle_near(s.branch.coupler_angle(0.0).ok()?))
            }
        };
        let tilt = pose.coupler_angle_near(guess) - from;
        let (sin, cos) = elementary::sin_cos(tilt);
        let arms = self.finger.motion.arms.map(|arm| {
            let (sin, cos) = elementary::sin_cos(turn * Interval::point(arm.per_turn));
            [sin, cos]
        });
        Some(Here { pose, zero, tilt, sin_cos: [sin, cos], turn, arms })
    }

    /// The same with slopes by all variables.
    fn jets(&self, over: &Domain) -> Option<Here<Jet<VARIABLES>>> {
        let flat = self.over(over)?;
        let s = &self.setting;
        let pose = s.pose_of_jets(over, over[TURN], 1.0)?;
        let zero = match flat.zero {
            Some(_) => Some(s.pose_of_jets(over, Interval::ZERO, 0.0)?),
            None => None,
        };
        let slopes = flat.tilt_slopes();
        let of_tilt =
            |value: Interval, slope: Interval| Jet { value, slopes: slopes.map(|by| by * slope) };
        let [sin, cos] = flat.sin_cos;
        let mut arms = [[Jet::constant(Interval::ZERO); 2]; 2];
        for (slot, (arm, [sin, cos])) in
            arms.iter_mut().zip(self.finger.motion.arms.iter().zip(flat.arms))
        {
            let rate = Interval::point(arm.per_turn);
            *slot = [Jet::along(TURN, sin, rate * cos), Jet::along(TURN, cos, -(rate * sin))];
        }
        Some(Here {
            pose,
            zero,
            tilt: of_tilt(flat.tilt, Interval::point(1.0)),
            sin_cos: [of_tilt(sin, cos), of_tilt(cos, -sin)],
            turn: Jet::variable(TURN, over[TURN]),
            arms,
        })
    }

    fn plain(&self, at: &Point) -> Option<Here<f64>> {
        let s = &self.setting;
        let built = s.branch_at(at)?;
        let (turn, pose) = (at[TURN], built.pose(at[TURN]).ok()?);
        let (zero, tilt) = match s.zeroing {
            Zeroing::OnEachRobot => (Some(built.pose(0.0).ok()?), built.coupler_turn(turn).ok()?),
            Zeroing::AsDrawn => {
                let [angle, _] = self.guesses(at)?;
                (None, angle - s.branch.coupler_angle(0.0).ok()?)
            }
        };
        let sin_cos = |angle: f64| {
            let (sin, cos) = libm::sincos(angle);
            [sin, cos]
        };
        let arms = self.finger.motion.arms.map(|arm| sin_cos(turn * arm.per_turn));
        Some(Here { pose, zero, tilt, sin_cos: sin_cos(tilt), turn, arms })
    }
}

impl Objective<VARIABLES> for PadClaim<'_> {
    fn scale(&self) -> Point {
        self.setting.scale()
    }

    fn enclose(&self, at: &Domain) -> Option<Interval> {
        let value = self.value(&self.over(at)?) * Interval::point(self.side);
        value.magnitude().is_finite().then_some(value)
    }

    fn gradient(&self, over: &Domain) -> Option<Domain> {
        let here = self.over(over)?;
        if self.criterion == Criterion::Grip && self.model_rate(&here).contains(0.0) {
            return None;
        }
        Some(self.slopes(&here).map(|slope| slope * Interval::point(self.side)))
    }

    fn curvatures(&self, over: &Domain) -> Option<Curvatures<VARIABLES>> {
        let here = self.jets(over)?;
        if self.criterion == Criterion::Grip && self.model_rate(&here).value.contains(0.0) {
            return None;
        }
        let side = Interval::point(self.side);
        Some(self.slopes(&here).map(|row| row.slopes.map(|x| x * side)))
    }

    fn sample(&self, at: &Point) -> Option<f64> {
        let here = self.plain(at)?;
        let still = STANDS_STILL * self.setting.branch.bars().crank;
        if self.criterion == Criterion::Grip && self.model_rate(&here).abs() <= still {
            return None;
        }
        let value = self.side * self.value(&here);
        (!value.is_nan()).then_some(value)
    }
}

impl Setting<'_> {
    /// The pose with its slopes by all six variables; the crank turns by `by_turn` for each motor turn.
    fn pose_of_jets(
        &self,
        over: &Domain,
        turn: Interval,
        by_turn: f64,
    ) -> Option<PoseOf<Jet<VARIABLES>>> {
        let [a, b, c, g, error, _] = *over;
        let bars = FourBar {
            crank: Jet::variable(0, a),
            coupler: Jet::variable(1, b),
            rocker: Jet::variable(2, c),
            ground: Jet::variable(3, g),
        };
        let crank = Interval::point(self.branch.zero_crank()) + error + turn;
        let (Half { sin, cos }, half) = (Half::of_range(crank), Interval::point(0.5));
        let jet = |value: Interval, slope: Interval| {
            let mut jet = Jet::along(CRANK_ERROR, value, slope);
            if let Some(slot) = jet.slopes.get_mut(TURN) {
                *slot = slope * Interval::point(by_turn);
            }
            jet
        };
        let half = Half { sin: jet(sin, half * cos), cos: jet(cos, -(half * sin)) };
        let pose = bars.pose(half, self.branch.closure())?;
        (!pose.m.value.contains(0.0)).then_some(pose)
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::claims::tests::{KNEE, setting, slopes_agree_with_differences};
    use super::super::{PadLimits, PadMotion};
    use super::*;
    use crate::equivalence::DirectJoint;
    use crate::linkage::{Branch, Closure, Drive, Pad, PadOn, Stroke};

    #[test]
    fn every_slope_of_a_pads_figures_agrees_with_differences_of_plain_values() {
        let branch = Branch::through(KNEE, 1.4, Closure::Open).unwrap();
        let pad = Pad {
            on: PadOn::Coupler,
            point: [0.03, 0.05],
            closing: [-0.8, 0.6],
            across: [0.6, 0.8],
            fingers: 2.0,
        };
        let stroke = Stroke::on(&branch, Drive::Motor, [-0.2, 0.4]).unwrap();
        let joint = DirectJoint { ratio: 1.2, offset: 0.0 };
        let limits = PadLimits { tilt: 0.1, shift: 1e-3, opening: 1e-3, grip: 0.1 };
        for motion in [
            PadMotion::counter(&branch, &pad, -0.9).unwrap(),
            PadMotion::slide(&branch, &pad, &stroke).unwrap(),
            PadMotion::hinge(&branch, &pad, &joint).unwrap(),
        ] {
            let finger = &Finger { pad, motion, mirror: None, limits };
            for zeroing in [Zeroing::OnEachRobot, Zeroing::AsDrawn] {
                for criterion in Criterion::OF_PAD {
                    let setting = setting(&branch, zeroing);
                    let claim = PadClaim { setting, finger, criterion, side: -1.0 };
                    slopes_agree_with_differences(&claim);
                }
            }
        }
    }
}
