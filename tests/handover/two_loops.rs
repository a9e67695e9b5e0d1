//! Two loops that turn one body about pitch and roll, found in robot files.

use std::fs;

use unloop::design::{AnyDesign, Preset};
use unloop::drive::{Axis, Direct, DrawnLeg, InputEnd, Vector};
use unloop::equivalence::Verdict;
use unloop::handover::find::{FindOptions, JudgedTwoJoints, TwoJointLoops, find, find_two_joints};
use unloop::handover::fold::{FoldOptions, fold, fold_two_joints};
use unloop::handover::{ActuatorUnits, Form, Format, LimitBasis};
use unloop::robot::Robot;
use unloop::study::TwoMotors;

use super::command::run;
use super::two_joints::{Case, JOINT_READS, REGION, actuators, cranks};

fn read(text: &str) -> Robot {
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    unloop::robot::read("robot", text.as_bytes().to_vec(), none).unwrap_or_else(|r| panic!("{r}"))
}

/// A drive as a file with its loops.
fn file(case: &Case) -> String {
    case.emitted(Form::Loop, Format::Mjcf, ActuatorUnits::Motor).file
}

fn ankle() -> String {
    file(&Case::new(cranks(), 7.75, 1.2e-5))
}

fn pairs(text: &str) -> Vec<TwoJointLoops> {
    find_two_joints(&read(text), FindOptions::new(Preset::Coarse))
}

fn only(text: &str) -> TwoJointLoops {
    let [one] = <[_; 1]>::try_from(pairs(text)).unwrap();
    one
}

/// The same drive from a file without actuators, whose motors are told.
fn in_sdformat(case: &Case) -> TwoJointLoops {
    let text = case.emitted(Form::Loop, Format::Sdformat, ActuatorUnits::Motor).file;
    let robot = read(&text);
    let motors =
        ["crank", "slide"].map(|part| ["ankle_a", "ankle_b"].map(|one| format!("{one}_{part}")));
    let motors: Vec<String> =
        motors.into_iter().flatten().filter(|name| robot.joint_named(name).is_some()).collect();
    let options = FindOptions { motors: &motors, ..FindOptions::new(Preset::Coarse) };
    let [one] = <[_; 1]>::try_from(find_two_joints(&robot, options)).unwrap();
    one
}

/// `text` with one place of it written otherwise.
fn changed(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "{from}\n{text}");
    text.replacen(from, to, 1)
}

/// That the pair is refused, by this code and with these words.
fn refused(text: &str, code: &str, words: &str) {
    let found = pairs(text);
    let [one] = found.as_slice() else { panic!("{found:?}") };
    let is_told =
        |o: &unloop::handover::find::Obstacle| o.code == code && o.message.contains(words);
    assert!(one.obstacles.iter().any(is_told), "{code} {words}: {:?}", one.obstacles);
    assert!(one.judged.is_none() && one.text.is_none());
    let loops = find(&read(text), FindOptions::new(Preset::Coarse));
    assert!(loops.iter().all(|one| !one.obstacles.is_empty() && one.judged.is_none()));
}

fn near(what: &str, ours: f64, theirs: f64) {
    assert!((ours - theirs).abs() < 1e-9, "{what}: {ours} {theirs}");
}

fn same(what: &str, ours: Vector, theirs: Vector) {
    near(what, (ours - theirs).length(), 0.0);
}

fn same_axis(what: &str, ours: &Axis, theirs: &Axis) {
    same(what, ours.unit().unwrap(), theirs.unit().unwrap());
    same(what, ours.foot(theirs.point).unwrap(), theirs.point);
}

#[test]
fn a_file_with_both_loops_gives_back_points_matrix_and_ranges_of_its_design() {
    let case = Case::new(cranks(), 7.75, 1.2e-5);
    let one = only(&file(&case));
    assert_eq!(one.obstacles, []);
    let judged = one.judged.unwrap();
    let (ours, of) = (judged.design.drawing.drive().unwrap(), &judged.of);
    let (ours, theirs) = (ours.geometry(), case.drive.geometry());
    same_axis("pitch", &ours.pitch, &theirs.pitch);
    same_axis("roll", &ours.roll, &theirs.roll);
    for (mine, yours) in ours.legs.iter().zip(&theirs.legs) {
        same("foot", mine.foot, yours.foot);
    }
    for (mine, yours) in of.region.iter().zip(&REGION) {
        near("lower limit", mine[0], yours[0]);
        near("upper limit", mine[1], yours[1]);
    }
    near("pitch reads", judged.design.joint_reads[0], JOINT_READS[0]);
    near("roll reads", judged.design.joint_reads[1], JOINT_READS[1]);
    // The file counts the second motor against its drawn axis.
    let (found, drawn) =
        (Direct::zero_pose(&of.drive).unwrap(), Direct::zero_pose(&case.drive).unwrap());
    for column in [0, 1] {
        near("T", found.matrix[(0, column)], drawn.matrix[(0, column)]);
        near("T", found.matrix[(1, column)], -drawn.matrix[(1, column)]);
    }
    for joints in [[0.2, 0.1], [-0.3, -0.12]] {
        let [mine, yours] =
            [&of.drive, &case.drive].map(|drive| drive.motor_turns(joints).unwrap());
        near("first motor", mine[0], yours[0]);
        near("second motor", mine[1], -yours[1]);
    }
    let crank = judged.design.masses.legs[0].crank.as_ref().unwrap();
    near("crank", crank.mass, 0.09);
    near("middle", judged.design.masses.middle.as_ref().unwrap().mass, 0.08);
}

#[test]
fn both_loops_in_sdformat_have_the_lengths_the_verdict_and_the_motion_of_the_same_in_mjcf() {
    for case in [Case::new(cranks(), 7.75, 1.2e-5), Case::new(actuators(), 1.0, 3e-6)] {
        let [own, other] = [in_sdformat(&case), only(&file(&case))];
        assert_eq!((&own.obstacles, &own.joints), (&other.obstacles, &other.joints));
        let drives = [&own, &other].map(|one| one.drive.as_ref().unwrap());
        for leg in [0, 1] {
            for (a, b) in drives[0].figures(leg).into_iter().zip(drives[1].figures(leg)) {
                // What slides is as long as it is drawn, and SDFormat draws it where both joints read 0; it knows no screw.
                let is_drawn = matches!(a.0, "length_m" | "lead_m");
                assert!(a.0 == b.0 && (is_drawn || (a.1 - b.1).abs() < 1e-9), "{a:?} {b:?}");
            }
        }
        let judged = [&own, &other].map(|one| one.judged.as_ref().unwrap());
        let [ours, theirs] = judged.map(|one| one.check.verdict);
        assert_eq!(ours, theirs, "{}\n{}", judged[0].check.reason, judged[1].check.reason);
        judged[0].design.joint_reads.iter().for_each(|reads| near("drawn at", *reads, 0.0));
        // Both from the pose in which both joints read 0; the file without a screw counts what slides in its own leads.
        let back = JOINT_READS.map(|reads| -reads);
        let lead = |of: &TwoMotors, leg: usize| match of.drive.geometry().legs[leg].input {
            InputEnd::Actuator { lead, .. } => lead,
            _ => 1.0,
        };
        let start = judged[1].of.drive.motor_turns(back).unwrap();
        for joints in [[0.2, 0.1], [-0.1, -0.12], [0.4, 0.03]] {
            let mine = judged[0].of.drive.motor_turns(joints).unwrap();
            let seen = [joints[0] + back[0], joints[1] + back[1]];
            let yours = judged[1].of.drive.motor_turns(seen).unwrap();
            for leg in [0, 1] {
                let [mine, yours] = [
                    mine[leg] * lead(&judged[0].of, leg),
                    (yours[leg] - start[leg]) * lead(&judged[1].of, leg),
                ];
                assert!((mine - yours).abs() < 1e-9, "{leg}: {mine} {yours}");
            }
        }
        for (mine, (yours, reads)) in judged[0].of.region.iter().zip(REGION.iter().zip(JOINT_READS))
        {
            near("lower limit", mine[0], yours[0] + reads);
            near("upper limit", mine[1], yours[1] + reads);
        }
        let weighs =
            |one: &JudgedTwoJoints| one.design.masses.legs[1].rod.as_ref().map(|rod| rod.mass);
        assert_eq!(weighs(judged[0]), weighs(judged[1]));
        // Folded it would need tendons, which the format has not.
        let robot = read(&case.emitted(Form::Loop, Format::Sdformat, ActuatorUnits::Motor).file);
        let options = FoldOptions { anyway: true, ..super::fold::PLAIN };
        let faults = fold_two_joints(&robot, &own, options).unwrap_err();
        assert!(faults[0].diagnostic.message.contains("in MJCF files only"), "{faults:?}");
    }
}

#[test]
fn two_actuators_with_slides_are_found_with_their_lead() {
    let case = Case::new(actuators(), 1.0, 3e-6);
    let one = only(&file(&case));
    let judged = one.judged.unwrap_or_else(|| panic!("{:?}", one.obstacles));
    for leg in judged.design.drawing.legs {
        let DrawnLeg::Actuator { lead, .. } = leg else { panic!("{leg:?}") };
        assert!((lead.abs() - 5e-3).abs() < 1e-12, "{lead}");
    }
    let joints = [0.2, 0.1];
    let [mine, yours] =
        [&judged.of.drive, &case.drive].map(|drive| drive.motor_turns(joints).unwrap());
    for (mine, yours) in mine.iter().zip(yours) {
        assert!((mine.abs() - yours.abs()).abs() < 1e-9 * yours.abs(), "{mine} {yours}");
    }
}

#[test]
fn neither_loop_passes_for_a_drive_of_one_joint_and_none_is_folded_away() {
    let robot = read(&ankle());
    let loops = find(&robot, FindOptions::new(Preset::Coarse));
    assert_eq!(loops.len(), 2);
    for one in &loops {
        assert!(one.is_of_two_joints() && one.judged.is_none() && one.design_text().is_none());
        let anyway = FoldOptions {
            model: Form::Direct,
            anyway: true,
            keep_visuals: false,
            limits: LimitBasis::Guaranteed,
            actuator: ActuatorUnits::Joint,
        };
        let faults = fold(&robot, one, anyway).unwrap_err();
        assert_eq!(faults.len(), 1);
        let told = &faults[0].diagnostic;
        assert!(told.message.contains("two_rods") && told.code.is_some(), "{told:?}");
    }
}

#[test]
fn a_spring_at_the_rod_or_at_the_ankle_is_named() {
    let text = ankle();
    let at_roll = changed(&text, "name=\"ankle_roll\"", "name=\"ankle_roll\" stiffness=\"3\"");
    refused(&at_roll, "spring", "ankle_roll");
    let at_crank = changed(
        &text,
        "joint name=\"ankle_b_crank\"",
        "joint name=\"ankle_b_crank\" stiffness=\"3\"",
    );
    refused(&at_crank, "spring", "ankle_b_crank");
}

#[test]
fn a_tendon_or_an_equality_on_one_of_its_joints_is_named() {
    let text = ankle();
    let end = "</mujoco>";
    for (joint, acts) in [
        ("ankle_roll", "stiffness='9'"),
        ("ankle_a_crank", "damping='2'"),
        ("ankle_pitch", "range='0 1'"),
    ] {
        let band = format!("<fixed name='band' {acts}><joint joint='{joint}' coef='1'/></fixed>");
        let tendon = changed(&text, end, &format!("<tendon>{band}</tendon></mujoco>"));
        refused(&tendon, "tendon", joint);
        let held = format!("<equality><joint joint1='{joint}' polycoef='0 0 0 0 0'/></equality>");
        refused(&changed(&text, end, &format!("{held}</mujoco>")), "held_still", joint);
    }
}

#[test]
fn a_third_joint_between_carrier_and_foot_is_named() {
    let third = "<joint name=\"yaw\" axis=\"0 0 1\" range=\"-1 1\"/><joint name=\"ankle_roll\"";
    refused(&changed(&ankle(), "<joint name=\"ankle_roll\"", third), "other_joint", "yaw");
}

#[test]
fn a_joint_without_a_range_leaves_no_region_and_is_named() {
    let text = ankle();
    let at = text.find("name=\"ankle_roll\" type").unwrap();
    let (before, behind) = text.split_at(at);
    let free = behind.replacen("limited=\"true\"", "limited=\"false\"", 1);
    refused(&format!("{before}{free}"), "no_range", "ankle_roll");
}

#[test]
fn a_body_that_hangs_on_a_rod_is_named() {
    let body = "<body name=\"pendulum\" pos=\"0 0 -0.1\"><joint name=\"swing\" axis=\"0 1 0\"/>\
        <inertial pos=\"0 0 0\" mass=\"0.1\" diaginertia=\"1e-4 1e-4 1e-4\"/></body>";
    let site = "<site name=\"ankle_a_foot_pin\" ";
    let hung = changed(&ankle(), site, &format!("{body}{site}"));
    refused(&hung, "coupler_bears", "ankle_a_rod");
    let camera = changed(&ankle(), site, &format!("<camera name=\"eye\"/>{site}"));
    refused(&camera, "coupler_bears", "eye");
}

#[test]
fn motors_on_the_ankle_itself_or_missing_ones_are_named() {
    let text = ankle();
    let on_roll = changed(&text, "joint=\"ankle_b_crank\"", "joint=\"ankle_roll\"");
    refused(&on_roll, "driven_pin", "ankle_roll");
    refused(&on_roll, "motor_unknown", "ankle_b_crank");
    let twice = changed(&text, "<actuator>", "<actuator><motor joint=\"ankle_a_crank\"/>");
    refused(&twice, "driven_twice", "ankle_a_crank");
    let tied = "<equality><joint joint1=\"ankle_a_crank\" joint2=\"ankle_b_crank\"/>";
    refused(&changed(&text, "<equality>", tied), "driven_pin", "ankle_a_crank");
}

#[test]
fn a_rod_on_one_hinge_cannot_follow_and_is_named() {
    let ball = "name=\"ankle_a_crank_pin\" type=\"ball\"";
    let hinge = "name=\"ankle_a_crank_pin\" type=\"hinge\" axis=\"0 1 0\"";
    refused(&changed(&ankle(), ball, hinge), "over_constrained", "ankle_a_crank_pin");
}

#[test]
fn a_loop_that_is_drawn_open_is_named_with_both_lengths() {
    let open = changed(&ankle(), "-0.277\"", "-0.278\"");
    refused(&open, "drawn_open", "mm apart");
}

#[test]
fn a_rod_that_is_welded_to_the_shank_is_no_leg() {
    let weld = "<equality><weld body1=\"ankle_a_rod\" body2=\"shank\"/>";
    let found = pairs(&changed(&ankle(), "<equality>", weld));
    assert!(found.iter().all(|one| one.judged.is_none() && !one.obstacles.is_empty()), "{found:?}");
}

#[test]
fn a_robot_with_two_such_ankles_has_one_verdict_for_each() {
    let text = fs::read_to_string("models/robots/two_rod_ankles.xml").unwrap();
    let found = pairs(&text);
    let verdicts: Vec<(&str, Option<Verdict>)> = found
        .iter()
        .map(|one| (one.name.as_str(), one.judged.as_ref().map(|judged| judged.check.verdict)))
        .collect();
    assert_eq!(found.iter().map(|one| one.obstacles.len()).sum::<usize>(), 0, "{found:?}");
    assert_eq!(verdicts[1], ("right_foot", Some(Verdict::NotEquivalent)));
    assert_eq!(verdicts[0].0, "left_foot");
    let left = &found[0].judged.as_ref().unwrap().check;
    let right = &found[1].judged.as_ref().unwrap().check;
    assert!(left.rate_error.drawn.norm < 0.02 && right.rate_error.drawn.norm > 0.05);
}

#[test]
fn find_writes_a_design_that_reads_again_for_each_ankle() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().to_str().unwrap();
    let told = run(&["find", "models/robots/two_rod_ankles.xml", "--design", path]);
    let told = String::from_utf8(told.get_output().stdout.clone()).unwrap();
    assert!(told.contains("left_foot") && told.contains("two joints"), "{told}");
    for name in ["left_foot", "right_foot"] {
        let design = format!("{path}/{name}.toml");
        let text = fs::read_to_string(&design).unwrap();
        assert!(text.contains("kind = \"two_rods\""), "{text}");
        let read = unloop::design::parse_any(&design, &text);
        assert!(matches!(read, Ok((AnyDesign::TwoJoints(_), _))), "{read:?}");
    }
}
