//! What a fold must not lose: each test is a robot file that would have come out with less than it went in with.

use std::fs;

use tempfile::TempDir;

use super::fold::{changed, model};
use crate::command::{output, run};

const ROD_SITE: &str = "<site name=\"rod_end\" pos=\"0 0 -0.3\"/>";
const MOTOR: &str =
    "<joint name=\"ankle_motor\" axis=\"0 1 0\" range=\"-0.8 0.8\" armature=\"0.009\"";
const DRIVE: &str = "<motor name=\"ankle_drive\" joint=\"ankle_motor\" gear=\"1\" ctrlrange=\"-60 60\" forcerange=\"-60 60\"/>";
const ANGLE: &str = "    <jointpos name=\"ankle_angle\" joint=\"ankle_motor\"/>\n";

struct Bench(TempDir);

impl Bench {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).to_str().unwrap().to_owned()
    }

    fn write(&self, name: &str, text: &str) -> String {
        fs::write(self.path(name), text).unwrap();
        self.path(name)
    }

    /// The closed leg with each first text replaced by the second.
    fn leg(&self, changes: &[(&str, &str)]) -> String {
        self.write("leg.xml", &changed(&model("leg.xml"), changes))
    }

    /// What `fold` writes and says; `Err` with what it says where it refuses.
    fn fold(&self, file: &str, more: &[&str]) -> (i32, String, String) {
        let out = self.path("out.xml");
        let mut arguments = vec!["fold", file, "-o", &out, "--force"];
        arguments.extend(more);
        let _ = fs::remove_file(&out);
        let assert = run(&arguments);
        let said = String::from_utf8_lossy(&assert.get_output().stderr).into_owned();
        let code = assert.get_output().status.code().unwrap();
        (code, fs::read_to_string(&out).unwrap_or_default(), said)
    }
}

fn line_of(file: &str, part: &str) -> usize {
    let text = fs::read_to_string(file).unwrap();
    text.lines().position(|line| line.contains(part)).unwrap() + 1
}

#[test]
fn a_pad_on_the_rod_is_not_deleted_with_it() {
    let bench = Bench::new();
    let pad = "<body name=\"pad\" pos=\"0.1 0 -0.3\"><inertial pos=\"0 0 0\" mass=\"0.05\" diaginertia=\"1e-5 1e-5 1e-5\"/><geom name=\"padgeom\" type=\"box\" size=\"0.01 0.01 0.01\" contype=\"1\"/></body>";
    let file = bench.leg(&[(ROD_SITE, &format!("{ROD_SITE}{pad}"))]);
    let (code, text, said) = bench.fold(&file, &[]);
    assert_eq!((code, text.as_str()), (2, ""), "{said}");
    assert!(said.contains("pad"), "{said}");
}

#[test]
fn the_finger_of_a_parallel_gripper_is_never_taken_out() {
    let bench = Bench::new();
    let text = r#"<mujoco model="jaw">
  <compiler angle="radian"/>
  <worldbody>
    <body name="palm"><freejoint/>
      <geom type="box" size=".04 .03 .01"/>
      <body name="arm" pos="0 0.011 0">
        <joint name="drive" axis="0 0 1" range="-0.44 0.61"/>
        <geom type="capsule" fromto="0 0 0 .048 0 0" size=".003" mass=".02"/>
        <body name="finger" pos=".048 0 0">
          <joint name="finger_pin" axis="0 0 1"/>
          <geom type="box" size=".03 .004 .008" pos=".03 0.006 0" mass=".03"/>
          <geom type="capsule" fromto="0 0 0 0 -.022 0" size=".003" mass=".01"/>
          <site name="lug" pos="0 -.022 0"/>
        </body>
      </body>
      <body name="idle_arm" pos="0 -0.011 0">
        <joint name="idle" axis="0 0 1"/>
        <geom type="capsule" fromto="0 0 0 .048 0 0" size=".003" mass=".02"/>
        <site name="tip" pos=".048 0 0"/>
      </body>
    </body>
  </worldbody>
  <equality><connect site1="lug" site2="tip"/></equality>
  <actuator><motor name="m" joint="drive"/></actuator>
</mujoco>
"#;
    let file = bench.write("jaw.xml", text);
    // Crank and rocker are too heavy for the pair to be accepted; told to go on, the finger stays.
    let (code, text, said) = bench.fold(&file, &[]);
    assert_eq!((code, text.as_str()), (1, ""), "{said}");
    let (code, text, said) = bench.fold(&file, &["--model", "coupled"]);
    assert_eq!((code, text.as_str()), (2, ""), "{said}");
    assert!(said.contains("the coupler itself carries the pad"), "{said}");
    let (code, text, said) = bench.fold(&file, &["--anyway"]);
    assert_eq!(code, 0, "{said}");
    assert!(text.contains("size=\".03 .004 .008\"") && text.contains("\"drive\""), "{text}");
    assert!(!text.contains("idle") && !text.contains("<connect"), "{text}");
    // None of its loops may go.
    assert_eq!(bench.fold(&file, &["--all"]).0, 1);
}

#[test]
fn the_foot_stays_where_the_actuator_sits_on_its_own_joint() {
    let bench = Bench::new();
    let file = bench.leg(&[(DRIVE, &DRIVE.replace("ankle_motor", "ankle")), (ANGLE, "")]);
    let (code, text, said) = bench.fold(&file, &[]);
    assert_eq!(code, 0, "{said}");
    assert!(text.contains("name=\"foot\"") && text.contains("name=\"sole\""), "{text}");
    assert!(!text.contains("\"crank\"") && !text.contains("ankle_motor"), "{text}");
    assert!(text.contains(&DRIVE.replace("ankle_motor", "ankle")), "{text}");
}

#[test]
fn a_heavy_rod_is_refused_also_where_the_file_gives_no_rotor() {
    let bench = Bench::new();
    let no_rotor = (MOTOR, "<joint name=\"ankle_motor\" axis=\"0 1 0\" range=\"-0.8 0.8\"");
    let file = bench.leg(&[no_rotor, ("mass=\"0.09\"", "mass=\"0.6\"")]);
    let (code, text, said) = bench.fold(&file, &[]);
    assert_eq!((code, text.as_str()), (1, ""), "{said}");
    assert!(said.contains("16.03 %") && said.contains("5.00 %"), "{said}");
    // What it offers works.
    assert!(said.contains("--anyway") && said.contains("--model coupled"), "{said}");
    assert_eq!(bench.fold(&file, &["--anyway"]).0, 0);
    assert_eq!(bench.fold(&file, &["--model", "coupled"]).0, 0);
}

#[test]
fn a_servo_whose_joint_turns_the_other_way_keeps_its_sense_and_its_keyframe() {
    let bench = Bench::new();
    let servo = "<position name=\"ankle_drive\" joint=\"ankle_motor\" kp=\"80\" ctrlrange=\"-0.8 0.5\" forcerange=\"-30 60\"/>";
    let turned = MOTOR.replace("0 1 0", "0 -1 0");
    let file = bench.leg(&[
        (MOTOR, &turned),
        (DRIVE, servo),
        (ANGLE, ""),
        ("ctrl=\"0 0\"", "ctrl=\"0 0.2\""),
    ]);
    let (code, text, said) = bench.fold(&file, &[]);
    assert_eq!(code, 0, "{said}");
    let line = text.lines().find(|line| line.contains("ankle_drive")).unwrap();
    assert!(line.contains("gear=\"-1\"") && line.contains("ctrlrange=\"-0.8 0.5\""), "{line}");
    assert!(line.contains("forcerange=\"-30 60\""), "{line}");
    assert!(text.contains("ctrl=\"0 0.2\""), "{text}");
    assert!(said.contains("keeps its sense"), "{said}");
}

#[test]
fn a_motor_that_is_weaker_one_way_is_not_made_as_strong_both_ways() {
    let bench = Bench::new();
    let ends = |axis: &str| {
        let motor = MOTOR.replace("0 1 0", axis) + " actuatorfrcrange=\"-5 9\"";
        let (code, text, said) = bench.fold(&bench.leg(&[(MOTOR, &motor), (ANGLE, "")]), &[]);
        assert_eq!(code, 0, "{said}");
        let line = text.lines().find(|line| line.contains("joint name=\"ankle\"")).unwrap();
        line.split("actuatorfrcrange=").nth(1).unwrap().to_owned()
    };
    assert!(ends("0 1 0").starts_with("\"-5 9\""));
    assert!(ends("0 -1 0").starts_with("\"-9 5\""));
}

#[test]
fn what_bounded_the_driven_joint_does_not_bound_the_motor_that_comes_to_it() {
    let bench = Bench::new();
    let ankle = "frictionloss=\"0.05\" armature=\"0\"";
    let bounded = format!("{ankle} actuatorfrcrange=\"-3 3\"");
    let (code, text, said) = bench.fold(&bench.leg(&[(ankle, &bounded)]), &[]);
    assert_eq!(code, 0, "{said}");
    let line = text.lines().find(|line| line.contains("joint name=\"ankle\"")).unwrap();
    assert!(line.contains("actuatorfrclimited=\"false\""), "{line}");
}

#[test]
fn a_rod_that_weighs_what_is_not_read_is_not_folded_as_if_it_weighed_nothing() {
    let bench = Bench::new();
    let mesh = "<asset><mesh name=\"m\" vertex=\"0 0 0 1 0 0 0 1 0 0 0 1\"/></asset>\n  <default>";
    let bodies = [
        ("rod", "<inertial pos=\"0 0 -0.15\" mass=\"0.09\" diaginertia=\"7.5e-4 7.5e-4 3e-6\"/>"),
        ("crank", "<inertial pos=\"0.02 0.02 0\" mass=\"0.1\" diaginertia=\"1e-5 4e-5 4e-5\"/>"),
        (
            "shank",
            "<inertial pos=\"0.002 0 -0.14\" mass=\"2.6\" diaginertia=\"0.03 0.031 0.004\"/>",
        ),
    ];
    for (name, inertial) in bodies {
        let shape = "<geom type=\"mesh\" mesh=\"m\" mass=\"1\" contype=\"0\" conaffinity=\"0\"/>";
        let file = bench.leg(&[("<default>", mesh), (inertial, shape)]);
        let (code, text, said) = bench.fold(&file, &[]);
        assert_eq!((code, text.as_str()), (2, ""), "{said}");
        assert!(said.contains(&format!("the mass of \"{name}\" follows from shapes")), "{said}");
        let line = line_of(&file, &format!("<body name=\"{name}\""));
        assert!(said.contains(&format!("leg.xml:{line}:")), "{said}");
    }
}

#[test]
fn masses_that_the_engine_makes_over_the_file_s_own_refuse_a_fold_that_would_write_some() {
    let bench = Bench::new();
    let plain = "<compiler angle=\"radian\"/>";
    for says in ["inertiafromgeom=\"true\"", "settotalmass=\"9\""] {
        let file = bench.leg(&[(plain, &format!("<compiler angle=\"radian\" {says}/>"))]);
        let (code, text, said) = bench.fold(&file, &[]);
        assert_eq!((code, text.as_str()), (2, ""), "{said}");
        assert!(said.contains("the compiler makes the masses itself"), "{said}");
    }
}

#[test]
fn a_fold_weighs_what_the_engine_makes_of_light_bodies() {
    let bench = Bench::new();
    let bounds = "<compiler angle=\"radian\" boundmass=\"0.5\" boundinertia=\"0.001\"/>";
    let (code, text, said) =
        bench.fold(&bench.leg(&[("<compiler angle=\"radian\"/>", bounds)]), &[]);
    assert_eq!(code, 0, "{said}");
    // Shank and foot take crank and rod over with half a kilogram each.
    let masses = text.split(" mass=\"").skip(1).map(|rest| rest.split('"').next().unwrap());
    let sum: f64 = masses.map(|mass| mass.parse::<f64>().unwrap()).sum();
    assert!((sum - (4.0 + 2.6 + 0.95 + 0.5 + 0.5)).abs() < 1e-9, "{sum}");
}

#[test]
fn the_stops_of_a_rods_ball_are_named_when_they_go() {
    let bench = Bench::new();
    let text = fs::read_to_string("models/robots/ball_rod_leg.xml").unwrap();
    let ball = "<joint name=\"rod_ball\" type=\"ball\"";
    let file = bench.write("ball.xml", &text.replace(ball, &format!("{ball} range=\"0 0.1\"")));
    let (code, _, said) = bench.fold(&file, &[]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("the limits of the rod's own joint \"rod_ball\" go with it"), "{said}");
    let found = run(&["find", &file, "--full"]);
    let shown = String::from_utf8_lossy(&found.get_output().stdout).into_owned();
    assert!(shown.contains("a rod's own, are not looked at"), "{shown}");
}

#[test]
fn a_bound_of_a_slides_force_bounds_the_tendons_force_before_the_gear() {
    let bench = Bench::new();
    let text = fs::read_to_string("models/robots/linear_actuator_leg.xml").unwrap();
    let screw = "<joint name=\"ankle_screw\"";
    assert!(text.contains(screw));
    let bounded = text.replace(screw, &format!("{screw} actuatorfrcrange=\"-400 600\""));
    let (code, new, said) =
        bench.fold(&bench.write("slide.xml", &bounded), &["--model", "coupled"]);
    assert_eq!(code, 0, "{said}");
    let line = new.lines().find(|line| line.contains("<spatial name=\"ankle_actuator\"")).unwrap();
    let ends = line.split("actuatorfrcrange=\"").nth(1).unwrap().split('"').next().unwrap();
    let ends: Vec<f64> = ends.split(' ').map(|end| end.parse().unwrap()).collect();
    let gear = 1256.6370614359173;
    for (end, force) in ends.iter().zip([-400.0, 600.0]) {
        assert!((end * gear - force).abs() < 1e-6, "{line}");
    }
}

#[test]
fn a_spring_at_the_motor_is_a_spring_of_the_joint() {
    let bench = Bench::new();
    let sprung = MOTOR.replace("<joint ", "<joint stiffness=\"50\" springref=\"0.5\" ");
    let (code, text, said) = bench.fold(&bench.leg(&[(MOTOR, &sprung)]), &[]);
    assert_eq!(code, 0, "{said}");
    let line = text.lines().find(|line| line.contains("name=\"ankle\"")).unwrap();
    // A parallelogram has ratio 1: the same spring.
    assert!(line.contains("stiffness=\"50\"") && line.contains("springref=\"0.5\""), "{line}");
    assert!(said.contains("spring"), "{said}");
}

#[test]
fn a_spring_in_the_rod_is_carried_over_or_refused_and_never_dropped() {
    let bench = Bench::new();
    let sprung = "<joint name=\"rod_upper\" stiffness=\"50\" springref=\"0.5\" axis=\"0 1 0\"/>";
    let file = bench.leg(&[("<joint name=\"rod_upper\" axis=\"0 1 0\"/>", sprung)]);
    let (code, text, said) = bench.fold(&file, &[]);
    assert_eq!(code, 0, "{said}");
    // The rod never turns against the shank, so that it turns back on the crank: rest at -0.5.
    let line = text.lines().find(|line| line.contains("name=\"ankle\"")).unwrap();
    assert!(line.contains("stiffness=\"50\"") && line.contains("springref=\"-0.5\""), "{line}");
}

#[test]
fn cameras_lights_sites_and_gravity_compensation_on_the_rod_are_named_with_their_line() {
    let cases = [
        ("<camera name=\"cam\" pos=\"0.1 0 0\"/>", "camera"),
        ("<light pos=\"0 0 0.1\"/>", "light"),
        ("<site name=\"force_here\" pos=\"0 0 -0.1\"/>", "site"),
    ];
    for (part, word) in cases {
        let bench = Bench::new();
        let file = bench.leg(&[(ROD_SITE, &format!("{ROD_SITE}\n{part}"))]);
        let (code, text, said) = bench.fold(&file, &[]);
        assert_eq!((code, text.as_str()), (2, ""), "{said}");
        let line = line_of(&file, part);
        let is_told =
            [format!(":{line}:"), format!("line {line}")].iter().any(|at| said.contains(at));
        assert!(said.contains(word) && is_told, "{said}");
    }
    let bench = Bench::new();
    let file = bench.leg(&[("<body name=\"rod\"", "<body name=\"rod\" gravcomp=\"1\"")]);
    let (code, _, said) = bench.fold(&file, &[]);
    assert_eq!(code, 2);
    assert!(said.contains("gravcomp"), "{said}");
}

#[test]
fn a_driven_joint_without_a_name_is_told_by_its_line() {
    let bench = Bench::new();
    let file = bench.leg(&[("<joint name=\"ankle\" ", "<joint "), (ANGLE, "")]);
    let (code, text, said) = bench.fold(&file, &[]);
    assert_eq!((code, text.as_str()), (2, ""));
    assert!(said.contains("give the joint on line 34 a name"), "{said}");
}

#[test]
fn a_motor_behind_a_tendon_moves_with_its_tendon() {
    let bench = Bench::new();
    let file = bench.leg(&[
        (DRIVE, &DRIVE.replace("joint=\"ankle_motor\"", "tendon=\"t\"")),
        ("  <actuator>", "  <tendon><fixed name=\"t\"><joint joint=\"ankle_motor\" coef=\"1\"/></fixed></tendon>\n  <actuator>"),
    ]);
    let (code, text, said) = bench.fold(&file, &[]);
    assert_eq!(code, 0, "{said}");
    assert!(text.contains("<joint joint=\"ankle\" coef=\"1\"/>"), "{text}");
    assert!(text.contains("name=\"foot\""), "{text}");
}

#[test]
fn a_coupled_line_is_held_to_the_limit_of_the_verdict() {
    let bench = Bench::new();
    let loops = "[[loop]]\nname=\"ankle_loop\"\nlinks=[\"rod\",\"foot\"]\nat=[\"3 mm\",\"0 mm\",\"-300 mm\"]\n";
    let loops = bench.write("loops.toml", loops);
    let more = [
        "--loops",
        &loops,
        "--motor",
        "ankle_motor",
        "--preset",
        "invisible",
        "--model",
        "coupled",
    ];
    let (code, text, said) = bench.fold("models/robots/leg.urdf", &more);
    assert_eq!((code, text.as_str()), (1, ""), "{said}");
    assert!(said.contains("0.130 deg off") && said.contains("limit 0.050 deg"), "{said}");
}

#[test]
fn a_coupled_fold_of_a_leg_on_a_stand_is_written() {
    let bench = Bench::new();
    let file = bench.leg(&[
        ("      <freejoint name=\"root\"/>\n", ""),
        ("        <joint name=\"knee\" axis=\"0 1 0\" range=\"-0.2 2\"/>\n", ""),
        ("    <motor name=\"knee_drive\" joint=\"knee\" ctrlrange=\"-120 120\"/>\n", ""),
        ("    <jointpos name=\"knee_angle\" joint=\"knee\"/>\n", ""),
        (
            "qpos=\"0 0 0.9 1 0 0 0  0.8  -0.4 0.4  -0.4\" ctrl=\"0 0\"",
            "qpos=\"-0.4 0.4 -0.4\" ctrl=\"0\"",
        ),
    ]);
    for model in ["direct", "coupled"] {
        let (code, _, said) = bench.fold(&file, &["--model", model]);
        assert_eq!(code, 0, "{model}: {said}");
        assert!(said.contains("carrier fixed"), "{said}");
    }
}

#[test]
fn a_scene_that_speaks_of_the_rod_is_looked_up_when_it_is_given() {
    let bench = Bench::new();
    let scene = "<mujoco>\n  <include file=\"leg.xml\"/>\n  <contact>\n    <exclude body1=\"rod\" body2=\"thigh\"/>\n  </contact>\n</mujoco>\n";
    let scene = bench.write("scene.xml", scene);
    let file = bench.leg(&[]);
    let (code, text, said) = bench.fold(&file, &["--also", &scene]);
    assert_eq!((code, text.as_str()), (2, ""), "{said}");
    assert!(said.contains("scene.xml:4:") && said.contains("\"rod\""), "{said}");
}

#[test]
fn every_loop_that_may_go_goes_in_one_call_and_what_stays_is_named() {
    let bench = Bench::new();
    let file = bench.leg(&[]);
    let (code, text, said) = bench.fold(&file, &["--all"]);
    assert_eq!(code, 0, "{said}");
    assert!(!text.contains("\"rod\"") && said.contains("loop \"ankle_loop\" went"), "{said}");
    let heavy = bench.leg(&[(
        "mass=\"0.09\" diaginertia=\"7.5e-4 7.5e-4 3e-6\"",
        "mass=\"3\" diaginertia=\"7.5e-2 7.5e-2 3e-4\"",
    )]);
    let (code, text, said) = bench.fold(&heavy, &["--all"]);
    assert_eq!((code, text.as_str()), (1, ""), "{said}");
    assert!(said.contains("loop \"ankle_loop\" stays"), "{said}");
    run(&["fold", &file, "--all", "--loop", "ankle_loop", "-o", "-"]).code(2);
}

#[test]
fn the_json_beside_a_coupled_file_speaks_of_the_joints_that_the_file_has() {
    let bench = Bench::new();
    let (code, text, _) = bench.fold("models/robots/leg.xml", &["--model", "coupled"]);
    assert_eq!(code, 0);
    let json = fs::read_to_string(bench.path("out.joint.json")).unwrap();
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let coupling = &json[0]["coupling"];
    assert_eq!(coupling["crank_joint"], "ankle_motor");
    assert!(text.contains("joint1=\"ankle_motor\"") && text.contains("solref=\"0.004 1\""));
    assert_eq!((&coupling["step_s"], &coupling["time_constant_s"]), (&0.002.into(), &0.004.into()));
    assert_eq!(json[0]["patch"]["is_in_file"], true);
    assert_eq!(json[0]["limit_rad"], serde_json::json!([-0.7, 0.6]));
}

/// Both the file as it is found and what either fold makes of it.
fn in_step(changes: &[(&str, &str)]) {
    let bench = Bench::new();
    let file = bench.leg(changes);
    let designs = bench.path("designs");
    run(&["find", &file, "--design", &designs, "--force"]).success();
    let design = format!("{designs}/ankle_loop.toml");
    for model in [None, Some("direct"), Some("coupled")] {
        let robot = model.map_or(file.clone(), |model| {
            let (code, text, said) = bench.fold(&file, &["--model", model]);
            assert_eq!(code, 0, "{said}");
            bench.write(&format!("{model}.xml"), &text)
        });
        let assert = run(&["compare", &design, &robot]);
        let said = String::from_utf8_lossy(&assert.get_output().stdout).into_owned();
        assert_eq!(assert.get_output().status.code(), Some(0), "{model:?}: {said}");
    }
}

#[test]
fn find_fold_and_compare_are_in_step_on_the_leg_as_found_and_folded_either_way() {
    in_step(&[]);
}

#[test]
fn a_plate_welded_to_the_shank_is_one_carrier_for_find_fold_and_compare() {
    in_step(&[
        (
            "        <body name=\"crank\"",
            "        <body name=\"plate\"><inertial pos=\"0 0 -0.1\" mass=\"0.5\" diaginertia=\"1e-3 1e-3 1e-3\"/>\n        <body name=\"crank\"",
        ),
        (
            "pos=\"-0.045 0.02 0\"/>\n        </body>",
            "pos=\"-0.045 0.02 0\"/>\n        </body></body>",
        ),
    ]);
}

#[test]
fn an_uneven_force_range_is_read_one_way() {
    in_step(&[("forcerange=\"-60 60\"", "forcerange=\"-30 60\"")]);
}

#[test]
fn a_large_armature_is_one_rotor_for_find_fold_and_compare() {
    in_step(&[("armature=\"0.009\"", "armature=\"0.5\"")]);
}

#[test]
fn a_second_foot_that_follows_the_folded_one_is_not_its_crank() {
    let bench = Bench::new();
    let file = bench.leg(&[]);
    let designs = bench.path("designs");
    run(&["find", &file, "--design", &designs]).success();
    let (_, text, _) = bench.fold(&file, &[]);
    let foot = "<body name=\"foot2\" pos=\"0 0.3 -0.32\"><joint name=\"ankle2\" axis=\"0 1 0\" range=\"-0.7 0.6\"/><inertial pos=\"0.03 0 -0.04\" mass=\"0.95\" diaginertia=\"1.3e-3 3.4e-3 3.2e-3\"/></body>\n        <body name=\"foot\"";
    let text = text.replacen("<body name=\"foot\"", foot, 1);
    let text =
        text.replace("<equality>", "<equality>\n    <joint joint1=\"ankle2\" joint2=\"ankle\"/>");
    let robot = bench.write("two.xml", &text);
    let assert = run(&["compare", &format!("{designs}/ankle_loop.toml"), &robot]);
    let said = String::from_utf8_lossy(&assert.get_output().stdout).into_owned();
    assert!(said.contains("direct joint") && !said.contains("coupled crank"), "{said}");
    assert_eq!(assert.get_output().status.code(), Some(0), "{said}");
}

#[test]
fn a_rod_that_hangs_on_what_is_carried_keeps_its_joint_where_it_stays_to_be_seen() {
    let bench = Bench::new();
    let sole = "<geom name=\"sole\" type=\"box\" size=\"0.1 0.04 0.01\" pos=\"0.03 0 -0.06\"/>";
    let bar = "<geom type=\"capsule\" size=\"0.006\" fromto=\"0 0.02 0 -0.045 0.02 0\"/>";
    let file = bench.leg(&[(sole, ""), (bar, &format!("{bar}{sole}"))]);
    let (code, text, said) = bench.fold(&file, &["--anyway", "--keep-visuals"]);
    assert_eq!(code, 0, "{said}");
    assert!(text.contains("joint1=\"rod_upper\""), "{text}");
    assert!(text.contains("<joint name=\"rod_upper\""), "{text}");
}

#[test]
fn a_plain_file_whose_motor_the_design_alone_knows_is_in_step() {
    let bench = Bench::new();
    let text = fs::read_to_string("models/robots/leg.urdf").unwrap();
    let (start, end) = (text.find("<transmission").unwrap(), text.rfind("</robot>").unwrap());
    let plain = bench.write("plain.urdf", &format!("{}{}", &text[..start], &text[end..]));
    let loops = "models/robots/leg.loops.toml";
    let designs = bench.path("designs");
    let known = ["--loops", loops, "--motor", "ankle_motor", "--design", &designs];
    run(&[&["find", &plain], &known[..]].concat()).success();
    let design = format!("{designs}/ankle_loop.toml");
    let assert = run(&["compare", &design, &plain, "--loops", loops]);
    let said = String::from_utf8_lossy(&assert.get_output().stdout).into_owned();
    assert_eq!(assert.get_output().status.code(), Some(0), "{said}");
    assert!(!said.contains("which joint is the motor's"), "{said}");
}

#[test]
fn a_urdf_leg_that_knows_no_rotor_is_in_step_as_found_and_folded_either_way() {
    let bench = Bench::new();
    let (file, loops) = ("models/robots/leg.urdf", "models/robots/leg.loops.toml");
    let designs = bench.path("designs");
    run(&["find", file, "--loops", loops, "--design", &designs]).success();
    let design = format!("{designs}/ankle_loop.toml");
    run(&["compare", &design, file, "--loops", loops]).success();
    for model in ["direct", "coupled"] {
        let robot = bench.path(&format!("{model}.urdf"));
        run(&["fold", file, "--loops", loops, "--model", model, "-o", &robot]).success();
        let assert = run(&["compare", &design, &robot]);
        let said = String::from_utf8_lossy(&assert.get_output().stdout).into_owned();
        assert_eq!(assert.get_output().status.code(), Some(0), "{model}: {said}");
        // What is commanded is the joint, whether or not the crank follows it.
        assert!(!fs::read_to_string(&robot).unwrap().contains("effort=\"0\""), "{model}");
    }
}

#[test]
fn an_sdformat_loop_whose_motor_is_told_is_in_step_as_found_and_folded() {
    let bench = Bench::new();
    let robot = bench.path("walker.sdf");
    let emitted = ["--to", "sdformat", "--whole", "--model", "loop", "-o", &robot];
    run(&[&["emit", "models/ankle.toml"], &emitted[..]].concat()).success();
    let designs = bench.path("designs");
    let motors = ["--motor", "left_ankle_pitch_crank", "--motor", "right_ankle_pitch_crank"];
    run(&[&["find", &robot, "--design", &designs], &motors[..]].concat()).success();
    let design = format!("{designs}/left_ankle_pitch_coupler_end.toml");
    run(&["compare", &design, &robot]).success();
    let folded = bench.path("folded.sdf");
    let left = ["--loop", "left_ankle_pitch", "-o", &folded];
    run(&[&["fold", &robot], &left[..], &motors[..]].concat()).success();
    run(&["compare", &design, &folded]).success();
    // Both shanks are fixed to the world: each leg's crank and rod stay its own shank's.
    let all = ["--all", "-o", &folded, "--force"];
    run(&[&["fold", &robot], &all[..], &motors[..]].concat()).success();
    assert_eq!(fs::read_to_string(&folded).unwrap().matches("<mass>2.27</mass>").count(), 2);
    for side in ["left", "right"] {
        let design = format!("{designs}/{side}_ankle_pitch_coupler_end.toml");
        run(&["compare", &design, &folded]).success();
    }
}

const COMPILER: &str = "<compiler angle=\"radian\"/>";

#[test]
fn a_motor_in_a_group_that_is_switched_off_is_taken_for_one_only_where_it_is_named() {
    let bench = Bench::new();
    let off = format!("{COMPILER}<option actuatorgroupdisable=\"1\"/>");
    let in_group = DRIVE.replace("<motor", "<motor group=\"1\"");
    let file = bench.leg(&[(COMPILER, &off), (DRIVE, &in_group), (ANGLE, "")]);
    let (code, _, said) = bench.fold(&file, &[]);
    assert!(code == 2 && said.contains("motor_unknown"), "{said}");
    let (code, text, said) = bench.fold(&file, &["--motor", "ankle_motor"]);
    assert!(code == 0 && said.contains("actuators of group 1 are switched off here"), "{said}");
    assert!(text.contains(&in_group.replace("ankle_motor", "ankle")), "{text}");
}

#[test]
fn the_torque_of_a_motor_beside_one_that_is_switched_off_is_its_own() {
    let bench = Bench::new();
    let off = format!("{COMPILER}<option actuatorgroupdisable=\"1\"/>");
    let idle = DRIVE
        .replace("<motor", "<motor group=\"1\"")
        .replace("ankle_drive", "idle")
        .replace("60", "5");
    let file = bench.leg(&[(COMPILER, &off), (DRIVE, &format!("{idle}{DRIVE}")), (ANGLE, "")]);
    let folder = bench.path("designs");
    run(&["find", &file, "--design", &folder]).success();
    let design = fs::read_to_string(format!("{folder}/ankle_loop.toml")).unwrap();
    assert!(design.contains("peak_torque = \"60 N m\""), "{design}");
}

#[test]
fn a_margin_that_shortens_the_stroke_is_not_taken_from_the_new_limits_again() {
    let bench = Bench::new();
    let motor = MOTOR.replace("range=\"-0.8 0.8\"", "range=\"-0.5 0.4\" margin=\"0.1\"");
    let ankle = "<joint name=\"ankle\" axis=\"0 1 0\"";
    let (code, text, said) = bench.fold(
        &bench.leg(&[(MOTOR, &motor), (ankle, &format!("{ankle} margin=\"0.05\"")), (ANGLE, "")]),
        &[],
    );
    assert_eq!(code, 0, "{said}");
    assert!(
        text.contains("<joint name=\"ankle\" axis=\"0 1 0\" margin=\"0\" range=\"-0.4 0.3"),
        "{text}"
    );
}

#[test]
fn limits_that_are_switched_off_end_no_stroke_and_that_is_told() {
    let bench = Bench::new();
    let off = format!("{COMPILER}<option><flag limit=\"disable\"/></option>");
    let file = bench.leg(&[(COMPILER, &off), (ANGLE, "")]);
    let found = output(&run(&["find", &file, "--full"]));
    assert!(found.contains("every limit of a joint or tendon is switched off here"), "{found}");
    assert!(!found.contains("the joints' limits"), "{found}");
}

#[test]
fn weight_that_a_link_does_not_feel_is_not_taken_from_crank_and_rod_too() {
    let bench = Bench::new();
    let carried = |bodies: &[&str]| {
        let texts = bodies.iter().map(|name| {
            let body = format!("<body name=\"{name}\"");
            (body.clone(), format!("{body} gravcomp=\"1\""))
        });
        let texts: Vec<(String, String)> = texts.collect();
        let mut changes: Vec<(&str, &str)> = vec![(ANGLE, "")];
        changes.extend(texts.iter().map(|(old, new)| (old.as_str(), new.as_str())));
        bench.fold(&bench.leg(&changes), &[])
    };
    for one in ["shank", "foot"] {
        let (code, _, said) = carried(&[one]);
        let why = format!("gravcomp=\"1\" of \"{one}\" would act on the mass of \"crank\" too");
        assert!(code == 2 && said.contains(&why), "{said}");
    }
    let (code, _, said) = carried(&["rod"]);
    assert!(code == 2 && said.contains("gravity compensation"), "{said}");
    let (code, _, said) = carried(&["shank", "foot", "crank", "rod"]);
    assert_eq!(code, 0, "{said}");
}

#[test]
fn limits_that_give_way_at_the_end_of_a_stroke_are_told() {
    let bench = Bench::new();
    let file = bench.leg(&[(MOTOR, &format!("{MOTOR} solreflimit=\"0.5 1\""))]);
    let found = output(&run(&["find", &file, "--full"]));
    assert!(found.contains("the limits of joint \"ankle_motor\""), "{found}");
}
