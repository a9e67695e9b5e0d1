//! Two direct joints for two motors on a universal joint: the verdict over a region and every build.

use std::time::Instant;

use unloop::drive::{Axis, Direct, DrawnLeg, Measure, Region, TwoRods, TwoRodsDrawing, Vector};
use unloop::equivalence::{
    Assessment, Basis, Criterion, Outcome, RegionJudgement, RegionLimits, RegionQuestion, Shown,
    SizeRanges, Verdict, Zeroing, judge_region, largest_region, size_range, typed_range,
};

const DEG: f64 = std::f64::consts::PI / 180.0;
const MM: f64 = 1e-3;

fn at([x, y, z]: [f64; 3]) -> Vector {
    Vector::new(x * MM, y * MM, z * MM)
}

fn crank(motor: [f64; 3], axis: [f64; 3], pin: [f64; 3], foot: [f64; 3]) -> DrawnLeg {
    let [x, y, z] = axis;
    DrawnLeg::Crank {
        motor: Axis { point: at(motor), direction: Vector::new(x, y, z) },
        crank: at(pin),
        foot: at(foot),
        rod: None,
    }
}

fn ankle(roll: [f64; 3], legs: [DrawnLeg; 2]) -> TwoRodsDrawing {
    TwoRodsDrawing {
        pitch: Axis { point: at([0.0; 3]), direction: Vector::new(0.0, 1.0, 0.0) },
        roll: Axis { point: at(roll), direction: Vector::new(1.0, 0.0, 0.0) },
        legs,
    }
}

/// Motor axes parallel, arms square to the rods.
fn ankle_a() -> TwoRodsDrawing {
    let leg = |y: f64, z: f64| crank([0.0, y, z], [0.0, 1.0, 0.0], [-45.0, y, z], [-45.0, y, 0.0]);
    ankle([0.0; 3], [leg(32.0, 280.0), leg(-32.0, 160.0)])
}

/// Motors toed in, axes apart.
fn ankle_b() -> TwoRodsDrawing {
    let (sine, cosine) = (5.0 * DEG).sin_cos();
    let left =
        crank([5.0, 30.0, 270.0], [sine, cosine, 0.0], [-40.0, 38.0, 265.0], [-48.0, 36.0, -12.0]);
    let right = crank(
        [5.0, -30.0, 150.0],
        [-sine, cosine, 0.0],
        [-40.0, -38.0, 145.0],
        [-48.0, -36.0, -12.0],
    );
    ankle([0.0, 0.0, -8.0], [left, right])
}

/// Side cranks.
fn ankle_c() -> TwoRodsDrawing {
    let leg = |side: f64| {
        crank(
            [-20.0, 5.0 * side, 200.0],
            [1.0, 0.0, 0.0],
            [-20.0, 60.0 * side, 200.0],
            [-42.0, 50.0 * side, 10.0],
        )
    };
    ankle([0.0; 3], [leg(1.0), leg(-1.0)])
}

/// Two linear actuators.
fn ankle_linear() -> TwoRodsDrawing {
    let leg = |side: f64| DrawnLeg::Actuator {
        pin: at([-50.0, 34.0 * side, 220.0]),
        foot: at([-44.0, 36.0 * side, -12.0]),
        line_offset: 0.0,
        lead: 5.0 * MM,
        lengths: None,
    };
    ankle([0.0, 0.0, -8.0], [leg(1.0), leg(-1.0)])
}

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
    Assessment {
        criterion: Criterion::Inertia,
        limit: 0.05,
        basis: Basis::Nominal,
        nominal: None,
        bound: None,
        seen: None,
        worst_at_motor: None,
        worst_at_joint: None,
        worst_at_joints: None,
        outcome: Outcome::NotAssessed,
        shown: Shown::NotShown,
        why: None,
    }
}

#[test]
fn try_it() {
    for (name, drawing) in [("A", ankle_a()), ("B", ankle_b()), ("L", ankle_linear())] {
        for (pitch, roll) in [([-35.0, 25.0], 15.0), ([-20.0, 20.0], 4.0)] {
            let tolerance = [0.1 * MM, 0.1 * DEG];
            let asked = Asked::new(drawing, region(pitch, roll), tolerance);
            let nominal = Asked::new(drawing, region(pitch, roll), [0.0; 2]);
            let tiny = RegionLimits { angle: 1e-6, ratio: 1e-6, transmission_angle: 89.9 * DEG, ball_tilt: Some(1e-6) };
            let f = nominal.judge(tiny).figures;
            for ratio in [1.1, 1.0] {
            let limits = RegionLimits {
                angle: 0.01,
                ratio: f.rate_error_norm.value * ratio + 0.008,
                transmission_angle: f.transmission_angle.value.min(f.crank_side.map_or(2.0, |x| x.value)) * 0.95,
                ball_tilt: None,
            };
            let from = Instant::now();
            let judged = asked.judge(limits);
            let time = from.elapsed();
            println!("{name} {pitch:?} {roll}: {:?} {limits:?} {time:?}", judged.verdict);
            println!("    {:?} norm {:?} angle {:?}", f.rate_error.map(|r| r.map(|p| p.value)), f.rate_error_norm.value, f.angle_error.map(|p| p.value / DEG));
            if let Some(b) = judged.bounds {
                println!("    {:?} {:.4} {:?}", b.rate_error, b.rate_error_norm, b.angle_error.map(|x| x / DEG));
            }
            for c in &judged.criteria {
                println!("    {:?} {:?} nominal {:?} bound {:?} {:?} seen {:?}", c.criterion, c.outcome, c.nominal.map(|x| x.value()), c.bound.map(|x| x.value()), c.why, c.seen);
            }
            println!("    {:?}", judged.witness.map(|w| (w.0, w.1.joints, w.1.value)));
            }
        }
    }
}
