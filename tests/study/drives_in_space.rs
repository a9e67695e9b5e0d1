//! Drives other than a planar four-bar on a robot: where their bodies stand, what they weigh, what they bear.

use std::path::PathBuf;

use nalgebra::Vector3;
use unloop::design::{self, AnyDesign, Design, Drawn};
use unloop::dynamics::{JointStroke, MeasuredOver};
use unloop::equivalence::weigh_in_space;
use unloop::study::{
    self, Driven, Mechanism, PlacedParts, carrier_frame, child_axes, child_frame_on,
    joint_frame_on, loads, parent_motors,
};

fn model(name: &str) -> AnyDesign {
    let path = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/models/drives")).join(name);
    let bytes = std::fs::read(&path).unwrap();
    design::read_any(&path.to_string_lossy(), &bytes).unwrap_or_else(|r| panic!("{r}")).0
}

fn drawn(name: &str) -> Design<Drawn> {
    match model(name) {
        AnyDesign::OneJoint(design) => *design,
        _ => panic!("{name} is no drive of one joint"),
    }
}

const FLAT: &str = "name = \"d\"\n[linkage]\nground = \"300 mm\"\ncrank = \"45 mm\"\ncoupler = \"310 mm\"\nrocker = \"60 mm\"\n\
    [zero]\ncrank = \"80 deg\"\nrocker = \"73 deg\"\njoint_reads = \"10 deg\"\n[stroke]\njoint = [\"-10 deg\", \"30 deg\"]\n\
    [[robot]]\njoint = \"j\"\nparent = \"p\"\nchild = \"c\"\naxis = [0.0, 1.0, 0.0]\n\
    origin = [\"10 mm\", \"20 mm\", \"-300 mm\"]\nmotor_at = [\"10 mm\", \"20 mm\", \"0 mm\"]\n";

#[test]
fn a_flat_rod_drive_stands_on_its_robot_where_the_four_bar_does() {
    for more in ["", "mirrored = true\n"] {
        for view in ["", "axis_points = \"away\"\n"] {
            let text = format!("{view}{FLAT}{more}");
            let four_bar = design::parse("d.toml", &text).unwrap_or_else(|r| panic!("{r}")).0;
            let text = text.replace("[linkage]", "[drive]\nkind = \"ball_rod\"\n[linkage]");
            let AnyDesign::OneJoint(twin) =
                design::parse_any("d.toml", &text).unwrap_or_else(|r| panic!("{r}")).0
            else {
                panic!("no ball rod")
            };
            let driven = Driven::of(&twin).unwrap();
            let stroke = JointStroke::over(&driven.drive, driven.joint_turns()).unwrap();
            let want = carrier_frame(&four_bar, &four_bar.robots[0]).unwrap();
            let got = joint_frame_on(&twin, &twin.robots[0], &stroke).unwrap();
            assert!((got.to_homogeneous() - want.to_homogeneous()).norm() < 1e-12, "{got} {want}");
            let zero = Mechanism::of(&four_bar).unwrap().branch.pose(0.0).unwrap();
            let want = child_axes(&four_bar, &four_bar.robots[0], &want, zero.rocker_angle());
            let got = child_frame_on(&twin, &twin.robots[0], &stroke).unwrap();
            assert!(got.rotation.angle_to(&want) < 1e-7, "{got} {want}");
            assert!(got.translation.vector.norm() < 1e-12);
        }
    }
}

#[test]
fn points_in_the_carriers_own_frame_stand_there() {
    let design = drawn("ball_rod_points.toml");
    let driven = Driven::of(&design).unwrap();
    let stroke = JointStroke::over(&driven.drive, driven.joint_turns()).unwrap();
    let frame = joint_frame_on(&design, &design.robots[0], &stroke).unwrap();
    // The foot of the lever's ball on the joint axis, and that axis.
    let [axis, ball] =
        [[0.078_459_1, 0.996_917_3, 0.0], [0.0458, 0.008_43, -0.3]].map(Vector3::from);
    let axis = axis.normalize();
    let joint = Vector3::new(0.0, 0.0, -0.3);
    let foot = joint + axis * axis.dot(&(ball - joint));
    assert!((frame.translation.vector - foot).norm() < 1e-9, "{frame}");
    assert!((frame * Vector3::z() - axis).norm() < 1e-6);
    let child = child_frame_on(&design, &design.robots[0], &stroke).unwrap();
    let lever = (ball - foot).normalize();
    assert!((child * Vector3::x() - lever).norm() < 1e-9, "{child}");
}

#[test]
fn every_kind_is_weighed_from_its_own_tables() {
    for (name, over) in [
        ("ball_rod_knee.toml", MeasuredOver::Space),
        ("belt.toml", MeasuredOver::Space),
        ("linear_actuator.toml", MeasuredOver::Space),
        ("slider.toml", MeasuredOver::Space),
    ] {
        let design = drawn(name);
        let driven = Driven::of(&design).unwrap();
        let parts = PlacedParts::of(&design, &driven).unwrap();
        assert!(parts.missing.is_empty(), "{name}: {:?}", parts.missing);
        let weighed = weigh_in_space(&driven.drive, driven.joint_turns(), &parts.hung()).unwrap();
        let drive = &weighed.drives[0];
        println!("{name}: {:?} {:?}", drive.over, drive.error);
        assert_eq!(drive.over, over, "{name}");
        assert!(drive.error.value >= 0.0 && drive.error.value < 0.2, "{name}: {drive:?}");
        assert!(drive.bound.is_none());
    }
}

#[test]
fn what_a_series_weighs_is_not_told_without_where_its_stages_stand() {
    let design = drawn("series_knee.toml");
    let parts = PlacedParts::of(&design, &Driven::of(&design).unwrap()).unwrap();
    assert!(parts.drives.is_empty() && parts.missing[0].contains("stages"), "{parts:?}");
}

#[test]
fn every_kind_bears_something_that_can_be_told() {
    for name in
        ["ball_rod_knee", "belt", "linear_actuator", "slider", "series_knee", "hip_knee_belt"]
    {
        let found = loads(&drawn(&format!("{name}.toml"))).unwrap();
        let loads = found.joint().unwrap();
        let peak = loads.peak.as_ref().unwrap();
        let torque = peak.joint_torque;
        assert!(torque.guaranteed.value > 0.0, "{name}");
        assert!(torque.guaranteed.value <= torque.never_exceed.value, "{name}");
        assert_eq!(peak.rod_force.is_none(), name.ends_with("belt"), "{name}");
        assert_eq!(found.parent_joints.is_empty(), name != "hip_knee_belt");
        let json = serde_json::to_value(&found).unwrap();
        assert!(json["screw"]["peak"].is_object() == loads.in_space.unwrap().screw.is_some());
    }
}

#[test]
fn a_motor_on_the_parent_is_told_as_the_robot_reads_it() {
    let AnyDesign::FourBar(design) = model("hip_knee_bar.toml") else { panic!("no four-bar") };
    let found = &parent_motors(&design, 1.0)[0];
    // The hip counts the other way.
    assert_eq!(found.matrix, [[1.0, 0.0], [-1.0, 1.0]]);
    let whole = 36.0 * 6e-5;
    assert_eq!(found.reflected, Some([[whole, -whole], [-whole, whole]]));
    let rotor = found.rotor.unwrap();
    assert!([rotor.carrier, rotor.driven].iter().all(|share| share.abs() < 1e-300));
    assert!(
        (rotor.parent + rotor.child).abs() < 1e-18 && (rotor.tendon - 30.0 * 6e-5).abs() < 1e-15
    );
    let belt = drawn("hip_knee_belt.toml");
    let found = &parent_motors(&belt, 1.5)[0];
    assert_eq!(found.matrix, [[1.0, 0.0], [1.0, 1.5]]);
    assert!(study::loads(&design).unwrap().parent_joints == ["left_hip_pitch"]);
}
