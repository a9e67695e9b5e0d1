//! Grippers whose coupler carries the pad: what emit writes, compare reads back, and NAME.joint.json holds.

use std::fs;

use serde_json::Value;
use unloop::design::Design;
use unloop::handover::compare::{RowOutcome, compare};
use unloop::handover::{
    ActuatorUnits, Ask, Emission, EmitFault, Form, Format, JointJson, emit_drawn,
};
use unloop::robot::{JointKind, Robot};
use unloop::study::{self, Check, Mechanism};

const FORMATS: [Format; 3] = Format::ALL;

struct Drawn {
    design: Design,
    mechanism: Mechanism,
    check: Check,
}

impl Drawn {
    fn new(text: &str) -> Self {
        let (design, _) =
            unloop::design::parse("g.toml", text).unwrap_or_else(|r| panic!("{r}\n{text}"));
        let mechanism = Mechanism::of(&design).unwrap();
        let check = study::check_on(&design, &mechanism).unwrap();
        Self { design, mechanism, check }
    }

    fn try_emit(&self, ask: &Ask) -> Result<Emission, Vec<EmitFault>> {
        emit_drawn(&self.design, &self.mechanism, &self.check, ask)
    }

    fn emit(&self, ask: &Ask) -> Emission {
        self.try_emit(ask).unwrap_or_else(|f| panic!("{ask:?}: {f:?}"))
    }

    /// What differs, but for the verdict; with every row's name.
    fn differences(&self, robot: Robot) -> (Vec<String>, Vec<String>) {
        let found = compare(&self.design, &self.mechanism, &self.check, &[robot], None).unwrap();
        let rows: Vec<_> = found.joints().flat_map(|joint| joint.rows.clone()).collect();
        let differs = |row: &&unloop::handover::compare::Row| {
            row.outcome == RowOutcome::Differs && row.quantity != "verdict"
        };
        let off = rows.iter().filter(differs).map(|row| format!("{}: {}", row.title(), row.why));
        (off.collect(), rows.iter().map(|row| row.title()).collect())
    }
}

fn parallel() -> String {
    fs::read_to_string("models/gripper_parallel.toml").unwrap()
}

fn with_stand_in(text: &str, stand_in: &str) -> String {
    text.replace("[actuator]", &format!("[direct_joint]\nstand_in = \"{stand_in}\"\n[actuator]"))
}

/// The gripper in other readings, from the other side, with losses, gains, stops and one finger alone.
fn designs() -> Vec<(&'static str, String)> {
    let text = parallel();
    let losses = "[actuator]\ndamping = \"0.004 N m s/rad\"\nfriction = \"0.02 N m\"\nposition_gain = \"6 N m/rad\"\n\
        velocity_gain = \"0.2 N m s/rad\"\nstops = [\"-24 deg\", \"60 deg\"]";
    let reads = text.replace(
        "set_by = \"jig\"",
        "set_by = \"jig\"\nmotor_reads = \"20 deg\"\njoint_reads = \"5 deg\"",
    );
    let reversed = reads.replace("axis             =", "motor_sign = -1\naxis             =");
    let alone = text.replace("\"mirrored\"", "\"none\"");
    let off = fs::read_to_string("models/gripper_rocker_off.toml").unwrap();
    let best = off.replace("[actuator]", "[direct_joint]\nratio = \"best\"\n[actuator]");
    let apart = text.replace("[\"25 mm\", \"0 mm\", \"0 mm\"]", "[\"25 mm\", \"0 mm\", \"8 mm\"]");
    vec![
        ("as it is", text.clone()),
        ("rocker off", off),
        (
            "best multiplier, other readings",
            best.replace("set_by = \"jig\"", "set_by = \"jig\"\nmotor_reads = \"-15 deg\""),
        ),
        ("losses, gains, stops", text.replace("[actuator]", losses)),
        ("other readings", reads),
        (
            "the motor's sense turned round",
            reversed.replace("[actuator]", losses).replace("-24 deg", "2 deg"),
        ),
        (
            "seen from the other side",
            text.replace("axis             =", "mirrored = true\naxis             ="),
        ),
        (
            "drawn with the axis away",
            text.replace("name = \"gripper_parallel\"", "name = \"away\"\naxis_points = \"away\""),
        ),
        ("motor beside the joint along the axis", apart),
        ("one finger", alone),
        ("slides", with_stand_in(&text, "slide")),
        ("slides, the other way round", with_stand_in(&reversed, "slide")),
        ("hinges", with_stand_in(&text, "hinge")),
    ]
}

fn read(text: &str) -> Robot {
    let mut includes = |_: &str| Err(String::from("no files"));
    unloop::robot::read("robot", text.as_bytes().to_vec(), &mut includes)
        .unwrap_or_else(|rejected| panic!("{rejected}\n{text}"))
}

#[test]
fn what_emit_writes_for_a_gripper_is_in_step_with_its_design_in_every_format() {
    let mut count = 0;
    for (name, text) in designs() {
        let drawn = Drawn::new(&text);
        for format in FORMATS {
            for (form, actuator) in [
                (Form::Direct, ActuatorUnits::Joint),
                (Form::Direct, ActuatorUnits::Motor),
                (Form::Loop, ActuatorUnits::Motor),
            ] {
                if form == Form::Loop && !format.holds_loops() {
                    continue;
                }
                let ask = Ask { whole: true, anyway: true, actuator, ..Ask::new(form, format) };
                let emission = drawn.emit(&ask);
                let (off, rows) = drawn.differences(read(&emission.file));
                assert!(off.is_empty(), "{name} {ask:?}:\n{}\n{}", off.join("\n"), emission.file);
                assert!(rows.iter().any(|row| row == "effort"), "{name}: {rows:?}");
                count += 1;
            }
        }
    }
    assert!(count >= 90, "{count}");
}

fn hold(json: &JointJson, robot: &Robot) {
    let driver = &robot.joints[robot.joint_named(&json.joint).unwrap()];
    let finger = json.finger.as_ref().unwrap();
    let wanted = finger.slide.map_or(json.limit_rad, |slide| slide.limit_m);
    assert_eq!(driver.limit, Some(wanted));
    assert_eq!(driver.kind == JointKind::Prismatic, finger.slide.is_some());
    for follower in &finger.followers {
        let joint = &robot.joints[robot.joint_named(&follower.joint).unwrap()];
        let [slope, offset] = match &joint.mimic {
            Some(mimic) => {
                assert_eq!(mimic.leader, json.joint);
                [mimic.multiplier, mimic.offset]
            }
            None => {
                let id = robot.joint_named(&follower.joint);
                let tie = robot.couplings.iter().find(|c| Some(c.follower) == id).unwrap();
                assert_eq!(tie.leader, robot.joint_named(&json.joint));
                let x = robot.joints[tie.leader.unwrap()].drawn_at;
                [tie.polynomial[1], tie.polynomial[0] + joint.drawn_at - tie.polynomial[1] * x]
            }
        };
        assert!((slope - follower.multiplier).abs() < 1e-15, "{}", follower.joint);
        assert!((offset - follower.offset).abs() < 1e-15, "{}", follower.joint);
    }
}

#[test]
fn the_json_beside_a_gripper_names_the_followers_and_limits_that_the_file_has() {
    for (name, text) in designs() {
        let drawn = Drawn::new(&text);
        for format in FORMATS {
            let ask = Ask { whole: true, anyway: true, ..Ask::new(Form::Direct, format) };
            let emission = drawn.emit(&ask);
            let json = &emission.joints[0];
            println!("{name} {format:?}");
            hold(json, &read(&emission.file));
            let both = drawn.design.finger.as_ref().unwrap().pad.fingers;
            let rows = &json.over_stroke;
            for pair in rows.windows(2) {
                let [a, b] = [&pair[0], &pair[1]];
                let step = b.opening_m.unwrap() - a.opening_m.unwrap();
                let turn = (b.motor_rad - a.motor_rad).abs();
                let middle =
                    0.5 * (1.0 / a.grip_n_per_n_m.unwrap() + 1.0 / b.grip_n_per_n_m.unwrap());
                assert!(
                    (step.abs() / turn / middle - 1.0).abs() < 1e-3,
                    "{name}: {both} {step} {turn}"
                );
                assert!((a.grip_n.unwrap() / a.grip_n_per_n_m.unwrap() - 1.2).abs() < 1e-12);
            }
        }
    }
}

#[test]
fn a_coupled_crank_is_refused_for_a_pad_on_the_coupler_and_a_tree_that_is_not_equivalent_too() {
    let drawn = Drawn::new(&parallel());
    let faults = drawn.try_emit(&Ask::new(Form::Coupled, Format::Mjcf)).unwrap_err();
    assert!(
        faults.iter().any(|f| f.to_string().contains("the coupler itself carries the pad")),
        "{faults:?}"
    );
    let slides = Drawn::new(&with_stand_in(&parallel(), "slide"));
    let faults = slides.try_emit(&Ask::new(Form::Direct, Format::Urdf)).unwrap_err();
    assert!(faults.iter().all(EmitFault::is_refusal) && !faults.is_empty(), "{faults:?}");
    let text = parallel();
    let light = Drawn::new(text.split("[mass.crank]").next().unwrap().to_owned().as_str());
    assert!(light.try_emit(&Ask::new(Form::Direct, Format::Urdf)).is_err());
}

/// A tree as public files have it: five joints follow the driver, closing links drawn, names of their own.
fn five_followers() -> String {
    let joint = |name: &str, parent: &str, x: f64, y: f64, z: i32, mimic: f64| {
        let tie = if mimic == 0.0 {
            String::new()
        } else {
            format!("<mimic joint=\"grip\" multiplier=\"{mimic}\" offset=\"0\"/>")
        };
        let child = format!("{name}_link");
        let child = if name == "grip" { "crank_left" } else { &child };
        format!(
            "<link name=\"{child}\"/><joint name=\"{name}\" type=\"revolute\"><parent link=\"{parent}\"/><child link=\"{child}\"/>\
             <origin xyz=\"{x} {y} 0\"/><axis xyz=\"0 0 {z}\"/><limit lower=\"-0.5235988\" upper=\"0.5235988\" effort=\"1.2\" velocity=\"6\"/>{tie}</joint>\n"
        )
    };
    format!(
        "<robot name=\"g\"><link name=\"palm\"/>\n{}{}{}{}{}{}</robot>",
        joint("grip", "palm", 0.025, 0.0, 1, 0.0),
        joint("tip_a", "crank_left", 0.0, 0.04, 1, -1.0),
        joint("bar_a", "palm", 0.045, 0.0, 1, 1.0),
        joint("knuckle_b", "palm", -0.005, 0.0, -1, 1.0),
        joint("tip_b", "knuckle_b_link", 0.0, 0.04, -1, -1.0),
        joint("bar_b", "palm", -0.025, 0.0, -1, 1.0),
    )
}

/// Without masses, so that a file of joints alone can say the same.
fn of_joints() -> Drawn {
    let text = parallel();
    let (head, tail) = text.split_once("[mass.crank]").unwrap();
    let (_, robot) = tail.split_once("[[robot]]").unwrap();
    Drawn::new(&format!("{head}\n[[robot]]{robot}"))
}

#[test]
fn five_followers_of_other_names_are_found_by_where_they_stand() {
    let (off, rows) = of_joints().differences(read(&five_followers()));
    assert!(off.is_empty(), "{}", off.join("\n"));
    for name in ["tip_a", "bar_a", "knuckle_b", "tip_b", "bar_b"] {
        for quantity in ["leader", "multiplier", "offset", "axis", "origin"] {
            assert!(rows.contains(&format!("{quantity} of {name}")), "{name}: {rows:?}");
        }
    }
}

#[test]
fn each_slip_in_a_tree_of_followers_is_named() {
    let drawn = of_joints();
    let text = five_followers();
    let (before, after) = text.split_once("name=\"tip_b\"").unwrap();
    let spoilt = [
        (
            "multiplier of tip_b",
            format!(
                "{before}name=\"tip_b\"{}",
                after.replacen("multiplier=\"-1\"", "multiplier=\"1\"", 1)
            ),
        ),
        (
            "leader of tip_b",
            format!(
                "{before}name=\"tip_b\"{}",
                after.replacen("joint=\"grip\"", "joint=\"knuckle_b\"", 1)
            ),
        ),
        (
            "offset of tip_b",
            format!(
                "{before}name=\"tip_b\"{}",
                after.replacen("offset=\"0\"", "offset=\"0.01\"", 1)
            ),
        ),
        (
            "axis of tip_b",
            format!("{before}name=\"tip_b\"{}", after.replacen("0 0 -1", "0 0 1", 1)),
        ),
        (
            "origin of tip_b",
            format!("{before}name=\"tip_b\"{}", after.replacen("0 0.04 0", "0 0.041 0", 1)),
        ),
        ("effort", text.replacen("effort=\"1.2\"", "effort=\"2\"", 1)),
        ("velocity", text.replacen("velocity=\"6\"", "velocity=\"7\"", 1)),
        ("upper limit", text.replacen("0.5235988\" effort", "0.6\" effort", 1)),
        (
            "leader of tip_b",
            format!(
                "{before}name=\"tip_b\"{}",
                after.replacen("<mimic joint=\"grip\" multiplier=\"-1\" offset=\"0\"/>", "", 1)
            ),
        ),
    ];
    for (wanted, text) in spoilt {
        let (off, _) = drawn.differences(read(&text));
        assert!(off.iter().any(|line| line.starts_with(wanted)), "{wanted}: {off:?}");
    }
    let chain = format!(
        "{before}name=\"tip_b\"{}",
        after.replacen("joint=\"grip\"", "joint=\"knuckle_b\"", 1)
    );
    let (off, _) = drawn.differences(read(&chain));
    assert!(off.iter().any(|line| line.contains("a chain of followers")), "{off:?}");
}

#[test]
fn a_snippet_of_a_gripper_says_what_is_off_while_nothing_is_added_to_your_bodies() {
    let text = parallel();
    let errors = |text: &str| {
        let ask = Ask { anyway: true, ..Ask::new(Form::Direct, Format::Urdf) };
        let emission = Drawn::new(text).emit(&ask);
        let json = &emission.joints[0];
        (json.inertia_error.unwrap(), json.inertia_error_as_they_stand.unwrap(), emission.notes)
    };
    // With the palm held: both rockers about B, both cranks about A, both fingers on the crank's circle, 30² times the rotor.
    let [rocker, crank] = [2.9e-6 + 0.016 * 0.02 * 0.02, 3.2e-6 + 0.018 * 0.02 * 0.02];
    let all = 2.0 * (rocker + crank + 0.045 * 0.04 * 0.04) + 900.0 * 2e-7;
    let (patched, plain, notes) = errors(&text);
    assert!(plain > patched && plain >= 2.0 * rocker / all - 1e-9, "{plain} {patched}");
    assert!(plain < 6.0 * rocker / all, "{plain}");
    let said = format!("inertia error is {:.2} %", 100.0 * plain);
    assert!(notes.iter().any(|note| note.contains(&said)), "{said}: {notes:?}");
    // Where rocker and rotor weigh next to nothing, nothing is left out.
    let (head, tail) = text.split_once("[mass.child]").unwrap();
    let (_, tail) = tail.split_once("[mass.carrier]").unwrap();
    let light = "[mass.child]\nmass = \"1e-9 kg\"\ncenter = [\"20 mm\", \"0 mm\"]\ninertia = [\"1e-15 kg m2\", \"1e-15 kg m2\", \"1e-15 kg m2\", \"0 kg m2\", \"0 kg m2\", \"0 kg m2\"]\n[mass.carrier]";
    let none = format!("{head}{light}{tail}").replace("\"2e-7 kg m2\"", "\"2e-14 kg m2\"");
    let (_, plain, _) = errors(&none);
    assert!(plain < 1e-5, "{plain}");
}

#[test]
fn the_figures_of_a_slide_stand_in_metres_and_those_in_radians_are_null() {
    let drawn = Drawn::new(&with_stand_in(&parallel(), "slide"));
    let ask = Ask { anyway: true, ..Ask::new(Form::Direct, Format::Mjcf) };
    let json: Value = serde_json::from_str(&drawn.emit(&ask).joint_json).unwrap();
    for key in ["ratio", "offset_rad", "joint_reads_rad", "limit_rad", "damping_n_m_s_per_rad"] {
        assert!(json[0][key].is_null(), "{key}");
    }
    let slide = &json[0]["finger"]["slide"];
    let limit: [f64; 2] = serde_json::from_value(slide["limit_m"].clone()).unwrap();
    assert!((limit[0] + 0.02).abs() < 1e-12 && (limit[1] - 0.02).abs() < 1e-12, "{limit:?}");
    assert!((slide["force_n"]["guaranteed"].as_f64().unwrap() - 30.0).abs() < 1e-9);
}
