//! Attacks the verdict for as long as it is told: `cargo bench --bench attack -- --minutes 60 --seed 1`.
//!
//! Draws families of linkages as design files, lets `check` judge them and holds every verdict, bound, witness and
//! figure against a closed form of its own with 32 digits at the worst linkages and poses that it finds. What breaks is
//! printed and written as a design file; then the exit status is 1.

#![allow(
    clippy::print_stdout,
    clippy::indexing_slicing,
    dead_code,
    unreachable_pub,
    reason = "its output is its purpose; indices run over arrays of fixed length; the test uses the rest"
)]

#[path = "attack/mod.rs"]
mod attack;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use clap::Parser;

use attack::families::Choice;
use attack::run::{Plan, Tried, attempt, current, run, shrunk};
use attack::tally::Tally;

/// Design files of one kind of break that are written.
const FILES: u32 = 20;

#[derive(Debug, Parser)]
struct Arguments {
    /// How long.
    #[arg(long, default_value_t = 1.0)]
    minutes: f64,
    /// Which designs are drawn.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// At most so many cases.
    #[arg(long, default_value_t = u64::MAX)]
    cases: u64,
    /// One case again, with its design and all that is found.
    #[arg(long)]
    case: Option<u64>,
    /// On so many threads.
    #[arg(long, default_value_t = 1)]
    threads: u64,
    /// Folder for designs that break something.
    #[arg(long, default_value = "target/attack")]
    out: PathBuf,
    /// Draw sizes that lie outside their own limits too.
    #[arg(long)]
    drawn_outside: bool,
    /// Draw fingers alone.
    #[arg(long)]
    fingers: bool,
    /// Draw rods in space, linear actuators and nuts on a guide alone.
    #[arg(long)]
    drives: bool,
    /// Draw two rods on a universal joint alone.
    #[arg(long)]
    ankles: bool,
    /// Given by cargo.
    #[arg(long, hide = true)]
    bench: bool,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    keep_panics(arguments.out.clone());
    if arguments.drives {
        return attack_drives(&arguments);
    }
    if arguments.ankles {
        return attack_ankles(&arguments);
    }
    if let Some(case) = arguments.case {
        return replay(&arguments, case);
    }
    let tally = Mutex::new(Tally::default());
    let plan = Plan {
        seed: arguments.seed,
        choice: choice(&arguments),
        threads: arguments.threads,
        seconds: 60.0 * arguments.minutes,
        cases: arguments.cases,
    };
    let (start, told) = (Instant::now(), Mutex::new(Instant::now()));
    let written = Mutex::new(BTreeMap::new());
    run(&plan, &tally, &|tried| {
        keep(tried, &arguments, &written);
        let mut told = told.lock().unwrap_or_else(PoisonError::into_inner);
        if told.elapsed() >= Duration::from_secs(60) {
            *told = Instant::now();
            let tally = tally.lock().unwrap_or_else(PoisonError::into_inner);
            println!("{:6.1} min: {}", start.elapsed().as_secs_f64() / 60.0, tally.progress());
        }
    });
    let tally = tally.lock().unwrap_or_else(PoisonError::into_inner);
    println!("seed {}, {:.1} min", plan.seed, start.elapsed().as_secs_f64() / 60.0);
    println!("{}", tally.summary());
    if tally.broken() > 0 { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

fn attack_drives(arguments: &Arguments) -> ExitCode {
    let Arguments { seed, cases, threads, .. } = *arguments;
    let broke = match arguments.case {
        Some(case) => attack::drives::replay(seed, case),
        None => attack::drives::run(seed, cases, 60.0 * arguments.minutes, threads),
    };
    if broke > 0 { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

fn attack_ankles(arguments: &Arguments) -> ExitCode {
    let Arguments { seed, cases, threads, .. } = *arguments;
    let broke = match arguments.case {
        Some(case) => attack::ankles::replay(seed, case),
        None => attack::ankles::run(seed, cases, 60.0 * arguments.minutes, threads),
    };
    if broke > 0 { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

fn choice(arguments: &Arguments) -> Choice {
    Choice { outside: arguments.drawn_outside, fingers: arguments.fingers }
}

fn replay(arguments: &Arguments, case: u64) -> ExitCode {
    let tried = attempt(arguments.seed, case, choice(arguments));
    println!("{}\n{:#?}\n{:.1} ms", tried.drawing.text(), tried.report, 1e3 * tried.seconds);
    if tried.report.breaks.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// Writes the design of a break, with rounder figures where it still breaks.
fn keep(tried: &Tried, arguments: &Arguments, written: &Mutex<BTreeMap<&'static str, u32>>) {
    let Some(first) = tried.report.breaks.first() else { return };
    {
        let mut written = written.lock().unwrap_or_else(PoisonError::into_inner);
        let count = written.entry(first.kind).or_default();
        *count += 1;
        if *count > FILES {
            return;
        }
    }
    let head: String = tried
        .report
        .breaks
        .iter()
        .map(|b| format!("# {}: {}\n", b.kind, one_line(&b.says)))
        .collect();
    let text = shrunk(tried, arguments.seed).text();
    let name = format!("{}_{}_{}.toml", first.kind.replace(' ', "_"), arguments.seed, tried.case);
    println!("case {} ({}): {}", tried.case, first.kind, one_line(&first.says));
    save(
        &arguments.out,
        &name,
        &format!("# seed {}, case {}\n{head}{text}", arguments.seed, tried.case),
    );
}

fn one_line(text: &str) -> String {
    text.replace('\n', " ")
}

fn save(folder: &Path, name: &str, text: &str) {
    let path = folder.join(name);
    let done = std::fs::create_dir_all(folder).and_then(|()| std::fs::write(&path, text));
    if let Err(error) = done {
        println!("{}: {error}", path.display());
    }
}

/// A panic of the library is a break: its design is kept before the program ends.
fn keep_panics(folder: PathBuf) {
    let before = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        let (case, text) = current();
        println!("PANIC at case {case}: {info}");
        save(
            &folder,
            &format!("panic_{case}.toml"),
            &format!("# {}\n{text}", one_line(&info.to_string())),
        );
        before(info);
        std::process::exit(1);
    }));
}
