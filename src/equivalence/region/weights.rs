//! How far what stands in for a drive of two joints is from it in kinetic energy, bounded over every build and every pose: in the
//! corners of rectangles, where all builds are known closely, and between them.

use std::collections::{BinaryHeap, HashMap};

use super::super::criterion::MET_WITHIN;
use super::builds_over::{AllBuilds, Clear, Seen};
use super::first_cut::ROUNDED;
use super::question::RegionQuestion;
use super::rates::Closer;
use super::values::Setting;
use crate::drive::{Angular as _, SizedBuild};
use crate::dynamics::{TwoJointCertificate, TwoRodsOver, WeighedPose};
use crate::numeric::{Bent, Interval, Ranked, Scalar as _, evenly};

/// Widest sides of the rectangles that the region is first cut into, rad, where no more pieces than this are needed.
const WIDEST: f64 = 0.09;
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
    let ends: Vec<f64> =
        evenly([from - ROUNDED, to + ROUNDED], count.unwrap_or(MOST_PIECES)).collect();
    ends.windows(2).filter_map(|ends| Some(Interval::new(*ends.first()?, *ends.last()?))).collect()
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
    curved: SizedBuild<Bent<2>>,
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
        let over = self.builds.clear(turns).and_then(|clear| self.over(&clear));
        let bound =
            over.and_then(|over| self.certificate.bound(corners, &over, [p, r], self.sought));
        let (bound, side) = bound.unwrap_or((f64::INFINITY, usize::from(r > p)));
        Some(Ranked { bound: bound.min(whole), of: Waiting { turns, side } })
    }

    fn look(&mut self, joints: [f64; 2]) -> Option<()> {
        let key = joints.map(f64::to_bits);
        if !self.poses.contains_key(&key) {
            let pose = self.weighed(joints.map(Interval::point))?;
            let [_, limit] = self.sought;
            self.poses.insert(key, pose.is_within(limit).then_some(pose)?);
        }
        Some(())
    }

    /// All builds in one pose.
    fn weighed(&self, joints: [Interval; 2]) -> Option<WeighedPose> {
        let turns = joints.map(|turn| turn.sin_cos());
        let middle = self.builds.middle.built.at(turns)?;
        let (mut seen, shares) = self.builds.all_at(joints)?;
        seen.pose.jacobian = self.builds.rates_at(&middle, &seen.pose, &shares);
        let all = TwoRodsOver { built: self.builds.wide.built, joints: turns, pose: seen.pose };
        self.certificate.at(&all, middle.jacobian, &self.builds.rates_moved(&shares))
    }

    /// All builds over a rectangle, with slopes and curvatures by pitch and roll.
    fn over(&self, clear: &Clear) -> Option<TwoRodsOver<Bent<2>>> {
        let Closer { seen: Seen { pose, motors }, slopes, bends } = self.builds.closer(clear)?;
        let bent = |value, slopes, [pp, pr, rr]: [Interval; 3]| {
            Bent::known(value, slopes, [[pp, Interval::ZERO], [pr, rr]])
        };
        let mut angles = motors.map(Bent::constant);
        let mut rates = [angles; 2];
        let known = motors.iter().zip(pose.jacobian).zip(slopes.iter().zip(bends));
        for ((angle, row), ((motor, [p, r]), (slopes, bends))) in
            angles.iter_mut().zip(&mut rates).zip(known)
        {
            let [pp, pr, rr] = *slopes;
            *angle = bent(*motor, [p, r], *slopes);
            let [[ppp, ppr], [prp, prr], [rrp, rrr]] = bends.map(|bend| bend.slopes);
            *row = [
                bent(p, [pp, pr], [ppp, ppr.both_ways(prp), prr.both_ways(rrp)]),
                bent(r, [pr, rr], [ppr.both_ways(prp), prr.both_ways(rrp), rrr]),
            ];
        }
        let [p, r] = clear.turns;
        let joints = [Bent::variable(0, p), Bent::variable(1, r)].map(|turn| turn.sin_cos());
        let mut pose = self.curved.posed(joints, angles)?;
        pose.jacobian = rates;
        Some(TwoRodsOver { built: self.curved.built, joints, pose })
    }
}
