//! The largest value of a claim over all builds and joint turns: best-first subdivision of the turns.
//!
//! Between two turns a claim is no further above the larger of both than its curvature lets it arch. Where the most it can be at
//! an end is too much, every size in whose direction the claim certainly rises or falls is moved to that end; those that are
//! left stand in the middle and are allowed for by slope × distance. What is left depends on the turn alone: the value at an end
//! where it certainly rises or falls, else Taylor's form of second order about the middle. A size is halved only where more of
//! the bound is allowed for it than the turns blur. Ranges of turns are the same for every claim, so that what is known of all
//! builds over one is worked out once.
//!
//! # Source
//! As [`crate::numeric::search`].

use std::collections::{BinaryHeap, HashMap};
use std::rc::Rc;

use super::claims::{Batch, Claim, Look, Read, Turns};
use super::part::Part;
use super::question::SizeRanges;
use super::rest::{Rest, end_of, middles, moved};
use super::shared::Shared;
use crate::numeric::Interval;
use crate::numeric::ranked::Ranked;
use crate::numeric::search::{Effort, by_curvatures};

/// What a search found.
pub(super) struct Found {
    /// The claim is certainly nowhere above this; infinite where nothing is certain.
    pub(super) upper: f64,
    /// The largest value seen, and where.
    pub(super) lower: f64,
    pub(super) sizes: Vec<f64>,
    pub(super) joint: f64,
    pub(super) boxes: u32,
}

/// Some builds over a range of turns.
struct Piece {
    turns: Interval,
    batch: Rc<Batch>,
    /// What to halve: a size by its place, else the turns.
    split: Option<usize>,
}

/// A bound with what it is made of.
struct Bound {
    upper: f64,
    split: Option<usize>,
}

/// What is known of a batch at one joint turn.
struct AtPoint {
    here: Rc<Look>,
    rest: Rest,
    /// Of an angle error, its slope by the turn in the rest's anchor.
    own: Option<Interval>,
    /// The claim is not above this.
    upper: f64,
}

/// What is known of a batch over a range of turns.
struct Along {
    /// The claim is not above this,
    upper: f64,
    /// of which so much is for sizes and for turns that neither certainly raise nor lower it.
    by_sizes: f64,
    by_turns: f64,
    /// The size for which most is.
    most: Option<usize>,
}

/// A box of sizes of which it is not shown that all builds close is halved so often.
const PARTS: u32 = 4;

/// Curvatures are worth what they take where as much as this share of what the turns blur is for sizes.
const SIZES_MATTER: f64 = 0.3;

/// Over a larger share of the turns than this slopes tell nothing.
const COARSE: f64 = 0.13;

/// So much of what turns blur is gone over half of them.
const HALVED: f64 = 0.5;

/// Where second order is of no use over some turns, it is not tried over more than this share of them.
const STILL_TOO_WIDE: f64 = 0.75;

struct Search<'a> {
    claim: &'a Claim<'a>,
    ranges: &'a SizeRanges,
    typed: Interval,
    effort: &'a Effort,
    shared: &'a Shared,
    batches: Vec<Rc<Batch>>,
    builds: Vec<(Vec<f64>, Option<Read<f64>>)>,
    anchors: Vec<(Vec<Interval>, Option<Read<Interval>>)>,
    /// Joint turns with the most that the claim can be there in any build.
    ends: HashMap<u64, Option<f64>>,
    found: Found,
    /// Second order by the sizes was of no use over turns wider than this.
    bent_up_to: f64,
    /// Over turns wider than this only what all builds share is looked at.
    coarse: f64,
}

/// The largest value of `claim` over `turns` and all builds of `ranges`.
pub(super) fn largest(
    claim: &Claim<'_>,
    ranges: &SizeRanges,
    turns: Turns,
    effort: &Effort,
    shared: &Shared,
) -> Found {
    let found = Found {
        upper: f64::INFINITY,
        lower: f64::NEG_INFINITY,
        sizes: ranges.typed.iter().map(|range| range.mid()).collect(),
        joint: turns.typed.mid(),
        boxes: 0,
    };
    let search = Search {
        claim,
        ranges,
        typed: turns.typed,
        effort,
        shared,
        batches: Vec::new(),
        builds: Vec::new(),
        anchors: Vec::new(),
        ends: HashMap::new(),
        found,
        bent_up_to: f64::INFINITY,
        coarse: turns.all.width() * COARSE,
    };
    search.run(turns.all)
}

impl Search<'_> {
    fn run(mut self, turns: Interval) -> Found {
        let whole = self.shared.all(self.claim, self.ranges);
        let Some(first) = whole.map_or_else(
            || self.parts_that_close(self.ranges.all.clone(), PARTS),
            |all| Some(vec![all]),
        ) else {
            self.look_at(&self.found.sizes.clone(), turns.mid());
            return self.found;
        };
        let mut heap = BinaryHeap::new();
        for batch in first {
            heap.push(self.piece(turns, batch, f64::INFINITY));
        }
        while let Some(top) = heap.peek() {
            if self.effort.is_enough(top.bound, self.found.lower)
                || self.found.boxes >= self.effort.boxes
            {
                break;
            }
            let Some(top) = heap.pop() else { break };
            let Some(halves) = self.halves(&top.of) else {
                heap.push(top);
                break;
            };
            for (turns, batch) in halves {
                heap.push(self.piece(turns, batch, top.bound));
            }
        }
        self.found.upper = heap.peek().map_or(f64::INFINITY, |top| top.bound);
        self.found
    }

    /// Batches that make up a box of sizes of which it was not shown that all builds close; `None` where it is not of parts as
    /// small as that either.
    fn parts_that_close(&self, sizes: Vec<Interval>, halvings: u32) -> Option<Vec<Rc<Batch>>> {
        let width = |(place, range): (usize, &Interval)| {
            (place, *range, range.width() / self.claim.rod.scale(place))
        };
        let widest = sizes.iter().enumerate().map(width).max_by(|a, b| a.2.total_cmp(&b.2));
        let (place, range, _) = widest.filter(|_| halvings > 0)?;
        let mut parts = Vec::new();
        for half in range.halves() {
            let mut sizes = sizes.clone();
            *sizes.get_mut(place)? = half;
            match Batch::new(&self.claim.rod, sizes.clone()) {
                Some(batch) => parts.push(Rc::new(batch)),
                None => parts.extend(self.parts_that_close(sizes, halvings - 1)?),
            }
        }
        Some(parts)
    }

    fn halves(&mut self, piece: &Piece) -> Option<Vec<(Interval, Rc<Batch>)>> {
        let whole = match piece.split {
            Some(place) => *piece.batch.sizes.get(place)?,
            None => piece.turns,
        };
        let middle = whole.mid();
        if middle <= whole.lo() || middle >= whole.hi() {
            return None;
        }
        let part = |half: Interval| match piece.split {
            None => Some((half, piece.batch.clone())),
            Some(place) => {
                let mut sizes = piece.batch.sizes.clone();
                *sizes.get_mut(place)? = half;
                Some((piece.turns, self.batch(sizes)?))
            }
        };
        whole.halves().into_iter().map(part).collect()
    }

    /// The batch of a box of sizes.
    fn batch(&mut self, sizes: Vec<Interval>) -> Option<Rc<Batch>> {
        let known = self.batches.iter().find(|batch| batch.sizes == sizes).cloned();
        known.or_else(|| {
            let batch = Rc::new(Batch::new(&self.claim.rod, sizes)?);
            self.batches.push(batch.clone());
            Some(batch)
        })
    }

    fn look(&self, batch: &Rc<Batch>, turns: Interval) -> Option<Rc<Look>> {
        match self.shared.all(self.claim, self.ranges) {
            Some(all) if Rc::ptr_eq(&all, batch) => self.shared.look(batch, turns),
            _ => batch.look(turns).map(Rc::new),
        }
    }

    /// The piece with its bound, never above the bound of what it is part of.
    fn piece(&mut self, turns: Interval, batch: Rc<Batch>, parent: f64) -> Ranked<Piece> {
        self.found.boxes += 1;
        let mut batch = batch;
        let bound = self.bound(turns, &mut batch, parent).unwrap_or_else(|| {
            let middle = middles(&batch.sizes);
            self.look_at(&middle, turns.mid());
            Bound { upper: parent, split: self.widest(turns, &batch) }
        });
        let piece = Piece { turns, batch, split: bound.split };
        Ranked { bound: bound.upper.min(parent), of: piece }
    }

    /// The bound over `turns`; sizes of the batch in whose direction the claim rises or falls are moved. `None` where nothing is
    /// known.
    fn bound(&mut self, turns: Interval, batch: &mut Rc<Batch>, parent: f64) -> Option<Bound> {
        let claim = self.claim;
        let mut look = self.look(batch, turns)?;
        let direct = claim.over(batch, &look).map_or(f64::INFINITY, Interval::hi).min(parent);
        if self.is_enough(direct) || turns.width() > self.coarse {
            return Some(Bound { upper: direct, split: None });
        }
        if let Some(upper) = self.between_ends(turns, batch, &look) {
            return Some(Bound { upper: upper.min(direct), split: None });
        }
        let (along, slopes) = loop {
            let along = self.along(turns, batch, &look);
            if let Some(along) = along.as_ref().filter(|along| self.is_near(along)) {
                return Some(Bound { upper: along.upper.min(direct), split: None });
            }
            let slopes = claim.slopes(batch, &look)?;
            let Some(sizes) = moved(batch, &slopes) else { break (along?, slopes) };
            *batch = self.batch(sizes)?;
            look = batch.look(turns).map(Rc::new)?;
        };
        let mut bound = Bound { upper: along.upper.min(direct), split: None };
        if self.is_for_turns(&along) {
            return Some(bound);
        }
        if slopes.iter().any(|slope| !slope.width().is_finite()) {
            return None;
        }
        bound.split = along.most.filter(|_| along.by_sizes > along.by_turns);
        if turns.width() > self.bent_up_to {
            return Some(bound);
        }
        let places: Vec<usize> = batch.open().collect();
        let bent = match places.len() {
            0..=1 => self.bent::<2>(turns, batch, &slopes, &places),
            2..=3 => self.bent::<4>(turns, batch, &slopes, &places),
            4 => self.bent::<5>(turns, batch, &slopes, &places),
            5 => self.bent::<6>(turns, batch, &slopes, &places),
            _ => None,
        };
        if let Some((upper, split)) = bent {
            if upper >= along.upper && turns.width() > 0.0 {
                self.bent_up_to = STILL_TOO_WIDE * turns.width();
            }
            bound = Bound { upper: bound.upper.min(upper), split };
        }
        Some(bound)
    }

    /// The bound by both ends of the turns, where what lies between is all that may be above what is close enough: over half of the
    /// turns that is a quarter. Ends and curvatures are those of all builds, which every claim shares.
    fn between_ends(&mut self, turns: Interval, batch: &Rc<Batch>, look: &Look) -> Option<f64> {
        let all = self.shared.all(self.claim, self.ranges)?;
        if !Rc::ptr_eq(&all, batch) || turns.lo() >= turns.hi() {
            return None;
        }
        let width = Interval::point(turns.hi()) - Interval::point(turns.lo());
        let [low, high] = [self.at_end(batch, turns.lo())?, self.at_end(batch, turns.hi())?];
        let (most, arch) = (low.max(high), self.claim.arch(look, width));
        let is_for_turns = arch.is_finite() && self.is_enough(most);
        is_for_turns.then(|| (Interval::point(most) + Interval::point(arch)).hi())
    }

    /// The most that the claim can be in any build of the batch of all at one joint turn.
    fn at_end(&mut self, all: &Rc<Batch>, at: f64) -> Option<f64> {
        if let Some(known) = self.ends.get(&at.to_bits()) {
            return *known;
        }
        let mut upper = self.at_point(all, at).map(|here| here.upper);
        if let Some(slot) = upper.as_mut().filter(|upper| !self.is_enough(**upper)) {
            let closer = self.bound(Interval::point(at), &mut all.clone(), *slot);
            *slot = closer.map_or(*slot, |closer| closer.upper);
        }
        self.ends.insert(at.to_bits(), upper);
        upper
    }

    /// Is the bound close enough, or about to be over half of the turns?
    fn is_near(&self, along: &Along) -> bool {
        self.is_enough(along.upper - HALVED * along.by_turns)
    }

    /// Could the bound be close enough, but for what the turns blur?
    fn is_for_turns(&self, along: &Along) -> bool {
        along.by_sizes <= SIZES_MATTER * along.by_turns
            || self.is_enough(along.upper - along.by_turns)
    }

    /// The bound of second order by all sizes that are open and the turn, with what to halve; sizes that are shown to raise or
    /// lower the claim are moved.
    fn bent<const M: usize>(
        &mut self,
        turns: Interval,
        batch: &mut Rc<Batch>,
        slopes: &[Interval],
        places: &[usize],
    ) -> Option<(f64, Option<usize>)> {
        let claim = self.claim;
        let sizes = batch.sizes.clone();
        let part = Part { claim, sizes: &sizes, places };
        let (mut domain, mut gradient) = ([Interval::ZERO; M], [Interval::ZERO; M]);
        for ((slot, slope), (place, known)) in
            domain.iter_mut().zip(&mut gradient).zip(places.iter().zip(slopes))
        {
            (*slot, *slope) = (*sizes.get(*place)?, *known);
        }
        *domain.get_mut(places.len())? = turns;
        *gradient.get_mut(places.len())? = Interval::ENTIRE;
        let (upper, gradient) = by_curvatures(&part, &mut domain, &gradient)?;
        let (mut left, mut uphill) = (sizes.clone(), middles(&sizes));
        let mut most = (0.0, None);
        let end = |range: Interval, slope: Interval| {
            if slope.mid() < 0.0 { range.lo() } else { range.hi() }
        };
        for (k, place) in places.iter().enumerate() {
            let (range, slope) = (*domain.get(k)?, *gradient.get(k)?);
            (*left.get_mut(*place)?, *uphill.get_mut(*place)?) = (range, end(range, slope));
            let blur = range.width() * slope.width();
            if blur > most.0 {
                most = (blur, Some(*place));
            }
        }
        let (turns, slope) = (*domain.get(places.len())?, *gradient.get(places.len())?);
        let blur = turns.width() * slope.width();
        if left != sizes {
            *batch = self.batch(left)?;
        }
        self.look_at(&uphill, turns.mid());
        self.look_at(&uphill, end(turns, slope));
        Some((upper, most.1.filter(|_| most.0 > blur)))
    }

    fn is_enough(&self, upper: f64) -> bool {
        self.found.lower > f64::NEG_INFINITY && self.effort.is_enough(upper, self.found.lower)
    }

    /// The most that the claim can be over `turns`: where it certainly rises or falls with the turn in every build, the most at
    /// that end; else the most in the middle and what the turn may add to it.
    fn along(&mut self, turns: Interval, batch: &Rc<Batch>, look: &Look) -> Option<Along> {
        let claim = self.claim;
        let slope = claim.turn_slope(look)?;
        let end = end_of(turns, slope);
        let at = end.unwrap_or_else(|| turns.mid());
        let AtPoint { here, rest, own, upper } = self.at_point(batch, at)?;
        let away = turns - Interval::point(at);
        let by_turns = match end {
            Some(_) => 0.0,
            None => {
                let here = claim.turn_slope_about(batch, &here, (&rest.anchor, own))?;
                claim.turn_rise(here, look, away).min((slope * away).hi())
            }
        };
        if end.is_none() {
            let uphill = if slope.mid() > 0.0 { turns.hi() } else { turns.lo() };
            self.look_at(&rest.uphill, uphill);
        }
        let upper = (Interval::point(upper) + Interval::point(by_turns)).hi();
        let along = Along { upper, by_sizes: rest.upper, by_turns, most: rest.most };
        (!upper.is_nan()).then_some(along)
    }

    /// What is known of a batch at one joint turn; what it most likely is at most is looked at.
    fn at_point(&mut self, batch: &Rc<Batch>, at: f64) -> Option<AtPoint> {
        let here = self.look(batch, Interval::point(at))?;
        let rest = Rest::of(batch, &self.claim.slopes(batch, &here)?);
        let (value, own) = self.value(&rest.anchor, at)?;
        self.look_at(&rest.uphill, at);
        let upper = (value + Interval::point(rest.upper)).hi();
        (!upper.is_nan()).then_some(AtPoint { here, rest, own, upper })
    }

    /// The claim of one build at one joint turn and, of an angle error, its slope by that.
    fn value(&mut self, sizes: &[Interval], at: f64) -> Option<(Interval, Option<Interval>)> {
        let known = self.anchors.iter().find(|(of, _)| of == sizes).map(|(_, read)| *read);
        let read = known.unwrap_or_else(|| {
            let read = self.claim.read(sizes);
            self.anchors.push((sizes.to_vec(), read));
            read
        });
        self.claim.at_turn(&read?, at)
    }

    /// The plain value of a build at a joint turn; both are drawn into what was typed.
    fn look_at(&mut self, sizes: &[f64], joint: f64) {
        let inside = sizes.iter().zip(&self.ranges.typed);
        let sizes: Vec<f64> = inside.map(|(x, range)| x.clamp(range.lo(), range.hi())).collect();
        let joint = joint.clamp(self.typed.lo(), self.typed.hi());
        let known = self.builds.iter().find(|(of, _)| *of == sizes).map(|(_, build)| *build);
        let build = known.unwrap_or_else(|| {
            let build = self.claim.read(&sizes);
            self.builds.push((sizes.clone(), build));
            build
        });
        let value = build.and_then(|build| self.claim.at(&build, joint));
        if let Some(value) = value.filter(|value| value.is_finite() && *value > self.found.lower) {
            (self.found.lower, self.found.joint, self.found.sizes) = (value, joint, sizes);
        }
    }

    /// The size with the widest range on its scale; `None` where the turns are wider.
    fn widest(&self, turns: Interval, batch: &Batch) -> Option<usize> {
        let scaled = |place: usize| {
            let width = batch.sizes.get(place).map_or(0.0, |range| range.width());
            (place, width / self.claim.rod.scale(place))
        };
        let widest = batch.open().map(scaled).max_by(|a, b| a.1.total_cmp(&b.1))?;
        (widest.1 > turns.width()).then_some(widest.0)
    }
}
