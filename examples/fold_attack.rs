//! Attacks `fold` with changed robot files for as long as it is told: `cargo run --release --example fold_attack --
//! SECONDS SEED`. What folds must still load in the engine where the changed file did. Files that break it are kept in
//! `target/fold_attack/`; the exit status is 1 then.
//!
//! Needs the Python environment of the engine tests under `target/engines-venv`.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a program for those who work on this one: it stops where its own surroundings fail"
)]

#[path = "../tests/attack/mod.rs"]
mod attack;

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use attack::Attack;
use unloop::design::Preset;
use unloop::handover::find::{FindOptions, find};
use unloop::handover::fold::{FoldModel, FoldOptions, fold};
use unloop::handover::{ActuatorUnits, LimitBasis};

/// What became of the changed files.
#[derive(Default, Debug)]
struct Counts {
    changed: u64,
    read: u64,
    folded: u64,
    refused: u64,
    refused_by_engine_before: u64,
    loads: u64,
    broken: u64,
}

fn main() -> std::process::ExitCode {
    let mut arguments = std::env::args().skip(1);
    let mut number =
        |default: u64| arguments.next().and_then(|a| a.parse().ok()).unwrap_or(default);
    let (seconds, seed) = (number(60), number(1));
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let out = root.join("target/fold_attack");
    std::fs::create_dir_all(&out).unwrap();
    let mut engine = Command::new(root.join("target/engines-venv/bin/python"))
        .arg(root.join("tests/engines/loads_still.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut ask = engine.stdin.take().unwrap();
    let mut answers = BufReader::new(engine.stdout.take().unwrap()).lines();
    let mut loads = |closed: &str, folded: &str| {
        let pair = serde_json::json!({ "closed": closed, "folded": folded });
        writeln!(ask, "{pair}").unwrap();
        answers.next().unwrap().unwrap()
    };
    let end = Instant::now() + Duration::from_secs(seconds);
    let mut counts = Counts::default();
    let mut attack = Attack::new(seed);
    let text = std::fs::read_to_string(root.join("models/robots/leg.xml")).unwrap();
    while Instant::now() < end {
        let Some(changed) = attack.changed(&text) else { continue };
        counts.changed += 1;
        let none = &mut |_: &str| Err("nothing is included".to_owned());
        let Ok(robot) = unloop::robot::read("attack", changed.clone().into_bytes(), none) else {
            continue;
        };
        counts.read += 1;
        let options = FoldOptions {
            model: if counts.read % 3 == 0 { FoldModel::Coupled } else { FoldModel::Direct },
            anyway: counts.read % 2 == 0,
            keep_visuals: counts.read % 5 == 1,
            limits: LimitBasis::Guaranteed,
            actuator: ActuatorUnits::Joint,
        };
        for found in find(&robot, FindOptions::of(Preset::Coarse)) {
            let Ok(folded) = fold(&robot, &found, options) else {
                counts.refused += 1;
                continue;
            };
            counts.folded += 1;
            match loads(&changed, &folded.text).as_str() {
                "ok" => counts.loads += 1,
                "input" => counts.refused_by_engine_before += 1,
                why => {
                    counts.broken += 1;
                    let name = format!("{seed}-{}", counts.changed);
                    std::fs::write(out.join(format!("{name}.xml")), &changed).unwrap();
                    std::fs::write(out.join(format!("{name}.folded.xml")), &folded.text).unwrap();
                    println!("{name}: {options:?}: {why}");
                }
            }
        }
    }
    println!("{counts:?}");
    if counts.broken == 0 {
        std::process::ExitCode::SUCCESS
    } else {
        std::process::ExitCode::FAILURE
    }
}
