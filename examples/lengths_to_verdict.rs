//! From four lengths to the best direct joint and a verdict on it: `cargo run --example lengths_to_verdict`.

#![allow(clippy::print_stdout, reason = "its output is its purpose")]

use std::error::Error;

use unloop::equivalence::{
    Basis, Constants, Family, Figure, Limits, Question, Weights, Zeroing, judge,
};
use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke, Sweep};
use unloop::numeric::Interval;

fn main() -> Result<(), Box<dyn Error>> {
    // Metres and radians. The crank stands upright in the zero pose; turns count from there.
    let bars = FourBar { ground: 0.300, crank: 0.045, coupler: 0.301, rocker: 0.046 };
    let branch = Branch::through(bars, 90_f64.to_radians(), Closure::Open)?;
    let stroke = Stroke::on(&branch, Drive::Joint, [-35.0, 40.0].map(f64::to_radians))?;

    // What is `None` is found: the constants with the smallest worst angle error.
    let free = Constants { ratio: None, offset: None };
    let joint = free.resolve(&Sweep::over(&branch, stroke)?);
    println!("gear ratio {:.5}, zero moved by {:.4} deg", joint.ratio, joint.offset.to_degrees());

    let limits =
        Limits { angle: 1_f64.to_radians(), ratio: 0.05, transmission_angle: 35_f64.to_radians() };
    let judgement = judge(&Question {
        branch: &branch,
        stroke,
        joint,
        limits,
        inertia_limit: 0.05,
        inertia_is_asked: false,
        weights: Weights::NotGiven(&["masses"]),
        basis: Basis::Tolerance,
        zeroing: Zeroing::OnEachRobot,
        finger: None,
        family: Family::symmetric(&bars, 0.1e-3, Interval::ZERO),
    })?;
    println!("{:?}, proved: {}", judgement.verdict, judgement.proved);
    for assessment in &judgement.criteria {
        let worst = assessment.worst().map(Figure::value);
        let title = assessment.criterion.title();
        println!(
            "{title:>20}: {:?}, worst {worst:?}, limit {}",
            assessment.outcome, assessment.limit
        );
    }
    Ok(())
}
