//! J with its slopes and curvatures over a rectangle of joint turns, enclosed.
//!
//! With s the place of a rod's input end, W_i = Q_i − v s_i what a joint turn does to w, and of a crank P″ = n × v, P‴ = −v (0 of
//! what runs straight), w·W_i = 0 differentiated once and twice more gives
//!
//! ```text
//! W_ij = Q_ij − P″ s_i s_j − v s_ij
//! λ s_ij  = w·Q_ij  + W_i·W_j − σ s_i s_j
//! λ s_ijk = w·Q_ijk + (W_i·W_jk + W_j·W_ki + W_k·W_ij) − σ (s_i s_jk + s_j s_ki + s_k s_ij) + λ s_i s_j s_k
//! ```
//!
//! the last term of a crank alone; an actuator's x² + e² = |w|² gives the same. Over a rectangle each loses much where terms
//! cancel that are not known to belong together: w, W_i, s_i and s_ij are therefore met with what they are in the middle pose
//! and what their own derivatives make of them from there. Derived here.

use super::TwoRods;
use super::pose::{RodsOnUniversal, TwoRodsPose};
use crate::drive::angular::Angular as _;
use crate::drive::input_end::{InputEnd, Place, Reached};
use crate::drive::space::Vector;
use crate::numeric::{Bent, Interval, Scalar as _};

/// How often the pose and the motors' angles are made closer by each other.
const ROUNDS: u32 = 2;

/// How often what a rod does is made closer by its derivatives.
const CLOSER: u32 = 2;

/// Derivatives by pitch and roll: (pp, pr, rr).
type Second = [Interval; 3];

/// The next ones: (ppp, ppr, prr, rrr).
type Third = [Interval; 4];

/// Both rods over a rectangle of joint turns.
#[derive(Clone, Copy, Debug)]
pub struct BentPose {
    /// The rods, and J.
    pub pose: TwoRodsPose<Interval>,
    /// Second derivatives of each motor's turn.
    pub second: [Second; 2],
    /// Third derivatives.
    pub third: [Third; 2],
}

impl BentPose {
    /// J with its slopes and curvatures by pitch and roll.
    #[must_use]
    pub fn rates(&self) -> [[Bent<2>; 2]; 2] {
        let mut rates = self.pose.jacobian.map(|row| row.map(Bent::constant));
        for (row, (second, third)) in rates.iter_mut().zip(self.second.iter().zip(&self.third)) {
            let ([by_p, by_r], [pp, pr, rr], [ppp, ppr, prr, rrr]) = (*row, *second, *third);
            let bent = |own: Bent<2>, slopes, first, [mixed, last]: [Interval; 2]| {
                Bent::known(own.value, slopes, [[first, Interval::ZERO], [mixed, last]])
            };
            *row = [bent(by_p, [pp, pr], ppp, [ppr, prr]), bent(by_r, [pr, rr], ppr, [prr, rrr])];
        }
        rates
    }
}

impl RodsOnUniversal<Interval> {
    /// The pose at joint turns of these (sin, cos) with its cranks at the angles `motors` from their data, whether or not the
    /// rods fit; `None` where an actuator's does not.
    fn turned(
        &self,
        joints: [(Interval, Interval); 2],
        [one, two]: [Interval; 2],
    ) -> Option<TwoRodsPose<Interval>> {
        self.reached_by(joints, |rod, leg, foot| match leg.input {
            InputEnd::Crank { circle, rod: length, .. } => {
                let at = if rod == 0 { one } else { two }.sin_cos();
                Some(Reached::of_crank(
                    [circle.centre, circle.axis],
                    circle.arm(at),
                    at,
                    length,
                    foot,
                ))
            }
            InputEnd::Slide { .. } | InputEnd::Actuator { .. } => leg.input.reach(foot),
        })
    }
}

impl TwoRods {
    /// J with its slopes and curvatures by pitch and roll over `over`; `None` where a rod may not reach.
    #[must_use]
    pub fn bent_rates(&self, over: [Interval; 2]) -> Option<[[Bent<2>; 2]; 2]> {
        let joints = over.map(|turn| turn.sin_cos());
        let middle = over.map(|turn| Interval::point(turn.mid()));
        let at = self.sure.at(middle.map(|turn| turn.sin_cos()))?;
        let guess = at.rods.each_ref().map(|rod| match rod.place {
            Place::Angle(sine, cosine) => libm::atan2(sine.mid(), cosine.mid()),
            Place::Travel(_) | Place::Length(_) => 0.0,
        });
        let angles = self.sure.angles(&at, guess);
        let turned = [over[0] - middle[0], over[1] - middle[1]];
        let pose = self.sure.at(joints)?;
        let mut motors = self.sure.angles(&pose, guess);
        let mut bent = pose.bent(&at, turned);
        for _ in 0..ROUNDS {
            let [one, two] = bent.pose.jacobian;
            motors = [
                motors[0].both_ways(moved(angles[0], one, turned)),
                motors[1].both_ways(moved(angles[1], two, turned)),
            ];
            let closer = self.sure.turned(joints, motors)?;
            bent = bent.pose.both_ways(&closer, bent.pose.jacobian).bent(&at, turned);
        }
        Some(bent.rates())
    }
}

/// What `slopes` by pitch and roll make of a value from the middle pose, where both turn so far.
fn moved(from: Interval, [p, r]: [Interval; 2], [dp, dr]: [Interval; 2]) -> Interval {
    from + (p * dp + r * dr)
}

fn moved_vector(
    from: Vector<Interval>,
    [p, r]: [Vector<Interval>; 2],
    [dp, dr]: [Interval; 2],
) -> Vector<Interval> {
    from + (p * dp + r * dr)
}

/// W_i.
fn moves(
    [p, r]: [Vector<Interval>; 2],
    velocity: Vector<Interval>,
    [by_p, by_r]: [Interval; 2],
) -> [Vector<Interval>; 2] {
    [p - velocity * by_p, r - velocity * by_r]
}

/// One rod, and what pitch and roll do to it.
#[derive(Clone, Copy)]
struct Rod {
    reached: Reached<Interval>,
    gain: Interval,
    axes: [Vector<Interval>; 2],
    /// Q_i and Q_ij.
    ends: [Vector<Interval>; 2],
    second_ends: [Vector<Interval>; 3],
    /// P″ of a crank.
    swing: Option<Vector<Interval>>,
    /// s_i.
    rates: [Interval; 2],
    /// W_i.
    moves: [Vector<Interval>; 2],
}

impl Rod {
    fn both(pose: &TwoRodsPose<Interval>) -> [Self; 2] {
        let ([one, two], [g, h], [b, c]) = (pose.rods, pose.gains, pose.bolts);
        let ([first, second], [j1, j2]) = (pose.ways, pose.jacobian);
        [
            Self::new(pose.axes, (one, g, b), first, j1),
            Self::new(pose.axes, (two, h, c), second, j2),
        ]
    }

    /// With its row of J.
    fn new(
        axes: [Vector<Interval>; 2],
        (reached, gain, bolt): (Reached<Interval>, Interval, Option<Vector<Interval>>),
        ends: [Vector<Interval>; 2],
        row: [Interval; 2],
    ) -> Self {
        let ([a1, a2], [p, r], rates) = (axes, ends, row.map(|rate| rate / gain));
        Self {
            reached,
            gain,
            axes,
            ends,
            second_ends: [a1.cross(p), a1.cross(r), a2.cross(r)],
            swing: bolt.map(|axis| axis.cross(reached.velocity)),
            rates,
            moves: moves(ends, reached.velocity, rates),
        }
    }

    /// s_ij.
    fn second(&self) -> Second {
        let ([p, r], [by_p, by_r], [pp, pr, rr]) = (self.moves, self.rates, self.second_ends);
        [
            self.reached.next_rate(pp, p.length_squared(), by_p.square()),
            self.reached.next_rate(pr, p.dot(r), by_p * by_r),
            self.reached.next_rate(rr, r.length_squared(), by_r.square()),
        ]
    }

    /// W_ij.
    fn second_moves(&self, second: Second) -> [Vector<Interval>; 3] {
        let ([by_p, by_r], v) = (self.rates, self.reached.velocity);
        let mut moves = self.second_ends;
        let rates = [by_p.square(), by_p * by_r, by_r.square()];
        for (end, (own, rates)) in moves.iter_mut().zip(second.into_iter().zip(rates)) {
            *end = *end - v * own;
            if let Some(swing) = self.swing {
                *end = *end - swing * rates;
            }
        }
        moves
    }

    /// s_ijk.
    fn third(&self, [pp, pr, rr]: Second, second_moves: [Vector<Interval>; 3]) -> Third {
        let ([p, r], [by_p, by_r], [a1, a2]) = (self.moves, self.rates, self.axes);
        let ([of_pp, of_pr, of_rr], [end_pp, end_pr, end_rr]) = (second_moves, self.second_ends);
        let [two, three] = [2.0, 3.0].map(Interval::point);
        let part = |end: Vector<Interval>, moves: Interval, rates: Interval, all: Interval| {
            let own = self.reached.next_rate(end, moves, rates);
            if self.swing.is_some() { own + all } else { own }
        };
        let (square_p, square_r) = (by_p.square(), by_r.square());
        [
            part(a1.cross(end_pp), three * p.dot(of_pp), three * (by_p * pp), by_p * square_p),
            part(
                a1.cross(end_pr),
                two * p.dot(of_pr) + r.dot(of_pp),
                two * (by_p * pr) + by_r * pp,
                square_p * by_r,
            ),
            part(
                a1.cross(end_rr),
                two * r.dot(of_pr) + p.dot(of_rr),
                two * (by_r * pr) + by_p * rr,
                by_p * square_r,
            ),
            part(a2.cross(end_rr), three * r.dot(of_rr), three * (by_r * rr), by_r * square_r),
        ]
    }

    /// All of it is met with what the `middle` pose tells where pitch and roll turn so far from there; with s_ij and s_ijk.
    fn met(&mut self, middle: &Self, turned: [Interval; 2]) -> (Second, Third) {
        let (at, mut second) = (middle.second(), self.second());
        let mut third = [Interval::ENTIRE; 4];
        for _ in 0..CLOSER {
            let [pp, pr, rr] = second;
            self.meet_rates(middle, [[pp, pr], [pr, rr]], turned);
            let second_moves = self.second_moves(second);
            self.meet_rod(middle, second_moves, turned);
            third = self.third(second, second_moves);
            let [ppp, ppr, prr, rrr] = third;
            let own = at.into_iter().zip([[ppp, ppr], [ppr, prr], [prr, rrr]]).zip(self.second());
            for (known, ((at, slopes), formula)) in second.iter_mut().zip(own) {
                *known = known.both_ways(formula).both_ways(moved(at, slopes, turned));
            }
        }
        let [pp, pr, rr] = second;
        self.meet_rates(middle, [[pp, pr], [pr, rr]], turned);
        (second, third)
    }

    fn meet_rates(&mut self, middle: &Self, slopes: [[Interval; 2]; 2], turned: [Interval; 2]) {
        let from = middle.rates.into_iter().zip(slopes).zip(self.ends);
        for (rate, ((from, slopes), end)) in self.rates.iter_mut().zip(from) {
            let formula = self.reached.rate(end);
            *rate = rate.both_ways(formula).both_ways(moved(from, slopes, turned));
        }
    }

    fn meet_rod(
        &mut self,
        middle: &Self,
        [pp, pr, rr]: [Vector<Interval>; 3],
        turned: [Interval; 2],
    ) {
        let formulas = moves(self.ends, self.reached.velocity, self.rates);
        let from = middle.moves.into_iter().zip([[pp, pr], [pr, rr]]).zip(formulas);
        for (own, ((from, slopes), formula)) in self.moves.iter_mut().zip(from) {
            *own = own.both_ways(formula).both_ways(moved_vector(from, slopes, turned));
        }
        let rod = &mut self.reached;
        rod.rod = rod.rod.both_ways(moved_vector(middle.reached.rod, self.moves, turned));
        if matches!(rod.place, Place::Angle(..)) {
            rod.lever = rod.lever.both_ways(rod.rod.dot(rod.velocity));
        }
    }
}

impl TwoRodsPose<Interval> {
    /// Over a rectangle of joint turns: made closer by the pose in its `middle`, from which pitch and roll turn so far, and with
    /// what its motors' turns do there.
    #[must_use]
    pub fn bent(mut self, middle: &Self, turned: [Interval; 2]) -> BentPose {
        let mut rods = Rod::both(&self);
        let mut known = [([Interval::ENTIRE; 3], [Interval::ENTIRE; 4]); 2];
        for ((known, rod), middle) in known.iter_mut().zip(&mut rods).zip(&Rod::both(middle)) {
            let (second, third) = rod.met(middle, turned);
            *known = (second.map(|own| rod.gain * own), third.map(|own| rod.gain * own));
        }
        let own = self.rods.iter_mut().zip(&mut self.jacobian);
        for ((reached, rates), rod) in own.zip(rods) {
            (*reached, *rates) = (rod.reached, rod.rates.map(|rate| rod.gain * rate));
        }
        let [(second, third), (its, of_other)] = known;
        BentPose { pose: self, second: [second, its], third: [third, of_other] }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drive::space::Axis;
    use crate::drive::two_rods::{DrawnLeg, TwoRodsDrawing};
    use crate::numeric::evenly;

    fn drive() -> TwoRods {
        let at = Vector::new;
        let crank = DrawnLeg::Crank {
            motor: Axis { point: at(5.0, 30.0, 270.0), direction: at(0.1, 1.0, 0.05) },
            crank: at(-40.0, 38.0, 265.0),
            foot: at(-48.0, 36.0, -12.0),
            rod: None,
        };
        let actuator = DrawnLeg::Actuator {
            pin: at(-50.0, -34.0, 220.0),
            foot: at(-44.0, -36.0, -12.0),
            line_offset: 7.0,
            lead: 5.0,
            lengths: None,
        };
        let pitch = Axis { point: at(1.0, 0.0, 2.0), direction: at(0.03, 1.0, 0.0) };
        let roll = Axis { point: at(0.0, 1.0, -8.0), direction: at(1.0, 0.02, 0.0) };
        TwoRodsDrawing { pitch, roll, legs: [crank, actuator] }.drive().unwrap()
    }

    #[test]
    fn derivatives_in_one_pose_are_those_of_differences() {
        let (drive, joints, h) = (drive(), [0.15, -0.06], 1e-4);
        let point = |joints: [f64; 2]| drive.pose_over(joints.map(Interval::point)).unwrap();
        let bent = |joints| point(joints).bent(&point(joints), [Interval::ZERO; 2]);
        let beside = |k: usize, h: f64| {
            let mut moved = joints;
            moved[k] += h;
            bent(moved)
        };
        let here = bent(joints);
        for (k, (up, down)) in [0, 1].map(|k| (beside(k, h), beside(k, -h))).iter().enumerate() {
            let difference = |up: Interval, down: Interval| (up.mid() - down.mid()) / (2.0 * h);
            for motor in [0, 1] {
                let second = here.second[motor];
                for (joint, ours) in [second[k], second[k + 1]].into_iter().enumerate() {
                    let [up, down] = [up, down].map(|b| b.pose.jacobian[motor][joint]);
                    assert!((ours.mid() - difference(up, down)).abs() < 1e-7, "{motor} {joint}");
                }
                for (pair, ours) in here.third[motor][k..k + 3].iter().enumerate() {
                    let [up, down] = [up, down].map(|b| b.second[motor][pair]);
                    assert!((ours.mid() - difference(up, down)).abs() < 1e-6, "{motor} {pair}");
                    assert!(ours.width() < 1e-9);
                }
            }
        }
    }

    #[test]
    fn rates_slopes_and_curvatures_over_a_rectangle_hold_those_of_every_pose_in_it() {
        let (drive, [pitch, roll]) = (drive(), [[0.1, 0.2], [-0.1, -0.02]]);
        let wide = drive.bent_rates([pitch, roll].map(|[a, b]| Interval::new(a, b))).unwrap();
        let beside = |q: [f64; 2]| drive.pose(q).unwrap().jacobian;
        let h = 1e-4;
        for (p, r) in evenly(pitch, 4).flat_map(|p| evenly(roll, 4).map(move |r| (p, r))) {
            let (here, up, down) = (beside([p, r]), beside([p + h, r]), beside([p - h, r]));
            for (row, column) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                let bent = wide[row][column];
                let [at, up, down] = [here, up, down].map(|j| j[row][column]);
                let (slope, bend) = ((up - down) / (2.0 * h), (up - 2.0 * at + down) / (h * h));
                let near = |range: Interval, x: f64, room: f64| {
                    assert!(range.lo() - room <= x && x <= range.hi() + room, "{range:?} {x}");
                };
                near(bent.value, at, 1e-12);
                near(bent.slopes[0], slope, 1e-5);
                near(bent.curvature(0, 0).unwrap(), bend, 1e-4);
                let most = bent.curvature(0, 0).unwrap().magnitude();
                assert!(most < 3.0 * (1.0 + bend.abs()), "{most} {bend}");
            }
        }
    }
}
