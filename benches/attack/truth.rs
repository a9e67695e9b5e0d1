//! The worst figures of a family of linkages over a stroke, searched for and settled with 32 digits.
//!
//! Looked at: every corner of the box, the middles of its sides, its middle and some builds inside, each in dense
//! poses; from the best of them the figure is driven up one variable at a time. What comes out is reached by a linkage
//! of the family in a pose of the stroke, whatever the search missed.

use super::closed_form::{Bars, Pose};
use super::double::{Double, Real};
use super::drawing::{By, Meaning};
use super::pad::{Judged, Start};
use super::random::Random;

/// Place in the box: ground, crank, coupler, rocker, crank error, motor turn, each 0 at its lower and 1 at its upper end.
pub type Place = [f64; 6];
const TURN: usize = 5;

/// What is asked: which linkages, over which motor turns, with which direct joint.
#[derive(Clone, Copy, Debug)]
pub struct Question<T> {
    pub low: [T; 6],
    pub high: [T; 6],
    pub zero_crank: T,
    pub side: f64,
    /// The reference's zero pose where that is the zero of all, else each linkage's own.
    pub drawn_zero: Option<Start<T>>,
    pub slope: T,
    pub offset: T,
    /// Where a pad rides on the coupler, which is judged then.
    pub pad: Option<Judged<T>>,
}

/// Signed angle error, signed ratio error, transmission angle; of a pad signed tilt error, grip error, transmission angle,
/// shift error, opening error.
pub type Figures<T> = [T; 5];

/// The worst of one figure: |error| or transmission angle.
#[derive(Clone, Copy, Debug)]
pub struct Worst {
    pub value: Double,
    pub at: Place,
}

/// What was found.
#[derive(Clone, Debug)]
pub struct Truth {
    /// A linkage that does not close over the stroke and from its zero pose to it.
    pub open: Option<Place>,
    /// Of each aim: largest and smallest angle error and ratio error, smallest transmission angle, largest and smallest
    /// shift and opening error; the smallest errors with their sign turned.
    pub aims: [Option<Worst>; AIMS],
    pub builds: u64,
    pub poses: u64,
}

impl<T: Real> Question<T> {
    fn at(&self, k: usize, share: f64) -> T {
        if share >= 1.0 {
            return self.high[k];
        }
        self.low[k] + (self.high[k] - self.low[k]) * T::of(share)
    }

    pub fn bars(&self, place: &Place) -> Bars<T> {
        Bars::of([0, 1, 2, 3].map(|k| self.at(k, place[k])))
    }

    /// Its own zero crank angle, and the zero pose that counts on the sheet of this linkage.
    fn zero(&self, place: &Place) -> Option<(Bars<T>, T, Start<T>)> {
        let bars = self.bars(place);
        let crank = self.zero_crank + self.at(4, place[4]);
        let own = Start::of(&bars.pose(crank, self.side)?);
        Some((bars, crank, self.drawn_zero.map_or(own, |drawn| drawn.beside(&own))))
    }

    fn figures_of(&self, pose: &Pose<T>, zero: &Start<T>, turn: T) -> Figures<T> {
        if let Some(pad) = &self.pad {
            return pad.figures(pose, zero, turn);
        }
        let (one, none) = (T::of(1.0), T::of(0.0));
        [
            pose.rocker - zero.rocker - turn * self.slope - self.offset,
            self.slope / pose.velocity_ratio - one,
            pose.transmission_angle,
            none,
            none,
        ]
    }

    /// How many figures are judged.
    pub fn count(&self) -> usize {
        if self.pad.is_some() { 5 } else { 3 }
    }

    /// Nothing where the loop does not close.
    pub fn figures(&self, place: &Place) -> Option<Figures<T>> {
        let (bars, crank, zero) = self.zero(place)?;
        let turn = self.at(TURN, place[TURN]);
        Some(self.figures_of(&bars.pose(crank + turn, self.side)?, &zero, turn))
    }

    fn is_fixed(&self, k: usize) -> bool {
        self.low[k] >= self.high[k]
    }

    /// Does this linkage close from its zero pose to both ends of the stroke and between?
    pub fn closes(&self, place: &Place) -> bool {
        let crank = self.zero_crank + self.at(4, place[4]);
        let zero = T::of(0.0);
        let from = if self.low[TURN] < zero { self.low[TURN] } else { zero };
        let to = if self.high[TURN] > zero { self.high[TURN] } else { zero };
        self.bars(place).closes_over(crank + from, crank + to)
    }
}

impl Question<Double> {
    /// Over the whole family and the motor turns `turns`.
    pub fn of(meaning: &Meaning, turns: [Double; 2], slope: Double, offset: Double) -> Self {
        let [g, a, b, c] = meaning.limits;
        let all = [g, a, b, c, meaning.crank_error, turns];
        let zero = meaning.reference.pose(meaning.zero_crank, meaning.side);
        Self {
            low: all.map(|range| range[0]),
            high: all.map(|range| range[1]),
            zero_crank: meaning.zero_crank,
            side: meaning.side,
            drawn_zero: zero.as_ref().filter(|_| meaning.as_drawn).map(Start::of),
            slope,
            offset,
            pad: None,
        }
    }

    /// The reference alone.
    pub fn of_reference(&self, meaning: &Meaning) -> Self {
        let [g, a, b, c] = meaning.reference.all();
        let zero = Double::of(0.0);
        let only = |turn: Double| [g, a, b, c, zero, turn];
        Self { low: only(self.low[TURN]), high: only(self.high[TURN]), ..*self }
    }

    /// Every length of the reference ± `half`, the crank's error as drawn.
    pub fn with_tolerance(&self, meaning: &Meaning, half: Double) -> Self {
        let mut out = *self;
        for (k, size) in meaning.reference.all().into_iter().enumerate() {
            out.low[k] = size - half;
            out.high[k] = size + half;
        }
        out
    }

    fn floats(&self) -> Question<f64> {
        Question {
            low: self.low.map(Real::value),
            high: self.high.map(Real::value),
            zero_crank: self.zero_crank.value(),
            side: self.side,
            drawn_zero: self.drawn_zero.map(|zero| zero.floats()),
            slope: self.slope.value(),
            offset: self.offset.value(),
            pad: self.pad.map(|pad| pad.floats()),
        }
    }
}

/// The one-sided figures, the larger the worse: ± angle error, ± ratio error, − transmission angle, ± shift error,
/// ± opening error.
pub const AIMS: usize = 9;

/// The sign and the figure of one of them.
pub fn aimed_at(k: usize) -> (f64, usize) {
    let sign = |odd: usize| if k % 2 == odd { -1.0 } else { 1.0 };
    match k {
        0..4 => (sign(1), k / 2),
        4 => (-1.0, 2),
        _ => (sign(0), k.div_ceil(2)),
    }
}

fn aim<T: Real>(k: usize, figures: Figures<T>) -> T {
    let (sign, figure) = aimed_at(k);
    T::of(sign) * figures[figure]
}

impl Truth {
    /// |error| or transmission angle.
    pub fn worst(&self, figure: usize) -> Option<Worst> {
        let aims = (0..AIMS).filter(|&k| aimed_at(k).1 == figure).filter_map(|k| self.aims[k]);
        aims.max_by(|x, y| x.value.value().total_cmp(&y.value.value()))
    }
}

/// How many starts are driven up for each aim.
const STARTS: usize = 4;

/// The places that are looked at in every pose.
fn builds(q: &Question<f64>, random: &mut Random) -> Vec<Place> {
    let free: Vec<usize> = (0..TURN).filter(|&k| !q.is_fixed(k)).collect();
    let mut all = vec![[0.5; 6]];
    if free.is_empty() {
        return all;
    }
    for corner in 0..1_u32 << free.len() {
        let mut place = [0.5; 6];
        for (bit, &k) in free.iter().enumerate() {
            place[k] = f64::from((corner >> bit) & 1);
        }
        all.push(place);
    }
    for &k in &free {
        for end in [0.0, 1.0] {
            let mut place = [0.5; 6];
            place[k] = end;
            all.push(place);
        }
    }
    for _ in 0..8 {
        let mut place = [0.5; 6];
        for &k in &free {
            place[k] = random.unit();
        }
        all.push(place);
    }
    all
}

/// The worst figures of the family.
pub fn worst(q: &Question<Double>, random: &mut Random) -> Truth {
    let floats = q.floats();
    let width = floats.high[TURN] - floats.low[TURN];
    let single = (0..TURN).all(|k| floats.is_fixed(k));
    let density = if single { 120.0 } else { 24.0 };
    let poses = (20.0 + density * width).min(if single { 2000.0 } else { 400.0 }).ceil();
    let mut best: [Vec<(f64, Place)>; AIMS] = Default::default();
    let mut truth = Truth { open: None, aims: [None; AIMS], builds: 0, poses: 0 };
    for build in builds(&floats, random) {
        truth.builds += 1;
        if !q.closes(&build) {
            truth.open = Some(build);
            continue;
        }
        truth.poses += scan(&floats, &build, poses, single, &mut best);
    }
    for (k, starts) in best.iter_mut().enumerate().filter(|(k, _)| aimed_at(*k).1 < q.count()) {
        starts.sort_by(|x, y| y.0.total_cmp(&x.0));
        for (_, start) in starts.iter().take(STARTS) {
            let top = climb(&floats, k, *start, 1.0 / poses, &mut truth.poses);
            for place in [*start, top] {
                settle(q, k, place, &mut truth);
            }
        }
    }
    truth
}

/// All poses of one build; keeps the worst (for a single linkage every peak).
fn scan(
    q: &Question<f64>,
    build: &Place,
    poses: f64,
    peaks: bool,
    best: &mut [Vec<(f64, Place)>; AIMS],
) -> u64 {
    let Some((bars, crank, zero)) = q.zero(build) else { return 0 };
    let mut row: Vec<(f64, [f64; AIMS])> = Vec::new();
    let mut k = 0.0;
    while k <= poses {
        let share = k / poses;
        let turn = q.at(TURN, share);
        if let Some(pose) = bars.pose(crank + turn, q.side) {
            let figures = q.figures_of(&pose, &zero, turn);
            row.push((share, std::array::from_fn(|aimed| aim(aimed, figures))));
        }
        k += 1.0;
    }
    let judged = best.iter_mut().enumerate().filter(|(k, _)| aimed_at(*k).1 < q.count());
    for (aimed, starts) in judged {
        let value = |k: usize| row.get(k).map_or(f64::NEG_INFINITY, |r| r.1[aimed]);
        let is_peak = |k: usize| value(k) >= value(k + 1) && (k == 0 || value(k) >= value(k - 1));
        let mut found: Vec<usize> = (0..row.len()).filter(|&k| is_peak(k)).collect();
        found.sort_by(|x, y| value(*y).total_cmp(&value(*x)));
        for k in found.into_iter().take(if peaks { STARTS } else { 1 }) {
            let mut place = *build;
            place[TURN] = row[k].0;
            starts.push((value(k), place));
        }
    }
    u64::try_from(row.len()).unwrap_or(0)
}

/// Drives one aim up with shrinking steps: one variable at a time, and two at a time where one alone does not help.
fn climb(q: &Question<f64>, aimed: usize, start: Place, pose: f64, poses: &mut u64) -> Place {
    let mut step = [0.25, 0.25, 0.25, 0.25, 0.25, pose];
    let mut top = Top { q, aimed, at: start, value: f64::NEG_INFINITY, count: 0 };
    top.offer(start);
    let free: Vec<usize> = (0..6).filter(|&k| !q.is_fixed(k)).collect();
    for _ in 0..80 {
        let before = top.value;
        for &k in &free {
            for by in [-step[k], step[k]] {
                top.offer(moved(&top.at, &[(k, by)]));
            }
            if k != TURN {
                top.offer(moved(&top.at, &[(k, -1.0)]));
                top.offer(moved(&top.at, &[(k, 1.0)]));
            }
        }
        if top.value <= before {
            for (n, &i) in free.iter().enumerate() {
                for &j in free.iter().skip(n + 1) {
                    for (x, y) in [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)] {
                        top.offer(moved(&top.at, &[(i, x * step[i]), (j, y * step[j])]));
                    }
                }
            }
        }
        if top.value <= before {
            step = step.map(|s| 0.35 * s);
        }
        if step[TURN] < 1e-9 {
            break;
        }
    }
    *poses += top.count;
    top.at
}

/// The best place so far.
struct Top<'a> {
    q: &'a Question<f64>,
    aimed: usize,
    at: Place,
    value: f64,
    count: u64,
}

impl Top<'_> {
    fn offer(&mut self, place: Place) {
        self.count += 1;
        let value = self.q.figures(&place).map_or(f64::NEG_INFINITY, |f| aim(self.aimed, f));
        if value > self.value {
            (self.at, self.value) = (place, value);
        }
    }
}

/// The place with some variables moved, kept inside the box.
fn moved(place: &Place, by: &[(usize, f64)]) -> Place {
    let mut place = *place;
    for &(k, step) in by {
        place[k] = (place[k] + step).clamp(0.0, 1.0);
    }
    place
}

/// The figure at `place` with 32 digits, kept where it is the worst so far.
fn settle(q: &Question<Double>, aimed: usize, place: Place, truth: &mut Truth) {
    let Some(figures) = q.figures(&place) else { return };
    let value = if aimed == 4 { figures[2] } else { aim(aimed, figures) };
    // At a dead point.
    let value = if value.value().is_finite() { value } else { Double::of(f64::INFINITY) };
    let kept = &mut truth.aims[aimed];
    let is_worse = match kept {
        None => true,
        Some(worst) if aimed == 4 => value < worst.value,
        Some(worst) => value > worst.value,
    };
    if is_worse {
        *kept = Some(Worst { value, at: place });
    }
}

/// The motor turns of the stroke, ascending; nothing where an end is out of reach.
pub fn motor_turns(meaning: &Meaning) -> Option<[Double; 2]> {
    let [first, second] = match meaning.by {
        By::Motor => meaning.stroke,
        By::Joint => {
            let [low, high] = meaning.stroke;
            [motor_turn(meaning, low, 0.0)?, motor_turn(meaning, high, 0.0)?]
        }
    };
    Some(if first < second { [first, second] } else { [second, first] })
}

/// No rocker turns this far, rad, in a step of the crank.
const JUMP: f64 = 0.5;

/// The motor turn that brings the reference's joint to `joint` (both from the zero pose), beginning at the motor turn
/// `from` without passing a dead point or a crank limit.
pub fn motor_turn(meaning: &Meaning, joint: Double, from: f64) -> Option<Double> {
    let Meaning { reference: bars, zero_crank: zero, side, .. } = *meaning;
    let (floats, zero_float) = (bars.floats(), zero.value());
    let start = floats.pose(zero_float + from, side)?;
    let first = start.velocity_ratio.signum();
    let wanted = joint.value() - (start.rocker - floats.pose(zero_float, side)?.rocker);
    let direction = wanted.signum() * first;
    let (mut turn, mut step, mut last) = (from, 0.01_f64, start.rocker);
    while step > 1e-12 && turn.abs() < 50.0 {
        let next = turn + direction * step;
        match floats.pose(zero_float + next, side) {
            // A step over a change point lands on the other branch.
            Some(pose) if (pose.rocker - last).abs() > JUMP => step *= 0.5,
            Some(pose) if (pose.rocker - start.rocker).abs() >= wanted.abs() => {
                if step < 1e-6 {
                    return polished(meaning, joint, next);
                }
                step *= 0.5;
            }
            Some(pose) if pose.velocity_ratio * first > 0.0 => (turn, last) = (next, pose.rocker),
            _ => step *= 0.5,
        }
    }
    None
}

/// Newton steps with 32 digits.
fn polished(meaning: &Meaning, joint: Double, near: f64) -> Option<Double> {
    let Meaning { reference: bars, zero_crank: zero, side, .. } = *meaning;
    let start = bars.pose(zero, side)?.rocker;
    let mut turn = Double::of(near);
    let gap = |turn: Double| Some(bars.pose(zero + turn, side)?.rocker - start - joint);
    for _ in 0..30 {
        let rate = bars.pose(zero + turn, side)?.velocity_ratio;
        turn = turn - gap(turn)? / rate;
    }
    (gap(turn)?.value().abs() < 1e-20).then_some(turn)
}
