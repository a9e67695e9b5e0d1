//! Rules of MJCF that are easily read otherwise, each measured in MuJoCo 4.0.0 first.

use crate::venv;

use std::fs;
use std::path::Path;

use approx::assert_abs_diff_eq;
use nalgebra::Vector3;
use serde_json::{Value, json};
use unloop::robot::{FileActuator, FileJoint, Robot};

const MODELS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/models/robots");

fn own(name: &str) -> Robot {
    let folder = Path::new(MODELS);
    let includes = &mut |file: &str| fs::read(folder.join(file)).map_err(|e| e.to_string());
    let bytes = fs::read(folder.join(name)).unwrap();
    unloop::robot::read(name, bytes, includes).unwrap_or_else(|rejected| panic!("{rejected}"))
}

fn model(inside: &str) -> Robot {
    let text = format!("<mujoco>{inside}</mujoco>");
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    unloop::robot::read("x.xml", text.into_bytes(), none).unwrap_or_else(|r| panic!("{r}"))
}

fn joint<'a>(robot: &'a Robot, name: &str) -> &'a FileJoint {
    &robot.joints[robot.joint_named(name).unwrap()]
}

fn drive<'a>(robot: &'a Robot, name: &str) -> &'a FileActuator {
    robot.actuators.iter().find(|one| one.name == name).unwrap()
}

#[test]
fn a_body_weighs_what_the_compiler_lets_it_weigh_not_less() {
    let bounds = "<compiler boundmass='0.5' boundinertia='2e-3' balanceinertia='true'/>";
    let bodies = "<body name='light'><joint/><inertial pos='0.1 0 0' mass='0.1' diaginertia='1e-3 3e-3 4e-3'/></body>\
        <body name='thin'><joint/><inertial pos='0 0 0' mass='1' diaginertia='3e-3 3e-3 9e-3'/></body>\
        <body name='bare'><joint/></body>";
    let robot = model(&format!("{bounds}<worldbody>{bodies}</worldbody>"));
    let of = |name: &str| robot.links[robot.link_named(name).unwrap()].inertial.unwrap();
    let figures =
        [("light", 0.5, [2e-3, 3e-3, 4e-3]), ("thin", 1.0, [5e-3; 3]), ("bare", 0.5, [2e-3; 3])];
    for (name, mass, [xx, yy, zz]) in figures {
        let found = of(name);
        assert_abs_diff_eq!(found.mass, mass);
        let tensor = [xx, yy, zz, 0.0, 0.0, 0.0];
        assert_abs_diff_eq!(found.tensor[..], tensor[..], epsilon = 1e-15);
    }
    assert_abs_diff_eq!(of("light").center[0], 0.1);
}

#[test]
fn a_written_mass_stands_where_no_shape_counts_and_falls_where_one_does() {
    let body = "<body name='b'><joint/><inertial pos='0 0 0' mass='3' diaginertia='1 1 1'/><geom size='0.1' mass='2' group='1'/></body>";
    let mass = |compiler: &str| {
        let robot = model(&format!("<compiler {compiler}/><worldbody>{body}</worldbody>"));
        robot.links[robot.link_named("b").unwrap()].inertial.unwrap().mass
    };
    assert_abs_diff_eq!(mass("inertiafromgeom='true' inertiagrouprange='3 4'"), 3.0);
    assert_abs_diff_eq!(mass("inertiafromgeom='true'"), 2.0);
}

#[test]
fn no_mass_is_known_where_the_engine_scales_them_all() {
    let body = "<body name='b'><joint/><inertial pos='0 0 0' mass='3' diaginertia='1 1 1'/></body>";
    let robot = model(&format!("<compiler settotalmass='7'/><worldbody>{body}</worldbody>"));
    let link = &robot.links[robot.link_named("b").unwrap()];
    assert!(link.inertial.is_none() && link.mass_is_unread);
    assert!(robot.remarks.iter().any(|remark| remark.message.contains("settotalmass")));
}

#[test]
fn an_equality_that_a_flag_switches_off_closes_and_ties_nothing() {
    let text = "<option><flag equality='FLAG'/></option><worldbody><body name='a'><joint name='j'/><geom size='1'/></body></worldbody>\
        <equality><connect body1='a' anchor='1 0 0'/><joint joint1='j'/></equality>";
    for (flag, acts) in [("disable", false), ("enable", true)] {
        let robot = model(&text.replace("FLAG", flag));
        assert_eq!((robot.closures[0].is_active, robot.couplings[0].is_active), (acts, acts));
    }
}

#[test]
fn a_bound_of_torque_keeps_both_its_ends_and_promises_the_smaller() {
    let robot = model(
        "<worldbody><body><joint name='j' actuatorfrcrange='-5 9'/><geom size='1'/></body></worldbody>",
    );
    let found = joint(&robot, "j");
    assert_eq!((found.effort, found.effort_ends), (Some(5.0), Some([-5.0, 9.0])));
}

#[test]
fn an_attribute_that_holds_nothing_is_not_written() {
    let robot = model(
        "<default><joint damping='2'/></default>\
         <worldbody><body pos=' '><joint name='j' damping='' axis='' ref=''/></body></worldbody>",
    );
    assert_eq!(joint(&robot, "j").damping, Some(2.0));
    assert_eq!(joint(&robot, "j").axis, Vector3::z());
}

#[test]
fn an_elements_own_turn_stands_whatever_way_its_class_turns() {
    // a site's turn is not kept: a shape's is seen in its tensor
    let tensor = |turn: &str| {
        let robot = model(&format!(
            "<default><geom euler='0 90 0'/></default><worldbody><body>\
             <geom type='box' size='0.1 0.2 0.3' {turn}/></body></worldbody>"
        ));
        robot.links[1].inertial.unwrap().tensor
    };
    let [x, y, z, ..] = tensor("quat='1 0 0 0'");
    let [a, b, c, ..] = tensor("");
    assert!(x > y && y > z, "{x} {y} {z}");
    assert_abs_diff_eq!(c, x, epsilon = 1e-12);
    assert_abs_diff_eq!(b, y, epsilon = 1e-12);
    assert_abs_diff_eq!(a, z, epsilon = 1e-12);
}

#[test]
fn an_included_file_is_looked_for_from_the_first_files_folder_then_from_the_including_ones() {
    let robot = own("included.xml");
    let files: Vec<&str> = robot.documents.iter().map(|one| one.path.as_str()).collect();
    assert_eq!(files, ["included.xml", "parts/settings.xml", "parts/limb.xml", "parts/hand.xml"]);
    let names: Vec<&str> = robot.links.iter().map(|link| link.name.as_str()).collect();
    assert_eq!(names, ["world", "limb", "hand", "last"]);
    assert_eq!(robot.whereabouts(joint(&robot, "hand").place), "parts/hand.xml:3:5");
    assert_eq!(joint(&robot, "last").stiffness, Some(4.0));
}

#[test]
fn a_target_that_is_filtered_or_damped_by_ratio_leaves_a_position_controller() {
    let robot = own("actuators.xml");
    assert_eq!(drive(&robot, "filtered").gains, Some([12.0, 0.5]));
    assert_eq!(drive(&robot, "ratio").gains, Some([12.0, 0.0]));
    let [remark] = &robot.remarks[..] else { panic!("{:?}", robot.remarks) };
    assert_eq!(remark.place, drive(&robot, "ratio").place);
    for name in ["motor", "plain", "velocity", "intvelocity", "damper", "muscle", "dc"] {
        assert_eq!(drive(&robot, name).gains, None, "{name}");
    }
}

#[test]
fn only_a_position_actuators_target_takes_the_joints_range() {
    let robot = own("actuators.xml");
    let [low, high] = drive(&robot, "half").control.unwrap();
    // half of −30…90 deg about its middle
    assert_abs_diff_eq!(low, 0.0, epsilon = 1e-12);
    assert_abs_diff_eq!(high, 60_f64.to_radians(), epsilon = 1e-12);
    // there it bounds what the actuator has integrated, not its signal
    assert_eq!(drive(&robot, "intvelocity").control, None);
}

#[test]
fn what_drives_a_tendon_or_a_site_drives_no_joint() {
    let robot = own("actuators.xml");
    let is_other = |one: &FileActuator| ["by_tendon", "by_site"].contains(&one.name.as_str());
    assert!(!robot.actuators.iter().any(is_other));
}

/// Where each active closure's points stand apart in the drawn pose, by our reading.
fn gaps(robot: &Robot) -> Vec<f64> {
    let active = robot.closures.iter().filter(|one| one.is_active);
    active
        .flat_map(|one| (one.points[0] - one.points[1]).iter().copied().collect::<Vec<_>>())
        .collect()
}

#[test]
fn engine_mujocos_own_constraints_are_violated_by_the_gaps_that_we_read() {
    let names = ["radian_loop.xml", "leg.xml"];
    let paths = names.map(|name| Path::new(MODELS).join(name));
    let output = venv::script("robot_mujoco_gaps.py", &json!(paths).to_string());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let answers: Vec<Vec<f64>> =
        serde_json::from_slice::<Value>(&output.stdout).and_then(serde_json::from_value).unwrap();
    for (name, theirs) in names.iter().zip(answers) {
        let ours = gaps(&own(name));
        assert!(!ours.is_empty() && ours.len() == theirs.len(), "{name}: {ours:?} {theirs:?}");
        let is_same = ours.iter().zip(&theirs).all(|(a, b)| (a - b).abs() < 1e-12);
        assert!(is_same, "{name}:\nours {ours:?}\ntheirs {theirs:?}");
    }
}
