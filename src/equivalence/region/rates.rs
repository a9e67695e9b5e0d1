//! J of all builds in one pose, by what each size does to it.

use super::builds_over::{AllBuilds, SHARED, TURNS, spread};
use super::values::one_of;
use crate::drive::{Shares, TwoRodsPose};
use crate::dynamics::Rates;
use crate::numeric::{Interval, Scalar as _};

impl AllBuilds<'_> {
    /// J of all builds in one pose: that of the middle build, and what all sizes do to it.
    pub(super) fn rates_at(
        &self,
        middle: Rates,
        all: &TwoRodsPose<Interval>,
        shares: &[Shares<Interval>; 2],
    ) -> Rates {
        let mut rates = middle;
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
}
