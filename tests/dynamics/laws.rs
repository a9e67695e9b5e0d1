//! Laws of the drive's dynamics: energy, power, scale, and what the figure ε bounds.

use crate::drive;

use nalgebra::{Matrix3, Rotation3, SVector, Vector3};
use proptest::prelude::*;
use unloop::dynamics::{
    Body, Inertia, Masses, Matrix7, MonotoneStroke, Rotor, Shortcut, fidelity, joint_inertia,
    load_at, mass_matrix, mass_matrix_by, pin_turns, rod_arm,
};
use unloop::linkage::{Branch, Closure, Drive, FourBar, Pose, Stroke};

/// A body whose tensor comes from four random point masses, so that it is real.
pub(super) fn bodies(reach: f64) -> impl Strategy<Value = Body> {
    let point = (0.05..1.0_f64, prop::array::uniform3(-reach..reach));
    prop::array::uniform4(point).prop_map(|points| {
        let mass: f64 = points.iter().map(|(m, _)| m).sum();
        let centre =
            points.iter().map(|(m, r)| *m * Vector3::from(*r)).sum::<Vector3<f64>>() / mass;
        let about = |(m, r): &(f64, [f64; 3])| {
            let d = Vector3::from(*r) - centre;
            *m * (Matrix3::identity() * d.norm_squared() - d * d.transpose())
        };
        Body { mass, centre, inertia: Inertia::Tensor(points.iter().map(about).sum()) }
    })
}

pub(super) fn rotors() -> impl Strategy<Value = Rotor> {
    (1e-4..1e-2_f64, -12.0..12.0_f64, any::<bool>())
        .prop_map(|(inertia, gear_ratio, in_carrier)| Rotor { inertia, gear_ratio, in_carrier })
}

pub(super) fn all_masses() -> impl Strategy<Value = Masses> {
    (bodies(0.3), bodies(0.3), bodies(0.3), bodies(0.5), rotors()).prop_map(
        |(crank, coupler, child, carrier, rotor)| Masses {
            crank: Some(crank),
            coupler: Some(coupler),
            child,
            carrier: Some(carrier),
            carried: None,
            rotor: Some(rotor),
        },
    )
}

/// A linkage and a zero pose away from limits and dead points.
pub(super) fn linkages() -> impl Strategy<Value = Branch> {
    let lengths = (0.3..1.0_f64, 0.1..1.0_f64, 0.3..1.2_f64, 0.1..1.0_f64);
    (lengths, -3.1..3.1_f64, any::<bool>()).prop_filter_map(
        "a pose away from its limits",
        |((ground, crank, coupler, rocker), phi, open)| {
            let bars = FourBar { ground, crank, coupler, rocker };
            let closure = if open { Closure::Open } else { Closure::Crossed };
            let branch = Branch::through(bars, phi, closure).ok()?;
            let pose = branch.pose(0.0).ok()?;
            let rate = pose.velocity_ratio().abs();
            let healthy = pose.transmission_angle() > 0.35 && (0.2..5.0).contains(&rate);
            (healthy && branch.reach(0.05).is_ok() && branch.reach(-0.05).is_ok()).then_some(branch)
        },
    )
}

/// Speeds (v, ω, ψ̇).
pub(super) fn speeds() -> impl Strategy<Value = SVector<f64, 7>> {
    prop::array::uniform7(-2.0..2.0_f64).prop_map(SVector::from)
}

pub(super) fn about_z(angle: f64) -> Matrix3<f64> {
    *Rotation3::from_axis_angle(&Vector3::z_axis(), angle).matrix()
}

/// Where the parts are in the carrier frame: origin and attitude.
pub(super) fn frames(pose: &Pose) -> [(Vector3<f64>, Matrix3<f64>); 3] {
    let g = pose.bars.ground;
    let p = pose.crank_pin();
    let crank_angle = pose.e[1].atan2(pose.e[0]);
    [
        (Vector3::new(-g, 0.0, 0.0), about_z(crank_angle)),
        (Vector3::new(p.x - g, p.y, 0.0), about_z(pose.coupler_angle())),
        (Vector3::zeros(), about_z(pose.rocker_angle())),
    ]
}

/// ω from two attitudes a time 2h apart.
pub(super) fn angular_speed(before: &Matrix3<f64>, after: &Matrix3<f64>, h: f64) -> Vector3<f64> {
    let spin = (after - before) * (0.5 * (before + after)).transpose() / (2.0 * h);
    0.5 * Vector3::new(spin.m32 - spin.m23, spin.m13 - spin.m31, spin.m21 - spin.m12)
}

/// A place at a time: origin and attitude.
pub(super) type Frame = (Vector3<f64>, Matrix3<f64>);

/// Kinetic energy of bodies on a moving carrier from positions alone: `frames` has them in the carrier frame at a time, and
/// the carrier stands at the origin at time 0.
pub(super) fn energy_of_bodies(
    bodies: &[Body],
    frames: impl Fn(f64) -> Vec<Frame>,
    speed: &SVector<f64, 7>,
) -> f64 {
    let h = 1e-5;
    let (v, w) = (speed.fixed_rows::<3>(0).into_owned(), speed.fixed_rows::<3>(3).into_owned());
    let placed = |time: f64| -> Vec<Frame> {
        let carrier = *Rotation3::new(w * time).matrix();
        let moved = |(origin, turn): &Frame| (v * time + carrier * origin, carrier * turn);
        frames(time).iter().map(moved).collect()
    };
    let (before, now, after) = (placed(-h), placed(0.0), placed(h));
    let body_energy = |(k, body): (usize, &Body)| {
        let ((o0, r0), (o1, r1)) = (before[k], after[k]);
        let velocity = (o1 + r1 * body.centre - o0 - r0 * body.centre) / (2.0 * h);
        let spin = angular_speed(&r0, &r1, h);
        let tensor = now[k].1 * body.tensor() * now[k].1.transpose();
        0.5 * (body.mass * velocity.norm_squared() + spin.dot(&(tensor * spin)))
    };
    bodies.iter().enumerate().map(body_energy).sum()
}

/// Kinetic energy of everything from positions alone, a short time before and after; the seventh speed is the crank's.
pub(super) fn energy_of_motion(branch: &Branch, masses: &Masses, speed: &SVector<f64, 7>) -> f64 {
    let still = (Vector3::zeros(), Matrix3::identity());
    let places = |time: f64| {
        let moving = frames(&branch.pose(speed[6] * time).unwrap());
        moving.into_iter().chain([still]).collect()
    };
    let bodies =
        [masses.crank.unwrap(), masses.coupler.unwrap(), masses.child, masses.carrier.unwrap()];
    let rotor = masses.rotor.unwrap();
    let held = if rotor.in_carrier { speed[5] * speed[5] } else { 0.0 };
    let spin = speed[5] + rotor.gear_ratio * speed[6];
    energy_of_bodies(&bodies, places, speed) + 0.5 * rotor.inertia * (spin * spin - held)
}

pub(super) fn quadratic(matrix: &Matrix7, speed: &SVector<f64, 7>) -> f64 {
    0.5 * speed.dot(&(matrix * speed))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn kinetic_energy_of_every_part_is_the_mass_matrixs(
        branch in linkages(), masses in all_masses(), speed in speeds(),
    ) {
        let pose = branch.pose(0.0).unwrap();
        let mut by_crank = speed;
        by_crank[6] *= pose.transmission_ratio();
        let want = energy_of_motion(&branch, &masses, &by_crank);
        let got = quadratic(&mass_matrix(&pose, &masses), &speed);
        prop_assert!((got - want).abs() <= 1e-6 * want, "{got} {want}");
        let got = quadratic(&mass_matrix_by(Drive::Motor, &pose, &masses), &by_crank);
        prop_assert!((got - want).abs() <= 1e-6 * want, "by the crank {got} {want}");
    }

    #[test]
    fn the_planes_figures_are_entries_of_the_mass_matrix(branch in linkages(), masses in all_masses()) {
        let pose = branch.pose(0.0).unwrap();
        let (whole, plane) = (mass_matrix(&pose, &masses), joint_inertia(&pose, &masses));
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-12 * (1.0 + a.abs());
        prop_assert!(close(plane.carrier, whole[(5, 5)]));
        prop_assert!(close(plane.coupling, whole[(5, 6)]));
        prop_assert!(close(plane.joint, whole[(6, 6)]));
        prop_assert!(close(plane.first_moment[0], whole[(1, 5)]));
        prop_assert!(close(plane.first_moment[1], -whole[(0, 5)]));
        prop_assert!(close(plane.first_moment_slope[0], whole[(0, 6)]));
        prop_assert!(close(plane.first_moment_slope[1], whole[(1, 6)]));
        prop_assert!((whole - whole.transpose()).amax() < 1e-12 * whole.amax());
    }

    #[test]
    fn slopes_are_differences_per_joint_turn(branch in linkages(), masses in all_masses()) {
        let at = |turn: f64| joint_inertia(&branch.pose(turn).unwrap(), &masses);
        let (before, middle, after) = (at(-1e-5), at(0.0), at(1e-5));
        let turn = branch.joint_turn(1e-5).unwrap() - branch.joint_turn(-1e-5).unwrap();
        let holds = |slope: f64, a: f64, b: f64| {
            let room = 1e-5 * (1.0 + slope.abs() + middle.joint.abs());
            (slope - (b - a) / turn).abs() < room
        };
        prop_assert!(holds(middle.carrier_slope, before.carrier, after.carrier));
        prop_assert!(holds(middle.coupling_slope, before.coupling, after.coupling));
        prop_assert!(holds(middle.joint_slope, before.joint, after.joint));
        for k in 0..2 {
            prop_assert!(holds(middle.first_moment_slope[k], before.first_moment[k], after.first_moment[k]));
        }
    }

    #[test]
    fn power_in_is_power_out_and_the_rod_carries_it(branch in linkages(), torque in -50.0..50.0_f64) {
        let pose = branch.pose(0.0).unwrap();
        let load = load_at(&pose, torque);
        prop_assert!((load.joint_torque * pose.velocity_ratio() - torque).abs() < 1e-9);
        // The crank in balance: motor torque and the rod's pull at P.
        let (p, w) = (pose.crank_pin(), pose.coupler_vector());
        let moment = (p.x * w[1] - p.y * w[0]) / pose.bars.coupler * load.rod_tension;
        prop_assert!((moment + torque).abs() < 1e-8 * (1.0 + torque.abs()), "{moment} {torque}");
        prop_assert!((load.rod_tension.abs() * rod_arm(&pose) - load.joint_torque.abs()).abs() < 1e-8);
    }

    #[test]
    fn the_pins_turn_by_the_differences_of_the_parts(branch in linkages()) {
        let angles = |turn: f64| {
            let pose = branch.pose(turn).unwrap();
            (pose.e[1].atan2(pose.e[0]), pose.coupler_angle(), pose.rocker_angle())
        };
        let ((a0, c0, r0), (a1, c1, r1)) = (angles(-1e-6), angles(1e-6));
        let change = |x: f64| libm::remainder(x, std::f64::consts::TAU);
        let (a, c, r) = (change(a1 - a0), change(c1 - c0), change(r1 - r0));
        let want = [a / r, (a - c) / r, (r - c) / r, 1.0];
        for (got, want) in pin_turns(&branch.pose(0.0).unwrap()).iter().zip(want) {
            prop_assert!((got - want).abs() < 1e-4 * (1.0 + want.abs()));
        }
    }

    #[test]
    fn no_motion_errs_by_more_than_the_figure(
        masses in all_masses(), speed in speeds(), share in 0.0..1.0_f64, spread in 0.9..1.1_f64,
    ) {
        let bars = FourBar { ground: 0.3, crank: 0.1, coupler: 0.3 * spread, rocker: 0.1 };
        let branch = Branch::through(bars, 1.6, Closure::Open).unwrap();
        let stroke = Stroke::on(&branch, Drive::Motor, [-0.3, 0.4]).unwrap();
        let stroke = MonotoneStroke::over(&branch, stroke).unwrap();
        let tree = Shortcut::Full.tree(&stroke, &masses, 1.0).unwrap();
        let figure = fidelity(&stroke, &masses, &tree).spatial.unwrap().value;
        let pose = stroke.pose(-0.3 + 0.7 * share).unwrap();
        let whole = mass_matrix(&pose, &masses);
        let error = quadratic(&(tree.mass_matrix(&pose) - whole), &speed).abs();
        let energy = quadratic(&whole, &speed);
        prop_assert!(error <= (figure * 1.001 + 1e-12) * energy, "{error} {figure} {energy}");
    }

    #[test]
    fn scale_multiplies_inertia_and_leaves_the_figure(
        masses in all_masses(), length in 0.01..100.0_f64, mass in 0.01..100.0_f64,
    ) {
        let scaled = |b: Body| Body {
            mass: b.mass * mass,
            centre: b.centre * length,
            inertia: Inertia::Tensor(b.tensor() * (mass * length * length)),
        };
        let both = Masses {
            crank: masses.crank.map(scaled),
            coupler: masses.coupler.map(scaled),
            child: scaled(masses.child),
            carrier: masses.carrier.map(scaled),
            carried: None,
            rotor: masses.rotor.map(|r| Rotor { inertia: r.inertia * mass * length * length, ..r }),
        };
        let figure = |masses: &Masses, by: f64| {
            let bars = FourBar { ground: 0.3 * by, crank: 0.1 * by, coupler: 0.28 * by, rocker: 0.12 * by };
            let branch = Branch::through(bars, 1.6, Closure::Open).unwrap();
            let stroke = Stroke::on(&branch, Drive::Motor, [-0.3, 0.4]).unwrap();
            let stroke = MonotoneStroke::over(&branch, stroke).unwrap();
            let tree = Shortcut::Full.tree(&stroke, masses, 0.9).unwrap();
            let joint = joint_inertia(&branch.pose(0.0).unwrap(), masses).joint;
            (fidelity(&stroke, masses, &tree), joint)
        };
        let ((one, w), (other, v)) = (figure(&masses, 1.0), figure(&both, length));
        prop_assert!((v / (w * mass * length * length) - 1.0).abs() < 1e-9);
        let (a, b) = (one.spatial.unwrap().value, other.spatial.unwrap().value);
        prop_assert!((a - b).abs() < 1e-6 * a, "{a} {b}");
        prop_assert!((one.fixed.value - other.fixed.value).abs() < 1e-6);
    }

    #[test]
    fn a_parallelogram_is_exact_with_the_carrier_fixed_whatever_it_weighs(
        masses in all_masses(), zero in 0.4..2.7_f64, arm in 0.02..0.5_f64,
    ) {
        let bars = FourBar { ground: 0.4, crank: arm, coupler: 0.4, rocker: arm };
        let branch = Branch::through(bars, zero, Closure::Open).unwrap();
        let stroke = Stroke::on(&branch, Drive::Motor, [-0.3, 0.3]).unwrap();
        let stroke = MonotoneStroke::over(&branch, stroke).unwrap();
        let tree = Shortcut::Full.tree(&stroke, &masses, 1.0).unwrap();
        let figures = fidelity(&stroke, &masses, &tree);
        // A negative n² − n is held at zero.
        let n = masses.rotor.unwrap().gear_ratio;
        prop_assume!(!(0.0..1.0).contains(&n));
        prop_assert!(figures.fixed.value < 1e-12 && figures.gravity_torque.value < 1e-12);
    }
}

#[test]
fn the_torque_bound_holds_what_the_planes_equation_of_motion_says() {
    use unloop::dynamics::{Envelope, torque_error_bound};
    let branch = Branch::through(
        FourBar { coupler: 0.29, ..drive::BARS },
        std::f64::consts::FRAC_PI_2,
        Closure::Open,
    )
    .unwrap();
    let stroke = MonotoneStroke::over(&branch, drive::stroke(&branch)).unwrap();
    let masses = drive::masses();
    let tree = Shortcut::Full.tree(&stroke, &masses, 1.0).unwrap();
    let envelope = Envelope {
        joint_speed: 6.0,
        joint_acceleration: 50.0,
        carrier_speed: 3.0,
        carrier_acceleration: 20.0,
        base_acceleration: 10.0,
    };
    let bound = torque_error_bound(&stroke, &masses, &tree, &envelope);
    let zero = torque_error_bound(&stroke, &masses, &tree, &Envelope::default());
    assert!(bound.value > 0.0 && zero.value.abs() < 1e-300);
    // τ = W ψ̈ + ½ W_ψ ψ̇² + L α̈ − ½ K_ψ α̇² + H_ψ·a with every term's worst sign, at the pose found.
    let truth = joint_inertia(&branch.pose(bound.turn).unwrap(), &masses);
    let terms = (tree.joint_inertia() - truth.joint).abs() * 50.0 + 18.0 * truth.joint_slope.abs();
    assert!(bound.value >= terms);
}
