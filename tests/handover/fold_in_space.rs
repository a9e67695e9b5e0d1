//! Folding loops that are no planar four-bar: the push-rod with ball ends of `ball_rod_leg.xml`.

use serde_json::{Value, json};
use unloop::design::Preset;
use unloop::equivalence::{Assessment, Shown, Verdict};
use unloop::handover::compare::{Answer, compare};
use unloop::handover::find::{FindOptions, FoundLoop, find};
use unloop::handover::fold::{FoldFault, FoldOptions, Folded, fold, joints_beside};
use unloop::handover::{ActuatorUnits, Form};
use unloop::robot::Robot;

use super::fold::{PLAIN, changed, model, read};
use crate::venv;

fn leg() -> String {
    model("ball_rod_leg.xml")
}

fn only_loop(robot: &Robot) -> FoundLoop {
    let [one] = <[_; 1]>::try_from(find(robot, FindOptions::new(Preset::Training))).unwrap();
    one
}

fn folded(text: &str, options: FoldOptions) -> Result<Folded, Vec<FoldFault>> {
    let robot = read(text);
    fold(&robot, &only_loop(&robot), options)
}

/// All that stands against a fold, as one text.
fn refused(text: &str, options: FoldOptions) -> String {
    let faults = folded(text, options).unwrap_err();
    faults.iter().map(|fault| fault.diagnostic.message.clone()).collect::<Vec<_>>().join("\n")
}

#[test]
fn find_judges_a_push_rod_with_ball_ends_over_its_joints_limits_with_its_inertia() {
    let found = only_loop(&read(&leg()));
    let check = found.check().unwrap_or_else(|| panic!("{:?}", found.obstacles));
    assert_eq!((check.verdict, check.proved), (Verdict::Equivalent, true), "{}", check.reason);
    assert!(check.reason.contains("inertia error at most 1."), "{}", check.reason);
    let proved = |c: &Assessment| matches!(c.shown, Shown::Proved | Shown::NotShown);
    assert!(check.criteria.iter().all(proved), "{:?}", check.criteria);
    let drive = found.drive.as_ref().unwrap();
    assert!((drive.joint_turns[1] - 0.6).abs() < 1e-9 && drive.ended_by_limits);
    let [low, high] = drive.ratio;
    assert!(low < 1.0 && high > 1.0 && high - low < 0.02, "{low} {high}");
    assert!(found.obstacles.is_empty(), "{:?}", found.obstacles);
    let says = &found.remarks[0];
    assert!(says.code == "spatial" && says.message.contains("ball_rod"), "{says:?}");
}

#[test]
fn a_motor_that_nothing_names_leaves_a_rod_in_space_unjudged() {
    let robot = read(&changed(&leg(), &[("joint=\"ankle_motor\"", "joint=\"knee\"")]));
    let found = only_loop(&robot);
    assert!(found.check().is_none());
    assert!(found.obstacles.iter().any(|one| one.code == "motor_unknown"), "{:?}", found.obstacles);
    assert!(!fold(&robot, &found, PLAIN).unwrap_err().is_empty());
}

/// Lines of the second text that the first has not, and of the first that the second has not.
fn apart<'a>(old: &'a str, new: &'a str) -> [Vec<&'a str>; 2] {
    let without = |of: &'a str, other: &str| {
        let known: Vec<&str> = other.lines().collect();
        of.lines().filter(|line| !known.contains(line)).map(str::trim).collect()
    };
    [without(old, new), without(new, old)]
}

#[test]
fn every_byte_but_those_of_rod_crank_and_driven_joint_stays() {
    let (old, new) = (leg(), folded(&leg(), PLAIN).unwrap().text);
    let [gone, made] = apart(&old, &new);
    let named = [
        "shank", "crank", "rod", "ankle", "inertial", "connect", "equality", "lever", "geom", "key",
    ];
    for line in gone.iter().chain(&made) {
        assert!(
            line.starts_with("</body>") || named.iter().any(|name| line.contains(name)),
            "{line}"
        );
    }
    // Shank, foot, the ankle, its actuator and the keyframe.
    assert_eq!(made.len(), 5, "{made:#?}");
    for kept in [
        "<!-- A leg whose push-rod",
        "<freejoint name=\"root\"/>",
        "<exclude body1=\"thigh\" body2=\"shank\"/>",
        "<jointpos name=\"knee_angle\" joint=\"knee\"/>",
        "<geom name=\"sole\" type=\"box\" size=\"0.1 0.04 0.01\" pos=\"0.03 0 -0.06\"/>",
        "qpos=\"0 0 0.9 1 0 0 0  0.8  -0.4\"",
    ] {
        assert!(new.contains(kept), "{kept}\n{new}");
    }
    assert!(!new.contains("rod_ball") && !new.contains("ankle_motor") && !new.contains("<connect"));
}

#[test]
fn the_driven_joint_takes_motor_losses_and_torque_by_the_constant_ratio() {
    let found = only_loop(&read(&leg()));
    let check = found.check().unwrap();
    let ratio = check.direct_joint.ratio;
    for units in [ActuatorUnits::Motor, ActuatorUnits::Joint] {
        let new = folded(&leg(), FoldOptions { actuator: units, ..PLAIN }).unwrap();
        let robot = read(&new.text);
        let ankle = &robot.joints[robot.joint_named("ankle").unwrap()];
        assert_eq!(ankle.limit, Some([-0.6, 0.6]));
        // The rod's ball loses nearly nothing: it turns about as fast as the joint does against the crank.
        let damping = ankle.damping.unwrap() - 0.01 - 0.02 * ratio * ratio;
        assert!((9e-4..1.2e-3).contains(&damping), "{damping}");
        assert!((ankle.friction.unwrap() - 0.05 - 0.3 * ratio).abs() < 1e-9);
        let drive = robot.actuators.iter().find(|one| one.name == "ankle_drive").unwrap();
        let share = if units == ActuatorUnits::Motor { ratio } else { 1.0 };
        assert!((drive.properties.gear - share).abs() < 1e-9);
        let least = 60.0 * check.ratio_magnitude[0] / share;
        assert!((drive.properties.force.unwrap()[1] - least).abs() < 1e-6 * least);
    }
}

/// The rod on two crossed hinges in place of its ball.
fn crossed() -> String {
    let ball = "<joint name=\"rod_ball\" type=\"ball\"/>";
    let hinges = "<joint name=\"rod_u1\" axis=\"0.2955 0.9553 0\"/><joint name=\"rod_u2\" axis=\"0.9553 -0.2955 0\"/>";
    changed(&leg(), &[(ball, hinges), ("-0.4  1 0 0 0  -0.4", "-0.4  0 0  -0.4")])
}

fn in_engine(text: &str, reach: f64, options: FoldOptions) -> (Value, Folded) {
    let new = folded(text, options).unwrap_or_else(|faults| panic!("{faults:?}"));
    let poses = [-1.0, -0.5, 0.0, 0.4, 1.0].map(|share| {
        let ankle = share * reach;
        json!({"knee": 0.3 + ankle, "ankle": ankle})
    });
    let is_crossed = text.contains("rod_u1");
    let rods = if is_crossed { vec!["rod_u1", "rod_u2"] } else { vec!["rod_ball"] };
    let input = json!({
        "closed": text, "folded": new.text, "sites": ["rod_end", "lever"],
        "motor": "ankle_motor", "rod": rods, "joint": "ankle", "poses": poses,
    });
    let output = venv::script("folded_mjcf.py", &input.to_string());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    (serde_json::from_slice(&output.stdout).unwrap(), new)
}

/// Masses, mass centre, weight, drive and energy of a leg folded in the motor's own units.
fn is_the_closed_one_in_its_engine(text: &str, reach: f64, [centre, gravity]: [f64; 2]) {
    let units = FoldOptions { actuator: ActuatorUnits::Motor, ..PLAIN };
    let (found, new) = in_engine(text, reach, units);
    let figure = |key: &str| found[key].as_f64().unwrap();
    assert_eq!(found["joints"][1], json!(["root", "knee", "ankle"]));
    assert_eq!((&found["constraints"], &found["keys"]), (&json!([1, 0]), &json!([1, 1])));
    let mass = |k: usize| found["mass"][k].as_f64().unwrap();
    assert!((mass(0) - mass(1)).abs() < 1e-9, "{found}");
    let (_, stated) = new.inertia_error.unwrap();
    let loops = only_loop(&read(text));
    let (check, drive) = (loops.check().unwrap(), loops.drive.as_ref().unwrap());
    let off = check.ratio_magnitude.map(|i| i - check.direct_joint.ratio.abs());
    let off = off.map(|off| (off / drive.motor_per_reading).abs());
    println!("{found} stated {stated} ratio off by {off:?}");
    assert!(figure("centre") < centre && figure("gravity") < gravity, "{found}");
    assert!(figure("drive") <= off[0].max(off[1]) + 1e-9, "{found} {off:?}");
    assert!(figure("energy") <= stated + 1e-6 && stated < 0.05, "{found} {stated}");
}

#[test]
fn a_folded_rod_in_space_is_the_closed_one_in_its_engine() {
    for text in [leg(), crossed()] {
        is_the_closed_one_in_its_engine(&text, 0.6, [1e-4, 2e-2]);
    }
}

#[test]
fn a_folded_nut_on_a_guide_is_the_closed_one_in_its_engine() {
    is_the_closed_one_in_its_engine(&model("slider_leg.xml"), 0.15, [1e-4, 2e-2]);
}

#[test]
fn a_nut_on_a_guide_gives_its_joint_torque_for_force_against_the_slides_sense() {
    let motor = FoldOptions { actuator: ActuatorUnits::Motor, ..PLAIN };
    let robot = read(&folded(&model("slider_leg.xml"), motor).unwrap().text);
    let drive = robot.actuators.iter().find(|one| one.name == "ankle_drive").unwrap();
    // 50 mm of lever; the nut goes down where the joint's reading falls.
    assert!((drive.properties.gear + 0.05).abs() < 1e-3, "{}", drive.properties.gear);
    let robot = read(&folded(&model("slider_leg.xml"), PLAIN).unwrap().text);
    let drive = robot.actuators.iter().find(|one| one.name == "ankle_drive").unwrap();
    let [_, torque] = drive.properties.force.unwrap();
    assert!(
        (drive.properties.gear + 1.0).abs() < 1e-12 && (44.0..45.0).contains(&torque),
        "{torque}"
    );
    let ankle = &robot.joints[robot.joint_named("ankle").unwrap()];
    let losses = [ankle.damping.unwrap(), ankle.friction.unwrap(), ankle.armature.unwrap()];
    // 8 N s/m and 5 N by the lever, 4 kg by its square, beside the joint's own and the ball's.
    for (found, wanted) in losses.into_iter().zip([0.01 + 0.02 + 0.001, 0.05 + 0.25, 0.01]) {
        assert!((found / wanted - 1.0).abs() < 0.05, "{losses:?}");
    }
}

/// With the ankle's axis leant over, which changes the ratio over the stroke.
fn leant() -> String {
    let text = leg();
    let (before, rest) = text.split_once("name=\"ankle\" axis=\"").unwrap();
    let (_, behind) = rest.split_once('"').unwrap();
    format!("{before}name=\"ankle\" axis=\"0.3 0.9 0.3\"{behind}")
}

#[test]
fn a_fold_of_a_rod_in_space_is_refused_by_name() {
    let friction = [("type=\"ball\"", "type=\"ball\" frictionloss=\"0.01\"")];
    let weightless =
        [("mass=\"0.06\" diaginertia=\"4.5e-4 4.5e-4 3e-6\"", "mass=\"0\" diaginertia=\"0 0 0\"")];
    let camera = [("<site name=\"rod_end\"", "<camera name=\"eye\"/><site name=\"rod_end\"")];
    let sensor = [(
        "<jointpos name=\"knee_angle\" joint=\"knee\"/>",
        "<jointpos name=\"knee_angle\" joint=\"knee\"/><jointpos joint=\"ankle_motor\"/>",
    )];
    let tendon = [(
        "<actuator>",
        "<tendon><fixed><joint joint=\"ankle_motor\" coef=\"1\"/><joint joint=\"ankle\" coef=\"1\"/></fixed></tendon><actuator>",
    )];
    let spring = [("range=\"-0.8 0.8\"", "range=\"-0.8 0.8\" stiffness=\"2\"")];
    for (changes, why) in [
        (&friction[..], "rod_ball"),
        (&weightless[..], "\"rod\" weighs nothing"),
        (&camera[..], "\"eye\""),
        (&sensor[..], "ankle_motor"),
        (&tendon[..], "tendon"),
        (&spring[..], "spring"),
    ] {
        let said = refused(&changed(&leg(), changes), PLAIN);
        assert!(said.contains(why), "{why}: {said}");
    }
    let coupled = FoldOptions { model: Form::Coupled, ..PLAIN };
    let seen = FoldOptions { keep_visuals: true, ..PLAIN };
    for options in [coupled, seen] {
        assert!(refused(&leg(), options).contains("kind ball_rod"));
    }
}

#[test]
fn a_rod_in_space_that_is_not_equivalent_is_folded_only_anyway_and_says_by_how_much() {
    let text = leant();
    let faults = folded(&text, PLAIN).unwrap_err();
    assert_eq!(faults[0].verdict, Some(Verdict::NotEquivalent), "{faults:?}");
    let new = folded(&text, FoldOptions { anyway: true, ..PLAIN }).unwrap();
    assert!(new.inertia_error.unwrap().1 > 0.0);
}

#[test]
fn what_find_wrote_and_fold_made_are_in_step() {
    let found = only_loop(&read(&leg()));
    let new = folded(&leg(), PLAIN).unwrap();
    let judged = found.judged_drive.as_ref().unwrap();
    let compared =
        compare(&judged.design, &judged.driven, &judged.check, &[read(&new.text)], None).unwrap();
    assert_eq!(compared.answer(), Answer::InStep, "{compared:?}");
}

#[test]
fn the_json_beside_a_folded_rod_in_space_has_the_files_own_figures() {
    let found = only_loop(&read(&leg()));
    let new = folded(&leg(), PLAIN).unwrap();
    let [one] = <[_; 1]>::try_from(joints_beside(&found, &new, PLAIN).unwrap()).unwrap();
    let robot = read(&new.text);
    let ankle = &robot.joints[robot.joint_named("ankle").unwrap()];
    assert_eq!((one.joint.as_str(), one.limit_rad), ("ankle", [-0.6, 0.6]));
    assert!((one.damping_n_m_s_per_rad.unwrap() - ankle.damping.unwrap()).abs() < 1e-9);
    assert!((one.armature_kg_m2.split.unwrap() - ankle.armature.unwrap()).abs() < 1e-9);
    assert_eq!(one.inertia_error, Some(new.inertia_error.unwrap().1));
}

#[test]
fn a_slide_without_a_screw_gets_no_json_with_the_ratio_of_a_lead_that_nobody_gave() {
    let robot = read(&model("slider_leg.xml"));
    let found = only_loop(&robot);
    let new = fold(&robot, &found, PLAIN).unwrap();
    assert!(joints_beside(&found, &new, PLAIN).is_none());
    let with_screw = model("slider_leg.xml").replace("gear=\"1\"", "gear=\"1256.6370614359173\"");
    let robot = read(&with_screw);
    let found = only_loop(&robot);
    let new = fold(&robot, &found, PLAIN).unwrap();
    let joints = joints_beside(&found, &new, PLAIN).unwrap();
    // 5 mm of lead and 50 mm of lever.
    assert!((joints[0].ratio.abs() / 62.8 - 1.0).abs() < 0.02, "{}", joints[0].ratio);
}

#[test]
fn a_rod_whose_end_is_two_crossed_hinges_has_the_points_and_the_verdict_of_balls() {
    let of = |text: &str| {
        let found = Box::new(only_loop(&read(text)));
        let verdict = found.check().map(|check| check.verdict);
        (found.drive.as_ref().unwrap().figures(), verdict, found.obstacles.len())
    };
    let crossed = of(&crossed());
    assert_eq!(crossed, of(&leg()));
    assert_eq!((crossed.1, crossed.2), (Some(Verdict::Equivalent), 0));
}

#[test]
fn crossed_hinges_in_line_with_their_rod_or_on_a_body_of_their_own_are_named() {
    let turned = crossed().replace("axis=\"0.9553 -0.2955 0\"", "axis=\"0 0 1\"");
    let own = crossed()
        .replace("<joint name=\"rod_u2\"", "<inertial pos=\"0 0 0\" mass=\"0.01\" diaginertia=\"1e-6 1e-6 1e-6\"/><body name=\"rod_2\"><joint name=\"rod_u2\"")
        .replace("<site name=\"rod_end\" pos=\"0.00265678236647 0.00280934847457 -0.3\"/>", "<site name=\"rod_end\" pos=\"0.00265678236647 0.00280934847457 -0.3\"/></body>");
    for (text, code) in [(turned, "over_constrained"), (own, "cross_body")] {
        let robot = read(&text);
        let found = only_loop(&robot);
        assert!(found.check().is_none());
        assert!(found.obstacles.iter().any(|one| one.code == code), "{:?}", found.obstacles);
        assert!(!fold(&robot, &found, PLAIN).unwrap_err().is_empty());
    }
}

#[test]
fn a_rod_on_a_tilted_hinge_or_a_motor_on_another_joint_than_the_drives_is_not_judged() {
    let hinged = changed(&leg(), &[("type=\"ball\"", "axis=\"0 1 0\"")]);
    // The nut is passive, and the motor turns the foot.
    let turned =
        model("slider_leg.xml").replace("joint=\"ankle_motor\" gear", "joint=\"ankle\" gear");
    for text in [hinged, turned] {
        let text = text.replace("-0.4  1 0 0 0  -0.4", "-0.4  0  -0.4");
        let robot = read(&text);
        let found = only_loop(&robot);
        assert!(found.check().is_none() && !found.obstacles.is_empty(), "{:?}", found.obstacles);
        assert!(!fold(&robot, &found, PLAIN).unwrap_err().is_empty());
    }
}
