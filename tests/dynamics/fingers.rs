//! What stands in for a finger whose coupler carries the pad: the counter-turning pair, the slide, and both fingers of one
//! motor.

use std::f64::consts::{FRAC_PI_2, PI};

use nalgebra::{Isometry3, Matrix3, SVector, Vector3};
use proptest::prelude::*;
use toml::{Table, Value};
use unloop::dynamics::{
    Body, CounterPair, CrankStroke, DriveOnCarrier, DynamicsFault, Inertia, Masses, Matrix7,
    MeasuredOver, Moments, MonotoneStroke, PairCertificate, Rotor, Slide, SlideCourse, StandIn,
    fidelity, mass_matrix_by, mirrored_place, shared_carrier, tied,
};
use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke};
use unloop::numeric::Interval;

use crate::drive::{body, planar};
use crate::laws::{
    Frame, about_z, all_masses, energy_of_bodies, frames, linkages, quadratic, speeds,
};

/// A small gripper's finger; no real one has these figures.
pub(crate) const FINGER: FourBar =
    FourBar { ground: 0.02, crank: 0.04, coupler: 0.02, rocker: 0.04 };

/// The finger's parts, the rocker's centre at `rocker` in its own frame.
pub(crate) fn masses(rocker: [f64; 3]) -> Masses {
    Masses {
        crank: Some(body(0.012, [0.02, 0.001, 0.002], [4e-7, 2.2e-6, 2.4e-6])),
        coupler: Some(body(0.03, [0.012, 0.03, 0.001], [1.1e-5, 3e-6, 1.3e-5])),
        child: body(0.01, rocker, [3e-7, 1.8e-6, 2e-6]),
        carrier: Some(body(0.4, [-0.01, -0.05, 0.003], [4e-4, 3e-4, 5e-4])),
        carried: None,
        rotor: Some(Rotor { inertia: 2e-7, gear_ratio: 20.0, in_carrier: false }),
    }
}

const ON_B: [f64; 3] = [0.0, 0.0, 0.004];
const OFF_B: [f64; 3] = [0.02, 0.001, 0.004];

pub(crate) fn branch(bars: FourBar) -> Branch {
    Branch::through(bars, FRAC_PI_2, Closure::Open).unwrap()
}

pub(crate) fn on(branch: &Branch, turns: [f64; 2]) -> CrankStroke<'_> {
    CrankStroke::over(branch, Stroke::on(branch, Drive::Motor, turns).unwrap()).unwrap()
}

/// Takes the speeds that the palm's frame sees to those that the frame standing at `place` there sees.
pub(crate) fn speeds_at(place: &Isometry3<f64>) -> Matrix7 {
    let back = place.rotation.inverse().to_rotation_matrix().into_inner();
    let mut speeds = Matrix7::identity();
    speeds.fixed_view_mut::<3, 3>(0, 0).copy_from(&back);
    speeds.fixed_view_mut::<3, 3>(3, 3).copy_from(&back);
    let lever = -(back * place.translation.vector.cross_matrix());
    speeds.fixed_view_mut::<3, 3>(0, 3).copy_from(&lever);
    speeds
}

fn turns_of(stroke: &CrankStroke<'_>) -> impl Iterator<Item = f64> {
    let [from, to] = stroke.ends();
    (0..=20).map(move |k: i32| from + (to - from) * f64::from(k) / 20.0)
}

/// Stand-in less linkage at a turn.
fn difference(
    stand_in: &impl StandIn,
    stroke: &CrankStroke<'_>,
    masses: &Masses,
    turn: f64,
) -> Matrix7 {
    let pose = stroke.pose(turn).unwrap();
    stand_in.mass_matrix(&pose, turn) - mass_matrix_by(Drive::Motor, &pose, masses)
}

fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Array(all) => all.iter().flat_map(numbers).collect(),
        Value::Integer(whole) => vec![f64::from(i32::try_from(*whole).unwrap())],
        other => vec![other.as_float().unwrap()],
    }
}

#[test]
fn a_parallelograms_rocker_leaves_k_in_the_coupling_and_twice_k_in_the_palm() {
    let file: Table = toml::from_str(include_str!("../data/check-values-grippers.toml")).unwrap();
    let cases = file["case"].as_array().unwrap();
    let case = cases.iter().find(|c| c["id"].as_str() == Some("grip-rocker-rest")).unwrap();
    let input = |key: &str| numbers(&case["inputs"][key]);
    let exact = |key: &str| numbers(&case["exact"][key])[0];
    let (a, b) = (input("A_m"), input("B_m"));
    let ground = [b[0] - a[0], b[1] - a[1]];
    let bars = FourBar { ground: ground[0].hypot(ground[1]), ..FINGER };
    let bars = FourBar { coupler: bars.ground, ..bars };
    let crank = input("crank_rad")[0] - ground[1].atan2(ground[0]);
    let branch = Branch::through(bars, crank, Closure::Open).unwrap();
    // As far beyond the square crank as before it: the mid-range of k is none.
    let stroke = on(&branch, [0.0, PI - 2.0 * crank]);
    let rocker = Body {
        mass: input("mass_kg")[0],
        centre: Vector3::new(input("centre_m")[0], 0.0, 0.0),
        inertia: Inertia::AboutAxis(input("inertia_kg_m2")[0]),
    };
    let masses = planar(&Masses { child: rocker, rotor: None, ..masses(ON_B) });
    let pair = CounterPair::of(&stroke, &masses, -1.0).unwrap();
    let lacks = -difference(&pair, &stroke, &masses, 0.0);
    let near = |got: f64, want: f64| assert!((got - want).abs() < 1e-12 * 1e-3, "{got} {want}");
    near(lacks[(5, 5)], exact("palm"));
    near(lacks[(5, 6)], exact("coupling"));
    near(lacks[(5, 6)], exact("k_kg_m2"));
    near(lacks[(6, 6)], exact("crank"));
}

/// Largest entry of the difference that a palm moving without turning sees, and of all.
fn largest(stand_in: &impl StandIn, stroke: &CrankStroke<'_>, masses: &Masses) -> [f64; 2] {
    let turning = |k: usize| (3..6).contains(&k);
    let of = |turn: f64| {
        let d = difference(stand_in, stroke, masses, turn);
        let straight = Matrix7::from_fn(|i, j| {
            if (turning(i) && j > 2) || (turning(j) && i > 2) { 0.0 } else { d[(i, j)] }
        });
        [straight.amax(), d.amax()]
    };
    turns_of(stroke).map(of).fold([0.0, 0.0], |a, b| [a[0].max(b[0]), a[1].max(b[1])])
}

#[test]
fn a_rocker_with_its_centre_on_its_hinge_leaves_nothing_even_for_a_palm_in_space() {
    let branch = branch(FINGER);
    let stroke = on(&branch, [-0.6, 0.5]);
    let masses = masses(ON_B);
    let pair = CounterPair::of(&stroke, &masses, -1.0).unwrap();
    assert!(pair.is_parallel && pair.is_spatial && pair.lacking.is_none());
    assert!(largest(&pair, &stroke, &masses)[1] < 1e-15);
    let figures = fidelity(&stroke, &masses, &pair);
    assert!(figures.spatial.unwrap().value < 1e-12, "{figures:?}");
}

#[test]
fn bodies_of_a_pair_are_real_and_keep_all_mass() {
    let branch = branch(FINGER);
    let stroke = on(&branch, [-0.6, 0.5]);
    for (rocker, rotor) in [(ON_B, true), (OFF_B, true), (OFF_B, false)] {
        let mut masses = masses(rocker);
        masses.rotor = masses.rotor.filter(|_| rotor);
        let pair = CounterPair::of(&stroke, &masses, -1.0).unwrap();
        assert_eq!([pair.carrier().check(), pair.crank.check()], [Ok(()), Ok(())]);
        let kept = pair.carrier.mass + pair.crank.mass - (0.4 + 0.012 + 0.01);
        assert!(kept.abs() < 1e-15 && pair.armature >= 0.0);
    }
}

#[test]
fn a_crank_without_figures_takes_its_mass_from_the_palm_and_is_named_where_that_is_unknown() {
    let branch = branch(FINGER);
    let stroke = on(&branch, [-0.6, 0.5]);
    let masses = Masses { crank: None, ..masses(OFF_B) };
    let pair = CounterPair::of(&stroke, &masses, -1.0).unwrap();
    assert!(pair.crank.mass > 0.0 && pair.carrier().check().is_ok());
    let alone = Masses { carrier: None, ..masses };
    let fault = CounterPair::of(&stroke, &alone, -1.0).unwrap_err();
    assert!(matches!(fault, DynamicsFault::NoRealBody { body: "crank", .. }), "{fault:?}");
}

#[test]
fn the_mid_range_of_the_rest_halves_the_error_of_a_finger_that_closes_to_one_side() {
    let branch = branch(FINGER);
    let masses = planar(&masses(OFF_B));
    let stroke = on(&branch, [-1.2, -0.4]);
    let pair = CounterPair::of(&stroke, &masses, -1.0).unwrap();
    let lacks: Vec<f64> =
        turns_of(&stroke).map(|turn| -difference(&pair, &stroke, &masses, turn)[(5, 6)]).collect();
    let (low, high) = (lacks[0], lacks[20]);
    assert!((low + high).abs() < 1e-12 * low.abs() && low.abs() > 1e-7, "{low} {high}");
}

/// Crank and coupler of the pair in the carrier frame, and the palm, at a motor turn.
fn pair_frames(branch: &Branch, pair: &CounterPair, turn: f64) -> Vec<Frame> {
    let [crank, coupler, _] = frames(&branch.pose(turn).unwrap());
    let attitude = pair.zero_coupler + (1.0 + pair.follower_rate) * turn;
    vec![crank, (coupler.0, about_z(attitude)), (Vector3::zeros(), Matrix3::identity())]
}

/// Speeds mirrored in the plane with unit normal `n`: a rotation is mirrored the other way round.
fn mirrored_speeds(
    speed: &SVector<f64, 7>,
    n: &Vector3<f64>,
    mirror: &Vector3<f64>,
) -> SVector<f64, 7> {
    let reflect = Matrix3::identity() - 2.0 * n * n.transpose();
    let (v, w) = (speed.fixed_rows::<3>(0).into_owned(), speed.fixed_rows::<3>(3).into_owned());
    // Of the palm's point that B is mirrored to.
    let there = v + w.cross(&(2.0 * n * n.dot(mirror)));
    let (v, w) = (reflect * there, -(reflect * w));
    SVector::from([v.x, v.y, v.z, w.x, w.y, w.z, speed[6]])
}

/// Nearly a parallelogram to far from it, and a stroke about its zero pose.
fn fingers() -> impl Strategy<Value = (FourBar, [f64; 2])> {
    let off = || 0.9..1.1_f64;
    (0.2..0.6_f64, 0.2..0.6_f64, off(), off(), 0.1..0.5_f64, 0.1..0.5_f64).prop_map(
        |(g, a, b, c, below, above)| {
            let bars = FourBar { ground: g, crank: a, coupler: g * b, rocker: a * c };
            (bars, [-below, above])
        },
    )
}

/// A whole-plane normal and point of a palm's mirror plane.
fn mirrors() -> impl Strategy<Value = (Vector3<f64>, Vector3<f64>)> {
    (-3.0..3.0_f64, -0.5..0.5_f64, -0.5..0.5_f64)
        .prop_map(|(t, x, y)| (Vector3::new(t.cos(), t.sin(), 0.0), Vector3::new(x, y, 0.0)))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn a_parallelograms_pair_is_exact_for_a_palm_that_does_not_turn_whatever_it_weighs(
        masses in all_masses(), zero in 0.4..2.7_f64, arm in 0.1..0.5_f64, ground in 0.1..0.5_f64,
    ) {
        let bars = FourBar { ground, crank: arm, coupler: ground, rocker: arm };
        let branch = Branch::through(bars, zero, Closure::Open).unwrap();
        let stroke = on(&branch, [-0.3, 0.3]);
        let Ok(pair) = CounterPair::of(&stroke, &masses, -1.0) else { return Err(TestCaseError::reject("no real bodies")) };
        prop_assert!(pair.crank.check().is_ok() && pair.carrier().check().is_ok());
        let scale = mass_matrix_by(Drive::Motor, &branch.pose(0.0).unwrap(), &masses).amax();
        let [straight, all] = largest(&pair, &stroke, &masses);
        prop_assert!(straight < 1e-12 * scale, "{straight}");
        prop_assert!(all > 1e-9 * scale);
        prop_assert!(fidelity(&stroke, &masses, &pair).fixed.value < 1e-12);
    }

    #[test]
    fn kinetic_energy_of_the_pairs_bodies_is_its_mass_matrixs(
        (bars, turns) in fingers(), masses in all_masses(), speed in speeds(), rate in -1.3..-0.7_f64, share in 0.0..1.0_f64,
    ) {
        let Ok(branch) = Branch::through(bars, 1.5, Closure::Open) else { return Err(TestCaseError::reject("open")) };
        let stroke = on(&branch, turns);
        let Ok(pair) = CounterPair::of(&stroke, &masses, rate) else { return Err(TestCaseError::reject("no real bodies")) };
        let turn = turns[0] + (turns[1] - turns[0]) * share;
        let bodies = [pair.crank, pair.coupler.unwrap(), pair.carrier()];
        let places = |time: f64| pair_frames(&branch, &pair, turn + speed[6] * time);
        let want = energy_of_bodies(&bodies, places, &speed) + 0.5 * pair.armature * speed[6] * speed[6];
        let got = quadratic(&pair.mass_matrix(&branch.pose(turn).unwrap(), turn), &speed);
        prop_assert!((got - want).abs() <= 1e-6 * want, "{got} {want}");
    }

    #[test]
    fn no_motion_of_a_finger_errs_by_more_than_the_figure(
        (bars, turns) in fingers(), masses in all_masses(), speed in speeds(), share in 0.0..1.0_f64, rate in -1.2..-0.8_f64,
    ) {
        let Ok(branch) = Branch::through(bars, 1.5, Closure::Open) else { return Err(TestCaseError::reject("open")) };
        let stroke = on(&branch, turns);
        let Ok(pair) = CounterPair::of(&stroke, &masses, rate) else { return Err(TestCaseError::reject("no real bodies")) };
        let course = SlideCourse::from_zero(&stroke, [-1.0, 0.0], bars.crank).unwrap();
        let Ok(slide) = Slide::of(&stroke, &masses, course) else { return Err(TestCaseError::reject("no real palm")) };
        let turn = turns[0] + (turns[1] - turns[0]) * share;
        let energy = quadratic(&mass_matrix_by(Drive::Motor, &branch.pose(turn).unwrap(), &masses), &speed);
        let figures = [fidelity(&stroke, &masses, &pair), fidelity(&stroke, &masses, &slide)];
        let errors = [difference(&pair, &stroke, &masses, turn), difference(&slide, &stroke, &masses, turn)];
        for (figures, error) in figures.iter().zip(errors) {
            let (over, figure) = figures.headline();
            prop_assert_eq!(over, MeasuredOver::Space);
            let wrong = quadratic(&error, &speed).abs();
            prop_assert!(wrong <= (figure.value * 1.001 + 1e-12) * energy, "{wrong} {} {energy}", figure.value);
        }
    }

    #[test]
    fn a_mirrored_finger_weighs_as_its_mirror_image_moves(
        branch in linkages(), masses in all_masses(), speed in speeds(), (normal, point) in mirrors(),
    ) {
        // Without palm and rotor: the moving parts of the second finger, seen through T.
        let moving = Masses { carrier: None, rotor: None, ..masses };
        let pose = branch.pose(0.0).unwrap();
        let place = mirrored_place([point.x, point.y], [normal.x, normal.y]);
        let second = moving.mirrored(&place);
        let there = speeds_at(&place) * speed;
        let got = quadratic(&mass_matrix_by(Drive::Motor, &pose, &second), &there);
        let image = mirrored_speeds(&speed, &normal, &point);
        let want = quadratic(&mass_matrix_by(Drive::Motor, &pose, &moving), &image);
        prop_assert!((got - want).abs() <= 1e-9 * want, "{got} {want}");
    }
}

/// A finger and its mirror image on one palm.
struct BothFingers {
    branch: Branch,
    turns: [f64; 2],
    masses: [Masses; 2],
    place: Isometry3<f64>,
}

impl BothFingers {
    fn of(bars: FourBar, turns: [f64; 2], masses: Masses) -> Self {
        let place = mirrored_place([-0.035, 0.0], [1.0, 0.0]);
        Self { branch: branch(bars), turns, masses: [masses, masses.mirrored(&place)], place }
    }

    fn frames(&self) -> [Isometry3<f64>; 2] {
        [Isometry3::identity(), self.place]
    }

    /// What `check` finds of the pairs of both on their palm.
    fn with<T>(
        &self,
        rate: f64,
        check: impl Fn(&[DriveOnCarrier<'_>], [CounterPair; 2]) -> T,
    ) -> T {
        let stroke = on(&self.branch, self.turns);
        let pairs = self.masses.map(|m| CounterPair::among(&stroke, &m, rate, 2).unwrap());
        let drives = [0, 1].map(|k| DriveOnCarrier {
            frame: self.frames()[k],
            stroke: &stroke,
            masses: &self.masses[k],
            stand_in: &pairs[k],
        });
        check(&drives, pairs)
    }
}

#[test]
fn one_finger_tied_to_none_has_its_own_figures() {
    let fingers = BothFingers::of(FourBar { rocker: 0.041, ..FINGER }, [-0.4, 0.5], masses(OFF_B));
    fingers.with(-1.0, |drives, pairs| {
        let alone = fidelity(drives[0].stroke, drives[0].masses, &pairs[0]);
        let tied = tied(&drives[..1]).unwrap();
        let values = |f: unloop::dynamics::Fidelity| {
            [f.fixed, f.planar.unwrap(), f.spatial.unwrap(), f.gravity_torque].map(|e| e.value)
        };
        for (a, b) in values(alone).iter().zip(values(tied)) {
            assert!((a - b).abs() <= 1e-9 * a, "{a} {b}");
        }
    });
}

#[test]
fn what_one_finger_gives_the_palms_turning_its_mirror_image_takes_away() {
    // Without a rotor each finger's k stays in its coupling to the palm; k of the mirror image has the other sign there.
    let plain = Masses { rotor: None, ..masses(OFF_B) };
    let fingers = BothFingers::of(FINGER, [-0.5, 0.5], plain);
    let [alone, both] = fingers.with(-1.0, |drives, pairs| {
        let alone = fidelity(drives[0].stroke, drives[0].masses, &pairs[0]);
        [alone, tied(drives).unwrap()].map(|f| f.planar.unwrap().value)
    });
    assert!(alone > 1e-3 && both < 0.5 * alone, "{alone} {both}");
    let balanced = BothFingers::of(FINGER, [-0.5, 0.5], masses(ON_B));
    let none = balanced.with(-1.0, |drives, _| tied(drives).unwrap().spatial.unwrap().value);
    assert!(none < 1e-12, "{none}");
}

#[test]
fn the_palm_that_bears_both_fingers_is_a_real_body() {
    let fingers = BothFingers::of(FINGER, [-0.5, 0.5], masses(OFF_B));
    let palm = fingers.with(-1.0, |drives, pairs| {
        let placed = [0, 1].map(|k| (drives[k].frame, drives[k].masses, &pairs[k]));
        shared_carrier(&placed).unwrap()
    });
    // The palm with a rocker at each B, less what the cranks took of it on their own axes.
    assert!(palm.check().is_ok() && palm.mass <= 0.42 + 1e-12, "{palm:?}");
}

#[test]
fn shares_of_palm_and_rotor_add_up_to_what_both_fingers_weigh() {
    for in_carrier in [true, false] {
        let rotor = Some(Rotor { inertia: 2e-7, gear_ratio: 20.0, in_carrier });
        let fingers = BothFingers::of(FINGER, [-0.4, 0.5], Masses { rotor, ..masses(OFF_B) });
        let pose = fingers.branch.pose(0.3).unwrap();
        let sum = |both: [Masses; 2]| -> Matrix7 {
            let one = |k: usize| {
                let speeds = speeds_at(&fingers.frames()[k]);
                speeds.transpose() * mass_matrix_by(Drive::Motor, &pose, &both[k]) * speeds
            };
            one(0) + one(1)
        };
        let [first, second] = fingers.masses;
        let whole = sum([first, Masses { carrier: None, ..second }]);
        let shares = sum(Masses::tied_shares([&first, &second]));
        assert!((whole - shares).amax() < 1e-15, "{}", whole - shares);
    }
}

#[test]
fn the_figure_of_both_fingers_bounds_every_motion_of_the_two() {
    let fingers = BothFingers::of(FourBar { rocker: 0.042, ..FINGER }, [-0.4, 0.5], masses(OFF_B));
    let (whole, error, figure) = fingers.with(-1.0, |drives, _| {
        let figure = tied(drives).unwrap().spatial.unwrap();
        let pose = drives[0].stroke.pose(figure.turn).unwrap();
        let sum = |linkage: bool| -> Matrix7 {
            let one = |drive: &DriveOnCarrier<'_>, first: bool| {
                let masses = Masses {
                    carrier: drive.masses.carrier.filter(|_| first || !linkage),
                    ..*drive.masses
                };
                let matrix = mass_matrix_by(Drive::Motor, &pose, &masses);
                let own = drive.stand_in.mass_matrix(&pose, figure.turn) - matrix;
                let speeds = speeds_at(&drive.frame);
                speeds.transpose() * if linkage { matrix } else { own } * speeds
            };
            one(&drives[0], true) + one(&drives[1], false)
        };
        (sum(true), sum(false), figure.value)
    });
    let lower = whole.cholesky().unwrap().l();
    let half = lower.solve_lower_triangular(&error).unwrap();
    let share = lower.solve_lower_triangular(&half.transpose()).unwrap();
    let largest = share.symmetric_eigenvalues().amax();
    assert!((largest - figure).abs() < 1e-9 * figure, "{largest} {figure}");
}

#[test]
fn a_rocker_that_turns_back_leaves_the_finger_its_figures() {
    // The rocker's dead point lies inside the stroke, where a joint on it has no ratio.
    let bars = FourBar { ground: 0.06, crank: 0.02, coupler: 0.05, rocker: 0.04 };
    let branch = Branch::through(bars, 0.9, Closure::Open).unwrap();
    let dead = branch.next_dead_turn(0.0, 1.0).unwrap();
    let range = Stroke::on(&branch, Drive::Motor, [dead - 0.3, dead + 0.3]).unwrap();
    assert!(matches!(MonotoneStroke::over(&branch, range), Err(DynamicsFault::DeadPoint { .. })));
    let (stroke, masses) = (CrankStroke::over(&branch, range).unwrap(), masses(OFF_B));
    let pair = CounterPair::of(&stroke, &masses, -1.0).unwrap();
    let figures = fidelity(&stroke, &masses, &pair);
    let all = [figures.fixed, figures.planar.unwrap(), figures.spatial.unwrap()];
    assert!(all.iter().all(|f| f.value > 0.0 && f.value.is_finite()), "{all:?}");
    let at_dead = difference(&pair, &stroke, &masses, dead);
    assert!(at_dead.iter().all(|x| x.is_finite()));
}

#[test]
fn a_nearly_exact_parallelogram_has_nearly_the_figures_of_an_exact_one() {
    let figure = |rocker: f64| {
        let branch = branch(FourBar { rocker, ..FINGER });
        let (stroke, masses) = (on(&branch, [-0.5, 0.5]), masses(ON_B));
        let pair = CounterPair::of(&stroke, &masses, -1.0).unwrap();
        fidelity(&stroke, &masses, &pair).spatial.unwrap().value
    };
    let (near, far) = (figure(0.04005), figure(0.041));
    assert!(near > 1e-6 && near < 0.01, "{near}");
    // In proportion to what the length is off.
    assert!((far / near - 20.0).abs() < 4.0, "{far} {near}");
}

#[test]
fn a_follower_that_turns_at_the_couplers_mean_rate_errs_less_than_one_that_keeps_its_attitude() {
    let bars = FourBar { ground: 0.02, coupler: 0.05, rocker: 0.06, ..FINGER };
    let branch = branch(bars);
    let (stroke, masses) = (on(&branch, [-0.5, 0.5]), masses(ON_B));
    let angle = |turn: f64| branch.pose(turn).unwrap().coupler_angle();
    let mean = angle(0.5) - angle(-0.5);
    let figure = |rate: f64| {
        let pair = CounterPair::of(&stroke, &masses, rate).unwrap();
        fidelity(&stroke, &masses, &pair).spatial.unwrap().value
    };
    let (best, kept) = (figure(mean - 1.0), figure(-1.0));
    // Rigid with the crank, so that nothing but the means is left to make up for the pad's attitude.
    let rigid = figure(0.0);
    assert!(mean > 0.4 && best < kept && 3.0 * best < rigid, "{mean}: {best} {kept} {rigid}");
}

#[test]
fn a_slides_momentum_errs_by_the_arc_that_the_pad_goes() {
    let (branch, mut masses) = (branch(FINGER), planar(&masses(ON_B)));
    // Crank and rocker turn about their centres: the momentum along the closing direction is the pad's alone.
    masses.crank.as_mut().unwrap().centre = Vector3::zeros();
    let error = |half: f64| {
        let stroke = on(&branch, [-half, half]);
        let course = SlideCourse::from_zero(&stroke, [-1.0, 0.0], FINGER.crank).unwrap();
        let slide = Slide::of(&stroke, &masses, course).unwrap();
        // A parallelogram's W is constant, and so is the slide's.
        assert!(fidelity(&stroke, &masses, &slide).fixed.value < 1e-12);
        let momentum = |turn| difference(&slide, &stroke, &masses, turn)[(0, 6)].abs();
        let worst = turns_of(&stroke).map(momentum).fold(0.0, f64::max);
        let want = 0.03 * FINGER.crank * (1.0 - half.cos());
        assert!((worst - want).abs() < 1e-15, "{worst} {want}");
        fidelity(&stroke, &masses, &slide).planar.unwrap().value
    };
    let (wide, narrow) = (error(0.4), error(0.2));
    assert!(narrow > 1e-4 && wide > 1.2 * narrow, "{wide} {narrow}");
}

#[test]
fn a_slide_and_its_armature_have_the_inertia_that_the_motor_sees() {
    let (branch, masses) = (branch(FINGER), masses(OFF_B));
    let stroke = on(&branch, [-0.5, 0.5]);
    let course = SlideCourse::from_zero(&stroke, [-1.0, 0.0], 0.038).unwrap();
    let slide = Slide::of(&stroke, &masses, course).unwrap();
    let whole = mass_matrix_by(Drive::Motor, &branch.pose(0.3).unwrap(), &masses)[(6, 6)];
    let seen = (0.03 + slide.armature_mass()) * 0.038 * 0.038;
    assert!((seen - whole).abs() < 1e-12 * whole, "{seen} {whole}");
}

#[test]
fn a_slide_keeps_all_mass_and_a_real_palm() {
    let (branch, masses) = (branch(FINGER), masses(OFF_B));
    let stroke = on(&branch, [-0.5, 0.5]);
    let course = SlideCourse::from_zero(&stroke, [-1.0, 0.0], -FINGER.crank).unwrap();
    let slide = Slide::of(&stroke, &masses, course).unwrap();
    let palm = Moments::from(&slide.carrier());
    assert!(slide.carrier().check().is_ok() && (palm.mass - 0.422).abs() < 1e-12);
    let moved = Slide::on(&slide, &Masses { carrier: None, ..masses });
    assert!((moved.carrier.mass - 0.022).abs() < 1e-12);
}

/// The largest of both fingers' bounds over all lengths within `tolerance` (m), each finger with its halves of palm and rotor.
fn proved(fingers: &BothFingers, tolerance: f64, limit: f64) -> Option<f64> {
    let range = |x: f64| Interval::new(x - tolerance, x + tolerance);
    let bars = fingers.branch.bars();
    let bars = FourBar {
        ground: range(bars.ground),
        crank: range(bars.crank),
        coupler: range(bars.coupler),
        rocker: range(bars.rocker),
    };
    fingers.with(-1.0, |_, pairs| {
        let [first, second] = &fingers.masses;
        let shares = Masses::tied_shares([first, second]);
        let bound = |k: usize| {
            let certificate = PairCertificate {
                branch: &fingers.branch,
                masses: &fingers.masses[k],
                whole: &shares[k],
                pair: &pairs[k],
                over: MeasuredOver::Space,
                bars,
                crank_error: Interval::ZERO,
            };
            certificate.bound(fingers.turns, 0.0, limit)
        };
        Some(bound(0)?.max(bound(1)?))
    })
}

#[test]
fn the_bounds_of_both_fingers_with_their_halves_of_palm_and_rotor_hold_for_the_two_tied() {
    let fingers = BothFingers::of(FourBar { rocker: 0.041, ..FINGER }, [-0.4, 0.5], masses(OFF_B));
    let figure = fingers.with(-1.0, |drives, _| tied(drives).unwrap().spatial.unwrap().value);
    let bound = proved(&fingers, 0.0, 1.0).unwrap();
    assert!(figure <= bound && bound < 1.4 * figure, "{figure} {bound}");
}

#[test]
fn an_exact_pair_is_proved_for_every_pose_and_every_finger_within_its_tolerances() {
    let fingers = BothFingers::of(FINGER, [-0.5, 0.5], masses(ON_B));
    let [drawn, built] = [0.0, 2e-5].map(|tolerance| proved(&fingers, tolerance, 0.2).unwrap());
    assert!(drawn < 1e-3 && built < 0.05, "{drawn} {built}");
}
