//! How far it still holds: the largest part of a region, proved, and a map of the whole.

use std::collections::BinaryHeap;

use super::super::finding::Aim;
use super::super::outcome::Outcome;
use super::builds_over::{AllBuilds, Clear, Place};
use super::figures::{Plain, drawn_peaks};
use super::first_cut::{FirstCut, first_cut};
use super::piece::{Looked, Start};
use super::question::RegionQuestion;
use super::search::{Search, UNKNOWN};
use super::values::{Figure, Setting, Sizes};
use crate::numeric::{Interval, Ranked, evenly};

/// The largest parts of a region over which all criteria of the motion are proved, with the same T and every build.
#[derive(Clone, Debug)]
pub struct LargestRegion {
    /// Pitch as asked, roll as far as it holds; `None` where it holds nowhere.
    pub roll: Option<[[f64; 2]; 2]>,
    /// Both in the same share.
    pub both: Option<[[f64; 2]; 2]>,
}

/// A rectangle of a map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MapCell {
    /// Pitch and roll, each ascending, rad.
    pub turns: [[f64; 2]; 2],
    /// Do all criteria of the motion hold there?
    pub outcome: Outcome,
}

/// Rectangles to look at for one part, and for one cell of a map.
const FOR_PART: u32 = 1000;
const FOR_CELL: u32 = 12;

/// Pieces of each side of a map.
const OF_MAP: u32 = 16;

/// A part is told to this share of the region.
const CLOSE: f64 = 0.004;

/// Parts of the region over which it is tried in turn whether every build reaches.
const SHARES: [f64; 8] = [1.0, 0.9, 0.8, 0.65, 0.5, 0.35, 0.2, 0.1];

/// Which joint turns are scaled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Scaled {
    Roll,
    Both,
}

/// How far it would still hold; `None` where T has no inverse, or the drawn drive cannot be followed to every pose.
#[must_use]
pub fn largest_region(question: &RegionQuestion<'_>) -> Option<LargestRegion> {
    let setting = Setting::of(question)?;
    drawn_peaks(&setting)?;
    let builds = AllBuilds::of(&setting);
    let part = |scaled: Scaled| {
        let share = largest_share(&setting, builds.as_ref()?, scaled);
        (share > 0.0).then(|| part(question.turns, scaled, share))
    };
    Some(LargestRegion { roll: part(Scaled::Roll), both: part(Scaled::Both) })
}

/// The region in cells, each with what could be shown of it; none where it is not clear that every build reaches all of it.
#[must_use]
pub fn region_map(question: &RegionQuestion<'_>) -> Vec<MapCell> {
    let Some(setting) = Setting::of(question) else { return Vec::new() };
    AllBuilds::of(&setting).map_or_else(Vec::new, |builds| cells(&setting, &builds))
}

/// Where a range is scaled from: its zero pose, or the end nearest to it.
fn centre([from, to]: [f64; 2]) -> f64 {
    0.0_f64.clamp(from, to)
}

fn part([pitch, roll]: [[f64; 2]; 2], scaled: Scaled, share: f64) -> [[f64; 2]; 2] {
    let scale = |range: [f64; 2]| {
        let centre = centre(range);
        range.map(|end| centre + (end - centre) * share)
    };
    [if scaled == Scaled::Both { scale(pitch) } else { pitch }, scale(roll)]
}

/// The share of a region in which a rectangle first lies.
fn first_share(question: &RegionQuestion<'_>, scaled: Scaled, turns: [Interval; 2]) -> f64 {
    let share = |range: [f64; 2], turns: Interval| {
        let centre = centre(range);
        let [below, above] = range.map(|end| (end - centre).abs());
        let off = turns - Interval::point(centre);
        let (away, reach) = if off.mid() < 0.0 { (-off.hi(), below) } else { (off.lo(), above) };
        if away > 0.0 && reach > 0.0 { (away / reach).min(1.0) } else { 0.0 }
    };
    let ([pitch, roll], [by_pitch, by_roll]) = (question.turns, turns);
    let of_roll = share(roll, by_roll);
    if scaled == Scaled::Both { share(pitch, by_pitch).max(of_roll) } else { of_roll }
}

/// Rectangles that are not within their limits, the one that lies in the smallest share first.
struct Shares<'a> {
    search: Search<'a>,
    scaled: Scaled,
    /// Below it all is within the limits, but for what is open.
    reached: f64,
    open: BinaryHeap<Ranked<(f64, [Start; 2])>>,
}

impl Shares<'_> {
    fn look(&mut self, clear: &Clear, middle: &Place, known: &Sizes) {
        let question = self.search.setting.question;
        let first = first_share(question, self.scaled, clear.turns);
        if first >= self.reached {
            return;
        }
        match self.search.bounds(clear, middle, known) {
            Some(looked) if self.search.is_within(&looked.upper) => {}
            Some(Looked { halves: Some(halves), .. }) if first < self.reached => {
                let of = (size(question, clear.turns), halves);
                self.open.push(Ranked { bound: -first, of });
            }
            _ => self.reached = self.reached.min(first),
        }
    }

    fn run(mut self, builds: &AllBuilds<'_>) -> f64 {
        while let Some(Ranked { bound, of: (size, halves) }) = self.open.pop() {
            let first = -bound;
            if first >= self.reached {
                break;
            }
            if size < CLOSE || self.search.found.boxes >= FOR_PART {
                self.reached = first;
                break;
            }
            for half in halves {
                match builds.clear(half.turns) {
                    Some(clear) => self.look(&clear, &half.middle, &half.known),
                    None => self.reached = self.reached.min(first),
                }
            }
        }
        // Its own edge belongs to what is open.
        self.reached * (1.0 - 1e-9)
    }
}

fn largest_share(setting: &Setting<'_>, builds: &AllBuilds<'_>, scaled: Scaled) -> f64 {
    let turns = setting.question.turns;
    let Some(most) = broken_share(setting, scaled) else { return 0.0 };
    let mut search = Search::new(setting, Some(builds), Aim::Decide);
    let first = SHARES.into_iter().find_map(|share| {
        let share = share * most;
        Some((share, search.cut(part(turns, scaled, share))?))
    });
    let Some((reached, cut)) = first else { return 0.0 };
    let mut shares = Shares { search, scaled, reached, open: BinaryHeap::new() };
    for (clear, middle) in &cut.inside {
        shares.look(clear, middle, &UNKNOWN);
    }
    shares.run(builds)
}

/// Poses along each side of a part that are looked at, and how often its share is halved.
const ALONG: u32 = 16;
const HALVINGS: u32 = 9;

/// A share of the region in which the drawn drive breaks a limit, near the smallest: more cannot hold. `None` where already the
/// smallest part breaks one; 1 where none was seen to.
fn broken_share(setting: &Setting<'_>, scaled: Scaled) -> Option<f64> {
    let plain = Plain::of(setting, &setting.drawn_sizes())?;
    let limits = Figure::ALL.map(|figure| figure.limit(&setting.question.limits));
    let mut turns = [0.0; 2];
    let mut breaks = |joints: [f64; 2]| {
        let Some(seen) = plain.seen(joints, turns) else { return true };
        turns = seen.turns;
        let mut all = Figure::ALL.iter().zip(&limits);
        all.any(|(figure, limit)| limit.is_some_and(|[_, most]| figure.size(&seen.values) > most))
    };
    let mut is_broken = |share: f64| {
        let [[p, q], [r, s]] = part(setting.question.turns, scaled, share);
        let sides = [[[p, q], [r, r]], [[q, q], [r, s]], [[q, p], [s, s]], [[p, p], [s, r]]];
        let mut poses = sides.into_iter().flat_map(|[pitch, roll]| {
            evenly(pitch, ALONG).zip(evenly(roll, ALONG)).map(|(p, r)| [p, r])
        });
        poses.any(&mut breaks)
    };
    if is_broken(0.0) {
        return None;
    }
    let (mut holds, mut broken) = (0.0, 1.0);
    if !is_broken(1.0) {
        return Some(1.0);
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (holds + broken);
        if is_broken(middle) { broken = middle } else { holds = middle }
    }
    Some(broken)
}

/// The wider side of a rectangle, as a share of the region's.
fn size(question: &RegionQuestion<'_>, turns: [Interval; 2]) -> f64 {
    let each = question
        .turns
        .iter()
        .zip(turns)
        .map(|([from, to], turns)| if to > from { turns.width() / (to - from) } else { 0.0 });
    each.fold(0.0, f64::max)
}

fn cells(setting: &Setting<'_>, builds: &AllBuilds<'_>) -> Vec<MapCell> {
    let question = setting.question;
    let Ok(cut) = first_cut(builds, question.turns, OF_MAP, 0) else { return Vec::new() };
    let cell = |(clear, middle): (Clear, Place)| {
        let turns = clear.turns;
        let search = Search::new(setting, Some(builds), Aim::Decide).at_most(FOR_CELL);
        let outcome = search.decide(FirstCut { inside: vec![(clear, middle)] });
        let ends = |turn: Interval, [from, to]: [f64; 2]| {
            [turn.lo().clamp(from, to), turn.hi().clamp(from, to)]
        };
        let ([pitch, roll], [by_pitch, by_roll]) = (question.turns, turns);
        MapCell { turns: [ends(by_pitch, pitch), ends(by_roll, roll)], outcome }
    };
    cut.inside.into_iter().map(cell).collect()
}
