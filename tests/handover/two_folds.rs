//! Two loops that turn one body, folded out of their file.

use std::fs;
use std::sync::LazyLock;

use nalgebra::{Matrix2, Vector2};
use serde_json::{Value, json};
use unloop::design::Preset;
use unloop::handover::compare::{RowOutcome, compare_two_joints};
use unloop::handover::find::{FindOptions, TwoJointLoops, find, find_two_joints, findings};
use unloop::handover::fold::{
    FoldFault, FoldOptions, FoldedTwoJoints, fold_all, fold_two_joints, spoken_of_two_joints,
};
use unloop::handover::{ActuatorUnits, Form, Format, LimitBasis};
use unloop::robot::{Document, Robot};

use super::command::{errors, output, run};
use super::two_joints::{Case, actuators, cranks};
use super::venv;

const DIRECT: FoldOptions = FoldOptions {
    model: Form::Direct,
    anyway: false,
    keep_visuals: false,
    limits: LimitBasis::Guaranteed,
    actuator: ActuatorUnits::Joint,
};
const COUPLED: FoldOptions = FoldOptions { model: Form::Coupled, ..DIRECT };
const ANYWAY: FoldOptions = FoldOptions { anyway: true, ..DIRECT };

fn try_read(text: &str) -> Result<Robot, String> {
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    let read = unloop::robot::read("robot.xml", text.as_bytes().to_vec(), none);
    read.map_err(|rejected| rejected.to_string())
}

fn read(text: &str) -> Robot {
    try_read(text).unwrap_or_else(|why| panic!("{why}\n{text}"))
}

/// `text` with one place of it written otherwise.
fn changed(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "{from}\n{text}");
    text.replacen(from, to, 1)
}

/// The left ankle alone, over ranges so short that its verdict is soon there and "equivalent".
fn ankle() -> String {
    let text = fs::read_to_string("models/robots/two_rod_ankles.xml").unwrap();
    let lines =
        text.lines().filter(|line| !line.contains("name=\"right_") || line.contains("<body"));
    let text: String = lines.map(|line| format!("{line}\n")).collect();
    let at = text.find("      <body name=\"right_shank\"").unwrap();
    let end = text.find("    </body>\n  </worldbody>").unwrap();
    let text = format!("{}{}", &text[..at], &text[end..]);
    let text = changed(&text, "range=\"-0.35 0.35\"", "range=\"-0.06 0.05\"");
    changed(&text, "range=\"-0.09 0.09\"", "range=\"-0.03 0.02\"")
}

fn screwed() -> String {
    let case = Case::new(actuators(), 1.0, 3e-6);
    case.emitted(Form::Loop, Format::Mjcf, ActuatorUnits::Motor).file
}

/// The same with housings and nuts so light that what they weigh may go to the links.
fn light() -> String {
    let own = |at: &str| {
        format!("<inertial pos=\"{at}\" mass=\"0.01\" diaginertia=\"1e-5 1e-5 1e-5\"/>\n")
    };
    let line = |line: &str| match line {
        housing if housing.contains("mass=\"0.5\"") => own("0 0 0"),
        nut if nut.contains("mass=\"0.12\"") => own("0.006 0 -0.232"),
        line => format!("{line}\n"),
    };
    let text: String = screwed().lines().map(line).collect();
    assert_eq!(text.matches("mass=\"0.01\"").count(), 4, "{text}");
    text
}

fn pairs(robot: &Robot) -> Vec<TwoJointLoops> {
    find_two_joints(robot, FindOptions::new(Preset::Training))
}

fn only(robot: &Robot) -> TwoJointLoops {
    let [one] = <[_; 1]>::try_from(pairs(robot)).unwrap();
    one
}

fn folded(text: &str, options: FoldOptions) -> Result<FoldedTwoJoints, Vec<FoldFault>> {
    let robot = read(text);
    fold_two_joints(&robot, &only(&robot), options)
}

/// The small ankle found once.
fn small() -> &'static (Robot, TwoJointLoops) {
    static FOUND: LazyLock<(Robot, TwoJointLoops)> = LazyLock::new(|| {
        let robot = read(&ankle());
        let pair = only(&robot);
        (robot, pair)
    });
    &FOUND
}

/// That the design found is in step with the text.
fn in_step(found: &TwoJointLoops, text: &str) {
    let judged = found.judged.as_ref().unwrap();
    let robots = [read(text)];
    let all = compare_two_joints(&judged.design, &judged.of, &judged.check, &robots, None).unwrap();
    let rows: Vec<_> = all.joints().flat_map(|joint| &joint.rows).collect();
    let told: Vec<&str> =
        rows.iter().filter(|row| row.differs()).map(|row| row.why.as_str()).collect();
    assert!(told.iter().all(|why| why.contains("do not stand")), "{told:?}\n{text}");
    assert!(rows.iter().filter(|row| row.outcome == RowOutcome::InStep).count() > 25, "{rows:?}");
}

#[test]
fn the_design_found_is_in_step_with_the_folded_file_and_no_loop_is_left() {
    let (robot, pair) = small();
    let direct = fold_two_joints(robot, pair, DIRECT).unwrap();
    in_step(pair, &direct.text);
    let text = light();
    let robot = read(&text);
    let pair = only(&robot);
    let coupled = fold_two_joints(&robot, &pair, COUPLED).unwrap();
    in_step(&pair, &coupled.text);
    let plain = fold_two_joints(&robot, &pair, ANYWAY).unwrap();
    in_step(&pair, &plain.text);
    for text in [&direct.text, &coupled.text, &plain.text] {
        let again = read(text);
        assert!(find(&again, FindOptions::new(Preset::Training)).is_empty(), "{text}");
        let goes = |part: &str| !again.links.iter().any(|link| link.name.ends_with(part));
        assert!(again.closures.is_empty() && ["_rod", "_crank", "_nut"].into_iter().all(goes));
    }
    assert_eq!(coupled.text.matches("<spatial ").count(), 2);
    assert!(direct.joints.is_some_and(|json| json.motors[0] == "left_upper_motor"));
}

#[test]
fn a_folded_pair_is_named_with_its_matrix_and_not_passed_over_as_a_file_without_a_loop() {
    let shared = |text: &str| {
        let all = findings(&read(text), FindOptions::new(Preset::Training)).shared_joints;
        <[_; 1]>::try_from(all).unwrap()
    };
    let (robot, pair) = small();
    let [direct] = shared(&fold_two_joints(robot, pair, DIRECT).unwrap().text);
    assert_eq!(direct.joints, pair.joints);
    let matrix = pair.judged.as_ref().unwrap().check.direct_joints.matrix;
    assert_eq!(direct.motors.len(), 2);
    for (motor, row) in direct.motors.iter().zip(matrix) {
        let told = motor.row.unwrap();
        let near = |sign: f64| told.iter().zip(row).all(|(a, b)| (a - sign * b).abs() < 1e-9);
        assert!(near(1.0) || near(-1.0), "{motor:?} {row:?}");
    }
    let text = light();
    let robot = read(&text);
    let [coupled] = shared(&fold_two_joints(&robot, &only(&robot), COUPLED).unwrap().text);
    assert!(coupled.motors.len() == 2 && coupled.motors.iter().all(|motor| motor.row.is_none()));
}

#[test]
fn a_drive_whose_verdict_forbids_two_joints_is_folded_only_as_what_is_exact_or_anyway() {
    let text = light();
    let robot = read(&text);
    let pair = only(&robot);
    let faults = fold_two_joints(&robot, &pair, DIRECT).unwrap_err();
    let told = &faults[0];
    let help = told.diagnostic.help.clone().unwrap_or_default();
    assert!(told.verdict.is_some() && help.contains("--model coupled"), "{told:?}");
    assert!(help.contains("--anyway"), "{help}");
}

#[test]
fn both_ankles_of_a_file_go_in_one_call_and_nothing_else_of_it_changes() {
    let text = fs::read_to_string("models/robots/two_rod_ankles.xml").unwrap();
    let (text, how) = (
        text.replace("-0.6 0.44", "-0.06 0.04")
            .replace("-0.26 0.26", "-0.02 0.02")
            .replace("-0.35 0.35", "-0.05 0.05")
            .replace("-0.09 0.09", "-0.03 0.03"),
        FindOptions::new(Preset::Training),
    );
    let robot = read(&text);
    let all =
        fold_all(&robot, how, DIRECT, &|_, _| Vec::new(), &mut |text| try_read(text)).unwrap();
    let went: Vec<&str> = all.went.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(went, ["left_foot", "right_foot"], "{:?}", all.stays);
    assert!(all.stays.is_empty() && all.two_joints.len() == 2 && all.joints.is_empty());
    // Every line that stays is one of before, but for masses, armatures, actuators and tendons.
    let new = all.text.lines().filter(|line| !text.lines().any(|old| old == *line));
    let new: Vec<&str> = new.map(str::trim).collect();
    let is_own = |line: &&str| {
        [
            "<inertial ",
            "<position ",
            "<tendon>",
            "</tendon>",
            "<fixed ",
            "</fixed>",
            "<joint joint=",
        ]
        .iter()
        .any(|start| line.starts_with(start))
            || line.contains("armature=")
    };
    assert!(new.iter().all(is_own), "{new:?}");
    for kept in
        ["kp=\"80\" kv=\"2\" forcerange=\"-60 60\"", "damping=\"0.02\" frictionloss=\"0.1\""]
    {
        assert_eq!(all.text.matches(kept).count(), 4, "{kept}\n{}", all.text);
    }
    let mass = |text: &str| -> f64 {
        read(text).links.iter().filter_map(|link| Some(link.inertial?.mass)).sum()
    };
    assert!((mass(&all.text) - mass(&text)).abs() < 1e-9);
}

/// Each trap is named with these words at a line of the file.
fn refused(text: &str, options: FoldOptions, words: &[&str]) {
    let faults = folded(text, options).expect_err(words[0]);
    let is_told = |fault: &FoldFault| {
        let told = &fault.diagnostic;
        let all = format!("{} {}", told.message, told.help.clone().unwrap_or_default());
        told.place.is_some() && words.iter().all(|word| all.contains(word))
    };
    assert!(faults.iter().any(is_told), "{words:?}: {faults:?}");
}

#[test]
fn what_hangs_on_a_rod_or_speaks_of_a_motors_joint_refuses_the_fold_by_name() {
    let text = ankle();
    let site = "<site name=\"left_upper_rod_end\"";
    refused(&changed(&text, site, &format!("<camera name=\"eye\"/>{site}")), DIRECT, &["eye"]);
    let gauge = format!("<site name=\"gauge\" pos=\"0 0 -0.1\"/>{site}");
    refused(&changed(&text, site, &gauge), DIRECT, &["gauge", "move it to a body that stays"]);
    let sensor =
        |what: &str| changed(&text, "</mujoco>", &format!("<sensor>{what}</sensor></mujoco>"));
    let encoder = sensor("<jointpos joint=\"left_upper_motor\"/>");
    refused(&encoder, DIRECT, &["jointpos", "left_upper_motor", "actuatorpos"]);
    let frame = sensor("<framepos objtype=\"body\" objname=\"left_lower_rod\"/>");
    refused(&frame, DIRECT, &["framepos", "left_lower_rod"]);
    let tied = changed(
        &text,
        "</mujoco>",
        "<tendon><fixed name=\"both\"><joint joint=\"left_upper_motor\" coef=\"1\"/></fixed></tendon></mujoco>",
    );
    refused(&tied, DIRECT, &["left_upper_motor"]);
}

#[test]
fn what_no_tendon_can_hold_refuses_the_fold_by_name() {
    let text = ankle();
    let ball = "name=\"left_upper_rod_ball\" type=\"ball\"";
    let rubbing = changed(&text, ball, &format!("{ball} damping=\"0.3\""));
    refused(&rubbing, DIRECT, &["damping", "left_upper_rod_ball", "set it to 0"]);
    assert!(folded(&rubbing, ANYWAY).unwrap().notes.iter().any(|note| note.contains("is lost")));
    let taken = changed(
        &text,
        "<actuator>",
        "<tendon><spatial name=\"left_upper_motor_tendon\"><site site=\"left_upper_pin\"/><site site=\"left_lower_pin\"/></spatial></tendon><actuator>",
    );
    refused(&taken, DIRECT, &["taken", "rename"]);
    let all =
        changed(&text, "<worldbody>", "<default><tendon damping=\"3\"/></default><worldbody>");
    refused(&all, DIRECT, &["defaults for every tendon"]);
    refused(&text, COUPLED, &["crank's curve", "--model direct"]);
    refused(&text, FoldOptions { keep_visuals: true, ..DIRECT }, &["--keep-visuals"]);
    let key = changed(&text, "</mujoco>", "<keyframe><key qpos=\"0 0 0\"/></keyframe></mujoco>");
    refused(&key, DIRECT, &["qpos", "correct or remove"]);
    let nameless = changed(&text, "name=\"left_ankle_roll\" ", "");
    refused(&nameless, DIRECT, &["has no name"]);
    let sprung =
        changed(&text, "name=\"left_lower_motor\"", "name=\"left_lower_motor\" stiffness=\"3\"");
    refused(&sprung, DIRECT, &["spring", "left_lower_motor"]);
    let heavy = changed(
        &text,
        "mass=\"0.061\" diaginertia=\"0.000399 0.000399",
        "mass=\"0.4\" diaginertia=\"0.0026 0.0026",
    );
    refused(&heavy, DIRECT, &["inertia error"]);
}

#[test]
fn another_file_that_speaks_of_a_rod_is_named() {
    let (robot, pair) = small();
    let scene =
        "<mujoco><contact><exclude body1=\"left_upper_rod\" body2=\"table\"/></contact></mujoco>";
    let document = Document::read("scene.xml", scene.as_bytes().to_vec()).unwrap();
    let told = spoken_of_two_joints(robot, pair, DIRECT, &document);
    assert!(told.len() == 1 && told[0].message.contains("left_upper_rod"), "{told:?}");
}

#[test]
fn keyframes_sensors_stops_and_excludes_follow_what_stays() {
    let text = ankle();
    let more = "<contact><exclude body1=\"left_upper_rod\" body2=\"left_foot\"/></contact>\
        <sensor><actuatorpos actuator=\"left_upper\"/><jointpos joint=\"left_ankle_pitch\"/></sensor>\
        <keyframe><key qpos=\"0 0 0.5 1 0 0 0  0.4  0.02 0.01  0.1 1 0 0 0  0.2 1 0 0 0\" ctrl=\"0.1 0.2\"/></keyframe></mujoco>";
    let text = changed(&text, "</mujoco>", more);
    let stop = "name=\"left_upper_motor\" axis=\"0 1 0\"";
    let text = changed(&text, stop, &format!("{stop} range=\"-0.5 0.4\""));
    let own = "<position name=\"left_lower\"";
    let text = changed(&text, own, &format!("{own} armature=\"0.002\""));
    let new = folded(&text, DIRECT).unwrap();
    for kept in [
        "qpos=\"0 0 0.5 1 0 0 0  0.4  0.02 0.01  \" ctrl=\"0.1 0.2\"",
        "<actuatorpos actuator=\"left_upper\"/>",
        "<jointpos joint=\"left_ankle_pitch\"/>",
        "limited=\"true\" range=\"-0.5 0.4\"",
        "<position name=\"left_lower\" armature=\"0.002\"",
    ] {
        assert!(new.text.contains(kept), "{kept}\n{}", new.text);
    }
    assert!(!new.text.contains("exclude"));
    assert!(new.notes.iter().any(|note| note.contains("<exclude>")), "{:?}", new.notes);
    // What the actuator bears itself is not borne by its tendon too.
    let robot = read(&new.text);
    let armatures: Vec<f64> =
        robot.shared_drives.iter().map(|drive| drive.tendon.armature.unwrap()).collect();
    assert!((armatures[1] - armatures[0]).abs() < 1e-4, "{armatures:?}");
}

#[test]
fn a_file_with_both_hinges_on_the_foot_itself_is_folded_too() {
    let text = ankle();
    let roll = text.lines().find(|line| line.contains("left_ankle_roll")).unwrap().to_owned();
    let text = changed(&text, &format!("{roll}\n"), "");
    let cross = text.lines().find(|line| line.contains("diaginertia=\"2e-5 2e-5 2e-5\"")).unwrap();
    let text = changed(&text, &format!("{cross}\n"), "");
    let text = changed(&text, "          <body name=\"left_foot\">\n", &format!("{roll}\n"));
    let text = changed(&text, "          </body>\n        </body>", "        </body>");
    let robot = read(&text);
    let pair = only(&robot);
    assert!(
        pair.drive.as_ref().is_some_and(|drive| drive.middle.is_none()),
        "{:?}",
        pair.obstacles
    );
    let new = fold_two_joints(&robot, &pair, ANYWAY).unwrap();
    in_step(&pair, &new.text);
}

#[test]
fn the_program_writes_the_folded_file_its_json_and_the_diff_and_names_a_pair() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let robot = path("ankle.xml");
    fs::write(&robot, ankle()).unwrap();
    let diff = run(&["fold", &robot, "--diff"]);
    assert!(
        output(&diff).contains("+    <fixed name=\"left_upper_motor_tendon\""),
        "{}",
        output(&diff)
    );
    let written = run(&["fold", &robot, "--loop", "left_foot", "-o", &robot, "--force"]).success();
    assert!(errors(&written).contains("kinetic energy"), "{}", errors(&written));
    let json: Value =
        serde_json::from_str(&fs::read_to_string(path("ankle.joints.json")).unwrap()).unwrap();
    assert_eq!(json[0]["schema"], "unloop/joints/1");
    assert_eq!(json[0]["joints"], json!(["left_ankle_pitch", "left_ankle_roll"]));
    assert!(output(&run(&["find", &robot])).contains("no closed loop"));
    let unnamed = run(&["fold", "models/robots/two_rod_ankles.xml", "--diff"]).code(2);
    assert!(errors(&unnamed).contains("go together as \"right_foot\""), "{}", errors(&unnamed));
}

fn square(value: &Value) -> Matrix2<f64> {
    let [[a, b], [c, d]]: [[f64; 2]; 2] = serde_json::from_value(value.clone()).unwrap();
    Matrix2::new(a, b, c, d)
}

#[test]
fn the_folded_robot_has_the_closed_ones_joint_torques_within_the_stated_error_in_the_engine() {
    let text = fs::read_to_string("models/robots/two_rod_ankles.xml").unwrap();
    let robot = read(&text);
    // The right ankle over its whole walking range, where a constant matrix errs by far more than rounding.
    let [_, pair] = <[_; 2]>::try_from(pairs(&robot)).unwrap();
    let judged = pair.judged.as_ref().unwrap();
    let norm = judged.check.rate_error.drawn.norm;
    assert!(norm > 0.05, "{norm}");
    let new = fold_two_joints(&robot, &pair, ANYWAY).unwrap();
    let [pitch, roll] = judged.of.region;
    let share = |[low, high]: [f64; 2], at: f64| low + (high - low) * at;
    let poses: Vec<[f64; 2]> = (0..20)
        .map(f64::from)
        .map(|k| [share(pitch, (k * 0.618).fract()), share(roll, k / 19.0)])
        .collect();
    let asked = |xml: &str| {
        json!({"xml": xml, "urdf": "", "sdf": "", "joints": ["right_ankle_pitch", "right_ankle_roll"],
            "actuators": ["right_upper", "right_lower"], "balls": [], "poses": poses})
    };
    let question = json!([asked(&text), asked(&new.text)]);
    let answer = venv::script("emitted_two_joints.py", &question.to_string());
    assert!(answer.status.success(), "{}", String::from_utf8_lossy(&answer.stderr));
    let found: Vec<Vec<Value>> = serde_json::from_slice(&answer.stdout).unwrap();
    let [angle_p, angle_r] = judged.check.angle_error_rad;
    let (_, energy) = new.inertia_error.unwrap();
    let mut worst = 0.0_f64;
    for ((pose, closed), tree) in poses.iter().zip(&found[0]).zip(&found[1]) {
        assert!(closed["left"].as_f64().unwrap() < 1e-9, "{closed}");
        let (true_rates, constant) = (square(&closed["rates"]), square(&tree["rates"]));
        for torques in [[1.0, 1.0], [1.0, -1.0], [1.0, 0.0], [0.0, 1.0]] {
            let torques = Vector2::from(torques);
            let (real, ours) = (true_rates.transpose() * torques, constant.transpose() * torques);
            let off = (real - ours).norm() / ours.norm();
            assert!(off <= norm * (1.0 + 1e-6), "{pose:?}: torques off by {off}, stated {norm}");
            worst = worst.max(off);
        }
        // Motors read through the constant matrix what the joints turn, within the stated angles.
        let both = |of: &Value| {
            Vector2::from(serde_json::from_value::<[f64; 2]>(of["motors"].clone()).unwrap())
        };
        let turned = constant.try_inverse().unwrap() * (both(closed) - both(tree));
        assert!(turned[0].abs() <= angle_p * 1.000_001 && turned[1].abs() <= angle_r * 1.000_001);
        let (real, ours) = (square(&closed["mass"]), square(&tree["mass"]));
        let shares = (real.cholesky().unwrap().inverse() * (ours - real)).complex_eigenvalues();
        let off = shares.iter().map(|share| share.norm()).fold(0.0, f64::max);
        assert!(off <= energy * 1.01, "{pose:?}: energy off by {off}, stated {energy}");
    }
    assert!(worst > 0.5 * norm, "the stated error {norm} is far from what is seen, {worst}");
}

#[test]
fn two_actuators_folded_to_tendons_are_the_closed_file_in_the_engine() {
    let text = light();
    let new = folded(&text, COUPLED).unwrap();
    let poses = [[0.21, -0.08], [0.45, 0.02], [-0.1, -0.2], [0.3, -0.15]];
    let balls =
        json!([["ankle_a_housing", "ankle_a_foot_pin"], ["ankle_b_housing", "ankle_b_foot_pin"]]);
    let asked = |xml: &str, balls: &Value| {
        json!({"xml": xml, "urdf": "", "sdf": "", "joints": ["ankle_pitch", "ankle_roll"],
            "actuators": ["ankle_a_slide", "ankle_b_slide"], "balls": balls, "poses": poses})
    };
    let question = json!([asked(&text, &balls), asked(&new.text, &json!([]))]);
    let answer = venv::script("emitted_two_joints.py", &question.to_string());
    assert!(answer.status.success(), "{}", String::from_utf8_lossy(&answer.stderr));
    let found: Vec<Vec<Value>> = serde_json::from_slice(&answer.stdout).unwrap();
    for (closed, tendons) in found[0].iter().zip(&found[1]) {
        let (real, ours) = (square(&closed["rates"]), square(&tendons["rates"]));
        assert!((real - ours).abs().max() < 1e-7 * real.abs().max(), "{real}{ours}");
        for k in [0, 1] {
            let off =
                closed["motors"][k].as_f64().unwrap() - tendons["motors"][k].as_f64().unwrap();
            assert!(off.abs() < 1e-6, "{closed} {tendons}");
        }
    }
}

#[test]
fn cranks_that_bend_beyond_the_limit_are_not_folded_without_being_told() {
    let case = Case::new(cranks(), 7.75, 1.2e-5);
    let text = case.emitted(Form::Loop, Format::Mjcf, ActuatorUnits::Motor).file;
    let faults = folded(&text, DIRECT).unwrap_err();
    assert!(faults.iter().any(|fault| fault.verdict.is_some()), "{faults:?}");
    let motor = "ankle_a_crank";
    let new = folded(&text, ANYWAY).unwrap();
    assert!(new.notes.iter().any(|note| note.contains(motor) && note.contains("constant matrix")));
}
