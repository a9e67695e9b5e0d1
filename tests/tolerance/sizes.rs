//! Builds of drives that are drawn by a list of sizes: against the drives' own kernel, finite differences, and the planar
//! four-bar's study where one is the other.

use unloop::drive::{
    Assembly, BallRod, Drawing, FixedRatio, JointDrive, LinearActuator, OneJoint, Slider,
};
use unloop::equivalence::{Constants, Criterion, DirectJoint, Limits, Zeroing};
use unloop::numeric::peaks;
use unloop::numeric::sampling::Sequence;
use unloop::tolerance::{
    Course, Deviation, Distribution, Growth, SizeGroup, SizeSpread, SizedRequest, Slopes,
    Statistics, growth, sample_sized,
};

const LIMITS: Limits =
    Limits { angle: 0.008_727, ratio: 0.02, transmission_angle: std::f64::consts::FRAC_PI_6 };

fn knee() -> BallRod {
    BallRod {
        ground: 0.3,
        crank: 0.045,
        coupler: 0.3,
        rocker: 0.045,
        axial: 0.0,
        twist: 4.5_f64.to_radians(),
        lean: 0.02,
    }
}

fn ball_rod() -> Drawing {
    Drawing::BallRod { sizes: knee(), zero_crank: 1.6, assembly: Assembly::Open }
}

fn actuator() -> Drawing {
    Drawing::PlanarActuator {
        ground: 0.3,
        rocker: 0.045,
        line_offset: 0.01,
        lead: 0.005,
        zero_rocker: 1.72,
        lengths: None,
    }
}

fn slider() -> Drawing {
    Drawing::PlanarSlider {
        ground: 0.2,
        coupler: 0.09,
        rocker: 0.045,
        guide: [0.0, 0.0675],
        direction: 0.0,
        lead: 0.005,
        zero_rocker: 0.8857,
        nut: 0.145,
    }
}

fn series() -> Drawing {
    Drawing::Series(vec![Drawing::FixedRatio(FixedRatio(-2.5)), actuator(), ball_rod()])
}

/// Every drawing with a stroke of its joint.
fn drawings() -> [(Drawing, [f64; 2]); 4] {
    [
        (ball_rod(), [-0.6, 0.7]),
        (actuator(), [-0.14, 0.15]),
        (slider(), [-0.6, 0.6]),
        (series(), [-0.2, 0.2]),
    ]
}

/// ± tolerances of about 0.1 mm and 0.1 deg.
fn tolerances(drawing: &Drawing, off: f64) -> Vec<Deviation> {
    let of = |(k, _): (usize, unloop::drive::Size)| {
        let half = off * (1e-4 + 2e-5 * k as f64);
        Deviation { lower: -half, upper: half }
    };
    let sizes = drawing.sizes().into_iter().enumerate();
    sizes
        .map(|(k, size)| match size.name {
            // A lead of 5 mm is not 0.1 mm off.
            "lead" => Deviation { lower: -5e-6 * off, upper: 5e-6 * off },
            "ratio" => Deviation::default(),
            _ => of((k, size)),
        })
        .collect()
}

fn direct(drawing: &Drawing, joints: [f64; 2]) -> DirectJoint {
    let drive = drawing.drive().unwrap();
    let motor = |joint: f64| drive.motor_turn(joint).unwrap();
    let constants = Constants { ratio: None, offset: Some(0.0) };
    constants.over_joint_turns(&motor, joints).unwrap()
}

fn request(drawing: &Drawing, joints: [f64; 2], zeroing: Zeroing, off: f64) -> SizedRequest<'_> {
    SizedRequest {
        drawing,
        joint: direct(drawing, joints),
        given_offset: Some(0.0),
        zeroing,
        joints,
        limits: LIMITS,
        spread: SizeSpread {
            deviations: tolerances(drawing, off),
            distribution: Distribution::Uniform,
            groups: Vec::new(),
        },
        samples: 2000,
        seed: 3,
    }
}

/// Deviations of some builds, anywhere in the tolerances.
fn some_builds(spread: &SizeSpread, count: u32) -> Vec<Vec<f64>> {
    let mut found = Vec::new();
    let n = spread.deviations.len();
    Sequence::replicate(5, 0).wide_points(0, count, n, |point| {
        let at = |(u, d): (&f64, &Deviation)| d.lower + u * (d.upper - d.lower);
        found.push(point.iter().zip(&spread.deviations).map(at).collect());
    });
    found
}

fn sample(request: &SizedRequest<'_>) -> Statistics {
    sample_sized(&Course::new(request).unwrap(), [1.0, 1.0], &|_| true)
}

/// The drive that is built, by the kernel that a drawing of its sizes gets.
fn rebuilt(drawing: &Drawing, sizes: &[f64]) -> JointDrive {
    let rod = match drawing {
        Drawing::BallRod { assembly, .. } => {
            let [ground, crank, coupler, rocker, axial, twist, lean, zero] =
                *<&[f64; 8]>::try_from(sizes).unwrap();
            let drawn = BallRod { ground, crank, coupler, rocker, axial, twist, lean };
            drawn.drive(zero, *assembly).unwrap()
        }
        Drawing::PlanarActuator { .. } => {
            let lengths = [sizes[0], sizes[1], sizes[2], sizes[3]];
            LinearActuator::planar(lengths, sizes[4]).drive(None).unwrap()
        }
        Drawing::PlanarSlider { nut, .. } => {
            let lengths = [sizes[0], sizes[1], sizes[2], sizes[6]];
            let angles = [sizes[5], sizes[7]];
            Slider::planar(lengths, [sizes[3], sizes[4]], angles).drive(*nut).unwrap()
        }
        other => return other.drive().unwrap(),
    };
    JointDrive::Rod(Box::new(rod))
}

#[test]
fn the_worst_of_a_build_is_that_of_the_drive_that_its_sizes_make() {
    for (drawing, joints) in drawings() {
        let Drawing::Series(_) = drawing else {
            let asked = request(&drawing, joints, Zeroing::OnEachRobot, 1.0);
            let course = Course::new(&asked).unwrap();
            for deviations in some_builds(&asked.spread, 30) {
                let sizes = drawing.sizes();
                let sizes: Vec<f64> =
                    sizes.iter().zip(&deviations).map(|(s, d)| s.value + d).collect();
                let drive = rebuilt(&drawing, &sizes);
                let direct = asked.joint;
                let motion = |joint: f64| drive.motion(joint).unwrap();
                let angle = peaks(|joint| joint - motion(joint).motor / direct.ratio, joints);
                let ratio = peaks(|joint| motion(joint).ratio / direct.ratio - 1.0, joints);
                let sine = |joint: f64| drive.rods(joint).unwrap()[0].sin_transmission().abs();
                let sine = peaks(sine, joints)[0].1;
                let seen = course.seen(&deviations).unwrap();
                let close = |ours: [f64; 2], theirs: [(f64, f64); 2], floor: f64| {
                    let size = theirs[0].1.abs().max(theirs[1].1.abs());
                    for (ours, (_, theirs)) in ours.into_iter().zip(theirs) {
                        let off = (ours - theirs).abs();
                        assert!(off < 1e-4 * size + floor, "{drawing:?}: {ours} {theirs}");
                    }
                    // Figures that were seen are never beyond what there is.
                    assert!(ours[0] > theirs[0].1 - floor && ours[1] < theirs[1].1 + floor);
                };
                close(seen.angle, angle, 1e-12);
                close(seen.ratio, ratio, 1e-11);
                assert!((seen.sine - sine).abs() < 1e-6, "{} {sine}", seen.sine);
            }
            continue;
        };
    }
}

#[test]
fn a_series_of_builds_is_the_product_of_its_stages() {
    let (drawing, joints) = (series(), [-0.2, 0.2]);
    let asked = request(&drawing, joints, Zeroing::OnEachRobot, 0.0);
    let (course, drive) = (Course::new(&asked).unwrap(), drawing.drive().unwrap());
    let still = vec![0.0; drawing.sizes().len()];
    let seen = course.seen(&still).unwrap();
    let ratio = |joint: f64| drive.motion(joint).unwrap().ratio / asked.joint.ratio - 1.0;
    let exact = peaks(ratio, joints);
    for (seen, (_, exact)) in seen.ratio.into_iter().zip(exact) {
        assert!((seen - exact).abs() < 1e-6, "{seen} {exact}");
    }
}

#[test]
fn slopes_are_those_of_finite_differences() {
    for zeroing in [Zeroing::OnEachRobot, Zeroing::AsDrawn] {
        for (drawing, joints) in drawings() {
            let asked = request(&drawing, joints, zeroing, 1.0);
            let course = Course::new(&asked).unwrap();
            let slopes = Slopes::new(&course).unwrap();
            let ranking = slopes.ranking();
            for contribution in ranking {
                let names = unloop::tolerance::Varied::sizes(&drawing);
                let k = names.iter().position(|name| *name == contribution.variable).unwrap();
                // The steepest slope in size is what a small deviation moves the error by at most.
                let seen = |off: f64| {
                    let mut deviations = vec![0.0; names.len()];
                    deviations[k] = off;
                    course.error_courses(&deviations).unwrap()
                };
                let (step, [up, down]) = (1e-7, [seen(1e-7), seen(-1e-7)]);
                let steepest = |figure: usize| {
                    let moved = up.iter().zip(&down);
                    moved
                        .map(|(u, d)| ((u[figure] - d[figure]) / (2.0 * step)).abs())
                        .fold(0.0, f64::max)
                };
                let close = |ours: f64, theirs: f64| {
                    let off = (ours.abs() - theirs).abs();
                    assert!(
                        off < 2e-3 * theirs + 1e-5,
                        "{:?} {}: {ours} {theirs}",
                        drawing.kind(),
                        contribution.variable
                    );
                };
                close(contribution.slope, steepest(0));
                close(contribution.ratio_slope.unwrap(), steepest(1));
            }
        }
    }
}

#[test]
fn without_twist_lean_and_axial_slopes_and_builds_are_those_of_the_planar_four_bar() {
    let text = "name = \"ankle\"\n[linkage]\nground = \"300 ±0.3 mm\"\ncrank = \"45 ±0.15 mm\"\n\
        coupler = \"300 ±0.3 mm\"\nrocker = \"45 ±0.15 mm\"\n[zero]\ncrank = \"90 ±0.1 deg\"\nrocker = \"90 deg\"\n\
        set_by = \"SET\"\n[stroke]\njoint = [\"-35 deg\", \"40 deg\"]\n[direct_joint]\nratio = 1.0\n";
    let sizes = BallRod { axial: 0.0, twist: 0.0, lean: 0.0, ..knee() };
    let drawing = Drawing::BallRod {
        sizes,
        zero_crank: std::f64::consts::FRAC_PI_2,
        assembly: Assembly::Open,
    };
    let half = |x: f64| Deviation { lower: -x, upper: x };
    for (set_by, zeroing) in [("jig", Zeroing::OnEachRobot), ("drawing", Zeroing::AsDrawn)] {
        let (design, _) =
            unloop::design::parse("study.toml", &text.replace("SET", set_by)).unwrap();
        let of_four_bar = unloop::study::ToleranceRequest {
            samples: 40_000,
            seed: 3,
            distribution: Distribution::Normal,
        };
        let planar = unloop::study::tolerance(&design, &of_four_bar, &|_| true).unwrap();
        let joints = [-35_f64, 40.0].map(f64::to_radians);
        let mut asked = request(&drawing, joints, zeroing, 1.0);
        asked.joint = DirectJoint { ratio: 1.0, offset: 0.0 };
        asked.samples = 40_000;
        let halves = [3e-4, 1.5e-4, 3e-4, 1.5e-4, 0.0, 0.0, 0.0, 0.1_f64.to_radians()];
        asked.spread = SizeSpread {
            deviations: halves.map(half).to_vec(),
            distribution: Distribution::Normal,
            groups: Vec::new(),
        };
        let course = Course::new(&asked).unwrap();
        let ranking = Slopes::new(&course).unwrap().ranking();
        for ours in &ranking {
            let name = ours.variable.to_string();
            let name = if name == "zero crank" { "zero crank angle" } else { &name };
            let theirs = planar.ranking.iter().find(|c| c.variable.name == name).unwrap();
            assert!(
                (ours.slope.abs() - theirs.slope.abs()).abs() < 1e-3 * theirs.slope.abs() + 1e-9
            );
            assert!(
                (ours.share - theirs.share).abs() < 1e-3,
                "{name} {} {}",
                ours.share,
                theirs.share
            );
        }
        let (ours, theirs) = (sample(&asked), planar.statistics.unwrap());
        for criterion in [Criterion::Angle, Criterion::Ratio] {
            let [ours, theirs] = [&ours, &theirs].map(|s| s.of(criterion).unwrap().mean);
            // Joint turns are judged here, crank turns there: the ends differ by what the error is.
            let room = 4.0 * (ours.error + theirs.error) + 2e-3 * theirs.value;
            assert!((ours.value - theirs.value).abs() < room, "{ours:?} {theirs:?}");
        }
        let own = |s: &Statistics| s.own.unwrap().ratio.deviation;
        assert!((own(&ours) / own(&theirs) - 1.0).abs() < 0.15);
    }
}

#[test]
fn no_build_is_worse_than_the_worst_corner_by_more_than_second_order() {
    for zeroing in [Zeroing::OnEachRobot, Zeroing::AsDrawn] {
        for (drawing, joints) in drawings() {
            let asked = request(&drawing, joints, zeroing, 1.0);
            let course = Course::new(&asked).unwrap();
            let slopes = Slopes::new(&course).unwrap();
            for criterion in [Criterion::Angle, Criterion::Ratio] {
                let corner = slopes.worst(criterion, &asked.spread.deviations).unwrap();
                let drawn = some_builds(&asked.spread, 500).into_iter();
                let seen = drawn.map(|d| course.seen(&d).unwrap().figure(criterion).unwrap());
                let worst = seen.fold(0.0, f64::max);
                assert!(worst <= 1.002 * corner, "{:?} {worst} {corner}", drawing.kind());
                assert!(worst > 0.3 * corner);
            }
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_figures_and_all_builds_of_a_drive_without_tolerance_are_alike() {
    for (drawing, joints) in drawings() {
        let asked = request(&drawing, joints, Zeroing::OnEachRobot, 1.0);
        let [first, again] = [sample(&asked), sample(&asked)];
        assert_eq!(first.figures, again.figures);
        assert_eq!(first.samples, 2000);
        let other = sample(&SizedRequest { seed: 4, ..asked.clone() });
        assert!(first.figures != other.figures);
        let same = request(&drawing, joints, Zeroing::OnEachRobot, 0.0);
        let mean = sample(&same).of(Criterion::Angle).unwrap().mean;
        assert!(mean.error <= 1e-12 * mean.value);
    }
}

#[test]
fn lengths_made_together_scatter_the_joint_less_or_more_than_apart() {
    let drawing = ball_rod();
    let mut asked = request(&drawing, [-0.6, 0.7], Zeroing::OnEachRobot, 1.0);
    let mean = |asked: &SizedRequest<'_>| sample(asked).of(Criterion::Ratio).unwrap().mean.value;
    let apart = mean(&asked);
    // A crank and a rocker that are long alike keep the ratio.
    asked.spread.groups = vec![SizeGroup { members: vec![1, 3], correlation: 1.0 }];
    assert!(mean(&asked) < 0.95 * apart);
}

#[test]
fn tolerances_that_may_grow_still_hold_at_their_worst_corners_and_no_more() {
    let drawing = ball_rod();
    let asked = request(&drawing, [-0.6, 0.7], Zeroing::OnEachRobot, 1.0);
    let course = Course::new(&asked).unwrap();
    let slopes = Slopes::new(&course).unwrap();
    let Growth { all, alone } = growth(&slopes).unwrap();
    let factor = all.unwrap();
    assert!(factor > 0.1 && factor < Growth::MOST);
    let holds = |factor: f64| {
        let scaled = asked.spread.deviations.iter().map(|d| d.scaled(factor));
        let scaled: Vec<Deviation> = scaled.collect();
        slopes.corners(&scaled).all(|(_, seen)| seen.unwrap().holds(&LIMITS))
    };
    assert!(holds(0.999 * factor) && !holds(1.001 * factor));
    assert_eq!(alone.len(), 8);
    if factor > 1.0 {
        let drawn = asked.spread.deviations.iter().map(Deviation::half_width);
        for (alone, drawn) in alone.iter().zip(drawn) {
            assert!(alone.half_width.unwrap() > factor * drawn * 0.999);
        }
    }
}

#[test]
fn builds_of_every_kind_stay_within_what_is_certified() {
    let mut seen = 0;
    for entry in std::fs::read_dir("models/drives").unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "toml") {
            continue;
        }
        let text = std::fs::read(&path).unwrap();
        let name = path.to_string_lossy().into_owned();
        let (design, _) = unloop::design::read_any(&name, &text).unwrap_or_else(|r| panic!("{r}"));
        let unloop::design::AnyDesign::OneJoint(mut design) = design else { continue };
        for (size, drawn) in design.geometry.drawing.sizes().iter().zip(&mut design.geometry.drawn)
        {
            use unloop::drive::Measure;
            let half = match size.measure {
                Measure::Length if size.name == "lead" => 5e-6,
                Measure::Length | Measure::Angle => 1e-4,
                Measure::Number => continue,
            };
            if drawn.tolerance.is_none() {
                drawn.tolerance = Some(unloop::design::Tolerance {
                    lower: -half,
                    upper: half,
                    written: String::new(),
                });
            }
        }
        let asked = unloop::study::ToleranceRequest {
            samples: 1000,
            seed: 3,
            distribution: Distribution::Uniform,
        };
        let found = unloop::study::tolerance(&design, &asked, &|_| true).unwrap();
        let Some(statistics) = found.statistics else { continue };
        for worst in &found.worst {
            let Some(bound) = worst.bound else { continue };
            if let Some(scattered) = statistics.of(worst.criterion) {
                let most = scattered.quantiles.last().unwrap().figure.value;
                assert!(
                    most <= bound * (1.0 + 1e-9),
                    "{name} {:?} {most} {bound}",
                    worst.criterion
                );
                seen += 1;
            }
        }
        if found.worst.iter().all(|w| w.bound.is_some()) {
            assert_eq!(statistics.histogram.counts.last(), Some(&0), "{name}");
        }
    }
    assert!(seen >= 8, "{seen}");
}
