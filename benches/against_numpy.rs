//! The kernel's side of the race with NumPy; `benches/run.sh` runs both.
//!
//! Each line read, a number of rounds, is answered by the best time of a round in nanoseconds a pose and by the sums
//! of both figures, so that the other side knows that it computes the same.
#![allow(clippy::print_stdout, reason = "its output is its purpose")]

use std::io::BufRead as _;
use std::time::{Duration, Instant};

use unloop::equivalence::{Criterion, DirectJoint, Limits, Zeroing};
use unloop::linkage::{Batch, Branch, Closure, FourBar, sweep_batch};
use unloop::tolerance::{Deviation, Distribution, Request, Spread, sample};

const KNEE: FourBar = FourBar { ground: 0.2, crank: 0.05, coupler: 0.21, rocker: 0.06 };
const POSES: u32 = 4096;
/// Calls in one round: long enough for the clock.
const CALLS: u32 = 50;

struct Table {
    cos: Vec<f64>,
    sin: Vec<f64>,
    velocity_ratio: Vec<f64>,
    sin_transmission: Vec<f64>,
}

impl Table {
    fn new() -> Self {
        let angles = || (0..POSES).map(|k| 0.8 + 1.4 * f64::from(k) / f64::from(POSES - 1));
        let empty = || angles().map(|_| 0.0).collect();
        Self {
            cos: angles().map(libm::cos).collect(),
            sin: angles().map(libm::sin).collect(),
            velocity_ratio: empty(),
            sin_transmission: empty(),
        }
    }

    fn round(&mut self) -> Duration {
        let start = Instant::now();
        for _ in 0..CALLS {
            let batch = Batch {
                cos: std::hint::black_box(&self.cos),
                sin: std::hint::black_box(&self.sin),
                velocity_ratio: &mut self.velocity_ratio,
                sin_transmission: &mut self.sin_transmission,
            };
            sweep_batch(std::hint::black_box(&KNEE), Closure::Open, batch);
        }
        start.elapsed() / CALLS
    }
}

/// Seconds for a tolerance study of `samples` linkages and the mean of their worst angle errors, rad.
fn study(samples: u64) -> String {
    let bars = FourBar { ground: 0.3, crank: 0.045, coupler: 0.3, rocker: 0.045 };
    let even = |half: f64| Deviation { lower: -half, upper: half };
    let found = Branch::through(bars, 90_f64.to_radians(), Closure::Open).map(|branch| {
        let request = Request {
            given_offset: Some(0.0),
            branch: &branch,
            joint: DirectJoint { ratio: 1.0, offset: 0.0 },
            zeroing: Zeroing::OnEachRobot,
            turns: [(-35_f64).to_radians(), 40_f64.to_radians()],
            limits: Limits { angle: 0.0087, ratio: 0.02, transmission_angle: 0.52 },
            spread: Spread {
                deviations: [even(1.5e-4), even(3e-4), even(1.5e-4), even(3e-4), even(0.0)],
                distribution: Distribution::Uniform,
                groups: Vec::new(),
            },
            tops: vec![(Criterion::Angle, 0.02), (Criterion::Ratio, 0.05)],
            finger: None,
            samples,
            seed: 1,
        };
        let start = Instant::now();
        let statistics = sample(&request, &|_| true);
        (
            start.elapsed().as_secs_f64(),
            statistics.of(Criterion::Angle).map_or(f64::NAN, |s| s.mean.value),
        )
    });
    let (seconds, mean) = found.unwrap_or((f64::NAN, f64::NAN));
    format!("{seconds} {mean}")
}

fn main() {
    if !std::env::args().any(|argument| argument == "--paced") {
        println!("benches/run.sh runs this beside NumPy");
        return;
    }
    let mut table = Table::new();
    for line in std::io::stdin().lock().lines().map_while(Result::ok) {
        if let Some(samples) = line.strip_prefix("study ") {
            println!("{}", study(samples.trim().parse().unwrap_or(1)));
            continue;
        }
        let rounds: u32 = line.trim().parse().unwrap_or(1);
        let best = (0..rounds).map(|_| table.round()).min().unwrap_or_default();
        let a_pose = best.as_secs_f64() * 1e9 / f64::from(POSES);
        let sum = |figures: &[f64]| figures.iter().sum::<f64>();
        println!("{a_pose} {} {}", sum(&table.velocity_ratio), sum(&table.sin_transmission));
    }
}
