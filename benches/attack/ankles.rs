//! Two rods on a universal joint, drawn at random: each verdict and bound held against builds that are followed step by step
//! along their rods' own equations, without any closed form of the library.

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

use nalgebra::Matrix2;
use unloop::drive::{Axis, Direct, DrawnLeg, Measure, Size, TwoRods, TwoRodsDrawing, Vector};
use unloop::equivalence::{
    Assessment, Basis, Criterion, Outcome, RegionJudgement, RegionLimits, RegionQuestion,
    SizeRanges, Verdict, Zeroing, judge_region, size_range, typed_range,
};
use unloop::numeric::Interval;

use super::ankle_weights::{Weighing, weighed};
use super::drives::{Point, cross, dot, less, plus};
use super::random::Random;

/// Steps of the way to a pose.
const STEPS: u32 = 24;

/// Rounding of the following, as a share of a figure, and on its own.
const ROUNDING: f64 = 1e-8;

/// One question.
#[derive(Clone, Debug)]
struct Ankle {
    drawing: TwoRodsDrawing,
    turns: [[f64; 2]; 2],
    limits: RegionLimits,
    /// m and rad.
    tolerance: [f64; 2],
    diagonal: bool,
}

fn at([x, y, z]: Point) -> Vector {
    Vector::new(x, y, z).map(|v| v * 1e-3)
}

impl Ankle {
    fn draw(random: &mut Random) -> Self {
        let near = |random: &mut Random, v: Point, by: f64| v.map(|x| x + random.within(-by, by));
        let mut leg = |side: f64| {
            let (a, y, z) =
                (random.within(30.0, 60.0), random.within(20.0, 45.0), random.within(120.0, 320.0));
            let height = random.within(-20.0, 10.0);
            let foot = near(random, [-a, side * y, height], 5.0);
            if random.chance(0.3) {
                return DrawnLeg::Actuator {
                    pin: at(near(random, [-a, side * y, z], 10.0)),
                    foot: at(foot),
                    line_offset: if random.chance(0.5) { 0.0 } else { 4e-3 },
                    lead: 5e-3 * random.sign(),
                    lengths: None,
                };
            }
            let (motor, axis, pin) = if random.chance(0.25) {
                let motor = [-a + 15.0, 0.2 * side * y, z];
                (motor, [1.0, 0.0, 0.0], [-a + 15.0, side * (y + 8.0), z])
            } else {
                ([0.0, side * y, z], [0.0, 1.0, 0.0], [-a, side * y, z])
            };
            let askew = if random.chance(0.5) { 0.0 } else { 0.1 };
            let axis = near(random, axis, askew);
            let (motor, pin) = (near(random, motor, 4.0), near(random, pin, 4.0));
            let apart = less(foot, pin);
            let rod = (dot(apart, apart).sqrt() + random.within(-0.09, 0.09)) * 1e-3;
            DrawnLeg::Crank {
                motor: Axis { point: at(motor), direction: at(axis).map(|x| x * 1e3) },
                crank: at(pin),
                foot: at(foot),
                rod: Some(rod),
            }
        };
        let legs = [leg(1.0), leg(-1.0)];
        let legs = legs.map(|leg| match leg {
            DrawnLeg::Crank { motor, crank, foot, .. } if random.chance(0.5) => {
                DrawnLeg::Crank { motor, crank, foot, rod: None }
            }
            leg => leg,
        });
        let apart = if random.chance(0.5) { 0.0 } else { random.within(-12.0, 12.0) };
        let drawing = TwoRodsDrawing {
            pitch: Axis { point: at([0.0; 3]), direction: Vector::new(0.0, 1.0, 0.0) },
            roll: Axis { point: at([0.0, 0.0, apart]), direction: Vector::new(1.0, 0.0, 0.0) },
            legs,
        };
        let half = [random.log_within(2.0, 45.0), random.log_within(1.0, 25.0)];
        let turns = half.map(|half| {
            let ends = [-half * random.within(0.3, 1.0), half * random.within(0.3, 1.0)];
            ends.map(f64::to_radians)
        });
        let t = random.pick(&[0.0, 0.02, 0.05, 0.1]);
        let limits = RegionLimits {
            angle: random.log_within(0.02, 3.0).to_radians(),
            ratio: random.log_within(0.002, 0.4),
            transmission_angle: random.within(2.0, 60.0).to_radians(),
            ball_tilt: random.chance(0.3).then(|| random.within(2.0, 20.0).to_radians()),
        };
        let diagonal = random.chance(0.1);
        Self { drawing, turns, limits, tolerance: [t * 1e-3, t.to_radians()], diagonal }
    }

    fn sizes(&self, of: fn(f64, f64, f64) -> Interval) -> Vec<Interval> {
        let by = |size: &Size| match (size.name, size.measure) {
            ("lead" | "line_offset", _) => 0.0,
            (_, Measure::Length) => self.tolerance[0],
            _ => self.tolerance[1],
        };
        self.drawing.sizes().iter().map(|size| of(size.value, -by(size), by(size))).collect()
    }

    fn question<'a>(&'a self, drive: &'a TwoRods, direct: Direct) -> RegionQuestion<'a> {
        RegionQuestion {
            drawing: &self.drawing,
            drive,
            turns: self.turns,
            direct,
            limits: self.limits,
            basis: Basis::Tolerance,
            sizes: SizeRanges { all: self.sizes(size_range), typed: self.sizes(typed_range) },
            zeroing: Zeroing::OnEachRobot,
        }
    }
}

fn not_assessed() -> Assessment {
    Assessment::not_assessed(Criterion::Inertia, f64::INFINITY, Basis::Nominal)
}

fn unit(v: Point) -> Point {
    let length = dot(v, v).sqrt();
    v.map(|x| x / length)
}

/// `v` turned about the unit vector `axis`.
fn turned(v: Point, axis: Point, angle: f64) -> Point {
    let (sin, cos) = angle.sin_cos();
    plus([0.0; 3], &[(cos, v), (sin, cross(axis, v)), ((1.0 - cos) * dot(axis, v), axis)])
}

/// An axis tilted towards two directions across it: the first the coordinate axis that it is least along, made square to it.
fn tilted(direction: Vector, [u, v]: [f64; 2]) -> Point {
    let along = unit([direction.x, direction.y, direction.z]);
    let size = along.map(f64::abs);
    let aside = if size[0] <= size[1] && size[0] <= size[2] {
        [1.0, 0.0, 0.0]
    } else if size[1] <= size[2] {
        [0.0, 1.0, 0.0]
    } else {
        [0.0, 0.0, 1.0]
    };
    let first = unit(plus(aside, &[(-dot(aside, along), along)]));
    unit(plus(along, &[(u, first), (v, cross(along, first))]))
}

#[derive(Clone, Copy, Debug)]
enum Input {
    Crank { motor: Point, axis: Point, pin: Point, rod: f64 },
    Actuator { pin: Point, offset: f64, lead: f64 },
}

#[derive(Clone, Copy, Debug)]
struct Build {
    pitch: [Point; 2],
    roll: [Point; 2],
    legs: [(Input, Point); 2],
}

impl Build {
    fn of(drawing: &TwoRodsDrawing, sizes: &[f64]) -> Self {
        let mut rest = sizes.iter().copied();
        let mut next = || rest.next().unwrap_or(f64::NAN);
        let mut line = |direction: Vector| {
            let point = [next(), next(), next()];
            [point, tilted(direction, [next(), next()])]
        };
        let (pitch, roll) = (line(drawing.pitch.direction), line(drawing.roll.direction));
        let legs = drawing.legs.map(|leg| match leg {
            DrawnLeg::Crank { motor: drawn, rod, .. } => {
                let motor = [next(), next(), next()];
                let axis = tilted(drawn.direction, [next(), next()]);
                let (pin, foot) = ([next(), next(), next()], [next(), next(), next()]);
                let apart = less(foot, pin);
                let rod = if rod.is_some() { next() } else { dot(apart, apart).sqrt() };
                (Input::Crank { motor, axis, pin, rod }, foot)
            }
            DrawnLeg::Actuator { .. } => {
                let (pin, foot) = ([next(), next(), next()], [next(), next(), next()]);
                (Input::Actuator { pin, offset: next(), lead: next() }, foot)
            }
        });
        Self { pitch, roll, legs }
    }

    /// Q, its ways per pitch and roll.
    fn foot(&self, foot: Point, [p, r]: [f64; 2]) -> (Point, [Point; 2]) {
        let ([o1, a1], [o2, a2]) = (self.pitch, self.roll);
        let rolled = turned(less(foot, o2), a2, r);
        let from = plus(less(o2, o1), &[(1.0, rolled)]);
        let (q, arm, axis) = (turned(from, a1, p), turned(rolled, a1, p), turned(a2, a1, p));
        (plus(o1, &[(1.0, q)]), [cross(a1, q), cross(axis, arm)])
    }

    /// Rod k in a pose, its motor near `motor`: motor angle, its rates, the rod, P's way.
    fn rod(&self, k: usize, joints: [f64; 2], motor: f64) -> Option<Rod> {
        let (input, foot) = self.legs[k];
        let (q, ways) = self.foot(foot, joints);
        match input {
            Input::Crank { motor: centre, axis, pin, rod } => {
                let mut angle = motor;
                let state = |angle: f64| {
                    let arm = turned(less(pin, centre), axis, angle);
                    (less(q, plus(centre, &[(1.0, arm)])), cross(axis, arm))
                };
                for _ in 0..20 {
                    let (w, v) = state(angle);
                    let step = (dot(w, w) - rod * rod) / (2.0 * dot(w, v));
                    angle += step;
                    if step.abs() < 1e-15 {
                        break;
                    }
                }
                let (w, v) = state(angle);
                let is_met = (dot(w, w).sqrt() - rod).abs() < 1e-12 && (angle - motor).abs() < 0.5;
                let rates = ways.map(|way| dot(w, way) / dot(w, v));
                let tilt = (dot(w, axis) / rod).abs();
                let side = (dot(w, v) / (rod * dot(v, v).sqrt())).abs();
                is_met.then_some(Rod { motor: angle, rates, w, ways, side, tilt })
            }
            Input::Actuator { pin, offset, lead } => {
                let w = less(q, pin);
                let travel = (dot(w, w) - offset * offset).sqrt();
                let turns = std::f64::consts::TAU / lead;
                let rates = ways.map(|way| turns * dot(w, way) / travel);
                let motor = turns * travel;
                motor.is_finite().then_some(Rod { motor, rates, w, ways, side: 1.0, tilt: 0.0 })
            }
        }
    }

    /// Followed straight from the zero pose; `None` where it does not get there.
    fn followed(&self, joints: [f64; 2]) -> Option<[Rod; 2]> {
        let start = [self.rod(0, [0.0; 2], 0.0)?, self.rod(1, [0.0; 2], 0.0)?];
        let mut here = start;
        for step in 1..=STEPS {
            let share = f64::from(step) / f64::from(STEPS);
            let way = joints.map(|turn| turn * share);
            here = [self.rod(0, way, here[0].motor)?, self.rod(1, way, here[1].motor)?];
        }
        for (rod, zero) in here.iter_mut().zip(start) {
            rod.motor -= zero.motor;
        }
        Some(here)
    }
}

#[derive(Clone, Copy, Debug)]
struct Rod {
    motor: f64,
    rates: [f64; 2],
    w: Point,
    ways: [Point; 2],
    side: f64,
    tilt: f64,
}

/// Criteria in the order of [`figures`].
const CRITERIA: [Criterion; 5] = [
    Criterion::Angle,
    Criterion::Ratio,
    Criterion::TransmissionAngle,
    Criterion::CrankSide,
    Criterion::BallTilt,
];

/// What may not rise above its limit, and then the entries of E.
fn figures(rods: &[Rod; 2], joints: [f64; 2], inverse: &Matrix2<f64>) -> ([f64; 5], [f64; 4]) {
    let [one, two] = rods;
    let jacobian = Matrix2::new(one.rates[0], one.rates[1], two.rates[0], two.rates[1]);
    let error = inverse * jacobian - Matrix2::identity();
    let read = inverse * nalgebra::Vector2::new(one.motor, two.motor);
    let angle = (read.x - joints[0]).abs().max((read.y - joints[1]).abs());
    let side = |rod: &Rod, held: &Rod| {
        let path = plus([0.0; 3], &[(held.rates[1], rod.ways[0]), (-held.rates[0], rod.ways[1])]);
        (dot(rod.w, path) / (dot(rod.w, rod.w) * dot(path, path)).sqrt()).abs()
    };
    let joint_side = side(one, two).min(side(two, one)).min(1.0).asin();
    let crank_side = one.side.min(two.side).min(1.0).asin();
    let tilt = one.tilt.max(two.tilt).min(1.0).asin();
    let norm = error.singular_values().max();
    ([angle, norm, -joint_side, -crank_side, tilt], [error.m11, error.m12, error.m21, error.m22])
}

/// The worst that builds show: at ends of sizes that each figure rises towards, and at random.
struct Worst {
    largest: [f64; 5],
    entries: [f64; 4],
    fails_to_reach: bool,
    builds: u64,
}

impl Worst {
    fn look(
        &mut self,
        ankle: &Ankle,
        sizes: &[f64],
        joints: [f64; 2],
        inverse: &Matrix2<f64>,
    ) -> Option<[f64; 5]> {
        self.builds += 1;
        let Some(rods) = Build::of(&ankle.drawing, sizes).followed(joints) else {
            self.fails_to_reach = true;
            return None;
        };
        let (own, entries) = figures(&rods, joints, inverse);
        for (largest, own) in self.largest.iter_mut().zip(own) {
            *largest = largest.max(own);
        }
        for (largest, own) in self.entries.iter_mut().zip(entries) {
            *largest = largest.max(own.abs());
        }
        Some(own)
    }

    /// Uphill from the middle, a size at a time, in one pose.
    fn climb(
        &mut self,
        ankle: &Ankle,
        ranges: &[Interval],
        joints: [f64; 2],
        which: usize,
        inverse: &Matrix2<f64>,
    ) -> Option<()> {
        let mut sizes: Vec<f64> = ranges.iter().map(|range| range.mid()).collect();
        let mut best = self.look(ankle, &sizes, joints, inverse)?[which];
        for (k, range) in ranges.iter().enumerate() {
            for end in [range.lo(), range.hi()] {
                let kept = std::mem::replace(&mut sizes[k], end);
                match self.look(ankle, &sizes, joints, inverse) {
                    Some(own) if own[which] > best => best = own[which],
                    _ => sizes[k] = kept,
                }
            }
        }
        Some(())
    }
}

/// What came of many.
#[derive(Default)]
struct Tally {
    verdicts: BTreeMap<String, u64>,
    breaks: u64,
    builds: u64,
    loosest: f64,
    /// Bounds of inertia errors over what was reached of them.
    weighed: Vec<f64>,
}

/// Builds on their way uphill, and some at random.
fn looked(
    ankle: &Ankle,
    judged: &RegionJudgement,
    inverse: &Matrix2<f64>,
    random: &mut Random,
) -> Worst {
    let ranges = ankle.sizes(typed_range);
    let mut worst = Worst {
        largest: [f64::NEG_INFINITY; 5],
        entries: [0.0; 4],
        fails_to_reach: false,
        builds: 0,
    };
    let [pitch, roll] = ankle.turns;
    for which in 0..5 {
        let joints = [random.pick(&pitch), random.pick(&roll)];
        let _ = worst.climb(ankle, &ranges, joints, which, inverse);
    }
    for criterion in &judged.criteria {
        if let Some([p, r]) = criterion.worst_at_joints {
            let which = CRITERIA.iter().position(|c| *c == criterion.criterion).unwrap_or(0);
            let _ = worst.climb(ankle, &ranges, [p, r], which, inverse);
        }
    }
    for _ in 0..60 {
        let sizes: Vec<f64> = ranges.iter().map(|x| random.within(x.lo(), x.hi())).collect();
        let joints = [pitch, roll].map(|[from, to]| random.within(from, to));
        let _ = worst.look(ankle, &sizes, joints, inverse);
    }
    worst
}

fn attempt(seed: u64, case: u64, tally: &Mutex<Tally>) {
    let mut random = Random::new(seed ^ 0xA7, case);
    let ankle = Ankle::draw(&mut random);
    let (mut verdict, mut breaks, mut builds, mut loosest) =
        ("refused".to_owned(), Vec::new(), 0, 0.0);
    let mut weights = None;
    let direct = |drive: &TwoRods| {
        let given = Direct::zero_pose(drive).ok()?;
        if ankle.diagonal {
            Direct::new(Matrix2::new(given.matrix.m11, 0.0, 0.0, given.matrix.m22))
        } else {
            Some(given)
        }
    };
    let drive = ankle.drawing.drive().ok();
    if let Some((drive, direct)) = drive.as_ref().and_then(|d| Some((d, direct(d)?)))
        && let question = ankle.question(drive, direct)
        && let Some(judged) = judge_region(&question, not_assessed())
        && let Some(inverse) = direct.matrix.try_inverse()
    {
        judged.verdict.name().clone_into(&mut verdict);
        let worst = looked(&ankle, &judged, &inverse, &mut random);
        builds = worst.builds;
        breaks = held(&judged, &worst, &mut loosest);
        breaks.extend(shown(&ankle, &judged, &inverse));
        weights = weighed(&question, &direct, &mut Random::new(seed ^ 0xB3, case));
    }
    let mut tally = tally.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    *tally.verdicts.entry(verdict).or_default() += 1;
    tally.builds += builds;
    tally.loosest = tally.loosest.max(loosest);
    if let Some(Weighing { builds, reached: [reached, bound] }) = weights {
        tally.builds += builds;
        tally.weighed.push(bound / reached);
        if reached > bound * (1.0 + ROUNDING) + ROUNDING {
            breaks.push(format!("bound beaten: inertia {reached} over {bound}"));
        }
    }
    for says in breaks {
        println!("case {case}: {says}\n{ankle:?}");
        tally.breaks += 1;
    }
}

/// Is a witness what it is said to be?
fn shown(ankle: &Ankle, judged: &RegionJudgement, inverse: &Matrix2<f64>) -> Option<String> {
    let (criterion, witness) = judged.witness.as_ref()?;
    let which = CRITERIA.iter().position(|c| c == criterion)?;
    let rods = Build::of(&ankle.drawing, &witness.sizes).followed(witness.joints);
    let Some(rods) = rods else {
        return (!witness.value.is_nan()).then(|| "witness does not reach".to_owned());
    };
    let is_floor = matches!(criterion, Criterion::TransmissionAngle | Criterion::CrankSide);
    let own = figures(&rods, witness.joints, inverse).0[which].abs();
    let limit = ankle.limits.of(*criterion)?;
    let breaks = if is_floor { own < limit } else { own > limit };
    let is_so = (own - witness.value).abs() < 1e-7 * (1.0 + own);
    (!(breaks && is_so)).then(|| format!("untrue witness: {criterion:?} {own} {witness:?}"))
}

/// What is said and is not so.
fn held(judged: &RegionJudgement, worst: &Worst, loosest: &mut f64) -> Vec<String> {
    let mut breaks = Vec::new();
    if worst.fails_to_reach && judged.verdict == Verdict::Equivalent {
        breaks.push("untrue holds: a build does not reach".to_owned());
    }
    for (criterion, reached) in CRITERIA.into_iter().zip(worst.largest) {
        let Some(said) = judged.criteria.iter().find(|c| c.criterion == criterion) else {
            continue;
        };
        let is_floor = matches!(criterion, Criterion::TransmissionAngle | Criterion::CrankSide);
        let sign = if is_floor { -1.0 } else { 1.0 };
        let above = |x: f64| reached > x + ROUNDING * x.abs() + ROUNDING;
        if said.outcome == Outcome::Holds && above(sign * said.limit) {
            breaks.push(format!("untrue holds: {criterion:?} {reached} over {}", said.limit));
        }
        if let Some(bound) = said.bound.map(|bound| sign * bound.value()) {
            if above(bound) {
                breaks.push(format!("bound beaten: {criterion:?} {reached} over {bound}"));
            }
            if criterion == Criterion::Ratio && said.outcome == Outcome::Holds && reached > 0.01 {
                *loosest = loosest.max(bound / reached);
            }
        }
    }
    if let Some(bounds) = judged.bounds {
        for (reached, bound) in worst.entries.into_iter().zip(bounds.rate_error.concat()) {
            if reached > bound + ROUNDING {
                breaks.push(format!("bound beaten: entry {reached} over {bound}"));
            }
        }
    }
    breaks
}

/// Cases until the time or the cases are over; how many broke.
pub fn run(seed: u64, cases: u64, seconds: f64, threads: u64) -> u64 {
    let (next, start, tally) = (AtomicU64::new(0), Instant::now(), Mutex::new(Tally::default()));
    let work = || {
        while start.elapsed().as_secs_f64() < seconds {
            let case = next.fetch_add(1, Ordering::Relaxed);
            if case >= cases {
                break;
            }
            attempt(seed, case, &tally);
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(work);
        }
    });
    let tally = tally.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    println!("ankles, seed {seed}: {:?}", tally.verdicts);
    let mut weighed = tally.weighed;
    weighed.sort_by(f64::total_cmp);
    println!(
        "{} bounded in inertia, bound over reached {:.3?} in the middle, {:.3?} at most",
        weighed.len(),
        weighed.get(weighed.len() / 2),
        weighed.last()
    );
    println!(
        "{} builds; {} broke; bound of the norm over reached at most {:.3}",
        tally.builds, tally.breaks, tally.loosest
    );
    // An attack that judged nothing has shown nothing.
    tally.breaks + u64::from(tally.builds == 0)
}

/// One case again.
pub fn replay(seed: u64, case: u64) -> u64 {
    let tally = Mutex::new(Tally::default());
    println!("{:?}", Ankle::draw(&mut Random::new(seed ^ 0xA7, case)));
    attempt(seed, case, &tally);
    tally.into_inner().map_or(1, |tally| {
        println!("{:?}", tally.verdicts);
        tally.breaks
    })
}
