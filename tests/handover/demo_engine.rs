//! The demo ankle's inertia error as `check` prints it, against a physics engine: the emitted direct model's mass matrix
//! beside that of the emitted closed loop, projected on what its pin allows, carrier floating.

use crate::venv;

use assert_cmd::Command;
use serde_json::{Value, json};

const DEMO: &str = "models/ankle.toml";

fn output(arguments: &[&str]) -> String {
    let assert = Command::cargo_bin("unloop").unwrap().args(arguments).assert().success();
    String::from_utf8(assert.get_output().stdout.clone()).unwrap()
}

fn emitted(model: &str) -> String {
    output(&["emit", DEMO, "--to", "mjcf", "--whole", "--model", model, "-o", "-"])
}

#[test]
fn in_the_engine_the_demos_inertia_error_is_the_one_that_check_prints() {
    let check: Value = serde_json::from_str(&output(&["check", "--json", DEMO])).unwrap();
    let [low, high] = [0, 1].map(|k| check["stroke"]["joint_rad"][k].as_f64().unwrap());
    let turns: Vec<f64> = (0..=60).map(|k| low + (high - low) * f64::from(k) / 60.0).collect();
    let given = json!({
        "direct": emitted("direct"), "loop": emitted("loop"), "side": "left", "turns": turns,
    });
    let run = venv::script("demo_inertia.py", &given.to_string());
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let engine: Value = serde_json::from_slice(&run.stdout).unwrap();
    let (theirs, ours) =
        (engine["error"].as_f64().unwrap(), check["inertia"]["spatial"].as_f64().unwrap());
    assert!((theirs - ours).abs() < 1e-6, "engine {theirs}, check {ours}");
    assert!(check["inertia"]["bound"].as_f64().unwrap() >= ours);
}
