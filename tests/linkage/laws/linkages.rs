//! Linkages and branches to try the laws on, and how they are walked along.

use std::f64::consts::{PI, TAU};

use proptest::prelude::*;
use unloop::linkage::{Branch, Closure, FourBar, Pose};

pub(crate) fn cases(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() }
}

pub(crate) fn bars(ground: f64, crank: f64, coupler: f64, rocker: f64) -> FourBar {
    FourBar { ground, crank, coupler, rocker }
}

pub(crate) fn scaled(b: &FourBar, by: f64) -> FourBar {
    bars(b.ground * by, b.crank * by, b.coupler * by, b.rocker * by)
}

pub(crate) fn stepped(x: f64, floats: i32) -> f64 {
    (0..floats.abs()).fold(x, |x, _| if floats < 0 { x.next_down() } else { x.next_up() })
}

/// Four-bars at the edges: any, nearly equal, parallelogram and kite with a mismatch from 1e-12 to 1e-3, crank as long
/// as the ground line, and change points a few floats off or 1e-10…1e-3 off.
pub(crate) fn linkage() -> impl Strategy<Value = FourBar> {
    let lengths = prop::array::uniform4(0.05..1.0_f64);
    let off = prop::array::uniform4(-1.0..1.0_f64);
    (0..8_u8, lengths, off, -12.0..-3.0_f64, -4..5_i32)
        .prop_map(|(kind, [p, q, r, s], off, size, ulps)| {
            let size = 10.0_f64.powf(size);
            let by = |x: f64, k: usize| x * (1.0 + size * off[k]);
            match kind {
                0 => bars(p, q, r, s),
                1 => bars(by(p, 0), by(p, 1), by(p, 2), by(p, 3)),
                2 => bars(by(p, 0), by(q, 1), by(p, 2), by(q, 3)),
                3 => bars(by(p, 0), by(p, 1), by(q, 2), by(q, 3)),
                4 => bars(by(p, 0), by(q, 1), by(q, 2), by(p, 3)),
                5 => bars(p, p, r, s),
                6 => bars(p, q, r, stepped((p - q + r).abs().max(0.05), ulps)),
                _ => bars(p, q, r, by((p + q - r).abs().max(0.05), 3)),
            }
        })
        .prop_filter("one bar as long as all others", moves)
}

pub(crate) fn closure() -> impl Strategy<Value = Closure> {
    prop_oneof![Just(Closure::Open), Just(Closure::Crossed)]
}

/// Not so long in one bar that the others hardly reach round it: such a chain moves by next to nothing.
pub(crate) fn moves(b: &FourBar) -> bool {
    2.0 * b.longest() < 0.999_999 * (b.ground + b.crank + b.coupler + b.rocker)
}

/// A branch that can be stood on: the crank angle is drawn until the loop closes.
pub(crate) fn branch() -> impl Strategy<Value = Branch> {
    (linkage(), closure(), -PI..PI).prop_filter_map(
        "the loop does not close",
        |(bars, closure, phi)| {
            let tries = (0..12).map(|k| phi + f64::from(k) * 0.5);
            tries.filter_map(|phi| Branch::through(bars, phi, closure).ok()).next()
        },
    )
}

/// How far the branch goes to each side, a whole turn where nothing ends it.
pub(crate) fn span(branch: &Branch) -> [f64; 2] {
    [branch.below.map_or(-TAU, |b| b.turn), branch.above.map_or(TAU, |b| b.turn)]
}

/// A motor turn at a share of the branch, close to its ends for shares close to 0 and 1.
pub(crate) fn turn_at(branch: &Branch, share: f64) -> f64 {
    let [low, high] = span(branch);
    low + (high - low) * share
}

pub(crate) fn share() -> impl Strategy<Value = f64> {
    let near = (-9.0..-1.0_f64).prop_map(|e| 10.0_f64.powf(e));
    prop_oneof![4 => 0.01..0.99_f64, 1 => near.clone(), 1 => near.prop_map(|x| 1.0 - x)]
}

pub(crate) fn sin_mu(pose: &Pose) -> f64 {
    pose.m.abs() / (pose.bars.coupler * pose.bars.rocker)
}

/// The joint turn is followed from one motor turn to another in steps that are halved until they are small; a jump
/// stays a jump.
pub(crate) fn has_no_jump(branch: &Branch, from: f64, to: f64) -> bool {
    let at = |x: f64| branch.joint_turn(x).unwrap_or(f64::NAN);
    let change = (at(to) - at(from)).abs();
    if change < 0.3 {
        return true;
    }
    let middle = 0.5 * (from + to);
    to - from > 1e-11 && has_no_jump(branch, from, middle) && has_no_jump(branch, middle, to)
}

/// The same for every step of a walk.
pub(crate) fn walks_without_a_jump(branch: &Branch, from: f64, to: f64) -> bool {
    let at = |k: i32| from + (to - from) * f64::from(k) / 400.0;
    (0..400).all(|k| has_no_jump(branch, at(k), at(k + 1)))
}
