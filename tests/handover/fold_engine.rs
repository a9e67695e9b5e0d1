//! A folded robot beside the closed one it came from, in independent engines.
//!
//! Pinocchio loads both, MuJoCo the folded one. The loop is held closed by the engine's own kinematics; mass, mass centre
//! and gravity torque must agree, kinetic energy to what the fold says of itself.

use super::fold::{PLAIN, changed, model, read};
use crate::venv;

use std::fs;

use serde_json::{Value, json};
use unloop::design::Preset;
use unloop::handover::ActuatorUnits;
use unloop::handover::Form;
use unloop::handover::find::{FindOptions, find, state_loops};
use unloop::handover::fold::{FoldOptions, Folded, fold};
use unloop::robot::Robot;

fn folded(robot: &Robot, name: &str, options: FoldOptions) -> Folded {
    let loops = find(robot, FindOptions::new(Preset::Training));
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

/// Without what these engines stumble over and no figure comes from: looks, contacts, plugins, the joints of that name.
fn bared(text: &str, opened: &[&str]) -> String {
    let robot = read(text);
    let document = &robot.documents[0];
    let mut edits = unloop::robot::Edits::default();
    for element in document.root().descendants() {
        let looks = matches!(element.name(), "visual" | "collision" | "plugin");
        let name = element.value("name");
        let is_opened = element.name() == "joint"
            && name.is_some_and(|name| opened.iter().any(|end| name.ends_with(end)));
        if looks || is_opened {
            edits.remove(element);
        }
    }
    edits.apply(document).unwrap()
}

/// The biped of a public package: both ankles folded, its two knee loops opened at the rod for the engines.
#[test]
fn the_biped_with_both_ankles_folded_is_the_same_robot_in_two_engines() {
    let text = fs::read_to_string(venv::package_file("cassie_v2.sdf")).unwrap();
    let mut new = text.clone();
    for side in ["left", "right"] {
        let name = format!("{side}-plantar-foot-joint");
        let robot = read(&new);
        let motors = [format!("{side}-tarsus-crank-joint")];
        let how = FindOptions { motors: &motors, ..FindOptions::new(Preset::Training) };
        let loops = find(&robot, how);
        let found = loops.iter().find(|found| found.name == name).unwrap();
        // Crank and rod alone, without the rotor that the file does not give, are too much for a direct joint.
        let refused = fold(&robot, found, PLAIN).unwrap_err();
        let why = &refused[0].diagnostic.message;
        println!("{why}");
        assert!(why.contains("crank and rod alone"), "{why}");
        assert_eq!(refused[0].verdict, Some(unloop::equivalence::Verdict::NotEquivalent));
        let anyway = FoldOptions { anyway: true, ..PLAIN };
        new = fold(&robot, found, anyway).unwrap_or_else(|faults| panic!("{faults:?}")).text;
    }
    // In the pose of a motor's reading the foot reads the same but for the zeros, which the file draws apart; the rod
    // turns back by what the crank turns.
    let zeros = [("left", 2.94e-5), ("right", -0.020_246_5)];
    let poses: Vec<Value> = [-0.7, -1.2, -1.57, -2.3]
        .iter()
        .map(|foot| {
            let mut closed = serde_json::Map::new();
            let mut after = serde_json::Map::new();
            for (side, zero) in zeros {
                let motor = foot + zero;
                closed.insert(format!("{side}-foot-op"), json!(foot));
                closed.insert(format!("{side}-tarsus-crank-joint"), json!(motor));
                closed.insert(format!("{side}-crank-rod-joint"), json!(-motor));
                after.insert(format!("{side}-foot-op"), json!(foot));
            }
            json!({ "closed": closed, "folded": after })
        })
        .collect();
    let input = json!({
        "closed": bared(&text, &["-pitch-rod-joint", "-plantar-foot-joint"]),
        "folded": bared(&new, &["-pitch-rod-joint"]),
        "poses": poses,
    });
    let output = venv::script("folded_sdf.py", &input.to_string());
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{errors}");
    let text = String::from_utf8(output.stdout).unwrap();
    let found: Value = serde_json::from_str(text.lines().last().unwrap()).unwrap();
    let number = |key: &str, k: usize| found[key][k].as_f64().unwrap();
    // Crank and rod joints of both ankles are gone.
    assert!((number("joints", 0) - number("joints", 1) - 4.0).abs() < 0.5, "{found}");
    assert!((number("mass", 0) - number("mass", 1)).abs() < 1e-9, "{found}");
    assert!((found["other_engine"]["mass"].as_f64().unwrap() - number("mass", 1)).abs() < 1e-6);
    assert!(found["centre"].as_f64().unwrap() < 2e-6, "{found}");
    assert!(found["inertia"].as_f64().unwrap() < 2e-3, "{found}");
}

fn mjcf_beside_its_fold(text: &str, options: FoldOptions) -> (Value, f64) {
    let robot = read(text);
    let new = folded(&robot, "ankle_loop", options);
    let poses: Vec<Value> = [-0.65, -0.3, 0.0, 0.2, 0.55]
        .iter()
        .map(|ankle| json!({ "knee": 0.3 + ankle, "ankle": ankle }))
        .collect();
    let input = json!({
        "closed": text, "folded": new.text, "sites": ["rod_end", "lever"],
        "motor": "ankle_motor", "rod": "rod_upper", "joint": "ankle", "poses": poses,
    });
    // The test names the sites for its own measure: the closed model keeps them, the folded one needs none.
    (answer("folded_mjcf.py", &input), new.inertia_error.unwrap().1)
}

fn close(found: &Value, key: &str, within: f64) {
    assert!(found[key].as_f64().unwrap() < within, "{key}: {found}");
}

fn same_mass(found: &Value) {
    let mass = |k: usize| found["mass"][k].as_f64().unwrap();
    assert!((mass(0) - mass(1)).abs() < 1e-9, "{found}");
}

#[test]
fn a_folded_mjcf_leg_is_the_closed_one_in_its_engine() {
    let (found, stated) = mjcf_beside_its_fold(&model("leg.xml"), PLAIN);
    assert_eq!(found["joints"][1], json!(["root", "knee", "ankle"]));
    assert_eq!((&found["constraints"], &found["keys"]), (&json!([1, 0]), &json!([1, 1])));
    same_mass(&found);
    close(&found, "centre", 1e-9);
    close(&found, "gravity", 1e-7);
    close(&found, "drive", 1e-9);
    close(&found, "energy", stated + 1e-9);
}

#[test]
fn a_coupled_leg_is_the_closed_one_in_its_engine() {
    let options = FoldOptions { model: Form::Coupled, ..PLAIN };
    let (found, stated) = mjcf_beside_its_fold(&model("leg.xml"), options);
    assert_eq!(found["joints"][1], json!(["root", "knee", "ankle_motor", "ankle"]));
    assert_eq!(found["constraints"], json!([1, 1]));
    same_mass(&found);
    close(&found, "centre", 1e-9);
    close(&found, "gravity", 1e-7);
    close(&found, "drive", 1e-9);
    close(&found, "energy", stated + 1e-9);
}

#[test]
fn in_the_engine_a_turned_motor_in_its_own_units_drives_as_before() {
    let text = model("leg.xml")
        .replace("name=\"ankle_motor\" axis=\"0 1 0\"", "name=\"ankle_motor\" axis=\"0 -1 0\"")
        .replace("    <jointpos name=\"ankle_angle\" joint=\"ankle_motor\"/>\n", "");
    let options = FoldOptions { actuator: ActuatorUnits::Motor, ..PLAIN };
    let (found, _) = mjcf_beside_its_fold(&text, options);
    close(&found, "drive", 1e-9);
    same_mass(&found);
}

#[test]
fn kept_visuals_weigh_next_to_nothing_in_the_engine() {
    let options = FoldOptions { keep_visuals: true, ..PLAIN };
    let (found, stated) = mjcf_beside_its_fold(&model("leg.xml"), options);
    assert_eq!(found["constraints"], json!([1, 2]));
    let mass = |k: usize| found["mass"][k].as_f64().unwrap();
    assert!((mass(1) - mass(0) - 2e-6).abs() < 1e-9, "{found}");
    close(&found, "energy", stated + 1e-5);
}

/// The leg on a stand, its shank fixed, with each first text replaced by the second.
fn on_a_stand(changes: &[(&str, &str)]) -> String {
    of_one_joint("", changes).replacen("      <freejoint name=\"root\"/>\n", "", 1)
}

/// The leg without its knee; `carrier` is what its keyframe has before the loop's own coordinates.
fn of_one_joint(carrier: &str, changes: &[(&str, &str)]) -> String {
    let key = format!("qpos=\"{carrier}-0.4 0.4 -0.4\" ctrl=\"0\"");
    let still = [
        ("        <joint name=\"knee\" axis=\"0 1 0\" range=\"-0.2 2\"/>\n", ""),
        ("    <motor name=\"knee_drive\" joint=\"knee\" ctrlrange=\"-120 120\"/>\n", ""),
        ("    <jointpos name=\"knee_angle\" joint=\"knee\"/>\n", ""),
        ("    <jointpos name=\"ankle_angle\" joint=\"ankle_motor\"/>\n", ""),
        ("qpos=\"0 0 0.9 1 0 0 0  0.8  -0.4 0.4  -0.4\" ctrl=\"0 0\"", key.as_str()),
    ];
    changed(&model("leg.xml"), still.iter().chain(changes))
}

const DRIVE: &str = "<motor name=\"ankle_drive\" joint=\"ankle_motor\" gear=\"1\" ctrlrange=\"-60 60\" forcerange=\"-60 60\"/>";
const TURNED: (&str, &str) =
    ("name=\"ankle_motor\" axis=\"0 1 0\"", "name=\"ankle_motor\" axis=\"0 -1 0\"");

/// Name, changes of the file, control.
type Case<'a> = (&'a str, Vec<(&'a str, &'a str)>, f64);

#[test]
fn in_the_engine_the_same_control_moves_the_joint_the_same_way_after_the_fold() {
    let sprung = (
        "name=\"ankle_motor\" axis",
        "name=\"ankle_motor\" stiffness=\"5\" springref=\"0.3\" axis",
    );
    let servo = "<position name=\"ankle_drive\" joint=\"ankle_motor\" kp=\"80\" kv=\"2\" ctrlrange=\"-0.8 0.8\" forcerange=\"-60 60\"/>";
    let speed =
        "<velocity name=\"ankle_drive\" joint=\"ankle_motor\" kv=\"2\" ctrlrange=\"-9 9\"/>";
    let general = "<general name=\"ankle_drive\" joint=\"ankle_motor\" gaintype=\"fixed\" gainprm=\"40\" biastype=\"affine\" biasprm=\"0.5 -40 -1\"/>";
    let cases: [Case<'_>; 8] = [
        ("motor", vec![], -0.2),
        ("turned motor", vec![TURNED], 0.2),
        ("servo", vec![(DRIVE, servo)], 0.2),
        ("turned servo", vec![TURNED, (DRIVE, servo)], 0.2),
        ("turned speed", vec![TURNED, (DRIVE, speed)], 0.4),
        ("general", vec![(DRIVE, general)], 0.2),
        ("turned general", vec![TURNED, (DRIVE, general)], 0.2),
        ("spring", vec![sprung], -0.5),
    ];
    // None of them runs into a stop, where two engines' bounces would be compared.
    for (case, changes, control) in cases {
        for actuator in [ActuatorUnits::Joint, ActuatorUnits::Motor] {
            let closed = on_a_stand(&changes);
            let new = folded(&read(&closed), "ankle_loop", FoldOptions { actuator, ..PLAIN });
            let input = json!({
                "closed": closed, "folded": new.text, "control": [control], "seconds": 1.0,
                "motor": "ankle_motor", "rod": "rod_upper", "joint": "ankle",
                "error": new.inertia_error.unwrap().1, "carrier_moves": false,
            });
            let found = answer("fold_motion.py", &input);
            println!("{case} {actuator:?}: {found}");
            assert_eq!(found["warnings"], json!([]), "{case} {actuator:?}: {found}");
            assert!(found["apart_deg"].as_f64().unwrap() <= 0.05, "{case} {actuator:?}: {found}");
            assert!(
                found["share_of_bound"].as_f64().unwrap() <= 1.0,
                "{case} {actuator:?}: {found}"
            );
            assert!(
                found["ends"][0].as_f64().unwrap().abs() > 0.02,
                "{case}: nothing moved {found}"
            );
            assert_eq!(found["colliding"][0], found["colliding"][1], "{case}");
        }
    }
}

#[test]
fn in_the_engine_a_free_and_shaken_carrier_feels_the_folded_foot_within_the_stated_error() {
    let heavy = ("mass=\"0.09\"", "mass=\"0.4\"");
    let cases: [Case<'_>; 3] = [
        ("leg", vec![], -0.2),
        ("turned motor", vec![TURNED], 0.2),
        ("heavy rod", vec![heavy], -0.2),
    ];
    for (case, changes, control) in cases {
        let closed = of_one_joint("0 0 0.9 1 0 0 0  ", &changes);
        let options = FoldOptions { anyway: true, ..PLAIN };
        let new = folded(&read(&closed), "ankle_loop", options);
        let error = new.inertia_error.unwrap().1;
        let input = json!({
            "closed": closed, "folded": new.text, "control": [control], "seconds": 1.0,
            "motor": "ankle_motor", "rod": "rod_upper", "joint": "ankle", "carrier": "thigh",
            "error": error, "carrier_moves": true,
        });
        let found = answer("fold_motion.py", &input);
        println!("{case}: {found}, of energy {error}");
        assert_eq!(found["warnings"], json!([]), "{case}: {found}");
        assert!(found["share_of_bound"].as_f64().unwrap() <= 1.0, "{case}: {found}");
        assert!(found["ends"][0].as_f64().unwrap().abs() > 0.02, "{case}: {found}");
        if error < 1e-3 {
            assert!(found["apart_deg"].as_f64().unwrap() <= 0.05, "{case}: {found}");
        }
    }
}
