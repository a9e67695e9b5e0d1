//! The tolerance study of a gripper whose pad rides on the coupler, against builds worked out by circles.

use std::f64::consts::PI;

use unloop::design::parse;
use unloop::equivalence::Criterion;
use unloop::study::{ToleranceFindings, ToleranceRequest, tolerance};
use unloop::tolerance::{Distribution, Variable};

fn gripper(tolerance: &str, more: &str) -> String {
    format!(
        "name = \"g\"\n[linkage]\nground = \"20 {tolerance} mm\"\ncrank = \"40 {tolerance} mm\"\n\
         coupler = \"20 {tolerance} mm\"\nrocker = \"40 {tolerance} mm\"\n[zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\n\
         set_by = \"jig\"\n[stroke]\nmotor = [\"-30 deg\", \"30 deg\"]\n\
         [finger]\npad = \"coupler\"\npoint = [\"10 mm\", \"30 mm\"]\nclosing = [-1.0, 0.0]\nopening = \"50 mm\"\n{more}"
    )
}

fn study(text: &str, samples: u64, seed: u64, distribution: Distribution) -> ToleranceFindings {
    let (design, _) = parse("g.toml", text).unwrap_or_else(|rejected| panic!("{rejected}"));
    tolerance(&design, &ToleranceRequest { samples, seed, distribution }, &|_| true).unwrap()
}

fn mean(found: &ToleranceFindings, criterion: Criterion) -> f64 {
    found.statistics.as_ref().unwrap().of(criterion).unwrap().mean.value
}

// A finger by circles, which shares nothing with the program.

/// P and the coupler's angle of ground, crank, coupler, rocker (m) at crank angle `phi`, Q left of P→B.
fn coupler([g, a, b, c]: [f64; 4], phi: f64) -> ([f64; 2], f64) {
    let p = [a * phi.cos(), a * phi.sin()];
    let (dx, dy) = (g - p[0], -p[1]);
    let d = dx.hypot(dy);
    let along = (d * d + b * b - c * c) / (2.0 * d);
    let off = (b * b - along * along).sqrt();
    let w = [(along * dx - off * dy) / d, (along * dy + off * dx) / d];
    (p, w[1].atan2(w[0]))
}

/// Displacement of the pad, 10 and 30 mm from P, and its turn from the zero pose in which the coupler stands at `zero`
/// and P at `from`.
fn pad(built: [f64; 4], turn: f64, from: [f64; 2], zero: f64) -> (f64, [f64; 2]) {
    let (p, angle) = coupler(built, PI / 2.0 + turn);
    let (tilt, [x, y]) = (angle - zero, [0.01, 0.03]);
    let arm = [x * tilt.cos() - y * tilt.sin(), x * tilt.sin() + y * tilt.cos()];
    (tilt, [p[0] - from[0] + arm[0] - x, p[1] - from[1] + arm[1] - y])
}

/// Worst tilt, shift, opening and grip error of a build against a pad that only shifts on a circle of 40 mm.
fn worst(built: [f64; 4], from_drawing: bool) -> [f64; 4] {
    let (from, zero) = if from_drawing { ([0.0, 0.04], 0.0) } else { coupler(built, PI / 2.0) };
    let mut worst = [0.0_f64; 4];
    for step in 0..=240_u32 {
        let turn = (f64::from(step) / 4.0 - 30.0).to_radians();
        let (tilt, [x, y]) = pad(built, turn, from, zero);
        let h = 1e-4;
        let closed = |by: f64| -pad(built, turn + by, from, zero).1[0];
        let rate =
            (8.0 * (closed(h) - closed(-h)) - closed(2.0 * h) + closed(-2.0 * h)) / (12.0 * h);
        let errors = [
            tilt,
            y - 0.04 * (turn.cos() - 1.0),
            2.0 * (x + 0.04 * turn.sin()),
            rate / (0.04 * turn.cos()) - 1.0,
        ];
        for (most, error) in worst.iter_mut().zip(errors) {
            *most = most.max(error.abs());
        }
    }
    worst
}

/// Numbers in (−1, 1) that fill a cube evenly: multiples of powers of the root of x⁵ = x + 1.
fn evenly_spread(index: u32) -> [f64; 4] {
    const ROOT: f64 = 1.167_303_978_261_418_7;
    std::array::from_fn(|k| {
        let step = ROOT.powi(-(i32::try_from(k).unwrap() + 1));
        2.0 * (0.5 + f64::from(index) * step).fract() - 1.0
    })
}

#[test]
fn builds_of_a_gripper_scatter_as_builds_worked_out_by_circles_do() {
    let text = gripper("±0.05", "");
    for (text, from_drawing) in [(text.replace("\"jig\"", "\"drawing\""), true), (text, false)] {
        let found = study(&text, 40_000, 1, Distribution::Uniform);
        let count = 4000;
        let mut means = [0.0; 4];
        let mut within = 0;
        for index in 0..count {
            let [g, a, b, c] = evenly_spread(index).map(|x| 5e-5 * x);
            let errors = worst([0.02 + g, 0.04 + a, 0.02 + b, 0.04 + c], from_drawing);
            means.iter_mut().zip(errors).for_each(|(sum, error)| *sum += error / f64::from(count));
            within += u32::from(errors[0] <= 0.1_f64.to_radians());
        }
        for (criterion, theirs) in Criterion::OF_PAD.into_iter().zip(means) {
            let ours = mean(&found, criterion);
            assert!((ours / theirs - 1.0).abs() < 0.01, "{criterion:?} {ours} {theirs}");
        }
        let tight = text.replace("[finger]", "[accept]\ntilt = \"0.1 deg\"\n[finger]");
        let yields = study(&tight, 40_000, 1, Distribution::Uniform).statistics.unwrap().yields;
        let share = yields.iter().find(|y| y.name == "tilt").unwrap().share;
        let theirs = f64::from(within) / f64::from(count);
        assert!((share - theirs).abs() < 0.01 && 0.1 < share && share < 0.95, "{share} {theirs}");
    }
}

#[test]
fn no_build_of_a_gripper_is_beyond_what_is_proved_of_it() {
    for (tolerance, more) in [("±0.05", ""), ("±0.1", "[direct_joint]\nratio = \"best\"\n")] {
        let found = study(&gripper(tolerance, more), 30_000, 5, Distribution::Uniform);
        let statistics = found.statistics.as_ref().unwrap();
        assert_eq!(
            statistics.histogram.counts.last(),
            Some(&0),
            "nothing beyond the certified bound"
        );
        let tilt = found.worst.iter().find(|w| w.criterion == Criterion::Tilt).unwrap();
        assert_eq!(Some(statistics.histogram.top), tilt.bound);
        for worst in found.worst.iter().filter(|w| w.criterion != Criterion::TransmissionAngle) {
            let quantiles = &statistics.of(worst.criterion).unwrap().quantiles;
            assert!(quantiles.iter().all(|q| q.figure.value <= worst.bound.unwrap() * 1.000_1));
        }
    }
}

#[test]
fn the_same_seed_draws_the_same_grippers_and_another_seed_others() {
    let text = gripper("±0.05", "");
    let figures = |seed| {
        let found = study(&text, 20_000, seed, Distribution::Normal);
        serde_json::to_string(&found).unwrap()
    };
    assert_eq!(figures(7), figures(7));
    assert_ne!(figures(7), figures(8));
}

#[test]
fn lengths_made_together_keep_the_pad_upright() {
    let apart = study(&gripper("±0.05", ""), 20_000, 1, Distribution::Normal);
    let more = "[tolerance]\ntogether = [[\"crank\", \"rocker\"], [\"ground\", \"coupler\"]]\n";
    let together = study(&gripper("±0.05", more), 20_000, 1, Distribution::Normal);
    assert!(mean(&together, Criterion::Tilt) < 1e-6 * mean(&apart, Criterion::Tilt));
    // A longer crank opens further, upright or not.
    assert!(mean(&together, Criterion::Opening) > 0.1 * mean(&apart, Criterion::Opening));
}

#[test]
fn the_length_that_tilts_the_pad_most_is_named_with_the_slope_of_the_formula() {
    // b sin φ dθ = (dc − da) + cos φ (dg − db), less its value in the zero pose at 90 deg.
    let found = study(&gripper("±0.05", ""), 1000, 1, Distribution::Normal);
    let slope =
        |variable: Variable| found.ranking.iter().find(|c| c.variable == variable.into()).unwrap();
    for (variable, sign) in [(Variable::Ground, 1.0), (Variable::Coupler, -1.0)] {
        let c = slope(variable);
        let phi = PI / 2.0 + c.at_turn;
        let formula = sign * phi.cos() / (0.02 * phi.sin());
        assert!((c.slope - formula).abs() < 1e-9 && (c.at_turn.abs() - PI / 6.0).abs() < 1e-12);
    }
    for (variable, sign) in [(Variable::Rocker, 1.0), (Variable::Crank, -1.0)] {
        let c = slope(variable);
        let phi = PI / 2.0 + c.at_turn;
        let formula = sign * (1.0 / phi.sin() - 1.0) / 0.02;
        assert!((c.slope - formula).abs() < 1e-9, "{variable:?} {} {formula}", c.slope);
    }
    let shares: f64 = found.ranking.iter().map(|c| c.share).sum();
    assert!((shares - 1.0).abs() < 1e-12 && slope(Variable::Coupler).share > 0.4);
    assert!(found.ranking.iter().all(|c| c.ratio_slope.is_none()));
}

#[test]
fn a_multiplier_to_randomise_lies_about_the_emitted_one_and_within_the_tilt_that_is_proved() {
    let found = study(&gripper("±0.05", ""), 20_000, 1, Distribution::Normal);
    let (multiplier, tilt) = (found.ranges.multiplier.unwrap(), found.ranges.tilt.unwrap());
    let [mean, deviation] = multiplier.normal.unwrap();
    assert!((mean + 1.0).abs() < deviation && !multiplier.certified && tilt.certified);
    // A hinge that turns by m for each motor turn is off by (m + 1) times the stroke between its ends.
    let most = multiplier.bounds.map(|m| (m + 1.0).abs()).into_iter().fold(0.0, f64::max);
    assert!(most * PI / 3.0 <= tilt.bounds[1] - tilt.bounds[0] && most > 1e-4);
    let slide = study(
        &gripper("±0.05", "[direct_joint]\nstand_in = \"slide\"\n"),
        2000,
        1,
        Distribution::Normal,
    );
    assert!(slide.ranges.multiplier.is_none() && slide.ranges.ratio.is_none());
}

#[test]
fn what_is_allowed_of_a_gripper_is_proved_and_little_more_breaks_it() {
    let found = study(&gripper("±0.01", ""), 1000, 1, Distribution::Normal);
    let allowed = found.symmetric.unwrap();
    let holds = |tolerance: f64| {
        let text = gripper(&format!("±{:?}", 1e3 * tolerance), "");
        study(&text, 1000, 1, Distribution::Normal)
            .worst
            .iter()
            .all(|w| w.outcome == unloop::equivalence::Outcome::Holds)
    };
    assert!(holds(allowed) && !holds(1.02 * allowed), "{allowed}");
}

#[test]
fn builds_of_a_jaw_are_not_told_as_if_it_rode_on_the_rocker() {
    let text = std::fs::read_to_string("models/gripper_parallel.toml").unwrap();
    let (design, _) = unloop::design::parse("g.toml", &text).unwrap();
    let request = ToleranceRequest { samples: 16, seed: 1, distribution: Distribution::Uniform };
    let faults = unloop::study::builds(&design, &request, &|_| true).unwrap_err();
    assert!(faults[0].message.contains("rides on the coupler"), "{faults:?}");
}
