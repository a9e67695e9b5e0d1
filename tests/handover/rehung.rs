//! Fingers that a file hangs on their passive rockers: the fold hangs them on their drivers.

use super::fold::{PLAIN, model, read};
use super::jaws::{changed, loops, named, why};
use crate::venv;

use std::fs;
use std::path::PathBuf;

use serde_json::{Value, json};
use unloop::design::Preset;
use unloop::handover::find::{FindOptions, find, state_loops};
use unloop::handover::fold::{FoldFault, FoldOptions, Folded, fold, joints_beside};
use unloop::handover::{Format, JointJson};
use unloop::robot::Robot;

const ANYWAY: FoldOptions = FoldOptions { anyway: true, ..PLAIN };

fn text() -> String {
    model("gripper_on_rockers.xml")
}

fn folded(robot: &Robot, options: FoldOptions) -> Result<Folded, Vec<FoldFault>> {
    fold(robot, &named(robot, "right_loop"), options)
}

/// The lines from the one that holds `from` to the next that is `</body>` at its own depth.
fn body<'a>(text: &'a str, from: &str) -> Vec<&'a str> {
    let lines: Vec<&str> = text.lines().skip_while(|line| !line.contains(from)).collect();
    let depth = lines[0].len() - lines[0].trim_start().len();
    let end = format!("{}</body>", " ".repeat(depth));
    let last = lines.iter().position(|line| **line == end).unwrap();
    lines[..=last].to_vec()
}

#[test]
fn a_finger_hangs_on_its_driver_with_every_byte_but_its_place_and_what_its_joint_bore() {
    let text = text();
    let new = folded(&read(&text), PLAIN).unwrap();
    for side in ["right", "left"] {
        let finger = format!("<body name=\"{side}_finger\"");
        let (before, after) = (body(&text, &finger), body(&new.text, &finger));
        assert_eq!(before.len(), after.len());
        for (old, line) in before.iter().zip(&after).skip(1) {
            assert!(line == old || line.contains("_finger_pin"), "{line}");
        }
        assert!(
            body(&new.text, &format!("name=\"{side}_driver\"")).contains(&after[0]),
            "{}",
            new.text
        );
        // It inherited what its rocker's class says, and its driver's class says otherwise.
        assert!(after[0].contains("pos=\"0.02 0 0.04\" quat=\"0.707106781187 0 0.707106781187 0\" childclass=\"passive\""), "{}", after[0]);
        let pin = format!(
            "<joint name=\"{side}_finger_pin\" pos=\"0 0 -0.02\" damping=\"0\" frictionloss=\"0\" armature=\"0\" limited=\"false\"/>"
        );
        assert!(new.text.contains(&pin), "{}", new.text);
        // 0.01 and twice 0.0005 N m s/rad, 1.8e-4 and twice 2e-6 kg m², in its class and not on its own line.
        let driver = format!(
            "<joint name=\"{side}_drive\" stiffness=\"0.02\" springref=\"0\" damping=\"0.011\" frictionloss=\"0.0008\" armature=\"0.000184\"/>"
        );
        assert!(new.text.contains(&driver), "{}", new.text);
        let tie = format!(
            "<joint joint1=\"{side}_finger_pin\" joint2=\"{side}_drive\" polycoef=\"0 -1 0 0 0\""
        );
        assert_eq!(new.text.matches(&tie).count(), 1, "{}", new.text);
    }
    for word in ["rocker\"", "idle", "_loop"] {
        assert!(!new.text.contains(word), "{word}: {}", new.text);
    }
    assert!(loops(&read(&new.text)).is_empty());
}

#[test]
fn keyframes_follow_the_joints_to_their_new_places() {
    let new = folded(&read(&text()), PLAIN).unwrap().text;
    assert!(
        new.contains("qpos=\"0.2 -0.4 0.4 -0.4 0.4\" qvel=\"0 1 -1 1 -1\" ctrl=\"0\""),
        "{new}"
    );
    assert!(new.contains("<key name=\"half\" qpos=\"0 0.25 -0.25 0.25 -0.25\"/>"), "{new}");
    let short = changed(&text(), &[("qpos=\"0 0.25 0.25", "qpos=\"0.25 0.25")]);
    assert!(why(&folded(&read(&short), PLAIN).unwrap_err()).contains("not as many numbers"));
}

#[test]
fn what_hangs_on_a_rocker_whose_finger_stays_refuses_the_fold_with_its_line() {
    let rocker = "<geom type=\"box\" size=\"0.003 0.006 0.022\" pos=\"0 0 0.02\"/>\n        <body name=\"right_finger\"";
    for (from, to, said) in [
        (rocker, rocker.replace("<geom", "<camera name=\"eye\"/><geom"), "camera"),
        (rocker, rocker.replace("0.003 0.006 0.022", "0.003 0.006 0.08"), "\"right_rocker\" bears something too"),
        ("<sensor>", "<sensor><jointpos joint=\"right_idle\"/>".to_owned(), "right_idle"),
        ("<sensor>", "<sensor><framepos objtype=\"body\" objname=\"right_rocker\"/>".to_owned(), "\"right_rocker\" bears something too"),
        ("<equality>", "<equality><joint joint1=\"right_finger_pin\" joint2=\"right_drive\" polycoef=\"0 -1 0 0 0\"/>".to_owned(), "is tied to another already"),
        ("<joint name=\"right_finger_pin\" range=\"-60 60\"/>", "<frame><joint name=\"right_finger_pin\" range=\"-60 60\"/></frame>".to_owned(), "frame of its own"),
    ] {
        let robot = read(&changed(&text(), &[(from, &to)]));
        let faults = match folded(&robot, PLAIN) {
            Ok(new) => panic!("{said}: {}", new.text),
            Err(faults) => faults,
        };
        assert!(why(&faults).contains(said), "{said}: {}", why(&faults));
        assert!(faults.iter().all(|fault| fault.diagnostic.place.is_some()), "{said}");
    }
}

#[test]
fn what_the_user_calls_carried_stays_and_what_the_rest_bears_refuses_the_fold() {
    let rocker = "<geom type=\"box\" size=\"0.003 0.006 0.022\" pos=\"0 0 0.02\"/>\n        <body name=\"right_finger\"";
    let robot = read(&changed(&text(), &[(rocker, &rocker.replace("0.022", "0.08"))]));
    let fold_of = |child: &str| {
        let children = [child.to_owned()];
        let options = FindOptions { children: &children, ..FindOptions::new(Preset::Training) };
        let one = find(&robot, options).into_iter().find(|one| one.name == "right_loop").unwrap();
        why(&fold(&robot, &one, PLAIN).unwrap_err())
    };
    let finger = fold_of("right_finger");
    assert!(finger.contains("more than a bar, hangs on \"right_rocker\", which goes"), "{finger}");
    assert!(!finger.contains("right_tip") && !finger.contains("right_pad"), "{finger}");
    let rocker = fold_of("right_rocker");
    let tip = "\"right_tip\", welded on, hangs on \"right_finger\", which goes with the linkage";
    assert!(rocker.contains(tip) && rocker.contains("\"right_pad\""), "{rocker}");
}

#[test]
fn what_speaks_of_the_finger_and_its_parts_stays_and_its_angle_where_that_reads_the_same() {
    let more = "<sensor><framepos objtype=\"body\" objname=\"right_finger\"/><framepos objtype=\"geom\" objname=\"left_pad\"/>";
    let new = folded(&read(&changed(&text(), &[("<sensor>", more)])), PLAIN).unwrap().text;
    assert!(
        new.contains(more)
            && new.contains("<jointpos name=\"pin_angle\" joint=\"right_finger_pin\"/>"),
        "{new}"
    );
    // A rocker 3 mm short turns otherwise than its driver, and the finger against it too.
    let off = changed(
        &text(),
        &[
            ("name=\"right_finger\" pos=\"0 0 0.04\"", "name=\"right_finger\" pos=\"0 0 0.037\""),
            (
                "body2=\"right_driver\" anchor=\"0 0 -0.02\"",
                "body2=\"right_driver\" anchor=\"-0.003 0 -0.02\"",
            ),
        ],
    );
    let faults = folded(&read(&off), ANYWAY).unwrap_err();
    assert!(why(&faults).contains("reads otherwise on the driver's link"), "{}", why(&faults));
    let silent =
        changed(&off, &[("<jointpos name=\"pin_angle\" joint=\"right_finger_pin\"/>", "")]);
    assert!(folded(&read(&silent), ANYWAY).is_ok());
}

#[test]
fn gravity_compensation_goes_with_the_mass_where_all_that_take_it_have_as_much() {
    let given = |names: &[&str]| {
        let tags: Vec<(String, String)> = names
            .iter()
            .map(|name| {
                (format!("<body name=\"{name}\""), format!("<body name=\"{name}\" gravcomp=\"1\""))
            })
            .collect();
        let pairs: Vec<(&str, &str)> = tags.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
        read(&changed(&text(), &pairs))
    };
    let rockers = ["right_rocker", "left_rocker"];
    assert!(why(&folded(&given(&rockers), PLAIN).unwrap_err()).contains("gravcomp"));
    let all = ["right_rocker", "left_rocker", "right_driver", "left_driver", "wrist"];
    assert!(folded(&given(&all), PLAIN).is_ok());
}

#[test]
fn a_contact_that_engines_pass_over_from_now_on_is_told() {
    let told = |text: &str| folded(&read(text), PLAIN).unwrap().notes.join("\n");
    assert!(!told(&text()).contains("pass over"), "{}", told(&text()));
    let free = changed(&text(), &[("<exclude body1=\"left_driver\" body2=\"left_finger\"/>", "")]);
    assert!(
        told(&free).contains("\"left_finger\" hangs on \"left_driver\" now"),
        "{}",
        told(&free)
    );
}

#[test]
fn the_json_beside_it_names_the_fingers_joints_as_the_file_has_them() {
    for (file, turned) in [
        (text(), 1.0),
        (
            changed(
                &text(),
                &[(
                    "<joint name=\"left_finger_pin\"",
                    "<joint name=\"left_finger_pin\" axis=\"0 1 0\"",
                )],
            ),
            -1.0,
        ),
    ] {
        let robot = read(&file);
        let found = named(&robot, "right_loop");
        let new = fold(&robot, &found, PLAIN).unwrap();
        let joints: Vec<JointJson> = joints_beside(&found, &new, PLAIN).unwrap();
        let followers = &joints[0].finger.as_ref().unwrap().followers;
        let said: Vec<(&str, f64)> =
            followers.iter().map(|f| (f.joint.as_str(), f.multiplier)).collect();
        assert_eq!(
            said,
            [("right_finger_pin", -1.0), ("left_drive", 1.0), ("left_finger_pin", -turned)]
        );
    }
}

/// The same finger in URDF, whose hinges stand at the origin of what they bear.
#[test]
fn where_the_format_has_no_place_for_it_elsewhere_the_finger_is_not_taken_out_with_its_rocker() {
    let link = |name: &str, mass: f64| {
        format!(
            "<link name=\"{name}\"><inertial><origin xyz=\"0 0 0.01\"/><mass value=\"{mass}\"/><inertia ixx=\"1e-4\" iyy=\"1e-4\" izz=\"1e-4\" ixy=\"0\" ixz=\"0\" iyz=\"0\"/></inertial></link>"
        )
    };
    let joint = |name: &str, parent: &str, child: &str, at: &str| {
        format!(
            "<joint name=\"{name}\" type=\"revolute\"><parent link=\"{parent}\"/><child link=\"{child}\"/><origin xyz=\"{at}\"/><axis xyz=\"0 -1 0\"/><limit lower=\"-0.5\" upper=\"0.5\" effort=\"1\" velocity=\"6\"/></joint>"
        )
    };
    let text = format!(
        "<robot name=\"g\">{}{}{}{}{}{}{}</robot>",
        link("palm", 0.7),
        link("driver", 0.03),
        link("rocker", 0.02),
        link("finger", 0.04),
        joint("drive", "palm", "driver", "0.035 0 0.02"),
        joint("idle", "palm", "rocker", "0.055 0 0.02"),
        joint("pin", "rocker", "finger", "0 0 0.04"),
    );
    let mut robot = read(&text);
    assert_eq!(robot.format, Format::Urdf);
    let stated = "[[loop]]\nname = \"loop\"\nlinks = [\"driver\", \"finger\"]\nat = [\"0 m\", \"0 m\", \"0.04 m\"]\nmotor = \"drive\"\nchild = \"finger\"\n";
    state_loops(&mut robot, stated).unwrap_or_else(|rejected| panic!("{rejected:?}"));
    let loops = find(&robot, FindOptions::new(unloop::design::Preset::Training));
    assert!(loops[0].jaw.is_some(), "{:?}", loops[0].obstacles);
    let faults = fold(&robot, &loops[0], ANYWAY).unwrap_err();
    assert!(why(&faults).contains("would go with the rocker"), "{}", why(&faults));
}

fn beside(closed: &PathBuf, new: &str, more: Value) -> Value {
    let mut input = json!({ "closed": closed, "folded": new });
    input.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    let output = venv::script("rehung.py", &input.to_string());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

fn within(found: &Value, key: &str, limit: f64) {
    let figure = found[key].as_f64().unwrap();
    assert!(figure <= limit, "{key} {figure}: {found}");
}

/// Loads, weighs the same, is drawn and moves the same within `moves` m and axes, and grips with the same force.
fn is_the_closed_one(found: &Value, named: u64, moves: f64) {
    let mass = |k: usize| found["mass"][k].as_f64().unwrap();
    assert!((mass(0) - mass(1)).abs() < 1e-9, "{found}");
    assert!(found["drawn"]["of"].as_u64().unwrap() >= named, "{found}");
    ["place", "axes"].iter().for_each(|key| within(&found["drawn"], key, 1e-9));
    within(found, "touch", 0.0);
    let poses = found["poses"].as_array().unwrap();
    assert!(poses.len() >= 5);
    for pose in poses {
        within(pose, "place", moves);
        within(pose, "axes", 10.0 * moves);
        within(pose, "left", 1e-9);
    }
    let grips: Vec<Vec<f64>> = found["grips"]
        .as_array()
        .unwrap()
        .iter()
        .map(|grip| {
            within(grip, "speed", 1e-4);
            grip["on"].as_object().unwrap().values().map(|x| x.as_f64().unwrap()).collect()
        })
        .collect();
    assert!(grips.iter().all(|forces| forces.len() == 2), "{found}");
    for (closed, tree) in grips[0].iter().zip(&grips[1]) {
        println!("closed {closed:.4} N, folded {tree:.4} N");
        assert!((tree / closed - 1.0).abs() < 0.01 && *closed > 5.0, "{found}");
    }
}

#[test]
fn in_an_engine_fingers_that_hang_on_their_drivers_stand_move_and_grip_as_on_their_rockers() {
    let path =
        PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("models/robots/gripper_on_rockers.xml");
    let new = folded(&read(&text()), PLAIN).unwrap().text;
    let found = beside(
        &path,
        &new,
        json!({
            "lead": "right_drive", "servo": "grip", "poses": [-0.5, -0.2, 0.0, 0.3, 0.5],
            "pads": ["right_pad", "left_pad"], "held": [], "grip": [1.0, 0.018], "contype": 1,
        }),
    );
    assert_eq!(found["coordinates"], json!([7, 5]));
    is_the_closed_one(&found, 12, 1e-9);
    let keys = found["keys"].as_array().unwrap();
    assert_eq!(keys.len(), 2);
    for key in keys {
        ["place", "axes"].iter().for_each(|name| within(key, name, 1e-9));
    }
    let left: Vec<[f64; 2]> = serde_json::from_value(found["keys_left"].clone()).unwrap();
    assert!(left.iter().flatten().all(|x| *x < 1e-9), "{left:?}");
}

/// Its own decimals leave a linkage that tilts by 0.0003 deg, 5e-6 rad, which at the pad is a micrometre.
#[test]
fn in_an_engine_a_public_gripper_whose_fingers_hung_on_their_rockers_grips_as_before() {
    let path = super::find_packages::file("panda_updated_robotiq_2f85.xml");
    let robot = read(&fs::read_to_string(&path).unwrap());
    let one = named(&robot, "left_spring_link_joint");
    let new = fold(&robot, &one, PLAIN).unwrap_or_else(|faults| panic!("{}", why(&faults)));
    assert!(loops(&read(&new.text)).is_empty());
    let held: Vec<String> = (1..=7).map(|k| format!("joint{k}")).collect();
    let found = beside(
        &path,
        &new.text,
        json!({
            "lead": "left_driver_joint", "servo": "fingers_actuator", "poses": [0.0, 0.2, 0.4, 0.6, 0.8],
            "pads": ["left_finger_pad", "right_finger_pad"], "held": held, "grip": [0.8, 0.02], "contype": 2,
        }),
    );
    assert_eq!(found["coordinates"], json!([6, 4]));
    is_the_closed_one(&found, 35, 1e-6);
}
