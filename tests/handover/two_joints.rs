//! Files of two joints turned by two motors with a rod each, as engines see them.

use std::process::Command;

use nalgebra::{Matrix2, Matrix3, Vector3};
use serde_json::{Value, json};
use unloop::design::{Actuator, TwoJointRobot};
use unloop::drive::{Axis, Direct, DrawnLeg, Region, TwoRods, TwoRodsDrawing, Vector};
use unloop::dynamics::{
    ArmatureForm, Body, Capabilities, Capability, Inertia, LegParts, Matrix8, Rotor, TwoJointParts,
    two_joint_mass_matrix, two_joint_tree,
};
use unloop::equivalence::{Basis, Verdict};
use unloop::handover::{
    ActuatorUnits, Ask, EmitFault, Form, Format, TwoJointEmission, TwoJointsAsked, emit_two_joints,
};

use crate::venv;

pub(super) const REGION: [[f64; 2]; 2] = [[-0.35, 0.3], [-0.14, 0.12]];
pub(super) const JOINT_READS: [f64; 2] = [0.21, -0.08];
pub(super) const MOTOR_READS: [f64; 2] = [0.4, -1.1];
pub(super) const SIGNS: [f64; 2] = [1.0, -1.0];

fn at(point: [f64; 3]) -> Vector {
    let [x, y, z] = point.map(|x| 1e-3 * x);
    Vector::new(x, y, z)
}

/// Pitch about y before roll about an axis that is not quite square to it, 8 mm below.
fn drive(legs: [DrawnLeg; 2]) -> TwoRods {
    let pitch = Axis { point: at([4.0, 0.0, 2.0]), direction: Vector::new(0.0, 1.0, 0.0) };
    let roll = Axis { point: at([0.0, 0.0, -8.0]), direction: Vector::new(1.0, 0.02, 0.05) };
    TwoRodsDrawing { pitch, roll, legs }.drive().unwrap()
}

pub(super) fn cranks() -> TwoRods {
    let leg = |side: f64, z: f64| DrawnLeg::Crank {
        motor: Axis {
            point: at([5.0, 30.0 * side, z]),
            direction: Vector::new(0.08 * side, 1.0, 0.0),
        },
        crank: at([-40.0, 38.0 * side, z - 5.0]),
        foot: at([-48.0, 36.0 * side, -12.0]),
        rod: None,
    };
    drive([leg(1.0, 270.0), leg(-1.0, 150.0)])
}

pub(super) fn actuators() -> TwoRods {
    let left = DrawnLeg::Actuator {
        pin: at([-50.0, 34.0, 220.0]),
        foot: at([-44.0, 36.0, -12.0]),
        line_offset: 0.0,
        lead: 5e-3,
        lengths: None,
    };
    drive([left, left.mirrored()])
}

fn body(mass: f64, centre: [f64; 3], [a, b, c]: [f64; 3]) -> Body {
    let tensor = Matrix3::from_diagonal(&Vector3::new(a, b, c));
    Body { mass, centre: centre.into(), inertia: Inertia::Tensor(tensor) }
}

/// Rods and screws alike about their own lines, as these are free.
fn parts(rotor: Rotor) -> TwoJointParts {
    let leg = LegParts {
        crank: Some(body(0.09, [0.02, 0.003, -0.004], [2e-5, 3e-5, 4e-5])),
        rod: Some(body(0.14, [0.11, 0.0, 0.0], [2e-5, 7e-4, 7e-4])),
        housing: Some(body(0.5, [0.08, 0.0, 0.0], [2e-4, 2e-3, 2e-3])),
        nut: Some(body(0.12, [-0.05, 0.0, 0.0], [3e-5, 2e-4, 2e-4])),
        rotor: Some(rotor),
    };
    TwoJointParts {
        legs: [leg; 2],
        middle: Some(body(0.08, [0.004, 0.0, -0.003], [3e-5, 2e-5, 4e-5])),
        child: body(0.9, [0.04, -0.004, -0.05], [2e-3, 4e-3, 3.6e-3]),
        carrier: Some(body(3.4, [-0.01, 0.005, 0.17], [0.03, 0.028, 8e-3])),
    }
}

pub(super) struct Case {
    pub(super) drive: TwoRods,
    parts: TwoJointParts,
    pub(super) direct: Direct,
    actuator: Actuator,
    capabilities: [Capability; 2],
    robots: Vec<TwoJointRobot>,
}

impl Case {
    pub(super) fn new(drive: TwoRods, gear_ratio: f64, inertia: f64) -> Self {
        let region = Region { pitch: REGION[0], roll: REGION[1], pieces: 12 };
        let actuator = Actuator {
            gear_ratio: Some(gear_ratio),
            rotor_inertia: Some(inertia),
            peak_torque: Some(12.0),
            max_speed: Some(20.0),
            damping: Some(0.02),
            friction: Some(0.1),
            position_gain: Some(80.0),
            velocity_gain: Some(2.0),
            ..Actuator::default()
        };
        let torque = Capabilities::over(&drive, &region)
            .and_then(|over| over.torque([12.0; 2], None))
            .unwrap();
        let speed = Capabilities::over(&drive, &region)
            .and_then(|over| over.speed([20.0; 2], None))
            .unwrap();
        let robot = TwoJointRobot {
            joints: ["ankle_pitch".into(), "ankle_roll".into()],
            motors: ["ankle_a".into(), "ankle_b".into()],
            motor_signs: SIGNS,
            parent: "shank".into(),
            middle: "cross".into(),
            child: "foot".into(),
        };
        Self {
            direct: Direct::best(&drive, &region).unwrap(),
            parts: parts(Rotor { inertia, gear_ratio, in_carrier: true }),
            drive,
            actuator,
            capabilities: [torque, speed],
            robots: vec![robot],
        }
    }

    fn asked(&self, ask: Ask) -> TwoJointsAsked<'_> {
        let [torque, speed] = &self.capabilities;
        TwoJointsAsked {
            name: "ankle",
            source: "ankle.toml",
            drive: &self.drive,
            direct: &self.direct,
            region: REGION,
            robots: &self.robots,
            motor_reads: MOTOR_READS,
            joint_reads: JOINT_READS,
            actuator: Some(&self.actuator),
            torque: Some(torque),
            speed: Some(speed),
            parts: Some(&self.parts),
            lacks: &[],
            verdict: Verdict::Equivalent,
            basis: Basis::Nominal,
            proved: true,
            reason: "a test",
            assumptions: &[],
            ask,
        }
    }

    pub(super) fn emitted(
        &self,
        form: Form,
        format: Format,
        units: ActuatorUnits,
    ) -> TwoJointEmission {
        emit_two_joints(&self.asked(whole(form, format, units))).unwrap()
    }

    /// Readings of a grid over the region.
    fn readings(&self) -> Vec<[f64; 2]> {
        let emission = self.emitted(Form::Direct, Format::Mjcf, ActuatorUnits::Motor);
        emission.joints[0].over_region.iter().map(|pose| pose.joint_rad).collect()
    }
}

fn whole(form: Form, format: Format, actuator: ActuatorUnits) -> Ask {
    Ask { whole: true, actuator, ..Ask::new(form, format) }
}

fn seen(asked: &[Value]) -> Vec<Vec<Value>> {
    let output = venv::script("emitted_two_joints.py", &json!(asked).to_string());
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{complaint}");
    serde_json::from_slice(&output.stdout).unwrap()
}

fn question(case: &Case, xml: &str, names: [&str; 2], balls: &Value) -> Value {
    json!({
        "xml": xml, "urdf": "", "sdf": "", "joints": ["ankle_pitch", "ankle_roll"], "actuators": names,
        "balls": balls, "poses": case.readings(),
    })
}

fn turns([p, r]: [f64; 2]) -> [f64; 2] {
    [p - JOINT_READS[0], r - JOINT_READS[1]]
}

fn pair(value: &Value) -> [f64; 2] {
    serde_json::from_value(value.clone()).unwrap()
}

fn square(value: &Value) -> Matrix2<f64> {
    let [[a, b], [c, d]]: [[f64; 2]; 2] = serde_json::from_value(value.clone()).unwrap();
    Matrix2::new(a, b, c, d)
}

fn block(m: &Matrix8) -> Matrix2<f64> {
    m.fixed_view::<2, 2>(6, 6).into_owned()
}

fn near(what: &str, ours: Matrix2<f64>, theirs: Matrix2<f64>, room: f64) {
    let off = (ours - theirs).abs().max() / ours.abs().max();
    assert!(off < room, "{what}: {off:e}\n{ours}{theirs}");
}

#[test]
fn one_tendon_a_motor_is_the_constant_matrix_and_weighs_what_the_tree_does() {
    let case = Case::new(cranks(), 7.75, 1.2e-5);
    let mjcf = case.emitted(Form::Direct, Format::Mjcf, ActuatorUnits::Motor);
    let urdf = case.emitted(Form::Direct, Format::Urdf, ActuatorUnits::Joint);
    let sdf = case.emitted(Form::Direct, Format::Sdformat, ActuatorUnits::Joint);
    let mut asked = question(&case, &mjcf.file, ["ankle_a", "ankle_b"], &json!([]));
    (asked["urdf"], asked["sdf"]) = (json!(urdf.file), json!(sdf.file));
    let region = Region { pitch: REGION[0], roll: REGION[1], pieces: 12 };
    let of = |form| two_joint_tree(&case.drive, &region, &case.parts, &case.direct, form).unwrap();
    let (motors, joints) = (of(ArmatureForm::Motors), of(ArmatureForm::Joints));
    let signs = Matrix2::from_diagonal(&SIGNS.into());
    for (reads, found) in case.readings().into_iter().zip(&seen(&[asked])[0]) {
        let turned = turns(reads);
        let wanted = signs * case.direct.matrix * nalgebra::Vector2::from(turned);
        let read = pair(&found["motors"]);
        for k in [0, 1] {
            assert!((read[k] - MOTOR_READS[k] - wanted[k]).abs() < 1e-12, "{reads:?} {found}");
        }
        near("rates", signs * case.direct.matrix, square(&found["rates"]), 1e-12);
        let whole = block(&motors.mass_matrix(&case.drive, turned).unwrap());
        near("mass", whole, square(&found["mass"]), 1e-9);
        let bodies = block(&joints.mass_matrix(&case.drive, turned).unwrap()) - joints.armature();
        near("URDF", bodies, square(&found["urdf"]), 1e-9);
        near("SDFormat", bodies, square(&found["sdf"]), 1e-9);
        assert_eq!(found["force"], json!([12.0, 12.0]));
    }
}

#[test]
fn tendons_from_pin_to_pin_and_both_loops_move_as_the_exact_map_says() {
    let (cranked, screwed) = (Case::new(cranks(), 7.75, 1.2e-5), Case::new(actuators(), 1.0, 3e-6));
    let mjcf = |case: &Case, form| case.emitted(form, Format::Mjcf, ActuatorUnits::Motor);
    let coupled = mjcf(&screwed, Form::Coupled);
    let loops = [mjcf(&cranked, Form::Loop), mjcf(&screwed, Form::Loop)];
    let rods = json!([["ankle_a_rod", "ankle_a_foot_pin"], ["ankle_b_rod", "ankle_b_foot_pin"]]);
    let screws =
        json!([["ankle_a_housing", "ankle_a_foot_pin"], ["ankle_b_housing", "ankle_b_foot_pin"]]);
    let asked = [
        question(&screwed, &coupled.file, ["ankle_a", "ankle_b"], &json!([])),
        question(&cranked, &loops[0].file, ["ankle_a_crank", "ankle_b_crank"], &rods),
        question(&screwed, &loops[1].file, ["ankle_a_slide", "ankle_b_slide"], &screws),
    ];
    let found = seen(&asked);
    for (k, (case, emission)) in
        [(&screwed, &coupled), (&cranked, &loops[0]), (&screwed, &loops[1])].into_iter().enumerate()
    {
        for (pose, found) in emission.joints[0].over_region.iter().zip(&found[k]) {
            assert!(found["left"].as_f64().unwrap() < 1e-13, "{k}: {found}");
            let read = pair(&found["motors"]);
            for (ours, theirs) in pose.motor_rad.iter().zip(read) {
                assert!(
                    (ours - theirs).abs() < 1e-9 * ours.abs().max(1.0),
                    "{k}: {pose:?} {found}"
                );
            }
            let [[a, b], [c, d]] = pose.jacobian;
            near("rates", Matrix2::new(a, b, c, d), square(&found["rates"]), 1e-9);
            if k > 0 {
                let joints = turns(pose.joint_rad);
                let whole = two_joint_mass_matrix(&case.drive, &case.parts, joints).unwrap();
                near("mass", block(&whole), square(&found["mass"]), 1e-8);
            }
        }
    }
}

/// The figure of an SDFormat file's comment that begins with `before` above the joint of this name, up to `after`.
fn said(file: &str, joint: &str, [before, after]: [&str; 2]) -> f64 {
    let above = file.split(&format!("<joint name=\"{joint}\"")).next().unwrap();
    let comment = above.rsplit("<!--").next().unwrap();
    let words = comment.split_whitespace().collect::<Vec<_>>().join(" ");
    let figure = words.split(before).nth(1).unwrap_or_else(|| panic!("{before}: {words}"));
    figure.split(after).next().unwrap().parse().unwrap()
}

#[test]
fn both_loops_in_sdformat_close_in_another_engine_and_move_as_the_exact_map_and_their_comments_say()
{
    let cases = [
        (Case::new(cranks(), 7.75, 1.2e-5), ["ankle_a_crank", "ankle_b_crank"]),
        (Case::new(actuators(), 1.0, 3e-6), ["ankle_a_slide", "ankle_b_slide"]),
    ];
    let emitted = cases
        .each_ref()
        .map(|(case, _)| case.emitted(Form::Loop, Format::Sdformat, ActuatorUnits::Joint));
    let asked = cases.iter().zip(&emitted).map(|((case, motors), emission)| {
        json!({"sdf": emission.file, "joints": ["ankle_pitch", "ankle_roll"], "motors": motors,
            "closing": ["ankle_a_foot_pin", "ankle_b_foot_pin"], "poses": case.readings()})
    });
    let engine = super::drives::loops_in_sdformat(asked.collect());
    for (k, ((case, motors), emission)) in cases.iter().zip(&emitted).enumerate() {
        let of = |words| motors.map(|motor| said(&emission.file, motor, words));
        let shift = of(["motor reading = ", " + "]);
        let gear = motors.map(|motor| {
            let start = format!(
                "motor reading = {} + ",
                said(&emission.file, motor, ["motor reading = ", " + "])
            );
            said(&emission.file, motor, [&start, " * its reading"])
        });
        let armature = of(["Armature of this joint: ", " kg"]);
        for (pose, found) in
            emission.joints[0].over_region.iter().zip(engine[k]["poses"].as_array().unwrap())
        {
            assert!(found["left"].as_f64().unwrap() < 1e-12, "{k}: {found}");
            let read = pair(&found["motors"]);
            for (at, ours) in pose.motor_rad.iter().enumerate() {
                let theirs = shift[at] + gear[at] * read[at];
                assert!(
                    (ours - theirs).abs() < 1e-8 * ours.abs().max(1.0),
                    "{k}: {pose:?} {found}"
                );
            }
            let (rates, gears) = (square(&found["rates"]), Matrix2::from_diagonal(&gear.into()));
            let [[a, b], [c, d]] = pose.jacobian;
            near("rates", Matrix2::new(a, b, c, d), gears * rates, 1e-8);
            // What the file cannot say of the rotors comes to what it weighs; how a rod spins about itself is left to the engine.
            let rotors = rates.transpose() * Matrix2::from_diagonal(&armature.into()) * rates;
            let whole =
                two_joint_mass_matrix(&case.drive, &case.parts, turns(pose.joint_rad)).unwrap();
            near("mass", block(&whole), square(&found["inertia"]) + rotors, 2e-6);
        }
        for (effort, gear) in engine[k]["effort"].as_array().unwrap().iter().zip(gear) {
            assert!(
                (effort.as_f64().unwrap() / (12.0 * gear.abs()) - 1.0).abs() < 1e-12,
                "{effort}"
            );
        }
    }
}

#[test]
fn a_snippet_tells_each_point_of_a_tendon_into_which_body_it_goes() {
    let case = Case::new(actuators(), 1.0, 3e-6);
    let ask = Ask::new(Form::Coupled, Format::Mjcf);
    let text = emit_two_joints(&case.asked(ask)).unwrap().file;
    for (site, body) in [
        ("ankle_a_carrier_pin", "shank"),
        ("ankle_a_foot_pin", "foot"),
        ("ankle_b_carrier_pin", "shank"),
        ("ankle_b_foot_pin", "foot"),
    ] {
        let before = text.split(&format!("<site name=\"{site}\"")).next().unwrap();
        let comment = before.rsplit("Into <body name=\"").next().unwrap();
        assert!(before.len() < text.len() && comment.starts_with(body), "{site}\n{text}");
    }
}

#[test]
fn urdf_and_sdformat_hold_the_box_that_every_pose_gives() {
    let case = Case::new(cranks(), 7.75, 1.2e-5);
    let [torque, speed] = &case.capabilities;
    for format in [Format::Urdf, Format::Sdformat] {
        let emission = emit_two_joints(&case.asked(Ask::new(Form::Direct, format))).unwrap();
        for figure in torque.guaranteed.into_iter().chain(speed.guaranteed) {
            assert!(emission.file.contains(&figure.to_string()), "{figure}\n{}", emission.file);
        }
        assert!(emission.file.contains("cross") && !emission.file.contains("tendon"));
        let json: Value = serde_json::from_str(&emission.joints_json).unwrap();
        assert_eq!(json[0]["schema"], "unloop/joints/1");
        assert_eq!(json[0]["torque_box_n_m"]["guaranteed"], json!(torque.guaranteed));
        assert_eq!(json[0]["over_region"].as_array().unwrap().len(), 25);
        let again = emit_two_joints(&case.asked(Ask::new(Form::Direct, format))).unwrap();
        assert_eq!(emission, again);
    }
}

/// No key but those that are described.
fn closed(schema: &mut Value) {
    if let Value::Object(node) = schema {
        if node.contains_key("properties") && node.contains_key("required") {
            node.insert("additionalProperties".into(), false.into());
        }
        node.values_mut().for_each(closed);
    }
}

#[test]
fn the_json_fits_its_schema_and_its_map_leads_both_ways_without_this_program() {
    let schema = include_str!("../../schemas/joints.schema.json");
    let mut schema: Value = serde_json::from_str(schema).unwrap();
    closed(&mut schema);
    let schema = jsonschema::validator_for(&schema).unwrap();
    for (name, drive) in [("cranks", cranks()), ("actuators", actuators())] {
        let case = Case::new(drive, 2.0, 3e-6);
        let emission = case.emitted(Form::Direct, Format::Mjcf, ActuatorUnits::Motor);
        let json: Value = serde_json::from_str(&emission.joints_json).unwrap();
        let faults: Vec<String> =
            schema.iter_errors(&json).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{faults:?}");
        let map = |json: &Value| {
            let path = venv::target().join(format!("{name}.joints.json"));
            std::fs::write(&path, json.to_string()).unwrap();
            let script = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/two_joints.py");
            Command::new("python3").arg(script).arg(&path).output().unwrap()
        };
        let output = map(&json);
        assert!(output.status.success(), "{output:?}");
        // A foot moved by a hundredth of a millimetre is seen.
        let mut other = json;
        other[0]["map"]["legs"][1]["foot_m"][0] = json!(-0.04401);
        assert_eq!(map(&other).status.code(), Some(1));
    }
}

#[test]
fn a_link_between_the_joints_is_never_without_mass_and_the_file_says_what_it_was_given() {
    let mut case = Case::new(cranks(), 7.75, 1.2e-5);
    case.parts.middle = None;
    let emission = case.emitted(Form::Direct, Format::Urdf, ActuatorUnits::Joint);
    assert!(emission.file.contains("1/1000 of the child's mass"), "{}", emission.file);
    let cross = emission.file.split("<link name=\"cross\">").nth(1).unwrap();
    let mass = cross.split("mass value=\"").nth(1).unwrap().split('"').next().unwrap();
    assert!((mass.parse::<f64>().unwrap() - 0.9e-3).abs() < 1e-9, "{mass}");
}

#[test]
fn what_a_format_cannot_hold_or_the_verdict_forbids_is_refused() {
    let case = Case::new(cranks(), 7.75, 1.2e-5);
    let refused = |asked: &TwoJointsAsked<'_>| emit_two_joints(asked).unwrap_err();
    let coupled = case.asked(whole(Form::Coupled, Format::Mjcf, ActuatorUnits::Joint));
    assert!(matches!(refused(&coupled)[..], [EmitFault::Unfit { .. }]));
    let in_urdf = case.asked(whole(Form::Loop, Format::Urdf, ActuatorUnits::Joint));
    assert_eq!(refused(&in_urdf), [EmitFault::NoLoops]);
    for (form, whole, says) in [
        (Form::Coupled, true, "couples two motors to two joints"),
        (Form::Loop, false, "both loops need all links in one file"),
    ] {
        let ask = Ask { whole, ..Ask::new(form, Format::Sdformat) };
        let faults = refused(&case.asked(ask));
        assert!(faults.iter().any(|fault| fault.to_string().contains(says)), "{faults:?}");
    }
    let mut far = case.asked(whole(Form::Loop, Format::Sdformat, ActuatorUnits::Joint));
    far.joint_reads = [0.0, 1.5];
    let faults = refused(&far);
    assert!(faults.iter().any(|fault| fault.to_string().contains("reading 0")), "{faults:?}");
    let mut not = case.asked(Ask::new(Form::Direct, Format::Mjcf));
    not.verdict = Verdict::Undecided;
    assert!(matches!(refused(&not)[..], [EmitFault::Refused { .. }]));
    let mut weightless = case.asked(whole(Form::Direct, Format::Mjcf, ActuatorUnits::Motor));
    (weightless.parts, weightless.lacks) = (None, &["[mass.child]"]);
    assert!(matches!(refused(&weightless)[..], [EmitFault::Missing { key: "[mass.child]", .. }]));
    let mut limitless = case.asked(Ask::new(Form::Direct, Format::Urdf));
    limitless.speed = None;
    assert!(matches!(refused(&limitless)[..], [EmitFault::Missing { .. }]));
}
