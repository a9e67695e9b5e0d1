//! Designs of two joints held against robot files: as emitted in step, spoilt in one place told by that place.

use std::sync::LazyLock;

use unloop::design::{AnyDesign, TwoJointDesign, parse_any};
use unloop::handover::compare::{Comparison, Row, RowOutcome, compare_two_joints};
use unloop::handover::{ActuatorUnits, Ask, Form, Format, emit_design_of_two_joints};
use unloop::robot::Robot;
use unloop::study::{Depth, RegionCheck, TwoMotors, check_two_motors};

/// A design with all that is found of it.
struct Model {
    design: TwoJointDesign,
    of: TwoMotors,
    check: RegionCheck,
}

impl Model {
    fn new(name: &str, text: &str) -> Self {
        let (design, _) = parse_any(name, text).unwrap_or_else(|all| panic!("{name}: {all:?}"));
        let AnyDesign::TwoJoints(design) = design else { panic!("{name} is of another kind") };
        let of = TwoMotors::of(&design).unwrap();
        let check = check_two_motors(&design, &of, Depth::Verdict).unwrap();
        Self { design: *design, of, check }
    }

    fn emitted(&self, (format, form, actuator): Kind) -> Option<String> {
        let ask = Ask { whole: true, anyway: true, actuator, ..Ask::new(form, format) };
        let made = emit_design_of_two_joints(&self.design, &self.of, &self.check, ask);
        made.map(|made| made.file).ok()
    }

    fn compared(&self, texts: &[&str]) -> Comparison {
        let robots: Vec<Robot> = texts.iter().map(|text| read(text)).collect();
        compare_two_joints(&self.design, &self.of, &self.check, &robots, None).unwrap()
    }
}

type Kind = (Format, Form, ActuatorUnits);

const KINDS: [Kind; 7] = [
    (Format::Urdf, Form::Direct, ActuatorUnits::Joint),
    (Format::Sdformat, Form::Direct, ActuatorUnits::Joint),
    (Format::Mjcf, Form::Direct, ActuatorUnits::Joint),
    TENDONS,
    POINTS,
    LOOPS,
    (Format::Sdformat, Form::Loop, ActuatorUnits::Joint),
];
const TENDONS: Kind = (Format::Mjcf, Form::Direct, ActuatorUnits::Motor);
const POINTS: Kind = (Format::Mjcf, Form::Coupled, ActuatorUnits::Motor);
const LOOPS: Kind = (Format::Mjcf, Form::Loop, ActuatorUnits::Motor);

fn read(text: &str) -> Robot {
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    unloop::robot::read("robot", text.as_bytes().to_vec(), none).unwrap_or_else(|r| panic!("{r}"))
}

/// `text` with one place of it written otherwise.
fn changed(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "{from}\n{text}");
    text.replacen(from, to, 1)
}

const STROKE: &str = "pitch = [\"-35 deg\", \"25 deg\"]\nroll  = [\"-15 deg\", \"15 deg\"]";

/// Over a small region, whose verdict is soon there, with readings of their own and one motor that counts the other way.
fn with_readings(text: &str) -> String {
    let text =
        changed(text, STROKE, "pitch = [\"1 deg\", \"10 deg\"]\nroll  = [\"-5 deg\", \"-1 deg\"]");
    let zero =
        "[zero]\nmotor_reads = [\"20 deg\", \"-40 deg\"]\njoint_reads = [\"5 deg\", \"-3 deg\"]\n";
    let text = changed(&text, "[stroke]", &format!("{zero}\n[stroke]"));
    let text = changed(&text, "motors = [", "motor_signs = [1, -1]\nmotors = [");
    let gains = "[actuator]\ngear_ratio = 6\nposition_gain = \"80 N m/rad\"\nvelocity_gain = \"2 N m s/rad\"\ndamping = \"0.02 N m s/rad\"\nfriction = \"0.1 N m\"\n";
    changed(&text, "[actuator]\n", gains)
}

fn parallel() -> &'static Model {
    static MODEL: LazyLock<Model> = LazyLock::new(|| {
        let text = include_str!("../../models/drives/ankle_parallel.toml");
        let text =
            changed(text, "pitch = [\"-20 deg\", \"20 deg\"]", "pitch = [\"-5 deg\", \"5 deg\"]");
        Model::new(
            "parallel",
            &changed(&text, "roll  = [\"-5 deg\", \"5 deg\"]", "roll  = [\"-2 deg\", \"2 deg\"]"),
        )
    });
    &MODEL
}

fn toed_in() -> &'static Model {
    static MODEL: LazyLock<Model> = LazyLock::new(|| {
        let weighed = include_str!("../../models/drives/ankle_parallel.toml");
        let masses =
            weighed.split("[mass.left.crank]").nth(1).unwrap().split("[rod]").next().unwrap();
        let text = with_readings(include_str!("../../models/drives/ankle_toed_in.toml"));
        let text = changed(&text, "[actuator]\n", "[actuator]\nrotor_inertia = \"1.2e-5 kg m2\"\n");
        Model::new("toed_in", &format!("{text}\n[mass.left.crank]{masses}"))
    });
    &MODEL
}

fn actuators() -> &'static Model {
    static MODEL: LazyLock<Model> = LazyLock::new(|| {
        let text = with_readings(include_str!("../../models/drives/ankle_actuators.toml"));
        Model::new("actuators", &changed(&text, "gear_ratio = 6", "gear_ratio = 1"))
    });
    &MODEL
}

fn rows(found: &Comparison) -> impl Iterator<Item = &Row> {
    found.joints().flat_map(|joint| &joint.rows)
}

/// What counts against being in step, but for the verdict on direct joints.
fn differences(found: &Comparison) -> Vec<String> {
    let all = rows(found).filter(|row| row.differs() && row.quantity != "verdict");
    all.map(|row| format!("{}: {}", row.title(), row.why)).collect()
}

#[test]
fn every_form_of_every_model_in_every_format_is_in_step_with_its_own_design() {
    let mut forms = 0;
    for model in [parallel(), toed_in(), actuators()] {
        for kind in KINDS {
            let Some(text) = model.emitted(kind) else { continue };
            let found = model.compared(&[&text]);
            let name = &model.design.name;
            assert_eq!(differences(&found), [""; 0], "{name} {kind:?}\n{text}");
            let agree = rows(&found).filter(|row| row.outcome == RowOutcome::InStep).count();
            assert!(agree > 25, "{name} {kind:?}: {agree}");
            let told = found.joints().map(|joint| joint.form).collect::<Vec<_>>();
            assert!(told.iter().all(|form| *form == Some(kind.1)), "{name} {kind:?}: {told:?}");
            forms += 1;
        }
    }
    // Cranks have no form with tendons from pin to pin.
    assert_eq!(forms, 3 * KINDS.len() - 2);
}

#[test]
fn direct_joints_of_a_drive_whose_verdict_forbids_them_are_not_in_step() {
    let text = include_str!("../../models/drives/ankle_toed_in.toml");
    let text = changed(
        text,
        STROKE,
        "pitch = [\"-20 deg\", \"20 deg\"]\nroll  = [\"-10 deg\", \"10 deg\"]",
    );
    let model = Model::new("wide", &text);
    let kind = (Format::Mjcf, Form::Direct, ActuatorUnits::Joint);
    let ask = Ask { anyway: true, ..Ask::new(kind.1, kind.0) };
    assert!(emit_design_of_two_joints(&model.design, &model.of, &model.check, ask).is_ok());
    let file = changed(BARE, "AXES", "pos=\"0 0 -0.008\" axis=\"1 0 0\"");
    let found = model.compared(&[&file]);
    assert!(rows(&found).any(|row| row.quantity == "verdict" && row.differs()), "{found:?}");
}

/// Both joints of an ankle and nothing that drives them.
const BARE: &str = "<mujoco><compiler angle=\"radian\"/><worldbody><body name=\"shank\"><body name=\"foot_cross\">\
    <joint name=\"ankle_pitch\" axis=\"0 1 0\" range=\"-1 1\"/><inertial pos=\"0 0 0\" mass=\"1\" diaginertia=\"1 1 1\"/>\
    <body name=\"foot\"><joint name=\"ankle_roll\" AXES range=\"-1 1\"/>\
    <inertial pos=\"0 0 0\" mass=\"1\" diaginertia=\"1 1 1\"/></body></body></body></worldbody></mujoco>";

/// A file, what is written otherwise in it, and the row that has to tell it.
type Spoil = (&'static str, &'static str, &'static str);

/// Each spoil is told, by its own row.
fn told(model: &Model, kind: Kind, spoils: &[Spoil]) {
    let text = model.emitted(kind).unwrap();
    for (from, to, quantity) in spoils {
        let found = model.compared(&[&spoilt(&text, from, to)]);
        let told = differences(&found);
        assert!(
            rows(&found).any(|row| row.differs() && row.title() == *quantity),
            "{from} -> {to}: {quantity} is not told, but {told:?}"
        );
    }
}

/// `text` with `to` for the figure, word or element that stands behind the pieces of `from`, up to the next quote or tag.
fn spoilt(text: &str, from: &str, to: &str) -> String {
    let at = from.split('…').fold(0, |at, piece| {
        let behind = text[at..].find(piece).unwrap_or_else(|| panic!("{piece}\n{text}"));
        at + behind + piece.len()
    });
    let end = at + text[at..].find(['"', '<']).unwrap();
    format!("{}{to}{}", &text[..at], &text[end..])
}

#[test]
fn a_tendon_a_joint_or_a_body_that_is_written_otherwise_is_told_by_its_own_row() {
    let pitch = "name=\"ankle_pitch\" type=\"hinge\" pos=\"0 0 0\" axis=\"";
    told(
        toed_in(),
        TENDONS,
        &[
            (pitch, "0 1 0.01", "axis"),
            (pitch, "0 -1 0", "axis"),
            ("<body name=\"foot\" pos=\"", "0 0 -0.006", "origin"),
            ("axis=\"0 1 0\" limited=\"true\" range=\"", "0 0.17", "lower limit"),
            ("axis=\"0 1 0\" limited=\"true\" range=\"", "0.0174532925 0.2", "upper limit"),
            ("<joint joint=\"ankle_pitch\" coef=\"", "1.02", "turns per pitch, roll of ankle_a"),
            ("<fixed name=\"ankle_b_tendon\" armature=\"", "0.01", "armature of ankle_b"),
            ("<fixed name=\"ankle_a_tendon\" armature=\"0.00", "", "armature of ankle_a"),
            ("gainprm=\"", "70", "position gain of ankle_a"),
            ("biasprm=\"", "-20 -80 -2", "reading at no length of ankle_a"),
            ("biasprm=\"", "0 -80 -3", "velocity gain of ankle_a"),
            ("forcerange=\"", "-50 50", "effort of ankle_a"),
            ("<body name=\"foot\"…<inertial pos=\"", "0.03 0 -0.04", "mass centre of foot"),
            ("<body name=\"shank\"…<inertial pos=\"", "0 0 0.15", "mass centre of shank"),
            ("<body name=\"foot", "toe", "child link"),
            ("<body name=\"foot_cross", "knuckle", "child link"),
        ],
    );
}

#[test]
fn a_box_of_torque_and_speed_that_promises_more_is_told_in_every_format() {
    told(
        parallel(),
        (Format::Urdf, Form::Direct, ActuatorUnits::Joint),
        &[
            ("effort=\"", "130", "effort"),
            ("velocity=\"", "25", "velocity"),
            ("damping=\"", "0.1", "damping"),
            ("friction=\"", "0.9", "friction"),
            ("<axis xyz=\"", "0 1 0.01", "axis"),
            ("<mass value=\"", "2.1", "mass of left_shank"),
        ],
    );
    told(
        parallel(),
        (Format::Sdformat, Form::Direct, ActuatorUnits::Joint),
        &[
            ("<effort>", "130", "effort"),
            ("<velocity>", "25", "velocity"),
            ("<lower>", "-0.2", "lower limit"),
            ("<damping>", "0.1", "damping"),
        ],
    );
    told(
        parallel(),
        (Format::Mjcf, Form::Direct, ActuatorUnits::Joint),
        &[("armature=\"", "0.5", "armature"), ("gear=\"", "2", "ratio")],
    );
    // The signal's range bounds the torque as the force's own does.
    let direct = (Format::Mjcf, Form::Direct, ActuatorUnits::Joint);
    let text = parallel().emitted(direct).unwrap();
    let more = spoilt(&text, "ctrlrange=\"", "-130 130");
    assert!(!rows(&parallel().compared(&[&more])).any(|row| row.differs()));
    let more = spoilt(&more, "forcerange=\"", "-130 130");
    let found = parallel().compared(&[&more]);
    assert!(rows(&found).any(|row| row.differs() && row.title() == "effort"));
}

#[test]
fn a_pin_or_a_screw_of_a_tendon_from_pin_to_pin_that_is_moved_is_told() {
    told(
        actuators(),
        POINTS,
        &[
            ("name=\"ankle_a_carrier_pin\" pos=\"", "-0.051 0.034 0.22", "carrier pin of ankle_a"),
            ("name=\"ankle_b_foot_pin\" pos=\"", "-0.044 -0.037 -0.004", "foot pin of ankle_b"),
            (
                "name=\"ankle_a\" tendon=\"ankle_a_tendon\" gear=\"",
                "1200",
                "turns per length of ankle_a",
            ),
            ("<spatial name=\"ankle_a_tendon\" armature=\"", "9", "armature of ankle_a"),
        ],
    );
}

#[test]
fn a_loop_whose_motor_is_moved_or_whose_rod_weighs_otherwise_is_told() {
    // The loop is drawn closed all the same: its motor's axis alone moves.
    let crank = "name=\"ankle_a_crank\" type=\"hinge\" pos=\"";
    let backwards = "name=\"ankle_a_crank\" type=\"hinge\"…axis=\"";
    let aslant = "name=\"ankle_b_crank\" type=\"hinge\"…axis=\"";
    told(
        toed_in(),
        LOOPS,
        &[
            (backwards, "-0.0872 -0.9962 0", "turn of ankle_a"),
            (crank, "0 0 0.003", "turns per pitch, roll of ankle_a"),
            (aslant, "0 1 0", "turns per pitch, roll of ankle_b"),
            ("limited=\"false\" damping=\"", "0.5", "damping of ankle_a"),
            ("<body name=\"ankle_b_rod\"…mass=\"", "0.07", "mass of ankle_b_rod"),
        ],
    );
    told(
        actuators(),
        LOOPS,
        &[(
            "name=\"ankle_a_carrier_pin\"…<body name=\"ankle_a_nut\"…mass=\"",
            "0.2",
            "mass of ankle_a_nut",
        )],
    );
}

#[test]
fn what_pulls_or_springs_both_joints_besides_is_never_in_step() {
    let text = toed_in().emitted(TENDONS).unwrap();
    let names = |text: &str, quantity: &str| {
        let found = toed_in().compared(&[text]);
        let is_told = rows(&found).any(|row| row.differs() && row.title() == quantity);
        assert!(is_told, "{quantity}: {:?}\n{text}", differences(&found));
    };
    let third = "<actuator><motor name=\"third\" joint=\"ankle_roll\"/>";
    names(&changed(&text, "<actuator>", third), "drive");
    let spring = "<fixed name=\"elastic\" stiffness=\"5\"><joint joint=\"ankle_roll\" coef=\"1\"/></fixed></tendon>";
    names(&changed(&text, "</tendon>", spring), "restraint");
    let own = changed(
        &text,
        "<fixed name=\"ankle_a_tendon\"",
        "<fixed name=\"ankle_a_tendon\" stiffness=\"5\"",
    );
    names(&own, "restraint");
    let stop = "<fixed name=\"ankle_a_tendon\" limited=\"true\" range=\"-0.01 0.01\"";
    names(&changed(&text, "<fixed name=\"ankle_a_tendon\"", stop), "upper length of ankle_a");
    let loops = toed_in().emitted(LOOPS).unwrap();
    let sprung = "joint name=\"ankle_b_crank\" stiffness=\"3\"";
    names(&changed(&loops, "joint name=\"ankle_b_crank\"", sprung), "drive");
}

#[test]
fn roll_that_carries_pitch_and_a_joint_of_another_name_are_told() {
    let turned = "<mujoco><compiler angle=\"radian\"/><worldbody><body name=\"shank\"><body name=\"foot_cross\">\
        <joint name=\"ankle_roll\" axis=\"1 0 0\" range=\"-1 1\"/><inertial pos=\"0 0 0\" mass=\"1\" diaginertia=\"1 1 1\"/>\
        <body name=\"foot\"><joint name=\"ankle_pitch\" axis=\"0 1 0\" range=\"-1 1\"/>\
        <inertial pos=\"0 0 0\" mass=\"1\" diaginertia=\"1 1 1\"/></body></body></body></worldbody></mujoco>";
    let found = toed_in().compared(&[turned]);
    assert!(rows(&found).any(|row| row.quantity == "order" && row.differs()), "{found:?}");
    let other = turned.replace("ankle_pitch", "ankle_pitsch");
    let found = toed_in().compared(&[&other]);
    let told: Vec<&Row> = rows(&found).collect();
    let [one] = told[..] else { panic!("{told:?}") };
    assert!(one.differs() && one.why.contains("ankle_pitsch") && one.quantity == "joint");
}

#[test]
fn two_files_of_one_design_are_held_against_each_other_too() {
    let model = parallel();
    let urdf = model.emitted(KINDS[0]).unwrap();
    let sdf = model.emitted(KINDS[1]).unwrap();
    let found = model.compared(&[&urdf, &sdf]);
    assert_eq!(differences(&found), [""; 0]);
    assert_eq!(found.pairs.len(), 1);
    assert_eq!(found.pairs[0].joints.len(), 4);
    let found = model.compared(&[&urdf, &spoilt(&sdf, "<upper>", "0.2")]);
    assert!(found.pairs[0].joints[0].rows.iter().any(Row::differs));
}
