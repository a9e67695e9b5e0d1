//! URDF and SDFormat files of our own: what is read, what is refused and in which words.
//!
//! Bad files stand beside the whole message that each earns, `models/robots/bad/*.urdf|sdf` and `*.txt`. With
//! `UNLOOP_BLESS=1` the messages are written anew; read them before they are committed.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use crate::whole_messages;
use approx::assert_abs_diff_eq;
use nalgebra::{Point3, Vector3};
use unloop::robot::{Format, JointKind, Mimic, Robot, RobotRejected};

const MODELS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/models/robots");
const BAD: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/models/robots/bad");

fn read(name: &str, bytes: Vec<u8>) -> Result<Robot, Box<RobotRejected>> {
    unloop::robot::read(name, bytes, &mut |_| Err("nothing is included".to_owned()))
}

fn own(name: &str) -> Robot {
    read(name, fs::read(Path::new(MODELS).join(name)).unwrap()).unwrap_or_else(|r| panic!("{r}"))
}

fn bad_files() -> Vec<PathBuf> {
    whole_messages::files(BAD, &["urdf", "sdf"])
}

/// All that is said about the file: of a refused one its faults, of another its remarks.
pub(super) fn said(read: Result<Robot, Box<RobotRejected>>) -> String {
    match read {
        Ok(robot) => {
            let told = robot.remarks.iter().chain(&robot.settings);
            told.fold("(read)\n".to_owned(), |mut text, remark| {
                writeln!(text, "{}: {}", robot.whereabouts(remark.place), remark.message).unwrap();
                text
            })
        }
        Err(rejected) => rejected.render(false),
    }
}

#[test]
fn every_bad_robot_file_earns_its_whole_message() {
    whole_messages::must_stand_beside(&bad_files(), |path| {
        said(read(path.file_name().unwrap().to_str().unwrap(), fs::read(path).unwrap()))
    });
}

#[test]
fn every_fault_says_what_to_do() {
    for path in bad_files() {
        let name = path.file_name().unwrap().to_str().unwrap();
        let Err(rejected) = read(name, fs::read(&path).unwrap()) else {
            assert!(name.contains("remarks"), "{name} is read");
            continue;
        };
        assert!(rejected.diagnostics.iter().all(|fault| fault.help.is_some()), "{name}");
    }
}

#[test]
fn no_message_stands_beside_a_robot_file_that_is_gone() {
    for entry in fs::read_dir(BAD).unwrap() {
        let path = entry.unwrap().path();
        let has = |suffix: &&str| path.with_extension(suffix).exists();
        assert!(["urdf", "sdf", "xml"].iter().any(has), "{}", path.display());
    }
}

#[test]
fn a_urdf_file_is_read_whole() {
    let robot = own("two_link_arm.urdf");
    assert_eq!((robot.format, robot.name.as_str()), (Format::Urdf, "two_link_arm"));
    assert_eq!(robot.links.len(), 4);
    assert!(robot.links[0].inertial.is_none());
    let [shoulder, elbow, reach] = &robot.joints[..] else { unreachable!() };
    assert_eq!(shoulder.kind, JointKind::Revolute);
    assert_eq!(shoulder.limit, Some([-1.0, 2.0]));
    assert_eq!((shoulder.effort, shoulder.velocity), (Some(50.0), Some(6.0)));
    assert_eq!((shoulder.damping, shoulder.friction), (Some(0.4), Some(0.1)));
    assert_eq!((elbow.kind, elbow.limit), (JointKind::Revolute, None));
    let mimic = Mimic { leader: "shoulder".into(), multiplier: -0.5, offset: 0.1 };
    assert_eq!(elbow.mimic, Some(mimic));
    assert_eq!((reach.kind, reach.limit), (JointKind::Prismatic, Some([0.0, 0.2])));
    let [drive] = &robot.actuators[..] else { unreachable!() };
    assert_eq!((drive.name.as_str(), drive.joint, drive.gear), ("shoulder_motor", 0, -7.5));
}

#[test]
fn every_link_and_joint_knows_its_element() {
    for name in ["two_link_arm.urdf", "nested_arm.sdf", "model_axes.sdf"] {
        let robot = own(name);
        for link in robot.links.iter().filter(|link| link.name != "world") {
            let element = robot.element(link.place).unwrap();
            assert_eq!(element.name(), "link");
            assert!(link.name.ends_with(&*element.value("name").unwrap()));
        }
        for joint in &robot.joints {
            let element = robot.element(joint.place).unwrap();
            assert_eq!(element.name(), "joint");
            assert!(joint.name.ends_with(&*element.value("name").unwrap()));
        }
    }
}

#[test]
fn a_nested_models_names_have_the_model_in_front() {
    let robot = own("nested_arm.sdf");
    let links: Vec<&str> = robot.links.iter().map(|link| link.name.as_str()).collect();
    assert_eq!(links, ["mast", "boom", "hand::palm", "hand::finger", "hand::thumb"]);
    let wrist = &robot.joints[robot.joint_named("wrist").unwrap()];
    assert_eq!(robot.links[wrist.child].name, "hand::palm");
    let finger = &robot.joints[robot.joint_named("hand::finger_joint").unwrap()];
    assert_eq!(finger.limit, Some([f64::NEG_INFINITY, 0.9]));
}

#[test]
fn a_mimics_reference_goes_into_its_offset() {
    let robot = own("nested_arm.sdf");
    let thumb = &robot.joints[robot.joint_named("hand::thumb_joint").unwrap()];
    let mimic = thumb.mimic.as_ref().unwrap();
    assert_eq!((mimic.leader.as_str(), mimic.multiplier), ("hand::finger_joint", -1.5));
    // -1.5 (leader - 0.1) + 0.2
    assert_abs_diff_eq!(mimic.offset, 0.35, epsilon = 1e-15);
}

#[test]
fn the_world_is_a_link_where_a_joint_hangs_on_it() {
    let robot = own("model_axes.sdf");
    let ground = &robot.joints[robot.joint_named("ground").unwrap()];
    assert_eq!(robot.links[ground.parent].name, "world");
    assert_eq!(robot.links.len(), 4);
    let motor = &robot.joints[robot.joint_named("motor").unwrap()];
    assert_eq!((motor.limit, motor.effort, motor.velocity), (None, None, None));
}

const SLANTED: &str = r#"<sdf version="VERSION"><model name="m"><pose>0 0 0 0 0 1.5707963267948966</pose>
    <link name="a"/><link name="b"><pose>1 0 0 0 0 1.5707963267948966</pose></link>
    <joint name="j" type="revolute"><parent>a</parent><child>b</child><axis><xyz>1 0 0</xyz>MORE</axis></joint>
    </model></sdf>"#;

/// The axis of [`SLANTED`]'s joint under a version's rules.
fn axis(version: &str, more: &str) -> Vector3<f64> {
    let text = SLANTED.replace("VERSION", version).replace("MORE", more);
    read("slanted.sdf", text.into_bytes()).unwrap_or_else(|r| panic!("{r}")).joints[0].axis
}

#[test]
fn an_axis_stands_in_the_joints_frame_or_by_version_in_the_models() {
    let in_model = "<use_parent_model_frame>true</use_parent_model_frame>";
    let (joints, models) = (-Vector3::x(), Vector3::y());
    for (version, more, wanted) in [
        ("1.4", "", models),
        ("1.5", "", joints),
        ("1.6", "", joints),
        ("1.6", in_model, models),
        ("1.7", in_model, joints),
        ("1.12", "", joints),
    ] {
        assert_abs_diff_eq!(axis(version, more), wanted, epsilon = 1e-12);
    }
}

#[test]
fn several_models_of_a_world_have_their_names_in_front() {
    let text = r#"<sdf version="1.6"><world name="w">
        <model name="a"><link name="body"/></model><model name="b"><link name="body"/></model>
        </world></sdf>"#;
    let robot = read("two.sdf", text.into()).unwrap();
    let names: Vec<&str> = robot.links.iter().map(|link| link.name.as_str()).collect();
    assert_eq!((names, robot.name.as_str()), (vec!["a::body", "b::body"], "w"));
}

#[test]
fn a_link_may_be_the_child_of_two_joints_in_sdformat() {
    let text = r#"<sdf version="1.6"><model name="m"><link name="a"/><link name="b"/><link name="c"/>
        <joint name="x" type="ball"><parent>a</parent><child>c</child></joint>
        <joint name="y" type="ball"><parent>b</parent><child>c</child><pose>0 0 1 0 0 0</pose></joint>
        </model></sdf>"#;
    let robot = read("loop.sdf", text.into()).unwrap();
    assert_eq!(robot.joints[0].child, robot.joints[1].child);
    assert_eq!(robot.joints[1].anchor, Point3::new(0.0, 0.0, 1.0));
}

#[test]
fn elements_that_the_formats_do_not_know_are_passed_over() {
    let text = r#"<robot name="r"><gazebo><plugin name="p"/></gazebo><link name="a"><sensor/></link><joint_group/></robot>"#;
    assert_eq!(read("r.urdf", text.into()).unwrap().links.len(), 1);
}

/// A chain of links, as long as it takes for this many bytes.
fn long_chain(bytes: usize) -> (String, usize) {
    let mut text = String::from("<robot name=\"chain\">\n<link name=\"l0\"/>\n");
    let mut count = 0;
    while text.len() < bytes {
        count += 1;
        writeln!(
            text,
            "<link name=\"l{count}\"><inertial><mass value=\"1\"/><inertia ixx=\"1\" iyy=\"1\" izz=\"1\" ixy=\"0\" ixz=\"0\" iyz=\"0\"/></inertial></link>\n\
             <joint name=\"j{count}\" type=\"revolute\"><origin xyz=\"0 0 1\"/><parent link=\"l{}\"/><child link=\"l{count}\"/><axis xyz=\"0 1 0\"/><limit lower=\"-1\" upper=\"1\" effort=\"1\" velocity=\"1\"/></joint>",
            count - 1
        )
        .unwrap();
    }
    text.push_str("</robot>\n");
    (text, count)
}

#[test]
fn ten_megabytes_of_one_chain_are_read() {
    let (text, count) = long_chain(10_000_000);
    let robot = read("chain.urdf", text.into_bytes()).unwrap_or_else(|r| panic!("{r}"));
    assert_eq!((robot.links.len(), robot.joints.len()), (count + 1, count));
    let top = robot.joints.last().unwrap().anchor.z;
    assert_eq!(top, f64::from(u32::try_from(count).unwrap()));
}

#[test]
fn names_grow_no_faster_than_the_file() {
    let long = "n".repeat(20_000);
    let open = format!("<model name=\"{long}\">").repeat(300);
    let links: String = (0..20_000).map(|n| format!("<link name=\"{n}\"/>")).collect();
    let text = format!("<sdf version=\"1.9\">{open}{links}{}</sdf>", "</model>".repeat(300));
    assert!(read("long.sdf", text.into_bytes()).is_err());
    let joints: String = (0..50_000)
        .map(|n| {
            format!(
                "<joint name=\"{n}\" type=\"fixed\"><parent link=\"a\"/><child link=\"b\"/></joint>"
            )
        })
        .collect();
    let first = format!(
        "<joint name=\"{}\" type=\"fixed\"><parent link=\"a\"/><child link=\"b\"/></joint>",
        "n".repeat(5_000_000)
    );
    let text = format!("<robot><link name=\"a\"/><link name=\"b\"/>\n{first}\n{joints}</robot>");
    let rejected = read("long.urdf", text.into_bytes()).unwrap_err();
    assert!(rejected.diagnostics.iter().all(|fault| fault.message.len() < 1000));
}

#[test]
fn models_may_be_nested_as_deep_as_files_are_read() {
    let open = "<model name=\"m\">".repeat(90);
    let text =
        format!("<sdf version=\"1.9\">{open}<link name=\"l\"/>{}</sdf>", "</model>".repeat(90));
    let robot = read("deep.sdf", text.into_bytes()).unwrap_or_else(|r| panic!("{r}"));
    assert!(robot.links[0].name.starts_with("m::m::") && robot.links[0].name.ends_with("::l"));
    let open = "<model name=\"m\">".repeat(398);
    let text =
        format!("<sdf version=\"1.9\">{open}<link name=\"l\"/>{}</sdf>", "</model>".repeat(398));
    assert!(read("deeper.sdf", text.into_bytes()).unwrap_err().render(false).contains("too long"));
}

#[test]
fn ten_megabytes_of_faults_are_answered() {
    let (text, _) = long_chain(10_000_000);
    let broken = text
        .replace("<parent link=\"l", "<parent link=\"k")
        .replace("effort=\"1\"", "effort=\"x\"");
    let rejected = read("chain.urdf", broken.into_bytes()).unwrap_err();
    assert_eq!(rejected.diagnostics.len(), 10_000);
    assert!(rejected.render(false).ends_with("more)\n"));
}

#[test]
fn ten_megabytes_of_nested_names_and_frames_are_answered() {
    let mut text = String::from(
        "<sdf version=\"1.9\"><model name=\"m\"><link name=\"k\"/><link name=\"l\"/>\n<frame name=\"f0\"/>\n",
    );
    let mut count = 0;
    while text.len() < 10_000_000 {
        count += 1;
        writeln!(text, "<frame name=\"f{count}\" attached_to=\"f{}\"><pose>0 0 1 0 0 0</pose></frame>\n\
            <joint name=\"j{count}\" type=\"fixed\"><parent>f{count}</parent><child>l</child></joint>", count - 1).unwrap();
    }
    text.push_str("</model></sdf>\n");
    let robot = read("frames.sdf", text.clone().into_bytes()).unwrap_or_else(|r| panic!("{r}"));
    assert_eq!(robot.joints.len(), count);
    let broken = text.replace("attached_to=\"f", "attached_to=\"g");
    let rejected = read("frames.sdf", broken.into_bytes()).unwrap_err();
    assert_eq!(rejected.diagnostics.len(), 10_000);
}
