//! Emitted grippers in MuJoCo and Pinocchio: the counter-turning pair beside the closed loops and the slide.

use crate::venv;

use std::fs;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

use serde_json::{Value, json};
use unloop::design::Design;
use unloop::handover::{Ask, Emission, Form, Format, emit_drawn};
use unloop::study::{self, Mechanism};

fn model(name: &str) -> String {
    fs::read_to_string(format!("models/{name}.toml")).unwrap()
}

fn emitted(text: &str, form: Form, format: Format) -> (Design, Emission) {
    let (design, _) = unloop::design::parse("g.toml", text).unwrap_or_else(|r| panic!("{r}"));
    let mechanism = Mechanism::of(&design).unwrap();
    let check = study::check_on(&design, &mechanism).unwrap();
    let ask = Ask { whole: true, anyway: true, ..Ask::new(form, format) };
    let emission =
        emit_drawn(&design, &mechanism, &check, &ask).unwrap_or_else(|f| panic!("{f:?}"));
    (design, emission)
}

fn written(text: &str, suffix: &str) -> PathBuf {
    static FILES: AtomicUsize = AtomicUsize::new(0);
    let folder = venv::target().join("engines").join("grippers");
    fs::create_dir_all(&folder).unwrap();
    let path = folder.join(format!("{}.{suffix}", FILES.fetch_add(1, Ordering::Relaxed)));
    fs::write(&path, text).unwrap();
    path
}

/// The pads in their links' frames, which are aligned with the palm in the zero pose: the drawing's x and y are the palm's.
fn pads(of_pair: bool) -> Value {
    let at = if of_pair { [0.01, 0.03, 0.0] } else { [0.0; 3] };
    json!([
        {"link": "finger_left", "point": at, "closing": [-1.0, 0.0, 0.0]},
        {"link": "finger_right", "point": [-at[0], at[1], at[2]], "closing": [1.0, 0.0, 0.0]},
    ])
}

fn file(emission: &Emission, suffix: &str) -> Value {
    let finger = emission.joints[0].finger.as_ref().unwrap();
    json!({
        "path": written(&emission.file, suffix),
        "followers": serde_json::to_value(&finger.followers).unwrap(),
        "pads": pads(true),
        "start": {},
        "damping": 0.05,
    })
}

/// With the file's own readings over the stroke; of a loop from the zero pose to both ends.
fn over(mut file: Value, readings: &[f64]) -> Value {
    file["readings"] = json!(readings);
    file
}

fn ask(request: &Value) -> Value {
    let run = venv::script("gripper.py", &request.to_string());
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    serde_json::from_slice(&run.stdout).unwrap()
}

fn furthest(a: &Value, b: &Value) -> f64 {
    let flat = |value: &Value| -> Vec<f64> {
        let rows: Vec<Vec<f64>> = serde_json::from_value(value.clone()).unwrap();
        rows.into_iter().flatten().collect()
    };
    let (a, b) = (flat(a), flat(b));
    assert!(!a.is_empty() && a.len() == b.len());
    a.iter().zip(&b).map(|(x, y)| (x - y).abs()).fold(0.0, f64::max)
}

fn to_both_ends(reads: f64, sign: f64) -> Vec<f64> {
    let way = |end: f64| (0..=20).map(move |k| reads + sign * end * f64::from(k) / 20.0);
    let end = 30.0_f64.to_radians();
    way(end)
        .chain((0..20).map(move |k| reads + sign * end * (1.0 - f64::from(k) / 20.0)))
        .chain(way(-end))
        .collect()
}

/// Other readings, the motor's sense turned round.
fn with_readings(text: &str) -> String {
    text.replace("set_by = \"jig\"", "set_by = \"jig\"\nmotor_reads = \"20 deg\"")
        .replace("axis             =", "motor_sign = -1\naxis             =")
}

#[test]
fn in_the_engine_the_pads_of_the_counter_turning_pair_are_where_the_closed_loops_have_them() {
    for (text, reads, sign) in [
        (model("gripper_parallel"), 0.0, 1.0),
        (with_readings(&model("gripper_parallel")), 20.0_f64.to_radians(), -1.0),
    ] {
        let readings = to_both_ends(reads, sign);
        let (_, pair) = emitted(&text, Form::Direct, Format::Mjcf);
        let (_, looped) = emitted(&text, Form::Loop, Format::Mjcf);
        let (_, urdf) = emitted(&text, Form::Direct, Format::Urdf);
        let mut closed = over(file(&looped, "xml"), &readings);
        closed["start"] = json!({"pad_left": -reads, "pad_right": -reads});
        let found = ask(&json!({
            "driver": "grip",
            "files": {
                "pair": over(file(&pair, "xml"), &readings),
                "loop": closed,
                "urdf": over(file(&urdf, "urdf"), &readings),
            },
        }));
        let off = furthest(&found["pair"]["poses"], &found["loop"]["poses"]);
        assert!(off < 1e-6, "pads are {off} apart");
        let moves = &found["urdf"]["moves"];
        assert_eq!((moves["nq"].as_u64(), moves["ties"].as_u64()), (Some(1), Some(3)));
        assert!(moves["off"].as_f64().unwrap() < 1e-9, "{moves}");
    }
}

/// Half of the block's width where the pads touch it at this motor turn.
fn block(turn: f64) -> f64 {
    0.025 - 0.04 * turn.sin()
}

#[test]
fn in_the_engine_both_models_grip_a_block_as_the_formula_says() {
    let text = model("gripper_parallel");
    let slide = text.replace("[actuator]", "[direct_joint]\nstand_in = \"slide\"\n[actuator]");
    let (_, pair) = emitted(&text, Form::Direct, Format::Mjcf);
    let (_, looped) = emitted(&text, Form::Loop, Format::Mjcf);
    let (_, slides) = emitted(&slide, Form::Direct, Format::Mjcf);
    let mut one = file(&slides, "xml");
    one["metres"] = json!(true);
    one["damping"] = json!(30.0);
    let turns = [0.0, 18.0].map(f64::to_radians);
    let formula = turns.map(|turn: f64| 1.0 / (2.0 * 0.04 * turn.cos()));
    let grips: Vec<Value> = turns
        .iter()
        .zip(formula)
        .map(|(turn, force)| {
            json!({
                "half": block(*turn), "at": [0.01, 0.07 - 0.04 * (1.0 - turn.cos()), 0.0],
                "start": turn - 0.05, "way": 0.04 * turn.sin() - 0.002, "force": 2.0 * force,
            })
        })
        .collect();
    let found = ask(&json!({
        "driver": "grip", "grips": grips,
        "files": {"pair": file(&pair, "xml"), "loop": file(&looped, "xml"), "slide": one},
    }));
    for (k, wanted) in formula.iter().enumerate() {
        let forces = |name: &str| -> Vec<f64> {
            let grip = &found[name]["grips"][k];
            assert!(grip["speed"].as_f64().unwrap() < 1e-4, "{name} still moves: {grip}");
            serde_json::from_value(grip["forces"].clone()).unwrap()
        };
        let all = ["pair", "loop", "slide"].map(forces);
        println!("formula {wanted}: {all:?}");
        for force in all.iter().flatten() {
            assert!((force / wanted - 1.0).abs() < 0.01, "{wanted}: {all:?}");
        }
        assert!(all.iter().all(|forces| forces.len() == 2), "{all:?}");
        for (tree, closed) in all[0].iter().zip(&all[1]) {
            assert!((tree / closed - 1.0).abs() < 1e-3, "{all:?}");
        }
    }
}

/// The rocker's centre on B, and a crank that bears its share: then the pair's bodies are exact.
fn exact() -> String {
    let text = model("gripper_parallel");
    let (head, tail) = text.split_once("[mass.child]").unwrap();
    let tail = tail.replacen("[\"20 mm\", \"0 mm\"]", "[\"0 mm\", \"0 mm\"]", 1);
    let head = head.replace(
        "[\"0.6e-6 kg m2\", \"2.9e-6 kg m2\", \"3.2e-6 kg m2\"",
        "[\"3.0e-5 kg m2\", \"3.2e-5 kg m2\", \"3.6e-5 kg m2\"",
    );
    format!("{head}[mass.child]{tail}")
}

#[test]
fn a_push_from_outside_moves_palm_and_pads_of_the_pair_as_those_of_the_closed_loops() {
    let text = exact();
    let (_, pair) = emitted(&text, Form::Direct, Format::Mjcf);
    let (_, looped) = emitted(&text, Form::Loop, Format::Mjcf);
    let state = |reading: f64, rate: f64| {
        json!({
            "reading": reading,
            "speeds": [0.3, -0.2, 0.1, 0.7, -0.4, 1.1, rate],
            "push": [[3.0, -5.0, 2.0], [1.0, 4.0, -2.5]],
        })
    };
    let mut open = file(&pair, "xml");
    open["rates"] = json!({"grip": 1.0, "pad_left": -1.0, "grip_right": 1.0, "pad_right": -1.0});
    let mut closed = file(&looped, "xml");
    closed["rates"] = json!({
        "grip": 1.0, "pad_left": -1.0, "grip_right": 1.0, "pad_right": -1.0, "grip_rocker": 1.0, "grip_right_rocker": 1.0,
    });
    let found = ask(&json!({
        "driver": "grip", "states": [state(0.0, 2.0), state(0.4, -3.0), state(-0.5, 1.0)],
        "files": {"pair": open, "loop": closed},
    }));
    let (ours, theirs) = (&found["pair"]["responses"], &found["loop"]["responses"]);
    let rows: Vec<Vec<f64>> = serde_json::from_value(theirs.clone()).unwrap();
    let size = rows.iter().flatten().fold(0.0_f64, |most, x| most.max(x.abs()));
    let off = furthest(ours, theirs) / size;
    assert!(off < 1e-6, "accelerations are off by {off} of the largest");
}
