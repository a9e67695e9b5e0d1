//! Attacks `fold` with changed robot files for as long as it is told: `cargo bench --bench fold_attack --
//! SECONDS SEED`. What folds must still load in the engine where the changed file did. Files that break it are kept in
//! `target/fold_attack/`; the exit status is 1 then.
//!
//! Needs the Python environment of the engine tests under `target/engines-venv`.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a program for those who work on this one: it stops where its own surroundings fail"
)]

#[path = "../tests/changed_structure/mod.rs"]
mod changed_structure;

use std::io::{BufRead, BufReader, Lines, Write};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, ExitCode, Stdio};
use std::time::{Duration, Instant};

use changed_structure::Attack;
use unloop::design::Preset;
use unloop::handover::Form;
use unloop::handover::find::{FindOptions, find};
use unloop::handover::fold::{FoldOptions, fold};
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

/// The engine, asked a pair of files at a time.
struct Engine {
    child: Child,
    answers: Lines<BufReader<ChildStdout>>,
}

impl Engine {
    fn start(root: &Path) -> Self {
        let mut child = Command::new(root.join("target/engines-venv/bin/python"))
            .arg(root.join("tests/engines/loads_still.py"))
            .current_dir(root.join("target"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let answers = BufReader::new(child.stdout.take().unwrap()).lines();
        Self { child, answers }
    }

    fn loads(&mut self, closed: &str, folded: &str) -> String {
        let pair = serde_json::json!({ "closed": closed, "folded": folded });
        writeln!(self.child.stdin.as_mut().unwrap(), "{pair}").unwrap();
        self.answers.next().unwrap().unwrap()
    }

    fn stop(mut self) {
        drop(self.child.stdin.take());
        self.child.wait().unwrap();
    }
}

fn options(round: u64) -> FoldOptions {
    FoldOptions {
        model: if round.is_multiple_of(3) { Form::Coupled } else { Form::Direct },
        anyway: round.is_multiple_of(2),
        keep_visuals: round % 5 == 1,
        limits: LimitBasis::Guaranteed,
        actuator: ActuatorUnits::Joint,
    }
}

/// Folds every loop of one changed file; the folded texts that the engine does not take, with what it says.
fn attacked(changed: &str, engine: &mut Engine, counts: &mut Counts) -> Vec<(String, String)> {
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    let Ok(robot) = unloop::robot::read("attack", changed.as_bytes().to_vec(), none) else {
        return Vec::new();
    };
    counts.read += 1;
    let mut broken = Vec::new();
    for found in find(&robot, FindOptions::new(Preset::Coarse)) {
        let Ok(folded) = fold(&robot, &found, options(counts.read)) else {
            counts.refused += 1;
            continue;
        };
        counts.folded += 1;
        match engine.loads(changed, &folded.text).as_str() {
            "ok" => counts.loads += 1,
            "input" => counts.refused_by_engine_before += 1,
            why => broken.push((folded.text, why.to_owned())),
        }
    }
    broken
}

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1).filter(|argument| argument != "--bench");
    let mut number =
        |default: u64| arguments.next().and_then(|a| a.parse().ok()).unwrap_or(default);
    let (seconds, seed) = (number(60), number(1));
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let out = root.join("target/fold_attack");
    std::fs::create_dir_all(&out).unwrap();
    let mut engine = Engine::start(root);
    let text = std::fs::read_to_string(root.join("models/robots/leg.xml")).unwrap();
    let end = Instant::now() + Duration::from_secs(seconds);
    let (mut counts, mut attack) = (Counts::default(), Attack::new(seed));
    while Instant::now() < end {
        let Some(changed) = attack.changed(&text) else { continue };
        counts.changed += 1;
        for (folded, why) in attacked(&changed, &mut engine, &mut counts) {
            counts.broken += 1;
            let name = format!("{seed}-{}", counts.changed);
            std::fs::write(out.join(format!("{name}.xml")), &changed).unwrap();
            std::fs::write(out.join(format!("{name}.folded.xml")), folded).unwrap();
            println!("{name}: {:?}: {why}", options(counts.read));
        }
    }
    engine.stop();
    println!("{counts:?}");
    if counts.broken == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
