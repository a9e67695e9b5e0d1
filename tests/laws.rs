//! What holds for every four-bar, tried where it is most likely to fail.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a law that cannot be read off is a failed law"
)]

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use unloop::linkage::{Closure, FourBar, Pose};

/// Poses with 60 digits, see `scripts/pose_vectors.py`.
struct Vector {
    kind: String,
    bars: FourBar,
    phi: f64,
    closure: Closure,
    figures: [f64; 6],
}

fn vectors() -> Vec<Vector> {
    let lines = include_str!("data/pose_vectors.txt").lines().filter(|l| !l.starts_with('#'));
    let read = |line: &str| {
        let words: Vec<&str> = line.split(' ').collect();
        let number = |k: usize| words[k].parse::<f64>().unwrap();
        Vector {
            kind: words[0].to_owned(),
            bars: FourBar {
                ground: number(1),
                crank: number(2),
                coupler: number(3),
                rocker: number(4),
            },
            phi: number(5),
            closure: if words[6] == "1" { Closure::Crossed } else { Closure::Open },
            figures: [7, 8, 9, 10, 11, 12].map(number),
        }
    };
    lines.map(read).collect()
}

fn figures(pose: &Pose) -> [f64; 6] {
    [
        pose.rocker_lead(),
        pose.ratio_less_one,
        pose.velocity_ratio_slope(),
        pose.velocity_ratio_curvature(),
        pose.coupler_rate(),
        pose.transmission_angle(),
    ]
}

/// How far a pose may be off, as a share: angles and rates to a few roundings even where all pins are nearly in line;
/// slope and curvature lose the distance to the change point, once and twice.
#[test]
fn poses_keep_their_digits_up_to_the_change_point() {
    for v in vectors() {
        let from_line = libm::sin(v.phi).abs();
        let pose = v.bars.at(v.phi, v.closure).unwrap();
        let loss =
            if matches!(v.kind.as_str(), "change_point" | "few_ulps") { from_line } else { 1.0 };
        let [lead, excess, slope, curvature, coupler, mu] = v.figures;
        let size = slope.abs() + excess.abs();
        let rooms = [
            4e-14 * lead.abs(),
            4e-14 * excess.abs(),
            1e-14 / loss * size,
            4e-14 / (loss * loss) * (curvature.abs() + size),
            4e-14 * coupler.abs(),
            4e-15 * mu,
        ];
        for (k, room) in rooms.into_iter().enumerate() {
            let (ours, exact) = (figures(&pose)[k], v.figures[k]);
            assert!(
                (ours - exact).abs() <= room + 1e-250,
                "{} {:?} at {}, figure {k}: {ours} for {exact}",
                v.kind,
                v.bars,
                v.phi
            );
        }
    }
}
