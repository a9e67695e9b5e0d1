//! Builds of a drive of two joints: against the drive's own kernel pose by pose, the proof, and a mirror.

use std::sync::OnceLock;

use nalgebra::Matrix2;
use unloop::design::{AnyDesign, TwoJointDesign, read_any};
use unloop::drive::{Axis, Direct, DrawnLeg, Measure, TwoRodsDrawing, Vector};
use unloop::equivalence::{
    Basis, Criterion, RegionBuilds, RegionLimits, RegionQuestion, SizeRanges, Zeroing,
};
use unloop::numeric::{Interval, evenly};
use unloop::report::{Detail, RangesFormat, Style, region_ranges_file, region_tolerance_text};
use unloop::study::{
    RegionTolerance, ToleranceRequest, TwoMotors, ranges_of_two_joints, tolerance_of_two_joints,
};
use unloop::tolerance::{
    Deviation, Distribution, RegionContribution, RegionRequest, SizeSpread, region_ranking,
    sample_region,
};

const TURNS: [[f64; 2]; 2] = [[-0.5, 0.4], [-0.25, 0.25]];

fn at([x, y, z]: [f64; 3]) -> Vector {
    Vector::new(1e-3 * x, 1e-3 * y, 1e-3 * z)
}

fn crank([mx, my, mz]: [f64; 3], pin: [f64; 3], foot: [f64; 3]) -> DrawnLeg {
    let direction = Vector::new(0.1, 1.0, 0.05);
    let motor = Axis { point: at([mx, my, mz]), direction };
    DrawnLeg::Crank { motor, crank: at(pin), foot: at(foot), rod: None }
}

/// An ankle whose legs differ.
fn ankle() -> TwoRodsDrawing {
    TwoRodsDrawing {
        pitch: Axis { point: at([0.0; 3]), direction: Vector::new(0.0, 1.0, 0.0) },
        roll: Axis { point: at([0.0, 0.0, -8.0]), direction: Vector::new(1.0, 0.0, 0.0) },
        legs: [
            crank([5.0, 30.0, 270.0], [-40.0, 38.0, 265.0], [-48.0, 36.0, -12.0]),
            crank([3.0, -33.0, 190.0], [-47.0, -36.0, 188.0], [-46.0, -37.0, -10.0]),
        ],
    }
}

/// The same on the other side of the plane y = 0, motors told the other way round.
fn mirrored() -> TwoRodsDrawing {
    let TwoRodsDrawing { pitch, roll, legs: [one, two] } = ankle();
    TwoRodsDrawing { pitch, roll, legs: [two.mirrored(), one.mirrored()] }
}

fn question<'a>(
    drawing: &'a TwoRodsDrawing,
    drive: &'a unloop::drive::TwoRods,
    direct: Direct,
    limits: RegionLimits,
) -> RegionQuestion<'a> {
    let sizes = drawing.sizes();
    let points: Vec<Interval> = sizes.iter().map(|size| Interval::point(size.value)).collect();
    RegionQuestion {
        drawing,
        drive,
        turns: TURNS,
        direct,
        limits,
        basis: Basis::Tolerance,
        sizes: SizeRanges { all: points.clone(), typed: points },
        zeroing: Zeroing::OnEachRobot,
    }
}

const LIMITS: RegionLimits =
    RegionLimits { angle: 0.02, ratio: 0.2, transmission_angle: 0.3, ball_tilt: None };

/// ± 0.1 mm on every point, wider from size to size; axes stand.
fn spread(drawing: &TwoRodsDrawing) -> SizeSpread {
    let of = |size: unloop::drive::Size| match size.measure {
        Measure::Length => Deviation { lower: -1e-4, upper: 1e-4 },
        _ => Deviation::default(),
    };
    SizeSpread {
        deviations: drawing.sizes().into_iter().map(of).collect(),
        distribution: Distribution::Uniform,
        groups: Vec::new(),
    }
}

/// Even random numbers in 0…1 that share nothing with the program's.
fn random() -> impl FnMut() -> f64 {
    let mut state = 88_172_645_463_325_252_u64;
    move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1_u64 << 53) as f64
    }
}

fn random_sizes(drawing: &TwoRodsDrawing, next: &mut impl FnMut() -> f64) -> Vec<f64> {
    let deviations = spread(drawing).deviations;
    let sizes = drawing.sizes().into_iter().zip(deviations);
    sizes.map(|(size, d)| size.value + d.lower + (d.upper - d.lower) * next()).collect()
}

/// Norm of E, angle error, and transmission angle at their worst over a grid, by the build's own drive from its own zero.
fn by_its_own_drive(drawing: &TwoRodsDrawing, direct: &Direct, sizes: &[f64]) -> [f64; 3] {
    let drive = drawing.drive_of(sizes).unwrap();
    let mut worst = [0.0, 0.0, f64::INFINITY];
    for p in evenly(TURNS[0], 8) {
        for r in evenly(TURNS[1], 8) {
            let pose = drive.pose([p, r]).unwrap();
            let [by_p, by_r] = direct.angle_error(&drive, [p, r]).unwrap();
            worst[0] = f64::max(worst[0], direct.rate_error_norm(&pose));
            worst[1] = f64::max(worst[1], by_p.abs().max(by_r.abs()));
            worst[2] = f64::min(worst[2], pose.joint_side(0).min(pose.joint_side(1)));
        }
    }
    worst
}

#[test]
fn the_share_of_builds_that_hold_is_that_of_builds_followed_one_by_one() {
    let (drawing, mut next) = (ankle(), random());
    let drive = drawing.drive().unwrap();
    let direct = Direct::zero_pose(&drive).unwrap();
    let asked = question(&drawing, &drive, direct, LIMITS);
    let builds = RegionBuilds::of(&asked).unwrap();
    let (mut norms, mut angles) = (Vec::new(), Vec::new());
    for _ in 0..240 {
        let sizes = random_sizes(&drawing, &mut next);
        let [norm, angle, margin] = by_its_own_drive(&drawing, &direct, &sizes);
        let [of_norm, of_angle, of_margin, ..] = builds.worst(&sizes).unwrap();
        let [of_norm, of_angle, of_margin] = [of_norm, of_angle, of_margin].map(|p| p.unwrap());
        assert!(of_norm.value > norm - 1e-9 && of_norm.value < 1.01 * norm, "{of_norm:?} {norm}");
        assert!(of_angle.value > angle - 1e-9 && of_angle.value < 1.03 * angle, "{of_angle:?}");
        assert!(of_margin.value < margin + 1e-9 && of_margin.value > 0.97 * margin);
        norms.push(of_norm.value);
        angles.push(of_angle.value);
    }
    // Limits that just half of these builds, and three quarters, satisfy.
    norms.sort_by(f64::total_cmp);
    angles.sort_by(f64::total_cmp);
    let limits = RegionLimits { ratio: norms[120], angle: angles[180], ..LIMITS };
    let request = RegionRequest {
        builds: &builds,
        limits,
        spread: spread(&drawing),
        tops: [1.0, 0.1],
        samples: 2000,
        seed: 3,
    };
    let found = sample_region(&request, &|_| true);
    assert_eq!(found.samples, 2000);
    let share = |name: &str| found.yields.iter().find(|y| y.name == name).unwrap().share;
    assert!((share("ratio") - 0.5).abs() < 0.12, "{}", share("ratio"));
    assert!((share("angle") - 0.75).abs() < 0.1, "{}", share("angle"));
    assert!(share("all") <= share("ratio").min(share("angle")));
    assert!((share("closes") - 1.0).abs() < 1e-12);
    let median = found.figures.iter().find(|(of, _)| *of == Criterion::Ratio).unwrap();
    let median = median.1[0].figure.value;
    assert!((median - norms[120]).abs() < 0.02 * norms[120], "{median} {}", norms[120]);
}

#[test]
fn a_build_that_does_not_reach_is_never_counted_as_good() {
    let drawing = ankle();
    let drive = drawing.drive().unwrap();
    let direct = Direct::zero_pose(&drive).unwrap();
    let far = RegionLimits { angle: 9.0, ratio: 99.0, transmission_angle: 0.0, ball_tilt: None };
    let asked = question(&drawing, &drive, direct, far);
    let builds = RegionBuilds::of(&asked).unwrap();
    let mut spread = spread(&drawing);
    // The first foot 400 to 500 mm off: no crank of 45 mm gets there with a rod of the drawn length over this region.
    let foot = drawing.parts()[0] + 8;
    assert_eq!(drawing.sizes()[foot].name, "foot_x");
    spread.deviations[foot] = Deviation { lower: 0.4, upper: 0.5 };
    let request = RegionRequest {
        builds: &builds,
        limits: far,
        spread,
        tops: [99.0, 9.0],
        samples: 64,
        seed: 1,
    };
    let found = sample_region(&request, &|_| true);
    let share = |name: &str| found.yields.iter().find(|y| y.name == name).unwrap().share;
    assert!(share("closes") < 0.5, "{}", share("closes"));
    for name in ["all", "ratio", "angle", "transmission_angle"] {
        assert!(share(name) <= share("closes"), "{name}");
    }
    assert!(found.worst.unwrap().worst.is_none());
}

fn ranked(drawing: &TwoRodsDrawing, direct: Direct) -> Vec<RegionContribution> {
    let drive = drawing.drive().unwrap();
    let asked = question(drawing, &drive, direct, LIMITS);
    region_ranking(&RegionBuilds::of(&asked).unwrap(), &spread(drawing))
}

#[test]
fn a_mirrored_ankle_has_its_sizes_ranked_as_the_other_with_its_motors_told_the_other_way_round() {
    let (drawn, other) = (ankle(), mirrored());
    let direct = Direct::zero_pose(&drawn.drive().unwrap()).unwrap();
    let m = direct.matrix;
    let over = Direct::new(Matrix2::new(m.m21, -m.m22, m.m11, -m.m12)).unwrap();
    let (ours, theirs) = (ranked(&drawn, direct), ranked(&other, over));
    assert_eq!(ours.len(), theirs.len());
    let [axes, first, second] = drawn.parts();
    assert_eq!(first, second);
    for c in &ours {
        let place = match c.size {
            k if k < axes => k,
            k if k < axes + first => k + first,
            k => k - first,
        };
        let its = theirs.iter().find(|its| its.size == place).unwrap();
        let near = |a: f64, b: f64| (a - b).abs() < 1e-4 * (a.abs() + b.abs()) + 1e-5;
        let name = drawn.sizes()[c.size].name;
        assert!(near(c.angle_share, its.angle_share), "{name} {c:?} {its:?}");
        assert!(near(c.ratio_share, its.ratio_share), "{name} {c:?} {its:?}");
        assert!(near(c.angle_slope, its.angle_slope), "{name} {c:?} {its:?}");
        assert!(near(c.ratio_slope, its.ratio_slope), "{name} {c:?} {its:?}");
    }
    // The legs differ, so that telling one for the other shows.
    let sum = |from: usize, to: usize| -> f64 {
        ours.iter().filter(|c| (from..to).contains(&c.size)).map(|c| c.ratio_share).sum()
    };
    let shares = [sum(axes, axes + first), sum(axes + first, axes + first + second)];
    assert!((shares[0] - shares[1]).abs() > 0.01, "{shares:?}");
}

const FILE: &str = "models/drives/ankle_parallel.toml";

fn design() -> TwoJointDesign {
    match read_any(FILE, &std::fs::read(FILE).unwrap()).unwrap().0 {
        AnyDesign::TwoJoints(design) => *design,
        _ => panic!("no design of two joints"),
    }
}

fn request(seed: u64) -> ToleranceRequest {
    ToleranceRequest { samples: 800, seed, distribution: Distribution::Uniform }
}

fn found() -> &'static RegionTolerance {
    static FOUND: OnceLock<RegionTolerance> = OnceLock::new();
    FOUND.get_or_init(|| tolerance_of_two_joints(&design(), &request(1), &|_| true).unwrap())
}

#[test]
fn no_build_drawn_at_random_exceeds_what_is_proved_of_all() {
    let (found, design) = (found(), design());
    let of = TwoMotors::of(&design).unwrap();
    let statistics = found.statistics.as_ref().unwrap();
    let bound = |criterion: Criterion| {
        found.worst_case.iter().find(|w| w.criterion == criterion).unwrap().bound.unwrap()
    };
    for figure in &statistics.figures {
        let bound = bound(figure.criterion);
        for quantile in &figure.quantiles {
            let value = quantile.figure.value;
            let is_floor =
                matches!(figure.criterion, Criterion::TransmissionAngle | Criterion::CrankSide);
            // A bin of a margin is a 4096th of a right angle.
            let is_inside = if is_floor { value >= bound - 4e-4 } else { value <= bound + 4e-4 };
            assert!(is_inside, "{:?} {value} {bound}", figure.criterion);
        }
    }
    // Builds at corners of the limits, each by its own drive.
    let mut next = random();
    for _ in 0..20 {
        let sizes = design.sizes().map(|(size, drawn)| {
            let (lower, upper) =
                drawn.tolerance.as_ref().map_or((0.0, 0.0), |t| (t.lower, t.upper));
            size.value + if next() < 0.5 { lower } else { upper }
        });
        let drive = design.drawing.drive_of(&sizes.collect::<Vec<f64>>()).unwrap();
        for turns in of.grid(6).turns() {
            let norm = of.direct.rate_error_norm(&drive.pose(turns).unwrap());
            assert!(norm <= bound(Criterion::Ratio), "{norm}");
        }
    }
}

#[test]
fn the_same_seed_draws_the_same_figures_and_another_does_not() {
    let told = |seed: u64| {
        let again = tolerance_of_two_joints(&design(), &request(seed), &|_| true).unwrap();
        serde_json::to_string(&again).unwrap()
    };
    let first = serde_json::to_string(found()).unwrap();
    assert_eq!(first, told(1));
    assert_ne!(first, told(2));
}

#[test]
fn a_drive_that_fails_as_drawn_is_told_as_failing_in_nearly_every_build() {
    let mut design = design();
    design.accept.ratio = 1e-5;
    let found = tolerance_of_two_joints(&design, &request(1), &|_| true).unwrap();
    let all = found.statistics.as_ref().unwrap().share("all").unwrap().share;
    assert!(all < 0.01, "{all}");
    assert!(!found.is_proved());
    let text = region_tolerance_text(&found, Detail::Full, Style::PLAIN);
    let first = text.lines().next().unwrap();
    assert!(first.contains("of builds hold") && !first.contains("HOLDS"), "{first}");
}

#[test]
fn holds_for_every_build_is_said_only_where_every_criterion_is_proved() {
    let found = found();
    let text = region_tolerance_text(found, Detail::Full, Style::PLAIN);
    let first = text.lines().next().unwrap();
    assert_eq!(first.contains("HOLDS for every build"), found.is_proved(), "{text}");
    let mut open = found.clone();
    open.worst_case[0].proved = false;
    let text = region_tolerance_text(&open, Detail::Full, Style::PLAIN);
    assert!(!text.lines().next().unwrap().contains("HOLDS"), "{text}");
}

/// The mean over a grid of J of the drive that `sizes` make, row by row.
fn mean_rates(design: &TwoJointDesign, of: &TwoMotors, sizes: &[f64]) -> [f64; 4] {
    let drive = design.drawing.drive_of(sizes).unwrap();
    let grid = of.grid(16);
    let all: Vec<[f64; 4]> = grid
        .turns()
        .map(|turns| {
            let [[a, b], [c, d]] = drive.pose(turns).unwrap().jacobian;
            [a, b, c, d]
        })
        .collect();
    let count = f64::from(u32::try_from(all.len()).unwrap());
    [0, 1, 2, 3].map(|k| all.iter().map(|rates| rates[k]).sum::<f64>() / count)
}

#[test]
fn ranges_to_randomise_end_where_the_builds_at_the_limits_of_the_only_toleranced_size_have_their_rates()
 {
    let mut design = design();
    let names: Vec<(usize, &str)> =
        design.drawing.sizes().iter().map(|size| (size.stage, size.name)).collect();
    let first = names.iter().position(|name| *name == (0, "crank_x")).unwrap();
    for (k, drawn) in design.drawn.iter_mut().enumerate() {
        if k != first {
            drawn.tolerance = None;
        }
    }
    let of = TwoMotors::of(&design).unwrap();
    let ranges = ranges_of_two_joints(&design, &request(1)).unwrap();
    assert_eq!(ranges.builds, 800);
    let sizes: Vec<f64> = design.drawing.sizes().iter().map(|size| size.value).collect();
    let limit = design.drawn[first].tolerance.as_ref().unwrap().upper;
    let rates = |by: f64| {
        let mut sizes = sizes.clone();
        sizes[first] += by;
        mean_rates(&design, &of, &sizes)
    };
    let ([low, drawn, high], matrix) = ([-limit, 0.0, limit].map(rates), of.direct.matrix);
    let emitted = [matrix.m11, matrix.m12, matrix.m21, matrix.m22];
    for (k, (name, nominal, range)) in ranges.constants.iter().take(4).enumerate() {
        assert_eq!(nominal.to_bits(), emitted[k].to_bits(), "{name}");
        let ends = [low[k] - drawn[k], high[k] - drawn[k]];
        // The other motor's own rod moves nothing of it.
        if k >= 2 {
            assert!(range.is_none(), "{name} {range:?}");
            continue;
        }
        let range = range.unwrap();
        let [least, most] = [ends[0].min(ends[1]), ends[0].max(ends[1])];
        let width = most - least;
        for (seen, end) in range.bounds.iter().zip([least, most]) {
            assert!((seen - nominal - end).abs() < 0.03 * width, "{name} {seen} {nominal} {end}");
        }
    }
    // One cause: all that scatters goes together.
    let share = ranges.correlations.iter().find(|(names, _)| names[1] == "motor_1_by_roll");
    assert!(share.unwrap().1.abs() > 0.99, "{share:?}");
}

#[test]
fn the_file_of_ranges_names_every_constant_and_a_zero_set_by_a_jig_hardly_moves() {
    let design = design();
    let ranges = ranges_of_two_joints(&design, &request(1)).unwrap();
    let text = region_ranges_file(&ranges, RangesFormat::Toml);
    let table: toml::Table = text.parse().unwrap();
    let number = |name: &str, key: &str| table[name][key].as_float().unwrap();
    for (name, nominal, _) in &ranges.constants {
        assert_eq!(number(name, "nominal").to_bits(), nominal.to_bits());
        assert!(number(name, "low_seen") < number(name, "mean"));
        assert!(number(name, "mean") < number(name, "high_seen"));
    }
    assert_eq!(table["correlation"].as_table().unwrap().len(), 15);
    // Motor one's pitch rate scatters by a thousandth; the zero pose is its own on each robot.
    assert!(number("motor_1_by_pitch", "standard_deviation") > 1e-4);
    assert!(number("zero_offset_pitch_rad", "standard_deviation") < 3e-5);
    let mut drawn = design.clone();
    drawn.set_by = Some(unloop::design::SetBy::Drawing);
    let ranges = ranges_of_two_joints(&drawn, &request(1)).unwrap();
    let text = region_ranges_file(&ranges, RangesFormat::Yaml);
    let offset = text.split("zero_offset_pitch_rad:").nth(1).unwrap();
    let deviation = offset.split("standard_deviation: ").nth(1).unwrap().lines().next().unwrap();
    assert!(deviation.parse::<f64>().unwrap() > 1e-4, "{text}");
}
