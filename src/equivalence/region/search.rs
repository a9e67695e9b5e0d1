//! Rectangles of poses, halved until every figure is bounded or decided; builds that are worst, looked at on the way.

use std::collections::BinaryHeap;

use super::super::finding::{Aim, DOUBT};
use super::super::outcome::Outcome;
use super::builds_over::{AllBuilds, Clear, Place, places};
use super::certain::{breaks, does_not_reach};
use super::figures::{Peaks, Plain};
use super::first_cut::{FirstCut, Unclear, first_cut};
use super::piece::{Looked, Over};
use super::question::RegionWitness;
use super::values::{FIGURES, Figure, Setting, Sizes, Values};
use crate::numeric::{Interval, Ranked, Scalar as _};

/// Rectangles to look at before giving up, and before bounds are left as they are.
const MOST: u32 = 5000;
const FOR_BOUNDS: u32 = 1000;

/// A bound is at most this much above the worst seen, as a share of it, and no closer than this share of the limit.
const TIGHT: f64 = 0.02;
const SMALL: f64 = 0.005;

/// The same of what is told and not judged.
const ROUGHLY: [f64; 2] = [0.05, 0.02];

/// Pieces of each side of the region that its poses are first cut into, and how often one that is not clear is quartered.
const PIECES: u32 = 8;
const QUARTERINGS: u32 = 2;

/// The worst seen of a figure.
#[derive(Clone, Debug)]
pub(super) struct Worst {
    /// How bad.
    pub(super) size: f64,
    pub(super) sizes: Vec<f64>,
    pub(super) joints: [f64; 2],
    /// Is the limit certainly broken there?
    pub(super) is_broken: bool,
}

/// What was found out about a region.
#[derive(Clone, Debug)]
pub(super) struct Found {
    /// Does every build reach every pose, from the zero pose on, and pass no stop?
    pub(super) assembly: Outcome,
    /// Every rod reaches, but an actuator was not shown to stay within its lengths.
    pub(super) is_beyond_lengths: bool,
    /// Certain bounds, in the order of [`Figure::ALL`]; infinite where nothing is certain.
    pub(super) upper: Sizes,
    pub(super) worst: Vec<Option<Worst>>,
    /// A build that does not reach, and where.
    pub(super) lost: Option<RegionWitness>,
    pub(super) boxes: u32,
}

/// The search over one region.
pub(super) struct Search<'a> {
    pub(super) setting: &'a Setting<'a>,
    builds: Option<&'a AllBuilds<'a>>,
    aim: Aim,
    limits: [Option<[f64; 2]>; FIGURES],
    most: u32,
    asked: Asked,
    /// Figures of which no closer bound is looked for.
    settled: [bool; FIGURES],
    pub(super) found: Found,
}

/// Of which figures close bounds are asked for; all others are left as they come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Asked {
    /// Of those that are judged.
    Criteria,
    /// Of the entries of E, which are told and not judged.
    Entries,
}

/// A rectangle that waits to be halved.
struct Waiting {
    looked: Looked,
    /// How often in a row halving has gained little.
    stalled: u32,
}

/// A half that gains less than this share of what is needed gains little; after so many in a row tolerances alone are in the
/// way, and only poses are halved.
const LITTLE: f64 = 0.04;
const STALLED: u32 = 6;

impl<'a> Search<'a> {
    pub(super) fn new(
        setting: &'a Setting<'a>,
        builds: Option<&'a AllBuilds<'a>>,
        aim: Aim,
    ) -> Self {
        let limits = Figure::ALL.map(|figure| figure.limit(&setting.question.limits));
        let found = Found {
            assembly: Outcome::Undecided,
            is_beyond_lengths: false,
            upper: [f64::INFINITY; FIGURES],
            worst: vec![None; FIGURES],
            lost: None,
            boxes: 0,
        };
        let settled = [false; FIGURES];
        Self { setting, builds, aim, limits, most: MOST, asked: Asked::Criteria, settled, found }
    }

    /// The same with close bounds of what is `asked`.
    pub(super) fn asked(self, asked: Asked) -> Self {
        Self { asked, ..self }
    }

    /// No closer bound is asked for.
    fn is_left(&self, figure: Figure) -> bool {
        (self.asked == Asked::Entries) != matches!(figure, Figure::Rate(..))
    }

    /// The same with so many rectangles at most.
    pub(super) fn at_most(self, most: u32) -> Self {
        Self { most, ..self }
    }

    /// Over the joint turns `turns`, beginning with builds near the drawn one's worst poses.
    pub(super) fn run(mut self, turns: [[f64; 2]; 2], peaks: &Peaks) -> Found {
        self.walk(turns, peaks);
        self.found
    }

    /// Do all limits hold over the joint turns `turns`?
    pub(super) fn outcome(mut self, turns: [[f64; 2]; 2], peaks: &Peaks) -> Outcome {
        self.walk(turns, peaks);
        self.answer()
    }

    /// Do all limits hold over these rectangles, which every build reaches?
    pub(super) fn decide(mut self, cut: FirstCut) -> Outcome {
        self.refine(cut);
        self.answer()
    }

    fn walk(&mut self, turns: [[f64; 2]; 2], peaks: &Peaks) {
        self.look_at_drawn(peaks);
        if !self.is_lost()
            && let Some(cut) = self.cut(turns)
        {
            self.refine(cut);
        }
    }

    fn answer(&self) -> Outcome {
        if self.is_lost() {
            Outcome::Fails
        } else if self.found.assembly == Outcome::Holds && !self.is_within(&self.found.upper) {
            Outcome::Undecided
        } else {
            self.found.assembly
        }
    }

    /// The answer is no, and no more is asked.
    fn is_lost(&self) -> bool {
        self.aim == Aim::Decide && self.found.worst.iter().flatten().any(|worst| worst.is_broken)
    }

    /// The first cut.
    pub(super) fn cut(&mut self, turns: [[f64; 2]; 2]) -> Option<FirstCut> {
        let builds = self.builds?;
        match first_cut(builds, turns, PIECES, QUARTERINGS) {
            Ok(cut) => return Some(cut),
            Err(unclear) => self.found.is_beyond_lengths = unclear == Unclear::Length,
        }
        self.found.lost = self.lost_at_corners(turns);
        if self.found.lost.is_some() {
            self.found.assembly = Outcome::Fails;
        }
        None
    }

    /// Halves rectangles that every build reaches.
    pub(super) fn refine(&mut self, cut: FirstCut) {
        self.found.assembly = Outcome::Holds;
        let mut heap: BinaryHeap<Ranked<Waiting>> = BinaryHeap::new();
        let mut done = [f64::NEG_INFINITY; FIGURES];
        for (clear, middle) in &cut.inside {
            match self.look(clear, middle, &UNKNOWN) {
                Some(looked) => {
                    self.keep(Waiting { looked, stalled: 0 }, &mut heap, &mut done);
                }
                None => done = [f64::INFINITY; FIGURES],
            }
        }
        while let Some(Ranked { of: Waiting { looked: top, stalled }, .. }) = heap.pop() {
            let need = self.need(&top.upper);
            let is_spent =
                self.found.boxes >= self.most || (need < OPEN && self.found.boxes >= FOR_BOUNDS);
            if stalled >= STALLED {
                self.settle(&top.upper, need);
            }
            let is_wanted = self.need(&top.upper) > 0.0 && !is_spent && !self.is_lost();
            let Some(halves) = top.halves.as_ref().filter(|_| is_wanted) else {
                raise(&mut done, &top.upper);
                continue;
            };
            for half in halves {
                let clear = self.builds.and_then(|builds| builds.clear(half.turns));
                match clear.and_then(|clear| self.look(&clear, &half.middle, &half.known)) {
                    Some(looked) => {
                        let gained = need - self.need(&looked.upper);
                        let is_stalled = gained < LITTLE * (need % OPEN);
                        let stalled = if is_stalled { stalled + 1 } else { 0 };
                        self.keep(Waiting { looked, stalled }, &mut heap, &mut done);
                    }
                    None => raise(&mut done, &top.upper),
                }
            }
        }
        self.found.upper = done;
    }

    fn keep(&self, waiting: Waiting, heap: &mut BinaryHeap<Ranked<Waiting>>, done: &mut Sizes) {
        let bound = self.need(&waiting.looked.upper);
        if bound > 0.0 {
            heap.push(Ranked { bound, of: waiting });
        } else {
            raise(done, &waiting.looked.upper);
        }
    }

    /// No closer bounds are looked for of the figures that are most in need: halving poses no longer helps where they are worst.
    fn settle(&mut self, upper: &Sizes, most: f64) {
        let needs: Vec<f64> = self.needs(upper).collect();
        for (slot, need) in self.settled.iter_mut().zip(needs) {
            *slot |= need >= most;
        }
    }

    /// By how much a bound is more than is wanted, in parts of its scale; above [`OPEN`] where a limit is undecided.
    fn need(&self, upper: &Sizes) -> f64 {
        self.needs(upper).fold(0.0, f64::max)
    }

    fn needs<'b>(&'b self, upper: &'b Sizes) -> impl Iterator<Item = f64> + use<'b, 'a> {
        let is_broken = |figure: Figure| {
            let worst = self.found.worst.get(figure.index()).and_then(Option::as_ref);
            worst.is_some_and(|worst| worst.is_broken)
        };
        let each = Figure::ALL.into_iter().zip(upper).zip(&self.limits).zip(self.settled);
        each.map(move |(((figure, upper), limit), is_settled)| {
            let scale = figure.scale(&self.setting.question.limits);
            // What breaks its limit is not bounded any closer, nor are the entries of a norm that does.
            let of = if matches!(figure, Figure::Rate(..)) { Figure::Norm } else { figure };
            match limit {
                _ if is_settled || is_broken(of) || self.is_left(figure) => 0.0,
                Some([holds, _]) if upper > holds => OPEN + (upper - holds) / scale,
                _ if self.aim == Aim::Decide => 0.0,
                _ => (upper - self.enough(figure)) / scale,
            }
        })
    }

    /// A bound that is close enough to what was seen.
    fn enough(&self, figure: Figure) -> f64 {
        let worst = self.found.worst.get(figure.index()).and_then(Option::as_ref);
        let seen = worst.map_or(f64::NEG_INFINITY, |worst| worst.size);
        let [share, least] =
            if matches!(figure, Figure::Rate(..)) { ROUGHLY } else { [TIGHT, SMALL] };
        seen + share * seen.abs() + least * figure.scale(&self.setting.question.limits)
    }

    /// Bounds over a rectangle, where some are `known`; its worst builds are looked at too.
    fn look(&mut self, clear: &Clear, middle: &Place, known: &Sizes) -> Option<Looked> {
        self.found.boxes += 1;
        let over = Over::of(self.builds?, clear, middle)?;
        let looked = over.looked(&self.wanted(), known);
        if self.need(&looked.upper) > 0.0 {
            for figure in self.doubtful(&looked.upper) {
                self.look_at_corner(&over, clear.turns, figure);
            }
        }
        Some(looked)
    }

    /// Bounds over a rectangle alone, where some are `known`.
    pub(super) fn bounds(
        &mut self,
        clear: &Clear,
        middle: &Place,
        known: &Sizes,
    ) -> Option<Looked> {
        self.found.boxes += 1;
        Some(Over::of(self.builds?, clear, middle)?.looked(&self.wanted(), known))
    }

    /// How close bounds are wanted.
    fn wanted(&self) -> Sizes {
        let mut wanted = [0.0; FIGURES];
        for ((slot, figure), limit) in wanted.iter_mut().zip(Figure::ALL).zip(&self.limits) {
            let holds = limit.map_or(f64::INFINITY, |[holds, _]| holds);
            *slot = match self.aim {
                _ if self.is_left(figure) => f64::INFINITY,
                Aim::Decide => holds,
                _ => self.enough(figure).min(holds),
            };
        }
        wanted
    }

    /// Are these bounds within all limits?
    pub(super) fn is_within(&self, upper: &Sizes) -> bool {
        let each = upper.iter().zip(&self.limits);
        each.into_iter().all(|(upper, limit)| limit.is_none_or(|[holds, _]| *upper <= holds))
    }

    /// The figures that a rectangle may have worse than is known.
    fn doubtful(&self, upper: &Sizes) -> Vec<Figure> {
        let all = Figure::ALL.into_iter().zip(upper).zip(&self.limits);
        let is_doubtful = |((figure, upper), limit): &((Figure, &f64), &Option<[f64; 2]>)| {
            let holds = limit.map_or(f64::INFINITY, |[holds, _]| holds);
            let bar = if self.aim == Aim::Decide { holds } else { self.enough(*figure) };
            !self.is_left(*figure) && **upper > bar
        };
        all.filter(is_doubtful).map(|((figure, _), _)| figure).collect()
    }

    /// The corner of builds and poses that the figure rises towards.
    fn look_at_corner(&mut self, over: &Over<'_>, turns: [Interval; 2], figure: Figure) {
        let slopes = over.slopes(figure);
        let middle = over.values.signed(figure).mid();
        let side = if (middle < 0.0) == figure.is_floor() { 1.0 } else { -1.0 };
        let end = |range: Interval, slope: Interval| {
            if side * slope.mid() >= 0.0 { range.hi() } else { range.lo() }
        };
        let question = self.setting.question;
        let typed = &question.sizes.typed;
        let corner = places(question.drawing.parts()).zip(typed).map(|(place, range)| {
            slopes.get(place).map_or(range.mid(), |slope| end(*range, *slope))
        });
        let sizes: Vec<f64> = corner.collect();
        let [by_pitch, by_roll, ..] = slopes;
        let [pitch, roll] = turns;
        let joints = within(question.turns, [end(pitch, by_pitch), end(roll, by_roll)]);
        self.try_build(sizes, joints, over.values.turned.map(Interval::mid));
    }

    /// Keeps what a build shows worse than is known.
    fn try_build(&mut self, sizes: Vec<f64>, joints: [f64; 2], turns: [f64; 2]) {
        let Some(build) = self.setting.build(&sizes) else { return };
        let Some(values) = build.values(self.setting, joints, turns) else { return };
        self.keep_values(&sizes, joints, &values);
    }

    fn keep_values(&mut self, sizes: &[f64], joints: [f64; 2], values: &Values<f64>) {
        for (index, figure) in Figure::ALL.into_iter().enumerate() {
            let size = figure.size(values);
            let Some(slot) = self.found.worst.get_mut(index) else { continue };
            if !size.is_finite() || slot.as_ref().is_some_and(|known| known.size >= size) {
                continue;
            }
            let limit = self.limits.get(index).copied().flatten();
            let was_broken = slot.as_ref().is_some_and(|known| known.is_broken);
            let may_break = limit.is_some_and(|[_, breaks]| size > breaks + DOUBT);
            let is_broken = may_break && breaks(self.setting, figure, sizes, joints, limit);
            // What is certain is not given up for what is only worse.
            if is_broken || !was_broken {
                *slot = Some(Worst { size, sizes: sizes.to_vec(), joints, is_broken });
            }
        }
    }

    /// The drawn drive in its worst poses, and the builds that are worst there.
    fn look_at_drawn(&mut self, peaks: &Peaks) {
        let drawn = self.setting.drawn_sizes();
        for (figure, peak) in Figure::ALL.into_iter().zip(peaks) {
            let Ok(turns) = self.setting.question.drive.motor_turns(peak.joints) else { continue };
            self.try_build(drawn.clone(), peak.joints, turns);
            self.look_near(figure, peak.joints, turns);
        }
    }

    /// The build that is worst in one pose, then the pose that is worst for it.
    fn look_near(&mut self, figure: Figure, joints: [f64; 2], turns: [f64; 2]) {
        let Some(builds) = self.builds else { return };
        let turned = joints.map(Interval::point);
        let Some(clear) = builds.clear(turned) else { return };
        let middle = Place { at: joints, motors: turns.map(Interval::point) };
        let Some(over) = Over::of(builds, &clear, &middle) else { return };
        self.look_at_corner(&over, turned, figure);
        let known = self.found.worst.get(figure.index()).and_then(Clone::clone);
        let Some(Worst { sizes, joints, .. }) = known else { return };
        let Some(plain) = Plain::of(self.setting, &sizes) else { return };
        if let Some(peak) = plain.worst(figure, joints, turns) {
            self.try_build(sizes, peak.joints, turns);
        }
    }

    /// A corner of the region where a rod of the drawn build certainly does not reach.
    fn lost_at_corners(&self, [pitch, roll]: [[f64; 2]; 2]) -> Option<RegionWitness> {
        let question = self.setting.question;
        let corners = pitch.iter().flat_map(|p| roll.map(|r| [*p, r]));
        let typed = &question.sizes.typed;
        let ends = [typed.iter().map(|r| r.lo()).collect(), typed.iter().map(|r| r.hi()).collect()];
        let mut builds: Vec<Vec<f64>> = vec![self.setting.drawn_sizes()];
        builds.extend::<[Vec<f64>; 2]>(ends);
        builds.extend(corners.clone().flat_map(|joints| self.shortest(joints)));
        corners
            .flat_map(|joints| builds.iter().map(move |sizes| (joints, sizes)))
            .find(|(joints, sizes)| does_not_reach(self.setting, sizes, *joints))
            .map(|(joints, sizes)| RegionWitness { sizes: sizes.clone(), joints, value: f64::NAN })
    }

    /// Builds whose rods are least fit to reach a pose: every size at the end that each lever's square falls towards.
    fn shortest(&self, joints: [f64; 2]) -> Vec<Vec<f64>> {
        let (question, drawn) = (self.setting.question, self.setting.drawn_sizes());
        let lever = |sizes: &[f64], rod: usize| {
            let built = question.drawing.built(sizes)?;
            let pose = built.at(joints.map(libm::sincos))?;
            Some(pose.rods.get(rod)?.lever.square())
        };
        let corner = |rod: usize| {
            let before = lever(&drawn, rod)?;
            let end = |(k, range): (usize, &Interval)| {
                let mut moved = drawn.clone();
                if let Some(size) = moved.get_mut(k) {
                    *size = range.hi();
                }
                let falls = lever(&moved, rod).is_none_or(|after| after < before);
                if falls { range.hi() } else { range.lo() }
            };
            Some(question.sizes.typed.iter().enumerate().map(end).collect())
        };
        [0, 1].into_iter().filter_map(corner).collect()
    }
}

/// What is needed from here on is a limit that is undecided.
const OPEN: f64 = 1e6;

fn raise(all: &mut Sizes, own: &Sizes) {
    all.iter_mut().zip(own).for_each(|(all, own)| *all = all.max(*own));
}

/// Of a rectangle nothing is known at first.
pub(super) const UNKNOWN: Sizes = [f64::INFINITY; FIGURES];

fn within([pitch, roll]: [[f64; 2]; 2], [p, r]: [f64; 2]) -> [f64; 2] {
    [p.clamp(pitch[0], pitch[1]), r.clamp(roll[0], roll[1])]
}
