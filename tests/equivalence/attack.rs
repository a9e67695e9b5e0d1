//! The attack on the verdict, a few cases of it, and the attacker itself: is its truth true, does it see a lie?

#[path = "../../benches/attack/mod.rs"]
mod attacker;

use attacker::closed_form::Bars;
use attacker::compare::{Report, against};
use attacker::double::{Double, Real};
use attacker::drawing::{By, Drawing, Geometry, Size};
use attacker::families::{Choice, draw_of};
use attacker::pad::{Finger, Start};
use attacker::random::Random;
use attacker::run::{Plan, run};
use attacker::tally::Tally;
use serde_json::{Value, json};
use std::sync::Mutex;
use unloop::design::parse;
use unloop::study::check;

fn decimal(text: &str) -> Double {
    Double::decimal(text).unwrap()
}

fn agree(found: Double, text: &str, what: &str) {
    let off = (found - decimal(text)).value().abs();
    assert!(off <= 1e-28 * decimal(text).value().abs().max(1.0), "{what}: off by {off:e}");
}

/// Figures of an arbitrary-precision library (mpmath 1.3.0).
#[test]
fn sines_angles_and_roots_have_thirty_digits() {
    let one = Double::of(1.0);
    agree(decimal("2").sqrt(), "1.41421356237309504880168872420969807857", "root of 2");
    agree(one.sin_cos().0, "0.841470984807896506652502321630298999623", "sin 1");
    agree(decimal("-100.5").sin_cos().1, COS, "cos -100.5");
    agree(decimal("0.001").atan2(decimal("-3")), ANGLE, "angle of (-3, 0.001)");
    agree(Double::pi(), "3.14159265358979323846264338327950288420", "pi");
    agree(decimal("1e-3") / decimal("3"), "0.000333333333333333333333333333333333333333", "1e-3/3");
}

const COS: &str = "0.999520625328351458417697849621529356727";
const ANGLE: &str = "3.14125932026880558331861052678985062607";

/// `data/attack_vectors.txt`: Newton's method on the loop equations, step by step, 60 digits.
#[test]
fn the_closed_form_agrees_with_fifty_digits_followed_step_by_step() {
    let mut count = 0;
    for line in include_str!("../data/attack_vectors.txt").lines().filter(|l| !l.starts_with('#')) {
        let column: Vec<&str> = line.split(' ').collect();
        let number = |k: usize| decimal(column[k]);
        let bars = Bars::of([0, 1, 2, 3].map(number));
        let side = bars.side(number(4), number(5)).unwrap();
        let start = bars.pose(number(4), side).unwrap();
        let pose = bars.pose(number(4) + number(6), side).unwrap();
        let near = 1e-26;
        for (found, wanted) in [
            (pose.rocker - start.rocker, number(7)),
            (pose.velocity_ratio, number(8)),
            (pose.transmission_angle, number(9)),
        ] {
            let off = (found - wanted).value().abs();
            assert!(off <= near * wanted.value().abs().max(1.0), "{line}: off by {off:e}");
        }
        count += 1;
    }
    assert!(count >= 60, "{count}");
}

/// A parallelogram's rocker turns as its crank does, whatever its lengths: the joint error of a stroke is 0.
#[test]
fn a_parallelogram_has_no_error_in_the_closed_form() {
    let bars = Bars::of(["212.3", "41.7", "212.3", "41.7"].map(decimal));
    let zero = decimal("1.2");
    let side = bars.side(zero, zero).unwrap();
    let start = bars.pose(zero, side).unwrap();
    for turn in ["-1.1", "0.3", "1.7"].map(decimal) {
        let pose = bars.pose(zero + turn, side).unwrap();
        assert!((pose.rocker - start.rocker - turn).value().abs() < 1e-30);
        assert!((pose.velocity_ratio - Double::of(1.0)).value().abs() < 1e-29);
    }
}

#[test]
fn some_hundred_designs_of_every_class_are_judged_and_compared_without_a_panic() {
    let tally = Mutex::new(Tally::default());
    let plan = Plan { seed: 7, choice: Choice::default(), threads: 2, seconds: 600.0, cases: 100 };
    run(&plan, &tally, &|_| {});
    let tally = tally.into_inner().unwrap();
    assert_eq!(tally.families(), 100);
    assert!(tally.verdicts("equivalent") > 10, "{}", tally.summary());
    assert!(tally.verdicts("not_equivalent") > 10, "{}", tally.summary());
    assert_eq!(tally.untrue(), 0, "{}", tally.summary());
}

#[test]
fn the_same_seed_and_case_draw_the_same_design() {
    let text = |case: u64| {
        let mut random = Random::new(3, case);
        std::iter::repeat_with(|| draw_of(&mut random, "pivots"))
            .flatten()
            .next()
            .unwrap()
            .drawing
            .text()
    };
    assert_eq!(text(5), text(5));
    assert_ne!(text(5), text(6));
}

/// A toleranced ankle that holds.
fn ankle() -> Drawing {
    let size = |nominal: &str, t: &str| Size {
        nominal: nominal.to_owned(),
        deviations: Some([t.to_owned(), format!("-{t}")]),
    };
    Drawing {
        class: "ankle",
        away: false,
        geometry: Geometry::Lengths {
            sizes: [("300", "0.1"), ("45", "0.05"), ("300", "0.1"), ("45", "0.05")]
                .map(|(nominal, t)| size(nominal, t)),
            crank: Size { nominal: "90".to_owned(), deviations: None },
            rocker: "90".to_owned(),
        },
        reads: ["0".to_owned(), "0".to_owned()],
        set_by: Some("jig"),
        by: By::Joint,
        stroke: ["-35".to_owned(), "40".to_owned()],
        ratio: Some("1.0".to_owned()),
        offset: None,
        preset: "training",
        angle: None,
        ratio_limit: None,
        transmission: None,
        over: None,
        finger: None,
    }
}

fn judged(drawing: &Drawing) -> Value {
    let (design, _) = parse("ankle.toml", &drawing.text()).unwrap_or_else(|r| panic!("{r}"));
    serde_json::to_value(check(&design).unwrap_or_else(|f| panic!("{f:?}"))).unwrap()
}

fn compared(drawing: &Drawing, json: &Value) -> Report {
    against(&drawing.meaning().unwrap(), json, &mut Random::new(1, 1))
}

/// What is seen when one figure of an honest answer is changed.
fn seen(drawing: &Drawing, pointer: &str, lie: Value) -> Vec<&'static str> {
    let mut json = judged(drawing);
    *json.pointer_mut(pointer).unwrap() = lie;
    compared(drawing, &json).breaks.iter().map(|b| b.kind).collect()
}

#[test]
fn an_honest_answer_is_not_accused() {
    let report = compared(&ankle(), &judged(&ankle()));
    assert!(report.breaks.is_empty(), "{report:#?}");
    assert_eq!(report.verdict, "equivalent");
}

#[test]
fn a_bound_below_the_truth_is_caught() {
    let bound = judged(&ankle())["criteria"][1]["tolerance_bound"].as_f64().unwrap();
    let lie = seen(&ankle(), "/criteria/1/tolerance_bound", json!(0.99 * bound));
    assert!(lie.contains(&"bound beaten"), "{lie:?}");
    let lie = seen(&ankle(), "/criteria/3/tolerance_bound", json!(1.3));
    assert!(lie.contains(&"bound beaten"), "{lie:?}");
}

#[test]
fn a_bound_looser_than_it_should_be_is_caught() {
    let bound = judged(&ankle())["criteria"][1]["tolerance_bound"].as_f64().unwrap();
    let lie = seen(&ankle(), "/criteria/1/tolerance_bound", json!(3.0 * bound));
    assert!(lie.contains(&"loose bound"), "{lie:?}");
}

/// With a limit of 0.1 % the ankle fails; "holds" and "equivalent" there are untrue.
#[test]
fn an_untrue_equivalent_is_caught() {
    let mut strict = ankle();
    strict.ratio_limit = Some("0.1".to_owned());
    let honest = compared(&strict, &judged(&strict));
    assert!(honest.breaks.is_empty() && honest.verdict == "not_equivalent", "{honest:#?}");
    let lie = seen(&strict, "/criteria/1/outcome", json!("holds"));
    assert!(lie.contains(&"untrue holds") && lie.contains(&"verdict"), "{lie:?}");
}

#[test]
fn an_untrue_refutation_and_a_witness_outside_the_drawing_are_caught() {
    let lie = seen(&ankle(), "/criteria/0/outcome", json!("fails"));
    assert!(lie.contains(&"untrue fails"), "{lie:?}");
    let mut strict = ankle();
    strict.ratio_limit = Some("0.1".to_owned());
    let lie = seen(&strict, "/witness/crank_m", json!(0.0452));
    assert!(lie.contains(&"witness outside the drawing"), "{lie:?}");
    let lie = seen(&strict, "/witness/value", json!(0.5));
    assert!(lie.contains(&"witness"), "{lie:?}");
}

#[test]
fn figures_that_promise_too_much_are_caught() {
    for (pointer, lie, kind) in [
        ("/largest_symmetric_tolerance_m", json!(0.002), "untrue largest tolerance"),
        ("/largest_stroke_joint_rad", json!([-1.4, 1.4]), "untrue largest stroke"),
        ("/proved_joint_rad", json!([-1.4, 1.4]), "untrue stretch"),
        ("/criteria/0/nominal", json!(1e-6), "nominal figure"),
        ("/transmission_ratio/max", json!(1.001), "transmission ratio"),
        ("/criteria/0/limit", json!(0.0088), "limit"),
        ("/direct_joint/ratio", json!(1.001), "constant"),
        ("/angle_error/max_rad", json!(1e16), "absurd figure"),
    ] {
        let seen = seen(&ankle(), pointer, lie);
        assert!(seen.contains(&kind), "{pointer}: {seen:?}");
    }
}

/// A ratio that was to be the best and is not.
#[test]
fn constants_that_are_not_the_best_are_caught() {
    let mut best = ankle();
    best.ratio = None;
    if let Geometry::Lengths { sizes, .. } = &mut best.geometry {
        sizes[3].nominal = "47".to_owned();
    }
    let ratio = judged(&best)["direct_joint"]["ratio"].as_f64().unwrap();
    assert!(compared(&best, &judged(&best)).breaks.is_empty());
    let lie = seen(&best, "/direct_joint/ratio", json!(ratio * 1.0001));
    assert!(lie.contains(&"constants are not the best"), "{lie:?}");
}

/// A toleranced gripper that holds.
fn gripper(stand_in: &'static str) -> Drawing {
    let size = |nominal: &str| Size {
        nominal: nominal.to_owned(),
        deviations: Some(["0.02".to_owned(), "-0.02".to_owned()]),
    };
    let pair = |[x, y]: [&str; 2]| [x.to_owned(), y.to_owned()];
    Drawing {
        geometry: Geometry::Lengths {
            sizes: ["20", "40", "20", "40.1"].map(size),
            crank: Size { nominal: "90".to_owned(), deviations: None },
            rocker: "90".to_owned(),
        },
        by: By::Motor,
        stroke: pair(["-30", "30"]),
        ratio: None,
        finger: Some(Finger {
            on: "coupler",
            unit: "mm",
            point: pair(["10", "30"]),
            closing: pair(["-1.0", "0.0"]),
            opening: "50".to_owned(),
            other: None,
            stand_in: Some(stand_in),
            best: false,
            limits: [None, None],
            actuator: ["1.2", "6", "0.2"].map(|text| Some(text.to_owned())),
        }),
        ..ankle()
    }
}

/// Pin, coupler and rocker close the loop, and the coupler's rate is what its angle changes by.
#[test]
fn the_couplers_angle_closes_the_loop_in_the_closed_form() {
    let [g, a, b, c] = ["31.3", "40.7", "35.1", "44.9"].map(decimal);
    let bars = Bars::of([g, a, b, c]);
    for side in [1.0, -1.0] {
        for turn in ["0.7", "1.3", "1.9"].map(decimal) {
            let at = |turn| Start::of(&bars.pose(turn, side).unwrap());
            let start = at(turn);
            let ((sin, cos), (sin_psi, cos_psi)) =
                (start.coupler.sin_cos(), start.rocker.sin_cos());
            let gap =
                [start.pin[0] + b * cos - g - c * cos_psi, start.pin[1] + b * sin - c * sin_psi];
            assert!(gap.iter().all(|gap| gap.value().abs() < 1e-28), "{gap:?}");
            let h = decimal("1e-8");
            let rate = (at(turn + h).coupler - at(turn - h).coupler) / (h + h);
            let off = (rate - bars.pose(turn, side).unwrap().coupler_rate).value().abs();
            assert!(off < 1e-14, "{off:e}");
        }
    }
}

#[test]
fn an_honest_answer_about_a_gripper_is_not_accused() {
    for stand_in in ["counter", "slide", "hinge"] {
        let report = compared(&gripper(stand_in), &judged(&gripper(stand_in)));
        assert!(report.breaks.is_empty(), "{stand_in} {report:#?}");
    }
}

#[test]
fn lies_about_a_gripper_are_caught() {
    let honest = judged(&gripper("counter"));
    let share =
        |pointer: &str, by: f64| json!(by * honest.pointer(pointer).unwrap().as_f64().unwrap());
    for (pointer, lie, kind) in [
        ("/criteria/0/tolerance_bound", share("/criteria/0/tolerance_bound", 0.99), "bound beaten"),
        ("/criteria/1/tolerance_bound", share("/criteria/1/tolerance_bound", 0.99), "bound beaten"),
        ("/criteria/2/tolerance_bound", share("/criteria/2/tolerance_bound", 0.99), "bound beaten"),
        ("/criteria/3/tolerance_bound", share("/criteria/3/tolerance_bound", 0.99), "bound beaten"),
        ("/criteria/2/nominal", share("/criteria/2/nominal", 1.001), "nominal figure"),
        ("/criteria/3/limit", json!(0.06), "limit"),
        ("/finger/multiplier", json!(-0.99), "constant"),
        ("/finger/opening_m/min", share("/finger/opening_m/min", 1.01), "printed figure"),
        ("/finger/tilt_rad/max", share("/finger/tilt_rad/max", 1.01), "printed figure"),
        ("/finger/shift_m/min", share("/finger/shift_m/min", -1.0), "printed figure"),
        ("/finger/grip_n_per_n_m/min", share("/finger/grip_n_per_n_m/min", 1.01), "printed figure"),
        ("/finger/grip_at_peak_n/0", share("/finger/grip_at_peak_n/0", 2.0), "printed figure"),
        (
            "/finger/closing_speed_m_per_s/1",
            share("/finger/closing_speed_m_per_s/1", 2.0),
            "printed figure",
        ),
        (
            "/finger/unpowered/holds_n/0",
            share("/finger/unpowered/holds_n/0", 2.0),
            "printed figure",
        ),
        ("/finger/toggle/motor_rad", share("/finger/toggle/motor_rad", 1.5), "toggle"),
        (
            "/finger/stand_ins/0/opening_m",
            share("/finger/stand_ins/0/opening_m", 0.5),
            "stand-in figure",
        ),
        ("/largest_symmetric_tolerance_m", json!(0.002), "untrue largest tolerance"),
    ] {
        let seen = seen(&gripper("counter"), pointer, lie);
        assert!(seen.contains(&kind), "{pointer}: {seen:?}");
    }
    let mut strict = gripper("slide");
    strict.angle = Some("1e-4".to_owned());
    let lie = seen(&strict, "/finger/stand_ins/0/outcome", json!("holds"));
    assert!(lie.contains(&"untrue stand-in"), "{lie:?}");
    let travel =
        judged(&gripper("slide"))["finger"]["slide_m_per_rad"]["opening"].as_f64().unwrap();
    let lie = seen(&gripper("slide"), "/finger/slide_m_per_rad/opening", json!(1.001 * travel));
    assert!(lie.contains(&"constants are not the best"), "{lie:?}");
}

#[test]
fn no_ankle_drawn_at_random_beats_its_verdict_or_its_bounds() {
    assert_eq!(attacker::ankles::run(1, 10, 60.0, 2), 0);
}
