//! How much each joint turn and each size of a drawing moves a rod: its motor's angle, its row of J, its margins.
//!
//! With Q_s, Q_js, P_s, v_s what a variable s does to the pin Q, to its ways Q_j per joint turn, to P and to v = dP/ds at a
//! standing motor, W_j = Q_j − v x_j, and x the place of the input end, the rod's equation differentiated gives
//!
//! ```text
//! x_s = (w·(Q_s − P_s) − ½(b²)_s)/λ
//! x_js = ((Q_s − P_s)·W_j + w·Q_js − x_j w·v_s − x_s (v·W_j + x_j σ))/λ
//! ```
//!
//! Derived here; checked against gradients of the closed form.

use super::drawing::OF_AXES;
use super::moves::{Carried, Hinge, Move, Moved, crank_moves, units};
use super::pose::{Leg, TwoRodsPose};
use super::sized::{SizedBuild, SizedLeg};
use crate::drive::angular::Angular;
use crate::drive::input_end::{InputEnd, Place, Reached};
use crate::drive::space::Vector;
use crate::numeric::Scalar;

/// Both joint turns, the sizes of both joint axes, and those of one rod.
pub const OF_ROD: usize = 2 + OF_AXES + 12;

/// What one variable does to a rod's motor: derivatives by it.
#[derive(Clone, Copy, Debug)]
pub struct Share<T> {
    /// Of the motor's angle.
    pub motor: T,
    /// Of the rod's row of J.
    pub rates: [T; 2],
}

/// What one variable does to a rod itself and to its margins: derivatives by it.
#[derive(Clone, Copy, Debug)]
pub struct MarginShare<T> {
    /// Of w.
    pub rod: Vector<T>,
    /// Of the rod's length.
    pub length: T,
    /// Of Q's ways per rad of pitch and roll.
    pub ways: [Vector<T>; 2],
    /// Of the sine of the angle at a crank's pin; 0 where there is none.
    pub crank_sine: T,
    /// Of the sine of the tilt of the ball at a crank's pin; 0 where there is none.
    pub tilt_sine: T,
}

/// A rod's shares: both joint turns, the sizes of the joint axes, its own; zero beyond them.
pub type Shares<T> = [Share<T>; OF_ROD];

/// The same of its margins.
pub type MarginShares<T> = [MarginShare<T>; OF_ROD];

impl<T: Scalar> Share<T> {
    /// Of a variable that moves nothing.
    #[must_use]
    pub fn none() -> Self {
        let zero = T::exactly(0.0);
        Self { motor: zero, rates: [zero; 2] }
    }
}

impl<T: Scalar> MarginShare<T> {
    /// Of a variable that moves nothing.
    #[must_use]
    pub fn none() -> Self {
        let (zero, no) = (T::exactly(0.0), Vector::zero());
        Self { rod: no, length: zero, ways: [no; 2], crank_sine: zero, tilt_sine: zero }
    }
}

impl<T: Angular> SizedBuild<T> {
    /// What every variable does to each rod's motor, in the pose `pose` at joint turns of these (sin, cos).
    pub fn shares(&self, joints: [(T, T); 2], pose: &TwoRodsPose<T>) -> [Shares<T>; 2] {
        let [one, two] = self.rods(joints, pose);
        [one.shares(), two.shares()]
    }

    /// What every variable does to each rod itself and to its margins.
    pub fn margin_shares(
        &self,
        joints: [(T, T); 2],
        pose: &TwoRodsPose<T>,
    ) -> [MarginShares<T>; 2] {
        let [one, two] = self.rods(joints, pose);
        [one.margin_shares(), two.margin_shares()]
    }

    /// What both joint turns do to each rod itself and to its margins.
    pub fn turn_margins(
        &self,
        joints: [(T, T); 2],
        pose: &TwoRodsPose<T>,
    ) -> [[MarginShare<T>; 2]; 2] {
        let [one, two] = self.rods(joints, pose);
        [one.turn_margins(), two.turn_margins()]
    }

    fn rods<'a>(&'a self, joints: [(T, T); 2], pose: &'a TwoRodsPose<T>) -> [OneRod<'a, T>; 2] {
        let [pitch_turn, roll_turn] = joints;
        let [pitch_tilts, roll_tilts] = self.tilts;
        let pitch =
            Hinge { axis: self.built.pitch.direction, turn: pitch_turn, tilts: pitch_tilts };
        let own = Hinge { axis: self.built.roll.direction, turn: roll_turn, tilts: roll_tilts };
        let roll = Hinge {
            axis: pitch.turned(own.axis),
            turn: roll_turn,
            tilts: own.tilts.map(|tilt| pitch.turned(tilt)),
        };
        let offset = pitch.turned(self.built.roll.point - self.built.pitch.point);
        let by_pitch = units().map(|v| pitch.turned(v));
        let by_both = units().map(|v| pitch.turned(own.turned(v)));
        let ([one, two], [first, second]) = (&self.built.legs, &self.legs);
        let ([q1, q2], [w1, w2]) = (pose.feet, pose.ways);
        let [j1, j2] = pose.jacobian;
        let [r1, r2] = &pose.rods;
        let carried = |foot: Vector<T>, ways: [Vector<T>; 2], rates: [T; 2]| {
            let from_pitch = foot - self.built.pitch.point;
            let from = [from_pitch, from_pitch - offset];
            Carried { pitch, roll, from, ways, rates, by_pitch, by_both }
        };
        [
            OneRod { leg: one, sized: first, rod: r1, carried: carried(q1, w1, j1) },
            OneRod { leg: two, sized: second, rod: r2, carried: carried(q2, w2, j2) },
        ]
    }
}

/// A rod in one pose with what it hangs on.
struct OneRod<'a, T> {
    leg: &'a Leg<T>,
    sized: &'a SizedLeg<T>,
    rod: &'a Reached<T>,
    carried: Carried<T>,
}

/// The slopes of a rod's own quantities in one pose.
struct RodSlopes<'a, T> {
    rod: &'a Reached<T>,
    /// W_j and x_j.
    ways: [Vector<T>; 2],
    rates: [T; 2],
    gain: T,
    /// Motor angle per λ x.
    stretch: T,
    /// What a place that moves takes from each of λ x_j, per λ x.
    taken: [T; 2],
    /// The crank's axis and radius, where there is one.
    crank: Option<(Vector<T>, T)>,
}

impl<'a, T: Angular> RodSlopes<'a, T> {
    /// With `rates` the rod's row of J.
    fn new(leg: &'a Leg<T>, rod: &'a Reached<T>, carried: &Carried<T>) -> Self {
        let gain = leg.input.gain();
        let rates = carried.rates.map(|rate| rate / gain);
        let ([p, r], [by_p, by_r]) = (carried.ways, rates);
        let crank = match leg.input {
            InputEnd::Crank { circle, .. } => Some((circle.axis, circle.radius)),
            InputEnd::Slide { .. } | InputEnd::Actuator { .. } => None,
        };
        let Reached { lever, velocity, bend, .. } = *rod;
        let ways = [p - velocity * by_p, r - velocity * by_r];
        let taken = [(ways[0], by_p), (ways[1], by_r)]
            .map(|(way, rate)| (velocity.dot(way) + rate * bend) / lever);
        Self { rod, ways, rates, gain, stretch: gain / lever, taken, crank }
    }

    /// λ x_s: what nearly cancels does so before anything is made of it.
    fn place(&self, by: &Move<T>) -> T {
        let w = self.rod.rod;
        let own = match by.of {
            Moved::Foot(foot, _) => w.dot(foot),
            Moved::Pin(pin, _) => -w.dot(pin),
            Moved::Neither => T::exactly(0.0),
        };
        by.half_square.map_or(own, |half| own - half)
    }

    fn share(&self, by: &Move<T>) -> Share<T> {
        let (place, w) = (self.place(by), self.rod.rod);
        let ([to_p, to_r], [p, r]) = (self.ways, self.rates);
        let [by_p, by_r] = match by.of {
            Moved::Foot(foot, [p_way, r_way]) => {
                [foot.dot(to_p) + w.dot(p_way), foot.dot(to_r) + w.dot(r_way)]
            }
            Moved::Pin(pin, velocity) => {
                let of_velocity = w.dot(velocity);
                [-(pin.dot(to_p) + p * of_velocity), -(pin.dot(to_r) + r * of_velocity)]
            }
            Moved::Neither => [T::exactly(0.0); 2],
        };
        let [taken_p, taken_r] = self.taken;
        let rates =
            [by_p - place * taken_p, by_r - place * taken_r].map(|rate| rate * self.stretch);
        Share { motor: place * self.stretch, rates }
    }

    fn margin_share(&self, by: &Move<T>) -> MarginShare<T> {
        let Reached { rod: w, lever, velocity, bend, length, .. } = *self.rod;
        let (no, zero) = (Vector::zero(), T::exactly(0.0));
        let place = self.place(by) / lever;
        let (own, ways, of_velocity) = match by.of {
            Moved::Foot(foot, ways) => (foot, ways, zero),
            Moved::Pin(pin, velocity) => (-pin, [no; 2], w.dot(velocity)),
            Moved::Neither => (no, [no; 2], zero),
        };
        let moved = own - velocity * place;
        let mut share =
            MarginShare { rod: moved, length: w.dot(moved) / length, ways, ..MarginShare::none() };
        if let Some((axis, radius)) = self.crank {
            let (by_radius, by_axis) = by.crank.unwrap_or((zero, no));
            share.length = by.half_square.unwrap_or(zero) / length;
            let shrink = share.length / length;
            let of_lever = moved.dot(velocity) + of_velocity + bend * place;
            let sine = lever / (radius * length);
            share.crank_sine = of_lever / (radius * length) - sine * (by_radius / radius + shrink);
            share.tilt_sine = (moved.dot(axis) + w.dot(by_axis) - w.dot(axis) * shrink) / length;
        }
        share
    }
}

impl<T: Angular> OneRod<'_, T> {
    fn slopes(&self) -> RodSlopes<'_, T> {
        RodSlopes::new(self.leg, self.rod, &self.carried)
    }

    /// `of` of every variable in `slots`, and behind them a screw's lead.
    fn each<S>(&self, slots: &mut [S; OF_ROD], of: impl Fn(&Move<T>) -> S, lead: Option<S>) {
        let (turns, axes) = (self.carried.turn_moves(), self.carried.axis_moves());
        let own = self.own_moves();
        let all = turns.iter().chain(&axes).chain(&own).map(of).chain(lead);
        slots.iter_mut().zip(all).for_each(|(slot, share)| *slot = share);
    }

    fn shares(&self) -> Shares<T> {
        let (slopes, mut shares) = (self.slopes(), [Share::none(); OF_ROD]);
        self.each(&mut shares, |by| slopes.share(by), self.of_lead(&slopes));
        shares
    }

    fn margin_shares(&self) -> MarginShares<T> {
        let (slopes, mut shares) = (self.slopes(), [MarginShare::none(); OF_ROD]);
        self.each(&mut shares, |by| slopes.margin_share(by), None);
        shares
    }

    fn turn_margins(&self) -> [MarginShare<T>; 2] {
        let slopes = self.slopes();
        self.carried.turn_moves().map(|by| slopes.margin_share(&by))
    }

    /// Of a screw's lead.
    fn of_lead(&self, slopes: &RodSlopes<'_, T>) -> Option<Share<T>> {
        let (InputEnd::Actuator { lead, .. }, Place::Length(travel)) =
            (self.leg.input, self.rod.place)
        else {
            return None;
        };
        let turn = -(slopes.gain / lead);
        let rates = slopes.rates.map(|rate| rate * turn);
        Some(Share { motor: travel * turn, rates })
    }

    /// Of the rod's own sizes but a screw's lead.
    fn own_moves(&self) -> Vec<Move<T>> {
        match (self.leg.input, self.sized) {
            (InputEnd::Crank { circle, rod: length, .. }, SizedLeg::Crank { .. }) => {
                crank_moves(&circle, length, self.leg.foot, self.sized, self.rod, &self.carried)
            }
            (InputEnd::Actuator { offset, .. }, _) => {
                let of_pin = units().map(|pin| Move::new(Moved::Pin(pin, Vector::zero())));
                let of_offset = Move::of_length(offset);
                of_pin.into_iter().chain(self.carried.foot_moves()).chain([of_offset]).collect()
            }
            _ => Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::drawing::{DrawnLeg, TwoRodsDrawing};
    use super::*;
    use crate::drive::space::Axis;

    fn at([x, y, z]: [f64; 3]) -> Vector {
        Vector::new(x, y, z)
    }

    fn drawings() -> [TwoRodsDrawing; 2] {
        let crank = |side: f64, rod| DrawnLeg::Crank {
            motor: Axis { point: at([5.0, 30.0 * side, 270.0]), direction: at([0.1, 1.0, 0.05]) },
            crank: at([-40.0, 38.0 * side, 265.0]),
            foot: at([-48.0, 36.0 * side, -12.0]),
            rod,
        };
        let actuator = DrawnLeg::Actuator {
            pin: at([-50.0, -34.0, 220.0]),
            foot: at([-44.0, -36.0, -12.0]),
            line_offset: 7.0,
            lead: 5.0,
            lengths: None,
        };
        let pitch = Axis { point: at([1.0, 0.0, 2.0]), direction: at([0.03, 1.0, 0.0]) };
        let roll = Axis { point: at([0.0, 1.0, -8.0]), direction: at([1.0, 0.02, 0.0]) };
        let legs =
            [[crank(1.0, None), crank(-1.0, Some(276.0))], [crank(1.0, Some(278.0)), actuator]];
        legs.map(|legs| TwoRodsDrawing { pitch, roll, legs })
    }

    /// Of each rod: motor angle, row of J, sines at the crank.
    fn figures(drawing: &TwoRodsDrawing, sizes: &[f64], joints: [f64; 2]) -> [[f64; 5]; 2] {
        let built = drawing.built(sizes).unwrap();
        let pose = built.at(joints.map(libm::sincos)).unwrap();
        let angles = built.angles(&pose, [0.0; 2]);
        [0, 1].map(|k| {
            let (leg, rod, [p, r]) = (&built.legs[k], &pose.rods[k], pose.jacobian[k]);
            let [sine, tilt] = match leg.input {
                InputEnd::Crank { circle, .. } => [
                    rod.lever / (circle.radius * rod.length),
                    rod.rod.dot(circle.axis) / rod.length,
                ],
                _ => [0.0; 2],
            };
            [angles[k], p, r, sine, tilt]
        })
    }

    #[test]
    fn every_slope_is_that_of_differences() {
        let joints = [-0.3, 0.2];
        for drawing in drawings() {
            let drawn = drawing.sizes();
            // Tilted a little, so that slopes by tilts are not those of the untilted axes.
            let sizes: Vec<f64> =
                drawn.iter().map(|s| if s.value == 0.0 { 0.01 } else { s.value }).collect();
            let sized = drawing.sized(&sizes).unwrap();
            let turns = joints.map(libm::sincos);
            let pose = sized.built.at(turns).unwrap();
            let shares = sized.shares(turns, &pose);
            let margins = sized.margin_shares(turns, &pose);
            let [axes, first, _] = drawing.parts();
            for variable in 0..2 + sizes.len() {
                let beside = |h: f64| {
                    let (mut moved, mut turned) = (sizes.clone(), joints);
                    match variable.checked_sub(2) {
                        Some(k) => moved[k] += h,
                        None => turned[variable] += h,
                    }
                    figures(&drawing, &moved, turned)
                };
                let h = 1e-5;
                let (up, down) = (beside(h), beside(-h));
                for rod in [0, 1] {
                    let own = if variable < 2 + axes {
                        Some(variable)
                    } else if (variable < 2 + axes + first) == (rod == 0) {
                        Some(variable - if rod == 0 { 0 } else { first })
                    } else {
                        None
                    };
                    let share = own.map_or(Share::none(), |k| shares[rod][k]);
                    let margin = own.map_or(MarginShare::none(), |k| margins[rod][k]);
                    let [p, r] = share.rates;
                    let ours = [share.motor, p, r, margin.crank_sine, margin.tilt_sine];
                    for (k, slope) in ours.into_iter().enumerate() {
                        let difference = (up[rod][k] - down[rod][k]) / (2.0 * h);
                        let room = 1e-6 * (1.0 + slope.abs());
                        assert!(
                            (slope - difference).abs() < room,
                            "{variable} {rod} {k}: {slope} {difference}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn a_pose_from_its_motor_angles_is_that_from_its_rods() {
        for drawing in drawings() {
            let sizes: Vec<f64> = drawing.sizes().iter().map(|s| s.value).collect();
            let sized = drawing.sized(&sizes).unwrap();
            let turns = [-0.3, 0.2].map(libm::sincos);
            let pose = sized.built.at(turns).unwrap();
            let again = sized.posed(turns, sized.built.angles(&pose, [0.0; 2])).unwrap();
            for (own, its) in pose.rods.iter().zip(&again.rods) {
                assert!(
                    (own.rod - its.rod).length() < 1e-10 && (own.pin - its.pin).length() < 1e-10
                );
                assert!((own.lever - its.lever).abs() < 1e-7 && (own.bend - its.bend).abs() < 1e-7);
            }
        }
    }
}
