//! The kernel and a whole check: `cargo bench --bench kernel`.

#![allow(clippy::print_stdout, reason = "its output is its purpose")]

#[path = "../tests/tightness/mod.rs"]
mod tightness;

use std::time::{Duration, Instant};

use divan::Bencher;
use divan::counter::ItemsCount;
use unloop::drive::{
    Assembly, Axis, BallRod, Direct, Drawing, DrawnLeg, Measure, RodDrive, Size, TwoRodsDrawing,
    Vector,
};
use unloop::equivalence::{
    Assessment, Basis, Criterion, DirectJoint, DriveJudgement, DriveLimits, DriveQuestion, Family,
    Finger, InertiaAsk, Limits, PadLimits, PadMotion, Prover, RegionLimits, RegionQuestion,
    SizeRanges, Zeroing, assess_in_space, drive_outcome, judge_drive, judge_region, largest_stroke,
    largest_tolerance, region_outcome,
};
use unloop::linkage::{
    Batch, Branch, Closure, Drive, FourBar, Pad, PadOn, Stroke, Sweep, sweep_batch,
};
use unloop::numeric::Interval;

use tightness::Case;

const KNEE: FourBar = FourBar { ground: 0.2, crank: 0.05, coupler: 0.21, rocker: 0.06 };
const POSES: usize = 4096;

fn main() {
    print_tightness();
    print_proof_of_a_pad();
    divan::main();
}

/// Both proofs in turns, each the best of many: the machine has other work.
fn print_proof_of_a_pad() {
    let (Some(drawn), Some((branch, finger))) = (drawn(), gripper()) else { return };
    let mut best = [Duration::MAX; 2];
    let mut boxes = [0; 2];
    for _ in 0..200 {
        let [joint, pad] = [of_joint(&drawn), of_pad(&branch, &finger)];
        best = [best[0].min(joint.0), best[1].min(pad.0)];
        boxes = [joint.1, pad.1];
    }
    let [joint, pad] = best.map(|time| 1e3 * time.as_secs_f64());
    let [of_joint, of_pad] = boxes;
    println!(
        "proof of a joint {joint:.3} ms ({of_joint} boxes), of a pad {pad:.3} ms ({of_pad} boxes): {:.2} times\n",
        pad / joint
    );
}

fn timed(prover: &Prover<'_>, family: &Family, turns: [f64; 2]) -> (Duration, u32) {
    let start = Instant::now();
    let found = prover.judge(divan::black_box(family), turns);
    (start.elapsed(), found.figures.iter().map(|(_, finding)| finding.boxes).sum())
}

fn of_joint(drawn: &Branch) -> (Duration, u32) {
    timed(&prover(drawn), &Family::symmetric(&ANKLE, 1e-4, Interval::ZERO), TURNS)
}

fn of_pad(branch: &Branch, finger: &Finger) -> (Duration, u32) {
    let family = Family::symmetric(&GRIPPER, 2e-5, Interval::ZERO);
    timed(&prover(branch).of_pad(Some(finger)), &family, GRIPPER_TURNS)
}

/// Every box of the grid: its certified bound over the largest figure of a corner (1 is exact), boxes looked at, time.
fn print_tightness() {
    println!(
        "bound / worst corner                     angle    ratio    transmission  boxes  time"
    );
    for case in tightness::grid() {
        let Some(corner) = tightness::worst_corner(&case) else { continue };
        let found = case.prover().judge(&case.family, case.turns);
        let tight = tightness::tightness(&found, corner)
            .map(|share| share.map_or_else(|| "-".to_owned(), |share| format!("{share:.6}")));
        let boxes: u32 = found.figures.iter().map(|(_, finding)| finding.boxes).sum();
        println!(
            "{:<40} {:<8} {:<8} {:<13} {boxes:<6} {:.3} ms",
            name(&case),
            tight[0],
            tight[1],
            tight[2],
            1e3 * proof_time(&case).as_secs_f64()
        );
    }
    println!();
}

fn name(case: &Case) -> String {
    let FourBar { ground, crank, coupler, rocker } = *case.branch.bars();
    let [a, b, c, g] = [crank, coupler, rocker, ground].map(|length| 1e3 * length);
    let half = 0.5e3 * (case.family.bars.ground.hi() - case.family.bars.ground.lo());
    format!("{a:.0}/{b:.0}/{c:.0}/{g:.0} mm ±{half:.2} mm ±{:.0} deg", case.turns[1].to_degrees())
}

/// The best of five.
fn proof_time(case: &Case) -> Duration {
    let once = |_| {
        let start = Instant::now();
        divan::black_box(case.prover().judge(divan::black_box(&case.family), case.turns));
        start.elapsed()
    };
    (0..5).map(once).min().unwrap_or_default()
}

fn angles() -> Vec<f64> {
    let poses = i32::try_from(POSES).unwrap_or(i32::MAX);
    (0..poses).map(|k| 0.8 + 1.4 * f64::from(k) / f64::from(poses - 1)).collect()
}

/// Velocity ratio and transmission angle of many poses, their directions tabulated.
#[divan::bench]
fn a_batch_of_poses(bencher: Bencher<'_, '_>) {
    let cos: Vec<f64> = angles().into_iter().map(libm::cos).collect();
    let sin: Vec<f64> = angles().into_iter().map(libm::sin).collect();
    let (mut velocity_ratio, mut sin_transmission) = (vec![0.0; POSES], vec![0.0; POSES]);
    bencher.counter(ItemsCount::new(POSES)).bench_local(|| {
        let batch = Batch {
            cos: divan::black_box(&cos),
            sin: divan::black_box(&sin),
            velocity_ratio: &mut velocity_ratio,
            sin_transmission: &mut sin_transmission,
        };
        sweep_batch(divan::black_box(&KNEE), Closure::Open, batch);
    });
}

/// One pose with all its digits, sine and cosine included.
#[divan::bench]
fn one_pose() -> Option<f64> {
    let pose = divan::black_box(KNEE).at(divan::black_box(1.1), Closure::Open);
    pose.ok().map(|p| p.velocity_ratio())
}

/// Every stationary pose of a stroke, with certainty.
#[divan::bench]
fn a_sweep(bencher: Bencher<'_, '_>) {
    let Ok(branch) = Branch::through(KNEE, 1.4, Closure::Open) else { return };
    let Ok(stroke) = Stroke::on(&branch, Drive::Motor, [-0.6, 0.8]) else { return };
    bencher.bench_local(|| Sweep::over(divan::black_box(&branch), stroke).is_ok());
}

/// Design in, findings out.
#[divan::bench]
fn a_check(bencher: Bencher<'_, '_>) {
    let text = include_bytes!("../models/ankle.toml");
    bencher.bench_local(|| {
        let design = unloop::design::read("ankle.toml", divan::black_box(text)).map(|(d, _)| d);
        design.is_ok_and(|design| unloop::study::check(&design).is_ok())
    });
}

const ANKLE: FourBar = FourBar { ground: 0.21, crank: 0.042, coupler: 0.21, rocker: 0.042 };
const TURNS: [f64; 2] = [-0.785, 0.785];

/// The drawn parallelogram, which is to be proved over ±45 deg with every length ±0.1 mm.
fn drawn() -> Option<Branch> {
    Branch::through(ANKLE, std::f64::consts::FRAC_PI_2, Closure::Open).ok()
}

fn prover(branch: &Branch) -> Prover<'_> {
    let limits = Limits { angle: 0.0087, ratio: 0.02, transmission_angle: 0.52 };
    let joint = DirectJoint { ratio: 1.0, offset: 0.0 };
    Prover::new(branch, &joint, Zeroing::OnEachRobot, limits)
}

/// Angle, ratio and transmission angle over every pose and every linkage, each bound to a thousandth.
#[divan::bench]
fn a_proof(bencher: Bencher<'_, '_>) {
    let Some(branch) = drawn() else { return };
    let family = Family::symmetric(&ANKLE, 1e-4, Interval::ZERO);
    bencher.bench_local(|| prover(&branch).judge(divan::black_box(&family), TURNS).figures.len());
}

const GRIPPER: FourBar = FourBar { ground: 0.02, crank: 0.04, coupler: 0.02, rocker: 0.04 };
const GRIPPER_TURNS: [f64; 2] = [-0.523, 0.523];

/// A parallel gripper with the counter-turning pair in its place.
fn gripper() -> Option<(Branch, Finger)> {
    let branch = Branch::through(GRIPPER, std::f64::consts::FRAC_PI_2, Closure::Open).ok()?;
    let pad = Pad {
        on: PadOn::Coupler,
        point: [0.01, 0.03],
        closing: [-1.0, 0.0],
        across: [0.0, 1.0],
        fingers: 2.0,
    };
    let motion = PadMotion::counter(&branch, &pad, -1.0).ok()?;
    let limits = PadLimits { tilt: 0.0087, shift: 1e-3, opening: 5e-4, grip: 0.05 };
    Some((branch, Finger { pad, motion, mirror: None, limits }))
}

/// Tilt, shift, opening, grip and transmission angle of it, every length ±0.02 mm.
#[divan::bench]
fn a_proof_of_a_pad(bencher: Bencher<'_, '_>) {
    let Some((branch, finger)) = gripper() else { return };
    bencher.bench_local(|| of_pad(divan::black_box(&branch), &finger).1);
}

/// The largest tolerance for all four lengths.
#[divan::bench]
fn the_largest_tolerance(bencher: Bencher<'_, '_>) {
    let Some(branch) = drawn() else { return };
    bencher.bench_local(|| {
        largest_tolerance(&prover(divan::black_box(&branch)), &branch, Interval::ZERO, TURNS)
    });
}

/// The largest stroke.
#[divan::bench]
fn the_largest_stroke(bencher: Bencher<'_, '_>) {
    let Some(branch) = drawn() else { return };
    let family = Family::symmetric(&ANKLE, 1e-4, Interval::ZERO);
    bencher.bench_local(|| {
        largest_stroke(&prover(divan::black_box(&branch)), &branch, &family, TURNS)
    });
}

/// A rod in space with its axes 4.5 deg apart.
fn rod_in_space() -> Option<RodDrive> {
    let (twist, lean) = (4.5_f64.to_radians(), 0.02);
    let drawing =
        BallRod { ground: 0.3, crank: 0.045, coupler: 0.3, rocker: 0.045, axial: 0.0, twist, lean };
    drawing.drive(std::f64::consts::FRAC_PI_2, Assembly::Open).ok()
}

/// One pose of it with arms, ratio and slope, sine and cosine included.
#[divan::bench]
fn one_pose_in_space(bencher: Bencher<'_, '_>) {
    let Some(drive) = rod_in_space() else { return };
    bencher.bench_local(|| drive.pose(divan::black_box(0.3)).map(|pose| pose.ratio));
}

/// A size ±0.1 mm or ±0.1 deg.
fn range(size: Size) -> Interval {
    let by = if size.measure == Measure::Length { 1e-4 } else { 0.1_f64.to_radians() };
    Interval::new(size.value - by, size.value + by)
}

/// What `then` makes of the question over 75 deg at these limits, with ±0.1 mm and ±0.1 deg on every size.
fn asked_in_space<T>(motion: Limits, then: impl FnOnce(&DriveQuestion<'_>) -> T) -> Option<T> {
    let sizes = BallRod {
        ground: 0.3,
        crank: 0.045,
        coupler: 0.3,
        rocker: 0.045,
        axial: 0.0,
        twist: 4.5_f64.to_radians(),
        lean: 0.02,
    };
    let zero_crank = std::f64::consts::FRAC_PI_2;
    let drawing = Drawing::BallRod { sizes, zero_crank, assembly: Assembly::Open };
    let drive = drawing.drive().ok()?;
    let all: Vec<Interval> = drawing.sizes().into_iter().map(range).collect();
    Some(then(&DriveQuestion {
        drawing: &drawing,
        drive: &drive,
        turns: [-0.655, 0.655],
        joint: DirectJoint { ratio: 1.0, offset: 0.0 },
        limits: DriveLimits { motion, ball_tilt: None, crank_side: None },
        basis: Basis::Tolerance,
        sizes: SizeRanges { typed: all.clone(), all },
        zeroing: Zeroing::OnEachRobot,
    }))
}

const WIDE: Limits = Limits { angle: 0.05, ratio: 0.05, transmission_angle: 0.3 };

fn verdict_in_space(question: &DriveQuestion<'_>) -> Option<DriveJudgement> {
    let ask = InertiaAsk {
        limit: 0.05,
        is_asked: false,
        basis: Basis::Tolerance,
        has_rotors: false,
        joint_at: &|_| None,
    };
    judge_drive(question, assess_in_space(&ask, None, None, &["masses"]))
}

/// The whole verdict on it, every bound to a thousandth.
#[divan::bench]
fn a_verdict_in_space(bencher: Bencher<'_, '_>) {
    asked_in_space(WIDE, |question| {
        bencher.bench_local(|| verdict_in_space(divan::black_box(question)));
    });
}

/// The proof of the ratio at a limit 5 % beyond the worst bound.
#[divan::bench]
fn a_proof_of_the_ratio_in_space(bencher: Bencher<'_, '_>) {
    prove_in_space(bencher, |near| Limits { ratio: near.ratio, ..WIDE });
}

/// The same of ratio, angle and transmission angle.
#[divan::bench]
fn a_proof_in_space(bencher: Bencher<'_, '_>) {
    prove_in_space(bencher, |near| near);
}

/// At what `limits` makes of those 5 % beyond the worst bounds.
fn prove_in_space(bencher: Bencher<'_, '_>, limits: impl FnOnce(Limits) -> Limits) {
    let Some(found) = asked_in_space(WIDE, verdict_in_space).flatten() else { return };
    let bound = |criterion: Criterion| {
        let own = found.criteria.iter().find(|own| own.criterion == criterion);
        own.and_then(|own| own.bound).map_or(f64::NAN, |bound| bound.value())
    };
    let near = Limits {
        angle: 1.05 * bound(Criterion::Angle),
        ratio: 1.05 * bound(Criterion::Ratio),
        transmission_angle: bound(Criterion::TransmissionAngle) / 1.05,
    };
    asked_in_space(limits(near), |question| {
        bencher.bench_local(|| drive_outcome(divan::black_box(question)));
    });
}

/// Two parallel cranks on a universal joint, roll 8 mm below pitch.
fn ankle() -> TwoRodsDrawing {
    let y = Vector::new(0.0, 1.0, 0.0);
    let left = DrawnLeg::Crank {
        motor: Axis { point: Vector::new(0.0, 0.032, 0.28), direction: y },
        crank: Vector::new(-0.045, 0.032, 0.28),
        foot: Vector::new(-0.045, 0.032, 0.0),
        rod: Some(0.28),
    };
    let pitch = Axis { point: Vector::zero(), direction: y };
    let roll = Axis { point: Vector::new(0.0, 0.0, -0.008), direction: Vector::new(1.0, 0.0, 0.0) };
    TwoRodsDrawing { pitch, roll, legs: [left, left.mirrored()] }
}

/// One pose of it: both rods, both motors, J.
#[divan::bench]
fn one_pose_of_two_rods(bencher: Bencher<'_, '_>) {
    let Ok(drive) = ankle().drive() else { return };
    bencher.bench_local(|| drive.pose(divan::black_box([-0.3, 0.1])).map(|pose| pose.jacobian));
}

/// The verdict on its motion over pitch −35…25 and roll ±15 deg, every size ±0.1 mm or ±0.1 deg, at limits 10 % beyond the
/// worst bound.
#[divan::bench]
fn a_decision_on_two_rods(bencher: Bencher<'_, '_>) {
    let drawing = ankle();
    let Ok(drive) = drawing.drive() else { return };
    let Ok(direct) = Direct::zero_pose(&drive) else { return };
    let all: Vec<Interval> = drawing.sizes().into_iter().map(range).collect();
    let wide = RegionLimits { angle: 1.0, ratio: 1.0, transmission_angle: 0.1, ball_tilt: None };
    let question = |limits| RegionQuestion {
        drawing: &drawing,
        drive: &drive,
        turns: [[-35.0, 25.0], [-15.0, 15.0]].map(|ends: [f64; 2]| ends.map(f64::to_radians)),
        direct,
        limits,
        basis: Basis::Tolerance,
        sizes: SizeRanges { typed: all.clone(), all: all.clone() },
        zeroing: Zeroing::OnEachRobot,
    };
    let inertia = Assessment::not_assessed(Criterion::Inertia, 0.05, Basis::Nominal);
    let Some(found) = judge_region(&question(wide), inertia) else { return };
    let Some(bounds) = found.bounds else { return };
    let [pitch, roll] = bounds.angle_error;
    let limits =
        RegionLimits { angle: 1.1 * pitch.max(roll), ratio: 1.1 * bounds.rate_error_norm, ..wide };
    let question = question(limits);
    bencher.bench_local(|| region_outcome(divan::black_box(&question)));
}

/// Motor angle to joint and back as code, with its certified error.
#[divan::bench]
fn a_map(bencher: Bencher<'_, '_>) {
    use unloop::handover::map::{Language, MapAsk, Number, map};
    let text = include_bytes!("../models/knee_offset.toml");
    let design = unloop::design::read("knee_offset.toml", text).map(|(design, _)| design).ok();
    let mechanism = design.as_ref().and_then(|d| unloop::study::Mechanism::of(d).ok());
    let ask = MapAsk { number: Number::Float, ..MapAsk::new(Language::C99) };
    bencher.bench_local(|| {
        let (design, mechanism) = design.as_ref().zip(mechanism.as_ref())?;
        map(divan::black_box(design), mechanism, &ask).ok()
    });
}
