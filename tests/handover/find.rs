//! Loops of robot files, found and named: what they are, and what keeps them from being one drive of one joint.

use crate::venv;

use std::fs;

use unloop::design::Preset;
use unloop::equivalence::{Criterion, Outcome, Verdict};
use unloop::handover::find::{
    EndedBy, FindOptions, FoundLoop, MotorSeat, ZeroPose, find, findings, pairs, state_loops,
};
use unloop::linkage::Kind;
use unloop::robot::Robot;

fn read(text: &str) -> Robot {
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    unloop::robot::read("robot", text.as_bytes().to_vec(), none).unwrap_or_else(|r| panic!("{r}"))
}

/// Joints of the files here that SDFormat cannot say a motor drives.
const MOTORS: [&str; 3] = ["motor", "right-tarsus-crank-joint", "left-tarsus-crank-joint"];

fn loops(robot: &Robot) -> Vec<FoundLoop> {
    let motors = MOTORS.map(str::to_owned);
    find(robot, FindOptions { motors: &motors, ..FindOptions::new(Preset::Training) })
}

fn codes(found: &FoundLoop) -> Vec<&'static str> {
    found.obstacles.iter().map(|obstacle| obstacle.code).collect()
}

/// A link of SDFormat at a point of the plane x, y.
fn link(name: &str, x: f64, y: f64) -> String {
    format!(
        "<link name='{name}'><pose>{x} {y} 0 0 0 0</pose><inertial><mass>1</mass><inertia>\
         <ixx>0.01</ixx><iyy>0.01</iyy><izz>0.01</izz></inertia></inertial></link>\n"
    )
}

/// A joint at the child's origin or at `at` in its frame.
fn joint(name: &str, kind: &str, parent: &str, child: &str, rest: &str) -> String {
    format!(
        "<joint name='{name}' type='{kind}'><parent>{parent}</parent><child>{child}</child>{rest}</joint>\n"
    )
}

const HINGE: &str = "<axis><xyz>0 0 1</xyz></axis>";

fn hinge(name: &str, parent: &str, child: &str, at: [f64; 2]) -> String {
    let pose = format!("<pose>{} {} 0 0 0 0</pose>{HINGE}", at[0], at[1]);
    joint(name, "revolute", parent, child, &pose)
}

fn model(parts: &[String]) -> Robot {
    read(&format!("<sdf version='1.9'><model name='m'>\n{}</model></sdf>", parts.concat()))
}

/// Carrier at the joint axis B, motor axis A at x = −0.3; crank and rocker 0.1 upright, the rod between their tips.
fn four_bar_links() -> Vec<String> {
    vec![
        link("carrier", 0.0, 0.0),
        link("crank", -0.3, 0.0),
        link("rod", -0.3, 0.1),
        link("child", 0.0, 0.0),
    ]
}

fn four_bar_joints() -> Vec<String> {
    vec![
        hinge("motor", "carrier", "crank", [0.0, 0.0]),
        hinge("upper", "crank", "rod", [0.0, 0.0]),
        hinge("joint", "carrier", "child", [0.0, 0.0]),
        hinge("closing", "rod", "child", [0.0, 0.1]),
    ]
}

#[test]
fn a_link_with_two_parents_closes_a_loop_and_its_lengths_are_the_pins_distances() {
    let robot = model(&[four_bar_links(), four_bar_joints()].concat());
    let found = &loops(&robot)[0];
    let bars = found.four_bar.as_ref().unwrap().bars;
    for (length, drawn) in
        [(bars.ground, 0.3), (bars.crank, 0.1), (bars.coupler, 0.3), (bars.rocker, 0.1)]
    {
        assert!((length - drawn).abs() < 1e-14, "{bars:?}");
    }
    assert_eq!(found.name, "closing");
    assert_eq!(found.nature.unwrap().kind, Kind::Parallelogram);
    assert_eq!(found.reach.as_ref().unwrap().ended_by, EndedBy::TransmissionAngle);
    // No rotor is given, and crank and rod alone weigh too much beside this child.
    let check = &found.judged.as_ref().unwrap().check;
    assert_eq!(check.verdict, Verdict::NotEquivalent);
    assert!(check.reason.contains("crank and rod alone"), "{}", check.reason);
}

#[test]
fn the_order_of_joints_in_the_file_changes_the_name_and_nothing_else() {
    let bars = |robot: &Robot| loops(robot)[0].four_bar.as_ref().unwrap().bars;
    let plain = bars(&model(&[four_bar_links(), four_bar_joints()].concat()));
    let mut joints = four_bar_joints();
    joints.reverse();
    let turned = model(&[four_bar_links(), joints].concat());
    let other = bars(&turned);
    assert!(
        (plain.ground - other.ground).abs() < 1e-14 && (plain.rocker - other.rocker).abs() < 1e-14
    );
    assert_eq!(loops(&turned)[0].name, "motor");
}

#[test]
fn a_file_without_a_loop_has_none() {
    let joints = four_bar_joints();
    assert!(loops(&model(&[four_bar_links(), joints[..3].to_vec()].concat())).is_empty());
}

#[test]
fn a_five_bar_is_said_to_be_one() {
    let mut parts = four_bar_links();
    parts.push(link("second_rod", -0.1, 0.15));
    parts.extend([
        hinge("motor", "carrier", "crank", [0.0, 0.0]),
        hinge("upper", "crank", "rod", [0.0, 0.0]),
        hinge("middle", "rod", "second_rod", [0.0, 0.0]),
        hinge("joint", "carrier", "child", [0.0, 0.0]),
        hinge("closing", "second_rod", "child", [0.0, 0.1]),
    ]);
    let found = &loops(&model(&parts))[0];
    assert_eq!(codes(found), ["five_bar"]);
    assert!(found.four_bar.is_none() && found.judged.is_none());
}

#[test]
fn a_slider_is_said_to_be_one() {
    let mut joints = four_bar_joints();
    joints[1] = joint("upper", "prismatic", "crank", "rod", "<axis><xyz>1 0 0</xyz></axis>");
    let found = &loops(&model(&[four_bar_links(), joints].concat()))[0];
    // Its motor turns a hinge, and the slide follows.
    assert_eq!(codes(found), ["slider", "motor_elsewhere"]);
    assert!(found.check().is_none());
}

#[test]
fn a_tilted_axis_is_reported_with_its_angle_and_not_judged() {
    let mut joints = four_bar_joints();
    let tilt = 4.5_f64.to_radians();
    let axis = format!("<axis><xyz>{} 0 {}</xyz></axis>", tilt.sin(), tilt.cos());
    joints[1] = joint("upper", "revolute", "crank", "rod", &axis);
    let found = &loops(&model(&[four_bar_links(), joints].concat()))[0];
    // On hinges alone such axes lock.
    assert_eq!(codes(found), ["spatial", "over_constrained"]);
    assert!(found.obstacles[0].message.contains("4.50 deg"), "{}", found.obstacles[0].message);
    let pin = &found.four_bar.as_ref().unwrap().pins[1];
    assert!((pin.tilt.unwrap() - tilt).abs() < 1e-12);
}

#[test]
fn what_the_coupler_bears_is_no_drive_of_one_joint() {
    let mut parts = [four_bar_links(), four_bar_joints()].concat();
    parts.push(link("tool", -0.2, 0.1));
    parts.push(hinge("wrist", "rod", "tool", [0.0, 0.0]));
    assert_eq!(codes(&loops(&model(&parts))[0]), ["coupler_bears"]);
}

#[test]
fn a_spring_in_a_loop_of_five_is_held_and_named() {
    let mut parts = four_bar_links();
    parts.push(link("leaf", 0.0, 0.1));
    let spring = "<axis><xyz>0 0 1</xyz><dynamics><spring_stiffness>1500</spring_stiffness></dynamics></axis>";
    parts.extend(four_bar_joints()[..3].to_vec());
    parts.push(joint("spring", "revolute", "child", "leaf", spring));
    parts.push(hinge("closing", "rod", "leaf", [0.0, 0.0]));
    let found = &loops(&model(&parts))[0];
    assert_eq!(codes(found), ["spring"]);
    assert!((found.four_bar.as_ref().unwrap().bars.rocker - 0.1).abs() < 1e-14);
}

#[test]
fn two_loops_that_share_a_joint_say_so() {
    let mut parts = [four_bar_links(), four_bar_joints()].concat();
    parts.extend([
        link("second_crank", -0.3, 0.0),
        link("second_rod", -0.3, -0.1),
        hinge("second_motor", "carrier", "second_crank", [0.0, 0.0]),
        hinge("second_upper", "second_crank", "second_rod", [0.0, 0.0]),
        hinge("second_closing", "second_rod", "child", [0.0, -0.1]),
    ]);
    let found = loops(&model(&parts));
    assert_eq!(found.len(), 2);
    assert!(found.iter().all(|one| codes(one).contains(&"shares_joints")));
}

#[test]
fn a_motor_seen_from_the_other_side_has_the_other_sign() {
    let mut joints = four_bar_joints();
    joints[0] = joint("motor", "revolute", "carrier", "crank", "<axis><xyz>0 0 -1</xyz></axis>");
    let found = &loops(&model(&[four_bar_links(), joints].concat()))[0];
    assert_eq!(found.four_bar.as_ref().unwrap().motor_sign().to_bits(), (-1.0_f64).to_bits());
    assert_eq!(
        found.judged.as_ref().unwrap().design.robots[0].motor_sign.to_bits(),
        (-1.0_f64).to_bits()
    );
}

#[test]
fn joints_written_the_other_way_round_are_the_same_linkage() {
    let mut joints = four_bar_joints();
    // The driven joint's parent is the child: its axis turned over keeps its sense.
    joints[2] = joint("joint", "revolute", "child", "carrier", "<axis><xyz>0 0 -1</xyz></axis>");
    let plain = model(&[four_bar_links(), four_bar_joints()].concat());
    let turned = model(&[four_bar_links(), joints].concat());
    let (a, b) = (&loops(&plain)[0], &loops(&turned)[0]);
    let (a, b) = (a.four_bar.as_ref().unwrap(), b.four_bar.as_ref().unwrap());
    assert!((a.axis - b.axis).norm() < 1e-14);
    assert!((a.drawn[0] - b.drawn[0]).abs() < 1e-14 && (a.drawn[1] - b.drawn[1]).abs() < 1e-14);
}

#[test]
fn limits_of_both_joints_make_the_stroke() {
    let limited = |name: &str, child: &str, low: f64, high: f64| {
        let axis = format!(
            "<axis><xyz>0 0 1</xyz><limit><lower>{low}</lower><upper>{high}</upper></limit></axis>"
        );
        joint(name, "revolute", "carrier", child, &axis)
    };
    let mut joints = four_bar_joints();
    joints[0] = limited("motor", "crank", -0.5, 0.9);
    joints[2] = limited("joint", "child", -0.8, 0.4);
    let found = &loops(&model(&[four_bar_links(), joints].concat()))[0];
    let reach = found.reach.as_ref().unwrap();
    assert!(
        (reach.joint[0] + 0.5).abs() < 1e-9 && (reach.joint[1] - 0.4).abs() < 1e-9,
        "{reach:?}"
    );
    let [low, high] = found.judged.as_ref().unwrap().check.stroke.joint;
    assert!((low + 0.5).abs() < 1e-9 && (high - 0.4).abs() < 1e-9);
}

#[test]
fn the_design_of_a_loop_reads_back_as_the_same_linkage() {
    let robot = model(&[four_bar_links(), four_bar_joints()].concat());
    let found = &loops(&robot)[0];
    let text = &found.judged.as_ref().unwrap().text;
    let (design, warnings) = unloop::design::parse("loop.toml", text).unwrap();
    assert!(warnings.is_empty());
    assert!((design.geometry.coupler.nominal - 0.3).abs() < 1e-14);
    assert_eq!(design.robots[0].joint, "joint");
}

#[test]
fn a_stated_loop_with_faults_names_each_place() {
    let mut robot = model(&four_bar_links()[..1]);
    let text = "[[loop]]\nname = 'x'\nlinks = ['carier', 'rod']\nat = ['0 mm', '0 mm', '0']\n[[loop]]\nnam = 'y'\n";
    let faults = state_loops(&mut robot, text).unwrap_err();
    let messages: Vec<&str> = faults.iter().map(|fault| fault.message.as_str()).collect();
    assert_eq!(messages, ["the robot has no link \"carier\"", "unknown key `nam`"]);
    assert_eq!(faults[0].help.as_deref(), Some("did you mean \"carrier\"?"));
    assert!(robot.closures.is_empty());
}

#[test]
fn joints_that_mimic_are_pairs() {
    let robot = read(
        "<robot name='g'><link name='palm'/><link name='a'/><link name='b'/>\
         <joint name='drive' type='continuous'><parent link='palm'/><child link='a'/></joint>\
         <joint name='finger' type='continuous'><parent link='palm'/><child link='b'/>\
         <mimic joint='drive' multiplier='-0.5'/></joint></robot>",
    );
    let pairs = pairs(&robot);
    assert_eq!(pairs.len(), 1);
    assert_eq!((pairs[0].follower.as_str(), pairs[0].leader.as_str()), ("finger", "drive"));
    assert!((pairs[0].multiplier + 0.5).abs() < 1e-15 && pairs[0].same_parent);
}

fn own(name: &str) -> Robot {
    read(&fs::read_to_string(format!("models/robots/{name}")).unwrap())
}

fn only(robot: &Robot) -> FoundLoop {
    let mut found = find(robot, FindOptions::new(Preset::Training));
    assert_eq!(found.len(), 1);
    found.remove(0)
}

fn lengths(one: &FoundLoop) -> [f64; 4] {
    let bars = one.four_bar.as_ref().unwrap().bars;
    [bars.ground, bars.crank, bars.coupler, bars.rocker]
}

fn shown(robot: &Robot) -> String {
    unloop::report::find_text(
        &findings(robot, FindOptions::new(Preset::Training)),
        unloop::report::Detail::Full,
        unloop::report::Style::PLAIN,
    )
}

#[test]
fn a_pad_on_the_rod_does_not_ride_on_the_foot() {
    let one = only(&own("pad_on_rod.xml"));
    assert_eq!(codes(&one), ["coupler_bears"]);
    assert!(one.obstacles[0].message.contains("pad"), "{}", one.obstacles[0].message);
    assert!(one.judged.is_none());
}

#[test]
fn a_finger_that_is_the_coupler_is_a_parallel_jaw_and_is_not_judged_as_a_joint() {
    let one = only(&own("parallel_jaw.xml"));
    assert_eq!(codes(&one), [""; 0]);
    assert!(one.remarks.iter().any(|remark| remark.code == "parallel_jaw"));
    assert!(one.jaw.is_some() && one.judged.as_ref().unwrap().check.is_of_pad());
    assert_eq!(one.motor.as_deref(), Some("drive"));
}

#[test]
fn a_foot_whose_own_joint_is_driven_stays_and_crank_and_rod_are_what_may_go() {
    let robot = own("driven_foot.xml");
    let one = only(&robot);
    let found = one.four_bar.as_ref().unwrap();
    assert_eq!(one.parts.as_ref().unwrap()[3], "foot");
    assert_eq!(found.roles.seat, MotorSeat::Child);
    assert_eq!(found.motor(), robot.joint_named("ankle"));
    assert_eq!(found.crank_joint(), robot.joint_named("ankle_motor"));
    let judged = one.judged.as_ref().unwrap();
    assert_eq!(judged.check.verdict, Verdict::Equivalent);
    assert!(!judged.text.contains("[actuator]"), "{}", judged.text);
    assert!(!shown(&robot).contains("1000000"));
}

#[test]
fn told_roles_overrule_what_the_file_says() {
    let robot = own("driven_foot.xml");
    let (motors, children) = (["ankle_motor".to_owned()], ["foot".to_owned()]);
    let options = FindOptions { motors: &motors, children: &children, preset: Preset::Training };
    let one = &find(&robot, options)[0];
    assert_eq!(one.four_bar.as_ref().unwrap().roles.seat, MotorSeat::Crank);
    assert_eq!(one.motor.as_deref(), Some("ankle_motor"));
    let children = ["rod".to_owned()];
    let one = &find(&robot, FindOptions { children: &children, ..options })[0];
    assert_eq!(one.four_bar.as_ref().unwrap().roles.jaw_told_by.as_deref(), Some("as told"));
    assert!(one.jaw.is_some());
}

#[test]
fn a_spring_of_the_loop_is_told_with_its_stiffness_and_its_rest() {
    for (file, joint) in [("sprung_motor.xml", "ankle_motor"), ("sprung_rod.xml", "rod_upper")] {
        let one = only(&own(file));
        let springs = &one.four_bar.as_ref().unwrap().springs;
        let [spring] = springs.as_slice() else { panic!("{file}: {springs:?}") };
        assert_eq!(spring.name, joint);
        assert!((spring.stiffness - 50.0).abs() < 1e-12 && (spring.rests_at - 0.5).abs() < 1e-12);
        assert!(one.remarks.iter().any(|remark| remark.code == "spring"), "{file}");
    }
}

/// The leg with its loop closed, and more written into its sections.
fn leg_with(tendon: &str, equality: &str, actuator: &str) -> FoundLoop {
    let leg = fs::read_to_string("models/robots/leg.xml").unwrap();
    let leg =
        leg.replace("<equality>", &format!("<tendon>{tendon}</tendon>\n<equality>{equality}"));
    only(&read(&leg.replace("<actuator>", &format!("<actuator>{actuator}"))))
}

#[test]
fn a_tendon_that_springs_brakes_or_stops_a_joint_of_the_loop_is_no_equivalent_joint() {
    let on = |joint: &str, acts: &str| {
        format!("<fixed name='band' {acts}><joint joint='{joint}' coef='1'/></fixed>")
    };
    for acts in
        ["stiffness='30'", "damping='2'", "frictionloss='1'", "armature='0.1'", "range='0 1'"]
    {
        for joint in ["ankle_motor", "rod_upper", "ankle"] {
            let one = leg_with(&on(joint, acts), "", "");
            assert_eq!(codes(&one), ["tendon"], "{joint} {acts}: {:?}", one.obstacles);
            let told = &one.obstacles[0].message;
            let by = acts.split('=').next().unwrap();
            assert!(told.contains("\"band\" (line ") && told.contains(joint), "{told}");
            assert!(told.contains(by) && one.check().is_none(), "{told}");
        }
    }
    // A band from shank to foot, by its path; one from the thigh to the shank leaves the ankle alone.
    let band = |from: &str, to: &str| {
        let leg = fs::read_to_string("models/robots/leg.xml").unwrap();
        let site = |text: String, body: &str, name: &str| {
            let (before, after) = text.split_once(&format!("<body name=\"{body}\"")).unwrap();
            let (tag, rest) = after.split_once('>').unwrap();
            format!("{before}<body name=\"{body}\"{tag}><site name='{name}'/>{rest}")
        };
        let path = "<site site='from'/><site site='to'/>";
        let tendon = format!("<tendon><spatial stiffness='30'>{path}</spatial></tendon><equality>");
        let text = site(site(leg, from, "from"), to, "to").replace("<equality>", &tendon);
        only(&read(&text))
    };
    assert_eq!(codes(&band("shank", "foot")), ["tendon"]);
    let elsewhere = band("thigh", "shank");
    assert_eq!((codes(&elsewhere), elsewhere.check().is_some()), (vec![], true));
}

#[test]
fn springs_and_dampers_whose_figures_are_not_read_are_no_equivalent_joint() {
    let leg = fs::read_to_string("models/robots/leg.xml").unwrap();
    for acts in ["springdamper=\"0.1 1\"", "stiffness=\"0 0 5\"", "damping=\"0.1 0.2\""] {
        for joint in ["ankle_motor", "rod_upper", "ankle"] {
            let name = format!("name=\"{joint}\" axis=");
            assert!(leg.contains(&name));
            let text = leg.replace(&name, &format!("{acts} {name}"));
            // The element's own damping would be a second one.
            let text = if acts.starts_with("damping") {
                text.replace(" damping=\"0.02\"", "").replace(" damping=\"0.01\"", "")
            } else {
                text
            };
            let one = only(&read(&text));
            assert_eq!(codes(&one), ["unread_figures"], "{joint} {acts}: {:?}", one.obstacles);
            assert!(one.obstacles[0].message.contains(joint) && one.check().is_none());
        }
    }
}

#[test]
fn the_stops_of_the_rods_own_pins_end_the_stroke() {
    let leg = fs::read_to_string("models/robots/leg.xml").unwrap();
    let pin = "name=\"rod_upper\" axis=\"0 1 0\"";
    // In a parallelogram the rod turns against the crank as far back as the joint turns on.
    for (axis, range, wanted) in
        [("0 1 0", "-0.1 0.2", [-0.2, 0.1]), ("0 -1 0", "-0.1 0.2", [-0.1, 0.2])]
    {
        let stopped = format!("name=\"rod_upper\" axis=\"{axis}\" range=\"{range}\"");
        let one = only(&read(&leg.replace(pin, &stopped)));
        let found = one.reach.as_ref().unwrap();
        for (end, wanted) in found.joint.into_iter().zip(wanted) {
            assert!((end - wanted).abs() < 1e-6, "{axis}: {:?}", found.joint);
        }
        assert_eq!(found.ended_by, EndedBy::Limits);
    }
}

#[test]
fn what_a_mesh_weighs_is_not_taken_for_nothing_in_the_verdict() {
    let leg = fs::read_to_string("models/robots/leg.xml").unwrap();
    let mesh = "<asset><mesh name=\"m\" vertex=\"0 0 0 1 0 0 0 1 0 0 0 1\"/></asset><worldbody>";
    let rod = "<inertial pos=\"0 0 -0.15\" mass=\"0.09\" diaginertia=\"7.5e-4 7.5e-4 3e-6\"/>";
    assert!(leg.contains(rod));
    let text = leg.replace("<worldbody>", mesh).replace(
        rod,
        "<geom type=\"mesh\" mesh=\"m\" mass=\"1\" contype=\"0\" conaffinity=\"0\"/>",
    );
    let one = only(&read(&text));
    let told: Vec<&str> = one.remarks.iter().map(|remark| remark.message.as_str()).collect();
    assert!(told.iter().any(|why| why.contains("\"rod\" weighs is not read")), "{told:?}");
    let criteria = &one.check().unwrap().criteria;
    let inertia = criteria.iter().find(|one| one.criterion == Criterion::Inertia).unwrap();
    assert_eq!(inertia.outcome, Outcome::NotAssessed);
}

#[test]
fn a_tendon_that_only_measures_or_pulls_elsewhere_keeps_the_verdict() {
    let measures = "<fixed name='length'><joint joint='ankle' coef='1'/></fixed>";
    let elsewhere = "<fixed name='band' stiffness='30'><joint joint='knee' coef='1'/></fixed>";
    let bare = leg_with("", "", "");
    for tendon in [measures, elsewhere] {
        let one = leg_with(tendon, "", "");
        assert_eq!(codes(&one), [""; 0], "{tendon}");
        assert_eq!(one.check().map(|c| c.verdict), bare.check().map(|c| c.verdict));
    }
}

#[test]
fn an_equality_that_holds_a_joint_still_is_no_loop_that_moves() {
    let held = "<joint joint1='ankle_motor' polycoef='0.2 0 0 0 0'/>";
    let one = leg_with("", held, "");
    assert_eq!(codes(&one), ["held_still"]);
    assert!(one.check().is_none() && one.obstacles[0].message.contains("ankle_motor"));
    let off = leg_with("", &held.replace("polycoef", "active='false' polycoef"), "");
    assert!(off.check().is_some(), "{:?}", off.obstacles);
}

#[test]
fn an_equality_of_tendons_over_the_loop_is_named_with_its_joint() {
    let tendons = "<fixed name='a'><joint joint='ankle' coef='1'/></fixed>\
                   <fixed name='b'><joint joint='knee' coef='1'/></fixed>";
    let one = leg_with(tendons, "<tendon name='tie' tendon1='b' tendon2='a'/>", "");
    assert_eq!(codes(&one), ["tendon"]);
    assert!(one.obstacles[0].message.contains("\"tie\""), "{:?}", one.obstacles);
}

#[test]
fn an_adaptive_finger_is_measured_with_its_elbow_at_the_stop_that_the_spring_holds_it_at() {
    let one = only(&own("adaptive_finger.xml"));
    for (found, wanted) in lengths(&one).into_iter().zip([0.022, 0.048, 0.022, 0.048]) {
        assert!((found - wanted).abs() < 1e-12, "{:?}", lengths(&one));
    }
    assert_eq!(one.four_bar.as_ref().unwrap().held[0].name, "elbow");
    assert_eq!(codes(&one), ["held_at_stop"]);
    assert!(one.jaw.is_some() && one.judged.as_ref().unwrap().check.is_of_pad());
}

/// By hand: the elbow at 0.2 rad puts the lug at (0.03, 0.01) + R(0.2) (0.018, −0.01), 49.7713 mm from the drive's axis.
#[test]
fn an_elbow_drawn_off_its_stop_is_measured_at_the_stop() {
    let text = fs::read_to_string("models/robots/adaptive_finger.xml").unwrap();
    let one = only(&read(&text.replace("range=\"-1.5 0\"", "range=\"-1.5 0.2\"")));
    let held = &one.four_bar.as_ref().unwrap().held;
    assert!((held[0].turned - 0.2).abs() < 1e-12, "{held:?}");
    assert!((lengths(&one)[1] - 0.049_771_3).abs() < 1e-7, "{:?}", lengths(&one));
}

#[test]
fn a_crank_without_stops_is_not_taken_past_a_dead_point() {
    let text = fs::read_to_string("models/robots/turning_crank.xml").unwrap();
    let free = only(&read(&text));
    assert_eq!(free.reach.as_ref().unwrap().ended_by, EndedBy::TransmissionAngle);
    assert!(free.ratio.unwrap().iter().all(|ratio| ratio.is_finite()), "{:?}", free.ratio);
    let wide = text.replace("name=\"ankle\" axis", "name=\"ankle\" range=\"-3 3\" axis");
    let wide = only(&read(&wide));
    let reach = wide.reach.as_ref().unwrap();
    assert_eq!(reach.ended_by, EndedBy::DeadPoint);
    assert!(reach.motor[1] - reach.motor[0] < std::f64::consts::TAU, "{reach:?}");
}

#[test]
fn a_hand_that_pulls_a_foot_by_a_weld_is_no_loop() {
    assert_eq!(only(&own("mocap_hand.xml")).judged.unwrap().check.verdict, Verdict::Equivalent);
}

#[test]
fn two_tied_fingers_are_one_mechanism_with_one_motor() {
    let robot = own("two_jaws.xml");
    let found = findings(&robot, FindOptions::new(Preset::Training));
    for one in &found.loops {
        assert_eq!(one.mechanism.as_ref().unwrap().loops, ["idle_l", "idle"]);
        assert_eq!(codes(one), [""; 0]);
        assert!(one.jaw.is_some());
    }
    assert_eq!(found.loops[0].tied_to.as_deref(), Some("drive"));
    assert!(!found.pairs[0].same_parent, "both are cranks of loops that were found");
}

#[test]
fn a_tendon_makes_the_joint_that_it_pulls_the_motors_however_heavy_the_crank() {
    let one = only(&own("tendon_ankle.xml"));
    assert_eq!(one.motor.as_deref(), Some("ankle_motor"));
    assert_eq!(one.parts.unwrap()[3], "foot");
}

#[test]
fn a_spatial_tendon_drives_the_joint_between_its_sites() {
    let text = fs::read_to_string("models/robots/tendon_ankle.xml").unwrap();
    let text = text
        .replace(
            "<fixed name=\"t\"><joint joint=\"ankle_motor\" coef=\"1\"/></fixed>",
            "<spatial name=\"t\"><site site=\"hip\"/><site site=\"horn\"/></spatial>",
        )
        .replace("<body name=\"crank\"", "<site name=\"hip\"/><body name=\"crank\"")
        .replace("<body name=\"rod\"", "<site name=\"horn\" pos=\"0 0.02 0\"/><body name=\"rod\"");
    let one = only(&read(&text));
    assert_eq!(one.motor.as_deref(), Some("ankle_motor"));
    assert_eq!(
        one.parts.unwrap()[3],
        "foot",
        "a site on the crank makes no child of it beside the sole"
    );
}

#[test]
fn a_pose_drawn_outside_the_limits_is_left_and_the_one_that_is_used_is_on_the_screen() {
    let robot = own("drawn_outside_limits.xml");
    let one = only(&robot);
    assert_eq!(one.reach.as_ref().unwrap().zero_pose, ZeroPose::FlatOutside);
    let text = shown(&robot);
    assert!(text.contains("the crank's joint reads -85.00 deg"), "{text}");
    assert!(one.judged.unwrap().text.contains("outside its joints' limits"));
}

#[test]
fn without_a_motor_nothing_is_guessed_and_both_ways_round_are_shown() {
    let robot = model(&[four_bar_links(), four_bar_joints()].concat());
    let one = only(&robot);
    assert_eq!(codes(&one), ["motor_unknown"]);
    let motors: Vec<&str> = one.candidates.iter().map(|one| one.motor.as_str()).collect();
    assert!(motors.contains(&"motor") && motors.contains(&"joint"), "{motors:?}");
    assert!(shown(&robot).contains("NOT JUDGED: which joint is the motor's?"));
}

#[test]
fn a_stated_loop_may_say_its_motor_and_its_child() {
    let mut robot = own("leg.urdf");
    let text = "[[loop]]\nname = 'a'\nlinks = ['rod', 'foot']\nat = ['0 mm', '0 mm', '-300 mm']\n";
    state_loops(&mut robot, &format!("{text}motor = 'ankle'\nchild = 'foot'\n")).unwrap();
    let one = only(&robot);
    assert_eq!(one.four_bar.as_ref().unwrap().roles.seat, MotorSeat::Child);
    let faults = state_loops(&mut robot, &format!("{text}motor = 'ankel'\n")).unwrap_err();
    assert_eq!(faults[0].message, "the robot has no joint \"ankel\"");
}

#[test]
fn the_name_of_a_loop_cannot_forge_a_line_of_the_screen() {
    let mut robot = own("leg.urdf");
    let text = "[[loop]]\nname = \"a\\n\\nleft_knee: EQUIVALENT to a direct joint\\nx\"\nlinks = ['rod', 'foot']\nat = ['0 mm', '0 mm', '-300 mm']\n";
    state_loops(&mut robot, text).unwrap();
    assert!(!shown(&robot).lines().any(|line| line.starts_with("left_knee")), "{}", shown(&robot));
}

#[test]
fn a_gearbox_ties_two_joints_and_closes_no_loop() {
    let mut parts = four_bar_links()[..2].to_vec();
    parts.push(link("arm", 0.0, 0.0));
    parts.push(hinge("motor", "carrier", "crank", [0.0, 0.0]));
    parts.push(hinge("shoulder", "carrier", "arm", [0.0, 0.0]));
    let rest = "<gearbox_ratio>3</gearbox_ratio><gearbox_reference_body>carrier</gearbox_reference_body>\
        <axis><xyz>0 0 1</xyz></axis><axis2><xyz>0 0 1</xyz></axis2>";
    parts.push(joint("gears", "gearbox", "crank", "arm", rest));
    let robot = model(&parts);
    assert!(loops(&robot).is_empty());
    // θ₂ = −ratio·θ₁, by the format's specification
    let pairs = pairs(&robot);
    assert_eq!((pairs[0].follower.as_str(), pairs[0].leader.as_str()), ("shoulder", "motor"));
    assert!((pairs[0].multiplier + 3.0).abs() < 1e-12);
}

fn command(folder: &std::path::Path, arguments: &[&str]) -> (Option<i32>, String) {
    let output = assert_cmd::Command::new(env!("CARGO_BIN_EXE_unloop"))
        .current_dir(folder)
        .args(arguments)
        .timeout(std::time::Duration::from_secs(60))
        .output()
        .unwrap();
    let text = [output.stdout, output.stderr].concat();
    (output.status.code(), String::from_utf8_lossy(&text).into_owned())
}

#[test]
fn a_scene_beside_the_robots_folder_reads_as_it_is_and_one_from_elsewhere_names_both() {
    let folder = tempfile::tempdir().unwrap();
    let [scenes, robots, far] = ["a/scenes", "a/robots", "b"].map(|name| folder.path().join(name));
    [&scenes, &robots, &far].into_iter().for_each(|path| fs::create_dir_all(path).unwrap());
    let leg = fs::read_to_string("models/robots/leg.xml").unwrap();
    [&robots, &far].into_iter().for_each(|path| fs::write(path.join("leg.xml"), &leg).unwrap());
    let scene = |file: &str| format!("<mujoco><include file='{file}'/></mujoco>");
    fs::write(scenes.join("near.xml"), scene("../robots/leg.xml")).unwrap();
    fs::write(scenes.join("far.xml"), scene("../../b/leg.xml")).unwrap();
    let (status, text) = command(&scenes, &["find", "near.xml"]);
    assert!(status == Some(0) && text.contains("1 closed loop"), "{text}");
    let (status, text) = command(&scenes, &["find", "far.xml"]);
    assert_eq!(status, Some(2));
    assert!(text.contains("b/leg.xml lies outside") && text.contains("--include-root"), "{text}");
    let (status, _) = command(&scenes, &["find", "far.xml", "--include-root", "../../b"]);
    assert_eq!(status, Some(0));
}

#[cfg(unix)]
#[test]
fn a_file_that_never_ends_is_refused_before_it_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = folder.path().join("pipe.xml");
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    fs::write(folder.path().join("leg.xml"), "<mujoco><include file='pipe.xml'/></mujoco>")
        .unwrap();
    let (status, text) = command(folder.path(), &["find", "leg.xml"]);
    assert!(status == Some(2) && text.contains("it is no plain file"), "{text}");
    fs::copy("models/robots/leg.urdf", folder.path().join("leg.urdf")).unwrap();
    let (status, text) = command(folder.path(), &["find", "leg.urdf", "--loops", "/dev/zero"]);
    assert!(status == Some(2) && text.contains("it is no plain file"), "{text}");
}

/// The biped of a public package (`cassie_v2.sdf`, example-robot-data 6.0.0): two ankles 55.00/350.05/55.00/350.05 mm
/// and two knees of about 120/500/120/500 mm with one axis tilted by 4.5 deg and springs in the loop.
#[test]
fn the_bipeds_four_loops_come_with_the_engines() {
    let text = fs::read_to_string(venv::package_file("cassie_v2.sdf")).unwrap();
    let found = loops(&read(&text));
    let names: Vec<&str> = found.iter().map(|one| one.name.as_str()).collect();
    assert_eq!(
        names,
        [
            "right-achilles-spring-joint",
            "right-plantar-foot-joint",
            "left-achilles-spring-joint",
            "left-plantar-foot-joint"
        ]
    );
    for one in &found {
        let bars = one.four_bar.as_ref().unwrap().bars;
        let lengths = [bars.ground, bars.crank, bars.coupler, bars.rocker].map(|x| x * 1e3);
        let (wanted, within) = if one.name.contains("plantar") {
            assert!(one.obstacles.is_empty());
            // The file gives no rotor: crank and rod alone are judged, 28 % against 5 %.
            let check = &one.judged.as_ref().unwrap().check;
            assert_eq!(check.verdict, Verdict::NotEquivalent);
            assert!(check.reason.contains("crank and rod alone"), "{}", check.reason);
            ([350.05, 55.0, 350.05, 55.0], 0.01)
        } else {
            let codes = codes(one);
            assert!(
                codes.contains(&"spring")
                    && codes.contains(&"spatial")
                    && codes.contains(&"coupler_bears")
            );
            let tilt = one
                .four_bar
                .as_ref()
                .unwrap()
                .pins
                .iter()
                .filter_map(|pin| pin.tilt)
                .fold(0.0, f64::max);
            assert!((tilt.to_degrees() - 4.48).abs() < 0.02, "{}", tilt.to_degrees());
            ([120.0, 500.0, 120.0, 500.0], 0.05)
        };
        for (length, wanted) in lengths.iter().zip(wanted) {
            assert!((length - wanted).abs() < within, "{}: {lengths:?}", one.name);
        }
    }
}

fn robot_files(folder: &std::path::Path, found: &mut Vec<std::path::PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            robot_files(&path, found);
        } else if path.extension().is_some_and(|e| e == "urdf" || e == "sdf" || e == "xml") {
            found.push(path);
        }
    }
}

/// Every robot file of the packages (see `tests/engines/requirements.txt`): searched, or refused at a line. The loops
/// that are known to be there are found.
#[test]
fn every_robot_file_that_comes_with_the_engines_is_answered() {
    let lib = venv::ready().join("lib");
    let mut files = Vec::new();
    robot_files(&lib, &mut files);
    let (mut searched, mut with_loops) = (0, std::collections::BTreeMap::new());
    for path in files {
        let bytes = fs::read(&path).unwrap();
        let folder = path.parent().unwrap();
        let includes = &mut |file: &str| fs::read(folder.join(file)).map_err(|e| e.to_string());
        match unloop::robot::read("robot", bytes, includes) {
            Ok(robot) => {
                searched += 1;
                let found = loops(&robot);
                if !found.is_empty() {
                    let name = path.file_name().unwrap().to_str().unwrap().to_owned();
                    with_loops.insert(name, found.len());
                }
            }
            Err(rejected) => assert!(!rejected.diagnostics.is_empty(), "{}", path.display()),
        }
    }
    assert!(searched > 1200, "{searched}");
    // The biped has two ankles and two knees; the gripper two fingers, each with a spring.
    for (name, count) in [("cassie_v2.sdf", 4), ("cassie_reduced.sdf", 4), ("2f85.xml", 2)] {
        assert_eq!(with_loops.get(name), Some(&count), "{with_loops:?}");
    }
}
