//! Linear actuators in loops, `linear_actuator_leg.xml`: found, judged, folded to a direct joint and to a tendon from pin to pin.

use serde_json::{Value, json};
use unloop::design::Preset;
use unloop::drive::Kind;
use unloop::equivalence::Verdict;
use unloop::handover::Form;
use unloop::handover::compare::{Answer, Comparison, compare};
use unloop::handover::find::{FindOptions, FoundLoop, find, findings};
use unloop::handover::fold::{FoldOptions, Folded, fold, joints_beside};
use unloop::robot::Robot;

use super::fold::{PLAIN, model, read};
use crate::venv;

const TENDON: FoldOptions = FoldOptions { model: Form::Coupled, ..PLAIN };

fn leg() -> String {
    model("linear_actuator_leg.xml")
}

fn changed(text: &str, changes: &[(&str, &str)]) -> String {
    changes.iter().fold(text.to_owned(), |text, (old, new)| {
        assert!(text.contains(old), "{old}");
        text.replace(old, new)
    })
}

/// The housing on two crossed hinges.
fn on_crossed_hinges() -> String {
    let hinges = "<joint name=\"h1\" axis=\"0 1 0\"/><joint name=\"h2\" axis=\"1 0 0\"/>";
    let ball = "<joint name=\"housing_ball\" type=\"ball\"/>";
    changed(&leg(), &[(ball, hinges), ("0.8  1 0 0 0  0.005", "0.8  0 0  0.005")])
}

/// All in one plane, on hinges; the slide's reading grows where it shortens.
fn plane() -> String {
    let hinge = "<joint name=\"housing_hinge\" axis=\"0 1 0\"/>";
    changed(
        &leg(),
        &[
            ("<joint name=\"housing_ball\" type=\"ball\"/>", hinge),
            ("0.8  1 0 0 0  0.005", "0.8  0  0.005"),
            ("-0.05 0.012 -0.1", "-0.05 0 -0.1"),
            ("axis=\"0 -0.012 -0.22\"", "axis=\"0 0 1\""),
            ("0 -0.0072 -0.132", "0 0 -0.132"),
            ("0 -0.0048 -0.088", "0 0 -0.088"),
        ],
    )
}

/// As a position servo that counts from elsewhere, with two numbers of a screw of the other hand.
fn servo() -> String {
    let motor = "<motor name=\"ankle_drive\" joint=\"ankle_screw\" gear=\"1256.6370614359173\" ctrlrange=\"-0.7 0.7\" forcerange=\"-0.7 0.7\"/>";
    let servo = "<position name=\"ankle_drive\" joint=\"ankle_screw\" gear=\"-1256.6370614359173\" kp=\"2\" kv=\"0.05\" ctrlrange=\"-20 20\" forcerange=\"-0.7 0.7\"/>";
    changed(&leg(), &[(motor, servo)])
}

fn only_loop(robot: &Robot) -> FoundLoop {
    let [one] = <[_; 1]>::try_from(find(robot, FindOptions::new(Preset::Training))).unwrap();
    one
}

fn folded(text: &str, options: FoldOptions) -> Folded {
    let robot = read(text);
    fold(&robot, &only_loop(&robot), options).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

/// All that stands against a fold, as one text.
fn refused(text: &str, options: FoldOptions) -> String {
    let robot = read(text);
    let faults = fold(&robot, &only_loop(&robot), options).unwrap_err();
    faults.iter().map(|fault| fault.diagnostic.message.clone()).collect::<Vec<_>>().join("\n")
}

/// The design of `closed`'s loop, as find wrote it, against another file.
fn against(closed: &str, file: &str) -> Comparison {
    let found = only_loop(&read(closed));
    let judged = found.judged_drive.as_ref().unwrap_or_else(|| panic!("{:?}", found.obstacles));
    compare(&judged.design, &judged.driven, &judged.check, &[read(file)], None).unwrap()
}

#[test]
fn find_judges_an_actuator_between_two_pins_with_lengths_and_inertia() {
    for text in [leg(), on_crossed_hinges(), plane()] {
        let found = only_loop(&read(&text));
        let check = found.check().unwrap_or_else(|| panic!("{:?}", found.obstacles));
        assert_eq!(check.verdict, Verdict::Equivalent, "{}", check.reason);
        assert!(check.reason.contains("inertia error"), "{}", check.reason);
        let drive = found.drive.as_ref().unwrap();
        assert_eq!(drive.kind(), Kind::LinearActuator);
        let figure = |key: &str| drive.figures().iter().find(|(name, _)| *name == key).unwrap().1;
        assert!((figure("rocker_m") - 0.05).abs() < 1e-12);
        assert!((figure("ground_m") - 0.05_f64.hypot(0.22)).abs() < 1e-12);
        assert!((figure("lead_m").abs() - 0.005).abs() < 1e-15);
        assert!(figure("line_offset_m").abs() < f64::MIN_POSITIVE);
    }
}

#[test]
fn a_wide_stroke_is_refused_by_the_law_of_linear_actuators() {
    let wide = changed(&leg(), &[("range=\"-0.15 0.15\"", "range=\"-0.35 0.35\"")]);
    let check = only_loop(&read(&wide)).check().unwrap().clone();
    assert_eq!(check.verdict, Verdict::NotEquivalent);
    let longest = check.in_space.as_ref().unwrap().longest_even_stroke.unwrap();
    assert!((longest.to_degrees() - 32.20).abs() < 0.01, "{longest}");
    let found = findings(&read(&wide), FindOptions::new(Preset::Training));
    let text = unloop::report::find_text(
        &found,
        unloop::report::Detail::Full,
        unloop::report::Style { width: 400, ..unloop::report::Style::PLAIN },
    );
    assert!(text.contains("it is not the lengths"), "{text}");
}

#[test]
fn housing_and_nut_go_and_the_ankle_takes_force_by_the_lever() {
    let new = folded(&leg(), PLAIN);
    for gone in ["housing", "nut", "ankle_screw", "<connect", "lever"] {
        assert!(!new.text.contains(&format!("\"{gone}")), "{gone}\n{}", new.text);
    }
    let robot = read(&new.text);
    let ankle = &robot.joints[robot.joint_named("ankle").unwrap()];
    // 8 N s/m, 5 N and 4 kg by 50 mm of lever, beside the joint's own.
    for (found, wanted) in [
        (ankle.damping.unwrap(), 0.01 + 8.0 * 0.0025),
        (ankle.friction.unwrap(), 0.05 + 5.0 * 0.05),
        (ankle.armature.unwrap(), 4.0 * 0.0025),
    ] {
        assert!((found / wanted - 1.0).abs() < 0.02, "{found} {wanted}");
    }
    let found = only_loop(&read(&leg()));
    let [json] = <[_; 1]>::try_from(joints_beside(&found, &new, PLAIN).unwrap()).unwrap();
    let torque = json.torque_n_m.guaranteed.unwrap();
    let effort = robot.actuators.iter().find(|one| one.name == "ankle_drive").unwrap().effort();
    assert!((torque - effort.unwrap()).abs() < 1e-6 && (43.0..44.1).contains(&torque), "{torque}");
}

#[test]
fn a_tendon_keeps_the_motors_figures_as_they_were() {
    let new = folded(&servo(), TENDON);
    let robot = read(&new.text);
    let drive = &robot.shared_drives[0];
    let (tendon, actuator) = (&drive.tendon, &drive.actuator);
    assert_eq!(
        [tendon.armature, tendon.damping, tendon.friction],
        [Some(4.0), Some(8.0), Some(5.0)]
    );
    assert_eq!((actuator.gains, actuator.force), (Some([2.0, 0.05]), Some([-0.7, 0.7])));
    // Reading 0 of the slide is the drawn length: a target of 0 is gear · length.
    let length = 0.012_f64.hypot(0.22);
    let [low, high] = actuator.control.unwrap();
    let shift = actuator.gear * length;
    assert!((low + 20.0 - shift).abs() < 1e-6 && (high - 20.0 - shift).abs() < 1e-6);
    let ankle = &robot.joints[robot.joint_named("ankle").unwrap()];
    assert!(ankle.damping.unwrap() < 0.0101 && ankle.friction == Some(0.05), "{ankle:?}");
    let found = only_loop(&read(&servo()));
    let joints = joints_beside(&found, &new, TENDON).unwrap();
    assert_eq!(joints[0].model, "coupled");
}

/// What the engine says of a closed leg and its fold over the stroke.
fn in_engine(text: &str, rods: &[&str], options: FoldOptions) -> (Value, Folded) {
    let new = folded(text, options);
    let poses =
        [-0.15, -0.08, 0.0, 0.05, 0.15].map(|ankle| json!({"knee": 0.3 + ankle, "ankle": ankle}));
    let input = json!({
        "closed": text, "folded": new.text, "sites": ["rod_end", "lever"],
        "motor": "ankle_screw", "rod": rods, "joint": "ankle", "poses": poses,
    });
    let output = venv::script("folded_mjcf.py", &input.to_string());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    (serde_json::from_slice(&output.stdout).unwrap(), new)
}

fn variants() -> [(String, &'static [&'static str]); 4] {
    [
        (leg(), &["housing_ball"]),
        (servo(), &["housing_ball"]),
        (on_crossed_hinges(), &["h1", "h2"]),
        (plane(), &["housing_hinge"]),
    ]
}

/// Total mass, mass centre, gravity torque and kinetic energy within what the fold says.
fn weighs_the_same(found: &Value, new: &Folded) {
    let figure = |key: &str| found[key].as_f64().unwrap();
    let mass = |k: usize| found["mass"][k].as_f64().unwrap();
    let (_, stated) = new.inertia_error.unwrap();
    println!("{found} stated {stated}");
    assert!((mass(0) - mass(1)).abs() < 1e-9, "{found}");
    assert!(figure("centre") < 2e-4 && figure("gravity") < 2e-2, "{found}");
    assert!(figure("energy") <= stated + 1e-6 && stated < 0.05, "{found} {stated}");
}

#[test]
fn a_linear_actuator_folded_to_a_direct_joint_is_the_closed_one_in_its_engine() {
    for (text, rods) in variants() {
        let motor = FoldOptions { actuator: unloop::handover::ActuatorUnits::Motor, ..PLAIN };
        let (found, new) = in_engine(&text, rods, motor);
        weighs_the_same(&found, &new);
        let loops = only_loop(&read(&text));
        let (check, drive) = (loops.check().unwrap(), loops.drive.as_ref().unwrap());
        let off = check.ratio_magnitude.map(|i| i - check.direct_joint.ratio.abs());
        let gear = 1256.6370614359173;
        let off = off.map(|off| (off / drive.motor_per_reading * gear).abs());
        assert!(found["drive"].as_f64().unwrap() <= off[0].max(off[1]) + 1e-6, "{found} {off:?}");
    }
}

#[test]
fn a_tendon_from_pin_to_pin_is_the_closed_actuator_in_its_engine() {
    for (text, rods) in variants() {
        let (found, new) = in_engine(&text, rods, TENDON);
        weighs_the_same(&found, &new);
        // Force per signal at every joint, of 1256 1/m.
        assert!(found["drive"].as_f64().unwrap() < 1e-9, "{found}");
        let offset = if text.contains("\"0.0 0\"") { 0.0 } else { 0.012 };
        let offset = if rods[0] == "housing_hinge" { 0.0 } else { offset };
        for (pose, ankle) in [-0.15_f64, -0.08, 0.0, 0.05, 0.15].into_iter().enumerate() {
            // The pin 50 mm behind the axis, which lies 220 mm below and 50 mm before the other.
            let [x, z] = [0.05 - 0.05 * ankle.cos(), 0.22 - 0.05 * ankle.sin()];
            let wanted = (x * x + z * z + offset * offset).sqrt();
            let length = found["lengths"][pose][0].as_f64().unwrap();
            assert!((length - wanted).abs() < 1e-11, "{length} {wanted}");
            let reads = found["reads"][pose].as_f64().unwrap();
            let drawn = 0.22_f64.hypot(offset);
            assert!((reads.abs() - (length - drawn).abs()).abs() < 1e-11, "{reads} {length}");
        }
    }
}

#[test]
fn what_crossed_hinges_lose_is_carried_over_by_their_own_rates() {
    let rubbing = changed(
        &on_crossed_hinges(),
        &[(
            "<joint name=\"h1\" axis=\"0 1 0\"/><joint name=\"h2\" axis=\"1 0 0\"/>",
            "<joint name=\"h1\" axis=\"0 1 0\" damping=\"3\"/><joint name=\"h2\" axis=\"1 0 0\" damping=\"7\"/>",
        )],
    );
    let (found, _) = in_engine(&on_crossed_hinges(), &["h1", "h2"], PLAIN);
    let square = |name: &str| {
        let rates = found["rates"].as_array().unwrap();
        let all: Vec<f64> = rates.iter().map(|r| r[name][0].as_f64().unwrap().powi(2)).collect();
        [all.iter().copied().fold(f64::MAX, f64::min), all.iter().copied().fold(0.0, f64::max)]
    };
    let damping = |text: &str| {
        let robot = read(&folded(text, PLAIN).text);
        robot.joints[robot.joint_named("ankle").unwrap()].damping.unwrap()
    };
    // Both had 0.001 of their class before.
    let more = damping(&rubbing) - damping(&on_crossed_hinges());
    let [h1, h2] = ["h1", "h2"].map(square);
    let [least, most] = [0, 1].map(|k| 2.999 * h1[k] + 6.999 * h2[k]);
    println!("{more} in {least}…{most}");
    assert!(least < more && more < most && most > 1e-4, "{more} {least} {most}");
}

#[test]
fn what_find_wrote_and_either_fold_made_are_in_step() {
    for (text, _) in variants() {
        for options in [PLAIN, TENDON] {
            let new = folded(&text, options);
            let compared = against(&text, &new.text);
            assert_eq!(compared.answer(), Answer::InStep, "{compared:#?}");
            assert_eq!(compared.files[0].joints[0].form, Some(options.model));
        }
        assert_eq!(against(&text, &text).answer(), Answer::InStep);
    }
}

#[test]
fn a_file_without_the_motors_armature_is_folded_in_step_too() {
    let bare = changed(&leg(), &[(" armature=\"4\"", "")]);
    for options in [PLAIN, TENDON] {
        let compared = against(&bare, &folded(&bare, options).text);
        assert_eq!(compared.answer(), Answer::InStep, "{compared:#?}");
    }
    let found = only_loop(&read(&bare));
    assert!(found.remarks.iter().any(|one| one.code == "inertia_without_rotor"));
}

#[test]
fn a_spoilt_tendon_is_told() {
    let new = folded(&servo(), TENDON).text;
    for (old, spoilt) in [
        (
            "<site name=\"ankle_motor_pin\" pos=\"-0.05",
            "<site name=\"ankle_motor_pin\" pos=\"-0.06",
        ),
        ("armature=\"4\"", "armature=\"4.5\""),
        ("damping=\"8\"", "damping=\"4\""),
        ("frictionloss=\"5\"", "frictionloss=\"15\""),
        ("kp=\"2\"", "kp=\"2.2\""),
        ("forcerange=\"-0.7 0.7\"", "forcerange=\"-0.9 0.9\""),
        ("mass=\"2.82\"", "mass=\"2.6\""),
    ] {
        assert!(new.contains(old), "{old}\n{new}");
        let compared = against(&servo(), &new.replacen(old, spoilt, 1));
        assert_eq!(compared.answer(), Answer::Differs, "{spoilt}");
    }
}

#[test]
fn a_tendon_is_found_as_what_it_stands_for_and_its_design_is_in_step() {
    let new = folded(&leg(), TENDON).text;
    let found = findings(&read(&new), FindOptions::new(Preset::Training));
    assert!(found.loops.is_empty());
    let [one] = <[_; 1]>::try_from(found.point_drives).unwrap();
    assert_eq!((one.drive.kind(), one.joint.as_str()), (Kind::LinearActuator, "ankle"));
    for part in ["peak_torque = \"0.7", "lead = \"5", "rotor_inertia"] {
        assert!(one.text.contains(part), "{part}\n{}", one.text);
    }
}

#[test]
fn what_is_not_understood_of_a_linear_actuator_is_named_and_refused() {
    let hinge = "<joint name=\"h\" axis=\"0 1 0\"/>";
    let ball = "<joint name=\"housing_ball\" type=\"ball\"/>";
    let locked = [(ball, hinge), ("0.8  1 0 0 0  0.005", "0.8  0  0.005")];
    let passive = [("joint=\"ankle_screw\" gear", "joint=\"ankle\" gear")];
    let twice = [
        ("<actuator>", "<actuator><motor joint=\"ankle\"/>"),
        ("ctrl=\"0 0.3\"", "ctrl=\"0 0 0\""),
    ];
    let none = [("joint=\"ankle_screw\" gear", "joint=\"knee\" gear")];
    let camera = [("<site name=\"rod_end\"", "<camera name=\"eye\"/><site name=\"rod_end\"")];
    let touches = [(
        "<site name=\"rod_end\"",
        "<geom name=\"fin\" type=\"box\" size=\"0.1 0.1 0.01\" contype=\"1\" conaffinity=\"1\"/><site name=\"rod_end\"",
    )];
    let spring = [("range=\"-0.02 0.02\"", "range=\"-0.02 0.02\" stiffness=\"500\"")];
    let sensor = [("<sensor>", "<sensor><jointpos joint=\"ankle_screw\"/>")];
    let weightless =
        [("mass=\"0.09\" diaginertia=\"6e-5 6e-5 6e-6\"", "mass=\"0\" diaginertia=\"0 0 0\"")];
    let welded = [(
        "</body>\n        </body>\n        <body name=\"foot\"",
        "<body name=\"lamp\"><inertial pos=\"0 0 0\" mass=\"0.1\" diaginertia=\"1e-5 1e-5 1e-5\"/></body></body>\n        </body>\n        <body name=\"foot\"",
    )];
    for (changes, why) in [
        (&locked[..], "too few turns"),
        (&passive[..], "the slide only follows"),
        (&twice[..], "both"),
        (&none[..], "which joint is the motor's"),
        (&camera[..], "\"eye\""),
        (&touches[..], "\"fin\""),
        (&spring[..], "spring"),
        (&sensor[..], "ankle_screw"),
        (&weightless[..], "\"nut\" weighs nothing"),
        (&welded[..], "\"lamp\""),
    ] {
        let said = refused(&changed(&leg(), changes), PLAIN);
        assert!(said.contains(why), "{why}: {said}");
        if !matches!(why, "both") {
            let said = refused(&changed(&leg(), changes), TENDON);
            assert!(said.contains(why), "{why}: {said}");
        }
    }
    let beside = changed(&leg(), &[("axis=\"0 -0.012 -0.22\"", "axis=\"0.02 -0.012 -0.22\"")]);
    assert!(refused(&beside, TENDON).contains("beside the carrier's pin"));
    let taken = changed(
        &leg(),
        &[
            ("name=\"rod_end\"", "name=\"ankle_motor_pin\""),
            ("site1=\"rod_end\"", "site1=\"ankle_motor_pin\""),
        ],
    );
    assert!(refused(&taken, TENDON).contains("taken"));
}

fn sdf() -> String {
    model("linear_actuator_leg.sdf")
}

const UNIVERSAL: &str = "type=\"universal\">";

fn told() -> [String; 1] {
    ["ankle_screw".to_owned()]
}

fn in_sdf(text: &str) -> (Robot, FoundLoop) {
    let robot = read(text);
    let (motors, preset) = (told(), Preset::Training);
    let options = FindOptions { motors: &motors, ..FindOptions::new(preset) };
    let [one] = <[_; 1]>::try_from(find(&robot, options)).unwrap();
    (robot, one)
}

#[test]
fn an_sdformat_loop_with_slide_universal_joint_and_ball_is_folded_as_the_same_leg_in_mjcf_is() {
    let on_balls = changed(&sdf(), &[(UNIVERSAL, "type=\"ball\">")]);
    let bare = changed(&leg(), &[(" armature=\"4\"", "")]);
    let wanted = read(&folded(&bare, PLAIN).text);
    for text in [sdf(), on_balls] {
        let (robot, found) = in_sdf(&text);
        let check = found.check().unwrap_or_else(|| panic!("{:?}", found.obstacles));
        assert_eq!(check.verdict, Verdict::Equivalent, "{}", check.reason);
        let new = fold(&robot, &found, PLAIN).unwrap_or_else(|faults| panic!("{faults:#?}"));
        let after = read(&new.text);
        assert_eq!((after.links.len(), after.joints.len()), (2, 1));
        for name in ["shank", "foot"] {
            let of = |robot: &Robot| robot.links[robot.link_named(name).unwrap()].inertial.unwrap();
            let (own, other) = (of(&after), of(&wanted));
            assert!((own.mass - other.mass).abs() < 1e-12);
            let all =
                own.center.iter().chain(&own.tensor).zip(other.center.iter().chain(&other.tensor));
            all.for_each(|(a, b)| assert!((a - b).abs() < 1e-9, "{name} {a} {b}"));
        }
        let ankle = &after.joints[0];
        // 900 N and 0.4 m/s by 50 mm of lever, 5 N and 8 N s/m beside the joint's own.
        for (found, wanted) in [
            (ankle.effort.unwrap(), 45.0),
            (ankle.velocity.unwrap(), 8.0),
            (ankle.friction.unwrap(), 0.30),
            (ankle.damping.unwrap(), 0.03),
        ] {
            assert!((found / wanted - 1.0).abs() < 0.02, "{found} {wanted}");
        }
        let judged = found.judged_drive.as_ref().unwrap();
        let compared = compare(&judged.design, &judged.driven, &judged.check, &[after], None);
        assert_eq!(compared.unwrap().answer(), Answer::InStep);
    }
}

#[test]
fn what_an_sdformat_loop_says_that_is_not_understood_is_named_and_refused() {
    let says = |text: &str, options: FoldOptions| {
        let (robot, found) = in_sdf(text);
        let faults = fold(&robot, &found, options).unwrap_err();
        faults.iter().map(|fault| fault.diagnostic.message.clone()).collect::<Vec<_>>().join("\n")
    };
    let rubs = "<axis2><xyz>1 0 0</xyz><dynamics><friction>0.1</friction></dynamics>";
    for (old, new, why) in [
        ("<axis2><xyz>1 0 0</xyz>", rubs, "\"housing_pin\" count about two axes"),
        ("type=\"prismatic\"", "type=\"screw\"", "\"ankle_screw\" is neither hinge nor ball"),
        (UNIVERSAL, "type=\"revolute2\">", "\"housing_pin\" is neither hinge nor ball"),
        ("<axis2><xyz>1 0 0</xyz>", "<axis2><xyz>0 -0.012 -0.22</xyz>", "in line"),
    ] {
        let said = says(&changed(&sdf(), &[(old, new)]), PLAIN);
        assert!(said.contains(why), "{why}: {said}");
    }
    assert!(says(&sdf(), TENDON).contains("no coupled form in this format"));
}
