//! Whole processes of `check` on many realistic designs beside the demo's: `cargo bench --bench verdicts -- [COUNT] [SEED]`.
//!
//! Prints how the time of a whole check is distributed, as multiples of the demo's check in the same run, and the
//! designs that took longest.

#![allow(clippy::print_stdout, reason = "its output is its purpose")]

mod realistic;

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use realistic::Realistic;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/models/ankle.toml");
const DRIVES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/models/drives");
/// Two motors with a rod each: their checks are told beside the demo's as well.
const TWO_MOTORS: [&str; 3] = ["ankle_parallel.toml", "ankle_toed_in.toml", "ankle_actuators.toml"];
const VERDICTS: [&str; 3] = ["EQUIVALENT", "NOT EQUIVALENT", "UNDECIDED"];

fn main() {
    let mut numbers = std::env::args().filter_map(|argument| argument.parse::<u64>().ok());
    let count = numbers.next().unwrap_or(2000);
    let seed = numbers.next().unwrap_or(1);
    let rows: Vec<(Realistic, Option<String>, f64)> = realistic::designs(seed)
        .take(usize::try_from(count).unwrap_or(2000))
        .map(|design| match beside_the_demo(&design.text("realistic")) {
            Some((verdict, ratio)) => (design, Some(verdict), ratio),
            None => (design, None, 0.0),
        })
        .collect();
    print_verdicts(&rows);
    print_distribution(rows.iter().map(|row| row.2).collect());
    for model in TWO_MOTORS {
        let text = std::fs::read_to_string(Path::new(DRIVES).join(model)).unwrap_or_default();
        if let Some((verdict, ratio)) = beside_the_demo(&text) {
            println!("{model}: {verdict}, {ratio:.2} times the demo");
        }
    }
    let mut slowest: Vec<_> = rows.iter().collect();
    slowest.sort_by(|a, b| b.2.total_cmp(&a.2));
    for (design, _, ratio) in slowest.into_iter().take(3) {
        println!("\n# {ratio:.1} times the demo\n{}", design.text("slow"));
    }
}

/// The verdict with the time of the whole process as a multiple of the demo's, both taken in turns, the best of three:
/// the machine has other work, and its clock drifts.
fn beside_the_demo(text: &str) -> Option<(String, f64)> {
    let file = Path::new(env!("CARGO_TARGET_TMPDIR")).join("realistic.toml");
    std::fs::write(&file, text).ok()?;
    let mut best = [Duration::MAX; 2];
    let mut verdict = None;
    for _ in 0..3 {
        best[0] = best[0].min(checked(Path::new(DEMO))?.1);
        let (said, time) = checked(&file)?;
        best[1] = best[1].min(time);
        verdict = Some(said);
    }
    Some((verdict?, best[1].as_secs_f64() / best[0].as_secs_f64()))
}

/// The verdict that the first line of `check` says.
fn checked(file: &Path) -> Option<(String, Duration)> {
    let start = Instant::now();
    let output = Command::new(env!("CARGO_BIN_EXE_unloop")).arg("check").arg(file).output().ok()?;
    let time = start.elapsed();
    let said = String::from_utf8(output.stdout).ok()?;
    let verdict = VERDICTS.into_iter().find(|verdict| said.contains(&format!(": {verdict} ")))?;
    Some((verdict.to_owned(), time))
}

fn print_verdicts(rows: &[(Realistic, Option<String>, f64)]) {
    let count = |wanted: Option<&str>| rows.iter().filter(|row| row.1.as_deref() == wanted).count();
    println!(
        "{} designs: {} equivalent, {} not, {} undecided, {} refused",
        rows.len(),
        count(Some(VERDICTS[0])),
        count(Some(VERDICTS[1])),
        count(Some(VERDICTS[2])),
        count(None)
    );
}

fn print_distribution(mut ratios: Vec<f64>) {
    ratios.sort_by(f64::total_cmp);
    let at = |thousandths: usize| {
        let last = ratios.len().saturating_sub(1);
        ratios.get(last * thousandths / 1000).copied().unwrap_or(0.0)
    };
    println!(
        "check over the demo's: p50 {:.2}, p90 {:.2}, p99 {:.2}, most {:.2}",
        at(500),
        at(900),
        at(990),
        at(1000)
    );
}
