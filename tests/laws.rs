//! What holds for every four-bar, tried where it is most likely to fail.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a law that cannot be read off is a failed law"
)]

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use proptest::prelude::*;
use unloop::equivalence::{Constants, DirectJoint};
use unloop::linkage::{
    BarrierKind, Branch, Closure, Drive, Extreme, FourBar, LinkageFault, Pose, Stroke, Sweep,
    dead_points,
};

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

fn cases(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() }
}

fn bars(ground: f64, crank: f64, coupler: f64, rocker: f64) -> FourBar {
    FourBar { ground, crank, coupler, rocker }
}

fn scaled(b: &FourBar, by: f64) -> FourBar {
    bars(b.ground * by, b.crank * by, b.coupler * by, b.rocker * by)
}

fn stepped(x: f64, floats: i32) -> f64 {
    (0..floats.abs()).fold(x, |x, _| if floats < 0 { x.next_down() } else { x.next_up() })
}

/// Four-bars at the edges: any, nearly equal, parallelogram and kite with a mismatch from 1e-12 to 1e-3, crank as long
/// as the ground line, and change points a few floats off or 1e-10…1e-3 off.
fn linkage() -> impl Strategy<Value = FourBar> {
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

fn closure() -> impl Strategy<Value = Closure> {
    prop_oneof![Just(Closure::Open), Just(Closure::Crossed)]
}

/// Not so long in one bar that the others hardly reach round it: such a chain moves by next to nothing.
fn moves(b: &FourBar) -> bool {
    2.0 * b.longest() < 0.999_999 * (b.ground + b.crank + b.coupler + b.rocker)
}

/// A branch that can be stood on: the crank angle is drawn until the loop closes.
fn branch() -> impl Strategy<Value = Branch> {
    (linkage(), closure(), -PI..PI).prop_filter_map(
        "the loop does not close",
        |(bars, closure, phi)| {
            let tries = (0..12).map(|k| phi + f64::from(k) * 0.5);
            tries.filter_map(|phi| Branch::through(bars, phi, closure).ok()).next()
        },
    )
}

/// How far the branch goes to each side, a whole turn where nothing ends it.
fn span(branch: &Branch) -> [f64; 2] {
    [branch.below.map_or(-TAU, |b| b.turn), branch.above.map_or(TAU, |b| b.turn)]
}

/// A motor turn at a share of the branch, close to its ends for shares close to 0 and 1.
fn turn_at(branch: &Branch, share: f64) -> f64 {
    let [low, high] = span(branch);
    low + (high - low) * share
}

fn share() -> impl Strategy<Value = f64> {
    let near = (-9.0..-1.0_f64).prop_map(|e| 10.0_f64.powf(e));
    prop_oneof![4 => 0.01..0.99_f64, 1 => near.clone(), 1 => near.prop_map(|x| 1.0 - x)]
}

fn sin_mu(pose: &Pose) -> f64 {
    pose.m.abs() / (pose.bars.coupler * pose.bars.rocker)
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

/// The joint turn is followed from one motor turn to another in steps that are halved until they are small; a jump
/// stays a jump.
fn has_no_jump(branch: &Branch, from: f64, to: f64) -> bool {
    let at = |x: f64| branch.joint_turn(x).unwrap_or(f64::NAN);
    let change = (at(to) - at(from)).abs();
    if change < 0.3 {
        return true;
    }
    let middle = 0.5 * (from + to);
    to - from > 1e-11 && has_no_jump(branch, from, middle) && has_no_jump(branch, middle, to)
}

/// The same for every step of a walk.
fn walks_without_a_jump(branch: &Branch, from: f64, to: f64) -> bool {
    let at = |k: i32| from + (to - from) * f64::from(k) / 400.0;
    (0..400).all(|k| has_no_jump(branch, at(k), at(k + 1)))
}

proptest! {
    #![proptest_config(cases(192))]

    #[test]
    fn the_joint_turns_without_jumps_and_agrees_with_the_pose(branch in branch(), turns in 1.0..4.0_f64) {
        let [low, high] = [branch.below.map_or(-turns * TAU, |b| b.turn), branch.above.map_or(turns * TAU, |b| b.turn)];
        let (from, to) = (low + (high - low) * 1e-9, high - (high - low) * 1e-9);
        prop_assert!(walks_without_a_jump(&branch, from, to), "{branch:?}");
        for k in 0..50 {
            let x = from + (to - from) * f64::from(k) / 49.0;
            let Ok(pose) = branch.pose(x) else { continue };
            let joint = branch.zero_rocker() + branch.joint_turn(x).unwrap();
            prop_assert!(libm::remainder(joint - pose.rocker_angle(), TAU).abs() < 1e-13 * (1.0 + joint.abs()));
        }
    }

    #[test]
    fn a_whole_turn_of_the_crank_turns_the_rocker_by_a_whole_number_of_turns(branch in branch()) {
        if branch.above.is_some() {
            return Ok(());
        }
        let whole = branch.joint_turn(TAU).unwrap() / TAU;
        prop_assert!((whole - whole.round()).abs() < 1e-6, "{whole}");
        let fifth = branch.joint_turn(5.0 * TAU).unwrap() / TAU;
        prop_assert!((fifth - 5.0 * whole.round()).abs() < 1e-6);
    }

    #[test]
    fn the_motor_turn_of_a_joint_turn_is_found_again(branch in branch(), share in share()) {
        let dead = |direction: f64| branch.next_dead_turn(0.0, direction);
        let [low, high] = span(&branch);
        let (low, high) = (dead(-1.0).unwrap_or(low), dead(1.0).unwrap_or(high));
        let x = low + (high - low) * share;
        let Ok(pose) = branch.pose(x) else { return Ok(()) };
        let Ok(joint) = branch.joint_turn(x) else { return Ok(()) };
        let rate = pose.velocity_ratio();
        prop_assume!(branch.pose(0.0).unwrap().velocity_ratio().abs() > 1e-9);
        match branch.motor_turn(joint) {
            Ok(found) => {
                let off = branch.joint_turn(found).unwrap() - joint;
                prop_assert!(off.abs() <= 4e-15 * (1.0 + joint.abs()) * (1.0 + rate.abs()), "{off:e} {rate}");
                prop_assert!(rate.abs() < 1e-4 || (found - x).abs() < 1e-13 * (1.0 + 1.0 / rate.abs()) * (1.0 + x.abs()), "{found} {x} {rate}");
            }
            // Within rounding of the end the joint turn may be the end's own.
            Err(LinkageFault::JointTurnOutOfReach { reach, .. }) => {
                prop_assert!((joint - reach).abs() <= 4e-15 * (1.0 + reach.abs()), "{branch:?} {joint}");
            }
            Err(fault) => prop_assert!(false, "{fault:?} {branch:?}"),
        }
    }

    #[test]
    fn barriers_stand_where_m_vanishes_and_nowhere_before(branch in branch()) {
        let b = *branch.bars();
        let small = b.signs().iter().fold(f64::INFINITY, |x, t| x.min(t.abs())) <= 1e-9 * b.longest();
        for barrier in [branch.below, branch.above].into_iter().flatten() {
            prop_assert!(branch.reach(barrier.turn).is_err());
            prop_assert!(branch.reach(barrier.turn * (1.0 - 1e-12)).is_ok());
            prop_assert!(barrier.kind == BarrierKind::CrankLimit || small);
            for k in 1..100 {
                let pose = branch.pose(barrier.turn * f64::from(k) / 100.0);
                prop_assert!(pose.is_ok_and(|p| p.m * branch.closure().sign() > 0.0));
            }
            // Close to the end M is small: it falls as the root of the distance at a crank limit.
            let end = branch.pose(barrier.turn * (1.0 - 1e-12));
            prop_assert!(end.is_ok_and(|p| p.m.abs() < 1e-4 * b.longest().powi(2)), "{branch:?}");
            // Past it there is nothing, unless the gap is next to nothing.
            let narrow = libm::sin(branch.zero_crank() + barrier.turn).abs() < 1e-6;
            let past = branch.pose(barrier.turn + 1e-8 * barrier.turn.signum());
            prop_assert!(narrow || past.is_err(), "{branch:?}");
        }
    }

    #[test]
    fn at_a_dead_point_the_rocker_stands_still_on_the_side_it_claims(b in linkage()) {
        for p in dead_points(&b) {
            let open = b.at(p.crank, p.closure);
            let Ok(pose) = open else { continue };
            let room = 1e-9 + 1e-12 * pose.velocity_ratio_slope().abs();
            prop_assert!(pose.velocity_ratio().abs() <= room, "{b:?} {p:?} {}", pose.velocity_ratio());
            let off = libm::remainder(pose.rocker_angle() - p.rocker, TAU);
            prop_assert!(off.abs() < 1e-9, "{b:?} {p:?} {off:e}");
        }
    }

    #[test]
    fn every_dead_point_of_a_stroke_is_known(branch in branch()) {
        let [low, high] = span(&branch);
        let at = |k: i32| low + (high - low) * f64::from(k) / 1001.0;
        let rate = |x: f64| branch.pose(x).map_or(f64::NAN, |p| p.velocity_ratio());
        let known = branch.dead_turns(low, high);
        for k in 1..1000 {
            let (a, b) = (at(k), at(k + 1));
            if rate(a) * rate(b) < 0.0 {
                // Where the rocker hardly moves at all, rounding decides where it stands still.
                let room = 1e-9 + 1e-15 * (b - a) / (rate(a) - rate(b)).abs();
                prop_assert!(known.iter().any(|&x| a - room <= x && x <= b + room), "{a} {b} {known:?} {branch:?}");
            }
        }
        let [next, before] = [1.0, -1.0].map(|d| branch.next_dead_turn(0.0, d));
        let first = known.iter().copied().filter(|&x| x > 1e-9).fold(f64::INFINITY, f64::min);
        let last = known.iter().copied().filter(|&x| x < -1e-9).fold(f64::NEG_INFINITY, f64::max);
        prop_assert!(next.is_none_or(|x| (x - first).abs() < 1e-12 || x < 1e-9), "{next:?} {known:?}");
        prop_assert!(before.is_none_or(|x| (x - last).abs() < 1e-12 || x > -1e-9), "{before:?} {known:?}");
    }
}

/// The largest of `f` over `from..=to`: 20,000 samples, then each sample that tops its neighbours refined.
fn sampled_top(f: impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    let at = |k: i32| from + (to - from) * f64::from(k) / 20_000.0;
    let values: Vec<f64> = (0..=20_000).map(|k| f(at(k).min(to))).collect();
    let mut top = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    for k in 1..20_000_i32 {
        let [before, here, after] = [-1, 0, 1].map(|d| values[usize::try_from(k + d).unwrap()]);
        if here >= before && here >= after && here >= top - 1e-3 * (top.abs() + 1e-12) {
            top = top.max(golden(&f, at(k - 1), at(k + 1)));
        }
    }
    top
}

/// The top of a single hill by golden section (J. Kiefer, Proc. AMS 4 (1953) 502–506).
fn golden(f: impl Fn(f64) -> f64, mut a: f64, mut b: f64) -> f64 {
    let share = 0.618_033_988_749_895;
    for _ in 0..60 {
        let (p, q) = (b - share * (b - a), a + share * (b - a));
        if f(p) >= f(q) { b = q } else { a = p }
    }
    f(0.5 * (a + b))
}

/// Is `found` the top of `f`: reached where it says, and never beaten?
fn is_top(
    found: Extreme,
    f: impl Fn(f64) -> f64,
    [from, to]: [f64; 2],
    room: f64,
) -> Result<(), TestCaseError> {
    let claimed = f(found.turn);
    prop_assert!((claimed - found.value).abs() <= room, "claims {} where {claimed}", found.value);
    let top = sampled_top(&f, from, to);
    prop_assert!(
        top <= found.value + room,
        "beaten by {:e}: {top} over {found:?}",
        top - found.value
    );
    Ok(())
}

proptest! {
    #![proptest_config(cases(24))]

    #[test]
    fn no_sample_beats_an_extreme(branch in branch(), p in share(), q in share(), slope in -2.0..2.0_f64) {
        let (x, y) = (turn_at(&branch, p.min(q)), turn_at(&branch, p.max(q)));
        prop_assume!(y - x > 1e-3);
        let Ok(stroke) = Stroke::on(&branch, Drive::Motor, [x, y]) else { return Ok(()) };
        let Ok(sweep) = Sweep::over(&branch, stroke) else { return Ok(()) };
        let excess = |t: f64| branch.pose(t).map_or(f64::NAN, |p| p.ratio_less_one);
        let [low, high] = sweep.ratio_less_one();
        let room = |value: f64| 1e-10 * value.abs() + 1e-12;
        is_top(high, excess, [x, y], room(high.value))?;
        is_top(Extreme { value: -low.value, ..low }, |t| -excess(t), [x, y], room(low.value))?;
        let error = |t: f64| sweep.angle_error_at(t, slope, 0.1);
        let [low, high] = sweep.angle_error(slope, 0.1);
        is_top(high, error, [x, y], 1e-12)?;
        is_top(Extreme { value: -low.value, ..low }, |t| -error(t), [x, y], 1e-12)?;
        let least = sweep.transmission_angle();
        let mu = |t: f64| -branch.pose(t).map_or(f64::NAN, |p| p.transmission_angle());
        is_top(Extreme { value: -least.value, ..least }, mu, [x, y], 1e-12)?;
    }

    #[test]
    fn no_neighbour_of_the_best_constants_is_better(branch in branch(), p in 0.05..0.95_f64, q in 0.05..0.95_f64, pinned in any::<bool>()) {
        let (x, y) = (turn_at(&branch, p.min(q)), turn_at(&branch, p.max(q)));
        prop_assume!(y - x > 1e-2);
        let stroke = Stroke::on(&branch, Drive::Motor, [x, y]).unwrap();
        let sweep = Sweep::over(&branch, stroke).unwrap();
        let worst = |slope: f64, offset: f64| {
            let [low, high] = sweep.angle_error(slope, offset);
            low.value.abs().max(high.value.abs())
        };
        let offset = pinned.then_some(0.0);
        let best = Constants { ratio: None, offset }.resolve(&sweep);
        let least = worst(1.0 / best.ratio, best.offset);
        for size in [1e-9, 1e-6, 1e-4, 1e-2, 0.3] {
            for factor in [1.0 - size, 1.0 + size] {
                let joint = DirectJoint { ratio: best.ratio * factor, ..best };
                let offset = if pinned { 0.0 } else {
                    Constants { ratio: Some(joint.ratio), offset: None }.resolve(&sweep).offset
                };
                let other = worst(1.0 / joint.ratio, offset);
                prop_assert!(other >= least * (1.0 - 1e-10) - 1e-14, "{other} {least} {best:?} {factor}");
            }
        }
        if !pinned {
            for off in [-1e-3, -1e-9, 1e-9, 1e-3] {
                prop_assert!(worst(1.0 / best.ratio, best.offset + off * least) >= least * (1.0 - 1e-10) - 1e-14);
            }
        }
    }
}

fn sweep_of(
    bars: FourBar,
    zero: f64,
    closure: Closure,
    stroke: [f64; 2],
    read: impl Fn(&Branch, &Sweep<'_>),
) {
    let branch = Branch::through(bars, zero, closure).unwrap();
    let stroke = Stroke::on(&branch, Drive::Motor, stroke).unwrap();
    read(&branch, &Sweep::over(&branch, stroke).unwrap());
}

/// All of the peak at crank angle `at`, sampled there only.
fn hold_peak(branch: &Branch, sweep: &Sweep<'_>, at: f64, half: f64) {
    let excess = |t: f64| branch.pose(t).unwrap().ratio_less_one;
    let turn = at - branch.zero_crank();
    let [low, high] = sweep.ratio_less_one();
    is_top(high, excess, [turn - half, turn + half], 1e-9 * high.value.abs()).unwrap();
    is_top(
        Extreme { value: -low.value, ..low },
        |t| -excess(t),
        [turn - half, turn + half],
        1e-9 * low.value.abs(),
    )
    .unwrap();
}

#[test]
fn a_peak_of_a_few_microradians_is_found_in_a_stroke_of_forty_turns() {
    // Double-crank 1e-8 from a change point on the ground line: the ratio swings through its range within 1e-4 rad.
    let b = bars(0.1, 0.3, 0.4, 0.2 + 1e-8);
    sweep_of(b, 1.0, Closure::Open, [0.0, 40.0 * TAU], |branch, sweep| {
        hold_peak(branch, sweep, TAU, 1e-3);
    });
}

#[test]
fn a_peak_beside_the_end_of_the_stroke_is_found() {
    // Crank-rocker 2e-9 from a change point at 180 deg, stroke ending just past it.
    let b = bars(0.4, 0.1, 0.3, 0.2 + 2e-9);
    for past in [1e-3, 1e-4, 1e-5] {
        sweep_of(b, 1.0, Closure::Open, [0.0, PI - 1.0 + past], |branch, sweep| {
            hold_peak(branch, sweep, PI, past);
        });
    }
}

#[test]
fn the_flat_top_of_a_slight_ratio_is_found() {
    // Parallelograms with mismatches so slight that the ratio changes by next to nothing, in and about its top.
    for off in [1e-4, 1e-7, 1e-9, 1e-11, 1e-12] {
        let b = bars(0.3, 0.045, 0.3, 0.045 * (1.0 + off));
        sweep_of(b, 1.2, Closure::Open, [-0.6, 1.3], |branch, sweep| {
            let excess = |t: f64| branch.pose(t).unwrap().ratio_less_one;
            let [low, high] = sweep.ratio_less_one();
            let room = 1e-14 + 1e-10 * off;
            is_top(high, excess, [-0.6, 1.3], room).unwrap();
            is_top(Extreme { value: -low.value, ..low }, |t| -excess(t), [-0.6, 1.3], room)
                .unwrap();
        });
    }
}

#[test]
fn a_joint_turn_beyond_a_hundred_turns_is_refused_and_not_cut_short() {
    let branch = Branch::through(bars(0.1, 0.3, 0.25, 0.28), 1.0, Closure::Open).unwrap();
    let far = Stroke::on(&branch, Drive::Joint, [0.0, 101.0 * TAU]);
    assert!(matches!(far, Err(LinkageFault::JointTurnOutOfReach { wanted, .. }) if wanted > 634.0));
    let long = Stroke::on(&branch, Drive::Joint, [0.0, 99.0 * TAU]).unwrap();
    assert!((branch.joint_turn(long.motor[1]).unwrap() - 99.0 * TAU).abs() < 1e-11);
}

const SQUARE: FourBar = FourBar { ground: 0.1, crank: 0.1, coupler: 0.1, rocker: 0.1 };

#[test]
fn equal_links_run_parallel_on_one_side_and_stand_still_on_the_other() {
    let parallel = Branch::through(SQUARE, 1.0, Closure::Open).unwrap();
    let folded = Branch::through(SQUARE, 1.0, Closure::Crossed).unwrap();
    for k in 0..50 {
        let turn = -0.99 + 3.1 * f64::from(k) / 50.0;
        assert!((parallel.joint_turn(turn).unwrap() - turn).abs() < 1e-15);
        assert!(folded.joint_turn(turn).unwrap().abs() < 1e-15, "Q lies on A and stays");
    }
    for branch in [parallel, folded] {
        let [below, above] = [branch.below.unwrap(), branch.above.unwrap()];
        assert!(below.kind == BarrierKind::ChangePoint && above.kind == BarrierKind::ChangePoint);
        assert!((below.turn + 1.0).abs() < 1e-15 && (above.turn - (PI - 1.0)).abs() < 1e-15);
    }
}

#[test]
fn the_kite_with_coupler_as_long_as_the_crank_stands_still_for_ever() {
    let kite = bars(0.2, 0.05, 0.05, 0.2);
    let branch = Branch::through(kite, 1.0, Closure::Crossed).unwrap();
    assert!((branch.zero_rocker().abs() - PI).abs() < 1e-15);
    for k in 0..50 {
        let pose = branch.pose(-0.99 + 3.1 * f64::from(k) / 50.0).unwrap();
        assert!(pose.velocity_ratio().abs() < 1e-15 && pose.velocity_ratio_slope().abs() < 1e-13);
    }
    assert_eq!(branch.motor_turn(0.1), Err(LinkageFault::ZeroPoseIsDeadPoint));
}

#[test]
fn a_flat_zero_pose_is_a_fault() {
    for phi in [0.0, PI, -PI, 3.0 * PI] {
        let parallelogram = bars(0.3, 0.045, 0.3, 0.045);
        let found = Branch::through(parallelogram, phi, Closure::Open).map(|_| ());
        assert_eq!(found, Err(LinkageFault::FlatZeroPose), "{phi}");
    }
    let limit =
        Branch::through(bars(0.2, 0.15, 0.1, 0.1), 0.0, Closure::Open).unwrap().above.unwrap();
    let found = Branch::through(bars(0.2, 0.15, 0.1, 0.1), limit.turn, Closure::Open);
    assert!(found.is_err(), "{found:?}");
}

#[test]
fn a_zero_pose_with_the_crank_straight_back_is_like_any_other() {
    // Crank-rocker through 180 deg, given either way round.
    let b = bars(0.1, 0.04, 0.12, 0.08);
    let [plus, minus] = [PI, -PI].map(|phi| Branch::through(b, phi, Closure::Open).unwrap());
    for k in -50..=50 {
        let turn = f64::from(k) * 0.1;
        let (p, m) = (plus.joint_turn(turn).unwrap(), minus.joint_turn(turn).unwrap());
        assert!((p - m).abs() < 1e-14, "{turn}: {p} {m}");
        assert!(p.abs() < 3.0, "no jump by a turn");
    }
    let dead = plus.next_dead_turn(0.0, 1.0).unwrap();
    assert!((minus.next_dead_turn(0.0, 1.0).unwrap() - dead).abs() < 1e-14);
}

#[test]
fn a_rocker_at_180_deg_is_not_lost() {
    // tan(psi/2) has no value there: the half-angle quadratic drops to one root. Lengths made so that Q = (0.1, 0).
    let (g, c, phi) = (0.3, 0.2, 1.1_f64);
    let pin = [0.08 * phi.cos(), 0.08 * phi.sin()];
    let b = bars(g, 0.08, (pin[0] - 0.1).hypot(pin[1]), c);
    let angles =
        [Closure::Open, Closure::Crossed].map(|side| b.at(phi, side).unwrap().rocker_angle());
    assert!(angles.iter().any(|psi| (psi.abs() - PI).abs() < 1e-12), "{angles:?}");
    assert!(angles.iter().any(|psi| (psi.abs() - PI).abs() > 0.1), "{angles:?}");
}

#[test]
fn the_rocker_angle_runs_through_180_deg_without_a_jump() {
    let b = bars(0.1, 0.3, 0.25, 0.28);
    let branch = Branch::through(b, FRAC_PI_2, Closure::Open).unwrap();
    assert!(walks_without_a_jump(&branch, -3.0 * TAU, 3.0 * TAU));
    assert!((branch.joint_turn(3.0 * TAU).unwrap() - 3.0 * TAU).abs() < 1e-12);
}

#[test]
fn a_crank_as_long_as_the_ground_line_stops_before_its_pin_meets_the_joint() {
    let b = bars(0.1, 0.1, 0.12, 0.11);
    let branch = Branch::through(b, 1.0, Closure::Open).unwrap();
    let [below, above] = [branch.below.unwrap(), branch.above.unwrap()];
    assert_eq!((below.kind, above.kind), (BarrierKind::CrankLimit, BarrierKind::CrankLimit));
    // |h| = |b - c| = 0.01 with both arms 0.1: phi = 2 asin 0.05.
    assert!((below.turn + 1.0 - 2.0 * 0.05_f64.asin()).abs() < 1e-15, "{below:?}");
    assert!(walks_without_a_jump(&branch, below.turn * (1.0 - 1e-12), above.turn * (1.0 - 1e-12)));
}

#[test]
fn a_stroke_that_ends_at_a_dead_point_has_no_bounded_ratio_there() {
    let b = bars(0.1, 0.04, 0.12, 0.08);
    let branch = Branch::through(b, 1.0, Closure::Open).unwrap();
    let dead = branch.next_dead_turn(0.0, 1.0).unwrap();
    let motor = Stroke::on(&branch, Drive::Motor, [0.0, dead]).unwrap();
    let sweep = Sweep::over(&branch, motor).unwrap();
    let error = sweep.ratio_error(1.0);
    assert!(sweep.has_dead_point() || error.value > 1e12, "{error:?}");
    let joint = branch.joint_turn(dead).unwrap();
    let beyond = Stroke::on(&branch, Drive::Joint, [0.0, joint * (1.0 + 1e-12)]);
    assert!(
        matches!(beyond, Err(LinkageFault::JointTurnOutOfReach { barrier: None, .. })),
        "{beyond:?}"
    );
    let short = Stroke::on(&branch, Drive::Joint, [0.0, joint * (1.0 - 1e-9)]).unwrap();
    assert!(short.motor[1] < dead && short.motor[1] > dead - 1e-3);
    let [low, high] = branch.swing();
    assert!((low.min(high) - joint).abs() < 1e-12 || (low.max(high) - joint).abs() < 1e-12);
}

#[test]
fn a_swing_ends_where_the_joint_turns_back() {
    for (b, zero) in [(bars(0.1, 0.04, 0.12, 0.08), 1.0), (bars(0.2, 0.15, 0.1, 0.1), 0.1)] {
        for closure in [Closure::Open, Closure::Crossed] {
            let branch = Branch::through(b, zero, closure).unwrap();
            let [low, high] = branch.swing();
            assert!(low < 0.0 && 0.0 < high, "{low} {high}");
            for joint in [low * 0.999_999, high * 0.999_999] {
                let motor = branch.motor_turn(joint).unwrap();
                // At a crank limit the joint outruns the crank a million times.
                assert!((branch.joint_turn(motor).unwrap() - joint).abs() < 1e-9);
            }
            assert!(
                branch.motor_turn(low * 1.000_001).is_err()
                    && branch.motor_turn(high * 1.000_001).is_err()
            );
        }
    }
}
