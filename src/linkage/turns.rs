//! Joint turns, ratios and transmission angles of many motor turns at once, without a call in the loop.
//!
//! As in `pose`, with h = a e − g x and M = c (u⊥·w), h² and M² from the sine and cosine of half the crank angle:
//!
//! ```text
//! P = (b+c)² − h²,   D = h² − (b−c)²,   M = ±√(P D)/2,   K = (h² + c² − b²)/2,   h² c u = K h + M h⊥
//! dψ/dφ = a (w·e⊥)/M        tan(μ/2) = √(P D)/max(P, D)
//! ```
//!
//! One arc for the joint's turn: where the crank is the shorter of crank and ground, h leans from −x by less than 90 deg,
//! and u from h by less than 180 deg to one side; so u keeps within 135 deg of +y (open) or −y (crossed), and its angle
//! from there has no jump. With the longer crank the same is true of u seen from e. Derived here.

use crate::numeric::lane_arithmetic::{
    Direction, LARGEST_TURN, angle, greater, half_direction, lesser, small_angle, turned_back,
};
use crate::numeric::wide::{Work, widely};

use super::branch::Branch;
use super::four_bar::FourBar;

/// Where the figures of many motor turns go; all slices of one length.
#[derive(Debug)]
pub struct Turns<'a> {
    /// Motor turns from the zero pose, rad.
    pub motor: &'a [f64],
    /// Joint turn from the zero pose at each, rad, followed along the branch; NaN where the motor does not get there.
    pub joint: &'a mut [f64],
    /// dψ/dφ at each, NaN likewise.
    pub velocity_ratio: &'a mut [f64],
    /// Angle between coupler and rocker folded into 0…π/2, rad, NaN likewise.
    pub transmission_angle: &'a mut [f64],
}

impl Branch {
    /// Solves all of `turns`: as [`Branch::joint_turn`] and the pose's own figures at each motor turn that [`Branch::reach`]
    /// allows, and up to 10⁶ rad.
    ///
    /// Joint turn and transmission angle are within 1e-13 rad and the ratio within 1e-12 of what the single pose gives, in
    /// poses with a transmission angle of a degree and more.
    pub fn solve(&self, turns: Turns<'_>) {
        let FourBar { ground, crank, .. } = *self.bars();
        if crank <= ground {
            widely(Poses::<false>::of(self, turns));
        } else {
            widely(Poses::<true>::of(self, turns));
        }
    }
}

/// Poses of a block, which stays in the nearest cache.
const BLOCK: usize = 256;

/// The loop over all turns; `LONG`: the crank is longer than the ground.
struct Poses<'a, const LONG: bool> {
    lengths: Lengths,
    zero_crank: f64,
    reach: [f64; 2],
    turns: Turns<'a>,
}

/// What of the lengths the loop needs.
#[derive(Clone, Copy)]
struct Lengths {
    bars: FourBar,
    /// 4 a g.
    four_ag: f64,
    /// P, D and h² less what varies with the crank angle.
    fixed: [f64; 3],
    /// (c² − b²)/2.
    half_excess: f64,
    /// The sign of M.
    sign: f64,
}

/// One pose: the rocker's angle from its middle direction, ratio and transmission angle.
struct Figures {
    lean: f64,
    ratio: f64,
    transmission: f64,
}

impl Lengths {
    fn of(branch: &Branch) -> Self {
        let bars = *branch.bars();
        let FourBar { ground: g, crank: a, coupler: b, rocker: c } = bars;
        let [t1, t2, t3] = bars.signs();
        Self {
            bars,
            four_ag: 4.0 * a * g,
            fixed: [t3 * (a + b + c + g), t1 * t2, (g - a) * (g - a)],
            half_excess: 0.5 * (c - b) * (c + b),
            sign: branch.closure().sign(),
        }
    }

    #[inline(always)]
    fn at<const LONG: bool>(&self, [cos, sin]: Direction) -> Figures {
        let FourBar { ground: g, crank: a, .. } = self.bars;
        let (cos2, sin2) = (cos * cos, sin * sin);
        let beyond_sum = self.fixed[0] + self.four_ag * cos2;
        let beyond_difference = self.fixed[1] + self.four_ag * sin2;
        let h2 = self.fixed[2] + self.four_ag * sin2;
        let root = (beyond_sum * beyond_difference).sqrt();
        let (m, k) = (0.5 * self.sign * root, 0.5 * h2 + self.half_excess);
        let e = [1.0 - 2.0 * sin2, 2.0 * sin * cos];
        let h = [(a - g) - 2.0 * a * sin2, a * e[1]];
        // Both times h², so that one division serves.
        let rocker = [k * h[0] - m * h[1], k * h[1] + m * h[0]];
        let coupler = [rocker[0] - h2 * h[0], rocker[1] - h2 * h[1]];
        Figures {
            lean: self.lean::<LONG>(rocker, e),
            ratio: a * (coupler[1] * e[0] - coupler[0] * e[1]) / (m * h2),
            transmission: 2.0 * small_angle(root, greater(beyond_sum, beyond_difference)),
        }
    }

    /// The angle of `rocker` from the middle of where it can point.
    #[inline(always)]
    fn lean<const LONG: bool>(&self, rocker: Direction, crank: Direction) -> f64 {
        let [x, y] = if LONG { turned_back(rocker, crank) } else { rocker };
        let sign = if LONG { -self.sign } else { self.sign };
        angle(sign * x, -sign * y)
    }
}

impl<'a, const LONG: bool> Poses<'a, LONG> {
    fn of(branch: &Branch, turns: Turns<'a>) -> Self {
        let turn = |barrier: Option<super::Barrier>, none: f64| barrier.map_or(none, |b| b.turn);
        Self {
            lengths: Lengths::of(branch),
            zero_crank: branch.zero_crank(),
            reach: [
                greater(turn(branch.below, -LARGEST_TURN), -LARGEST_TURN),
                lesser(turn(branch.above, LARGEST_TURN), LARGEST_TURN),
            ],
            turns,
        }
    }
}

impl<const LONG: bool> Work for Poses<'_, LONG> {
    #[inline(always)]
    fn run(self) {
        let Self { lengths, zero_crank, reach: [below, above], turns } = self;
        let zero = lengths.at::<LONG>(half_direction(zero_crank)).lean;
        let joints = turns.joint.chunks_mut(BLOCK).zip(turns.velocity_ratio.chunks_mut(BLOCK));
        let rest = joints.zip(turns.transmission_angle.chunks_mut(BLOCK));
        for (motor, ((joint, ratio), transmission)) in turns.motor.chunks(BLOCK).zip(rest) {
            // Directions wait where the figures go: two short loops keep more poses under way than one long one.
            for ((&motor, cos), sin) in motor.iter().zip(&mut *joint).zip(&mut *ratio) {
                let is_reached = (motor > below) & (motor < above);
                [*cos, *sin] =
                    half_direction(zero_crank + if is_reached { motor } else { f64::NAN });
            }
            let rows = motor.iter().zip(joint).zip(ratio).zip(transmission);
            for (((&motor, joint), ratio), transmission) in rows {
                let figures = lengths.at::<LONG>([*joint, *ratio]);
                let lean = figures.lean - zero;
                *joint = if LONG { motor + lean } else { lean };
                *ratio = figures.ratio;
                *transmission = figures.transmission;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::linkage::Closure;

    /// Crank, coupler, rocker, ground and zero crank angle: parallelogram, nearly one, crank rocker, double crank, the
    /// longer crank, two double rockers that turn far.
    const DRAWN: [([f64; 4], f64); 8] = [
        ([45.0, 300.0, 45.0, 300.0], 1.57),
        ([45.0, 300.02, 45.05, 300.0], -1.2),
        ([40.0, 120.0, 80.0, 100.0], 0.9),
        ([50.0, 110.0, 120.0, 30.0], 1.0),
        ([100.0, 200.0, 30.0, 210.0], 1.5),
        ([120.0, 40.0, 100.0, 90.0], 0.4),
        ([100.0, 40.0, 90.0, 110.0], 0.4),
        ([90.0, 130.0, 60.0, 45.0], 2.5),
    ];

    fn branches() -> impl Iterator<Item = Branch> {
        let drawn = DRAWN.into_iter().flat_map(|([crank, coupler, rocker, ground], zero)| {
            let bars = FourBar { ground, crank, coupler, rocker };
            [Closure::Open, Closure::Crossed].map(|closure| Branch::through(bars, zero, closure))
        });
        let found: Vec<Branch> = drawn.filter_map(Result::ok).collect();
        assert!(found.len() >= 12, "{}", found.len());
        found.into_iter()
    }

    fn motor() -> Vec<f64> {
        (-4001..=4001).map(|k| 0.005 * f64::from(k)).collect()
    }

    fn solved(branch: &Branch, motor: &[f64], plain: bool) -> [Vec<f64>; 3] {
        let mut rows = [(); 3].map(|()| vec![0.0; motor.len()]);
        let [joint, velocity_ratio, transmission_angle] = &mut rows;
        let turns = Turns { motor, joint, velocity_ratio, transmission_angle };
        match (plain, branch.bars().crank <= branch.bars().ground) {
            (false, _) => branch.solve(turns),
            (true, true) => Poses::<false>::of(branch, turns).run(),
            (true, false) => Poses::<true>::of(branch, turns).run(),
        }
        rows
    }

    #[test]
    fn many_turns_are_solved_as_each_alone_over_several_turns_of_the_crank() {
        let motor = motor();
        let mut worst = [0.0_f64; 3];
        for branch in branches() {
            let [joint, ratio, transmission] = solved(&branch, &motor, false);
            for (k, turn) in motor.iter().enumerate() {
                if branch.reach(*turn).is_err() {
                    assert!(joint[k].is_nan() && ratio[k].is_nan() && transmission[k].is_nan());
                    continue;
                }
                let pose = branch.pose(*turn).unwrap();
                if pose.transmission_angle() < 1_f64.to_radians() {
                    continue;
                }
                let off = [
                    joint[k] - branch.joint_turn(*turn).unwrap(),
                    (ratio[k] - pose.velocity_ratio()) / pose.velocity_ratio().abs().max(1.0),
                    transmission[k] - pose.transmission_angle(),
                ];
                worst = std::array::from_fn(|n| worst[n].max(off[n].abs()));
                let known = off[0].abs() < 1e-13 && off[1].abs() < 1e-12 && off[2].abs() < 1e-13;
                assert!(known, "{:?} {turn}: {off:?}", branch.bars());
            }
        }
        assert!(worst.iter().all(|off| *off > 0.0), "nothing was compared: {worst:?}");
    }

    #[test]
    fn both_versions_give_the_same_bits() {
        for branch in branches() {
            let bits = |plain| {
                solved(&branch, &motor(), plain)
                    .map(|row| row.into_iter().map(f64::to_bits).collect::<Vec<_>>())
            };
            assert_eq!(bits(true), bits(false));
        }
    }

    #[test]
    fn no_turn_is_no_turn_and_what_is_no_number_stays_none() {
        for branch in branches() {
            let [joint, ratio, angle] = solved(&branch, &[0.0, f64::NAN, f64::INFINITY], false);
            assert_eq!(joint[0], 0.0);
            assert!([joint, ratio, angle].iter().all(|row| row[1].is_nan() && row[2].is_nan()));
        }
    }
}
