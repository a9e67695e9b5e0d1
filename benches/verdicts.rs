//! Checks of many realistic designs beside the demo's: `cargo bench --bench verdicts -- [COUNT] [SEED]`.
//!
//! Prints how the time of a whole check is distributed, as multiples of the demo's check in the same run, and the
//! designs that took longest.

#![allow(clippy::print_stdout, reason = "its output is its purpose")]

mod realistic;

use std::time::{Duration, Instant};

use realistic::Realistic;
use unloop::equivalence::Verdict;
use unloop::study::{Check, check};

const DEMO: &str = include_str!("../models/ankle.toml");

fn main() {
    let mut numbers = std::env::args().filter_map(|argument| argument.parse::<u64>().ok());
    let count = numbers.next().unwrap_or(2000);
    let seed = numbers.next().unwrap_or(1);
    let demo = (0..9).filter_map(|_| checked(DEMO).map(|(_, time)| time)).min();
    let demo = demo.unwrap_or(Duration::from_secs(1));
    println!("the demo's check: {:.2} ms", 1e3 * demo.as_secs_f64());
    let rows: Vec<(Realistic, Option<Check>, f64)> = realistic::designs(seed)
        .take(usize::try_from(count).unwrap_or(2000))
        .map(|design| match checked(&design.text("realistic")) {
            Some((check, time)) => (design, Some(check), time.as_secs_f64() / demo.as_secs_f64()),
            None => (design, None, 0.0),
        })
        .collect();
    print_verdicts(&rows);
    print_distribution(rows.iter().map(|row| row.2).collect());
    let mut slowest: Vec<_> = rows.iter().collect();
    slowest.sort_by(|a, b| b.2.total_cmp(&a.2));
    for (design, _, ratio) in slowest.into_iter().take(3) {
        println!("\n# {ratio:.1} times the demo\n{}", design.text("slow"));
    }
}

/// The better of two: the machine has other work.
fn checked(text: &str) -> Option<(Check, Duration)> {
    let once = || {
        let start = Instant::now();
        let design = unloop::design::read("design.toml", text.as_bytes()).ok()?.0;
        let check = check(&design).ok()?;
        Some((check, start.elapsed()))
    };
    [once(), once()].into_iter().flatten().min_by_key(|(_, time)| *time)
}

fn print_verdicts(rows: &[(Realistic, Option<Check>, f64)]) {
    let count = |wanted: Option<Verdict>| {
        rows.iter().filter(|row| row.1.as_ref().map(|check| check.verdict) == wanted).count()
    };
    println!(
        "{} designs: {} equivalent, {} not, {} undecided, {} refused",
        rows.len(),
        count(Some(Verdict::Equivalent)),
        count(Some(Verdict::NotEquivalent)),
        count(Some(Verdict::Undecided)),
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
