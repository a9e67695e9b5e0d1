//! How coarse may the parts be made, for rockers of several lengths? `cargo run --example largest_tolerance`.

#![allow(clippy::print_stdout, reason = "its output is its purpose")]

use unloop::equivalence::{
    Constants, Family, LengthName, Limits, Prover, Zeroing, largest_alone, largest_tolerance,
};
use unloop::linkage::{Branch, Closure, Drive, FourBar, LinkageFault, Stroke, Sweep};
use unloop::numeric::Interval;

/// A near-parallelogram on a shank, m.
fn drawn(rocker: f64) -> FourBar {
    FourBar { ground: 0.300, crank: 0.045, coupler: 0.300, rocker }
}

/// The largest ± on all four lengths together, and on the coupler alone with the others exact, m.
fn tolerances(bars: FourBar) -> Result<[Option<f64>; 2], LinkageFault> {
    let branch = Branch::through(bars, 90_f64.to_radians(), Closure::Open)?;
    let stroke = Stroke::on(&branch, Drive::Motor, [-0.6, 0.7])?;
    let joint = Constants { ratio: None, offset: None }.resolve(&Sweep::over(&branch, stroke)?);
    let limits = Limits { angle: 0.01, ratio: 0.03, transmission_angle: 0.6 };
    // The zero is set on each robot built, so that only what comes after it counts as an error.
    let prover = Prover::new(&branch, &joint, Zeroing::OnEachRobot, limits);
    let exact = Family::symmetric(&bars, 0.0, Interval::ZERO);
    Ok([
        largest_tolerance(&prover, &branch, Interval::ZERO, stroke.motor),
        largest_alone(&prover, &branch, &exact, LengthName::Coupler, stroke.motor),
    ])
}

fn main() -> Result<(), LinkageFault> {
    println!(
        "rocker mm   all four    coupler alone   (proved for every pose and every such linkage)"
    );
    for rocker in [0.0450, 0.0452, 0.0455, 0.0460, 0.0480] {
        let [all, alone] = tolerances(drawn(rocker))?.map(|found| match found {
            Some(tolerance) => format!("± {:.3} mm", 1e3 * tolerance),
            None => "not proved".to_owned(),
        });
        println!("{:>9.1}   {all:<11} {alone}", 1e3 * rocker);
    }
    Ok(())
}
