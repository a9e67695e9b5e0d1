//! The largest value of a claim over all builds and joint turns: best-first subdivision of the turns.
//!
//! Over a range of turns every size in whose direction the claim certainly rises or falls is moved to that end; those that are
//! left stand in the middle and are allowed for by slope × distance. What is left depends on the turn alone: the value at an end
//! where it certainly rises or falls, else Taylor's form of second order about the middle. A size is halved only where more of
//! the bound is allowed for it than the turns blur. Ranges of turns are the same for every claim, so that what is known of all
//! builds over one is worked out once.
//!
//! # Source
//! As [`crate::numeric::search`].

use std::cell::{OnceCell, RefCell};
use std::collections::BinaryHeap;
use std::rc::Rc;

use super::claims::{Batch, Claim, Look, Read};
use super::question::SizeRanges;
use super::stage::Turns;
use crate::numeric::Interval;
use crate::numeric::ranked::Ranked;
use crate::numeric::search::{Effort, rise};

/// What claims on one rod share: all of its builds, over every range of turns that was looked at.
#[derive(Clone, Debug, Default)]
pub(super) struct Shared {
    all: OnceCell<Option<Rc<Batch>>>,
    looks: RefCell<Vec<(Interval, Option<Rc<Look>>)>>,
}

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

/// What is known of one build over a range of turns.
struct Along {
    /// The claim is not above this.
    upper: f64,
    /// A value of it.
    seen: f64,
    /// Turns to look at.
    at: [f64; 2],
}

/// Sizes whose slope has no certain sign.
struct Rest {
    /// All sizes, these at the middle of their ranges.
    middle: Vec<Interval>,
    /// These at the end towards which the claim more likely rises.
    uphill: Vec<f64>,
    /// The most that the claim may be above that in the middle for them.
    upper: f64,
    /// The one for which most of that is allowed.
    most: Option<usize>,
}

impl Rest {
    fn of(batch: &Batch, slopes: &[Interval]) -> Self {
        let mut rest = Self {
            middle: batch.sizes.clone(),
            uphill: batch.sizes.iter().map(|range| range.mid()).collect(),
            upper: 0.0,
            most: None,
        };
        let (mut sum, mut most) = (Interval::ZERO, 0.0);
        for (place, slope) in batch.open().zip(slopes) {
            let (Some(slot), Some(end)) = (rest.middle.get_mut(place), rest.uphill.get_mut(place))
            else {
                continue;
            };
            let range = *slot;
            *slot = Interval::point(range.mid());
            *end = if slope.mid() < 0.0 { range.lo() } else { range.hi() };
            let by = (*slope * (range - *slot)).hi();
            sum = sum + Interval::point(by);
            if by > most {
                (most, rest.most) = (by, Some(place));
            }
        }
        rest.upper = sum.hi();
        rest
    }
}

struct Search<'a> {
    claim: &'a Claim<'a>,
    ranges: &'a SizeRanges,
    typed: Interval,
    effort: &'a Effort,
    shared: &'a Shared,
    batches: Vec<Rc<Batch>>,
    builds: Vec<(Vec<f64>, Option<Read<f64>>)>,
    found: Found,
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
    let (batches, builds) = (Vec::new(), Vec::new());
    let search = Search { claim, ranges, typed: turns.typed, effort, shared, batches, builds, found };
    search.run(turns.all)
}

impl Shared {
    /// All builds; `None` where one may not close.
    fn all(&self, claim: &Claim<'_>, ranges: &SizeRanges) -> Option<Rc<Batch>> {
        let all = || Batch::new(&claim.rod, ranges.all.clone()).map(Rc::new);
        self.all.get_or_init(all).clone()
    }

    fn look(&self, all: &Batch, turns: Interval) -> Option<Rc<Look>> {
        let known = self.looks.borrow().iter().find(|(of, _)| *of == turns).map(|(_, l)| l.clone());
        known.unwrap_or_else(|| {
            let look = all.look(turns).map(Rc::new);
            self.looks.borrow_mut().push((turns, look.clone()));
            look
        })
    }
}

impl Search<'_> {
    fn run(mut self, turns: Interval) -> Found {
        let Some(all) = self.shared.all(self.claim, self.ranges) else {
            self.look_at(&self.found.sizes.clone(), turns.mid());
            return self.found;
        };
        let mut heap = BinaryHeap::from([self.piece(turns, all, f64::INFINITY)]);
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
        eprintln!("DBG {:?} side {} boxes {} upper {} lower {} joint {} batches {} sizesplits {}", self.claim.figure, self.claim.side, self.found.boxes, self.found.upper, self.found.lower, self.found.joint, self.batches.len(), heap.iter().filter(|p| p.of.split.is_some()).count());
        self.found
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
        let all = self.shared.all(self.claim, self.ranges)?;
        if Rc::ptr_eq(&all, batch) {
            self.shared.look(batch, turns)
        } else {
            batch.look(turns).map(Rc::new)
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
        if self.is_enough(direct) {
            return Some(Bound { upper: direct, split: None });
        }
        let mut slopes = claim.slopes(batch, &look)?;
        while let Some(sizes) = moved(batch, &slopes) {
            *batch = self.batch(sizes)?;
            look = batch.look(turns).map(Rc::new)?;
            slopes = claim.slopes(batch, &look)?;
        }
        if slopes.iter().any(|slope| !slope.width().is_finite()) {
            return None;
        }
        let rest = Rest::of(batch, &slopes);
        let one = if batch.open().next().is_some() {
            let one = self.batch(rest.middle.clone())?;
            look = one.look(turns).map(Rc::new)?;
            one
        } else {
            batch.clone()
        };
        let along = self.along(turns, &one, &look)?;
        for joint in along.at {
            self.look_at(&rest.uphill, joint);
        }
        let upper = (Interval::point(along.upper) + Interval::point(rest.upper)).hi().min(direct);
        let is_rest = rest.upper > along.upper - along.seen;
        let split = rest.most.filter(|_| is_rest && !self.is_enough(upper));
        // A slope's sign may be open for the turns' sake alone.
        let split = split.filter(|_| {
            let at = batch.look(Interval::point(turns.mid()));
            let slopes = at.and_then(|look| claim.slopes(batch, &look));
            slopes.is_some_and(|slopes| Rest::of(batch, &slopes).upper > 0.5 * rest.upper)
        });
        Some(Bound { upper, split })
    }

    fn is_enough(&self, upper: f64) -> bool {
        self.found.lower > f64::NEG_INFINITY && self.effort.is_enough(upper, self.found.lower)
    }

    /// The most that the claim can be for one build over `turns`.
    fn along(&self, turns: Interval, one: &Batch, look: &Look) -> Option<Along> {
        let claim = self.claim;
        let slope = claim.turn_slope(look)?;
        let end = if slope.lo() >= 0.0 {
            Some(turns.hi())
        } else if slope.hi() <= 0.0 {
            Some(turns.lo())
        } else {
            None
        };
        let middle = turns.mid();
        let at = end.unwrap_or(middle);
        let value = claim.at_turn(one, at)?;
        if end.is_some() {
            return Some(Along { upper: value.hi(), seen: value.mid(), at: [at; 2] });
        }
        let uphill = if slope.mid() > 0.0 { turns.hi() } else { turns.lo() };
        let away = turns - Interval::point(at);
        let mut upper = (value + slope * away).hi();
        if let Some(bend) = claim.turn_bend(look).filter(|bend| bend.width().is_finite())
            && let Some(here) = one.look(Interval::point(at))
        {
            let slope = claim.turn_slope(&here)?;
            let most = rise(slope.magnitude(), bend.hi(), away.magnitude());
            upper = upper.min((value + Interval::point(most)).hi());
        }
        (!upper.is_nan()).then_some(Along { upper, seen: value.mid(), at: [at, uphill] })
    }

    /// The plain value of a build at a joint turn; both are drawn into what was typed.
    fn look_at(&mut self, sizes: &[f64], joint: f64) {
        let inside = sizes.iter().zip(&self.ranges.typed);
        let sizes: Vec<f64> = inside.map(|(x, range)| x.clamp(range.lo(), range.hi())).collect();
        let joint = joint.clamp(self.typed.lo(), self.typed.hi());
        let known = self.builds.iter().find(|(of, _)| *of == sizes).map(|(_, build)| *build);
        let build = known.unwrap_or_else(|| {
            let build = self.claim.rod.read(&sizes);
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

fn middles(sizes: &[Interval]) -> Vec<f64> {
    sizes.iter().map(|range| range.mid()).collect()
}

/// The sizes of a batch, each with a certain sign of slope at its upper-value end; `None` where there is none.
fn moved(batch: &Batch, slopes: &[Interval]) -> Option<Vec<Interval>> {
    let (mut sizes, mut is_moved) = (batch.sizes.clone(), false);
    for (place, slope) in batch.open().zip(slopes) {
        let range = sizes.get_mut(place)?;
        let end = if slope.lo() >= 0.0 {
            range.hi()
        } else if slope.hi() <= 0.0 {
            range.lo()
        } else {
            continue;
        };
        (*range, is_moved) = (Interval::point(end), true);
    }
    is_moved.then_some(sizes)
}
