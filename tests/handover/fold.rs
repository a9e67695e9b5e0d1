//! Folding a loop changes what it must and keeps every other byte.

use std::fs;
use std::path::PathBuf;

use unloop::design::Preset;
use unloop::handover::Form;
use unloop::handover::find::{FindOptions, FoundLoop, find, state_loops};
use unloop::handover::fold::{FoldFault, FoldOptions, Folded, fold};
use unloop::handover::{ActuatorUnits, LimitBasis};
use unloop::robot::{FileJoint, Robot};

pub(super) const PLAIN: FoldOptions = FoldOptions {
    model: Form::Direct,
    anyway: false,
    keep_visuals: false,
    limits: LimitBasis::Guaranteed,
    actuator: ActuatorUnits::Joint,
};

pub(super) fn model(name: &str) -> String {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("models/robots");
    fs::read_to_string(folder.join(name)).unwrap()
}

/// The text with each first text replaced by the second, once; the first must be there.
pub(super) fn changed<'a>(
    text: &str,
    changes: impl IntoIterator<Item = &'a (&'a str, &'a str)>,
) -> String {
    changes.into_iter().fold(text.to_owned(), |text, (old, new)| {
        assert!(text.contains(old), "{old}");
        text.replacen(old, new, 1)
    })
}

pub(super) fn read(text: &str) -> Robot {
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    unloop::robot::read("leg", text.as_bytes().to_vec(), none).unwrap_or_else(|r| panic!("{r}"))
}

/// The URDF leg with its loop stated.
fn closed(text: &str) -> Robot {
    let mut robot = read(text);
    state_loops(&mut robot, &model("leg.loops.toml")).unwrap();
    robot
}

fn loops(robot: &Robot) -> Vec<FoundLoop> {
    find(robot, FindOptions::new(Preset::Training))
}

fn folded(robot: &Robot, options: FoldOptions) -> Result<Folded, Vec<FoldFault>> {
    fold(robot, &loops(robot)[0], options)
}

fn joint<'a>(robot: &'a Robot, name: &str) -> &'a FileJoint {
    &robot.joints[robot.joint_named(name).unwrap()]
}

fn messages(faults: &[FoldFault]) -> Vec<String> {
    faults.iter().map(|fault| fault.diagnostic.message.clone()).collect()
}

#[test]
fn the_stated_loop_has_the_lengths_of_the_drawing_and_its_verdict() {
    let found = &loops(&closed(&model("leg.urdf")))[0];
    let bars = found.four_bar.as_ref().unwrap().bars;
    for (length, drawn) in
        [(bars.ground, 0.3), (bars.crank, 0.045), (bars.coupler, 0.3), (bars.rocker, 0.045)]
    {
        assert!((length - drawn).abs() < 1e-15);
    }
    assert_eq!(found.name, "ankle_loop");
    assert!(found.obstacles.is_empty() && found.judged.is_some());
}

#[test]
fn the_driven_joint_gets_what_the_motor_had() {
    let text = folded(&closed(&model("leg.urdf")), PLAIN).unwrap().text;
    let robot = read(&text);
    let names: Vec<&str> = robot.links.iter().map(|link| link.name.as_str()).collect();
    assert_eq!(names, ["thigh", "shank", "foot"]);
    let ankle = joint(&robot, "ankle");
    // Ratio 1 all over: 60 N m, 20 rad/s; damping 0.02 + 0.01, friction 0.3 + 0.05; the tighter limits are the joint's own.
    assert!((ankle.effort.unwrap() - 60.0).abs() < 1e-9);
    assert!((ankle.velocity.unwrap() - 20.0).abs() < 1e-9);
    assert!((ankle.damping.unwrap() - 0.03).abs() < 1e-12);
    assert!((ankle.friction.unwrap() - 0.35).abs() < 1e-12);
    assert_eq!(ankle.limit, Some([-0.7, 0.6]));
    assert!(loops(&robot).is_empty());
}

#[test]
fn the_whole_robot_weighs_what_it_weighed_and_its_mass_centre_stays() {
    let before = closed(&model("leg.urdf"));
    let after = read(&folded(&before, PLAIN).unwrap().text);
    let weigh = |robot: &Robot| {
        let mut sum = (0.0, nalgebra::Vector3::zeros());
        for link in &robot.links {
            if let Some(inertial) = link.inertial {
                let centre = link.pose * nalgebra::Point3::from(inertial.center);
                sum = (sum.0 + inertial.mass, sum.1 + centre.coords * inertial.mass);
            }
        }
        sum
    };
    let ((m, h), (n, k)) = (weigh(&before), weigh(&after));
    assert!((m - n).abs() < 1e-10, "{m} {n}");
    assert!((h - k).norm() < 1e-10, "{h} {k}");
}

/// Lines of `new` that `old` does not have, and the other way round.
fn changed_lines(old: &str, new: &str) -> (Vec<String>, Vec<String>) {
    let missing = |from: &str, of: &str| {
        let known: Vec<&str> = of.lines().collect();
        from.lines().filter(|line| !known.contains(line)).map(str::to_owned).collect::<Vec<_>>()
    };
    (missing(old, new), missing(new, old))
}

#[test]
fn every_line_that_comes_is_one_of_the_joint_the_bodies_or_the_transmission() {
    let text = model("leg.urdf");
    let new = folded(&closed(&text), PLAIN).unwrap().text;
    let (_, came) = changed_lines(&text, &new);
    let known = [
        "<origin",
        "<mass",
        "<inertia",
        "<limit",
        "<dynamics",
        "<!-- armature",
        "<joint name=\"ankle\">",
    ];
    for line in &came {
        assert!(known.iter().any(|start| line.trim_start().starts_with(start)), "{line}");
    }
    assert!(new.contains("<!-- A leg on a test stand: the ankle's motor sits in the shank"));
    assert!(new.contains("<joint name=\"ankle\">\n      <hardwareInterface>"));
}

#[test]
fn line_ends_quotes_and_a_byte_order_mark_stay_as_the_file_has_them() {
    let unix = model("leg.urdf").replace(
        "effort=\"0\" velocity=\"20\"/>\n    <dynamics damping=\"0.01\"",
        "effort='0' velocity='20'/>\n    <dynamics damping = '0.01'",
    );
    let text = format!("\u{feff}{}", unix.replace('\n', "\r\n"));
    let new = folded(&closed(&text), PLAIN).unwrap().text;
    assert!(new.starts_with("\u{feff}<?xml"));
    assert_eq!(new.matches('\n').count(), new.matches("\r\n").count());
    assert!(new.contains("effort='60' velocity='20'/>\r\n    <dynamics damping = '0.03'"), "{new}");
}

#[test]
fn a_motor_that_turns_the_other_way_and_reads_another_zero_is_mapped() {
    let text = model("leg.urdf").replace(
        "<origin xyz=\"0 0 -0.02\"/>\n    <axis xyz=\"0 1 0\"/>\n    <limit lower=\"-0.8\" upper=\"0.8\"",
        "<origin xyz=\"0 0 -0.02\"/>\n    <axis xyz=\"0 -1 0\"/>\n    <limit lower=\"-0.5\" upper=\"0.4\"",
    );
    let new = folded(&closed(&text), PLAIN).unwrap().text;
    let robot = read(&new);
    let limit = joint(&robot, "ankle").limit.unwrap();
    // The motor's −0.5 … 0.4 are the joint's −0.4 … 0.5.
    assert!((limit[0] + 0.4).abs() < 1e-9 && (limit[1] - 0.5).abs() < 1e-9, "{limit:?}");
    assert!(new.contains("<mechanicalReduction>-7.75</mechanicalReduction>"), "{new}");
}

#[test]
fn what_speaks_of_the_linkage_and_cannot_be_followed_is_named_with_its_place() {
    let text = model("leg.urdf").replace(
        "</robot>",
        "  <gazebo>\n    <plugin name=\"p\"><frame>rod</frame><joint>rod_upper</joint></plugin>\n  </gazebo>\n</robot>",
    );
    let faults = folded(&closed(&text), PLAIN).unwrap_err();
    assert_eq!(
        messages(&faults),
        [
            "<frame> speaks of \"rod\", which goes with the linkage",
            "<joint> speaks of \"rod_upper\", which goes with the linkage"
        ]
    );
    for fault in &faults {
        let place = fault.diagnostic.place.clone().unwrap();
        assert!(text[place].starts_with("rod"));
    }
}

#[test]
fn what_reads_the_motor_is_followed_where_the_joint_reads_the_same_and_refused_else() {
    let sensor = "  <gazebo>\n    <plugin name=\"p\"><joint_name>ankle_motor</joint_name></plugin>\n  </gazebo>\n</robot>";
    let text = model("leg.urdf").replace("</robot>", sensor);
    let new = folded(&closed(&text), PLAIN).unwrap();
    assert!(new.text.contains("<joint_name>ankle</joint_name>"));
    assert!(new.notes.iter().any(|note| note.contains("<joint_name> speaks of \"ankle\" now")));
    let other = text.replace(
        "<origin xyz=\"0 0 -0.02\"/>\n    <axis xyz=\"0 1 0\"/>",
        "<origin xyz=\"0 0 -0.02\"/>\n    <axis xyz=\"0 -1 0\"/>",
    );
    let faults = folded(&closed(&other), PLAIN).unwrap_err();
    assert_eq!(
        messages(&faults),
        ["<joint_name> speaks of \"ankle_motor\", which moves to the driven joint"]
    );
}

#[test]
fn a_joint_that_mimics_the_motor_follows_the_driven_joint() {
    let pulley = "  <link name=\"pulley\"/>\n  <joint name=\"pulley_joint\" type=\"continuous\">\n    <parent link=\"thigh\"/>\n    <child link=\"pulley\"/>\n    <axis xyz=\"0 1 0\"/>\n    <mimic joint=\"ankle_motor\" multiplier=\"2\" offset=\"0.1\"/>\n  </joint>\n</robot>";
    let text = model("leg.urdf").replace("</robot>", pulley).replace(
        "<origin xyz=\"0 0 -0.02\"/>\n    <axis xyz=\"0 1 0\"/>",
        "<origin xyz=\"0 0 -0.02\"/>\n    <axis xyz=\"0 -1 0\"/>",
    );
    let new = folded(&closed(&text), PLAIN).unwrap().text;
    assert!(new.contains("<mimic joint=\"ankle\" multiplier=\"-2\" offset=\"0.1\"/>"), "{new}");
}

#[test]
fn a_linkage_that_is_no_direct_joint_is_refused_unless_told_and_shown_with_its_verdict() {
    // A longer lever at the foot: the rod's lower pin moves out.
    let stated = model("leg.loops.toml").replace("\"-300 mm\"]", "\"-315 mm\"]");
    let mut robot = read(&model("leg.urdf"));
    state_loops(&mut robot, &stated).unwrap();
    let faults = folded(&robot, PLAIN).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].verdict, Some(unloop::equivalence::Verdict::NotEquivalent));
    assert!(folded(&robot, FoldOptions { anyway: true, ..PLAIN }).is_ok());
}

#[test]
fn the_coupled_form_keeps_the_crank_and_lets_it_follow() {
    let options = FoldOptions { model: Form::Coupled, ..PLAIN };
    let new = folded(&closed(&model("leg.urdf")), options).unwrap().text;
    let robot = read(&new);
    assert!(robot.link_named("crank").is_some() && robot.link_named("rod").is_none());
    let mimic = joint(&robot, "ankle_motor").mimic.clone().unwrap();
    assert_eq!((mimic.leader.as_str(), mimic.multiplier, mimic.offset), ("ankle", 1.0, 0.0));
    assert!(
        new.contains("<joint name=\"ankle_motor\">\n      <hardwareInterface>"),
        "the motor stays"
    );
}

#[test]
fn kept_visuals_weigh_nothing_and_move_along() {
    let options = FoldOptions { keep_visuals: true, ..PLAIN };
    let new = folded(&closed(&model("leg.urdf")), options).unwrap().text;
    let robot = read(&new);
    for name in ["crank", "rod"] {
        assert!(robot.links[robot.link_named(name).unwrap()].inertial.is_none());
    }
    // The rod never turns against the shank, so that it turns back on the crank.
    let rod = joint(&robot, "rod_upper").mimic.clone().unwrap();
    assert!((rod.multiplier + 1.0).abs() < 1e-9 && rod.offset.abs() < 1e-9, "{rod:?}");
    assert_eq!(joint(&robot, "ankle_motor").mimic.as_ref().unwrap().leader, "ankle");
}

#[test]
fn folding_twice_finds_nothing_more_to_fold() {
    let once = folded(&closed(&model("leg.urdf")), PLAIN).unwrap().text;
    assert!(loops(&read(&once)).is_empty());
}
