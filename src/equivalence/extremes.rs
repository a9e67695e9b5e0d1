//! How far it still holds: the largest tolerance and the largest stroke, each proved.
//!
//! Where it stops holding is first told from points, the worst corner of the box in each of many poses; no proof can
//! reach beyond that. A proof just short of it then settles the matter, and where it meets a worse point instead, that
//! one joins the others. So a proof is seldom needed twice.

use std::f64::consts::TAU;

use crate::linkage::Branch;
use crate::numeric::Interval;

use super::advice::LengthName;
use super::family::Family;
use super::outcome::Outcome;
use super::proof::Prover;
use super::suspects::Suspect;

/// Proofs are tried this share short of where points show that it fails.
const SHORT_OF: f64 = 0.003;

/// What is tried next, as a share, where a proof met no worse point and still did not succeed.
const LESS: [f64; 12] = [0.99, 0.99, 0.98, 0.97, 0.95, 0.9, 0.8, 0.7, 0.5, 0.3, 0.1, 0.01];

/// The largest tolerance ± on every length (one figure for all, in the unit of the lengths) with which all criteria are
/// proved over the motor turns `turns`; `None` where they are not even without any.
///
/// What is returned was proved, and lies within 1 % of the truth where the first proof succeeds, which it nearly always
/// does.
#[must_use]
pub fn largest_tolerance(
    prover: &Prover<'_>,
    branch: &Branch,
    crank_error: Interval,
    turns: [f64; 2],
) -> Option<f64> {
    let bars = branch.bars();
    let shortest = bars.ground.min(bars.crank).min(bars.coupler).min(bars.rocker);
    let family = |tolerance: f64| Family::symmetric(bars, tolerance, crank_error);
    largest_half_width(prover, shortest, turns, family)
}

/// The largest tolerance ± on `length` alone, the others as in `family`; `None` where they already are too much.
#[must_use]
pub fn largest_alone(
    prover: &Prover<'_>,
    branch: &Branch,
    family: &Family,
    length: LengthName,
    turns: [f64; 2],
) -> Option<f64> {
    let bars = branch.bars();
    let family = |tolerance: f64| family.with_length(length, bars, tolerance);
    largest_half_width(prover, length.of(bars), turns, family)
}

/// The largest half width up to half of `size` with which `family` is proved.
fn largest_half_width(
    prover: &Prover<'_>,
    size: f64,
    turns: [f64; 2],
    family: impl Fn(f64) -> Family,
) -> Option<f64> {
    let mut suspects = prover.suspects(&family(1e-4 * size), turns);
    let breaks = |suspects: &[Suspect], t: f64| prover.breaks(&family(t), turns, suspects);
    let (mut most, mut less) = (0.5 * size, LESS.into_iter());
    if !breaks(&suspects, 0.0) {
        for _ in 0..2 * LESS.len() {
            let end = last_holding(|t| !breaks(&suspects, t), most);
            let trial = if end < most { end * (1.0 - SHORT_OF) } else { most };
            match prover.decide_or_suspect(&family(trial), turns) {
                // What only the slack of the limits allows is none.
                Ok(()) => return Some(if trial > 1e-9 * size { trial } else { 0.0 }),
                Err(Some(worse)) if trial < most => {
                    suspects.push(worse);
                    most = trial;
                }
                Err(_) => most = trial * less.next()?,
            }
        }
    }
    (prover.decide(&family(0.0), turns) == Outcome::Holds).then_some(0.0)
}

/// The largest x up to `high` for which `holds`, to a thousandth, given that it holds at 0 and fails but once.
fn last_holding(holds: impl Fn(f64) -> bool, high: f64) -> f64 {
    if holds(high) {
        return high;
    }
    let (mut low, mut high) = (high / 4.0, high);
    while low > 1e-12 * high && !holds(low) {
        (low, high) = (low / 4.0, low);
    }
    while high - low > 1e-3 * high {
        let middle = 0.5 * (low + high);
        if holds(middle) { low = middle } else { high = middle }
    }
    low
}

/// The largest range of motor turns over which all criteria are proved for `family`, each end by itself; may be longer
/// than `turns`. `None` where not even a thousandth of it is proved.
///
/// Where `turns` holds: the lower end pushed as far as it goes with the upper as it is, and the upper with the lower as
/// it is. Criteria are about one pose at a time, so that both ends together hold too. Where it does not: from the pose
/// of it nearest to the zero pose outward, each way by itself and no further than `turns`. The direct joint stays the
/// one that the prover holds.
#[must_use]
pub fn largest_stroke(
    prover: &Prover<'_>,
    branch: &Branch,
    family: &Family,
    turns: [f64; 2],
) -> Option<[f64; 2]> {
    let [from, to] = turns;
    let reach = Reach { prover, family, width: to - from };
    let holds = |turns: [f64; 2]| prover.decide(family, turns) == Outcome::Holds;
    if holds(turns) {
        let below = branch.below.map_or(to - TAU, |b| b.turn).max(to - TAU);
        let above = branch.above.map_or(from + TAU, |b| b.turn).min(from + TAU);
        return Some([reach.end(from, below.min(from)), reach.end(to, above.max(to))]);
    }
    let centre = 0.0_f64.clamp(from, to);
    let start = [from, to].map(|end| centre + 1e-3 * (end - centre));
    holds(start).then(|| [reach.end(start[0], from), reach.end(start[1], to)])
}

/// How far one end of a proved stroke can go.
struct Reach<'a> {
    prover: &'a Prover<'a>,
    family: &'a Family,
    width: f64,
}

/// Poses looked at between a proved end and the farthest that it may go.
const POSES: u32 = 32;

impl Reach<'_> {
    /// From the proved turn `proved` towards `farthest`, to a few thousandths of the stroke.
    fn end(&self, proved: f64, farthest: f64) -> f64 {
        let near = 1e-3 * self.width;
        let (mut suspects, mut less) = (Vec::new(), LESS.into_iter());
        let mut goal = farthest;
        for _ in 0..2 * LESS.len() {
            let broken = self.first_broken(proved, goal, &suspects);
            let trial = broken.map_or(goal, |turn| turn - near.copysign(turn - proved));
            if (trial - proved) * (farthest - proved) <= 0.0 {
                break;
            }
            let piece = [proved.min(trial), proved.max(trial)];
            match self.prover.decide_or_suspect(self.family, piece) {
                Ok(()) => return trial,
                Err(Some(worse)) if (worse.turn - trial).abs() > 0.1 * near => {
                    goal = worse.turn;
                    suspects.push(worse);
                }
                Err(_) => {
                    let Some(share) = less.next() else { break };
                    goal = proved + share * (trial - proved);
                }
            }
        }
        proved
    }

    /// The first pose on the way to `farthest` that points show to break a limit, to a part of a thousandth of the
    /// stroke.
    fn first_broken(&self, proved: f64, farthest: f64, known: &[Suspect]) -> Option<f64> {
        let way = farthest - proved;
        let at = |k: u32| proved + way * (f64::from(k) / f64::from(POSES));
        let first = (1..=POSES).find(|k| self.breaks(at(*k), known))?;
        let (mut low, mut high) = (at(first - 1), at(first));
        while (high - low).abs() > 2e-4 * self.width {
            let middle = 0.5 * (low + high);
            if self.breaks(middle, known) { high = middle } else { low = middle }
        }
        Some(high)
    }

    fn breaks(&self, turn: f64, known: &[Suspect]) -> bool {
        let mut suspects = self.prover.suspects(self.family, [turn; 2]);
        suspects.extend(known.iter().map(|suspect| Suspect { turn, ..*suspect }));
        self.prover.breaks(self.family, [turn; 2], &suspects)
    }
}
