use std::time::Instant;
use unloop::equivalence::*;
use unloop::linkage::*;
fn main() {
    for (name, bars, zero, lim, t) in [
        (
            "par",
            FourBar { ground: 0.21, crank: 0.042, coupler: 0.21, rocker: 0.042 },
            90f64,
            [-0.6, 0.7],
            1e-4,
        ),
        (
            "par30",
            FourBar { ground: 0.21, crank: 0.042, coupler: 0.21, rocker: 0.042 },
            90f64,
            [-1.0, 1.0],
            2e-4,
        ),
        (
            "knee",
            FourBar { ground: 0.21, crank: 0.040, coupler: 0.215, rocker: 0.052 },
            80f64,
            [-0.6, 0.7],
            1e-4,
        ),
        (
            "npar",
            FourBar { ground: 0.21, crank: 0.042, coupler: 0.2101, rocker: 0.042 },
            90f64,
            [-0.6, 0.7],
            1e-4,
        ),
    ] {
        for tol in [0.0, t] {
            for z in [Zeroing::OnEachRobot, Zeroing::AsDrawn] {
                let branch = Branch::through(bars, zero.to_radians(), Closure::Open).unwrap();
                let stroke = Stroke::on(&branch, Drive::Motor, lim).unwrap();
                let sweep = Sweep::over(&branch, stroke).unwrap();
                let joint = Constants { ratio: None, offset: Some(0.0) }.resolve(&sweep);
                let limits =
                    Limits { angle: 0.5f64.to_radians(), ratio: 0.02, transmission_angle: 0.5 };
                let p = Prover::new(&branch, &joint, z, limits);
                let fam = Family::symmetric(&bars, tol, unloop::numeric::Interval::ZERO);
                let t0 = Instant::now();
                let f = p.judge(&fam, lim);
                let dt = t0.elapsed();
                let t0 = Instant::now();
                let d = p.decide(&fam, lim);
                let dd = t0.elapsed();
                let fig = Figures::of(&sweep, &joint);
                println!("{name} tol {tol} {z:?}: {:?} decide {d:?} {:?}", dt, dd);
                for (n, x, nm) in [
                    ("angle", f.angle, fig.angle.value),
                    ("ratio", f.ratio, fig.ratio.value),
                    ("mu", f.transmission_angle, fig.transmission_angle.value),
                ] {
                    println!(
                        "   {n} {:?} bound {:?} seen {:.9} nominal {:.9} boxes {}",
                        x.outcome, x.bound, x.witness.value, nm, x.boxes
                    );
                }
            }
        }
    }
}
