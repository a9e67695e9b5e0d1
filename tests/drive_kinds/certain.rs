//! What is certain of every build of a drive holds for builds drawn at random, and is close to what they reach.

use std::f64::consts::FRAC_PI_2;

use unloop::drive::{
    Assembly, BallRod, BallRodPoints, Drawing, FixedRatio, JointDrive, LinearActuator, Measure,
    OneJoint, Slider,
};
use unloop::equivalence::{
    Assessment, Basis, Criterion, DirectJoint, DriveJudgement, DriveLimits, DriveQuestion, Limits,
    Outcome, SizeRanges, Verdict, Zeroing, drive_outcome, judge_drive,
};
use unloop::numeric::Interval;

use crate::known::{axis, vector};

fn deg(x: f64) -> f64 {
    x.to_radians()
}

fn knee() -> Drawing {
    Drawing::BallRod {
        sizes: BallRod {
            ground: 0.3,
            crank: 0.045,
            coupler: 0.3,
            rocker: 0.045,
            axial: 0.0,
            twist: deg(4.5),
            lean: deg(2.0),
        },
        zero_crank: FRAC_PI_2,
        assembly: Assembly::Open,
    }
}

fn knee_by_points() -> Drawing {
    Drawing::BallRodPoints(BallRodPoints {
        motor: axis([0.0; 3], [0.0, 1.0, 0.0]),
        joint: axis([0.0, 0.0, -0.3], [0.0784591, 0.9969173, 0.0]),
        crank: vector([0.045, 0.012, 0.0]),
        rocker: vector([0.0458, 0.00843, -0.3]),
        rod: None,
    })
}

fn actuator() -> Drawing {
    Drawing::PlanarActuator {
        ground: 0.3,
        rocker: 0.045,
        line_offset: 0.01,
        lead: 0.005,
        zero_rocker: 1.75,
        lengths: Some([0.2, 0.35]),
    }
}

fn actuator_by_points() -> Drawing {
    let points = LinearActuator {
        motor: vector([0.0, 0.01, 0.0]),
        joint: axis([0.3, 0.0, 0.0], [0.02, 0.03, 1.0]),
        rocker: vector([0.292, 0.044, 0.003]),
        line_offset: 0.004,
        lead: 0.005,
    };
    Drawing::ActuatorPoints { points, lengths: None }
}

fn slider() -> Drawing {
    Drawing::PlanarSlider {
        ground: 0.3,
        coupler: 0.09,
        rocker: 0.045,
        guide: [0.0, 0.0675],
        direction: 0.02,
        lead: 0.004,
        zero_rocker: 1.5,
        nut: 0.2,
    }
}

fn slider_by_points() -> Drawing {
    let points = Slider {
        guide: vector([0.0, 0.0675, 0.0]),
        direction: vector([1.0, 0.02, 0.0]),
        coupler: 0.09,
        joint: axis([0.3, 0.0, 0.0], [0.0, 0.05, 1.0]),
        rocker: vector([0.3, 0.045, 0.002]),
        lead: 0.004,
    };
    Drawing::SliderPoints { points, nut: 0.2 }
}

fn chain() -> Drawing {
    Drawing::Series(vec![Drawing::FixedRatio(FixedRatio(-2.5)), knee(), knee_lower()])
}

fn knee_lower() -> Drawing {
    Drawing::BallRod {
        sizes: BallRod {
            ground: 0.2,
            crank: 0.05,
            coupler: 0.205,
            rocker: 0.06,
            axial: 0.0,
            twist: 0.0,
            lean: 0.0,
        },
        zero_crank: deg(80.0),
        assembly: Assembly::Open,
    }
}

struct Case {
    name: &'static str,
    drawing: Drawing,
    drive: JointDrive,
    turns: [f64; 2],
    /// Share of ±0.1 mm and ±0.1 deg on every size, a thousandth of it on leads.
    share: f64,
    zeroing: Zeroing,
}

impl Case {
    fn new(name: &'static str, drawing: Drawing, turns: [f64; 2], share: f64) -> Self {
        let drive = drawing.drive().unwrap();
        Self { name, drawing, drive, turns, share, zeroing: Zeroing::OnEachRobot }
    }

    fn zeroed_as_drawn(self, name: &'static str) -> Self {
        Self { name, zeroing: Zeroing::AsDrawn, ..self }
    }

    fn ranges(&self) -> SizeRanges {
        let range = |size: unloop::drive::Size| {
            let by = self.share
                * match (size.measure, size.name) {
                    (Measure::Length, "lead") => 1e-7,
                    (Measure::Length, _) => 1e-4,
                    (Measure::Angle, _) => deg(0.1),
                    (Measure::Number, _) => 0.0,
                };
            Interval::new(size.value - by, size.value + by)
        };
        let all: Vec<Interval> = self.drawing.sizes().into_iter().map(range).collect();
        SizeRanges { typed: all.clone(), all }
    }

    fn question(&self, limits: DriveLimits) -> DriveQuestion<'_> {
        let ends = self.turns.map(|turn| self.drive.motor_turn(turn).unwrap());
        let ratio = (ends[1] - ends[0]) / (self.turns[1] - self.turns[0]);
        DriveQuestion {
            drawing: &self.drawing,
            drive: &self.drive,
            turns: self.turns,
            joint: DirectJoint { ratio, offset: 0.0 },
            limits,
            basis: Basis::Tolerance,
            sizes: self.ranges(),
            zeroing: self.zeroing,
        }
    }
}

/// What a bound may be above the largest build found, as a share. A search ends when its bound is within 2 % of the largest
/// value seen; the builds found here may come a little short of that one.
const CLOSE: f64 = 1.03;

fn cases() -> Vec<Case> {
    let turns = [-0.6, 0.65];
    vec![
        Case::new("ball rod", knee(), turns, 1.0),
        Case::new("ball rod", knee(), turns, 1.0).zeroed_as_drawn("ball rod zeroed as drawn"),
        Case::new("ball rod as drawn", knee(), turns, 0.0),
        Case::new("ball rod by points", knee_by_points(), turns, 0.5),
        Case::new("actuator", actuator(), [-0.3, 0.3], 1.0),
        Case::new("actuator", actuator(), [-0.3, 0.3], 1.0)
            .zeroed_as_drawn("actuator zeroed as drawn"),
        Case::new("actuator by points", actuator_by_points(), [-0.3, 0.3], 0.5),
        Case::new("slider", slider(), [-0.4, 0.4], 1.0),
        Case::new("slider by points", slider_by_points(), [-0.4, 0.4], 0.5),
        Case::new("chain", chain(), [-0.4, 0.5], 1.0),
    ]
}

const WIDE: DriveLimits = DriveLimits {
    motion: Limits { angle: 1.0, ratio: 10.0, transmission_angle: 0.1 },
    ball_tilt: Some(1.0),
    crank_side: Some(0.1),
};

fn not_given() -> Assessment {
    Assessment::not_assessed(Criterion::Inertia, 0.05, Basis::Tolerance)
}

fn judged(case: &Case, limits: DriveLimits) -> DriveJudgement {
    judge_drive(&case.question(limits), not_given()).unwrap()
}

/// Figures of one build at one joint turn, from its rods alone: ratio, motor turn, and the margins, worst first.
struct Pose {
    ratio: f64,
    motor: f64,
    transmission: f64,
    side: f64,
    tilt: f64,
}

fn pose(drawings: &[&Drawing], sizes: &[f64], joint: f64, zeroing: Zeroing) -> Pose {
    let mut whole =
        Pose { ratio: 1.0, motor: joint, transmission: FRAC_PI_2, side: FRAC_PI_2, tilt: 0.0 };
    let mut left = sizes;
    for drawing in drawings.iter().rev() {
        let (rest, own) = left.split_at(left.len() - drawing.sizes().len());
        left = rest;
        if let Drawing::FixedRatio(_) = drawing {
            (whole.ratio, whole.motor) = (whole.ratio * own[0], whole.motor * own[0]);
            continue;
        }
        let built = drawing.built(own).unwrap();
        let values: Vec<f64> = drawing.sizes().iter().map(|s| s.value).collect();
        let drawn = drawing.built(&values).unwrap();
        let by_crank = drawing.sizes().iter().any(|s| s.name == "zero_crank");
        let mut turn = whole.motor;
        if zeroing == Zeroing::AsDrawn && by_crank {
            turn -= built.ahead_of(drawn.foot - drawn.joint.point);
        }
        let here = built.pose(turn).unwrap();
        let there = if zeroing == Zeroing::AsDrawn && !by_crank { &drawn } else { &built };
        let there = there.input.angle(there.at(0.0).unwrap().0.place, 0.0);
        let JointDrive::Rod(rod) = drawing.drive().unwrap() else { unreachable!() };
        let guess = rod.motor_turn(turn).unwrap() + there;
        whole.ratio *= here.ratio;
        whole.motor = built.input.angle(here.reached.place, guess) - there;
        whole.transmission = whole.transmission.min(here.transmission_angle());
        whole.side = whole.side.min(here.crank_side().unwrap_or(FRAC_PI_2));
        whole.tilt = here.ball_tilts().into_iter().flatten().fold(whole.tilt, f64::max);
    }
    whole
}

/// Builds spread over the box: its corners by a fixed pattern, and points inside.
fn builds(case: &Case) -> impl Iterator<Item = (Vec<f64>, f64)> {
    let (ranges, turns) = (case.ranges().typed, case.turns);
    (0..3000_u64).map(move |n| {
        let mut bits = n.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ (n << 21);
        let mut share = |is_corner: bool| {
            bits = bits.wrapping_mul(0xD129_42F0_9E37_79B9).rotate_left(17);
            if is_corner {
                f64::from((bits >> 60) as u8 & 1)
            } else {
                (bits >> 40) as f64 / (1_u64 << 24) as f64
            }
        };
        let sizes = ranges.iter().map(|r| r.lo() + share(n % 2 == 0) * r.width()).collect();
        (sizes, turns[0] + share(n % 4 == 0) * (turns[1] - turns[0]))
    })
}

fn stages(drawing: &Drawing) -> Vec<&Drawing> {
    match drawing {
        Drawing::Series(stages) => stages.iter().collect(),
        one => vec![one],
    }
}

#[test]
fn no_build_of_any_kind_exceeds_what_is_certain() {
    for case in cases() {
        let found = judged(&case, WIDE);
        let bound = |criterion| {
            let one = found.criteria.iter().find(|c| c.criterion == criterion)?;
            assert_eq!(one.outcome, Outcome::Holds, "{}: {one:?}", case.name);
            Some(one.bound.unwrap().value())
        };
        let [angle, ratio] = [Criterion::Angle, Criterion::Ratio].map(|c| bound(c).unwrap());
        let [least, side, tilt] =
            [Criterion::TransmissionAngle, Criterion::CrankSide, Criterion::BallTilt].map(bound);
        let direct = case.question(WIDE).joint;
        let drawings = stages(&case.drawing);
        for (sizes, joint) in builds(&case) {
            let at = pose(&drawings, &sizes, joint, case.zeroing);
            let name = case.name;
            let off = at.ratio / direct.ratio - 1.0;
            assert!(off.abs() <= ratio, "{name}: {off} {ratio} {sizes:?} {joint}");
            let error = joint - at.motor / direct.ratio;
            assert!(error.abs() <= angle + 1e-14, "{name}: {error} {angle} {sizes:?} {joint}");
            assert!(at.transmission >= least.unwrap(), "{name}: {} {least:?}", at.transmission);
            assert!(side.is_none_or(|side| at.side >= side), "{name}: {} {side:?}", at.side);
            assert!(tilt.is_none_or(|tilt| at.tilt <= tilt), "{name}: {} {tilt:?}", at.tilt);
        }
    }
}

/// The largest error of the builds in the corners of the tolerances, found by climbing from many poses.
fn reached(case: &Case, figure: impl Fn(&Pose, f64) -> f64) -> f64 {
    let drawings = stages(&case.drawing);
    let ranges = case.ranges().typed;
    let value =
        |sizes: &[f64], joint: f64| figure(&pose(&drawings, sizes, joint, case.zeroing), joint);
    let mut best = 0.0_f64;
    for side in [1.0, -1.0] {
        for k in 0..=40 {
            let joint = case.turns[0] + (case.turns[1] - case.turns[0]) * f64::from(k) / 40.0;
            let mut sizes: Vec<f64> = ranges.iter().map(|r| r.mid()).collect();
            for _ in 0..2 {
                for (k, range) in ranges.iter().enumerate() {
                    let at = |end: f64| {
                        let mut moved = sizes.clone();
                        moved[k] = end;
                        side * value(&moved, joint)
                    };
                    sizes[k] =
                        if at(range.hi()) > at(range.lo()) { range.hi() } else { range.lo() };
                }
            }
            best = best.max(side * value(&sizes, joint));
        }
    }
    best
}

#[test]
fn what_is_certain_is_close_to_what_the_worst_builds_reach() {
    for case in cases() {
        let direct = case.question(WIDE).joint;
        let ratio = reached(&case, |at, _| at.ratio / direct.ratio - 1.0);
        let angle = reached(&case, |at, joint| joint - at.motor / direct.ratio);
        // A figure far below its limit is not bounded closely: the limits are of the size of what is reached.
        let motion = Limits { angle: 2.0 * angle, ratio: 2.0 * ratio, ..WIDE.motion };
        let found = judged(&case, DriveLimits { motion, ..WIDE });
        let bound = |criterion| {
            found.criteria.iter().find(|c| c.criterion == criterion).unwrap().bound.unwrap().value()
        };
        for (criterion, reached) in [(Criterion::Ratio, ratio), (Criterion::Angle, angle)] {
            let share = bound(criterion) / reached;
            assert!(share <= CLOSE, "{} {criterion:?}: {share}", case.name);
        }
    }
}

#[test]
fn each_kind_holds_fails_with_a_witness_and_is_never_called_equivalent_in_between() {
    for case in cases() {
        let wide = judged(&case, WIDE);
        assert_eq!(wide.verdict, Verdict::Equivalent, "{}", case.name);
        assert_eq!(wide.proved_turns, Some(case.turns));
        let direct = case.question(WIDE).joint;
        let ratio = reached(&case, |at, _| at.ratio / direct.ratio - 1.0);
        let with = |limit: f64| {
            let motion = Limits { ratio: limit, ..WIDE.motion };
            let judged = judged(&case, DriveLimits { motion, ..WIDE });
            let alone = drive_outcome(&case.question(DriveLimits { motion, ..WIDE }));
            match judged.verdict {
                Verdict::Equivalent => assert_eq!(alone, Outcome::Holds, "{}", case.name),
                Verdict::NotEquivalent => assert_eq!(alone, Outcome::Fails, "{}", case.name),
                Verdict::Undecided => {}
            }
            judged
        };
        let refuted = with(0.9 * ratio);
        assert_eq!(refuted.verdict, Verdict::NotEquivalent, "{}", case.name);
        if let Some((criterion, witness)) = &refuted.witness {
            assert_eq!(*criterion, Criterion::Ratio);
            let at = pose(&stages(&case.drawing), &witness.sizes, witness.joint, case.zeroing);
            let off = (at.ratio / direct.ratio - 1.0).abs();
            assert!(off > 0.9 * ratio && (off - witness.value).abs() < 1e-9, "{}", case.name);
            for (size, range) in witness.sizes.iter().zip(case.ranges().typed) {
                assert!(range.contains(*size), "{}", case.name);
            }
        }
        assert_ne!(with(0.9999 * ratio).verdict, Verdict::Equivalent, "{}", case.name);
        assert_eq!(with(1.5 * ratio).verdict, Verdict::Equivalent, "{}", case.name);
    }
}
