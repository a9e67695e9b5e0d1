//! What is emitted loads in independent engines without a warning, and they read it as it was meant.
//!
//! The engines (MuJoCo, Pinocchio, Drake, versions in `tests/engines/requirements.txt`) are the outside
//! truth; what they must find is worked out by hand in `tests/scenario`.

use crate::scenario;
use crate::venv;

use std::fs;
use std::path::PathBuf;

use roxmltree::{Document, Node};
use scenario::{Expected, Scenario, in_motor_units, options};
use serde_json::{Value, json};
use unloop::handover::{ActuatorUnits, Ask, Format};

/// Engines keep doubles; Drake and Pinocchio rotate inertias, which costs a few ulps.
const CLOSE: f64 = 1e-9;

/// Drake leaves friction out and says so; the file is right all the same.
const NO_FRICTION: &str = "MultibodyPlant does not currently support non-zero joint friction.";

struct Emitted {
    scenario: Scenario,
    options: Ask,
    path: PathBuf,
}

fn name_of(format: Format) -> &'static str {
    match format {
        Format::Urdf => "urdf",
        Format::Sdformat => "sdformat",
        Format::Mjcf => "mjcf",
    }
}

fn suffix(format: Format) -> &'static str {
    match format {
        Format::Urdf => "urdf",
        Format::Sdformat => "sdf",
        Format::Mjcf => "xml",
    }
}

/// Every scenario in one format, whole and as a snippet pasted into a file of somebody's own.
fn emitted(format: Format, engine: &str) -> Vec<Emitted> {
    let folder = venv::target().join("engines").join(engine);
    fs::create_dir_all(&folder).unwrap();
    let mut all = Vec::new();
    let choices = [options(format, true), options(format, false)];
    let motor = [in_motor_units(format, true), in_motor_units(format, false)];
    let motor = if format == Format::Mjcf { &motor[..] } else { &[] };
    for options in choices.iter().chain(motor) {
        for scenario in scenario::all() {
            if format == Format::Urdf && scenario.design.actuator.is_none() {
                continue;
            }
            let file = scenario.emit(options).unwrap().file;
            let text = if options.whole { file } else { pasted(&scenario, options, &file) };
            let kind = if options.whole { "whole" } else { "snippet" };
            let unit = if options.actuator == ActuatorUnits::Motor { "_motor" } else { "" };
            let name = format!("{}_{kind}{unit}.{}", scenario.name, suffix(format));
            let path = folder.join(name);
            fs::write(&path, text).unwrap();
            all.push(Emitted { scenario, options: *options, path });
        }
    }
    all
}

/// A file as a user has it, with the snippet pasted in by what its comments say.
fn pasted(scenario: &Scenario, options: &Ask, snippet: &str) -> String {
    let whole = Ask { whole: true, ..*options };
    let host = scenario.emit(&whole).unwrap().file;
    match options.format {
        Format::Mjcf => pasted_mjcf(&host, snippet),
        Format::Urdf => pasted_beside(&host, snippet, "robot"),
        Format::Sdformat => pasted_beside(&host, snippet, "model"),
    }
}

/// The host without its own moving joints, the snippet before the end of the element that holds them.
fn pasted_beside(host: &str, snippet: &str, holder: &str) -> String {
    let document = Document::parse(host).unwrap();
    let old = document.descendants().filter(|n| n.attribute("type") == Some("revolute"));
    let mut text = host.to_owned();
    for range in old.map(|n| n.range()).collect::<Vec<_>>().into_iter().rev() {
        text.replace_range(range, "");
    }
    text.replace(&format!("</{holder}>"), &format!("{snippet}</{holder}>"))
}

/// Each joint into its child's body, the actuators into the root.
fn pasted_mjcf(host: &str, snippet: &str) -> String {
    let wrapped = format!("<fragment>{snippet}</fragment>");
    let fragment = Document::parse(&wrapped).unwrap();
    let source = |n: Node<'_, '_>| wrapped[n.range()].to_owned();
    let elements: Vec<_> = fragment.root_element().children().filter(Node::is_element).collect();
    let host_document = Document::parse(host).unwrap();
    let mut edits: Vec<(std::ops::Range<usize>, String)> = Vec::new();
    for node in host_document.descendants() {
        let mine = |e: &&Node<'_, '_>| {
            e.tag_name() == node.tag_name()
                && (e.has_tag_name("actuator") || e.attribute("name") == node.attribute("name"))
        };
        let in_a_body = node.parent().is_some_and(|p| p.has_tag_name("body"));
        if (node.has_tag_name("joint") && in_a_body) || node.has_tag_name("actuator") {
            let mine = elements.iter().find(mine).expect("the snippet holds each joint");
            edits.push((node.range(), source(*mine)));
        }
    }
    let mut text = host.to_owned();
    for (range, new) in edits.into_iter().rev() {
        text.replace_range(range, &new);
    }
    text
}

/// Runs an engine over the files; no engine may say a word on standard error.
fn read(engine: &str, files: &[Emitted], at: impl Fn(&Expected) -> f64) -> Vec<Vec<Value>> {
    let requests: Vec<Value> = files
        .iter()
        .map(|file| {
            let joints = file.scenario.expected.iter().map(
                |e| json!({"joint": e.joint, "reading": at(e), "drive": drive(e, &file.options)}),
            );
            json!({
                "file": file.path,
                "format": name_of(file.options.format),
                "joints": joints.collect::<Vec<_>>(),
            })
        })
        .collect();
    let output = venv::script(&format!("read_{engine}.py"), &json!(requests).to_string());
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{engine} fails:\n{said}");
    let unexpected: Vec<&str> = said.lines().filter(|line| !line.ends_with(NO_FRICTION)).collect();
    assert!(unexpected.is_empty(), "{engine} has something to say:\n{said}");
    serde_json::from_slice(&output.stdout).unwrap()
}

/// Control signals and the torque at the joint that must come of them are paired by place.
fn drive(e: &Expected, options: &Ask) -> Vec<Value> {
    let step = 0.01;
    let control = |joint_target: f64, torque: f64| match (e.position_gain, options.actuator) {
        (Some(_), ActuatorUnits::Joint) => joint_target,
        (Some(_), ActuatorUnits::Motor) => e.motor_at_zero + e.gear * (joint_target - e.zero),
        (None, ActuatorUnits::Joint) => torque,
        (None, ActuatorUnits::Motor) => torque / e.gear,
    };
    vec![
        json!({"reading": e.zero, "speed": 0.0, "control": control(e.zero, 0.0)}),
        json!({"reading": e.zero, "speed": 0.0, "control": control(e.zero + step, 3.0)}),
        json!({"reading": e.zero, "speed": 0.5, "control": control(e.zero, 0.0)}),
    ]
}

fn torques(e: &Expected) -> [f64; 3] {
    match (e.position_gain, e.velocity_gain) {
        (Some(kp), kv) => [0.0, kp * 0.01, -kv.unwrap_or(0.0) * 0.5],
        (None, _) => [0.0, 3.0, 0.0],
    }
}

fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Array(values) => values.iter().map(|v| v.as_f64().unwrap()).collect(),
        Value::Null => Vec::new(),
        one => vec![one.as_f64().unwrap()],
    }
}

fn assert_close(found: &Value, expected: &[f64], what: &str) {
    let found = numbers(found);
    let close = found.len() == expected.len()
        && found.iter().zip(expected).all(|(a, b)| (a - b).abs() <= CLOSE * b.abs().max(1.0));
    assert!(close, "{what}: found {found:?}, expected {expected:?}");
}

/// What every engine reads of every format.
fn assert_joint(found: &Value, e: &Expected, file: &Emitted) {
    let what = |key: &str| format!("{} {} in {}", e.joint, key, file.path.display());
    assert_eq!(found["child"], e.child, "{}", what("child"));
    assert_eq!(found["limited"], true, "{}", what("limited"));
    assert_close(&found["limit"], &e.limit, &what("limit"));
    assert_close(&found["axis"], &e.axis, &what("axis"));
    assert_close(&found["origin"], &e.origin, &what("origin"));
    assert_close(&found["center"], &e.center, &what("mass centre in the zero pose"));
    assert_close(&found["tensor"], &e.tensor, &what("inertia in the zero pose"));
    assert_close(&found["mass"], &[0.9], &what("mass"));
    assert_close(&found["damping"], &[e.damping.unwrap_or(0.0)], &what("damping"));
}

fn assert_known(found: &Value, key: &str, expected: Option<f64>, file: &Emitted) {
    let what = format!("{key} in {}", file.path.display());
    assert_close(&found[key], expected.as_slice(), &what);
}

fn each(files: &[Emitted], found: &[Vec<Value>], judge: impl Fn(&Value, &Expected, &Emitted)) {
    assert_eq!(files.len(), found.len());
    for (file, joints) in files.iter().zip(found) {
        assert_eq!(file.scenario.expected.len(), joints.len());
        for (found, expected) in joints.iter().zip(&file.scenario.expected) {
            judge(found, expected, file);
        }
    }
}

fn check(engine: &str, format: Format, judge: impl Fn(&Value, &Expected, &Emitted)) {
    let files = emitted(format, engine);
    assert!(files.len() >= 8);
    let found = read(engine, &files, |e| e.zero);
    each(&files, &found, |found, expected, file| {
        assert_joint(found, expected, file);
        judge(found, expected, file);
    });
    let turned = read(engine, &files, |e| e.zero + 0.3);
    each(&files, &turned, |found, expected, file| {
        let rotation = rotation(expected.axis, expected.zero + 0.3);
        assert_close(&found["rotation"], &rotation, &format!("{:?}", file.path));
    });
}

/// Rodrigues' formula, row by row.
fn rotation([x, y, z]: [f64; 3], angle: f64) -> [f64; 9] {
    let (s, c) = angle.sin_cos();
    let v = 1.0 - c;
    [
        [c + x * x * v, x * y * v - z * s, x * z * v + y * s],
        [y * x * v + z * s, c + y * y * v, y * z * v - x * s],
        [z * x * v - y * s, z * y * v + x * s, c + z * z * v],
    ]
    .concat()
    .try_into()
    .unwrap()
}

#[test]
fn the_mujoco_engine_reads_mjcf_as_it_was_meant_and_drives_the_joint_so() {
    check("mujoco", Format::Mjcf, |found, e, file| {
        assert_known(found, "effort", e.effort, file);
        assert_close(&found["friction"], &[e.friction.unwrap_or(0.0)], "friction");
        assert_close(&found["armature"], &[e.armature.unwrap_or(0.0)], "armature");
        let gear = if file.options.actuator == ActuatorUnits::Motor { e.gear } else { 1.0 };
        assert_close(&found["gear"], &[gear], "gear");
        let what = format!("joint torque in {}", file.path.display());
        assert_close(&found["torques"], &torques(e), &what);
    });
}

#[test]
fn the_mujoco_engine_reads_urdf_as_it_was_meant() {
    check("mujoco", Format::Urdf, |found, e, file| {
        assert_known(found, "effort", e.effort, file);
        assert_close(&found["friction"], &[e.friction.unwrap_or(0.0)], "friction");
    });
}

#[test]
fn the_pinocchio_engine_reads_urdf_as_it_was_meant() {
    check("pinocchio", Format::Urdf, |found, e, file| {
        assert_known(found, "effort", e.effort, file);
        assert_known(found, "velocity", e.velocity, file);
        assert_known(found, "friction", e.friction, file);
    });
}

#[test]
fn the_pinocchio_engine_reads_mjcf_as_it_was_meant() {
    check("pinocchio", Format::Mjcf, |found, e, _| {
        assert_close(&found["friction"], &[e.friction.unwrap_or(0.0)], "friction");
        assert_close(&found["armature"], &[e.armature.unwrap_or(0.0)], "armature");
    });
}

#[test]
fn the_drake_engine_reads_sdformat_as_it_was_meant() {
    check("drake", Format::Sdformat, |found, e, file| {
        assert_known(found, "effort", e.effort, file);
        assert_known(found, "velocity", e.velocity, file);
    });
}

#[test]
fn the_drake_engine_reads_urdf_as_it_was_meant() {
    check("drake", Format::Urdf, |found, e, file| {
        assert_known(found, "velocity", e.velocity, file);
    });
}
