//! What a map says of itself holds; wrong calls are answered.

use std::fs;

use tempfile::TempDir;
use unloop::design::{self, AnyDesign, Design};
use unloop::drive::OneJoint as _;
use unloop::handover::map::{
    Beyond, Language, MapAsk, MapFault, MapForm, Number, map, map_of_sizes,
};
use unloop::numeric::evenly;
use unloop::study::{Driven, Mechanism};

use crate::command::{errors, output, run, unloop};

fn design(text: &str) -> (Design, Mechanism) {
    let (design, _) = design::read("test.toml", text.as_bytes()).unwrap();
    let mechanism = Mechanism::of(&design).unwrap();
    (design, mechanism)
}

fn model(name: &str) -> (Design, Mechanism) {
    design(&fs::read_to_string(format!("models/{name}.toml")).unwrap())
}

fn float(language: Language) -> MapAsk {
    MapAsk { number: Number::Float, ..MapAsk::new(language) }
}

/// The figure between two words of the head.
fn told(code: &str, line: &str, before: &str, behind: &str) -> f64 {
    let line = code.lines().find(|l| l.contains(line)).unwrap();
    let from = line.split_once(before).unwrap().1;
    from.split_once(behind).unwrap().0.trim().parse().unwrap()
}

/// Rows of the vectors within the stroke: motor, joint, way back, linkage's joint.
fn rows(vectors: &str, number: Number) -> Vec<[f64; 4]> {
    let rows = vectors.lines().skip(1).map(|row| row.split(',').collect::<Vec<&str>>());
    let inside = rows.filter(|cells| cells[8] == "0");
    // Shortest decimals name the number of their own kind; the linkage's joint is always told in doubles.
    let own = |cell: &str| match number {
        Number::Float => f64::from(cell.parse::<f32>().unwrap()),
        Number::Double => cell.parse().unwrap(),
    };
    inside
        .map(|cells| [own(cells[1]), own(cells[4]), own(cells[9]), cells[10].parse().unwrap()])
        .collect()
}

const MODELS: [&str; 7] = [
    "ankle",
    "ankle_crossed",
    "gripper_finger",
    "hip_pivots",
    "knee_halving",
    "knee_offset",
    "wrist_reversed",
];

#[test]
fn no_answer_is_further_off_the_linkage_than_the_file_says() {
    for name in MODELS {
        for number in Number::ALL {
            for form in MapForm::ALL {
                let ask = MapAsk { number, form: Some(form), ..MapAsk::new(Language::C99) };
                let (design, mechanism) = model(name);
                let made = map(&design, &mechanism, &ask).unwrap();
                let there = told(&made.code, "joint from motor:", "together", "rad");
                let back = told(&made.code, "motor from joint:", "together", "rad");
                for [motor, joint, returned, exact] in rows(&made.vectors, number) {
                    assert!((joint - exact).abs() <= there + 2e-16, "{name} {number:?} {form:?}");
                    // There and back: the error of the joint angle counts as it comes back.
                    let steepest = 4.0;
                    assert!(
                        (returned - motor).abs() <= back + steepest * there + 1e-15,
                        "{name} {number:?} {form:?} {motor} {returned}"
                    );
                }
            }
        }
    }
}

const DRIVES: [&str; 6] =
    ["ball_rod_knee", "ball_rod_points", "linear_actuator", "slider", "belt", "series_knee"];

#[test]
fn no_polynomial_of_another_drive_is_further_off_it_than_the_file_says() {
    for name in DRIVES {
        let path = format!("models/drives/{name}.toml");
        let text = fs::read_to_string(&path).unwrap();
        let (any, _) = design::parse_any(&path, &text).unwrap();
        let AnyDesign::OneJoint(design) = any else { panic!("{name} is a planar four-bar") };
        let driven = Driven::of(&design).unwrap();
        for number in Number::ALL {
            let form = Some(MapForm::Polynomial);
            let ask = MapAsk { number, form, ..MapAsk::new(Language::C99) };
            let made = map_of_sizes(&design, &driven, &ask).unwrap();
            assert!(made.code.contains("Polynomials that are exact in the zero pose"), "{name}");
            let there = told(&made.code, "joint from motor:", "together", "rad");
            let back = told(&made.code, "motor from joint:", "together", "rad");
            let steepest = evenly(driven.joint_turns(), 100)
                .map(|turn| driven.drive.motion(turn).unwrap().ratio.abs())
                .fold(0.0, f64::max);
            let found = rows(&made.vectors, number);
            assert!(found.len() > 20, "{name}");
            for [motor, joint, returned, exact] in found {
                assert!(
                    (joint - exact).abs() <= there + 2e-16,
                    "{name} {number:?} {joint} {exact}"
                );
                let room = back + 1.01 * steepest * there + 1e-14;
                assert!((returned - motor).abs() <= room, "{name} {number:?} {motor} {returned}");
            }
        }
    }
}

/// Units in the last place that a float is off.
fn units_off(got: f64, exact: f64) -> f64 {
    let exponent = exact.abs().log2().floor().max(-126.0);
    (got - exact).abs() / (exponent - 23.0).exp2()
}

#[test]
fn an_anchored_polynomial_in_floats_is_off_by_one_and_a_half_units_in_the_last_place_at_most() {
    for name in ["ankle_crossed", "knee_offset", "knee_halving", "wrist_reversed"] {
        let (design, mechanism) = model(name);
        let made = map(&design, &mechanism, &float(Language::C99)).unwrap();
        let worst = rows(&made.vectors, Number::Float)
            .into_iter()
            .filter(|row| row[3] != 0.0)
            .map(|[_, joint, _, exact]| units_off(joint, exact))
            .fold(0.0, f64::max);
        assert!(worst <= 1.5, "{name}: {worst} units");
    }
}

#[test]
fn what_is_asked_with_within_is_certified_with_the_least_degree() {
    let (design, mechanism) = model("knee_offset");
    let of = |within: f64| {
        let made =
            map(&design, &mechanism, &MapAsk { within: Some(within), ..float(Language::C99) });
        let code = made.unwrap().code;
        let errors = ["joint from motor:", "motor from joint:"]
            .map(|way| told(&code, way, "together", "rad"));
        assert!(errors.iter().all(|error| *error <= 1.06 * within), "{within} {errors:?}");
        told(&code, "Polynomials that", "of degree", "there")
    };
    let degrees = [1e-3, 1e-5, 1e-6].map(of);
    assert!(degrees[0] < degrees[1] && degrees[1] < degrees[2], "{degrees:?}");
}

#[test]
fn a_wish_that_no_code_is_certified_to_meet_answers_3_and_writes_nothing() {
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("knee.c");
    let call = ["map", "models/knee_offset.toml", "--in", "c99", "--number", "float"];
    let mut arguments = call.to_vec();
    arguments.extend(["--within", "0.000001 deg", "-o", file.to_str().unwrap()]);
    let refused = run(&arguments).code(3);
    assert!(errors(&refused).contains("no code is certified to be within 1.000e-6 deg"));
    assert!(!file.exists());
}

/// A double crank over a turn and a half.
const DRAG_LINK: &str = "name = \"drag link\"\n[linkage]\nground = \"30 mm\"\ncrank = \"80 mm\"\n\
    coupler = \"70 mm\"\nrocker = \"90 mm\"\n[zero]\ncrank = \"90 deg\"\nrocker = \"157.5 deg\"\n\
    [stroke]\nmotor = [\"-300 deg\", \"200 deg\"]\n";

#[test]
fn code_that_is_a_degree_off_is_not_written_unless_that_is_asked_for() {
    let (design, mechanism) = design(DRAG_LINK);
    let ask = float(Language::C99);
    let fault = map(&design, &mechanism, &ask).unwrap_err();
    assert!(matches!(fault, MapFault::NotWithin { reached, .. } if reached > 0.01), "{fault:?}");
    let formula = MapAsk { form: Some(MapForm::Formula), ..ask };
    let fault = map(&design, &mechanism, &formula).unwrap_err();
    assert!(matches!(fault, MapFault::TurnsTooFar { turn } if turn < -5.0), "{fault:?}");
    assert!(map(&design, &mechanism, &MapAsk { within: Some(0.1), ..ask }).is_ok());
}

/// A rocker that turns by 206.8 deg, turns back, and ends 173 deg from the zero pose.
const TURNS_BACK_FAR: &str = "name = \"far\"\n[linkage]\nground = \"55.5 mm\"\ncrank = \"93.4 mm\"\n\
    coupler = \"129.9 mm\"\nrocker = \"48.1 mm\"\n[zero]\ncrank = \"61.5 deg\"\nrocker = \"-67.2 deg\"\n\
    [stroke]\nmotor = [\"0 deg\", \"235 deg\"]\n";

#[test]
fn a_joint_that_turns_back_beyond_half_a_turn_gets_no_closed_form_that_wraps_there() {
    let (design, mechanism) = design(TURNS_BACK_FAR);
    let ends = mechanism.stroke.joint.map(|turn| turn.abs().to_degrees());
    assert!(ends.iter().all(|end| *end < 179.0), "{ends:?}");
    let fault = map(&design, &mechanism, &MapAsk::new(Language::C99)).unwrap_err();
    assert!(
        matches!(fault, MapFault::TurnsTooFar { turn } if turn.to_degrees() > 206.0),
        "{fault:?}"
    );
}

#[test]
fn a_dead_point_in_the_stroke_leaves_no_way_back_and_the_file_says_so() {
    let text = fs::read_to_string("tests/data/kite_turning_back.toml").unwrap();
    let (design, mechanism) = design(&text);
    let [from, to] = mechanism.stroke.motor;
    assert!(!mechanism.branch.dead_turns(from, to).is_empty());
    let made = map(&design, &mechanism, &MapAsk::new(Language::Python)).unwrap();
    assert!(!made.code.contains("_motor_from_joint("), "{}", made.code);
    assert!(made.code.contains("no motor from joint: the rocker stands still at motor"));
}

#[test]
fn the_motors_stops_end_the_code_before_the_stroke_does() {
    let text = fs::read_to_string("models/knee_offset.toml").unwrap();
    let stopped = text.replace("[actuator]", "[actuator]\nstops = [\"-20 deg\", \"90 deg\"]");
    let (design, mechanism) = design(&stopped);
    let made = map(&design, &mechanism, &MapAsk::new(Language::C99)).unwrap();
    assert!(made.code.contains("motor -20.000 to 62.410 deg"), "{}", made.code);
    let lowest =
        rows(&made.vectors, Number::Double).into_iter().map(|row| row[0]).fold(0.0, f64::min);
    assert!((lowest + 20_f64.to_radians()).abs() < 1e-9);
}

#[test]
fn beyond_the_stroke_the_angle_is_held_or_goes_on_straight() {
    let (design, mechanism) = model("knee_offset");
    for beyond in Beyond::ALL {
        let ask = MapAsk { beyond, ..MapAsk::new(Language::C99) };
        let made = map(&design, &mechanism, &ask).unwrap();
        let rows: Vec<Vec<&str>> =
            made.vectors.lines().skip(1).map(|row| row.split(',').collect()).collect();
        let number = |row: &[&str], k: usize| row[k].parse::<f64>().unwrap();
        let above = rows.iter().find(|row| row[8] == "2").unwrap();
        let last = rows.iter().rfind(|row| row[8] == "0" && number(row, 1) > 1.0).unwrap();
        let gone = number(above, 4) - number(last, 4);
        let straight = (number(above, 1) - number(last, 1)) / number(last, 7);
        let wanted = if beyond == Beyond::Hold { 0.0 } else { straight };
        assert!((gone - wanted).abs() < 1e-12, "{beyond:?} {gone}");
        assert_eq!(number(above, 7), number(last, 7));
    }
}

#[test]
fn joints_whose_names_are_one_in_code_are_refused_at_the_second() {
    let text = fs::read_to_string("models/knee_offset.toml").unwrap();
    let robot = &text[text.find("[[robot]]").unwrap()..];
    let two =
        format!("{text}\n{}", robot.replace("knee_pitch", "knee-pitch").replace("shank", "other"));
    let (design, mechanism) = design(&two);
    let fault = map(&design, &mechanism, &MapAsk::new(Language::Rust)).unwrap_err();
    assert!(matches!(&fault, MapFault::SameName { robot: 1, .. }), "{fault:?}");
    assert!(fault.parameter().is_some());
}

#[test]
fn wrong_calls_answer_2_and_overwrite_nothing() {
    let folder = TempDir::new().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    fs::write(path("old.c"), "mine").unwrap();
    let call = |more: &[&str]| {
        let mut arguments = vec!["map", "models/knee_offset.toml"];
        arguments.extend(more);
        errors(&run(&arguments).code(2))
    };
    let (old, other, code) = (path("old.c"), path("knee.rs"), path("v.c"));
    assert!(call(&["--in", "c99", "-o", &old]).contains("exists and was left as it is"));
    assert_eq!(fs::read_to_string(path("old.c")).unwrap(), "mine");
    assert!(call(&["--in", "c99", "-o", &other]).contains("ends like Rust"));
    assert!(call(&["--in", "c99", "-o", &code, "--vectors", &code]).contains("name one file"));
    assert!(call(&["--in", "c99", "-o", "-", "--within", "3"]).contains("unit"));
    assert!(call(&["--in", "c99", "-o", "-", "--within", "-1 deg"]).contains("above zero"));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn a_design_from_standard_input_goes_to_standard_output() {
    let text = fs::read_to_string("models/knee_offset.toml").unwrap();
    let made =
        unloop(&["map", "-", "--in", "python", "-o", "-"]).write_stdin(text).assert().success();
    assert!(output(&made).starts_with("# \"knee_offset\": motor angle"));
    assert!(output(&made).contains("def knee_pitch_joint_from_motor(motor, xp):"));
}
