//! Extremes over a stroke are never beaten, and the best constants have no better neighbour.

use std::f64::consts::{PI, TAU};

use proptest::prelude::*;
use unloop::equivalence::{Constants, DirectJoint};
use unloop::linkage::{Branch, Closure, Drive, Extreme, FourBar, LinkageFault, Stroke, Sweep};

use super::linkages::{bars, branch, cases, share, turn_at};

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
fn a_peak_of_a_tenth_of_a_microradian_is_found_where_the_crank_pin_all_but_meets_the_joint() {
    // Nearly a kite: P passes B at a ten-millionth of its arm, and the rocker swings round by half a turn meanwhile.
    let b = bars(0.620_733_373_6, 0.620_733_534_9, 0.126_642_934_3, 0.126_642_905_6);
    sweep_of(b, 0.2, Closure::Crossed, [-0.5, 0.1], |branch, sweep| {
        hold_peak(branch, sweep, 0.0, 1e-6);
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
