//! How far what stands in for a drive of two joints is from it in kinetic energy, bounded over every build and every pose: in the
//! corners of rectangles, where all builds are known closely, and between them.

use std::collections::{BinaryHeap, HashMap};

use super::super::criterion::MET_WITHIN;
use super::builds_over::{AllBuilds, Clear, Closer, SHARED, Seen, TURNS};
use super::first_cut::first_cut;
use super::question::RegionQuestion;
use super::values::{Setting, one_of};
use crate::drive::{Angular as _, Share, Shares, SizedBuild};
use crate::dynamics::{MovedBySizes, TOGETHER, TwoJointCertificate, TwoRodsOver, WeighedPose};
use crate::numeric::{Bent, Interval, Jet, Ranked, Scalar as _};

/// Widest sides of the rectangles that the region is first cut into, rad, where no more pieces than this are needed, and how often
/// one that is not clear is quartered.
const WIDEST: f64 = 0.18;
const MOST_PIECES: u32 = 16;
const QUARTERINGS: u32 = 3;

/// A bound is sought to this much above what the drawn drive shows, with no more rectangles halved than this where it meets the
/// limit, and where it does not.
const AIM: f64 = 1.2;
const MOST: u32 = 4;
const MOST_BEYOND: u32 = 40;

impl RegionQuestion<'_> {
    /// A bound of the error that `certificate` tells, over all builds and poses that are asked about, where it is `drawn` of the
    /// drawn drive; `None` where the proof does not reach `limit`.
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
        let mut search = Certifying::new(&builds, certificate, [enough, limit])?;
        let pieces = self.turns.map(|[from, to]| pieces(to.max(0.0) - from.min(0.0)));
        let cut = first_cut(&builds, self.turns, pieces, QUARTERINGS).ok()?;
        let mut heap = BinaryHeap::new();
        for (clear, _) in cut.inside {
            heap.push(search.bounded(&clear, f64::INFINITY)?);
        }
        let mut halved = 0;
        loop {
            let worst = heap.peek()?.bound;
            let is_beyond = worst > limit;
            if worst <= enough || halved >= if is_beyond { MOST_BEYOND } else { MOST } {
                return (!is_beyond).then_some(worst);
            }
            for turns in heap.pop()?.of.halves() {
                heap.push(search.bounded(&builds.clear(turns)?, worst)?);
            }
            halved += 1;
        }
    }
}

/// Pieces of a side.
fn pieces(side: f64) -> u32 {
    (1..MOST_PIECES).find(|count| f64::from(*count) * WIDEST >= side).unwrap_or(MOST_PIECES)
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
    together: Vec<Together>,
    curved: SizedBuild<Bent<2>>,
    /// All builds where rectangles meet.
    poses: HashMap<[u64; 2], WeighedPose>,
}

/// Sizes that move the same links, and all builds as those with a range move them.
struct Together {
    sized: SizedBuild<Jet<TOGETHER>>,
    /// How far each goes from its middle.
    reach: [f64; TOGETHER],
    /// Of the joint axes, of the first leg, or of the second.
    of: usize,
}

impl<'a> Certifying<'a> {
    fn new(
        builds: &'a AllBuilds<'a>,
        certificate: &'a TwoJointCertificate,
        sought: [f64; 2],
    ) -> Option<Self> {
        let (curved, together) = (builds.wide.constant(), Together::all(builds)?);
        Some(Self { builds, certificate, sought, together, curved, poses: HashMap::new() })
    }

    /// A rectangle with a bound over it, which is no larger than over the `whole` that it is part of; infinite where none is known.
    /// `None` where a corner itself does not meet the limit.
    fn bounded(&mut self, clear: &Clear, whole: f64) -> Option<Ranked<Waiting>> {
        let [pitch, roll] = clear.turns.map(|turns| [turns.lo(), turns.hi()]);
        let [[a, b], [c, d]] = pitch.map(|p| roll.map(|r| [p, r]));
        for joints in [a, b, c, d] {
            self.look(joints)?;
        }
        let corner = |joints: [f64; 2]| self.poses.get(&joints.map(f64::to_bits));
        let corners = [corner(a)?, corner(b)?, corner(c)?, corner(d)?];
        let [p, r] = clear.turns.map(Interval::width);
        let over = self.over(clear);
        let bound =
            over.and_then(|over| self.certificate.bound(corners, &over, [p, r], self.sought));
        let (bound, side) = bound.unwrap_or((f64::INFINITY, usize::from(r > p)));
        Some(Ranked { bound: bound.min(whole), of: Waiting { turns: clear.turns, side } })
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
        let built = self.builds.middle.built;
        let middle = TwoRodsOver { built, joints: turns, pose: built.at(turns)? };
        let (mut seen, shares) = self.builds.all_at(joints)?;
        seen.pose.jacobian = self.builds.rates_at(&middle.pose, &seen.pose, &shares);
        let all = TwoRodsOver { built: self.builds.wide.built, joints: turns, pose: seen.pose };
        let moved = self.together.iter().map(|some| some.moved(turns, &seen, &shares));
        self.certificate.at([&middle, &all], &moved.collect::<Option<Vec<_>>>()?)
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

impl Together {
    /// Sizes of the joint axes, of the first leg and of the second, where any has a range.
    fn all(builds: &AllBuilds<'_>) -> Option<Vec<Self>> {
        let (question, mut from, mut all) = (builds.setting.question, 0, Vec::new());
        let ranges = &question.sizes.all;
        for (of, count) in question.drawing.parts().into_iter().enumerate() {
            let mut sizes: Vec<Jet<TOGETHER>> = ranges.iter().map(|r| Jet::constant(*r)).collect();
            let mut reach = [0.0; TOGETHER];
            let own = sizes.iter_mut().zip(ranges).skip(from).take(count);
            for (k, ((size, range), slot)) in own.zip(&mut reach).enumerate() {
                *size = Jet::variable(k, *range);
                *slot = (*range - Interval::point(range.mid())).magnitude();
            }
            from += count;
            if !builds.is_one && reach.iter().any(|reach| *reach > 0.0) {
                all.push(Self { sized: question.drawing.sized(&sizes)?, reach, of });
            }
        }
        Some(all)
    }

    /// Do these move the links, the first leg, the second?
    fn moves(&self) -> [bool; 3] {
        [self.of == 0, self.of != 2, self.of != 1]
    }

    /// All builds in the pose `seen` at joint turns of these (sin, cos), where `shares` are what each size does to either rod.
    fn moved(
        &self,
        joints: [(Interval, Interval); 2],
        seen: &Seen,
        shares: &[Shares<Interval>; 2],
    ) -> Option<MovedBySizes> {
        let [_, legs @ ..] = self.moves();
        let first = if self.of == 0 { TURNS } else { SHARED };
        let sloped = |value: Interval, rod: usize, of: fn(&Share<Interval>) -> Interval| {
            let own = one_of(shares.each_ref(), rod).iter().skip(first);
            let mut jet = Jet::constant(value);
            for ((slope, share), reach) in jet.slopes.iter_mut().zip(own).zip(self.reach) {
                *slope = if one_of(legs, rod) && reach > 0.0 { of(share) } else { Interval::ZERO };
            }
            jet
        };
        let [one, two] = seen.motors;
        let motors = [sloped(one, 0, |share| share.motor), sloped(two, 1, |share| share.motor)];
        let joints = joints.map(|(sine, cosine)| (Jet::constant(sine), Jet::constant(cosine)));
        let mut pose = self.sized.posed(joints, motors)?;
        for (rod, (row, [p, r])) in pose.jacobian.iter_mut().zip(seen.pose.jacobian).enumerate() {
            *row = [sloped(p, rod, |share| share.rates[0]), sloped(r, rod, |share| share.rates[1])];
        }
        let over = TwoRodsOver { built: self.sized.built, joints, pose };
        Some(MovedBySizes { over, reach: self.reach, moves: self.moves() })
    }
}
