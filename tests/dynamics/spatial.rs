//! Drives whose bodies need not move in one plane: their mass matrix in a general-purpose physics engine (MuJoCo), as the
//! derivative of where the bodies are, and as the four-bar's where all is flat.

use crate::drive::body;
use crate::engine::{self, matrix};
use crate::venv;

use nalgebra::{Matrix3, UnitQuaternion, Vector3};
use serde_json::{Value, json};
use unloop::drive::{
    Assembly, Axis, BallRod, FixedRatio, InputEnd, JointDrive, LinearActuator, OneJoint, RodDrive,
    Slider, Vector,
};
use unloop::dynamics::{
    Body, CoaxialRotor, DriveParts, Fidelity, Inertia, JointStroke, Masses, Moments,
    MonotoneStroke, Replacement, Rotor, Tree, drive_fidelity, drive_mass_matrix, drive_replacement,
    fidelity, mass_matrix,
};
use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke};
use unloop::numeric::evenly;

pub(super) fn tilted(mass: f64, centre: [f64; 3], diagonal: [f64; 3], turn: [f64; 3]) -> Body {
    let turn = UnitQuaternion::from_scaled_axis(Vector3::from(turn)).to_rotation_matrix();
    let tensor = Matrix3::from_diagonal(&Vector3::from(diagonal));
    let tensor = turn.matrix() * tensor * turn.matrix().transpose();
    Body { mass, centre: centre.into(), inertia: Inertia::Tensor(tensor) }
}

/// Bodies without any symmetry.
fn parts(rotor: Rotor) -> DriveParts {
    let masses = Masses {
        crank: Some(tilted(0.11, [0.02, 0.004, -0.006], [2e-5, 3e-5, 4e-5], [0.2, 0.5, -0.3])),
        coupler: Some(tilted(0.16, [0.07, 0.01, -0.013], [4e-5, 7e-4, 7.2e-4], [-0.1, 0.3, 0.6])),
        child: tilted(0.9, [0.03, -0.04, 0.02], [1.2e-3, 3.4e-3, 3e-3], [0.4, -0.2, 0.1]),
        carrier: Some(tilted(2.2, [-0.17, 0.02, 0.03], [5e-3, 0.0185, 0.018], [0.1, 0.2, 0.3])),
        carried: None,
        rotor: Some(rotor),
    };
    DriveParts {
        masses,
        housing: Some(tilted(0.6, [0.08, 0.01, 0.02], [3e-4, 2e-3, 2.1e-3], [0.3, 0.1, -0.2])),
        nut: Some(tilted(0.15, [-0.05, 0.003, 0.01], [3e-5, 2e-4, 2.1e-4], [-0.2, 0.3, 0.5])),
    }
}

fn vector(v: [f64; 3]) -> Vector {
    Vector::new(v[0], v[1], v[2])
}

fn axis(point: [f64; 3], direction: [f64; 3]) -> Axis {
    Axis { point: vector(point), direction: vector(direction) }
}

pub(super) const SKEW: BallRod = BallRod {
    ground: 0.1,
    crank: 0.04,
    coupler: 0.12,
    rocker: 0.08,
    axial: 0.025,
    twist: 0.52,
    lean: 0.17,
};

pub(super) const KNEE: BallRod = BallRod {
    ground: 0.3,
    crank: 0.045,
    coupler: 0.3,
    rocker: 0.045,
    axial: 0.012,
    twist: 0.0785,
    lean: 0.026,
};

pub(super) fn actuator() -> LinearActuator {
    LinearActuator {
        motor: vector([0.01, 0.03, -0.04]),
        joint: axis([0.3, 0.0, 0.0], [0.1, -0.2, 1.0]),
        rocker: vector([0.26, 0.045, 0.015]),
        line_offset: 0.0,
        lead: 0.005,
    }
}

pub(super) fn slider() -> Slider {
    Slider {
        guide: vector([0.0, 0.02, 0.01]),
        direction: vector([1.0, 0.1, -0.05]),
        coupler: 0.12,
        joint: axis([0.3, 0.0, 0.0], [0.05, 0.1, 1.0]),
        rocker: vector([0.29, 0.05, 0.0]),
        lead: 0.004,
    }
}

struct Case {
    name: &'static str,
    drive: JointDrive,
    range: [f64; 2],
    parts: DriveParts,
}

fn cases() -> Vec<Case> {
    let case = |name, drive: RodDrive, range, gear_ratio: f64, inertia| Case {
        name,
        drive: JointDrive::Rod(Box::new(drive)),
        range,
        parts: parts(Rotor { inertia, gear_ratio, in_carrier: true }),
    };
    let ball = |drawing: BallRod, phi, assembly| drawing.drive(phi, assembly).unwrap();
    vec![
        case("skew, open", ball(SKEW, 1.2, Assembly::Open), [-0.2, 0.2], 7.75, 1.5e-4),
        case("skew, crossed", ball(SKEW, 1.2, Assembly::Crossed), [-0.2, 0.2], -7.75, 1.5e-4),
        case("knee", ball(KNEE, 1.57, Assembly::Open), [-0.6, 0.7], 7.75, 1.5e-4),
        case("actuator", actuator().drive(None).unwrap(), [-0.7, 0.5], 1.5, 8e-6),
        case("slider behind", slider().drive(0.17).unwrap(), [-0.6, 0.6], 1.0, 8e-6),
        case("slider ahead", slider().drive(0.4).unwrap(), [-0.5, 0.6], -1.0, 8e-6),
    ]
}

/// A rotor of its own, thin as a disc, z its axis.
pub(super) fn disc(inertia: f64) -> Body {
    body(0.05, [0.0; 3], [0.6 * inertia, 0.6 * inertia, inertia])
}

pub(super) fn less(whole: &Body, part: &Body) -> Body {
    (Moments::from(whole) - Moments::from(part)).body()
}

pub(super) fn along(axis: Vector3<f64>, at: Vector3<f64>, disc: &Body) -> Body {
    let turn = UnitQuaternion::rotation_between(&Vector3::z(), &axis).unwrap();
    disc.seen_from(&nalgebra::Isometry3::from_parts(at.into(), turn))
}

impl Case {
    fn stroke(&self) -> JointStroke<'_> {
        JointStroke::over(&self.drive, self.range).unwrap()
    }

    fn turns(&self) -> Vec<f64> {
        evenly(self.range, 4).collect()
    }

    /// As the engine wants it.
    fn json(&self) -> Value {
        let JointDrive::Rod(rod) = &self.drive else { panic!("no rod") };
        let stroke = self.stroke();
        let plain = |v: Vector| Vector3::new(v.x, v.y, v.z);
        let point = |v: Vector| stroke.frame().inverse_transform_point(&plain(v).into()).coords;
        let way = |v: Vector| stroke.frame().inverse_transform_vector(&plain(v));
        let list = |v: Vector3<f64>| json!([v.x, v.y, v.z]);
        let zero = rod.pose(0.0).unwrap();
        let (pin, foot) = (point(zero.reached.pin), point(zero.joint_pin));
        let rotor = self.parts.masses.rotor.unwrap();
        let disc = disc(rotor.inertia);
        let DriveParts { masses, mut housing, nut } = self.parts;
        let mut carrier = masses.carrier.unwrap();
        let rod_json = match rod.geometry().input {
            InputEnd::Crank { circle, .. } => {
                carrier = less(&carrier, &along(way(circle.axis), point(circle.centre), &disc));
                json!({"kind": "crank", "point": list(point(circle.centre)), "axis": list(way(circle.axis))})
            }
            InputEnd::Slide { point: at, direction, .. } => {
                carrier = less(&carrier, &along(way(direction), point(at), &disc));
                json!({"kind": "slide", "point": list(point(at)), "direction": list(way(direction))})
            }
            InputEnd::Actuator { .. } => {
                let own = along(Vector3::x(), Vector3::zeros(), &disc);
                housing = housing.map(|housing| less(&housing, &own));
                json!({"kind": "actuator"})
            }
        };
        let mut rod_json = rod_json;
        rod_json["pin"] = list(pin);
        rod_json["foot"] = list(foot);
        let told = |body: Option<Body>| body.map_or(Value::Null, |body| engine::body(&body));
        json!({
            "rod": rod_json,
            "bodies": {
                "carrier": told(Some(carrier)), "child": told(Some(masses.child)),
                "crank": told(masses.crank), "coupler": told(masses.coupler),
                "housing": told(housing), "nut": told(nut),
            },
            "rotor": {
                "turns": rotor.gear_ratio * rod.geometry().input.gain(),
                "body": engine::body(&disc),
            },
            "turns": self.turns(),
        })
    }
}

#[test]
fn the_engine_gives_every_drive_in_space_the_same_mass_matrix_and_weight() {
    let cases = cases();
    let asked: Vec<Value> = cases.iter().map(Case::json).collect();
    let output = venv::script("dynamics_space.py", &json!(asked).to_string());
    let text = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{text}");
    let answers: Value = serde_json::from_slice(&output.stdout).unwrap();
    for (case, answer) in cases.iter().zip(answers.as_array().unwrap()) {
        for (turn, found) in case.turns().into_iter().zip(answer.as_array().unwrap()) {
            assert!(found["left"].as_f64().unwrap() < 1e-14, "{}: {found}", case.name);
            let ours = drive_mass_matrix(&case.stroke(), &case.parts, turn).unwrap();
            let theirs = matrix(&found["matrix"]);
            let off = (ours - theirs).abs().max() / ours.abs().max();
            println!("{} at {turn:.2}: {off:.1e}", case.name);
            assert!(off < 1e-9, "{} at {turn}: {ours} {theirs}", case.name);
            for (k, weight) in found["weights"].as_array().unwrap().iter().enumerate() {
                let off = (weight.as_f64().unwrap() - ours[(k, 6)]).abs();
                assert!(off < 1e-9, "{}: {weight} {}", case.name, ours[(k, 6)]);
            }
        }
    }
}

pub(super) fn flat(bars: FourBar) -> BallRod {
    let FourBar { ground, crank, coupler, rocker } = bars;
    BallRod { ground, crank, coupler, rocker, axial: 0.0, twist: 0.0, lean: 0.0 }
}

/// A flat four-bar with its twin among the drives in space.
struct Twins {
    branch: Branch,
    drive: JointDrive,
    range: [f64; 2],
}

fn twins(bars: FourBar, zero: f64, range: [f64; 2]) -> Twins {
    let branch = Branch::through(bars, zero, Closure::Open).unwrap();
    let drive = flat(bars).drive(zero, Assembly::Open).unwrap();
    Twins { branch, drive: JointDrive::Rod(Box::new(drive)), range }
}

pub(super) const ANKLE: FourBar = FourBar { ground: 0.3, crank: 0.04, coupler: 0.3, rocker: 0.04 };
pub(super) const GENERAL: FourBar =
    FourBar { ground: 0.3, crank: 0.045, coupler: 0.31, rocker: 0.07 };

fn all_twins() -> [Twins; 2] {
    [twins(ANKLE, 1.5, [-0.6, 0.7]), twins(GENERAL, 1.3, [-0.3, 0.4])]
}

fn masses() -> Masses {
    let mut masses = crate::drive::masses();
    masses.child = tilted(0.9, [0.03, -0.04, 0.01], [1.2e-3, 3.4e-3, 3e-3], [0.1, 0.2, 0.3]);
    masses
}

#[test]
fn a_flat_drive_has_the_mass_matrix_of_the_four_bar() {
    for Twins { branch, drive, range } in all_twins() {
        let stroke = JointStroke::over(&drive, range).unwrap();
        for turn in evenly(range, 7) {
            let motor = drive.motor_turn(turn).unwrap();
            let want = mass_matrix(&branch.pose(motor).unwrap(), &masses());
            let got = drive_mass_matrix(&stroke, &masses().into(), turn).unwrap();
            assert!((got - want).abs().max() < 1e-12 * want.abs().max(), "{got} {want}");
        }
    }
}

fn close(got: f64, want: f64) -> bool {
    (got - want).abs() <= 1e-9 * want.abs().max(1e-3)
}

fn same_figures(got: &Fidelity, want: &Fidelity) {
    let all = |f: &Fidelity| {
        let some = [f.planar, f.spatial, f.planar_carried, f.spatial_carried];
        let some = some.into_iter().map(Option::unwrap);
        [f.fixed, f.gravity_torque].into_iter().chain(some).collect::<Vec<_>>()
    };
    for (got, want) in all(got).iter().zip(all(want)) {
        assert!(close(got.value, want.value), "{got:?} {want:?}");
    }
}

fn same_tree(got: &Tree, want: &Tree) {
    assert!(close(got.armature, want.armature), "{} {}", got.armature, want.armature);
    for (got, want) in [(got.carrier, want.carrier), (got.child, want.child)] {
        assert!(close(got.mass, want.mass));
        assert!((got.first - want.first).norm() < 1e-9, "{} {}", got.first, want.first);
        assert!((got.inertia - want.inertia).norm() < 1e-9, "{} {}", got.inertia, want.inertia);
    }
}

#[test]
fn a_flat_drive_has_the_replacement_and_the_figures_of_the_four_bar() {
    for Twins { branch, drive, range } in all_twins() {
        let run = Stroke::on(&branch, Drive::Joint, range).unwrap();
        let run = MonotoneStroke::over(&branch, run).unwrap();
        let want = Replacement::of(&run, &masses()).unwrap();
        let stroke = JointStroke::over(&drive, range).unwrap();
        let got = drive_replacement(&stroke, &masses().into(), 1).unwrap();
        assert_eq!(got.is_parallel, want.is_parallel);
        same_tree(&got.tree, &want.tree);
        let figures = drive_fidelity(&stroke, &masses().into(), &got.tree);
        same_figures(&figures, &fidelity(&run, &masses(), &want.tree));
    }
}

/// Where a body's centre and axes are, in the joint frame: read off the mass matrix alone.
fn first_moment(stroke: &JointStroke<'_>, parts: &DriveParts, turn: f64) -> Vector3<f64> {
    let m = drive_mass_matrix(stroke, parts, turn).unwrap();
    Vector3::new(m[(2, 4)], m[(0, 5)], m[(1, 3)]) * -1.0
}

/// The bodies of a part that does not depend on how a rod is held about its own line.
fn on_the_line(parts: &DriveParts) -> DriveParts {
    let rod = |length: f64| body(0.16, [length, 0.0, 0.0], [4e-5, 7e-4, 7e-4]);
    let masses = Masses { coupler: Some(rod(0.07)), ..parts.masses };
    DriveParts { masses, housing: Some(rod(0.08)), nut: Some(rod(-0.05)) }
}

#[test]
fn first_moments_move_as_the_mass_matrix_says() {
    for case in cases() {
        let (stroke, parts) = (case.stroke(), on_the_line(&case.parts));
        let parts = match case.drive {
            // The slider's nut keeps its axes, whatever its figures.
            JointDrive::Rod(_) if case.name.starts_with("slider") => {
                DriveParts { nut: case.parts.nut, ..parts }
            }
            _ => parts,
        };
        for turn in evenly([case.range[0] + 1e-3, case.range[1] - 1e-3], 5) {
            let step = 1e-5;
            let at = |turn| first_moment(&stroke, &parts, turn);
            let numeric = (at(turn + step) - at(turn - step)) / (2.0 * step);
            let m = drive_mass_matrix(&stroke, &parts, turn).unwrap();
            let told = Vector3::new(m[(0, 6)], m[(1, 6)], m[(2, 6)]);
            assert!((numeric - told).norm() < 1e-9, "{}: {numeric} {told}", case.name);
        }
    }
}

#[test]
fn a_belt_with_a_parallel_rotor_is_replaced_exactly() {
    for (ratio, gear_ratio, in_carrier) in [(2.5, 3.0, true), (-2.5, -4.0, false)] {
        let belt = JointDrive::Ratio(FixedRatio(ratio));
        let stroke = JointStroke::over(&belt, [-1.0, 1.2]).unwrap();
        let rotor = Some(Rotor { inertia: 1e-4, gear_ratio, in_carrier });
        let parts = DriveParts::from(Masses { crank: None, coupler: None, rotor, ..masses() });
        let replacement = drive_replacement(&stroke, &parts, 1).unwrap();
        let n = ratio * gear_ratio;
        assert!(close(replacement.tree.armature, 1e-4 * (n * n - n)));
        assert!((replacement.child_patch.inertia.m33 - 1e-4 * n).abs() < 1e-12);
        let own = if in_carrier { 0.0 } else { 1e-4 };
        assert!((replacement.carrier_patch.inertia.m33 - (own - 1e-4 * n)).abs() < 1e-12);
        let figures = drive_fidelity(&stroke, &parts, &replacement.tree);
        assert!(figures.spatial.unwrap().value < 1e-12, "{figures:?}");
    }
}

#[test]
fn a_rotor_on_the_parent_is_shared_out_exactly_between_three_links() {
    for (ratio, gear_ratio, in_carrier) in [(1.0, 6.0, true), (-2.5, 4.0, false), (1.8, -3.0, true)]
    {
        let rotor = Rotor { inertia: 6e-5, gear_ratio, in_carrier };
        let coaxial = CoaxialRotor { rotor, ratio };
        let (shares, matrix) = (coaxial.shares(), coaxial.matrix());
        let armature = shares.armature(ratio);
        let own = if in_carrier { 0.5 * rotor.inertia } else { 0.0 };
        for [parent, hip, knee] in
            [[1.0, 0.0, 0.0], [0.3, -1.2, 0.7], [0.0, 1.0, 2.0], [-0.4, 0.9, -1.1]]
        {
            let rates = [hip, knee];
            let motor = matrix[1][0] * hip + matrix[1][1] * knee;
            let want = 0.5 * rotor.inertia * (parent + gear_ratio * motor).powi(2);
            let bodies = [shares.parent, shares.carrier, shares.child];
            let speeds = [parent, parent + hip, parent + hip + knee];
            let turning: f64 = bodies.iter().zip(speeds).map(|(i, w)| 0.5 * i * w * w).sum();
            let joints: f64 = (0..2)
                .flat_map(|a| (0..2).map(move |b| (a, b)))
                .map(|(a, b)| 0.5 * armature[a][b] * rates[a] * rates[b])
                .sum();
            let got = turning + joints + own * parent * parent;
            assert!((got - want).abs() < 1e-15, "{got} {want}");
        }
        // With the parent link at rest both joints see the rotor as the matrix reflects it.
        let reflected = coaxial.reflected();
        let n = gear_ratio;
        for (a, b) in [(0, 0), (0, 1), (1, 1)] {
            let want = rotor.inertia * n * n * matrix[1][a] * matrix[1][b];
            assert!((reflected[a][b] - want).abs() < 1e-15);
        }
    }
}
