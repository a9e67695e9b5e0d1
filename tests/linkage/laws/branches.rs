//! Along the branch: no jumps, barriers, dead points, there and back.

use std::f64::consts::TAU;

use proptest::prelude::*;
use unloop::linkage::{BarrierKind, LinkageFault, dead_points};

use super::linkages::{branch, cases, linkage, share, span, walks_without_a_jump};

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
                prop_assert!(off.abs() <= 2e-14 * (1.0 + joint.abs()) * (1.0 + rate.abs()), "{off:e} {rate}");
                prop_assert!(rate.abs() < 1e-4 || (found - x).abs() < 1e-13 * (1.0 + 1.0 / rate.abs()) * (1.0 + x.abs()), "{found} {x} {rate}");
            }
            // Within rounding of the end the joint turn may be the end's own.
            Err(LinkageFault::JointTurnOutOfReach { reach, .. }) => {
                prop_assert!((joint - reach).abs() <= 1e-13 * (1.0 + reach.abs()), "{branch:?} {joint}");
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
            let end = branch.pose(barrier.turn - 1e-11 * barrier.turn.signum());
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
