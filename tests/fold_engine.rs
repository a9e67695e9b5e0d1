//! A folded robot beside the closed one it came from, in independent engines.
//!
//! Pinocchio loads both, MuJoCo the folded one. The loop is held closed by the engine's own kinematics; mass, mass centre
//! and gravity torque must agree, kinetic energy to what the fold says of itself.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that finds something else than it expects stops there"
)]

mod venv;

use std::fs;
use std::path::PathBuf;

use serde_json::{Value, json};
use unloop::design::Preset;
use unloop::handover::find::{FindOptions, find, state_loops};
use unloop::handover::fold::{FoldModel, FoldOptions, Folded, fold};
use unloop::handover::{ActuatorUnits, LimitBasis};
use unloop::robot::Robot;

const PLAIN: FoldOptions = FoldOptions {
    model: FoldModel::Direct,
    anyway: false,
    keep_visuals: false,
    limits: LimitBasis::Guaranteed,
    actuator: ActuatorUnits::Joint,
};

fn model(name: &str) -> String {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("models/robots");
    fs::read_to_string(folder.join(name)).unwrap()
}

fn read(text: &str) -> Robot {
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    unloop::robot::read("robot", text.as_bytes().to_vec(), none).unwrap_or_else(|r| panic!("{r}"))
}

fn folded(robot: &Robot, name: &str, options: FoldOptions) -> Folded {
    let loops = find(robot, FindOptions { preset: Preset::Training, motors: &[] });
    let found = loops.iter().find(|found| found.name == name).unwrap();
    fold(robot, found, options).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn answer(script: &str, input: &Value) -> Value {
    let output = venv::script(script, &input.to_string());
    let text = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{script}: {text}");
    serde_json::from_slice(&output.stdout).unwrap()
}

/// The figure in the comment that URDF gets instead of an armature.
fn armature(text: &str) -> f64 {
    let Some((_, rest)) = text.split_once("<!-- armature ") else { return 0.0 };
    rest.split_whitespace().next().unwrap().parse().unwrap()
}

fn urdf_beside_its_fold(at: [f64; 3], options: FoldOptions) -> (Value, f64) {
    let text = model("leg.urdf");
    let mut robot = read(&text);
    let at_text = format!("[\"{} m\", \"{} m\", \"{} m\"]", at[0], at[1], at[2]);
    let stated =
        format!("[[loop]]\nname = \"ankle_loop\"\nlinks = [\"rod\", \"foot\"]\nat = {at_text}\n");
    state_loops(&mut robot, &stated).unwrap();
    let new = folded(&robot, "ankle_loop", options);
    let poses: Vec<Value> = [-0.65, -0.3, 0.0, 0.2, 0.55]
        .iter()
        .map(|ankle| json!({ "knee": 0.3 + ankle, "ankle": ankle }))
        .collect();
    let input = json!({
        "closed": text,
        "folded": new.text,
        "pin": { "links": ["rod", "foot"], "at": at },
        "motor": "ankle_motor", "rod": "rod_upper", "joint": "ankle",
        "armature": armature(&new.text),
        "poses": poses,
    });
    (answer("folded_urdf.py", &input), new.inertia_error.unwrap().1)
}

#[test]
fn a_folded_parallelogram_is_the_closed_robot_in_two_engines() {
    let (found, stated) = urdf_beside_its_fold([0.0, 0.0, -0.3], PLAIN);
    assert_eq!(found["joints"], json!([4, 2]));
    assert_eq!(found["other_engine"]["names"], json!(["knee", "ankle"]));
    let mass = |k: usize| found["mass"][k].as_f64().unwrap();
    assert!((mass(0) - mass(1)).abs() < 1e-9);
    assert!(found["centre"].as_f64().unwrap() < 1e-9, "{found}");
    assert!(found["gravity"].as_f64().unwrap() < 1e-8, "{found}");
    let energy = found["energy"].as_f64().unwrap();
    // The stated figure is for the shank alone; the thigh makes every share smaller.
    assert!(energy <= stated + 1e-9 && energy > 0.02 * stated, "{energy} stated {stated}");
}

#[test]
fn in_an_engine_a_folded_linkage_that_is_none_is_off_by_what_it_says() {
    let options = FoldOptions { anyway: true, ..PLAIN };
    let (found, stated) = urdf_beside_its_fold([0.0, 0.0, -0.31], options);
    let mass = |k: usize| found["mass"][k].as_f64().unwrap();
    assert!((mass(0) - mass(1)).abs() < 1e-9);
    let energy = found["energy"].as_f64().unwrap();
    assert!(energy <= stated + 1e-9, "{energy} stated {stated}");
}
