//! What a file adds to a joint that has the design's own figures, so that it moves otherwise: each test would have been in step.

use std::fs;

use crate::command::{output, run};
use crate::fold;
use tempfile::TempDir;

const ANKLE: &str = "models/ankle.toml";
const HINGE: &str = "name=\"left_ankle_pitch\" type=\"hinge\"";
const END: &str = "</actuator>";

struct Bench(TempDir);

impl Bench {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    /// The ankle as `emit` writes it, plain, and with each first text replaced by the second.
    fn both(&self, format: &str, ending: &str, changes: &[(&str, &str)]) -> [String; 2] {
        let [plain, changed] = ["plain", "changed"].map(|name| {
            self.0.path().join(format!("{name}.{ending}")).to_str().unwrap().to_owned()
        });
        run(&["emit", ANKLE, "--to", format, "--whole", "-o", &plain, "--force"]).success();
        let text = fold::changed(&fs::read_to_string(&plain).unwrap(), changes);
        fs::write(&changed, text).unwrap();
        [plain, changed]
    }

    /// What comparing with the design says of the changed file.
    fn says(&self, format: (&str, &str), changes: &[(&str, &str)]) -> (i32, String) {
        let [_, changed] = self.both(format.0, format.1, changes);
        said(&["compare", ANKLE, &changed])
    }

    /// What comparing says of the ankle in another form, as `change` makes it.
    fn says_of_kept(
        &self,
        (format, ending): (&str, &str),
        form: &str,
        change: impl Fn(&str) -> String,
    ) -> (i32, String) {
        let file = self.0.path().join(format!("kept.{ending}")).to_str().unwrap().to_owned();
        let asked =
            ["emit", ANKLE, "--to", format, "--model", form, "--whole", "-o", &file, "--force"];
        run(&asked).success();
        fs::write(&file, change(&fs::read_to_string(&file).unwrap())).unwrap();
        said(&["compare", ANKLE, &file])
    }
}

fn said(arguments: &[&str]) -> (i32, String) {
    let assert = run(arguments);
    (assert.get_output().status.code().unwrap(), output(&assert))
}

const MJCF: (&str, &str) = ("mjcf", "xml");
const URDF: (&str, &str) = ("urdf", "urdf");

#[test]
fn a_joint_that_follows_another_is_not_in_step_with_a_motor() {
    let bench = Bench::new();
    let joint = "<joint name=\"left_ankle_pitch\" type=\"revolute\">";
    let mimic = format!("{joint}<mimic joint=\"right_ankle_pitch\" multiplier=\"-1\"/>");
    let (code, said) = bench.says(URDF, &[(joint, &mimic)]);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("follows right_ankle_pitch times -1"), "{said}");
    let tied = "</actuator><equality><joint joint1=\"left_ankle_pitch\" polycoef=\"0.1 0 0 0 0\"/></equality>";
    let (code, said) = bench.says(MJCF, &[(END, tied)]);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("held where it is"), "{said}");
}

#[test]
fn a_foot_with_a_second_hinge_is_not_in_step_with_one_hinge() {
    let joint = format!("<joint {HINGE}");
    let two = format!("<joint name=\"roll\" type=\"hinge\" axis=\"1 0 0\"/>{joint}");
    let (code, said) = Bench::new().says(MJCF, &[(&joint, &two)]);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("joint \"roll\""), "{said}");
}

#[test]
fn a_second_actuator_or_a_tendon_on_the_joint_is_never_in_step() {
    let bench = Bench::new();
    let motor = "<motor name=\"more\" joint=\"left_ankle_pitch\" gear=\"3\"/></actuator>";
    let tendon = "</actuator><tendon><fixed name=\"t\" stiffness=\"40\"><joint joint=\"left_ankle_pitch\" coef=\"1\"/></fixed></tendon>";
    for (more, named) in [(motor, "actuator \"more\""), (tendon, "the stiffness of a tendon")] {
        let (code, said) = bench.says(MJCF, &[(END, more)]);
        assert_eq!(code, 3, "{said}");
        assert!(said.contains(named), "{said}");
    }
}

#[test]
fn a_motor_whose_signal_ends_below_its_torque_is_weaker_than_the_designs() {
    let bench = Bench::new();
    let servo = "<position name=\"left_ankle_pitch\" joint=\"left_ankle_pitch\" gear=\"1\" kp=\"80\" kv=\"2\" ctrllimited=\"true\" ctrlrange=\"-0.6108652381980153 0.6981317007977318\"";
    let motor = |range: &str| {
        format!(
            "<motor name=\"left_ankle_pitch\" joint=\"left_ankle_pitch\" gear=\"1\" ctrllimited=\"true\" ctrlrange=\"{range}\""
        )
    };
    let (code, said) = bench.says(MJCF, &[(servo, &motor("-30 30"))]);
    assert!(code == 1 && said.contains("MJCF says effort 30 N m"), "{said}");
    // A torque that the signal alone bounds is a bound.
    let force = " forcelimited=\"true\" forcerange=\"-60 60\"";
    for (range, code) in [("-60 60", 0), ("-30 60", 1)] {
        let (found, said) = bench.says(MJCF, &[(servo, &motor(range)), (force, "")]);
        assert!(found == code && !said.contains("no effort"), "{range}: {said}");
    }
}

#[test]
fn a_controller_that_cannot_be_told_to_use_the_stroke_is_told_though_no_design_says_how_far_it_may()
{
    let narrow = ("ctrlrange=\"-0.6108652381980153", "ctrlrange=\"-0.3");
    let (code, said) = Bench::new().says(MJCF, &[narrow]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("lowest target: design -; file -17.1887 deg"), "{said}");
}

#[test]
fn two_files_of_one_design_that_differ_in_what_it_leaves_open_are_not_in_step() {
    let bench = Bench::new();
    let slide = "name=\"left_ankle_pitch\" type=\"slide\"";
    let spring = format!("{HINGE} stiffness=\"50\" springref=\"0.2\"");
    for (old, new, quantities) in [
        (HINGE, slide, &["kind"][..]),
        (HINGE, &spring, &["spring", "reading at which the spring rests"]),
        ("forcerange=\"-60 60\"", "forcerange=\"-60 66\"", &["effort the stronger way"]),
        ("kp=\"80\"", "kp=\"81\"", &["position gain"]),
    ] {
        let [plain, changed] = bench.both(MJCF.0, MJCF.1, &[(old, new)]);
        let (code, found) = said(&["compare", ANKLE, &plain, &changed, "--json"]);
        assert_eq!(code, 1, "{new}");
        let found: serde_json::Value = serde_json::from_str(&found).unwrap();
        let rows = found["pairs"][0]["joints"][0]["rows"].as_array().unwrap();
        let differ = rows.iter().filter(|row| row["outcome"] == "differs");
        let differ: Vec<&str> = differ.map(|row| row["quantity"].as_str().unwrap()).collect();
        assert_eq!(differ, quantities, "{new}");
    }
}

const COMPILER: &str = "<compiler angle=\"radian\"/>";
const SDF: (&str, &str) = ("sdformat", "sdf");

/// What comparing says of the ankle in MJCF with this `option`.
fn with_option(option: &str) -> (i32, String) {
    let changed = format!("{COMPILER}<option {option}</option>");
    Bench::new().says(MJCF, &[(COMPILER, &changed)])
}

#[test]
fn a_joint_whose_limits_losses_or_motor_a_flag_switches_off_is_not_in_step() {
    for (flag, quantity) in [
        ("limit", "MJCF says no lower limit"),
        ("constraint", "MJCF says no friction"),
        ("frictionloss", "MJCF says no friction"),
        ("damper", "MJCF says no damping"),
        ("passive", "MJCF says no damping"),
        ("actuation", "is switched off: nothing drives the joint"),
    ] {
        let (code, said) = with_option(&format!("><flag {flag}=\"disable\"/>"));
        assert!(code == 1 && said.contains(quantity), "{flag}: {said}");
        // The last word counts.
        let back = format!("><flag {flag}=\"disable\"/><flag {flag}=\"enable\"/>");
        let (code, said) = with_option(&back);
        assert_eq!(code, 0, "{flag}: {said}");
    }
}

#[test]
fn gravity_is_no_property_of_the_joint_and_that_there_is_none_is_told() {
    for option in ["gravity=\"0 0 0\">", "><flag gravity=\"disable\"/>"] {
        let (code, said) = with_option(option);
        assert!(code == 0 && said.contains("no link weighs anything"), "{option}: {said}");
    }
    let (code, said) = with_option("density=\"1000\">");
    assert!(code == 0 && said.contains("a medium"), "{said}");
}

#[test]
fn an_actuator_of_a_group_that_is_switched_off_drives_nothing_and_hides_none_that_acts() {
    let off = format!("{COMPILER}<option actuatorgroupdisable=\"2\"/>");
    let own = "<position name=\"left_ankle_pitch\"";
    let in_group = format!("{own} group=\"2\"");
    let (code, said) = Bench::new().says(MJCF, &[(COMPILER, &off), (own, &in_group)]);
    assert!(code == 1 && said.contains("actuator \"left_ankle_pitch\": is switched off"), "{said}");
    let beside = format!("<motor name=\"idle\" joint=\"left_ankle_pitch\" group=\"2\"/>{own}");
    let (code, said) = Bench::new().says(MJCF, &[(COMPILER, &off), (own, &beside)]);
    assert_eq!(code, 0, "{said}");
}

#[test]
fn a_target_that_lags_a_signal_that_waits_and_an_actuator_of_another_law_are_never_in_step() {
    let own = "<position name=\"left_ankle_pitch\" joint=\"left_ankle_pitch\" gear=\"1\" kp=\"80\" kv=\"2\"";
    let law = |written: &str| {
        format!("{written} name=\"left_ankle_pitch\" joint=\"left_ankle_pitch\" gear=\"1\"")
    };
    for (new, named) in [
        (format!("{own} timeconst=\"0.05\""), "a lag behind its target"),
        (format!("{own} delay=\"0.01\" nsample=\"4\""), "a delay of its signal"),
        (law("<velocity kv=\"2\""), "a law of its own"),
        (
            law(
                "<general dyntype=\"filter\" gainprm=\"80\" biastype=\"affine\" biasprm=\"0 -80 -2\"",
            ),
            "a law of its own",
        ),
    ] {
        let (code, said) = Bench::new().says(MJCF, &[(own, &new)]);
        assert!(code == 3 && said.contains(named), "{new}: {said}");
    }
}

#[test]
fn a_foot_whose_weight_is_carried_for_it_is_never_in_step() {
    let body = "<body name=\"left_foot\"";
    let carried = format!("{body} gravcomp=\"1\"");
    let (code, said) = Bench::new().says(MJCF, &[(body, &carried)]);
    assert!(code == 3 && said.contains("gravcomp=\"1\" of left_foot"), "{said}");
    let link = "<link name=\"left_foot\">";
    for weightless in
        ["<gravity>false</gravity>", "<velocity_decay><angular>0.9</angular></velocity_decay>"]
    {
        let (code, said) = Bench::new().says(SDF, &[(link, &format!("{link}{weightless}"))]);
        assert!(code == 3 && said.contains("of left_foot"), "{said}");
    }
    let block =
        "<gazebo reference=\"left_foot\"><turnGravityOff>true</turnGravityOff></gazebo></robot>";
    let (code, said) = Bench::new().says(URDF, &[("</robot>", block)]);
    assert!(code == 3 && said.contains("<turnGravityOff>true of left_foot"), "{said}");
}

#[test]
fn a_foot_that_no_force_moves_is_not_in_step() {
    let (model, link) = ("<model name=\"ankle_pitch\">", "<link name=\"left_foot\">");
    let fixed = "<gazebo><static>true</static></gazebo></robot>".to_owned();
    for (format, old, new) in [
        (SDF, model, format!("{model}<static>true</static>")),
        (SDF, link, format!("{link}<kinematic>1</kinematic>")),
        (URDF, "</robot>", fixed),
    ] {
        let (code, said) = Bench::new().says(format, &[(old, &new)]);
        assert!(code == 1 && said.contains("no torque of this joint turns it"), "{new}: {said}");
    }
}

#[test]
fn a_joint_that_stops_a_margin_before_its_range_ends_is_not_in_step() {
    // rad also where the file's angles are degrees.
    let margin = format!("{HINGE} margin=\"0.1\"");
    let (code, said) = Bench::new().says(MJCF, &[(HINGE, &margin)]);
    assert!(code == 1 && said.contains("MJCF says lower limit -29.2704 deg"), "{said}");
    let degrees = [
        (COMPILER, "<compiler angle=\"degree\"/>"),
        ("range=\"-0.6108652381980153 0.6981317007977318\"", "margin=\"0.1\" range=\"-35 40\""),
    ];
    let (code, said) = Bench::new().says(MJCF, &degrees);
    assert!(code == 1 && said.contains("MJCF says lower limit -29.2704 deg"), "{said}");
}

#[test]
fn limits_that_give_way_are_told_and_the_engines_own_are_not() {
    for (soft, is_told) in [("0.5 1", true), ("0.02 1", false)] {
        let own = format!("{HINGE} solreflimit=\"{soft}\"");
        let (code, said) = Bench::new().says(MJCF, &[(HINGE, &own)]);
        assert_eq!((code, said.contains("625.0 times as far")), (0, is_told), "{said}");
    }
    let bound = "<velocity>20</velocity>";
    let (code, said) =
        Bench::new().says(SDF, &[(bound, &format!("{bound}<stiffness>100</stiffness>"))]);
    assert!(code == 0 && said.contains("limits give way further"), "{said}");
}

#[test]
fn a_spring_and_a_motor_of_the_engines_own_are_never_in_step() {
    let (damping, child) = ("<damping>0.02</damping>", "<child>left_foot</child>");
    let spring = format!("{damping}<spring_stiffness>5</spring_stiffness>");
    let motor = format!("{child}<physics><ode><max_force>10</max_force></ode></physics>");
    let curved = format!("{HINGE} stiffness=\"0 5\"");
    let tuned = format!("{HINGE} springdamper=\"0.1 1\"");
    for (format, old, new, code) in [
        (SDF, damping, spring, 3),
        (SDF, child, motor, 3),
        (MJCF, HINGE, format!("{HINGE} stiffness=\"5\""), 3),
        (MJCF, HINGE, curved, 3),
        (MJCF, HINGE, tuned, 1),
    ] {
        let (found, said) = Bench::new().says(format, &[(old, &new)]);
        assert_eq!(found, code, "{new}: {said}");
    }
}

#[test]
fn soft_limits_that_end_the_stroke_before_are_never_in_step() {
    let joint = "<joint name=\"left_ankle_pitch\" type=\"revolute\">";
    let keeps = |ends: &str| {
        let soft = format!("{joint}<safety_controller {ends} k_position=\"9\" k_velocity=\"9\"/>");
        Bench::new().says(URDF, &[(joint, &soft)])
    };
    for (ends, code) in [
        ("soft_lower_limit=\"-0.3\" soft_upper_limit=\"0.3\"", 3),
        // An end that is not written is 0 beside one that is.
        ("soft_lower_limit=\"-1\"", 3),
        ("soft_lower_limit=\"-1\" soft_upper_limit=\"1\"", 0),
        ("", 0),
    ] {
        let (found, said) = keeps(ends);
        assert_eq!(found, code, "{ends}: {said}");
    }
}

#[test]
fn a_crank_that_nothing_drives_is_not_in_step_in_the_coupled_form() {
    let bench = Bench::new();
    let off = format!("{COMPILER}<option><flag actuation=\"disable\"/></option>");
    let changes = [(COMPILER, off.as_str())];
    let (code, found) = bench.says_of_kept(MJCF, "coupled", |text| fold::changed(text, &changes));
    assert!(code == 1 && found.contains("is switched off"), "{found}");
}

#[test]
fn a_part_of_the_file_that_is_not_read_is_told() {
    let model = "<model name=\"ankle_pitch\">";
    let more = format!("<include><uri>hand</uri></include>{model}");
    let (code, said) = Bench::new().says(SDF, &[(model, &more)]);
    assert!(code == 0 && said.contains("(1 of it) is not read"), "{said}");
}

/// The text with the number behind these marks, one behind the other, times `by`.
fn scaled(text: &str, marks: &[&str], by: f64) -> String {
    let mut at = 0;
    for mark in marks {
        at += text[at..].find(mark).unwrap_or_else(|| panic!("{mark}")) + mark.len();
    }
    let end = at + text[at..].find(['"', ' ', '<']).unwrap();
    let new = text[at..end].parse::<f64>().unwrap() * by;
    format!("{}{new:?}{}", &text[..at], &text[end..])
}

#[test]
fn a_kept_crank_or_rod_that_weighs_otherwise_or_a_motor_with_other_gains_is_not_in_step() {
    let bench = Bench::new();
    let (crank, rod) = ("left_ankle_pitch_crank_link\"", "left_ankle_pitch_coupler_link\"");
    let motor = "<position name=\"left_ankle_pitch_crank\"";
    let joint = "<joint name=\"left_ankle_pitch_crank\"";
    for (format, form, marks, by, told) in [
        (MJCF, "coupled", &[crank, "mass=\""][..], 1.03, "mass of left_ankle_pitch_crank_link"),
        (
            MJCF,
            "coupled",
            &[crank, "fullinertia=\"", " "],
            1.03,
            "inertia about its pin of left_ankle_pitch_crank_link",
        ),
        (MJCF, "coupled", &[motor, "kp=\""], 1.03, "position gain of left_ankle_pitch_crank"),
        (MJCF, "coupled", &[motor, "kv=\""], 1.03, "velocity gain of left_ankle_pitch_crank"),
        (
            URDF,
            "coupled",
            &[crank, "iyy=\""],
            1.03,
            "inertia about its pin of left_ankle_pitch_crank_link",
        ),
        (URDF, "coupled", &[joint, "upper=\""], 0.9, "upper limit of left_ankle_pitch_crank"),
        (URDF, "coupled", &[joint, "lower=\""], 0.9, "lower limit of left_ankle_pitch_crank"),
        // Beyond where the joint stops it stops nothing.
        (URDF, "coupled", &[joint, "upper=\""], 1.1, ""),
        (MJCF, "loop", &[rod, "mass=\""], 1.03, "mass of left_ankle_pitch_coupler_link"),
        (
            MJCF,
            "loop",
            &[rod, "pos=\"0 0 "],
            1.03,
            "mass centre from its pin of left_ankle_pitch_coupler_link",
        ),
        (
            SDF,
            "loop",
            &[rod, "<iyy>"],
            1.05,
            "inertia about its pin of left_ankle_pitch_coupler_link",
        ),
        (
            SDF,
            "loop",
            &[crank, "<iyy>"],
            1.03,
            "inertia about its pin of left_ankle_pitch_crank_link",
        ),
        // The smallest moment is what a joint along that axis would feel.
        (SDF, "direct", &["left_shank\"", "<izz>"], 1.03, "inertia of left_shank"),
    ] {
        let (code, found) = bench.says_of_kept(format, form, |text| scaled(text, marks, by));
        let is_told = told.is_empty() || found.contains(&format!(" says {told}"));
        assert!(code == i32::from(!told.is_empty()) && is_told, "{form} {marks:?}: {found}");
    }
}

#[test]
fn a_hinge_of_the_rod_that_stands_askew_is_not_in_step() {
    let bench = Bench::new();
    let axis = "<xyz expressed_in=\"left_ankle_pitch_crank_link\">0 1 0";
    let askew = axis.replace(">0 1 0", ">0.03 1 0");
    let changes = [(axis, askew.as_str())];
    let (code, found) = bench.says_of_kept(SDF, "loop", |text| fold::changed(text, &changes));
    assert!(code == 1 && found.contains("tilt of the axis"), "{found}");
}
