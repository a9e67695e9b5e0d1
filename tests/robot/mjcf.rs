//! MJCF files of our own: what is read, what is refused and in which words.
//!
//! The same files are held against the engine's compiled model in `mjcf_engine.rs`; here stand the
//! figures that can be told by hand. Bad files stand beside the whole message that each earns,
//! `models/robots/bad/mjcf_*.xml` and `*.txt`. With `UNLOOP_BLESS=1` the messages are written anew; read them before
//! they are committed.

use std::fs;
use std::path::{Path, PathBuf};

use super::reading::said;
use crate::whole_messages;
use approx::assert_abs_diff_eq;
use nalgebra::{Point3, Vector3};
use unloop::robot::{FileJoint, Format, JointKind, Robot, RobotRejected};

const MODELS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/models/robots");
const BAD: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/models/robots/bad");

fn read(folder: &str, name: &str) -> Result<Robot, Box<RobotRejected>> {
    let bytes = fs::read(Path::new(folder).join(name)).unwrap();
    let includes = &mut |file: &str| {
        fs::read(Path::new(folder).join(file)).map_err(|_| "there is no such file".to_owned())
    };
    unloop::robot::read(name, bytes, includes)
}

fn own(name: &str) -> Robot {
    read(MODELS, name).unwrap_or_else(|rejected| panic!("{rejected}"))
}

fn of(text: &str) -> Robot {
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    let read = unloop::robot::read("text", text.as_bytes().to_vec(), none);
    read.unwrap_or_else(|rejected| panic!("{rejected}"))
}

fn joint<'a>(robot: &'a Robot, name: &str) -> &'a FileJoint {
    &robot.joints[robot.joint_named(name).unwrap()]
}

fn bad_files() -> Vec<PathBuf> {
    whole_messages::files(BAD, &["xml"])
}

#[test]
fn every_bad_mjcf_file_earns_its_whole_message() {
    whole_messages::must_stand_beside(&bad_files(), |path| {
        said(read(BAD, path.file_name().unwrap().to_str().unwrap()))
    });
}

#[test]
fn every_mjcf_fault_says_what_to_do() {
    for path in bad_files() {
        let name = path.file_name().unwrap().to_str().unwrap();
        let Err(rejected) = read(BAD, name) else {
            assert!(name.contains("remarks"), "{name} is read");
            continue;
        };
        assert!(!rejected.diagnostics.is_empty(), "{name}");
        assert!(rejected.diagnostics.iter().all(|fault| fault.help.is_some()), "{name}");
    }
}

#[test]
fn classes_say_what_a_joint_does_not() {
    let robot = own("classed_arm.xml");
    assert_eq!((robot.format, robot.name.as_str()), (Format::Mjcf, "classed_arm"));
    assert_eq!(robot.links[0].name, "world");
    let shoulder = joint(&robot, "shoulder");
    assert_eq!((shoulder.friction, shoulder.armature), (Some(0.2), Some(0.01)));
    assert_eq!(shoulder.limit, Some([-90_f64.to_radians(), 45_f64.to_radians()]));
    assert_abs_diff_eq!(shoulder.drawn_at, 15_f64.to_radians());
    assert_eq!(joint(&robot, "sway").limit, None);
    assert_eq!(joint(&robot, "reach").limit, Some([-0.1, 0.3]));
    assert_eq!(
        (joint(&robot, "reach").drawn_at, joint(&robot, "reach").stiffness),
        (0.05, Some(20.0))
    );
}

#[test]
fn what_a_later_section_adds_to_the_outermost_class_does_not_reach_the_inner_ones() {
    let robot = own("classed_arm.xml");
    assert_eq!(joint(&robot, "sway").damping, Some(0.75));
    assert_eq!(joint(&robot, "shoulder").damping, Some(0.5));
}

#[test]
fn joints_of_one_body_share_their_links_and_a_body_without_joints_is_fixed() {
    let robot = own("classed_arm.xml");
    let (one, two) = (joint(&robot, "shoulder"), joint(&robot, "sway"));
    assert_eq!((one.parent, one.child), (two.parent, two.child));
    let held = robot.link_named("held").unwrap();
    let fixed = robot.joints.iter().find(|joint| joint.child == held).unwrap();
    assert_eq!((fixed.kind, fixed.name.as_str()), (JointKind::Fixed, ""));
    assert_eq!(fixed.place, robot.links[held].place);
    assert_eq!(joint(&robot, "free").kind, JointKind::Other);
    assert_eq!(joint(&robot, "swivel").kind, JointKind::Ball);
}

#[test]
fn an_included_actuator_knows_its_own_file() {
    let robot = own("classed_arm.xml");
    let motor = &robot.actuators[0];
    assert_eq!((motor.name.as_str(), motor.gear), ("shoulder_motor", -9.0));
    assert_eq!((motor.force, motor.control), (Some([-4.0, 4.0]), Some([-1.0, 1.0])));
    assert_eq!(robot.whereabouts(motor.place), "classed_arm_drives.xml:3:5");
    assert_eq!(robot.actuators[1].gains, Some([80.0, 3.0]));
    assert_eq!(robot.actuators[1].control, joint(&robot, "elbow").limit);
    assert_eq!(robot.actuators[2].gains, Some([40.0, 2.0]));
    assert_eq!(joint(&robot, "elbow").effort, Some(20.0));
}

#[test]
fn every_part_knows_its_element() {
    for name in ["classed_arm.xml", "radian_loop.xml", "shapes.xml"] {
        let robot = own(name);
        for link in robot.links.iter().skip(1) {
            assert_eq!(robot.element(link.place).unwrap().name(), "body");
        }
        for joint in &robot.joints {
            let tag = robot.element(joint.place).unwrap().name();
            let wanted = if joint.kind == JointKind::Fixed { "body" } else { "joint" };
            assert!(tag == wanted || tag == "freejoint", "{tag}");
        }
    }
}

#[test]
fn radians_stay_and_only_what_is_limited_limits() {
    let robot = own("radian_loop.xml");
    assert_eq!(joint(&robot, "crank").limit, Some([-1.0, 1.0]));
    assert_eq!(joint(&robot, "crank").drawn_at, 0.25);
    assert_eq!(joint(&robot, "rod").limit, None);
}

#[test]
fn a_reference_does_not_move_the_drawn_pose() {
    let with = |reference: &str| {
        of(&format!(
            "<mujoco><worldbody><body pos='1 0 0'><joint ref='{reference}'/></body></worldbody></mujoco>"
        ))
    };
    assert_eq!(with("30").links[1].pose, with("0").links[1].pose);
    assert_abs_diff_eq!(with("30").joints[0].drawn_at, 30_f64.to_radians());
}

#[test]
fn euler_angles_turn_about_moving_axes_in_lower_case_and_fixed_ones_in_upper_case() {
    let axis = |sequence: &str| {
        let text = format!(
            "<mujoco><compiler eulerseq='{sequence}'/><worldbody><body euler='90 90 0'><joint axis='1 0 0'/></body></worldbody></mujoco>"
        );
        of(&text).joints[0].axis
    };
    // moving: Rx·Ry·x = Rx·(−z) = y; fixed: Ry·Rx·x = Ry·x = −z
    assert_abs_diff_eq!(axis("xyz"), Vector3::y(), epsilon = 1e-12);
    assert_abs_diff_eq!(axis("XYZ"), -Vector3::z(), epsilon = 1e-12);
}

#[test]
fn a_loop_by_anchor_has_one_point_and_one_by_sites_two() {
    let robot = own("radian_loop.xml");
    let named = |name: &str| robot.closures.iter().find(|one| one.name == name).unwrap();
    let anchor = named("by_anchor");
    assert_eq!(anchor.points[0], anchor.points[1]);
    assert!(!anchor.by_sites && anchor.is_active);
    let sites = named("by_sites");
    assert!(sites.by_sites);
    assert_eq!(sites.points[1], Point3::new(0.35, 0.0, 0.055));
    assert_eq!(sites.links[1], 0);
    assert!((sites.points[0] - sites.points[1]).norm() > 1e-3, "it is drawn open");
    assert_eq!((named("to_world").links[1], named("to_world").is_active), (0, false));
}

#[test]
fn a_coupling_keeps_its_constant_and_the_coefficients_that_are_not_written() {
    let robot = own("radian_loop.xml");
    let [both, one] = &robot.couplings[..] else { unreachable!() };
    assert_eq!(both.polynomial, [0.01, 1.5, -0.2, 0.0, 0.0]);
    assert_eq!(robot.joints[both.follower].name, "crank");
    assert_eq!(both.leader.map(|id| robot.joints[id].name.as_str()), Some("rocker"));
    assert_eq!((one.polynomial, one.leader), ([0.3, 1.0, 0.0, 0.0, 0.0], None));
}

#[test]
fn what_a_mesh_weighs_is_not_guessed() {
    let robot = own("shapes.xml");
    let meshed = &robot.links[robot.link_named("meshed").unwrap()];
    assert_eq!(meshed.inertial, None);
    let said: Vec<_> = robot.remarks.iter().map(|one| (one.place, one.message.as_str())).collect();
    assert_eq!(said, [(meshed.place, "mass comes from a mesh, which is not read")]);
    let decorated = &robot.links[robot.link_named("decorated").unwrap()];
    // 4/3 π r³ · 1000 kg/m³, r = 0.1 m
    assert_abs_diff_eq!(decorated.inertial.unwrap().mass, 4.188_790_204_786_391, epsilon = 1e-12);
}

#[test]
fn sections_of_one_name_merge() {
    let robot = of(
        "<mujoco><worldbody><body name='a'/></worldbody><compiler angle='radian'/><compiler autolimits='false'/>\
         <worldbody><body name='b'><joint name='j' range='-1 1' limited='true'/></body></worldbody></mujoco>",
    );
    assert_eq!((robot.link_named("a"), robot.link_named("b")), (Some(1), Some(2)));
    assert_eq!(joint(&robot, "j").limit, Some([-1.0, 1.0]));
}
