//! Parallel jaws: figures of the pad against values from outside, bounds against builds that are worked out by circles here.

use std::f64::consts::PI;

use proptest::prelude::*;
use toml::Table;
use unloop::design::parse;
use unloop::equivalence::{Criterion, Figure, Outcome, PadMotion, Verdict};
use unloop::linkage::{Branch, Closure, Drive, FourBar, Pad, PadOn, Stroke};
use unloop::study::{Check, check};

// A finger by circles, which shares nothing with the program.

/// Ground, crank, coupler, rocker.
type Lengths = [f64; 4];

/// P and the coupler's angle at crank angle `phi`, A at the origin, B on +x, Q left of P→B.
fn coupler([g, a, b, c]: Lengths, phi: f64) -> Option<([f64; 2], f64)> {
    let p = [a * phi.cos(), a * phi.sin()];
    let (dx, dy) = (g - p[0], -p[1]);
    let d = dx.hypot(dy);
    let along = (d * d + b * b - c * c) / (2.0 * d);
    let off = (b * b - along * along).sqrt();
    let w = [(along * dx - off * dy) / d, (along * dy + off * dx) / d];
    (!off.is_nan()).then(|| (p, w[1].atan2(w[0])))
}

/// Pad of a finger whose stand-in turns the hinge at P by `multiplier`; crank in the zero pose `zero` + `error`.
#[derive(Clone, Copy)]
struct Jaw {
    drawn: Lengths,
    zero: f64,
    point: [f64; 2],
    closing: [f64; 2],
    multiplier: f64,
    /// The zero pose is the drawn one's, not each build's own.
    set_by_drawing: bool,
}

fn turned([x, y]: [f64; 2], by: f64) -> [f64; 2] {
    [x * by.cos() - y * by.sin(), x * by.sin() + y * by.cos()]
}

impl Jaw {
    /// Where the pad of a build is after `turn`, against its own zero pose: (tilt, displacement).
    fn pad(&self, built: Lengths, turn: f64) -> Option<(f64, [f64; 2])> {
        let (p, angle) = coupler(built, self.zero + turn)?;
        let zeroed = if self.set_by_drawing { self.drawn } else { built };
        let (p0, zero) = coupler(zeroed, self.zero)?;
        let tilt = (angle - zero + PI).rem_euclid(2.0 * PI) - PI;
        let arm = turned(self.point, tilt);
        let moved = [0, 1].map(|k| p[k] - p0[k] + arm[k] - self.point[k]);
        Some((tilt, moved))
    }

    fn model(&self, turn: f64) -> (f64, [f64; 2]) {
        let tilt = (self.multiplier + 1.0) * turn;
        let crank = [self.drawn[1] * self.zero.cos(), self.drawn[1] * self.zero.sin()];
        let (at, arm) = (turned(crank, turn), turned(self.point, tilt));
        (tilt, [0, 1].map(|k| at[k] - crank[k] + arm[k] - self.point[k]))
    }

    fn closing_rate(
        &self,
        displacement: &dyn Fn(f64) -> Option<[f64; 2]>,
        turn: f64,
    ) -> Option<f64> {
        let h = 1e-5;
        let along = |by: f64| {
            let [x, y] = displacement(turn + by)?;
            Some(x * self.closing[0] + y * self.closing[1])
        };
        Some((8.0 * (along(h)? - along(-h)?) - (along(2.0 * h)? - along(-2.0 * h)?)) / (12.0 * h))
    }

    /// |tilt|, |shift|, |opening| and |grip| error of a build after `turn`.
    fn errors(&self, built: Lengths, turn: f64) -> Option<[f64; 4]> {
        let (n, across) = (self.closing, [self.closing[1], -self.closing[0]]);
        let (tilt, at) = self.pad(built, turn)?;
        let (model_tilt, model_at) = self.model(turn);
        let off = [at[0] - model_at[0], at[1] - model_at[1]];
        let rate = self.closing_rate(&|x| Some(self.pad(built, x)?.1), turn)?;
        let model_rate = self.closing_rate(&|x| Some(self.model(x).1), turn)?;
        Some([
            (tilt - model_tilt).abs(),
            (off[0] * across[0] + off[1] * across[1]).abs(),
            2.0 * (off[0] * n[0] + off[1] * n[1]).abs(),
            (rate / model_rate - 1.0).abs(),
        ])
    }
}

// Figures from outside

/// `tests/data/check-values-grippers.toml`.
fn case(id: &str) -> Table {
    let text = std::fs::read_to_string("tests/data/check-values-grippers.toml").unwrap();
    let table: Table = text.parse().unwrap();
    let cases = table["case"].as_array().unwrap();
    cases.iter().find(|case| case["id"].as_str() == Some(id)).unwrap().as_table().unwrap().clone()
}

fn number(case: &Table, part: &str, key: &str) -> f64 {
    let value = &case[part][key];
    value.as_float().or_else(|| value.as_integer().map(|n| n as f64)).unwrap()
}

/// The finger of a case: zeroed with its crank at 90 deg, the pad (10, 30) mm from the crank pin.
fn of_case(case: &Table) -> (Branch, Pad) {
    let of = |key: &str| 1e-3 * number(case, "inputs", key);
    let bars = FourBar { ground: of("g"), crank: of("a"), coupler: of("b"), rocker: of("c") };
    let pad = Pad {
        on: PadOn::Coupler,
        point: [0.01, 0.03],
        closing: [-1.0, 0.0],
        across: [0.0, 1.0],
        fingers: 2.0,
    };
    (Branch::through(bars, PI / 2.0, Closure::Open).unwrap(), pad)
}

#[test]
fn opening_shift_tilt_and_grip_of_a_finger_are_those_of_the_check_values() {
    let case = case("grip-parallel-60");
    let (branch, pad) = of_case(&case);
    let at = pad.at(&branch, -PI / 6.0).unwrap();
    let exact = |key: &str| number(&case, "exact", key);
    assert!((1e3 * (0.05 + at.opened) - exact("opening")).abs() < 1e-11);
    assert!((1e3 * at.shift - exact("shift")).abs() < 1e-11);
    assert!((at.tilt.to_degrees() - exact("tilt_deg")).abs() < 1e-15);
    assert!((at.grip_per_torque() - exact("force_per_torque_N_per_Nm")).abs() < 1e-10);
    assert!((1e3 * at.opening_rate - exact("opening_rate_mm_per_rad")).abs() < 1e-10);
}

#[test]
fn a_length_that_is_off_tilts_the_pad_by_as_much_as_the_check_values_say() {
    for (id, turn) in [
        ("grip-tilt-rocker-60", -30.0),
        ("grip-tilt-rocker-120", 30.0),
        ("grip-tilt-coupler-120", 30.0),
    ] {
        let case = case(id);
        let (branch, pad) = of_case(&case);
        let tilt = pad.at(&branch, f64::to_radians(turn)).unwrap().tilt.to_degrees();
        assert!(
            (tilt.abs() - number(&case, "exact", "tilt_deg").abs()).abs() < 1e-12,
            "{id} {tilt}"
        );
    }
}

#[test]
fn the_crank_torque_of_a_general_finger_holds_one_newton_of_grip() {
    for (id, turn) in [
        ("grip-force-general-60", -30.0),
        ("grip-force-general-90", 0.0),
        ("grip-force-general-120", 30.0),
    ] {
        let case = case(id);
        let (branch, pad) = of_case(&case);
        let alone = Pad { fingers: 1.0, ..pad };
        let at = alone.at(&branch, f64::to_radians(turn)).unwrap();
        let torque = 1e3 / at.grip_per_torque();
        assert!((torque - number(&case, "exact", "torque_N_mm")).abs() < 1e-10, "{id} {torque}");
    }
}

#[test]
fn a_slide_costs_what_the_check_values_say_and_finds_the_best_constant() {
    let (arc, linear) = (case("grip-slide-arc"), case("grip-linear-opening"));
    let bars = FourBar { ground: 0.02, crank: 0.04, coupler: 0.02, rocker: 0.04 };
    let branch = Branch::through(bars, PI / 2.0, Closure::Open).unwrap();
    let pad = of_case(&case("grip-parallel-60")).1;
    let stroke = Stroke::on(&branch, Drive::Motor, [-PI / 6.0, PI / 6.0]).unwrap();
    let slide = PadMotion::slide(&branch, &pad, &stroke).unwrap();
    assert!((1e3 * slide.travel - number(&linear, "exact", "rate_mm_per_rad")).abs() < 1e-9);
    let found = of_text(&gripper("", "[direct_joint]\nstand_in = \"slide\"\n"));
    let worst = |criterion| nominal(&found, criterion);
    assert!((1e3 * worst(Criterion::Shift) - number(&arc, "exact", "shift")).abs() < 1e-10);
    assert!((worst(Criterion::Grip) - number(&arc, "exact", "force_error")).abs() < 1e-12);
    // Both fingers.
    assert!(
        (1e3 * worst(Criterion::Opening) - 2.0 * number(&linear, "exact", "error")).abs() < 1e-9
    );
    assert_eq!(found.verdict, Verdict::NotEquivalent);
}

// Bounds

fn gripper(tolerance: &str, more: &str) -> String {
    with_lengths([20.0, 40.0, 20.0, 40.0], tolerance, more)
}

fn with_lengths([g, a, b, c]: Lengths, tolerance: &str, more: &str) -> String {
    format!(
        "name = \"g\"\n[linkage]\nground = \"{g} {tolerance} mm\"\ncrank = \"{a} {tolerance} mm\"\n\
         coupler = \"{b} {tolerance} mm\"\nrocker = \"{c} {tolerance} mm\"\n[zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\n\
         set_by = \"jig\"\n[stroke]\nmotor = [\"-30 deg\", \"30 deg\"]\n\
         [finger]\npad = \"coupler\"\npoint = [\"10 mm\", \"30 mm\"]\nclosing = [-1.0, 0.0]\nopening = \"50 mm\"\n{more}"
    )
}

fn of_text(text: &str) -> Check {
    let (design, _) = parse("g.toml", text).unwrap_or_else(|rejected| panic!("{rejected}"));
    check(&design).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn nominal(found: &Check, criterion: Criterion) -> f64 {
    found.criterion(criterion).unwrap().nominal.map(Figure::value).unwrap()
}

/// The worst errors of every corner of the tolerances over the stroke.
fn worst_corner(jaw: &Jaw, tolerance: f64) -> [f64; 4] {
    let mut worst = [0.0_f64; 4];
    for corner in 0..16_u32 {
        let built: Lengths = std::array::from_fn(|k| {
            jaw.drawn[k] + if corner >> k & 1 == 1 { tolerance } else { -tolerance }
        });
        for step in 0..=60_u32 {
            let turn = (f64::from(step) - 30.0).to_radians();
            let errors = jaw.errors(built, turn).unwrap();
            for (most, error) in worst.iter_mut().zip(errors) {
                *most = most.max(error);
            }
        }
    }
    worst
}

fn jaw(drawn_mm: Lengths) -> Jaw {
    Jaw {
        drawn: drawn_mm.map(|l| 1e-3 * l),
        zero: PI / 2.0,
        point: [0.01, 0.03],
        closing: [-1.0, 0.0],
        multiplier: -1.0,
        set_by_drawing: false,
    }
}

#[test]
fn bounds_of_a_jaw_within_tolerance_are_reached_by_a_corner_and_passed_by_none() {
    for lengths in [[20.0, 40.0, 20.0, 40.0], [20.0, 40.0, 20.0, 40.1], [22.0, 35.0, 21.0, 36.0]] {
        let found = of_text(&with_lengths(lengths, "±0.05", ""));
        let worst = worst_corner(&jaw(lengths), 5e-5);
        for (criterion, worst) in Criterion::OF_PAD.into_iter().zip(worst) {
            let bound = found.criterion(criterion).unwrap().bound.map(Figure::value).unwrap();
            assert!(
                worst <= bound * (1.0 + 1e-9) + 1e-12,
                "{lengths:?} {criterion:?} {worst} {bound}"
            );
            assert!(bound <= worst * 1.003, "{lengths:?} {criterion:?} {worst} {bound}");
        }
    }
}

#[test]
fn a_refuted_jaw_shows_a_build_whose_pad_is_off_by_what_it_says() {
    let found = of_text(&gripper("±0.2", "[accept]\ntilt = \"0.3 deg\"\n"));
    assert_eq!(found.verdict, Verdict::NotEquivalent);
    let (criterion, broken) = found.witness.clone().unwrap();
    let witness = broken.linkage().unwrap();
    assert_eq!(criterion, Criterion::Tilt);
    let bars = witness.bars;
    let built = [bars.ground, bars.crank, bars.coupler, bars.rocker];
    let [tilt, ..] = jaw([20.0, 40.0, 20.0, 40.0]).errors(built, witness.turn).unwrap();
    assert!(tilt > 0.3_f64.to_radians() && (tilt - witness.value.abs()).abs() < 1e-9);
}

#[test]
fn a_limit_that_is_just_met_holds_and_one_a_little_below_fails() {
    let worst = nominal(&of_text(&with_lengths([20.0, 40.0, 20.0, 40.1], "", "")), Criterion::Tilt);
    for (limit, outcome) in [(worst + 1e-12, Outcome::Holds), (worst - 1e-8, Outcome::Fails)] {
        let limit = format!("[accept]\ntilt = \"{limit:?} rad\"\n");
        let found = of_text(&with_lengths([20.0, 40.0, 20.0, 40.1], "", &limit));
        assert_eq!(found.criterion(Criterion::Tilt).unwrap().outcome, outcome, "{limit}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// 40 fingers with 60 builds at 9 poses each.
    #[test]
    fn no_build_of_a_finger_is_ever_beyond_a_certified_bound(
        lengths in [15.0..30.0_f64, 30.0..50.0_f64, 15.0..30.0_f64, 30.0..50.0_f64],
        tolerance in 0.01..0.3_f64,
        set_by_drawing in any::<bool>(),
        seeds in prop::collection::vec(prop::array::uniform4(-1.0..1.0_f64), 60),
    ) {
        let set_by = if set_by_drawing { "drawing" } else { "jig" };
        let text = with_lengths(lengths, &format!("±{tolerance:?}"), "").replace("jig", set_by);
        let (design, _) = parse("g.toml", &text).unwrap();
        let Ok(found) = check(&design) else { return Ok(()) };
        let zero = Jaw { set_by_drawing, ..jaw(lengths) };
        for seed in seeds {
            let built: Lengths =
                std::array::from_fn(|k| zero.drawn[k] + 1e-3 * tolerance * seed[k]);
            for step in 0..9_u32 {
                let turn = (-30.0 + 7.5 * f64::from(step)).to_radians();
                let Some(errors) = zero.errors(built, turn) else { continue };
                for (criterion, error) in Criterion::OF_PAD.into_iter().zip(errors) {
                    let Some(bound) = found.criterion(criterion).unwrap().bound else { continue };
                    let slack = if criterion == Criterion::Grip { 1e-8 } else { 1e-12 };
                    prop_assert!(error <= bound.value() + slack, "{criterion:?} {error} {bound:?}");
                }
            }
        }
    }
}

// One finger in several spellings

#[test]
fn a_jaw_is_the_same_however_it_is_drawn() {
    let tail = "[stroke]\nmotor = [\"-30 deg\", \"20 deg\"]\n[zero]\nset_by = \"jig\"\n[tolerance]\nrocker = \"±0.05 mm\"\n";
    let lengths = of_text(
        &with_lengths([20.0, 40.0, 20.0, 40.0], "", "")
            .replace("[\"-30 deg\", \"30 deg\"]", "[\"-30 deg\", \"20 deg\"]")
            .replace("rocker = \"40  mm\"", "rocker = \"40 ±0.05 mm\""),
    );
    // Turned by a quarter: the drawing's x is the palm's −y.
    let pins = format!(
        "name = \"g\"\n{tail}[pivots]\nmotor = [\"0 mm\", \"0 mm\"]\njoint = [\"0 mm\", \"-20 mm\"]\ncrank = [\"40 mm\", \"0 mm\"]\n\
         rocker = [\"40 mm\", \"-20 mm\"]\n[finger]\npad = \"coupler\"\npoint = [\"30 mm\", \"-10 mm\"]\nclosing = [0.0, 1.0]\nopening = \"50 mm\"\n"
    );
    // Seen from the other side, where angles turn round too.
    let away = pins
        .replace("name = \"g\"", "name = \"g\"\naxis_points = \"away\"")
        .replace("\"-20 mm\"", "\"20 mm\"")
        .replace("[\"30 mm\", \"-10 mm\"]", "[\"30 mm\", \"10 mm\"]")
        .replace("[0.0, 1.0]", "[0.0, -1.0]")
        .replace("[\"-30 deg\", \"20 deg\"]", "[\"-20 deg\", \"30 deg\"]");
    let space = format!(
        "name = \"g\"\n{tail}[pivots]\naxis = [0, 1, 0]\nmotor = [\"0 mm\", \"3 mm\", \"0 mm\"]\njoint = [\"20 mm\", \"0 mm\", \"0 mm\"]\n\
         crank = [\"0 mm\", \"1 mm\", \"-40 mm\"]\nrocker = [\"20 mm\", \"1 mm\", \"-40 mm\"]\n[finger]\npad = \"coupler\"\n\
         point = [\"10 mm\", \"5 mm\", \"-30 mm\"]\nclosing = [-1.0, 0.0, 0.0]\nopening = \"50 mm\"\n"
    );
    for text in [pins, away, space] {
        let found = of_text(&text);
        for criterion in Criterion::OF_PAD {
            let of = |check: &Check| check.criterion(criterion).unwrap().worst().unwrap().value();
            assert!((of(&found) - of(&lengths)).abs() < 2e-9, "{criterion:?} {text}");
        }
        let ends = |check: &Check| {
            let finger = check.finger.clone().unwrap();
            [finger.opening, finger.tilt, finger.grip].map(|[low, high]| [low.value, high.value])
        };
        for (mine, its) in ends(&found).into_iter().zip(ends(&lengths)) {
            assert!((mine[0] - its[0]).abs() < 1e-9 && (mine[1] - its[1]).abs() < 1e-9, "{text}");
        }
        // Counted in the drawing, where the other side has its own up.
        let shift = found.finger.unwrap().shift.map(|at| at.value);
        let drawn = lengths.finger.clone().unwrap().shift.map(|at| at.value);
        let turned = [-drawn[1], -drawn[0]];
        let near = |p: [f64; 2], q: [f64; 2]| p.iter().zip(q).all(|(a, b)| (a - b).abs() < 1e-9);
        assert!(near(shift, drawn) || near(shift, turned), "{shift:?} {drawn:?}");
    }
}
