//! Two hundred designs drawn at random, through the real program, against closed loops made from the designs alone.
//!
//! `tests/engines/random_draw.py` draws them, `drawn_drive.py` is the second source: it reads the design's text itself and
//! works out what the drawn linkage weighs. `random_designs.py` lets MuJoCo load what was emitted and holds every stated
//! figure, and every file's mass matrix, limits and losses, to 1e-6 of the figure's natural size.

use crate::venv;

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;
use std::process::{Command, Output};
use std::thread;

use serde::Deserialize;
use serde_json::{Value, json};

const SEED: u32 = 20;

const DESIGNS: u32 = 200;

/// Share of a figure's natural size that stated and measured may differ by.
const ROOM: f64 = 1e-6;

/// One figure, as the program states it and as it is.
#[derive(Deserialize)]
struct Row {
    design: String,
    what: String,
    stated: Option<f64>,
    measured: f64,
    size: f64,
}

impl Row {
    fn off(&self) -> f64 {
        let off = self.stated.map_or(f64::NAN, |stated| (stated - self.measured).abs());
        if off == 0.0 { 0.0 } else { off / self.size }
    }

    fn holds(&self) -> bool {
        self.off() <= ROOM
    }
}

fn script(name: &str, input: &Value) -> Value {
    let output = venv::script(name, &input.to_string());
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{name}: {complaint}");
    serde_json::from_slice(&output.stdout).unwrap()
}

fn folder() -> PathBuf {
    let folder = venv::target().join("engines").join("random");
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn program(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_unloop")).args(arguments).output().unwrap()
}

/// What `unloop COMMAND --json` says; a design that it cannot read is no design of ours.
fn said(command: &str, file: &str) -> Value {
    let output = program(&[command, "--json", file]);
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.code().is_some_and(|code| code != 2), "{file}: {complaint}");
    serde_json::from_slice(&output.stdout).unwrap()
}

/// The design as a file.
fn written(name: &str, text: &str) -> String {
    let file = folder().join(format!("{name}.toml"));
    fs::write(&file, text).unwrap();
    file.to_str().unwrap().to_owned()
}

/// The emitted file with the JSON beside it, or why there is none.
fn emitted(name: &str, design: &str, model: &str) -> Value {
    let file = folder().join(format!("{name}_{model}.xml"));
    let path = file.to_str().unwrap();
    let output = program(&[
        "emit", design, "--to", "mjcf", "--whole", "--anyway", "--force", "--model", model, "-o",
        path,
    ]);
    if !output.status.success() {
        return json!({"refused": String::from_utf8_lossy(&output.stderr), "status": output.status.code()});
    }
    let joints = fs::read_to_string(file.with_extension("joint.json")).unwrap();
    let joints: Value = serde_json::from_str(&joints).unwrap();
    json!({"file": fs::read_to_string(&file).unwrap(), "joints": joints})
}

/// A drawn design with all that the program makes of it.
fn run(drawn: &Value) -> Value {
    let [name, text] = ["name", "text"].map(|key| drawn[key].as_str().unwrap());
    let path = &written(name, text);
    let models: BTreeMap<&str, Value> =
        ["direct", "coupled", "loop"].map(|model| (model, emitted(name, path, model))).into();
    let heavier = match &drawn["heavier"] {
        heavier if heavier.is_object() && models["direct"]["refused"].is_string() => {
            let [name, text] = ["name", "text"].map(|key| heavier[key].as_str().unwrap());
            emitted(name, &written(name, text), "direct")
        }
        _ => json!({}),
    };
    let alone: Vec<Value> =
        drawn["alone"].as_array().map(|all| all.iter().map(run).collect()).unwrap_or_default();
    json!({
        "name": name, "text": text, "alone": alone, "heavier": heavier, "models": models,
        "check": said("check", path), "loads": said("loads", path),
    })
}

/// Every `parts`-th design from the `first`.
fn measured(drawn: &[Value], first: usize, parts: usize) -> Value {
    let designs: Vec<Value> = drawn.iter().skip(first).step_by(parts).map(run).collect();
    script("random_designs.py", &json!({"designs": designs}))
}

fn all_measured() -> (Vec<Row>, BTreeMap<String, u32>) {
    let drawn = script("random_draw.py", &json!({"seed": SEED, "count": DESIGNS}));
    let drawn: &[Value] = drawn.as_array().unwrap();
    let parts = thread::available_parallelism().map_or(1, |n| n.get().min(4));
    let found: Vec<Value> = thread::scope(|scope| {
        let started: Vec<_> =
            (0..parts).map(|first| scope.spawn(move || measured(drawn, first, parts))).collect();
        started.into_iter().map(|part| part.join().unwrap()).collect()
    });
    let (mut rows, mut counts) = (Vec::new(), BTreeMap::new());
    for mut part in found {
        rows.extend(serde_json::from_value::<Vec<Row>>(part["rows"].take()).unwrap());
        for (what, count) in
            serde_json::from_value::<BTreeMap<String, u32>>(part["counts"].take()).unwrap()
        {
            *counts.entry(what).or_default() += count;
        }
    }
    (rows, counts)
}

/// Prints what was held, each with its worst; the lines of all that was not.
fn table(rows: &[Row]) -> Vec<String> {
    let mut by_figure: BTreeMap<&str, Vec<&Row>> = BTreeMap::new();
    rows.iter().for_each(|row| by_figure.entry(&row.what).or_default().push(row));
    for (what, rows) in by_figure {
        let worst = rows.iter().map(|row| row.off()).fold(0.0, f64::max);
        println!("{what:45} {:5} times, at most {worst:.1e} of its size off", rows.len());
    }
    let broken = rows.iter().filter(|row| !row.holds());
    broken
        .map(|row| {
            format!("{}: {}: stated {:?}, is {}", row.design, row.what, row.stated, row.measured)
        })
        .collect()
}

#[test]
fn in_the_engine_two_hundred_random_designs_weigh_pull_and_stop_as_is_stated() {
    let (rows, counts) = all_measured();
    let broken = table(&rows);
    println!("{counts:?}");
    let first = broken.iter().take(40).cloned().collect::<Vec<_>>().join("\n");
    assert!(
        broken.is_empty(),
        "{} of {} figures are not as stated:\n{first}",
        broken.len(),
        rows.len()
    );
}
