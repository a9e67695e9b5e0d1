//! Degenerate linkages and poses by name.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use unloop::linkage::{BarrierKind, Branch, Closure, Drive, FourBar, LinkageFault, Stroke, Sweep};

use super::linkages::{bars, walks_without_a_jump};

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
