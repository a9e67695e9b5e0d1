//! Two direct joints for two motors on a universal joint: the verdict over a region and every build.

use crate::ankles::{ankle_a, ankle_b, ankle_c, ankle_linear};

use unloop::drive::{Axis, Direct, DrawnLeg, Measure, Region, TwoRods, TwoRodsDrawing, Vector};
use unloop::equivalence::{
    Assessment, Basis, Criterion, Outcome, RegionJudgement, RegionLimits, RegionQuestion,
    SizeRanges, Verdict, Zeroing, judge_region, largest_region, region_map, region_outcome,
    size_range, typed_range,
};
use unloop::numeric::{Interval, evenly};

const DEG: f64 = std::f64::consts::PI / 180.0;
const MM: f64 = 1e-3;

fn region(pitch: [f64; 2], roll: f64) -> [[f64; 2]; 2] {
    [pitch.map(|end| end * DEG), [-roll * DEG, roll * DEG]]
}

/// ± lengths (m) and ± angles (rad) on every size but leads and line offsets.
fn ranges(drawing: &TwoRodsDrawing, length: f64, angle: f64) -> SizeRanges {
    let by = |size: &unloop::drive::Size| match (size.name, size.measure) {
        ("lead" | "line_offset", _) => 0.0,
        (_, Measure::Length) => length,
        _ => angle,
    };
    let each = |of: fn(f64, f64, f64) -> unloop::numeric::Interval| {
        drawing.sizes().iter().map(|size| of(size.value, -by(size), by(size))).collect()
    };
    SizeRanges { all: each(size_range), typed: each(typed_range) }
}

const WIDE: RegionLimits =
    RegionLimits { angle: 1.0, ratio: 1.0, transmission_angle: 5.0 * DEG, ball_tilt: None };

struct Asked {
    drawing: TwoRodsDrawing,
    drive: TwoRods,
    turns: [[f64; 2]; 2],
    tolerance: [f64; 2],
    zeroing: Zeroing,
}

impl Asked {
    fn new(drawing: TwoRodsDrawing, turns: [[f64; 2]; 2], tolerance: [f64; 2]) -> Self {
        let drive = drawing.drive().unwrap();
        Self { drawing, drive, turns, tolerance, zeroing: Zeroing::OnEachRobot }
    }

    fn question(&self, limits: RegionLimits) -> RegionQuestion<'_> {
        let [length, angle] = self.tolerance;
        RegionQuestion {
            drawing: &self.drawing,
            drive: &self.drive,
            turns: self.turns,
            direct: Direct::zero_pose(&self.drive).unwrap(),
            limits,
            basis: if length > 0.0 { Basis::Tolerance } else { Basis::Nominal },
            sizes: ranges(&self.drawing, length, angle),
            zeroing: self.zeroing,
        }
    }

    fn judge(&self, limits: RegionLimits) -> RegionJudgement {
        judge_region(&self.question(limits), inertia()).unwrap()
    }
}

fn inertia() -> Assessment {
    Assessment::not_assessed(Criterion::Inertia, 0.05, Basis::Nominal)
}

/// Random numbers that are the same on every run.
struct Random(u64);

impl Random {
    fn within(&mut self, low: f64, high: f64) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((self.0 >> 11) as f64 / (1_u64 << 53) as f64)
    }
}

/// What one build shows in one pose, from its own motor turns and rates alone.
#[derive(Clone, Copy, Debug)]
struct Seen {
    rates: [f64; 4],
    norm: f64,
    angles: [f64; 2],
    joint_side: f64,
    crank_side: f64,
}

fn build(drawing: &TwoRodsDrawing, sizes: &[f64]) -> Option<TwoRods> {
    let exactly: Vec<Interval> = sizes.iter().map(|x| Interval::point(*x)).collect();
    TwoRods::new(drawing.built(&exactly)?).ok()
}

fn shown(direct: &Direct, drive: &TwoRods, joints: [f64; 2]) -> Option<Seen> {
    let pose = drive.pose(joints).ok()?;
    let error = direct.rate_error(&pose);
    let sides = [0, 1].map(|k| pose.crank_side(k).unwrap_or(f64::INFINITY));
    Some(Seen {
        rates: [error.m11, error.m12, error.m21, error.m22],
        norm: error.singular_values().max(),
        angles: direct.angle_error(drive, joints).ok()?,
        joint_side: pose.joint_side(0).min(pose.joint_side(1)),
        crank_side: sides[0].min(sides[1]),
    })
}

/// The worst of a figure that was found by turning every size from one end to the other, in poses at both ends of pitch.
fn worst(asked: &Asked, of: fn(&Seen) -> f64) -> f64 {
    let question = asked.question(WIDE);
    let typed = &question.sizes.typed;
    let drawn: Vec<f64> = asked.drawing.sizes().iter().map(|size| size.value).collect();
    let [pitch, roll] = asked.turns;
    let poses = pitch.iter().flat_map(|p| evenly(roll, 8).map(move |r| [*p, r]));
    let value = |sizes: &[f64], joints| {
        build(&asked.drawing, sizes)
            .and_then(|drive| shown(&question.direct, &drive, joints))
            .map_or(f64::NEG_INFINITY, |shown| of(&shown))
    };
    // The norm has more than one crest: from the drawn sizes, and from two corners at random.
    let mut random = Random(3);
    let mut corner = || {
        let end = |range: &Interval| {
            if random.within(0.0, 1.0) < 0.5 { range.lo() } else { range.hi() }
        };
        typed.iter().map(end).collect()
    };
    let starts: [Vec<f64>; 3] = [drawn, corner(), corner()];
    let climbed = poses.flat_map(|joints| starts.iter().map(move |start| (joints, start)));
    let climbed = climbed.map(|(joints, start)| {
        let mut sizes = start.clone();
        let mut best = value(&sizes, joints);
        for k in (0..sizes.len()).chain(0..sizes.len()) {
            for end in [typed[k].lo(), typed[k].hi()] {
                let kept = std::mem::replace(&mut sizes[k], end);
                let here = value(&sizes, joints);
                if here > best { best = here } else { sizes[k] = kept }
            }
        }
        best
    });
    climbed.fold(f64::NEG_INFINITY, f64::max)
}

fn norm(shown: &Seen) -> f64 {
    shown.norm
}

fn angle(shown: &Seen) -> f64 {
    shown.angles[0].abs().max(shown.angles[1].abs())
}

fn outcome(judged: &RegionJudgement, criterion: Criterion) -> Outcome {
    judged.criteria.iter().find(|c| c.criterion == criterion).unwrap().outcome
}

/// Limits that every drawn ankle breaks at once: for its figures alone.
const NOTHING: RegionLimits = RegionLimits {
    angle: 1e-9,
    ratio: 1e-9,
    transmission_angle: 89.9 * DEG,
    ball_tilt: Some(1e-9),
};

const FINE: [f64; 2] = [0.05 * MM, 0.05 * DEG];

#[test]
fn the_drawn_ankles_err_as_worked_out_over_every_region() {
    // Norm of E in percent and angle error in deg with T of the zero pose.
    let regions =
        [([-35.0, 25.0], 15.0), ([-20.0, 20.0], 8.0), ([-20.0, 20.0], 4.0), ([-10.0, 10.0], 5.0)];
    let told = [
        (ankle_a(), [[10.5, 0.72], [2.7, 0.10], [1.3, 0.03], [0.8, 0.02]]),
        (ankle_b(), [[24.0, 1.6], [7.0, 0.61], [5.8, 0.53], [3.2, 0.14]]),
        (ankle_c(), [[27.0, 2.1], [12.0, 0.61], [8.8, 0.59], [5.4, 0.17]]),
    ];
    for (drawing, told) in told {
        for ((pitch, roll), [percent, degrees]) in regions.into_iter().zip(told) {
            let judged = Asked::new(drawing, region(pitch, roll), [0.0; 2]).judge(NOTHING);
            let figures = &judged.figures;
            let norm = 1e2 * figures.rate_error_norm.value;
            let angle = figures.angle_error.map(|peak| peak.value.abs() / DEG);
            let angle = angle[0].max(angle[1]);
            let room = if percent > 10.0 { 0.55 } else { 0.055 };
            assert!((norm - percent).abs() < room, "{pitch:?} {roll}: {norm} {percent}");
            let room = if degrees > 1.0 { 0.055 } else { 0.0055 };
            assert!((angle - degrees).abs() < room, "{pitch:?} {roll}: {angle} {degrees}");
            assert_eq!(judged.verdict, Verdict::NotEquivalent);
        }
    }
}

#[test]
fn a_limit_above_the_worst_build_is_proved_and_one_below_it_is_refuted_with_the_build() {
    for drawing in [ankle_b(), ankle_linear()] {
        let asked = Asked::new(drawing, region([-15.0, 12.0], 6.0), FINE);
        let [ratio, turned] = [norm, angle].map(|of| worst(&asked, of));
        let above = RegionLimits { ratio: 1.08 * ratio, angle: 1.1 * turned, ..WIDE };
        let judged = asked.judge(above);
        assert_eq!((judged.verdict, judged.proved), (Verdict::Equivalent, true), "{judged:?}");
        assert_eq!(region_outcome(&asked.question(above)), Some(Outcome::Holds));
        let bounds = judged.bounds.unwrap();
        assert!(
            bounds.rate_error_norm >= ratio && bounds.rate_error_norm < 1.06 * ratio,
            "{bounds:?} {ratio}"
        );
        let most = bounds.angle_error[0].max(bounds.angle_error[1]);
        assert!(most >= turned && most < 1.09 * turned, "{bounds:?} {turned}");
        bounds_hold(&asked, &judged);
        for (criterion, limits) in [
            (Criterion::Ratio, RegionLimits { ratio: 0.97 * ratio, ..above }),
            (Criterion::Angle, RegionLimits { angle: 0.97 * turned, ..above }),
        ] {
            let judged = asked.judge(limits);
            assert_eq!((judged.verdict, judged.proved), (Verdict::NotEquivalent, true));
            assert_eq!(region_outcome(&asked.question(limits)), Some(Outcome::Fails));
            assert_eq!(outcome(&judged, criterion), Outcome::Fails);
            let (failed, witness) = judged.witness.unwrap();
            let drive = build(&asked.drawing, &witness.sizes).unwrap();
            let again = shown(&asked.question(WIDE).direct, &drive, witness.joints).unwrap();
            let [again, limit] = if criterion == Criterion::Ratio {
                [again.norm, limits.ratio]
            } else {
                [angle(&again), limits.angle]
            };
            assert_eq!(failed, criterion);
            assert!(
                again > limit && (again - witness.value).abs() < 1e-9 * again,
                "{witness:?} {again}"
            );
            let ranges = asked.question(WIDE).sizes.typed;
            assert!(witness.sizes.iter().zip(&ranges).all(|(x, range)| range.contains(*x)));
        }
    }
}

/// No build at random, and none with every size at an end, is beyond the certified bounds in any pose.
fn bounds_hold(asked: &Asked, judged: &RegionJudgement) {
    let (bounds, question) = (judged.bounds.unwrap(), asked.question(WIDE));
    let floor = |criterion| {
        let found = judged.criteria.iter().find(|c| c.criterion == criterion);
        found.map_or(0.0, |c| c.bound.unwrap().value())
    };
    let [joint_side, crank_side] = [Criterion::TransmissionAngle, Criterion::CrankSide].map(floor);
    let mut random = Random(7);
    for n in 0..1500 {
        let sizes: Vec<f64> = question
            .sizes
            .typed
            .iter()
            .map(|range| {
                let inside = random.within(range.lo(), range.hi());
                if n % 2 == 0 {
                    inside
                } else if inside > range.mid() {
                    range.hi()
                } else {
                    range.lo()
                }
            })
            .collect();
        let [pitch, roll] = asked.turns.map(|[from, to]| {
            let turn = random.within(1.3 * from, 1.3 * to);
            turn.clamp(from, to)
        });
        let drive = build(&asked.drawing, &sizes).unwrap();
        let shown = shown(&question.direct, &drive, [pitch, roll]).unwrap();
        let entries = shown.rates.into_iter().zip(bounds.rate_error.concat());
        assert!(entries.into_iter().all(|(x, most)| x.abs() <= most), "{shown:?} {bounds:?}");
        assert!(shown.norm <= bounds.rate_error_norm, "{shown:?} {bounds:?}");
        let angles = shown.angles.into_iter().zip(bounds.angle_error);
        assert!(angles.into_iter().all(|(x, most)| x.abs() <= most), "{shown:?} {bounds:?}");
        assert!(shown.joint_side >= joint_side && shown.crank_side >= crank_side, "{shown:?}");
    }
}

#[test]
fn a_pose_inside_the_region_where_the_foot_is_loose_or_a_crank_is_dead_is_never_passed() {
    let loose = RegionLimits { angle: 1e3, ratio: 1e6, transmission_angle: 1e-3, ball_tilt: None };
    for pitch in [[-120.0, 10.0], [-88.0, 60.0], [-10.0, 100.0]] {
        let asked = Asked::new(ankle_a(), region(pitch, 3.0), [0.0; 2]);
        let judged = judge_region(&asked.question(loose), inertia());
        assert!(judged.is_none_or(|judged| judged.verdict != Verdict::Equivalent), "{pitch:?}");
    }
}

#[test]
fn a_region_that_some_builds_do_not_reach_is_never_passed() {
    // As drawn the ankle comes to a crank's limit just beyond the region: find it, then stop short of it by less than the
    // tolerance takes.
    let drawing = ankle_a();
    let drive = drawing.drive().unwrap();
    let reaches = |pitch: f64| drive.motor_turns([-pitch, 0.0]).is_ok();
    let (mut low, mut high) = (0.5, 2.5);
    while high - low > 1e-9 {
        let middle = 0.5 * (low + high);
        if reaches(middle) { low = middle } else { high = middle }
    }
    let loose = RegionLimits { angle: 1e3, ratio: 1e9, transmission_angle: 1e-9, ball_tilt: None };
    let turns = [[-(low - 1e-4), 0.1], [-0.01, 0.01]];
    for tolerance in [[0.0; 2], [0.2 * MM, 0.1 * DEG]] {
        let asked = Asked::new(drawing, turns, tolerance);
        let judged = judge_region(&asked.question(loose), inertia());
        assert!(judged.is_none_or(|judged| judged.verdict != Verdict::Equivalent));
    }
}

#[test]
fn a_mirrored_ankle_gets_the_mirrored_answer_and_scale_changes_nothing() {
    let drawing = ankle_b();
    let [left, right] = drawing.legs;
    let mirrored = TwoRodsDrawing { legs: [right.mirrored(), left.mirrored()], ..drawing };
    let limits = RegionLimits {
        angle: 0.5 * DEG,
        ratio: 0.06,
        transmission_angle: 30.0 * DEG,
        ball_tilt: None,
    };
    let turns = [[-8.0 * DEG, 6.0 * DEG], [-3.0 * DEG, 5.0 * DEG]];
    let [pitch, [from, to]] = turns;
    let one = Asked::new(drawing, turns, FINE).judge(limits);
    let other = Asked::new(mirrored, [pitch, [-to, -from]], FINE).judge(limits);
    assert_eq!(one.verdict, other.verdict);
    let (figures, its) = (one.figures, other.figures);
    for (row, column) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
        let sign = if row == column { 1.0 } else { -1.0 };
        let [own, its] = [figures, its].map(|f| f.rate_error[row][column].value);
        assert!((own - sign * its).abs() < 1e-9, "{row} {column} {own} {its}");
    }
    assert!((figures.rate_error_norm.value - its.rate_error_norm.value).abs() < 1e-9);
    assert!((figures.angle_error[0].value - its.angle_error[0].value).abs() < 1e-9);
    let scaled = |v: Vector| v.map(|x| x * 1e3);
    let line = |axis: Axis| Axis { point: scaled(axis.point), ..axis };
    let leg = |leg: DrawnLeg| match leg {
        DrawnLeg::Crank { motor, crank, foot, rod } => {
            DrawnLeg::Crank { motor: line(motor), crank: scaled(crank), foot: scaled(foot), rod }
        }
        actuator => actuator,
    };
    let large = TwoRodsDrawing {
        pitch: line(drawing.pitch),
        roll: line(drawing.roll),
        legs: drawing.legs.map(leg),
    };
    let large = Asked::new(large, turns, [FINE[0] * 1e3, FINE[1]]).judge(limits);
    assert_eq!(one.verdict, large.verdict);
    let (a, b) = (one.bounds.unwrap(), large.bounds.unwrap());
    assert!((a.rate_error_norm - b.rate_error_norm).abs() < 1e-6, "{a:?} {b:?}");
    assert!((figures.smallest_arm.value * 1e3 - large.figures.smallest_arm.value).abs() < 1e-6);
}

#[test]
fn a_jig_takes_out_what_the_drawn_zero_leaves_in() {
    let near = region([-1.0, 1.0], 1.0);
    let limits = RegionLimits {
        angle: 0.5 * DEG,
        ratio: 0.1,
        transmission_angle: 30.0 * DEG,
        ball_tilt: None,
    };
    let mut asked = Asked::new(ankle_a(), near, FINE);
    let jig = asked.judge(limits).bounds.unwrap().angle_error;
    asked.zeroing = Zeroing::AsDrawn;
    let drawn = asked.judge(limits).bounds.unwrap().angle_error;
    assert!(jig[0] < 0.05 * DEG && drawn[0] > 3.0 * jig[0], "{jig:?} {drawn:?}");
    // The crank's pin alone off along its circle by 0.05 mm of 45 mm.
    assert!(drawn[0] > 0.05 / 45.0, "{drawn:?}");
}

#[test]
fn the_largest_roll_that_passes_is_where_the_drawn_errors_reach_their_limits() {
    for (angle, ratio) in [(0.5, 0.02), (1.0, 0.05)] {
        let asked = Asked::new(ankle_a(), region([-20.0, 20.0], 15.0), [0.0; 2]);
        let limits = RegionLimits {
            angle: angle * DEG,
            ratio,
            transmission_angle: 30.0 * DEG,
            ball_tilt: None,
        };
        let direct = asked.question(limits).direct;
        let [pitch, [_, most]] = asked.turns;
        let passes = |roll: f64| {
            let region = Region { pitch, roll: [-roll, roll], pieces: 16 };
            let turned = |joints| direct.angle_error(&asked.drive, joints).unwrap();
            direct.worst_rate_error(&asked.drive, &region).unwrap().0 <= ratio
                && region
                    .turns()
                    .all(|joints| turned(joints).iter().all(|e| e.abs() <= limits.angle))
        };
        let (mut low, mut high) = (0.0, most);
        while high - low > 1e-3 * DEG {
            let middle = 0.5 * (low + high);
            if passes(middle) { low = middle } else { high = middle }
        }
        let found = largest_region(&asked.question(limits)).unwrap();
        let part = found.roll.unwrap();
        let [_, [from, to]] = part;
        assert!((part[0][0] - pitch[0]).abs() + (part[0][1] - pitch[1]).abs() < 1e-12);
        assert!(
            to <= high && to > low - 0.1 * DEG && (from + to).abs() < 1e-12,
            "{} {}",
            to / DEG,
            low / DEG
        );
        let both = found.both.unwrap();
        assert!(both[0][1] > 0.0 && both[0][1] < pitch[1] && both[1][1] > to);
        let cells = region_map(&asked.question(limits));
        let outcomes = |outcome: Outcome| cells.iter().filter(move |cell| cell.outcome == outcome);
        assert!(outcomes(Outcome::Holds).count() > 50 && outcomes(Outcome::Fails).count() > 0);
        assert!(outcomes(Outcome::Fails).all(|cell| {
            let [_, [low, high]] = cell.turns;
            low.abs().max(high.abs()) > to - 1e-9
        }));
        let part = Asked { turns: part, ..asked };
        assert_eq!(part.judge(limits).verdict, Verdict::Equivalent);
    }
}
