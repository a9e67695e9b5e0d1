//! The bodies that keep the crank, and the polynomial that couples it.

use crate::drive;

use std::f64::consts::FRAC_PI_2;

use unloop::dynamics::{
    Coupled, Coupling, CrankKept, DynamicsFault, Fidelity, Fit, Masses, MonotoneStroke, Rotor,
    StandIn, fidelity,
};
use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke};

fn on<T>(bars: FourBar, range: [f64; 2], check: impl Fn(&MonotoneStroke<'_>) -> T) -> T {
    let branch = Branch::through(bars, FRAC_PI_2, Closure::Open).unwrap();
    let stroke = Stroke::on(&branch, Drive::Joint, range).unwrap();
    check(&MonotoneStroke::over(&branch, stroke).unwrap())
}

fn figures(stroke: &MonotoneStroke<'_>, masses: &Masses, bodies: &impl StandIn) -> [f64; 4] {
    let Fidelity { fixed, planar, spatial, gravity_torque, .. } = fidelity(stroke, masses, bodies);
    [fixed.value, planar.unwrap().value, spatial.unwrap().value, gravity_torque.value]
}

const WIDELY: FourBar = FourBar { ground: 0.125, crank: 0.0275, coupler: 0.1325, rocker: 0.056 };

const UNLIKE: FourBar = FourBar { ground: 0.3, crank: 0.05, coupler: 0.29, rocker: 0.07 };

#[test]
fn the_loops_bodies_are_exact_whatever_the_linkage_and_the_rotor() {
    for bars in [drive::BARS, UNLIKE] {
        let rotors =
            [(7.75, true), (7.75, false), (1.0, true), (-7.75, true), (-7.75, false), (0.5, true)];
        for (gear_ratio, in_carrier) in rotors {
            let rotor = Some(Rotor { inertia: 1.5e-4, gear_ratio, in_carrier });
            let masses = Masses { rotor, ..drive::masses() };
            let bodies = CrankKept::in_loop(&bars, &masses).unwrap().unwrap();
            let own = bodies.rotor.map(|rotor| rotor.body);
            for body in [bodies.carrier, bodies.crank, bodies.child].into_iter().chain(own) {
                assert_eq!(body.check(), Ok(()));
            }
            // The rotor is a body of its own where it turns against the crank, or slower than it.
            assert_eq!(own.is_some(), gear_ratio < 1.0);
            let given = masses.carrier.unwrap().mass + masses.crank.unwrap().mass;
            let found = bodies.carrier.mass + bodies.crank.mass + own.map_or(0.0, |body| body.mass);
            assert!((found - given).abs() < 1e-12, "{found} kg of {given}");
            let left = on(bars, [-0.4, 0.4], |stroke| figures(stroke, &masses, &bodies));
            assert!(left.iter().all(|x| *x < 1e-12), "{left:?}");
        }
    }
}

#[test]
fn the_coupled_models_bodies_are_exact_for_a_parallelogram() {
    let masses = drive::masses();
    let left = on(drive::BARS, [-0.7, 0.6], |stroke| {
        figures(stroke, &masses, &CrankKept::coupled(stroke, &masses).unwrap().unwrap())
    });
    assert!(left.iter().all(|x| *x < 1e-12), "{left:?}");
}

#[test]
fn where_the_rod_turns_the_coupled_model_keeps_all_weight_and_errs_by_the_rods_turn_alone() {
    let masses = drive::masses();
    let [fixed, planar, spatial, weight] = on(UNLIKE, [-0.5, 0.5], |stroke| {
        figures(stroke, &masses, &CrankKept::coupled(stroke, &masses).unwrap().unwrap())
    });
    println!("coupled, general: {fixed:.2e} {planar:.2e} {spatial:.2e}, weight {weight:.1e} N m");
    assert!(weight < 1e-14);
    assert!(fixed < 0.01 && planar < 0.02 && spatial < 0.02);
}

#[test]
fn a_part_that_both_models_need_may_be_missing() {
    let masses = Masses { crank: None, ..drive::masses() };
    assert_eq!(CrankKept::in_loop(&drive::BARS, &masses), Ok(None));
}

#[test]
fn a_rotor_larger_than_the_carrier_that_holds_it_is_refused_as_the_carriers() {
    let rotor = Some(Rotor { inertia: 0.5, gear_ratio: -7.75, in_carrier: true });
    let fault = CrankKept::in_loop(&drive::BARS, &Masses { rotor, ..drive::masses() });
    assert!(matches!(fault, Err(DynamicsFault::NoRealBody { body: "carrier", .. })), "{fault:?}");
}

#[test]
fn the_coupled_figure_has_the_polynomials_own_slope_and_the_slope_fit_lowers_it() {
    // One quartic for a ratio that varies by half: what the slope is off counts twice in the crank's and rotor's inertia.
    let masses = drive::masses();
    on(WIDELY, [-0.4, 0.4], |stroke| {
        let bodies = CrankKept::coupled(stroke, &masses).unwrap().unwrap();
        let along = |coupling: &Coupling| {
            let moving = Coupled { bodies: &bodies, coupling, branch: stroke.branch() };
            fidelity(stroke, &masses, &moving).fixed.value
        };
        let fits = [Fit::Balanced, Fit::Slope].map(|fit| Coupling::fitted(stroke, fit).unwrap());
        let [balanced, slope] = fits.each_ref().map(along);
        let [a, b] = fits.map(|fit| [fit.angle_error.value, fit.ratio_error.value]);
        println!("balanced {a:?} {balanced:.5}; slope {b:?} {slope:.5}");
        assert!(b[1] < 0.8 * a[1] && b[0] > a[0], "{a:?} {b:?}");
        assert!(slope < balanced, "{balanced} {slope}");
        // With the linkage's own slope the figure would not see it.
        let [unseen, ..] = figures(stroke, &masses, &bodies);
        assert!(
            balanced > unseen + a[1] && balanced < unseen + 2.5 * a[1],
            "{balanced} {unseen} {a:?}"
        );
    });
}

#[test]
fn a_straight_line_is_as_far_off_as_a_direct_joint_is() {
    on(UNLIKE, [-0.3, 0.3], |stroke| {
        let line = Coupling::straight(stroke, 1.2, 0.01);
        let at = |turn: f64| {
            let joint = stroke.branch().joint_turn(turn).unwrap();
            (1.2 * (joint - 0.01) - turn).abs()
        };
        let [from, to] = stroke.ends();
        let worst =
            (0..=500).map(|k| at(from + (to - from) * f64::from(k) / 500.0)).fold(0.0, f64::max);
        assert!((line.angle_error.value - worst).abs() < 1e-4 * worst, "{line:?} {worst}");
    });
}

#[test]
fn a_parallelogram_is_coupled_by_the_identity() {
    let coupling = on(drive::BARS, [-0.7, 0.6], |stroke| Coupling::over(stroke).unwrap());
    for (got, want) in coupling.coefficients.iter().zip([0.0, 1.0, 0.0, 0.0, 0.0]) {
        assert!((got - want).abs() < 1e-13, "{coupling:?}");
    }
    assert!(coupling.angle_error.value < 1e-13 && coupling.ratio_error.value < 1e-13);
}

#[test]
fn the_couplings_errors_are_those_that_a_closer_look_finds() {
    for range in [[-0.3, 0.3], [0.1, 0.3], [-0.01, 0.01]] {
        on(UNLIKE, range, |stroke| {
            let coupling = Coupling::over(stroke).unwrap();
            let [from, to] = stroke.ends();
            let (mut angle, mut ratio) = (0.0_f64, 0.0_f64);
            for k in 0..=2000 {
                let turn = from + (to - from) * f64::from(k) / 2000.0;
                let joint = stroke.branch().joint_turn(turn).unwrap();
                angle = angle.max((coupling.motor_turn(joint) - turn).abs());
                let truth = stroke.pose(turn).unwrap().transmission_ratio();
                ratio = ratio.max((coupling.ratio(joint) / truth - 1.0).abs());
            }
            println!("{range:?}: angle {angle:.2e} rad, ratio {ratio:.2e}");
            assert!((coupling.angle_error.value - angle).abs() <= 0.01 * angle + 1e-14);
            assert!((coupling.ratio_error.value - ratio).abs() <= 0.01 * ratio + 1e-13);
            assert!(angle < 1e-3 && ratio < 1e-2);
        });
    }
}
