//! What a file adds to a joint that has the design's own figures, so that it moves otherwise: each test would have been in step.

use std::fs;

use crate::command::{output, run};
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
        let mut text = fs::read_to_string(&plain).unwrap();
        for (old, new) in changes {
            assert!(text.contains(old), "{old}");
            text = text.replacen(old, new, 1);
        }
        fs::write(&changed, text).unwrap();
        [plain, changed]
    }

    /// What comparing with the design says of the changed file.
    fn says(&self, format: (&str, &str), changes: &[(&str, &str)]) -> (i32, String) {
        let [_, changed] = self.both(format.0, format.1, changes);
        said(&["compare", ANKLE, &changed])
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
