//! SDFormat and URDF files with a loop: what stands in and beside it must not be lost, moved or taken for something else.

use std::fs;

use super::fold::changed;
use crate::command::{output, run};
use tempfile::TempDir;

/// A parallelogram; the second joint of the foot closes it. Invented figures.
const LEG: &str = r#"<sdf version="1.11">
  <model name="leg">
    <link name="shank">
      <inertial><pose>0 0 -0.14 0 0 0</pose><mass>2.6</mass><inertia><ixx>0.03</ixx><iyy>0.031</iyy><izz>0.004</izz></inertia></inertial>
    </link>
    <link name="crank">
      <inertial><pose>-0.02 0 0 0 0 0</pose><mass>0.02</mass><inertia><ixx>1e-6</ixx><iyy>4e-6</iyy><izz>4e-6</izz></inertia></inertial>
    </link>
    <link name="rod">
      <pose>-0.045 0 0 0 0 0</pose>
      <inertial><pose>0 0 -0.15 0 0 0</pose><mass>0.03</mass><inertia><ixx>3e-4</ixx><iyy>3e-4</iyy><izz>3e-6</izz></inertia></inertial>
    </link>
    <link name="foot">
      <pose>0 0 -0.3 0 0 0</pose>
      <inertial><pose>0.03 0 -0.04 0 0 0</pose><mass>0.95</mass><inertia><ixx>1.3e-3</ixx><iyy>3.4e-3</iyy><izz>3.2e-3</izz></inertia></inertial>
      <collision name="sole"><pose>0.03 0 -0.06 0 0 0</pose><geometry><box><size>0.2 0.08 0.02</size></box></geometry></collision>
    </link>
    <joint name="motor" type="revolute">
      <parent>shank</parent>
      <child>crank</child>
      <axis><xyz>0 1 0</xyz><limit><lower>-0.8</lower><upper>0.8</upper><effort>60</effort></limit></axis>
    </joint>
    <joint name="rod_upper" type="revolute">
      <parent>crank</parent>
      <child>rod</child>
      <axis><xyz>0 1 0</xyz></axis>
    </joint>
    <joint name="ankle" type="revolute">
      <parent>shank</parent>
      <child>foot</child>
      <axis><xyz>0 1 0</xyz><limit><lower>-0.7</lower><upper>0.6</upper></limit></axis>
    </joint>
    <joint name="rod_lower" type="revolute">
      <pose relative_to="foot">-0.045 0 0 0 0 0</pose>
      <parent>rod</parent>
      <child>foot</child>
      <axis><xyz>0 1 0</xyz></axis>
    </joint>
  </model>
</sdf>
"#;

const MOTOR: &str = "<child>crank</child>";

struct Bench(TempDir);

impl Bench {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).to_str().unwrap().to_owned()
    }

    fn write(&self, name: &str, text: &str, changes: &[(&str, &str)]) -> String {
        fs::write(self.path(name), changed(text, changes)).unwrap();
        self.path(name)
    }

    fn leg(&self, changes: &[(&str, &str)]) -> String {
        self.write("leg.sdf", LEG, changes)
    }

    /// Exit status, folded text and what is said.
    fn fold(&self, file: &str, more: &[&str]) -> (i32, String, String) {
        let out = self.path("out");
        let _ = fs::remove_file(&out);
        let assert = run(&[&["fold", file, "-o", &out, "--force"], more].concat());
        let said = String::from_utf8_lossy(&assert.get_output().stderr).into_owned();
        let code = assert.get_output().status.code().unwrap();
        (code, fs::read_to_string(&out).unwrap_or_default(), said)
    }

    fn fold_leg(&self, changes: &[(&str, &str)]) -> (i32, String, String) {
        self.fold(&self.leg(changes), &["--motor", "motor"])
    }
}

fn found(file: &str) -> String {
    output(&run(&["find", file, "--full", "--motor", "motor"]))
}

#[test]
fn a_kilogram_that_the_format_gives_a_link_is_not_folded_as_nothing() {
    let bench = Bench::new();
    let inertial = |mass: &str| {
        let at = LEG.find(mass).unwrap();
        let start = LEG[..at].rfind("<inertial>").unwrap();
        let end = at + LEG[at..].find("</inertial>").unwrap() + "</inertial>".len();
        &LEG[start..end]
    };
    for (mass, link) in [("<mass>2.6", "shank"), ("<mass>0.03", "rod"), ("<mass>0.95", "foot")] {
        let (code, text, said) = bench.fold_leg(&[(inertial(mass), "")]);
        assert_eq!((code, text.as_str()), (2, ""), "{said}");
        assert!(said.contains(&format!("the mass of \"{link}\"")), "{said}");
        let said = found(&bench.path("leg.sdf"));
        assert!(said.contains("a link has no <inertial>: the format makes it 1 kg"), "{said}");
    }
}

#[test]
fn what_stands_where_the_motor_was_is_not_moved_to_the_joint() {
    let bench = Bench::new();
    let lamp = "<link name=\"lamp\"><pose relative_to=\"motor\">0 0.1 0 0 0 0</pose></link>\n<joint name=\"l\" type=\"fixed\"><parent>shank</parent><child>lamp</child></joint></model>";
    let frame = "<frame name=\"imu\" attached_to=\"shank\"><pose relative_to=\"motor\">0 0.01 0 0 0 0</pose></frame></model>";
    for beside in [lamp, frame] {
        let (code, text, said) = bench.fold_leg(&[("</model>", beside)]);
        assert_eq!((code, text.as_str()), (2, ""), "{said}");
        assert!(said.contains("<pose> speaks of \"motor\""), "{said}");
    }
}

#[test]
fn a_sensor_or_a_controllers_limits_in_the_motors_joint_are_not_deleted_with_it() {
    let bench = Bench::new();
    let sensor = format!("{MOTOR}<sensor name=\"torque\" type=\"force_torque\"/>");
    let (code, text, said) = bench.fold_leg(&[(MOTOR, &sensor)]);
    assert_eq!((code, text.as_str()), (2, ""), "{said}");
    assert!(said.contains("<sensor> \"torque\" of joint \"motor\""), "{said}");
    let urdf = fs::read_to_string("models/robots/leg.urdf").unwrap();
    let joint = "<joint name=\"ankle_motor\" type=\"revolute\">";
    let soft = format!("{joint}<safety_controller soft_lower_limit=\"-0.1\" k_velocity=\"3\"/>");
    let file = bench.write("leg.urdf", &urdf, &[(joint, &soft)]);
    let loops = ["--loops", "models/robots/leg.loops.toml"];
    let (code, text, said) = bench.fold(&file, &loops);
    assert_eq!((code, text.as_str()), (2, ""), "{said}");
    assert!(said.contains("<safety_controller> of joint \"ankle_motor\""), "{said}");
    let (code, _, said) = bench.fold(&file, &[&loops[..], &["--anyway"]].concat());
    assert!(code == 0 && said.contains("of joint \"ankle_motor\" is lost"), "{said}");
}

#[test]
fn a_folded_joint_never_follows_itself() {
    let bench = Bench::new();
    let tie = |joint: &str| {
        format!("<xyz>0 1 0</xyz><mimic joint=\"{joint}\"><multiplier>1</multiplier></mimic>")
    };
    for (child, leader) in [(MOTOR, "ankle"), ("<child>foot</child>", "motor")] {
        let axis = format!("{child}\n      <axis><xyz>0 1 0</xyz>");
        let tied = axis.replace("<xyz>0 1 0</xyz>", &tie(leader));
        let (code, text, said) = bench.fold_leg(&[(&axis, &tied)]);
        assert_eq!(code, 0, "{said}");
        assert!(!text.contains("<mimic"), "{text}");
    }
    let urdf = fs::read_to_string("models/robots/leg.urdf").unwrap();
    let joint = "<joint name=\"ankle_motor\" type=\"revolute\">";
    let tied = format!("{joint}<mimic joint=\"ankle\"/>");
    let file = bench.write("leg.urdf", &urdf, &[(joint, &tied)]);
    let (code, text, said) = bench.fold(&file, &["--loops", "models/robots/leg.loops.toml"]);
    assert!(code == 0 && !text.contains("<mimic"), "{said}");
}

#[test]
fn a_loop_that_a_tie_holds_fast_is_equivalent_to_nothing() {
    let bench = Bench::new();
    let axis = format!("{MOTOR}\n      <axis><xyz>0 1 0</xyz>");
    let tied = format!("{axis}<mimic joint=\"ankle\"><multiplier>1.3</multiplier></mimic>");
    let said = found(&bench.leg(&[(&axis, &tied)]));
    assert!(said.contains("NOT JUDGED") && said.contains("[tied_otherwise]"), "{said}");
    let text = fs::read_to_string("models/robots/leg.xml").unwrap();
    for (coefficients, holds) in
        [("0 1.3 0 0 0", false), ("0 -1 0 0 0", false), ("0 1 0 0 0", true)]
    {
        let tie = format!(
            "<equality><joint joint1=\"ankle\" joint2=\"ankle_motor\" polycoef=\"{coefficients}\"/>"
        );
        let file = bench.write("leg.xml", &text, &[("<equality>", &tie)]);
        let said = output(&run(&["find", &file, "--full"]));
        assert_eq!(said.contains("ankle_loop: EQUIVALENT"), holds, "{said}");
    }
}

/// By hand, with d 0.9 and d_max 0.95: (0.5 / 0.02)² of the default; as a stiffness 1 / (0.02² · 100).
#[test]
fn a_loop_that_the_file_makes_soft_is_told_beside_its_rigid_verdict() {
    let bench = Bench::new();
    let text = fs::read_to_string("models/robots/leg.xml").unwrap();
    let stiff = "solref=\"0.004 1\" solimp=\"0.999 0.9999 0.001\"";
    for (constraint, times) in [
        (stiff, None),
        ("", None),
        ("solref=\"-1e6 -1e3\"", None),
        ("solref=\"0.5 1\"", Some("625 times")),
        ("solref=\"-100 -10\"", Some("25 times")),
        // (0.5 · 0.25 / 0.25) / (0.1 · 0.9025 / 0.81)
        ("solimp=\"0.5 0.5\"", Some("4.48753 times")),
    ] {
        let file = bench.write("leg.xml", &text, &[(stiff, constraint)]);
        let said = output(&run(&["find", &file, "--full"]));
        assert_eq!(said.contains("[soft_loop]"), times.is_some(), "{constraint}: {said}");
        let words: Vec<&str> = said.split_whitespace().collect();
        assert!(times.is_none_or(|times| words.join(" ").contains(times)), "{constraint}: {said}");
    }
}

/// The leg as a model of this name, with a joint that follows its motor.
fn model(name: &str) -> String {
    let start = LEG.find("<model").unwrap();
    let end = LEG.find("</sdf>").unwrap();
    let follower = "<link name=\"lead\"><inertial><mass>1</mass></inertial></link><joint name=\"follower\" type=\"revolute\"><parent>shank</parent><child>lead</child><axis><xyz>0 0 1</xyz><mimic joint=\"motor\"><multiplier>2</multiplier></mimic></axis></joint></model>";
    LEG[start..end].replacen("\"leg\"", &format!("\"{name}\""), 1).replace("</model>", follower)
}

#[test]
fn one_leg_of_two_is_folded_and_the_others_names_stay_its_own() {
    let bench = Bench::new();
    let (left, right) = (model("left"), model("right"));
    let text = format!("<sdf version=\"1.11\"><world name=\"w\">{left}{right}</world></sdf>");
    let file = bench.write("two.sdf", &text, &[]);
    let told = ["--motor", "left::motor", "--loop", "left::rod_lower"];
    let (code, text, said) = bench.fold(&file, &told);
    assert_eq!(code, 0, "{said}");
    let (left, kept) = text.split_at(text.find("<model name=\"right\"").unwrap());
    assert!(left.contains("<mimic joint=\"ankle\">") && !left.contains("crank"), "{left}");
    assert!(kept.starts_with(right.trim_end()), "{kept}");
}

#[test]
fn a_leg_in_a_robots_model_is_followed_from_inside_and_from_outside() {
    let bench = Bench::new();
    let left = model("left");
    let outside = "<joint name=\"hip\" type=\"fixed\"><parent>torso</parent><child>left::shank</child></joint><link name=\"arm\"><inertial><mass>1</mass></inertial></link><joint name=\"swing\" type=\"revolute\"><parent>torso</parent><child>arm</child><axis><xyz>0 0 1</xyz><mimic joint=\"left::motor\"><multiplier>3</multiplier></mimic></axis></joint>";
    let text = format!(
        "<sdf version=\"1.11\"><model name=\"robot\"><link name=\"torso\"><inertial><mass>3</mass></inertial></link>{left}{outside}</model></sdf>"
    );
    let file = bench.write("nested.sdf", &text, &[]);
    let (code, text, said) = bench.fold(&file, &["--motor", "left::motor"]);
    assert_eq!(code, 0, "{said}");
    assert!(text.contains("<mimic joint=\"left::ankle\"><multiplier>3<"), "{text}");
    assert!(text.contains("<mimic joint=\"ankle\"><multiplier>2<"), "{text}");
}

#[test]
fn a_loop_whose_model_or_rod_no_force_moves_is_not_judged() {
    let bench = Bench::new();
    let (model, rod) = ("<model name=\"leg\">", "<link name=\"rod\">");
    for (place, held) in [(model, "<static>true</static>"), (rod, "<kinematic>true</kinematic>")] {
        let file = bench.leg(&[(place, &format!("{place}{held}"))]);
        let said = found(&file);
        assert!(said.contains("[held_still]") && !said.contains("EQUIVALENT"), "{said}");
        assert_eq!(bench.fold(&file, &["--motor", "motor"]).0, 2);
    }
}

#[test]
fn a_link_without_gravity_or_with_a_brake_of_its_own_does_not_hand_it_on_unsaid() {
    let bench = Bench::new();
    let decay = "<velocity_decay><angular>0.5</angular></velocity_decay>";
    for (link, more, why) in [
        ("shank", "<gravity>false</gravity>", "would act on the mass of \"crank\" too"),
        ("rod", "<gravity>false</gravity>", "<gravity> hangs on \"rod\""),
        ("rod", decay, "<velocity_decay> hangs on \"rod\""),
    ] {
        let place = format!("<link name=\"{link}\">");
        let (code, _, said) = bench.fold_leg(&[(&place, &format!("{place}{more}"))]);
        assert!(code == 2 && said.contains(why), "{said}");
    }
}

#[test]
fn a_foot_of_an_included_model_is_named_where_its_loop_is_not_seen() {
    let bench = Bench::new();
    let model = "<model name=\"leg\">";
    let include = format!("{model}<include><uri>foot_model</uri><name>f</name></include>");
    let file = bench.leg(&[("<child>foot</child>", "<child>f::foot</child>"), (model, &include)]);
    let said = found(&file);
    assert!(said.contains("no closed loop in what was read of it"), "{said}");
    assert!(said.contains("the included model foot_model is not read"), "{said}");
}

#[test]
fn a_motor_that_is_named_behind_a_gearbox_is_the_motor_of_the_loop_and_the_gearbox_is_not_lost() {
    let bench = Bench::new();
    let link = "<link name=\"wheel\"><inertial><mass>0.1</mass></inertial></link>";
    let joint = "<joint name=\"geared\" type=\"revolute\"><parent>shank</parent><child>wheel</child><axis><xyz>0 1 0</xyz></axis></joint>";
    let gears = "<joint name=\"gears\" type=\"gearbox\"><parent>wheel</parent><child>crank</child><gearbox_ratio>5</gearbox_ratio><gearbox_reference_body>shank</gearbox_reference_body><axis><xyz>0 1 0</xyz></axis><axis2><xyz>0 1 0</xyz></axis2></joint>";
    let file = bench.leg(&[("</model>", &format!("{link}{joint}{gears}</model>"))]);
    let said = output(&run(&["find", &file, "--full", "--motor", "geared"]));
    assert!(said.contains("it is tied to the joint that is told, \"geared\""), "{said}");
    let (code, _, said) = bench.fold(&file, &["--motor", "geared"]);
    assert!(code == 2 && said.contains("<gearbox_ratio> of joint \"gears\" goes"), "{said}");
}
