//! The drives as closed loops in a general-purpose physics engine (MuJoCo), projected on their pins by its own kinematics.

use serde_json::{Value, json};
use unloop::drive::{
    Assembly, Axis, BallRod, InputEnd, LinearActuator, OneJoint, RodDrive, Slider, TwoRods, Vector,
};

use crate::known::{axis, vector};
use crate::two_rods::ankles;
use crate::venv;

fn point(v: Vector) -> Value {
    json!([v.x, v.y, v.z])
}

fn hinge(axis: &Axis) -> Value {
    json!({"point": point(axis.point), "axis": point(axis.direction)})
}

/// The rod from its input end as it stands in the zero pose.
fn rod(input: &InputEnd, pin: Vector, foot: Vector) -> Value {
    let (pin, foot) = (point(pin), point(foot));
    match input {
        InputEnd::Crank { circle, .. } => {
            json!({"kind": "crank", "point": point(circle.centre), "axis": point(circle.axis), "pin": pin, "foot": foot})
        }
        InputEnd::Slide { direction, .. } => {
            json!({"kind": "slide", "direction": point(*direction), "pin": pin, "foot": foot})
        }
        InputEnd::Actuator { .. } => json!({"kind": "actuator", "pin": pin, "foot": foot}),
    }
}

/// One drive for the engine, and what we say: inputs in its places (rad or m) and their rates by each joint, pose by pose.
struct Case {
    name: &'static str,
    drive: Value,
    ours: Vec<(Vec<f64>, Vec<Vec<f64>>)>,
}

fn one_joint(name: &'static str, drive: &RodDrive, range: [f64; 2]) -> Case {
    let (zero, geometry) = (drive.pose(0.0).unwrap(), drive.geometry());
    let joint = Axis { point: geometry.joint.centre, direction: geometry.joint.axis };
    let turns: Vec<f64> = unloop::numeric::evenly(range, 6).collect();
    let gain = geometry.input.gain();
    let says = |turn: &f64| {
        let motion = drive.motion(*turn).unwrap();
        (vec![motion.motor / gain], vec![vec![motion.ratio / gain]])
    };
    let poses: Vec<[f64; 1]> = turns.iter().map(|turn| [*turn]).collect();
    Case {
        name,
        drive: json!({
            "joints": [hinge(&joint)],
            "rods": [rod(&geometry.input, zero.reached.pin, zero.joint_pin)],
            "poses": poses,
        }),
        ours: turns.iter().map(says).collect(),
    }
}

/// Lengths are drawn in mm and given to the engine in m.
fn metres(value: &Value) -> Value {
    fn scaled(key: &str, value: &Value) -> Value {
        match value {
            Value::Object(map) => {
                map.iter().map(|(k, v)| (k.clone(), scaled(k, v))).collect::<Value>()
            }
            Value::Array(list) => list.iter().map(|v| scaled(key, v)).collect::<Value>(),
            Value::Number(x) if ["point", "pin", "foot"].contains(&key) => {
                json!(1e-3 * x.as_f64().unwrap())
            }
            other => other.clone(),
        }
    }
    scaled("", value)
}

fn two_joints(name: &'static str, drive: &TwoRods) -> Case {
    let (zero, geometry) = (drive.pose([0.0; 2]).unwrap(), drive.geometry());
    let poses = [[-0.6, 0.25], [-0.3, -0.2], [0.0, 0.0], [0.1, 0.26], [0.43, -0.26], [0.43, 0.1]];
    let metre = 1e-3;
    let rods: Vec<Value> =
        (0..2).map(|k| rod(&geometry.legs[k].input, zero.rods[k].pin, zero.feet[k])).collect();
    let per = geometry.legs.map(|leg| match leg.input {
        InputEnd::Crank { .. } => 1.0,
        _ => leg.input.gain() / metre,
    });
    let says = |joints: &[f64; 2]| {
        let motors = drive.motor_turns(*joints).unwrap();
        let [[a, b], [c, d]] = drive.pose(*joints).unwrap().jacobian;
        let places = vec![motors[0] / per[0], motors[1] / per[1]];
        (places, vec![vec![a / per[0], c / per[1]], vec![b / per[0], d / per[1]]])
    };
    let drive = json!({
        "joints": [hinge(&geometry.pitch), hinge(&geometry.roll)], "rods": rods, "poses": poses,
    });
    Case { name, drive: metres(&drive), ours: poses.iter().map(says).collect() }
}

fn cases() -> Vec<Case> {
    let skew = BallRod {
        ground: 0.1,
        crank: 0.04,
        coupler: 0.12,
        rocker: 0.08,
        axial: 0.025,
        twist: 0.52,
        lean: 0.17,
    };
    let square = BallRod {
        ground: 0.06,
        crank: 0.025,
        coupler: 0.09,
        rocker: 0.04,
        axial: 0.035,
        twist: 1.57,
        lean: 0.0,
    };
    let knee = BallRod {
        ground: 0.3,
        crank: 0.045,
        coupler: 0.3,
        rocker: 0.045,
        axial: 0.012,
        twist: 0.0785,
        lean: 0.026,
    };
    let ball = |drawing: BallRod, phi, assembly| drawing.drive(phi, assembly).unwrap();
    let actuator = LinearActuator {
        motor: vector([0.01, 0.03, -0.04]),
        joint: axis([0.3, 0.0, 0.0], [0.1, -0.2, 1.0]),
        rocker: vector([0.26, 0.045, 0.015]),
        line_offset: 0.0,
        lead: 0.005,
    };
    let slider = Slider {
        guide: vector([0.0, 0.02, 0.01]),
        direction: vector([1.0, 0.1, -0.05]),
        coupler: 0.12,
        joint: axis([0.3, 0.0, 0.0], [0.05, 0.1, 1.0]),
        rocker: vector([0.29, 0.05, 0.0]),
        lead: 0.004,
    };
    let mut cases = vec![
        one_joint("skew, open", &ball(skew, 1.2, Assembly::Open), [-0.2, 0.2]),
        one_joint("skew, crossed", &ball(skew, 1.2, Assembly::Crossed), [-0.2, 0.2]),
        one_joint("axes at right angles", &ball(square, 1.05, Assembly::Open), [-0.4, 0.3]),
        one_joint("knee", &ball(knee, 1.57, Assembly::Open), [-0.6, 0.7]),
        one_joint("actuator", &actuator.drive(None).unwrap(), [-0.7, 0.5]),
        one_joint("slider behind", &slider.drive(0.17).unwrap(), [-0.6, 0.6]),
        one_joint("slider ahead", &slider.drive(0.4).unwrap(), [-0.5, 0.6]),
    ];
    let names = ["ankle A", "ankle B", "ankle C", "ankle with actuators", "ankle with nuts"];
    cases.extend(names.into_iter().zip(&ankles()).map(|(name, drive)| two_joints(name, drive)));
    cases
}

fn off(ours: &[f64], theirs: &Value) -> f64 {
    let theirs = theirs.as_array().unwrap();
    assert_eq!(ours.len(), theirs.len());
    let pairs = ours.iter().zip(theirs).map(|(a, b)| (a - b.as_f64().unwrap()).abs());
    pairs.fold(0.0, f64::max)
}

#[test]
fn the_engine_closes_every_loop_where_the_closed_forms_say() {
    let cases = cases();
    let drives: Vec<&Value> = cases.iter().map(|case| &case.drive).collect();
    let output = venv::script("drive_kinds.py", &json!(drives).to_string());
    let text = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{text}");
    let answers: Value = serde_json::from_slice(&output.stdout).unwrap();
    for (case, answer) in cases.iter().zip(answers.as_array().unwrap()) {
        let poses = answer.as_array().unwrap();
        assert_eq!(poses.len(), case.ours.len());
        for ((places, rates), pose) in case.ours.iter().zip(poses) {
            assert!(pose["left"].as_f64().unwrap() < 1e-14, "{}: {pose}", case.name);
            let away = off(places, &pose["inputs"]);
            assert!(away < 1e-12, "{}: {places:?} {pose}", case.name);
            for (ours, theirs) in rates.iter().zip(pose["rates"].as_array().unwrap()) {
                let away = off(ours, theirs);
                assert!(away < 1e-10, "{}: {ours:?} {theirs}", case.name);
            }
        }
    }
}
