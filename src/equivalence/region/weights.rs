//! How far what stands in for a drive of two joints is from it in kinetic energy, bounded over every build and every pose: in the
//! corners of rectangles, where all builds are known closely, and between them.

use std::collections::{BinaryHeap, HashMap};

use super::super::criterion::MET_WITHIN;
use super::builds_over::{AllBuilds, Clear, InPose, Seen};
use super::first_cut::ROUNDED;
use super::question::RegionQuestion;
use super::values::{Setting, one_of};
use crate::drive::{Angular as _, SizedBuild};
use crate::dynamics::{TwoJointCertificate, TwoRodsOver, WeighedPose};
use crate::numeric::{Bent, Interval, Ranked, even_pieces};

/// Widest sides of the rectangles that the region is first cut into, rad, where no more pieces than this are needed.
const WIDEST: f64 = 0.12;
const MOST_PIECES: u32 = 8;

/// A bound is told no closer than this much above what the drawn drive shows.
const AIM: f64 = 1.2;

/// Rectangles to halve before it is given up.
const MOST: u32 = 16;

impl RegionQuestion<'_> {
    /// A bound of the error that `certificate` tells, over all builds and poses that are asked about, where it is `drawn` of the
    /// drawn drive; `None` where the proof does not reach `limit`. It holds where all builds reach all poses, which is judged
    /// beside it.
    #[must_use]
    pub fn certify(
        &self,
        certificate: &TwoJointCertificate,
        drawn: f64,
        limit: f64,
    ) -> Option<f64> {
        let setting = Setting::of(self)?;
        let builds = AllBuilds::of(&setting)?;
        let limit = limit + MET_WITHIN;
        let enough = (AIM * drawn).min(limit);
        let mut search = Certifying::new(&builds, certificate, [enough, limit]);
        let mut heap = BinaryHeap::new();
        let [pitch, roll] = self.turns.map(pieces);
        for turns in pitch.iter().flat_map(|p| roll.iter().map(|r| [*p, *r])) {
            heap.push(search.bounded(turns, f64::INFINITY)?);
        }
        let mut halved = 0;
        loop {
            let worst = heap.peek()?.bound;
            if worst <= limit || halved >= MOST {
                return (worst <= limit).then_some(worst);
            }
            for turns in heap.pop()?.of.halves() {
                heap.push(search.bounded(turns, worst)?);
            }
            halved += 1;
        }
    }
}

/// A side in even pieces.
fn pieces([from, to]: [f64; 2]) -> Vec<Interval> {
    let count = (1..MOST_PIECES).find(|count| f64::from(*count) * WIDEST >= to - from);
    even_pieces([from - ROUNDED, to + ROUNDED], count.unwrap_or(MOST_PIECES)).collect()
}

/// A rectangle that waits to be halved, and along which side.
struct Waiting {
    turns: [Interval; 2],
    side: usize,
}

impl Waiting {
    fn halves(&self) -> [[Interval; 2]; 2] {
        let [pitch, roll] = self.turns;
        if self.side == 0 {
            pitch.halves().map(|pitch| [pitch, roll])
        } else {
            roll.halves().map(|roll| [pitch, roll])
        }
    }
}

/// The search for one bound.
struct Certifying<'a> {
    builds: &'a AllBuilds<'a>,
    certificate: &'a TwoJointCertificate,
    /// What is close enough, and the limit.
    sought: [f64; 2],
    curved: SizedBuild<Bent<1>>,
    /// All builds where rectangles meet.
    poses: HashMap<[u64; 2], WeighedPose>,
}

impl<'a> Certifying<'a> {
    fn new(
        builds: &'a AllBuilds<'a>,
        certificate: &'a TwoJointCertificate,
        sought: [f64; 2],
    ) -> Self {
        let curved = builds.wide.constant();
        Self { builds, certificate, sought, curved, poses: HashMap::new() }
    }

    /// A rectangle with a bound over it, which is no larger than over the `whole` that it is part of; infinite where none is known.
    /// `None` where a corner itself does not meet the limit.
    fn bounded(&mut self, turns: [Interval; 2], whole: f64) -> Option<Ranked<Waiting>> {
        let [pitch, roll] = turns.map(|turns| [turns.lo(), turns.hi()]);
        let [[a, b], [c, d]] = pitch.map(|p| roll.map(|r| [p, r]));
        for joints in [a, b, c, d] {
            self.look(joints)?;
        }
        let corner = |joints: [f64; 2]| self.poses.get(&joints.map(f64::to_bits));
        let corners = [corner(a)?, corner(b)?, corner(c)?, corner(d)?];
        let [p, r] = turns.map(Interval::width);
        let by_turns = |clear: Clear| Some([self.over(&clear, 0)?, self.over(&clear, 1)?]);
        let over = self.builds.clear(turns).and_then(by_turns);
        let bound =
            over.and_then(|over| self.certificate.bound(corners, &over, [p, r], self.sought));
        let (bound, side) = bound.unwrap_or((f64::INFINITY, usize::from(r > p)));
        Some(Ranked { bound: bound.min(whole), of: Waiting { turns, side } })
    }

    fn look(&mut self, joints: [f64; 2]) -> Option<()> {
        let key = joints.map(f64::to_bits);
        if !self.poses.contains_key(&key) {
            let pose = self.weighed(joints)?;
            let [_, limit] = self.sought;
            self.poses.insert(key, pose.is_within(limit).then_some(pose)?);
        }
        Some(())
    }

    /// All builds in one pose.
    fn weighed(&self, joints: [f64; 2]) -> Option<WeighedPose> {
        let InPose { seen: Seen { pose, .. }, shares, rates } = self.builds.all_at(joints)?;
        let joints = joints.map(|turn| Interval::point(turn).sin_cos());
        let all = TwoRodsOver { built: self.builds.wide.built, joints, pose };
        self.certificate.at(&all, rates, &self.builds.rates_moved(&shares))
    }

    /// All builds over a rectangle, with slopes and curvatures by the joint turn `side`.
    fn over(&self, clear: &Clear, side: usize) -> Option<TwoRodsOver<Bent<1>>> {
        let bent = |value, slope, bend| Bent::known(value, [slope], [[bend]]);
        let mut angles = clear.over.motors.map(Bent::constant);
        let mut rates = [angles; 2];
        let known = clear.over.pose.jacobian.iter().zip(clear.shares.iter().zip(clear.third));
        for ((angle, row), (own, (shares, [ppp, ppr, prr, rrr]))) in
            angles.iter_mut().zip(&mut rates).zip(known)
        {
            let slopes = shares.get(side)?.rates;
            let bends = one_of([[ppp, ppr], [prr, rrr]], side);
            *angle = bent(angle.value, one_of(*own, side), one_of(slopes, side));
            *row = [0, 1].map(|k| bent(one_of(*own, k), one_of(slopes, k), one_of(bends, k)));
        }
        let turn = |k: usize| {
            let turn = one_of(clear.turns, k);
            if k == side { Bent::variable(0, turn) } else { Bent::constant(turn) }
        };
        let joints = [0, 1].map(|k| turn(k).sin_cos());
        let mut pose = self.curved.posed(joints, angles)?;
        pose.jacobian = rates;
        Some(TwoRodsOver { built: self.curved.built, joints, pose })
    }
}
