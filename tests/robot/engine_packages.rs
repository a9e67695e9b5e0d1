//! URDF and SDFormat files that packages carry, read by us and by independent engines.
//!
//! The files come with the engines of `tests/engines/requirements.txt` and are never kept here. What Pinocchio's and
//! Drake's own readers make of them is held against ours: places of links, joint axes, masses, limits.

use crate::venv;

use std::collections::BTreeMap;
use std::fs;
use std::ops::Range;
use std::path::{Path, PathBuf};

use nalgebra::{Isometry3, Matrix3, Point3, Vector3};
use serde_json::{Value, json};
use unloop::robot::{Document, FileJoint, FileLink, Inertial, JointKind, Robot};

/// What stands for infinity in the engines' answers.
const ENDLESS: f64 = 1e300;

fn packages() -> PathBuf {
    let lib = venv::ready().join("lib");
    let python = fs::read_dir(lib).unwrap().next().unwrap().unwrap().path();
    python.join("site-packages")
}

fn collect(folder: &Path, suffix: &str, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(&path, suffix, found);
        } else if path.extension().is_some_and(|ext| ext == suffix) {
            found.push(path);
        }
    }
}

/// All files with this suffix in the packages.
fn files(suffix: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    collect(&packages(), suffix, &mut found);
    found.sort();
    found
}

fn package(path: &Path) -> String {
    let inside = path.strip_prefix(packages()).unwrap().to_str().unwrap();
    let inside = inside.trim_start_matches("cmeel.prefix/share/");
    inside.split('/').next().unwrap().to_owned()
}

fn read(path: &Path) -> Result<Robot, String> {
    let name = path.file_name().unwrap().to_str().unwrap();
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    unloop::robot::read(name, fs::read(path).unwrap(), none).map_err(|r| r.render(false))
}

/// How many files each package has, and those that we refuse with the first line of why.
fn survey(suffix: &str) -> (BTreeMap<String, usize>, Vec<(String, String)>) {
    let (mut counts, mut refused) = (BTreeMap::new(), Vec::new());
    for path in files(suffix) {
        *counts.entry(package(&path)).or_default() += 1;
        if let Err(message) = read(&path) {
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            assert!(message.contains(&format!("--> {name}:")), "no place: {message}");
            assert!(message.contains("help:"), "no help: {message}");
            refused.push((name, message.lines().next().unwrap().to_owned()));
        }
    }
    println!("{suffix}: {counts:?}, refused: {refused:#?}");
    (counts, refused)
}

fn pairs<const N: usize>(wanted: [(&str, &str); N]) -> Vec<(String, String)> {
    wanted.map(|(name, message)| (name.to_owned(), format!("error: {message}"))).into()
}

/// Files as the packages carry them; most physics engines refuse them too.
const UNREADABLE: [(&str, &str); 7] = [
    ("ur3.urdf", "the file holds no link"),
    ("bike.urdf", "xyz: 0.07, is no number"),
    ("biped2d_pybullet.urdf", "lower: -1.57. is no number"),
    ("humanoid.urdf", "U+0000 is no character of XML"),
    ("husky.urdf", "rpy is a xacro expression, no number"),
    ("microtaur.urdf", "rpy holds 4 numbers, not 3"),
    ("torus_deform.urdf", "the file holds no link"),
];

#[test]
fn engine_packages_urdf_files_are_read_or_refused_at_a_line() {
    let (counts, refused) = survey("urdf");
    let wanted =
        [("example-robot-data", 69), ("mujoco", 1), ("pybullet_data", 1095), ("pydrake", 14)];
    assert_eq!(counts, wanted.map(|(name, count)| (name.to_owned(), count)).into());
    assert_eq!(refused, pairs(UNREADABLE));
}

#[test]
fn engine_packages_sdformat_files_are_read_or_refused_at_a_line() {
    let (counts, refused) = survey("sdf");
    let wanted = [("example-robot-data", 5), ("pybullet_data", 15), ("pydrake", 8)];
    assert_eq!(counts, wanted.map(|(name, count)| (name.to_owned(), count)).into());
    assert_eq!(refused, pairs([("model2.sdf", "two models are named \"lbr_iiwa\"")]));
}

#[test]
fn engine_packages_files_keep_every_byte_when_read() {
    for path in files("urdf").into_iter().chain(files("sdf")) {
        let bytes = fs::read(&path).unwrap();
        let Ok(document) = Document::read("x", bytes.clone()) else { continue };
        assert!(document.text().as_bytes() == bytes, "{}", path.display());
        for element in document.root().descendants() {
            let text = &document.text()[element.range()];
            assert!(text.starts_with(&format!("<{}", element.name())), "{}", path.display());
            assert!(text.ends_with('>'));
        }
    }
}

/// The answers of one of `tests/engines`' scripts, in the order of the paths.
fn ask(script: &str, paths: &[PathBuf]) -> Vec<Value> {
    let output = venv::script(script, &json!(paths).to_string());
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{script} says:\n{said}");
    serde_json::from_slice(&output.stdout).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

/// One figure of ours beside theirs.
fn same(what: &str, ours: &[f64], theirs: &[f64], room: f64) {
    assert_eq!(ours.len(), theirs.len(), "{what}");
    let size = theirs.iter().fold(1.0_f64, |size, x| size.max(x.abs()));
    let is_near = |(a, b): (&f64, &f64)| (a - b).abs() <= room * size;
    assert!(ours.iter().zip(theirs).all(is_near), "{what}:\nours {ours:?}\ntheirs {theirs:?}");
}

fn bounded(value: Option<f64>) -> f64 {
    value.unwrap_or(ENDLESS).clamp(-ENDLESS, ENDLESS)
}

fn ends(limit: Option<[f64; 2]>) -> [f64; 2] {
    limit.unwrap_or([-ENDLESS, ENDLESS]).map(|end| end.clamp(-ENDLESS, ENDLESS))
}

/// x y z, then the turn row by row.
fn figures(pose: &Isometry3<f64>) -> Vec<f64> {
    let turn = pose.rotation.to_rotation_matrix();
    let rows = turn.matrix().transpose();
    pose.translation.vector.iter().chain(rows.iter()).copied().collect()
}

fn matrix([xx, yy, zz, xy, xz, yz]: [f64; 6]) -> Matrix3<f64> {
    Matrix3::new(xx, xy, xz, xy, yy, yz, xz, yz, zz)
}

fn six(t: &Matrix3<f64>) -> [f64; 6] {
    [t.m11, t.m22, t.m33, t.m12, t.m13, t.m23]
}

/// Parallel-axis term of a mass at a distance.
fn steiner(mass: f64, r: Vector3<f64>) -> Matrix3<f64> {
    (Matrix3::identity() * r.norm_squared() - r * r.transpose()) * mass
}

/// Mass, centre and tensor about the centre of several links together, in the world's axes.
fn together<'a>(links: impl Iterator<Item = &'a FileLink> + Clone) -> Vec<f64> {
    let placed = links.filter_map(|link| Some((link, link.inertial.as_ref()?)));
    let center = |link: &FileLink, body: &Inertial| (link.pose * Point3::from(body.center)).coords;
    let mass: f64 = placed.clone().map(|(_, body)| body.mass).sum();
    let moment: Vector3<f64> = placed.clone().map(|(l, body)| center(l, body) * body.mass).sum();
    let mean = if mass > 0.0 { moment / mass } else { Vector3::zeros() };
    let tensor: Matrix3<f64> = placed
        .map(|(link, body)| {
            let turn = link.pose.rotation.to_rotation_matrix();
            let own = turn.matrix() * matrix(body.tensor) * turn.matrix().transpose();
            own + steiner(body.mass, center(link, body) - mean)
        })
        .sum();
    [mass].into_iter().chain(mean.iter().copied()).chain(six(&tensor)).collect()
}

/// The links that are rigid with this one and hang below it.
fn rigid_with(robot: &Robot, link: usize) -> Vec<&FileLink> {
    let (mut found, mut next) = (vec![&robot.links[link]], vec![link]);
    while let Some(at) = next.pop() {
        let fixed = |j: &&FileJoint| j.parent == at && j.kind == JointKind::Fixed;
        for joint in robot.joints.iter().filter(fixed) {
            found.push(&robot.links[joint.child]);
            next.push(joint.child);
        }
    }
    found
}

fn compare_urdf_joint(robot: &Robot, joint: &FileJoint, theirs: &Value, file: &str) {
    let what = |figure: &str| format!("{file}, joint {}: {figure}", joint.name);
    let room = 1e-9;
    let anchor: Vec<f64> = joint.anchor.iter().copied().collect();
    same(&what("anchor"), &anchor, &numbers(&theirs["anchor"]), room);
    let body = rigid_with(robot, joint.child);
    compare_masses(&what("masses"), &together(body.into_iter()), &numbers(&theirs["carries"]));
    let axis = match joint.kind {
        JointKind::Revolute => numbers(&theirs["turn"]),
        JointKind::Prismatic => numbers(&theirs["slide"]),
        _ => return,
    };
    same(&what("axis"), joint.axis.as_slice(), &axis, room);
    if let Some(limit) = theirs.get("limit") {
        let limit = numbers(limit);
        let turned_round = limit[0] > limit[1]; // read as no limit: so one engine's own files mean it
        let wanted = if turned_round { vec![-ENDLESS, ENDLESS] } else { limit };
        same(&what("limit"), &ends(joint.limit), &wanted, room);
    } else {
        assert_eq!(joint.limit, None, "{}", what("limit"));
    }
    for (name, ours) in [
        ("effort", bounded(joint.effort)),
        ("velocity", bounded(joint.velocity)),
        ("damping", joint.damping.unwrap_or(0.0)),
        ("friction", joint.friction.unwrap_or(0.0)),
    ] {
        same(&what(name), &[ours], &[theirs[name].as_f64().unwrap()], room);
    }
}

/// Pinocchio gives a massless body's centre as it pleases.
fn compare_masses(what: &str, ours: &[f64], theirs: &[f64]) {
    same(what, &ours[..1], &theirs[..1], 1e-9);
    if ours[0] > 0.0 {
        same(what, ours, theirs, 1e-9);
    }
}

/// Links and joints that were compared.
fn compare_urdf(path: &Path, theirs: &Value) -> [usize; 2] {
    let file = path.file_name().unwrap().to_str().unwrap();
    let robot = read(path).unwrap();
    for link in &robot.links {
        let theirs = numbers(&theirs["links"][&link.name]);
        same(&format!("{file}, link {}", link.name), &figures(&link.pose), &theirs, 1e-9);
    }
    let joints = theirs["joints"].as_object().unwrap();
    for (name, theirs) in joints {
        let joint = &robot.joints[robot.joint_named(name).unwrap()];
        compare_urdf_joint(&robot, joint, theirs, file);
    }
    let moving = robot.joints.iter().filter(|j| j.kind != JointKind::Fixed).count();
    assert_eq!(moving, joints.len(), "{file}");
    [robot.links.len(), joints.len()]
}

#[test]
fn engine_pinocchio_sees_every_urdf_file_as_we_do() {
    let mut paths: Vec<PathBuf> = files("urdf")
        .into_iter()
        .filter(|path| !path.to_str().unwrap().contains("random_urdfs"))
        .collect();
    paths.push(Path::new(env!("CARGO_MANIFEST_DIR")).join("models/robots/two_link_arm.urdf"));
    let mut compared = [0, 0];
    let mut refused = Vec::new();
    for (path, theirs) in paths.iter().zip(ask("robot_pinocchio.py", &paths)) {
        if theirs.get("refused").is_some() || read(path).is_err() {
            refused.push(path.file_name().unwrap().to_str().unwrap().to_owned());
            continue;
        }
        let [links, joints] = compare_urdf(path, &theirs);
        compared = [compared[0] + links, compared[1] + joints];
    }
    println!("{} files, links and joints {compared:?}, refused {refused:?}", paths.len());
    assert!(compared[0] > 1000, "{compared:?}");
}

/// Drake names what is in a model `model::name`; a file with one model goes without. A joint goes to its child's
/// model there.
fn ours_named<T>(list: &[T], theirs: &str, name: impl Fn(&T) -> &str) -> Option<usize> {
    let inner = theirs.split_once("::").map_or(theirs, |(_, inner)| inner);
    let last = theirs.rsplit("::").next().unwrap();
    let found = |wanted: &str| list.iter().position(|one| name(one) == wanted);
    found(theirs).or_else(|| found(inner)).or_else(|| found(last))
}

fn compare_sdformat(name: &str, robot: &Robot, theirs: &Value) -> [usize; 2] {
    let mut compared = [0, 0];
    for (link, theirs) in theirs["links"].as_object().unwrap() {
        let ours = ours_named(&robot.links, link, |link| &link.name);
        let ours = &robot.links[ours.unwrap_or_else(|| panic!("{name}: no link {link}"))];
        let what = format!("{name}, link {link}");
        same(&what, &figures(&ours.pose), &numbers(&theirs["pose"]), 1e-9);
        // Drake gives a massless link mass properties of its own
        if let Some(body) = ours.inertial.filter(|body| body.mass > 0.0) {
            let ours: Vec<f64> =
                [body.mass].into_iter().chain(body.center).chain(body.tensor).collect();
            same(&what, &ours, &numbers(&theirs["inertial"]), 1e-9);
        }
        compared[0] += 1;
    }
    for (joint, theirs) in theirs["joints"].as_object().unwrap() {
        let ours = ours_named(&robot.joints, joint, |joint| &joint.name);
        // Drake welds what is static and lets what is free float, by joints of its own
        let Some(ours) = ours.and_then(|id| robot.joints.get(id)) else { continue };
        compare_sdformat_joint(&format!("{name}, joint {joint}"), ours, theirs);
        compared[1] += 1;
    }
    compared
}

fn compare_sdformat_joint(what: &str, ours: &FileJoint, theirs: &Value) {
    let anchor: Vec<f64> = ours.anchor.iter().copied().collect();
    same(&format!("{what}: anchor"), &anchor, &numbers(&theirs["anchor"]), 1e-9);
    let Some(axis) = theirs.get("axis") else { return };
    let kind =
        if theirs["type"] == "revolute" { JointKind::Revolute } else { JointKind::Prismatic };
    assert_eq!(ours.kind, kind, "{what}");
    same(&format!("{what}: axis"), ours.axis.as_slice(), &numbers(axis), 1e-9);
    // 1e16 is the format's own way to say endless, which Drake keeps as a figure
    let open = |end: f64| if end.abs() >= 1e16 { ENDLESS.copysign(end) } else { end };
    let limit: Vec<f64> = numbers(&theirs["limit"]).into_iter().map(open).collect();
    same(&format!("{what}: limit"), &ends(ours.limit), &limit, 1e-9);
    for (name, ours) in
        [("velocity", bounded(ours.velocity)), ("damping", ours.damping.unwrap_or(0.0))]
    {
        same(&format!("{what}: {name}"), &[ours], &[theirs[name].as_f64().unwrap()], 1e-9);
    }
}

/// A file's elements that say nothing of links and joints, some of which Drake refuses.
const SHAPES: [&str; 3] = ["visual", "collision", "contact"];

/// The text without some of its elements.
fn cut(document: &Document, mut cuts: Vec<Range<usize>>) -> String {
    let mut text = document.text().to_owned();
    cuts.sort_by_key(|cut| std::cmp::Reverse(cut.start));
    cuts.into_iter().for_each(|cut| text.replace_range(cut, ""));
    text
}

/// A link may not be called that, Drake finds.
fn without_a_link_world(text: String) -> String {
    if !text.contains("<link name='world'>") {
        return text;
    }
    text.replace("<link name='world'>", "<link name='ground'>").replace(">world<", ">ground<")
}

/// Copies of the packages' SDFormat files without shapes.
fn bare_files() -> Vec<PathBuf> {
    let folder = venv::target().join("engines").join("robots");
    fs::create_dir_all(&folder).unwrap();
    let copy = |(at, path): (usize, &PathBuf)| {
        let name = path.file_name().unwrap().to_str().unwrap();
        let document = Document::read(name, fs::read(path).unwrap()).unwrap();
        let links = document.root().descendants().filter(|element| element.name() == "link");
        let shapes = links.flat_map(|link| link.children());
        let shapes = shapes.filter(|element| SHAPES.contains(&element.name()));
        let bare = folder.join(format!("bare_{at}_{name}"));
        let text = cut(&document, shapes.map(|shape| shape.range()).collect());
        fs::write(&bare, without_a_link_world(text)).unwrap();
        bare
    };
    files("sdf").iter().enumerate().map(copy).collect()
}

#[test]
fn engine_drake_sees_sdformat_files_as_we_do() {
    let mut paths = bare_files();
    let own = ["nested_arm.sdf", "model_axes.sdf"];
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("models/robots");
    paths.extend(own.map(|name| folder.join(name)));
    let mut read_by_both = Vec::new();
    for (path, theirs) in paths.iter().zip(ask("robot_drake.py", &paths)) {
        let name = path.file_name().unwrap().to_str().unwrap();
        if let Some(why) = theirs.get("refused") {
            println!("{name}: {why}");
        } else {
            let [links, joints] = compare_sdformat(name, &read(path).unwrap(), &theirs);
            read_by_both.push(format!("{name} {links}/{joints}"));
        }
    }
    println!("{read_by_both:#?}");
    assert_eq!(read_by_both.len(), 24);
    for name in ["nested_arm.sdf 5/4", "model_axes.sdf 3/3"] {
        assert!(read_by_both.iter().any(|one| one == name), "{name}");
    }
}

/// The file without these joints, for an engine that closes no loops. It turns no ball joint's sides round, as a tree
/// may need, but a fixed one's; where the joint is drawn is the same.
fn without(robot: &Robot, joints: &[&FileJoint]) -> String {
    let cuts = joints.iter().map(|joint| robot.element(joint.place).unwrap().range()).collect();
    let text = cut(&robot.documents[0], cuts);
    text.replace("type=\"ball\"", "type=\"fixed\"")
}

/// The joints that close a loop if joints are put in by this order.
fn closing<'a>(links: usize, joints: &[&'a FileJoint]) -> Vec<&'a FileJoint> {
    let mut group: Vec<usize> = (0..links).collect();
    let mut found = Vec::new();
    for joint in joints {
        let (a, b) = (group[joint.parent], group[joint.child]);
        if a == b {
            found.push(*joint);
        }
        group.iter_mut().filter(|other| **other == b).for_each(|other| *other = a);
    }
    found
}

/// The file without loops, twice: what is cut in the first is in the second.
fn opened(robot: &Robot) -> [String; 2] {
    let all: Vec<&FileJoint> = robot.joints.iter().collect();
    let first = closing(robot.links.len(), &all);
    let is_new = |joint: &&&FileJoint| !first.iter().any(|other| other.place == joint.place);
    let turned: Vec<_> = first.iter().chain(all.iter().filter(is_new)).copied().collect();
    let second = closing(robot.links.len(), &turned);
    [without(robot, &first), without(robot, &second)]
}

/// The biped's links, as counted in its files.
const LINKS: usize = 23;

/// Every link and joint of a file with loops.
fn compare_opened(name: &str, whole: &Robot) {
    let folder = venv::target().join("engines").join("robots");
    fs::create_dir_all(&folder).unwrap();
    let mut paths = Vec::new();
    for (at, text) in opened(whole).into_iter().enumerate() {
        paths.push(folder.join(format!("opened_{at}_{name}")));
        fs::write(&paths[at], text).unwrap();
    }
    let mut seen = Vec::new();
    for theirs in ask("robot_drake.py", &paths) {
        assert!(theirs.get("refused").is_none(), "{name}: {}", theirs["refused"]);
        let [links, _] = compare_sdformat(name, whole, &theirs);
        assert_eq!(links, LINKS, "{name}");
        seen.extend(theirs["joints"].as_object().unwrap().keys().cloned());
    }
    for joint in &whole.joints {
        let is_seen = |name: &String| name.ends_with(&format!("::{}", joint.name));
        assert!(seen.iter().any(is_seen), "{name}: {} was in neither", joint.name);
    }
}

#[test]
fn engine_drake_sees_the_bipeds_links_and_joints_where_we_do() {
    for (name, joints) in [
        ("cassie_v2.sdf", 26),
        ("cassie_simple.sdf", 27),
        ("cassie_reduced.sdf", 27),
        ("cassie_wo_gearbox_spring.sdf", 27),
    ] {
        let whole = read(&venv::package_file(name)).unwrap();
        let ground = whole.links.iter().filter(|link| link.name == "world").count();
        assert_eq!((whole.links.len() - ground, whole.joints.len()), (LINKS, joints), "{name}");
        compare_opened(name, &whole);
    }
}
