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
//!
//! The crank of a counter-turning pair, k long, is the linkage's own but for its length and the error δ of its angle, so
//! what the linkage's crank is ahead of it is written as one: a e − k R(−δ) e = C e. Apart, both would swing with x and
//! leave of a small difference nothing but their blur.

use std::f64::consts::TAU;

use super::super::claims::{CRANK_ERROR, Domain, Point, Setting, TURN, VARIABLES, Zeroing};
use super::super::criterion::Criterion;
use super::{Finger, PadStandIn};
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
    /// Sine and cosine of the coupler's turn Δ.
    sin_cos: [T; 2],
    /// The motor turn.
    turn: T,
    /// Sine and cosine of what the stand-in's arm has turned by.
    arm: [T; 2],
    /// Of the crank's error δ.
    error: [T; 2],
    /// k: length of the stand-in's crank, 0 where it has none.
    crank: f64,
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

/// Sine and cosine of the coupler's turn from `zero`, whatever whole turns lie between.
fn turn_of_coupler<T: Scalar>(zero: &PoseOf<T>, pose: &PoseOf<T>) -> [T; 2] {
    let ([x, y], [x0, y0]) = (pose.coupler_vector(), zero.coupler_vector());
    let size = pose.bars.coupler * zero.bars.coupler;
    [(x0 * y - y0 * x) / size, (x0 * x + y0 * y) / size]
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

    /// R(−δ) v.
    fn turned_back(&self, [x, y]: [T; 2]) -> [T; 2] {
        let [sin, cos] = self.error;
        [x * cos + y * sin, y * cos - x * sin]
    }

    /// C v.
    fn ahead(&self, [x, y]: [T; 2]) -> [T; 2] {
        let ([sin, cos], k) = (self.error, T::exactly(self.crank));
        let (longer, askew) = (self.pose.bars.crank - k * cos, k * sin);
        [longer * x - askew * y, longer * y + askew * x]
    }

    /// n·T′ less the stand-in's.
    fn rate_ahead(&self, finger: &Finger) -> T {
        let n = finger.pad.closing;
        let pad = self.pose.coupler_rate() * dot(n, left(self.pad(finger)));
        dot(n, left(self.ahead(self.pose.e))) + pad - self.force_rate(finger)
    }

    fn rate_ahead_slopes(&self, finger: &Finger) -> [T; VARIABLES] {
        let (n, pose, arm) = (finger.pad.closing, &self.pose, self.pad(finger));
        let (square, along) = (dot(n, left(arm)), dot(n, arm));
        let s = pose.coupler_rate();
        let [sa, sb, sc, sg, sp] = pose.coupler_rate_slopes();
        let [da, db, dc, dg, de, dx] = self.tilt_slopes();
        let by = |rate: T, tilt: T| rate * square - s * along * tilt;
        [
            by(sa, da) + dot(n, left(pose.e)),
            by(sb, db),
            by(sc, dc),
            by(sg, dg),
            by(sp, de) - pose.bars.crank * dot(n, pose.e),
            by(sp, dx) - dot(n, self.ahead(pose.e)) - self.model(finger, n)[2],
        ]
    }

    /// ν·m, ν·m′ and ν·m″ of the stand-in without its crank.
    fn model(&self, finger: &Finger, along: [f64; 2]) -> [T; 3] {
        let (motion, n) = (&finger.motion, finger.pad.closing);
        let straight = T::exactly(motion.travel * (along[0] * n[0] + along[1] * n[1]));
        let (rate, at) = (T::exactly(motion.arm.per_turn), turned(motion.arm.at, self.arm));
        let from = dot(along, motion.arm.at.map(T::exactly));
        [
            straight * self.turn + dot(along, at) - from,
            straight + rate * dot(along, left(at)),
            -(rate * rate * dot(along, at)),
        ]
    }

    /// Of what the force is told from, the part without the stand-in's crank.
    fn force_rate(&self, finger: &Finger) -> T {
        let force = T::exactly(finger.motion.force_travel - finger.motion.travel);
        self.model(finger, finger.pad.closing)[1] + force
    }

    /// m_n′, for the force, and m_n″.
    fn model_rate(&self, finger: &Finger) -> [T; 2] {
        let (n, k) = (finger.pad.closing, T::exactly(self.crank));
        let crank = self.turned_back(self.pose.e);
        [
            self.force_rate(finger) + k * dot(n, left(crank)),
            self.model(finger, n)[2] - k * dot(n, crank),
        ]
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

    /// k.
    fn crank(&self) -> f64 {
        match self.finger.motion.stand_in {
            PadStandIn::Counter => self.setting.branch.bars().crank,
            PadStandIn::Slide | PadStandIn::Hinge => 0.0,
        }
    }

    /// By how much the crank pin is ahead of the stand-in's in the drawn zero pose, along `direction`.
    fn drawn_pin(&self, direction: [f64; 2]) -> f64 {
        let branch = self.setting.branch;
        let e = Half::of_angle(branch.zero_crank());
        let (sin, cos) = (2.0 * e.sin * e.cos, 1.0 - 2.0 * e.sin * e.sin);
        (branch.bars().crank - self.crank()) * (direction[0] * cos + direction[1] * sin)
    }

    /// Place or grip.
    fn value<T: Scalar>(&self, here: &Here<T>) -> T {
        match self.criterion {
            Criterion::Grip => here.rate_ahead(self.finger) / here.model_rate(self.finger)[0],
            _ => self.place(here),
        }
    }

    fn place<T: Scalar>(&self, here: &Here<T>) -> T {
        let (finger, (direction, count)) = (self.finger, self.direction());
        let pin = |pose: &PoseOf<T>| dot(direction, here.ahead(pose.e));
        let moved = match &here.zero {
            Some(zero) => pin(&here.pose) - pin(zero),
            None => pin(&here.pose) - T::exactly(self.drawn_pin(direction)),
        };
        let arm =
            dot(direction, here.pad(finger)) - dot(direction, finger.pad.point.map(T::exactly));
        T::exactly(count) * (moved + arm - here.model(finger, direction)[0])
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
        by[TURN] =
            by[TURN] + dot(direction, left(here.ahead(e))) - here.model(finger, direction)[1];
        by.map(|slope| T::exactly(count) * slope)
    }

    fn grip_slopes<T: Scalar>(&self, here: &Here<T>) -> [T; VARIABLES] {
        let [rate, bend] = here.model_rate(self.finger);
        let mut by = here.rate_ahead_slopes(self.finger);
        by[TURN] = by[TURN] - bend * here.rate_ahead(self.finger) / rate;
        by.map(|slope| slope / rate)
    }

    /// The drawn coupler's angle in the zero pose, rad.
    fn drawn_coupler(&self) -> Option<f64> {
        self.setting.branch.pose(0.0).ok().map(|pose| pose.coupler_angle())
    }

    /// The coupler's angle (rad) at the turn and in the zero pose of the linkage at `at`: guesses for enclosures.
    fn guesses(&self, at: &Point) -> Option<[f64; 2]> {
        let [own, zero] =
            [self.setting.plain(at)?, self.setting.plain_zero(at)?].map(|s| s.coupler_angle());
        let drawn = self.drawn_coupler()?;
        let on_sheet = drawn + libm::remainder(zero - drawn, TAU);
        Some([on_sheet + (own - zero), on_sheet])
    }

    /// The drawn linkage's zero pose.
    fn drawn_zero(&self) -> Option<PoseOf<Interval>> {
        let branch = self.setting.branch;
        let half = Half::of_range(Interval::point(branch.zero_crank()));
        branch.bars().exactly().pose(half, branch.closure())
    }

    /// The coupler's turn Δ.
    fn tilt(&self, over: &Domain) -> Option<Interval> {
        let s = &self.setting;
        let [guess, zero_guess] = self.guesses(&over.map(Interval::mid))?;
        let from = match s.zeroing {
            Zeroing::OnEachRobot => s.pose(over, Interval::ZERO)?.coupler_angle_near(zero_guess),
            Zeroing::AsDrawn => self.drawn_zero()?.coupler_angle_near(self.drawn_coupler()?),
        };
        Some(s.pose(over, over[TURN])?.coupler_angle_near(guess) - from)
    }

    fn over(&self, over: &Domain) -> Option<Here<Interval>> {
        let (s, turn) = (&self.setting, over[TURN]);
        let pose = s.pose(over, turn)?;
        let (zero, sin_cos) = match s.zeroing {
            Zeroing::OnEachRobot => {
                let zero = s.pose(over, Interval::ZERO)?;
                (Some(zero), turn_of_coupler(&zero, &pose))
            }
            Zeroing::AsDrawn => (None, turn_of_coupler(&self.drawn_zero()?, &pose)),
        };
        let angle = |angle: Interval| {
            let (sin, cos) = elementary::sin_cos(angle);
            [sin, cos]
        };
        Some(Here {
            pose,
            zero,
            sin_cos,
            turn,
            arm: angle(turn * Interval::point(self.finger.motion.arm.per_turn)),
            error: angle(over[CRANK_ERROR]),
            crank: self.crank(),
        })
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
        let along = |variable: usize, [sin, cos]: [Interval; 2], rate: f64| {
            let rate = Interval::point(rate);
            [Jet::along(variable, sin, rate * cos), Jet::along(variable, cos, -(rate * sin))]
        };
        Some(Here {
            pose,
            zero,
            sin_cos: [of_tilt(sin, cos), of_tilt(cos, -sin)],
            turn: Jet::variable(TURN, over[TURN]),
            arm: along(TURN, flat.arm, self.finger.motion.arm.per_turn),
            error: along(CRANK_ERROR, flat.error, 1.0),
            crank: flat.crank,
        })
    }

    fn plain_tilt(&self, at: &Point) -> Option<f64> {
        let [angle, zero] = self.guesses(at)?;
        match self.setting.zeroing {
            Zeroing::OnEachRobot => Some(angle - zero),
            Zeroing::AsDrawn => Some(angle - self.drawn_coupler()?),
        }
    }

    fn plain(&self, at: &Point) -> Option<Here<f64>> {
        let s = &self.setting;
        let (turn, pose) = (at[TURN], s.plain(at)?.pose);
        let (zero, turned) = match s.zeroing {
            Zeroing::OnEachRobot => {
                let zero = s.plain_zero(at)?.pose;
                (Some(zero), turn_of_coupler(&zero, &pose))
            }
            Zeroing::AsDrawn => (None, turn_of_coupler(&s.branch.pose(0.0).ok()?, &pose)),
        };
        let sin_cos = |angle: f64| {
            let (sin, cos) = libm::sincos(angle);
            [sin, cos]
        };
        Some(Here {
            pose,
            zero,
            sin_cos: turned,
            turn,
            arm: sin_cos(turn * self.finger.motion.arm.per_turn),
            error: sin_cos(at[CRANK_ERROR]),
            crank: self.crank(),
        })
    }
}

impl Objective<VARIABLES> for PadClaim<'_> {
    fn scale(&self) -> Point {
        self.setting.scale()
    }

    fn enclose(&self, at: &Domain) -> Option<Interval> {
        let value = match self.criterion {
            Criterion::Tilt => {
                self.tilt(at)? - Interval::point(self.finger.motion.tilt_rate) * at[TURN]
            }
            _ => self.value(&self.over(at)?),
        };
        let value = value * Interval::point(self.side);
        value.magnitude().is_finite().then_some(value)
    }

    fn gradient(&self, over: &Domain) -> Option<Domain> {
        let here = self.over(over)?;
        if self.criterion == Criterion::Grip && here.model_rate(self.finger)[0].contains(0.0) {
            return None;
        }
        Some(self.slopes(&here).map(|slope| slope * Interval::point(self.side)))
    }

    fn curvatures(&self, over: &Domain) -> Option<Curvatures<VARIABLES>> {
        let here = self.jets(over)?;
        if self.criterion == Criterion::Grip && here.model_rate(self.finger)[0].value.contains(0.0)
        {
            return None;
        }
        let side = Interval::point(self.side);
        Some(self.slopes(&here).map(|row| row.slopes.map(|x| x * side)))
    }

    fn sample(&self, at: &Point) -> Option<f64> {
        let value = match self.criterion {
            Criterion::Tilt => self.plain_tilt(at)? - self.finger.motion.tilt_rate * at[TURN],
            _ => {
                let here = self.plain(at)?;
                let still = STANDS_STILL * self.setting.branch.bars().crank;
                let [rate, _] = here.model_rate(self.finger);
                if self.criterion == Criterion::Grip && rate.abs() <= still {
                    return None;
                }
                self.value(&here)
            }
        };
        (!value.is_nan()).then_some(self.side * value)
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
