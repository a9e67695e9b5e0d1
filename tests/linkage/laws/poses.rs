//! Single poses: digits kept, the loop closed, rates, power, scale and mirror.

use std::f64::consts::{PI, TAU};

use proptest::prelude::*;
use unloop::linkage::{Branch, Closure, FourBar, Pose};

use super::linkages::{bars, branch, cases, scaled, share, sin_mu, span, turn_at};

/// Poses with 60 digits, see `tests/scripts/pose_vectors.py`.
struct Vector {
    kind: String,
    bars: FourBar,
    phi: f64,
    closure: Closure,
    figures: [f64; 6],
}

fn vectors() -> Vec<Vector> {
    let lines = include_str!("../../data/pose_vectors.txt").lines().filter(|l| !l.starts_with('#'));
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
            2e-13 * lead.abs(),
            2e-13 * excess.abs(),
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

/// The derivative of `f` at `x` by differences of fourth order.
fn difference(f: impl Fn(f64) -> f64, x: f64, step: f64) -> f64 {
    (8.0 * (f(x + step) - f(x - step)) - (f(x + 2.0 * step) - f(x - 2.0 * step))) / (12.0 * step)
}

proptest! {
    #![proptest_config(cases(1024))]

    #[test]
    fn the_loop_closes(branch in branch(), share in share(), exponent in -9..5_i32) {
        let b = scaled(branch.bars(), 10.0_f64.powi(exponent));
        let phi = branch.zero_crank() + turn_at(&branch, share);
        let Ok(pose) = b.at(phi, branch.closure()) else { return Ok(()) };
        let gap = (pose.rocker_pin() - pose.crank_pin()).norm() - b.coupler;
        // Where P comes close to B the direction of the line between them is less certain.
        let room = 1e-15 * b.longest() * (4.0 + b.longest() / pose.diagonal_squared.sqrt());
        prop_assert!(gap.abs() <= room, "{b:?} at {phi}: {gap:e} over {room:e}");
        let arm = nalgebra::Vector2::from(pose.rocker_vector()).norm() - b.rocker;
        prop_assert!(arm.abs() <= room, "{b:?} at {phi}: rocker {arm:e} over {room:e}");
        let side = pose.rocker_vector()[0] * pose.coupler_vector()[1]
            - pose.rocker_vector()[1] * pose.coupler_vector()[0];
        prop_assert!((side - pose.m).abs() <= room * b.longest() * 4.0, "{b:?} at {phi}: M {side:e} {:e}", pose.m);
    }

    #[test]
    fn rates_are_differences_of_positions(branch in branch(), share in 0.01..0.99_f64) {
        let x = turn_at(&branch, share);
        let pose = branch.pose(x).unwrap();
        let near = sin_mu(&pose).min((pose.diagonal_squared / pose.bars.longest().powi(2)).sqrt());
        prop_assume!(near > 0.02);
        let at = |t: f64| branch.pose(t).unwrap();
        let [low, high] = span(&branch);
        let step = (1e-2 * near * near).min(0.005 * (x - low).min(high - x));
        let room = |value: f64| 1e-6 * (1.0 + value.abs()) / near.powi(3);
        let theta = |t: f64| libm::remainder(at(t).coupler_angle() - pose.coupler_angle(), TAU);
        for (name, exact, by_differences) in [
            ("ratio", pose.velocity_ratio(), difference(|t| branch.joint_turn(t).unwrap(), x, step)),
            ("slope", pose.velocity_ratio_slope(), difference(|t| at(t).ratio_less_one, x, step)),
            ("curvature", pose.velocity_ratio_curvature(), difference(|t| at(t).velocity_ratio_slope(), x, step)),
            ("coupler rate", pose.coupler_rate(), difference(theta, x, step)),
            ("its slope", pose.coupler_rate_slope(), difference(|t| at(t).coupler_rate(), x, step)),
        ] {
            prop_assert!((exact - by_differences).abs() <= room(exact), "{name}: {exact} {by_differences} {near}");
        }
    }

    #[test]
    fn what_goes_in_at_the_crank_comes_out_at_the_rocker(branch in branch(), share in 0.01..0.99_f64) {
        // Seen from the other axis and in a mirror the rocker drives: without loss the ratios are each other's inverse.
        let FourBar { ground, crank, coupler, rocker } = *branch.bars();
        let phi = branch.zero_crank() + turn_at(&branch, share);
        let pose = branch.bars().at(phi, branch.closure()).unwrap();
        let r = pose.velocity_ratio();
        prop_assume!(sin_mu(&pose) > 1e-3 && r.abs() > 1e-3);
        let back = bars(ground, rocker, coupler, crank);
        let (closure, _) = Branch::nearest_closure(&back, PI - pose.rocker_angle(), PI - phi).unwrap();
        let driven = back.at(PI - pose.rocker_angle(), closure).unwrap();
        prop_assert!(libm::remainder(driven.rocker_angle() - (PI - phi), TAU).abs() < 1e-9);
        let room = 1e-13 * (1.0 + driven.velocity_ratio_slope().abs() * r.abs()) / sin_mu(&pose);
        prop_assert!((driven.velocity_ratio() * r - 1.0).abs() <= room, "{} {r} {room:e}", driven.velocity_ratio());
    }

    #[test]
    fn scale_and_mirror_change_nothing(branch in branch(), share in share(), exponent in -30..14_i32, by in 0.1..10.0_f64) {
        let phi = branch.zero_crank() + turn_at(&branch, share);
        let Ok(pose) = branch.bars().at(phi, branch.closure()) else { return Ok(()) };
        // A power of two moves no digit.
        let double = scaled(branch.bars(), 2.0_f64.powi(exponent)).at(phi, branch.closure()).unwrap();
        prop_assert_eq!(figures(&double), figures(&pose));
        let mirrored = branch.bars().at(-phi, branch.closure().other()).unwrap();
        let [lead, ratio, slope, curvature, coupler, mu] = figures(&pose);
        prop_assert_eq!(figures(&mirrored), [-lead, ratio, -slope, curvature, coupler, mu]);
        prop_assume!(sin_mu(&pose) > 1e-2);
        // Any other factor rounds the lengths, which costs digits where they matter most.
        let other = scaled(branch.bars(), by).at(phi, branch.closure()).unwrap();
        prop_assert!((other.ratio_less_one - ratio).abs() < 1e-11 * (1.0 + ratio.abs()) / sin_mu(&pose).powi(2));
    }

    #[test]
    fn whole_turns_of_the_crank_change_nothing(branch in branch(), share in 0.01..0.99_f64, turns in -100..100_i32) {
        let phi = branch.zero_crank() + turn_at(&branch, share);
        let pose = branch.bars().at(phi, branch.closure()).unwrap();
        prop_assume!(sin_mu(&pose) > 1e-2);
        let later = branch.bars().at(phi + f64::from(turns) * TAU, branch.closure()).unwrap();
        let room = 1e-12 * (1.0 + pose.velocity_ratio_slope().abs());
        prop_assert!((later.ratio_less_one - pose.ratio_less_one).abs() <= room / sin_mu(&pose));
    }
}
