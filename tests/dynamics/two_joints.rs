//! Two rods on a universal joint: torques and speeds between the points of any grid, mass matrices beside a general-purpose
//! physics engine's closed loop (MuJoCo), and the two joints that stand in.

use crate::ankles::{ankle_a, ankle_b, ankle_c, ankle_linear, at};
use crate::engine;
use crate::spatial::{along, disc, less, tilted};
use crate::venv;

use nalgebra::{Matrix2, Vector2, Vector3};
use serde_json::{Value, json};
use toml::Table;
use unloop::design::{Actuator, TwoJointRobot};
use unloop::drive::{Axis, Direct, InputEnd, Leg, Region, RodsOnUniversal, TwoRods, Vector};
use unloop::dynamics::{
    ArmatureForm, Body, Capabilities, Capability, LegLoadParts, LegParts, Matrix8, Rod, Rotor,
    TwoJointParts, rotor_inertia, two_joint_fidelity, two_joint_loads, two_joint_mass_matrix,
    two_joint_tree,
};
use unloop::equivalence::{Basis, Verdict};
use unloop::handover::{ActuatorUnits, Ask, Form, Format, TwoJointsAsked, emit_two_joints};
use unloop::numeric::Interval;

const PER_DEG: f64 = std::f64::consts::PI / 180.0;

fn way([x, y, z]: [f64; 3]) -> Vector {
    Vector::new(x, y, z)
}

/// A nut on an upright guide behind the shank.
fn ankle_nuts() -> TwoRods {
    let sure = |v: Vector| v.map(Interval::point);
    let input = InputEnd::Slide {
        point: sure(at([-50.0, 34.0, 40.0])),
        direction: sure(way([0.0, 0.0, 1.0])),
        rod: Interval::point(0.18),
        side: 1.0,
        lead: Interval::point(-4e-3),
    };
    let left = Leg { input, foot: sure(at([-44.0, 36.0, -12.0])) };
    let axis = |point, direction| Axis { point: sure(at(point)), direction: sure(way(direction)) };
    let (pitch, roll) = (axis([0.0; 3], [0.0, 1.0, 0.0]), axis([0.0, 0.0, -8.0], [1.0, 0.0, 0.0]));
    let legs = [left, left.mirrored()];
    TwoRods::new(RodsOnUniversal::new(pitch, roll, legs).unwrap()).unwrap()
}

fn region(pitch: [f64; 2], roll: [f64; 2]) -> Region {
    let rad = |range: [f64; 2]| range.map(|deg| deg * PER_DEG);
    Region { pitch: rad(pitch), roll: rad(roll), pieces: 12 }
}

fn full() -> Region {
    region([-35.0, 25.0], [-15.0, 15.0])
}

/// Numbers evenly spread over 0…1 in an order without pattern: xorshift (G. Marsaglia, 2003).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, [low, high]: [f64; 2]) -> f64 {
        for shift in [13, -7, 17] {
            let shifted = if shift > 0 { self.0 << shift } else { self.0 >> -shift };
            self.0 ^= shifted;
        }
        low + (high - low) * (f64::from(u32::try_from(self.0 >> 32).unwrap()) / 4_294_967_295.0)
    }

    fn pose(&mut self, region: &Region) -> [f64; 2] {
        [self.roll(region.pitch), self.roll(region.roll)]
    }
}

/// The largest of |n·x| over both motors' bounds on `x` at one pose: above 1 the motors cannot give it.
fn asked(bounds: &Matrix2<f64>, motors: [f64; 2], x: [f64; 2]) -> f64 {
    let each = bounds * Vector2::from(x);
    (each.x / motors[0]).abs().max((each.y / motors[1]).abs())
}

fn corners([p, r]: [f64; 2]) -> [[f64; 2]; 2] {
    [[p, r], [p, -r]]
}

/// Of the motors' share asked at one pose by boxes and polygon: (box, polygon, pitch alone, roll alone).
fn asked_of(capability: &Capability, bounds: &Matrix2<f64>, motors: [f64; 2]) -> [f64; 4] {
    let of = |x: &[f64; 2]| asked(bounds, motors, *x);
    let most = |list: &[[f64; 2]]| list.iter().map(of).fold(0.0, f64::max);
    let [p, r] = capability.guaranteed_alone;
    [
        most(&corners(capability.guaranteed)),
        most(&capability.common()),
        of(&[p, 0.0]),
        of(&[0.0, r]),
    ]
}

fn hold(
    capability: &Capability,
    told: impl Fn([f64; 2]) -> (Matrix2<f64>, [[f64; 2]; 4]),
    motors: [f64; 2],
) {
    let mut dice = Dice(0x5eed_1234_9876);
    let (mut worst, mut reached) = ([0.0_f64; 4], [0.0_f64; 2]);
    let over = full();
    let edges = [over.pitch, over.roll];
    for k in 0..4000 {
        let mut joints = dice.pose(&over);
        if k % 4 == 0 {
            let axis = usize::from(k % 8 == 0);
            joints[axis] = edges[axis][usize::from(k % 16 < 8)];
        }
        let (bounds, polygon) = told(joints);
        let here = asked_of(capability, &bounds, motors);
        for (worst, here) in worst.iter_mut().zip(here) {
            assert!(here <= 1.0, "{here} asked of the motors at {joints:?}");
            *worst = worst.max(here);
        }
        for corner in polygon {
            for (axis, most) in capability.never_exceed().iter().enumerate() {
                assert!(corner[axis].abs() <= most.value, "{corner:?} at {joints:?}");
                reached[axis] = reached[axis].max(corner[axis].abs() / most.value);
            }
        }
    }
    println!("reached of what is guaranteed: {worst:?}, of what is never exceeded {reached:?}");
    // Nothing given away either: at some pose nearly all is asked.
    assert!(worst.iter().chain(&reached).all(|share| *share > 0.993), "{worst:?} {reached:?}");
}

#[test]
fn what_is_guaranteed_is_there_at_every_pose_and_little_is_given_away() {
    let (motors, speeds) = ([10.0, 8.0], [30.0, 36.0]);
    for drive in [
        ankle_a().drive().unwrap(),
        ankle_b().drive().unwrap(),
        ankle_c().drive().unwrap(),
        ankle_linear().drive().unwrap(),
        ankle_nuts(),
    ] {
        let torque =
            Capabilities::over(&drive, &full()).and_then(|over| over.torque(motors, None)).unwrap();
        hold(
            &torque,
            |joints| {
                let pose = drive.pose(joints).unwrap();
                let inverse = pose.rates().transpose().try_inverse().unwrap();
                (inverse, pose.torque_polygon(motors))
            },
            motors,
        );
        let speed = Capabilities::over(&drive, &full())
            .and_then(|over| over.speed(speeds, Some([1.0, 0.5])))
            .unwrap();
        hold(
            &speed,
            |joints| {
                let pose = drive.pose(joints).unwrap();
                (pose.rates(), pose.speed_polygon(speeds).unwrap())
            },
            speeds,
        );
        assert!((speed.guaranteed[0] - 2.0 * speed.guaranteed[1]).abs() < 1e-9);
        println!("{} and {} corners", torque.common().len(), speed.common().len());
        assert!(torque.common().len() <= 20 && speed.common().len() <= 20);
    }
}

#[test]
fn each_axis_with_its_motors_torque_promises_what_was_measured() {
    // Unit motors, the ideal layout: pitch alone 1.80 to 2.03, roll alone 1.40 to 1.43, 0.475 of both at once.
    let torque = Capabilities::over(&ankle_a().drive().unwrap(), &full())
        .and_then(|over| over.torque([1.0; 2], None))
        .unwrap();
    let near = |ours: f64, theirs: f64| assert!((ours - theirs).abs() < 0.006, "{ours} {theirs}");
    let [pitch, roll] = torque.alone;
    near(pitch.lowest.value, 1.80);
    near(pitch.highest.value, 2.03);
    near(roll.lowest.value, 1.40);
    near(roll.highest.value, 1.43);
    near(torque.guaranteed[0], 0.95);
    near(torque.guaranteed[1], 0.68);
    let promise = torque.promise;
    // Both axes loaded at the motor's torque: a fifth of it is not there; pitch alone has nearly twice as much.
    let inverse =
        |joints| ankle_a().drive().unwrap().pose(joints).unwrap().rates().try_inverse().unwrap();
    let over = full();
    let there = over.turns().map(|joints| {
        let inverse = inverse(joints);
        let share = |k: usize| (inverse[(0, k)].abs() + inverse[(1, k)].abs()).recip();
        share(0).min(share(1))
    });
    near(promise.at_once.value, there.fold(f64::INFINITY, f64::min));
    assert!((0.75..0.85).contains(&promise.at_once.value), "{promise:?}");
    near(promise.alone[0][0], pitch.lowest.value);
}

#[test]
fn a_region_of_one_pose_has_the_worked_values() {
    let file: Table = toml::from_str(include_str!("../data/check-values-drives.toml")).unwrap();
    let verdicts = file["case"].as_array().unwrap().iter();
    let cases: Vec<_> =
        verdicts.filter(|case| case["kind"].as_str() == Some("ankle_verdict")).collect();
    assert!(!cases.is_empty());
    for case in cases {
        let whole = |value: &toml::Value| i32::try_from(value.as_integer().unwrap()).unwrap();
        let number =
            |value: &toml::Value| value.as_float().unwrap_or_else(|| f64::from(whole(value)));
        let exact = |key: &str| number(&case["exact"][key]);
        let list = |key: &str| -> Vec<f64> {
            case["exact"][key].as_array().unwrap().iter().map(number).collect()
        };
        let [p, r] = ["pitch_deg", "roll_deg"].map(|key| number(&case["inputs"][key]));
        let one = region([p, p], [r, r]);
        let torque = Capabilities::over(&ankle_a().drive().unwrap(), &one)
            .and_then(|over| over.torque([1.0; 2], None))
            .unwrap();
        let near = |ours: f64, theirs: f64| {
            assert!((ours - theirs).abs() < 1e-9 * theirs.abs(), "{ours} {theirs}");
        };
        near(torque.alone[0].highest.value, exact("pitch_torque_alone"));
        near(torque.guaranteed_alone[0], exact("pitch_torque_alone"));
        near(torque.guaranteed_alone[1], exact("roll_torque_alone"));
        let (pp, pm) = (list("torque_corner_pp"), list("torque_corner_pm"));
        near(torque.never_exceed()[0].value, pp[0].abs().max(pm[0].abs()));
        near(torque.never_exceed()[1].value, pp[1].abs().max(pm[1].abs()));
        assert_eq!(torque.common().len(), 4);
        for corner in [pp, pm] {
            let off = |c: &[f64; 2]| (c[0] - corner[0]).abs().max((c[1] - corner[1]).abs());
            assert!(
                torque.common().iter().any(|c| off(c) < 1e-9),
                "{:?} {corner:?}",
                torque.common()
            );
        }
        let direct = Direct::zero_pose(&ankle_a().drive().unwrap()).unwrap();
        let rotors = rotor_inertia(&ankle_a().drive().unwrap(), &one, [1.0; 2], &direct).unwrap();
        let weight = list("armature_per_rotor");
        near(rotors.pitch.lowest.value, weight[0]);
        near(rotors.roll.highest.value, weight[1]);
        near(rotors.coupling.value, weight[2].abs() / (weight[0] * weight[1]).sqrt());
    }
}

#[test]
fn two_plain_armatures_lose_what_couples_the_rotors() {
    let over = |drive: TwoRods| {
        let direct = Direct::zero_pose(&drive).unwrap();
        rotor_inertia(&drive, &full(), [1.0; 2], &direct).unwrap()
    };
    let near = |ours: f64, theirs: f64| assert!((ours - theirs).abs() < 0.011, "{ours} {theirs}");
    let a = over(ankle_a().drive().unwrap());
    near(a.pitch.lowest.value, 2.00);
    near(a.pitch.highest.value, 2.11);
    near(a.roll.lowest.value, 0.98);
    near(a.roll.highest.value, 1.06);
    near(a.coupling.value, 0.145);
    let b = over(ankle_b().drive().unwrap());
    near(b.pitch.lowest.value, 1.76);
    near(b.pitch.highest.value, 2.64);
    near(b.roll.lowest.value, 1.17);
    near(b.roll.highest.value, 1.78);
    near(b.coupling.value, 0.25);
    // Less the coupling is at least the coupling's share wrong.
    assert!(a.plain.value > a.coupling.value && b.plain.value > b.coupling.value);
}

/// Bodies without any symmetry.
fn parts(gear_ratio: f64, inertia: f64) -> TwoJointParts {
    let rotor = Some(Rotor { inertia, gear_ratio, in_carrier: true });
    let leg = |k: f64| LegParts {
        crank: Some(tilted(0.11, [0.02, 0.004, -0.006 * k], [2e-5, 3e-5, 4e-5], [0.2, 0.5, k])),
        rod: Some(tilted(0.16, [0.09, 0.01 * k, -0.013], [4e-5, 7e-4, 7.2e-4], [k, 0.3, 0.6])),
        housing: Some(tilted(0.6, [0.08, 0.01 * k, 0.02], [7e-4, 2e-3, 2.1e-3], [0.3, k, -0.2])),
        nut: Some(tilted(0.15, [-0.05, 0.003, 0.01 * k], [3e-5, 2e-4, 2.1e-4], [k, 0.3, 0.5])),
        rotor,
    };
    TwoJointParts {
        legs: [leg(0.4), leg(-0.7)],
        middle: Some(tilted(0.07, [0.0, 0.002, -0.005], [2e-5, 1e-5, 2.2e-5], [0.1, 0.3, 0.0])),
        child: tilted(0.9, [0.04, -0.01, -0.05], [1.2e-3, 3.4e-3, 3e-3], [0.4, -0.2, 0.1]),
        carrier: Some(tilted(2.6, [-0.02, 0.01, 0.17], [0.019, 0.018, 6e-3], [0.1, 0.02, 0.03])),
    }
}

struct Case {
    name: &'static str,
    drive: TwoRods,
    parts: TwoJointParts,
}

fn cases() -> Vec<Case> {
    let case =
        |name, drive, gear_ratio, inertia| Case { name, drive, parts: parts(gear_ratio, inertia) };
    vec![
        case("parallel cranks", ankle_a().drive().unwrap(), 7.75, 1.2e-5),
        case("cranks toed in", ankle_b().drive().unwrap(), -7.75, 1.2e-5),
        case("side cranks", ankle_c().drive().unwrap(), 7.75, 1.2e-5),
        case("actuators", ankle_linear().drive().unwrap(), 1.5, 2e-6),
        case("nuts", ankle_nuts(), -1.0, 2e-6),
    ]
}

const POSES: [[f64; 2]; 5] = [[0.0, 0.0], [-0.6, 0.26], [0.43, 0.26], [0.43, -0.26], [-0.2, 0.13]];

fn plain(v: Vector) -> Vector3<f64> {
    Vector3::new(v.x, v.y, v.z)
}

fn list(v: Vector) -> Value {
    json!([v.x, v.y, v.z])
}

impl Case {
    /// As the engine wants it: rotors as bodies of their own, taken out of what bears them.
    fn json(&self) -> Value {
        let geometry = self.drive.geometry();
        let zero = self.drive.pose([0.0; 2]).unwrap();
        let told = |body: Option<Body>| body.map_or(Value::Null, |body| engine::body(&body));
        let mut carrier = self.parts.carrier.unwrap();
        let mut legs = Vec::new();
        for (k, leg) in geometry.legs.iter().enumerate() {
            let own = self.parts.legs[k];
            let rotor = own.rotor.unwrap();
            let disc = disc(rotor.inertia);
            let mut housing = own.housing;
            let mut told_leg = match leg.input {
                InputEnd::Crank { circle, .. } => {
                    let at = along(plain(circle.axis), plain(circle.centre), &disc);
                    carrier = less(&carrier, &at);
                    json!({"kind": "crank", "point": list(circle.centre), "axis": list(circle.axis)})
                }
                InputEnd::Slide { point, direction, .. } => {
                    carrier = less(&carrier, &along(plain(direction), plain(point), &disc));
                    json!({"kind": "slide", "point": list(point), "direction": list(direction)})
                }
                InputEnd::Actuator { .. } => {
                    let at = along(Vector3::x(), Vector3::zeros(), &disc);
                    housing = housing.map(|housing| less(&housing, &at));
                    json!({"kind": "actuator"})
                }
            };
            told_leg["pin"] = list(zero.rods[k].pin);
            told_leg["foot"] = list(zero.feet[k]);
            told_leg["bodies"] = json!({
                "crank": told(own.crank), "coupler": told(own.rod),
                "housing": told(housing), "nut": told(own.nut),
            });
            let turns = rotor.gear_ratio * zero.gains[k];
            told_leg["rotor"] = json!({"turns": turns, "body": engine::body(&disc)});
            legs.push(told_leg);
        }
        let axis = |axis: &Axis| json!({"point": list(axis.point), "axis": list(axis.direction)});
        json!({
            "pitch": axis(&geometry.pitch), "roll": axis(&geometry.roll), "legs": legs, "poses": POSES,
            "bodies": {
                "carrier": engine::body(&carrier), "middle": told(self.parts.middle),
                "child": engine::body(&self.parts.child),
            },
        })
    }
}

fn matrix(value: &Value) -> Matrix8 {
    let entries: Vec<f64> = serde_json::from_value(value.clone()).unwrap();
    Matrix8::from_row_slice(&entries)
}

#[test]
fn the_engine_gives_two_rods_the_same_mass_matrix_and_weight() {
    let cases = cases();
    let asked: Vec<Value> = cases.iter().map(Case::json).collect();
    let output = venv::script("dynamics_two_joints.py", &json!(asked).to_string());
    let text = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{text}");
    let answers: Value = serde_json::from_slice(&output.stdout).unwrap();
    for (case, answer) in cases.iter().zip(answers.as_array().unwrap()) {
        for (joints, found) in POSES.into_iter().zip(answer.as_array().unwrap()) {
            assert!(found["left"].as_f64().unwrap() < 1e-14, "{}: {found}", case.name);
            let ours = two_joint_mass_matrix(&case.drive, &case.parts, joints).unwrap();
            let theirs = matrix(&found["matrix"]);
            let off = (ours - theirs).abs().max() / ours.abs().max();
            println!("{} at {joints:?}: {off:.1e}", case.name);
            assert!(off < 1e-9, "{} at {joints:?}: {ours} {theirs}", case.name);
            for (k, weight) in found["weights"].as_array().unwrap().iter().enumerate() {
                for joint in 0..2 {
                    let off = (weight[joint].as_f64().unwrap() - ours[(k, 6 + joint)]).abs();
                    assert!(off < 1e-9, "{}: {weight} {}", case.name, ours[(k, 6 + joint)]);
                }
            }
        }
    }
}

/// What pitch and roll swing through: middle, size, rate and phase.
const SWINGS: [[f64; 4]; 2] = [[-0.03, 0.2, 8.0, 0.3], [0.02, 0.08, 11.0, 1.1]];

impl Case {
    /// Two direct joints as a file, and the matrix that stands in it.
    fn emitted(&self, over: &Region, direct: &Direct) -> String {
        let rotor = self.parts.legs[0].rotor.unwrap();
        let actuator = Actuator {
            gear_ratio: Some(rotor.gear_ratio),
            rotor_inertia: Some(rotor.inertia),
            ..Actuator::default()
        };
        let robot = TwoJointRobot {
            joints: ["pitch".into(), "roll".into()],
            motors: ["one".into(), "two".into()],
            motor_signs: [1.0; 2],
            parent: "shank".into(),
            middle: "cross".into(),
            child: "foot".into(),
        };
        let ask = Ask {
            whole: true,
            actuator: ActuatorUnits::Motor,
            ..Ask::new(Form::Direct, Format::Mjcf)
        };
        let asked = TwoJointsAsked {
            name: self.name,
            source: "a test",
            drive: &self.drive,
            direct,
            region: [over.pitch, over.roll],
            robots: &[robot],
            motor_reads: [0.0; 2],
            joint_reads: [0.0; 2],
            actuator: Some(&actuator),
            torque: None,
            speed: None,
            parts: Some(&self.parts),
            lacks: &[],
            verdict: Verdict::Equivalent,
            basis: Basis::Nominal,
            proved: false,
            reason: "a test",
            assumptions: &[],
            ask,
        };
        emit_two_joints(&asked).unwrap().file
    }
}

/// Largest sizes over a region of what the tree is off the loop in: entries of the mass matrix of both joints, their Christoffel
/// symbols, first moments seen by pitch and roll.
struct Lacks {
    mass: [[f64; 2]; 2],
    bend: [[[f64; 2]; 2]; 2],
    moments: [[f64; 2]; 3],
}

impl Lacks {
    fn over(region: &Region, off: &dyn Fn([f64; 2]) -> Matrix8) -> Self {
        let mut most =
            Self { mass: [[0.0; 2]; 2], bend: [[[0.0; 2]; 2]; 2], moments: [[0.0; 2]; 3] };
        for joints in region.turns() {
            let here = off(joints);
            let slopes = [0, 1].map(|axis| {
                let at = |h: f64| {
                    let mut turns = joints;
                    turns[axis] += h;
                    off(turns)
                };
                (at(1e-5) - at(-1e-5)) / 2e-5
            });
            let of = |k: usize, i: usize, j: usize| slopes[k][(6 + i, 6 + j)];
            for i in 0..2 {
                for j in 0..2 {
                    most.mass[i][j] = most.mass[i][j].max(here[(6 + i, 6 + j)].abs());
                    for k in 0..2 {
                        let bend = 0.5 * (of(k, i, j) + of(j, i, k) - of(i, j, k));
                        most.bend[i][j][k] = most.bend[i][j][k].max(bend.abs());
                    }
                }
                for k in 0..3 {
                    most.moments[k][i] = most.moments[k][i].max(here[(k, 6 + i)].abs());
                }
            }
        }
        most
    }

    /// No torque of the tree on joint `i` is further off than this.
    fn torque(&self, i: usize, rates: [f64; 2], accelerations: [f64; 2]) -> f64 {
        let mut bound = 9.80665 * self.moments[2][i];
        for j in 0..2 {
            bound += self.mass[i][j] * accelerations[j].abs();
            for k in 0..2 {
                bound += self.bend[i][j][k] * (rates[j] * rates[k]).abs();
            }
        }
        bound
    }
}

#[test]
fn in_the_engine_one_second_of_motion_asks_torques_within_the_bound_of_what_the_tree_lacks() {
    let over = region([-15.0, 15.0], [-8.0, 8.0]);
    let cases = cases();
    let directs: Vec<Direct> =
        cases.iter().map(|case| Direct::zero_pose(&case.drive).unwrap()).collect();
    let swings = SWINGS.map(|[middle, size, rate, phase]| {
        json!({"middle": middle, "size": size, "rate": rate, "phase": phase})
    });
    let asked: Vec<Value> = cases
        .iter()
        .zip(&directs)
        .map(|(case, direct)| {
            let tree = case.emitted(&over, direct);
            json!({"loop": case.json(), "tree": tree, "names": ["pitch", "roll"], "swings": swings})
        })
        .collect();
    let output = venv::script("motion_two_joints.py", &json!(asked).to_string());
    let text = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{text}");
    let answers: Value = serde_json::from_slice(&output.stdout).unwrap();
    for ((case, direct), answer) in cases.iter().zip(&directs).zip(answers.as_array().unwrap()) {
        let form = ArmatureForm::Motors;
        let tree = two_joint_tree(&case.drive, &over, &case.parts, direct, form).unwrap();
        let off = |joints: [f64; 2]| {
            let whole = two_joint_mass_matrix(&case.drive, &case.parts, joints).unwrap();
            tree.mass_matrix(&case.drive, joints).unwrap() - whole
        };
        let lacks = Lacks::over(&over, &off);
        let pair = |value: &Value| -> [f64; 2] { serde_json::from_value(value.clone()).unwrap() };
        let states = answer["states"].as_array().unwrap();
        assert_eq!(states.len(), 200);
        let (mut nearest, mut largest) = ([0.0_f64; 2], [0.0_f64; 2]);
        for state in states {
            let [rates, accelerations] = ["rates", "accelerations"].map(|key| pair(&state[key]));
            let [ours, theirs] = ["tree", "loop"].map(|key| pair(&state[key]));
            for i in 0..2 {
                let bound = lacks.torque(i, rates, accelerations);
                let off = (ours[i] - theirs[i]).abs();
                nearest[i] = nearest[i].max(off / bound);
                largest[i] = largest[i].max(off);
                assert!(off <= bound, "{}: {off} N m above {bound} at {state}", case.name);
            }
        }
        let apart = pair(&answer["apart"]).map(f64::to_degrees);
        println!(
            "{}: torques off by up to {largest:.4?} N m, of the bound {nearest:.2?}; after 1 s {apart:.3?} deg apart",
            case.name
        );
        assert!(nearest.iter().all(|share| *share > 0.02), "{}: {nearest:?}", case.name);
        assert!(apart.iter().all(|off| *off < 5.0), "{}: {apart:?}", case.name);
    }
}

#[test]
fn joint_rates_and_motor_rates_hold_the_same_energy() {
    // Rotors alone: half Jᵀ diag(n²J) J by rates is half the rotors' own energy.
    let mut parts = parts(7.75, 1.2e-5);
    for leg in &mut parts.legs {
        *leg = LegParts { rotor: leg.rotor, ..LegParts::default() };
    }
    (parts.middle, parts.carrier) = (None, None);
    parts.child = Body::point(1e-12, Vector3::zeros());
    for drive in
        [ankle_a().drive().unwrap(), ankle_b().drive().unwrap(), ankle_c().drive().unwrap()]
    {
        for joints in POSES {
            let m = two_joint_mass_matrix(&drive, &parts, joints).unwrap();
            let rate = Vector2::new(0.7, -1.3);
            let block = m.fixed_view::<2, 2>(6, 6);
            let energy = 0.5 * (rate.transpose() * block * rate).x;
            let h = 1e-5;
            let turns = |s: f64| {
                let at = [joints[0] + s * h * rate.x, joints[1] + s * h * rate.y];
                Vector2::from(drive.motor_turns(at).unwrap())
            };
            let motors = (turns(1.0) - turns(-1.0)) / (2.0 * h);
            let own = 0.5 * 1.2e-5 * 7.75 * 7.75 * motors.norm_squared();
            assert!((energy - own).abs() < 1e-7 * own, "{energy} {own}");
        }
    }
}

fn without_legs(parts: &TwoJointParts) -> TwoJointParts {
    TwoJointParts { legs: [LegParts::default(); 2], ..*parts }
}

#[test]
fn bodies_without_rods_are_a_tree_exactly() {
    for case in cases() {
        let bare = without_legs(&case.parts);
        let direct = Direct::zero_pose(&case.drive).unwrap();
        for form in ArmatureForm::ALL {
            let tree = two_joint_tree(&case.drive, &full(), &bare, &direct, form).unwrap();
            let figures = two_joint_fidelity(&case.drive, &full(), &bare, &tree).unwrap();
            assert!(figures.worst.value < 1e-11);
            assert!(tree.armature().norm() < 1e-15);
        }
    }
}

#[test]
fn nothing_is_lost_at_rest_in_the_zero_pose() {
    for case in cases() {
        let direct = Direct::zero_pose(&case.drive).unwrap();
        let form = ArmatureForm::Motors;
        let tree = two_joint_tree(&case.drive, &full(), &case.parts, &direct, form).unwrap();
        let ours = tree.mass_matrix(&case.drive, [0.0; 2]).unwrap();
        let whole = two_joint_mass_matrix(&case.drive, &case.parts, [0.0; 2]).unwrap();
        let off = (ours - whole).fixed_view::<6, 6>(0, 0).abs().max();
        assert!(off < 1e-12, "{}: {off}", case.name);
    }
}

#[test]
fn rotors_on_their_motors_are_nearer_than_two_plain_armatures() {
    for case in cases() {
        let small = region([-20.0, 20.0], [-8.0, 8.0]);
        let direct = Direct::zero_pose(&case.drive).unwrap();
        let parts = TwoJointParts { carrier: None, ..case.parts };
        let figures = |form| {
            let tree = two_joint_tree(&case.drive, &small, &parts, &direct, form).unwrap();
            let worst = two_joint_fidelity(&case.drive, &small, &parts, &tree).unwrap().worst;
            // The place is where the figure stands.
            let ours = tree.mass_matrix(&case.drive, worst.joints).unwrap();
            let whole = two_joint_mass_matrix(&case.drive, &parts, worst.joints).unwrap();
            let block = |m: &Matrix8| m.fixed_view::<2, 2>(6, 6).into_owned();
            let share = block(&whole).try_inverse().unwrap() * block(&(ours - whole));
            let largest =
                share.complex_eigenvalues().iter().map(|x| x.re.abs()).fold(0.0, f64::max);
            assert!((largest - worst.value).abs() < 1e-12);
            worst.value
        };
        let [motors, joints] = [ArmatureForm::Motors, ArmatureForm::Joints].map(figures);
        println!("{}: {motors:?}\n  {joints:?}", case.name);
        assert!(motors <= 1.001 * joints, "{}", case.name);
        if case.name == "parallel cranks" {
            // The rotors' coupling is what two plain armatures lose.
            assert!(motors < 0.6 * joints);
        }
    }
}

#[test]
fn rods_pins_and_joint_bear_what_the_torque_over_the_arm_asks() {
    let rod = Rod { outer: 8e-3, inner: 6e-3, modulus: Some(69e9), yield_stress: Some(240e6) };
    let leg = LegLoadParts { rod: Some(rod), ..LegLoadParts::default() };
    for drive in
        [ankle_a().drive().unwrap(), ankle_b().drive().unwrap(), ankle_linear().drive().unwrap()]
    {
        let motors = [12.0, 9.0];
        let loads = two_joint_loads(&drive, &full(), motors, &[leg; 2]).unwrap();
        let mut dice = Dice(77);
        let mut most = [0.0_f64; 3];
        let over = full();
        for joints in over.turns().chain((0..2000).map(|_| dice.pose(&over))) {
            let pose = drive.pose(joints).unwrap();
            let forces = [0, 1].map(|k| motors[k] / pose.motor_arms()[k]);
            for k in [0, 1] {
                most[k] = most[k].max(forces[k].abs());
            }
            // The joint bears what the rods push: from the balance of the foot, no torque about pitch or roll asked.
            let push = |sign: f64| {
                let [one, two] = [0, 1].map(|k| plain(pose.rods[k].rod).normalize() * forces[k]);
                (one + two * sign).norm()
            };
            most[2] = most[2].max(push(1.0).max(push(-1.0)));
        }
        let ours = [loads.legs[0].force, loads.legs[1].force, loads.joint_force];
        for (ours, seen) in ours.iter().zip(most) {
            assert!(seen <= ours.value * (1.0 + 1e-9), "{seen} above {ours:?}");
            assert!(seen > 0.995 * ours.value, "{seen} far below {ours:?}");
        }
        let first = &loads.legs[0];
        let column = rod.buckling(first.longest.value).unwrap();
        assert!((first.buckling_margin.unwrap() * first.force.value - column.load).abs() < 1e-9);
        let pins =
            if matches!(drive.geometry().legs[0].input, InputEnd::Crank { .. }) { 3 } else { 2 };
        assert_eq!(first.pins.len(), pins);
        assert_eq!(first.crank_tilt.is_some(), pins == 3);
    }
}

#[test]
fn a_region_that_reaches_a_singular_pose_guarantees_nothing() {
    // Pitch so far that a rod comes in line with its crank.
    let far = region([-35.0, 95.0], [-5.0, 5.0]);
    let fault = Capabilities::over(&ankle_a().drive().unwrap(), &far)
        .and_then(|over| over.torque([1.0; 2], None))
        .unwrap_err();
    assert!(fault.to_string().contains("singular") || fault.to_string().contains("too"), "{fault}");
}
