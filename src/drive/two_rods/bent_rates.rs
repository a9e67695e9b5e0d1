//! J over a rectangle of joint turns with its slopes and curvatures, both enclosed.
//!
//! The meeting of rod and circle loses much over a rectangle. What is known of it is therefore met with what the motors' angles
//! tell, which keep near those of the middle pose by J itself; and J is then differentiated as a function of the joints'
//! **and** the motors' angles, of which J and the curvatures of the motor turns are the derivatives.

use super::TwoRods;
use super::pose::{RodsOnUniversal, TwoRodsPose};
use super::sized::SizedBuild;
use crate::drive::angular::Angular;
use crate::drive::input_end::{InputEnd, Place, Reached};
use crate::drive::space::Vector;
use crate::numeric::{Bent, Interval, Jet, Scalar as _};

/// How often the pose and the motors' angles are made closer by each other.
const ROUNDS: u32 = 3;

impl<T: Angular> RodsOnUniversal<T> {
    /// The pose at joint turns of these (sin, cos) with its cranks at the angles `motors` from their data, whether or not the
    /// rods fit; `None` where an actuator's does not.
    fn turned(&self, joints: [(T, T); 2], [one, two]: [T; 2]) -> Option<TwoRodsPose<T>> {
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
        let joints = over.map(Angular::sin_cos);
        let middle = over.map(|turn| Interval::point(turn.mid()));
        let at = self.sure.at(middle.map(Angular::sin_cos))?;
        let guess = at.rods.each_ref().map(|rod| match rod.place {
            Place::Angle(sine, cosine) => libm::atan2(sine.mid(), cosine.mid()),
            Place::Travel(_) | Place::Length(_) => 0.0,
        });
        let angles = self.sure.angles(&at, guess);
        let [dp, dr] = [over[0] - middle[0], over[1] - middle[1]];
        let mut pose = self.sure.at(joints)?;
        let mut motors = self.sure.angles(&pose, guess);
        for _ in 0..ROUNDS {
            let [first, second] = pose.jacobian.map(|[p, r]| p * dp + r * dr);
            motors =
                [motors[0].both_ways(angles[0] + first), motors[1].both_ways(angles[1] + second)];
            pose = pose.both_ways(&self.sure.turned(joints, motors)?, pose.jacobian);
            pose.meet(&at, [dp, dr]);
        }
        let ([one, two], [first, second]) = (pose.jacobian, pose.curvatures());
        let bent = |value, slopes, [pp, pr, rr]: [Interval; 3]| {
            Bent::known(value, slopes, [[pp, Interval::ZERO], [pr, rr]])
        };
        let motors = [bent(motors[0], one, first), bent(motors[1], two, second)];
        let joints = [Bent::variable(0, over[0]), Bent::variable(1, over[1])].map(Angular::sin_cos);
        let mut bent = self.sure.constant::<Bent<2>>().turned(joints, motors)?;
        know(&mut bent, &pose);
        Some(bent.jacobian)
    }
}

/// Second derivatives of a motor's turn by pitch and roll, (pp, pr, rr), with the slopes of each.
type Bends = [Jet<2>; 3];

impl SizedBuild<Interval> {
    /// Second derivatives of both motors' turns with their slopes, over a rectangle of joint turns where `pose` encloses the
    /// pose and `motors` the cranks' angles from their own pins.
    pub fn bends(
        &self,
        over: [Interval; 2],
        motors: [Interval; 2],
        pose: &TwoRodsPose<Interval>,
    ) -> Option<[Bends; 2]> {
        let ([one, two], [p, r]) = (pose.jacobian, over);
        let [first, second] = motors;
        let motors = [Jet { value: first, slopes: one }, Jet { value: second, slopes: two }];
        let joints = [Jet::<2>::variable(0, p), Jet::variable(1, r)].map(Angular::sin_cos);
        let mut sloped = self.constant::<Jet<2>>().posed(joints, motors)?;
        know(&mut sloped, pose);
        Some(sloped.curvatures())
    }
}

/// An input end's place is a crank's angle.
fn is_turned<T>(rod: &Reached<T>) -> bool {
    matches!(rod.place, Place::Angle(..))
}

impl TwoRodsPose<Interval> {
    /// What each rod does per rad of pitch and roll.
    fn rod_ways(&self) -> [[Vector<Interval>; 2]; 2] {
        let each = self.rods.iter().zip(self.ways).zip(self.jacobian.iter().zip(self.gains));
        let mut all = self.ways;
        for (slot, ((rod, ways), (rates, gain))) in all.iter_mut().zip(each) {
            let [by_p, by_r] = rates.map(|rate| rate / gain);
            let [p, r] = ways;
            *slot = [p - rod.velocity * by_p, r - rod.velocity * by_r];
        }
        all
    }

    /// Rods and J are met with those of the middle pose and their own slopes.
    fn meet(&mut self, middle: &Self, [dp, dr]: [Interval; 2]) {
        let (ways, bends) = (self.rod_ways(), self.curvatures());
        for ((rod, from), [p, r]) in self.rods.iter_mut().zip(&middle.rods).zip(ways) {
            rod.rod = rod.rod.both_ways(from.rod + p * dp + r * dr);
            if is_turned(rod) {
                rod.lever = rod.lever.both_ways(rod.rod.dot(rod.velocity));
            }
        }
        let all = self.jacobian.iter_mut().zip(&middle.jacobian).zip(bends);
        for (([p, r], [from_p, from_r]), [pp, pr, rr]) in all {
            *p = p.both_ways(*from_p + (pp * dp + pr * dr));
            *r = r.both_ways(*from_r + (pr * dp + rr * dr));
        }
        self.rates_again();
    }
}

/// A value with its slopes by pitch and roll, all enclosed.
trait Sloped: Angular {
    fn sloped(value: Interval, slopes: [Interval; 2]) -> Self;
}

impl Sloped for Bent<2> {
    fn sloped(value: Interval, slopes: [Interval; 2]) -> Self {
        Self::known(value, slopes, [[Interval::ENTIRE; 2]; 2])
    }
}

impl Sloped for Jet<2> {
    fn sloped(value: Interval, slopes: [Interval; 2]) -> Self {
        Self { value, slopes }
    }
}

/// Rods, levers and J are met with what is known of them.
fn know<T: Sloped>(pose: &mut TwoRodsPose<T>, known: &TwoRodsPose<Interval>) {
    let free = [Interval::ENTIRE; 2];
    for ((rod, its), [p, r]) in pose.rods.iter_mut().zip(&known.rods).zip(known.rod_ways()) {
        let own = its.rod;
        rod.rod = rod.rod.both_ways(Vector::new(
            T::sloped(own.x, [p.x, r.x]),
            T::sloped(own.y, [p.y, r.y]),
            T::sloped(own.z, [p.z, r.z]),
        ));
        if is_turned(rod) {
            rod.lever = rod.rod.dot(rod.velocity).both_ways(T::sloped(its.lever, free));
        }
    }
    pose.rates_again();
    let all = pose.jacobian.iter_mut().zip(&known.jacobian).zip(known.curvatures());
    for (([p, r], [by_p, by_r]), [pp, pr, rr]) in all {
        *p = p.both_ways(T::sloped(*by_p, [pp, pr]));
        *r = r.both_ways(T::sloped(*by_r, [pr, rr]));
    }
}

impl<T: Angular> TwoRodsPose<T> {
    /// J is met with what rods and levers tell of it.
    fn rates_again(&mut self) {
        let rods = self.rods.iter().zip(self.ways).zip(self.gains);
        for (rates, ((rod, ways), gain)) in self.jacobian.iter_mut().zip(rods) {
            for (rate, way) in rates.iter_mut().zip(ways) {
                *rate = rate.both_ways(gain * rod.rate(way));
            }
        }
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
