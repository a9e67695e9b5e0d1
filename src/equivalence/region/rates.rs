//! J of all builds, closer than the search needs it: in one pose by what each size does to it, over a rectangle with the second and
//! third derivatives of both motors' turns.

use super::builds_over::{AllBuilds, Clear, SHARED, Seen, TURNS, spread};
use super::values::one_of;
use crate::drive::{Angular as _, Shares, TwoRodsPose};
use crate::dynamics::Rates;
use crate::numeric::{Interval, Jet, Scalar as _};

/// All builds over a rectangle: the second derivatives of both motors' turns by pitch and roll, and slopes of these.
pub(super) struct Closer {
    pub(super) seen: Seen,
    pub(super) slopes: [[Interval; 3]; 2],
    pub(super) bends: [[Jet<TURNS>; 3]; 2],
}

/// How often a rectangle is made closer by what is known of it.
const ROUNDS: u32 = 2;

impl AllBuilds<'_> {
    /// J of all builds in one pose: that of the middle build, and what all sizes do to it.
    pub(super) fn rates_at(
        &self,
        middle: &TwoRodsPose<Interval>,
        all: &TwoRodsPose<Interval>,
        shares: &[Shares<Interval>; 2],
    ) -> Rates {
        let mut rates = middle.jacobian;
        for (rod, (row, all)) in rates.iter_mut().zip(all.jacobian).enumerate() {
            for (joint, (rate, all)) in row.iter_mut().zip(all).enumerate() {
                let each = one_of(shares.each_ref(), rod).iter();
                let each = each.map(|share| one_of(share.rates, joint));
                *rate = all.both_ways(*rate + spread(each.zip(self.away_of(rod)).skip(TURNS)));
            }
        }
        rates
    }

    /// What each size that has a range does to J at most.
    pub(super) fn rates_moved(&self, shares: &[Shares<Interval>; 2]) -> Vec<Rates> {
        let none = [Interval::ZERO; 2];
        let [one, two] = [0, 1].map(|rod| {
            let own = one_of(shares.each_ref(), rod).iter().zip(self.away_of(rod));
            let by = |away: &Interval| Interval::point(away.magnitude());
            let moved = own.map(|(share, away)| share.rates.map(|rate| rate * by(away)));
            moved.collect::<Vec<_>>()
        });
        let shared = one.iter().zip(&two).take(SHARED).skip(TURNS).map(|(one, two)| [*one, *two]);
        let first = one.iter().skip(SHARED).map(|own| [*own, none]);
        let second = two.iter().skip(SHARED).map(|own| [none, *own]);
        shared.chain(first).chain(second).filter(|moved| *moved != [none; 2]).collect()
    }

    /// All builds over a rectangle that is clear, a few times made closer by what the time before told.
    pub(super) fn closer(&self, clear: &Clear) -> Option<Closer> {
        let joints = clear.turns.map(Interval::sin_cos);
        let [dp, dr] = clear.turns.map(|turn| turn - Interval::point(turn.mid()));
        let Seen { pose: middle, motors } = &clear.middle;
        let along = |from: Interval, [p, r]: [Interval; 2]| from + (p * dp + r * dr);
        let mut slopes = clear.shares.each_ref().map(|[by_p, by_r, ..]| {
            let [pp, pr] = by_p.rates;
            [pp, pr, by_r.rates[1]]
        });
        let at = clear.turns.map(|turn| Interval::point(turn.mid()).sin_cos());
        let rates = self.rates_at(&self.middle.built.at(at)?, middle, &clear.shares);
        let mut seen = Seen { ..clear.over };
        let mut bends = None;
        for _ in 0..ROUNDS {
            let mut own = seen.pose.jacobian;
            for ((own, from), [pp, pr, rr]) in own.iter_mut().zip(rates).zip(slopes) {
                let ([p, r], [from_p, from_r]) = (*own, from);
                *own = [p.both_ways(along(from_p, [pp, pr])), r.both_ways(along(from_r, [pr, rr]))];
            }
            for ((motor, from), rates) in seen.motors.iter_mut().zip(motors).zip(own) {
                *motor = motor.both_ways(along(*from, rates));
            }
            seen.pose = seen.pose.both_ways(&self.wide.posed(joints, seen.motors)?, own);
            let found = self.wide.bends(clear.turns, seen.motors, &seen.pose)?;
            for ((slopes, at), found) in slopes.iter_mut().zip(middle.curvatures()).zip(found) {
                for ((slope, at), bend) in slopes.iter_mut().zip(at).zip(found) {
                    *slope = slope.both_ways(bend.value).both_ways(along(at, bend.slopes));
                }
            }
            bends = Some(found);
        }
        Some(Closer { seen, slopes, bends: bends? })
    }
}
