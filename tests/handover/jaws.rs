//! Parallel jaws in robot files: pad, opening and grip as found, and the file without its passive rockers beside the closed one.

use super::fold::{PLAIN, model, read};
use crate::venv;

use serde_json::{Value, json};
use unloop::design::{self, OtherFinger, Preset};
use unloop::equivalence::Verdict;
use unloop::handover::Form;
use unloop::handover::find::{FindOptions, FoundLoop, find, findings, state_loops};
use unloop::handover::fold::{FoldFault, FoldOptions, Folded, fold, fold_all};
use unloop::robot::Robot;
use unloop::study;

pub(super) fn loops(robot: &Robot) -> Vec<FoundLoop> {
    find(robot, FindOptions::new(Preset::Training))
}

pub(super) fn named(robot: &Robot, name: &str) -> FoundLoop {
    loops(robot).into_iter().find(|one| one.name == name).unwrap()
}

fn folded(robot: &Robot, options: FoldOptions) -> Result<Folded, Vec<FoldFault>> {
    fold(robot, &named(robot, "right_loop"), options)
}

pub(super) fn why(faults: &[FoldFault]) -> String {
    faults.iter().map(|fault| format!("{fault}\n")).collect()
}

/// Each `from` replaced, which must be there.
pub(super) fn changed(text: &str, pairs: &[(&str, &str)]) -> String {
    pairs.iter().fold(text.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    })
}

#[test]
fn a_gripper_opens_and_grips_as_its_parallelogram_does() {
    let one = named(&read(&model("gripper.xml")), "right_loop");
    let jaw = one.jaw.as_ref().unwrap();
    assert_eq!(jaw.other.as_ref().unwrap().name, "left_loop");
    assert!((jaw.opening.unwrap() - 0.05).abs() < 1e-12 && jaw.pad.fingers > 1.5);
    for (found, wanted) in
        jaw.pad.point.iter().chain(&jaw.pad.closing).zip([-0.01, 0.03, -1.0, 0.0])
    {
        assert!((found - wanted).abs() < 1e-12, "{jaw:?}");
    }
    let finger = one.judged.as_ref().unwrap().check.finger.as_ref().unwrap();
    // W = 50 mm − 2 · 40 mm · sin q, F = 1/(2 · 40 mm · cos q), shift −40 mm (1 − cos q), q = ±0.55
    let (sin, cos) = 0.55_f64.sin_cos();
    for (found, wanted) in [
        (finger.opening, [0.05 - 0.08 * sin, 0.05 + 0.08 * sin]),
        (finger.tilt, [0.0; 2]),
        (finger.shift, [-0.04 * (1.0 - cos), 0.0]),
        (finger.grip, [12.5, 12.5 / cos]),
    ] {
        for (found, wanted) in found.iter().zip(wanted) {
            assert!((found.value - wanted).abs() < 1e-9, "{found:?} {wanted}");
        }
    }
}

#[test]
fn the_design_of_a_jaw_says_what_find_says() {
    for (file, other) in
        [("gripper.xml", OtherFinger::Mirrored), ("parallel_jaw.xml", OtherFinger::None)]
    {
        for one in loops(&read(&model(file))) {
            let judged = one.judged.as_ref().unwrap();
            let (design, _) = design::parse("jaw.toml", &judged.text).unwrap();
            assert_eq!(design.finger.as_ref().unwrap().other, other, "{file}");
            let check = study::check(&design).unwrap();
            assert_eq!(check.verdict, judged.check.verdict, "{file}");
            let [theirs, ours] = [&check, &judged.check]
                .map(|check| serde_json::to_value(check.finger.as_ref().unwrap()).unwrap());
            assert_eq!(theirs, ours, "{file}");
            assert!(theirs["opening_m"]["min"].as_f64().unwrap() >= -1e-12, "{theirs:#}");
        }
    }
}

#[test]
fn one_finger_alone_has_no_opening_and_says_so() {
    let robot = read(&model("parallel_jaw.xml"));
    let one = &loops(&robot)[0];
    let jaw = one.jaw.as_ref().unwrap();
    assert!(jaw.opening.is_none() && jaw.other.is_none() && jaw.pad.fingers < 1.5);
    assert!(jaw.closing_told_by.contains("no other finger"), "{}", jaw.closing_told_by);
    let text = &one.judged.as_ref().unwrap().text;
    assert!(text.contains("other   = \"none\"") && text.contains("put in the real one"), "{text}");
    let found = findings(&robot, FindOptions::new(Preset::Training));
    let shown = unloop::report::find_text(
        &found,
        unloop::report::Detail::Full,
        unloop::report::Style::PLAIN,
    );
    assert!(shown.contains("opening      not told"), "{shown}");
    let found = serde_json::to_value(&found).unwrap();
    assert!(found["loops"][0]["jaw"]["opening_m"].is_null(), "{found:#}");
}

#[test]
fn two_fingers_that_do_not_close_on_each_other_are_no_pair() {
    for one in loops(&read(&model("two_jaws.xml"))) {
        assert!(one.jaw.as_ref().unwrap().other.is_none(), "{}", one.name);
    }
    // Both to the same side: no mirror image.
    let same_way = changed(
        &model("gripper.xml"),
        &[("joint2=\"right_drive\" ", "joint2=\"right_drive\" polycoef=\"0 -1 0 0 0\" ")],
    );
    assert!(named(&read(&same_way), "right_loop").jaw.unwrap().other.is_none());
}

#[test]
fn the_pad_is_what_is_called_so_then_what_reaches_furthest_then_the_mass_centre() {
    let text = model("gripper.xml");
    let told = |text: &str| named(&read(text), "right_loop").jaw.unwrap();
    let by_site = changed(
        &text,
        &[
            ("name=\"right_pad\"", "name=\"right_tip\""),
            (
                "<site name=\"right_lug\"",
                "<site name=\"right_pad\" pos=\"-0.01 0 0.02\"/><site name=\"right_lug\"",
            ),
        ],
    );
    let jaw = told(&by_site);
    assert!(jaw.point_told_by.contains("site \"right_pad\""), "{}", jaw.point_told_by);
    assert!((jaw.pad.point[1] - 0.02).abs() < 1e-12, "{jaw:?}");
    let jaw = told(&changed(&text, &[("name=\"right_pad\"", "name=\"right_tip\"")]));
    assert!(jaw.point_told_by.contains("furthest shape"), "{}", jaw.point_told_by);
    assert!((jaw.pad.point[1] - 0.03).abs() < 1e-12, "{jaw:?}");
    let no_pad = changed(
        &text,
        &[
            (
                "<geom name=\"right_pad\" type=\"box\"",
                "<geom name=\"right_tip\" contype=\"0\" conaffinity=\"0\" type=\"box\"",
            ),
            ("<geom type=\"box\" size=\"0.012 0.008 0.004\" pos=\"0.01 0 0\"/>", ""),
        ],
    );
    let jaw = told(&no_pad);
    assert!(jaw.point_told_by.contains("mass centre"), "{}", jaw.point_told_by);
    assert!((jaw.pad.point[0] - 0.008).abs() < 1e-12, "{jaw:?}");
}

#[test]
fn where_rod_and_foot_both_bear_something_the_user_is_asked_and_the_answer_is_taken() {
    let robot = read(&model("pad_on_rod.xml"));
    let asked = &loops(&robot)[0].obstacles[0];
    assert!(asked.code == "coupler_bears" && asked.message.contains("--child"), "{asked:?}");
    for (child, is_jaw) in [("rod", true), ("foot", false)] {
        let children = [child.to_owned()];
        let options = FindOptions { children: &children, ..FindOptions::new(Preset::Training) };
        let one = &find(&robot, options)[0];
        assert_eq!(one.jaw.is_some(), is_jaw, "{child}");
        assert!(one.obstacles.is_empty() && one.judged.is_some(), "{child}: {:?}", one.obstacles);
    }
}

/// Lines of the parts that stay, with the line that says them in both texts.
#[test]
fn a_folded_gripper_keeps_drivers_fingers_pads_sites_and_sensors_byte_for_byte() {
    let text = model("gripper.xml");
    let robot = read(&text);
    let new = folded(&robot, PLAIN).unwrap();
    for word in ["rocker", "idle", "_loop", "_eye", "_lug", "exclude"] {
        assert!(!new.text.contains(word), "{word}: {}", new.text);
    }
    let goes = ["rocker", "idle", "_loop", "_eye", "_lug"];
    let changes = ["_drive\" axis", "inertial", "qpos"];
    let mut depth = false;
    for line in text.lines() {
        depth |= line.contains("_rocker\" pos");
        let stays = !depth && !goes.iter().chain(&changes).any(|word| line.contains(word));
        assert!(!stays || new.text.contains(line), "{line}");
        depth &= line.trim() != "</body>";
    }
    for (finger, driver) in [("right", "right"), ("left", "left")] {
        let tie = format!(
            "<joint joint1=\"{finger}_finger_pin\" joint2=\"{driver}_drive\" polycoef=\"0 -1 0 0 0\" solref=\"0.002 1\" solimp=\"0.999 0.9999 0.001 0.5 2\"/>"
        );
        assert_eq!(new.text.matches(&tie).count(), 1, "{}", new.text);
    }
    // 0.01 and 0.0005 of the rocker's joint; its spring, at rest where the driver reads 0.
    let driver = "range=\"-0.55 0.55\" armature=\"1.8e-4\" damping=\"0.0105\" stiffness=\"0.02\" springref=\"0\"";
    assert_eq!(new.text.matches(driver).count(), 2, "{}", new.text);
    assert!(new.text.contains("qpos=\"0 -0.4 0.4 -0.4 0.4 \""), "{}", new.text);
    assert!(loops(&read(&new.text)).is_empty());
}

#[test]
fn either_finger_or_all_fold_to_the_same_file() {
    let text = model("gripper.xml");
    let robot = read(&text);
    let right = folded(&robot, PLAIN).unwrap();
    let left = fold(&robot, &named(&robot, "left_loop"), PLAIN).unwrap();
    let sorted = |text: &str| {
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        lines.sort();
        lines
    };
    assert_eq!(sorted(&right.text), sorted(&left.text));
    assert!(right.notes.iter().any(|note| note.contains("left_loop")), "{:?}", right.notes);
    let mut again = |text: &str| Ok(read(text));
    let how = FindOptions::new(Preset::Training);
    let all = fold_all(&robot, how, PLAIN, &|_, _| Vec::new(), &mut again).unwrap();
    assert_eq!(all.text, right.text);
    assert_eq!(all.went.len(), 2);
    assert!(all.stays.is_empty());
}

#[test]
fn the_rockers_mass_is_the_palms_and_its_turning_inertia_the_drivers() {
    let robot = read(&model("gripper.xml"));
    let new = read(&folded(&robot, PLAIN).unwrap().text);
    let of =
        |robot: &Robot, name: &str| robot.links[robot.link_named(name).unwrap()].inertial.unwrap();
    let sum =
        |robot: &Robot| robot.links.iter().filter_map(|l| l.inertial).map(|i| i.mass).sum::<f64>();
    assert!((sum(&robot) - sum(&new)).abs() < 1e-12);
    assert!((of(&new, "wrist").mass - 0.74).abs() < 1e-12);
    let driver = of(&new, "right_driver");
    // first moment 0.03 · 18 mm + 0.02 · 12 mm without mass
    assert!((driver.mass - 0.03).abs() < 1e-12 && (driver.center[2] - 0.026).abs() < 1e-9);
    assert_eq!(of(&new, "right_finger"), of(&robot, "right_finger"));
}

#[test]
fn what_speaks_of_the_rocker_refuses_the_fold_with_its_line() {
    let text = model("gripper.xml");
    for (from, to, named) in [
        (
            "<jointpos name=\"drive_angle\"",
            "<jointpos name=\"idle_angle\" joint=\"left_idle\"/><jointpos name=\"drive_angle\"",
            "left_idle",
        ),
        ("<site name=\"right_eye\"", "<camera name=\"eye\"/><site name=\"right_eye\"", "camera"),
        (
            "<sensor>",
            "<tendon><fixed name=\"t\"><joint joint=\"left_idle\" coef=\"1\"/></fixed></tendon>\n<sensor>",
            "left_idle",
        ),
    ] {
        let robot = read(&changed(&text, &[(from, to)]));
        let faults = match folded(&robot, PLAIN) {
            Ok(new) => panic!("{named}: {}", new.text),
            Err(faults) => faults,
        };
        assert!(why(&faults).contains(named), "{named}: {}", why(&faults));
        assert!(faults.iter().all(|fault| fault.diagnostic.place.is_some()), "{named}");
    }
}

#[test]
fn what_has_no_meaning_for_a_jaw_is_refused_with_a_word() {
    let robot = read(&model("gripper.xml"));
    for (options, word) in [
        (FoldOptions { model: Form::Coupled, ..PLAIN }, "the coupler itself carries the pad"),
        (FoldOptions { keep_visuals: true, ..PLAIN }, "--keep-visuals"),
    ] {
        let faults = folded(&robot, options).unwrap_err();
        let help = faults[0].diagnostic.help.clone().unwrap_or_default();
        assert!(format!("{}{help}", why(&faults)).contains(word), "{}", why(&faults));
    }
}

#[test]
fn a_finger_that_the_file_hangs_on_the_rocker_stays_on_the_driver() {
    // The loop closed at the driver's pin: finger on the rocker.
    let text = r#"<mujoco><compiler angle="radian"/><worldbody><body name="palm">
<inertial pos="0 0 0" mass="0.7" diaginertia="1e-3 1e-3 1e-3"/>
<body name="driver" pos="0.035 0 0.02"><joint name="drive" axis="0 -1 0" range="-0.5 0.5"/>
<inertial pos="0 0 0.018" mass="0.03" diaginertia="9e-6 9.5e-6 3e-6"/><site name="lug" pos="0 0 0.04"/></body>
<body name="rocker" pos="0.055 0 0.02"><joint name="idle" axis="0 -1 0"/>
<inertial pos="0 0 0.012" mass="0.02" diaginertia="4e-6 4.2e-6 1e-6"/>
<body name="finger" pos="0 0 0.04"><joint name="pin" axis="0 -1 0"/>
<inertial pos="-0.012 0 0.015" mass="0.04" diaginertia="1.4e-5 1.5e-5 4e-6"/>
<geom name="pad" type="box" size="0.003 0.01 0.012" pos="-0.027 0 0.03"/><site name="eye" pos="-0.02 0 0"/></body></body>
</body></worldbody><equality><connect name="loop" site1="lug" site2="eye"/></equality>
<actuator><motor name="m" joint="drive"/></actuator></mujoco>"#;
    let robot = read(text);
    let one = &loops(&robot)[0];
    assert!(one.jaw.is_some() && one.motor.as_deref() == Some("drive"));
    let new = fold(&robot, one, FoldOptions { anyway: true, ..PLAIN }).unwrap().text;
    let hung = read(&new);
    let joint = &hung.joints[hung.joint_named("pin").unwrap()];
    assert_eq!(hung.links[joint.parent].name, "driver", "{new}");
    assert!(!new.contains("rocker") && !new.contains("lug") && !new.contains("eye"), "{new}");
    let [before, after] = [&robot, &hung].map(|r| r.links[r.link_named("finger").unwrap()].pose);
    assert!((before.translation.vector - after.translation.vector).norm() < 1e-12, "{new}");
}

#[test]
fn limits_of_the_rocker_become_the_drivers() {
    let text = changed(
        &model("gripper.xml"),
        &[(
            "name=\"right_idle\" axis=\"0 -1 0\"",
            "name=\"right_idle\" axis=\"0 -1 0\" range=\"-0.3 0.2\"",
        )],
    );
    let new = read(&folded(&read(&text), PLAIN).unwrap().text);
    let limit = new.joints[new.joint_named("right_drive").unwrap()].limit.unwrap();
    assert!((limit[0] + 0.3).abs() < 1e-9 && (limit[1] - 0.2).abs() < 1e-9, "{limit:?}");
}

#[test]
fn a_jaw_that_tilts_is_refused_by_its_verdict_and_folds_where_the_user_goes_on() {
    let tilting = changed(
        &model("gripper.xml"),
        &[
            ("name=\"right_eye\" pos=\"0 0 0.04\"", "name=\"right_eye\" pos=\"0 0 0.043\""),
            ("name=\"left_eye\" pos=\"0 0 0.04\"", "name=\"left_eye\" pos=\"0 0 0.043\""),
        ],
    );
    let robot = read(&tilting);
    let faults = folded(&robot, PLAIN).unwrap_err();
    assert_eq!(faults[0].verdict, Some(Verdict::NotEquivalent), "{}", why(&faults));
    assert!(why(&faults).contains("turned by"), "{}", why(&faults));
    assert!(folded(&robot, FoldOptions { anyway: true, ..PLAIN }).is_ok());
}

#[test]
fn a_tree_of_followers_is_named_with_its_multipliers_beside_the_linkages_rate() {
    let text = model("gripper_tree.urdf");
    let told = |text: &str| findings(&read(text), FindOptions::new(Preset::Training));
    let found = told(&text);
    assert!(found.loops.is_empty() && found.unheld_jaws.len() == 2);
    let shown = unloop::report::find_text(
        &found,
        unloop::report::Detail::Full,
        unloop::report::Style::PLAIN,
    );
    assert!(shown.contains("parallel jaw, followers not held by a loop"), "{shown}");
    for jaw in &found.unheld_jaws {
        assert_eq!(jaw.driver, "grip");
        assert!(jaw.coupler_rate.abs() < 1e-12 && (jaw.rocker_rate - 1.0).abs() < 1e-12);
        assert!(jaw.tilt_error.unwrap() < 1e-12 && (jaw.bars.coupler - 0.02).abs() < 1e-12);
    }
    // 5 % off in the finger's multiplier: it turns by 0.05 of the crank's 0.55 rad, and no linkage of that fourth pin
    // does so all along.
    let off = changed(
        &text,
        &[(
            "<mimic joint=\"grip\" multiplier=\"-1\" offset=\"0\"/>",
            "<mimic joint=\"grip\" multiplier=\"-0.95\" offset=\"0\"/>",
        )],
    );
    let off = told(&off);
    assert!((off.unheld_jaws[0].coupler_rate - 0.05).abs() < 1e-12);
    assert!(off.unheld_jaws[0].tilt_error.unwrap() > 1e-4, "{:?}", off.unheld_jaws[0]);
}

#[test]
fn a_hand_whose_fingers_follow_one_motor_is_no_parallel_jaw() {
    // Two fingers of two links each: what would be the rocker bears a link.
    let link = |name: &str| format!("<link name=\"{name}\"/>");
    let joint = |name: &str, [parent, child]: [&str; 2], at: &str, mimic: &str| {
        format!(
            "<joint name=\"{name}\" type=\"revolute\"><parent link=\"{parent}\"/><child link=\"{child}\"/><origin xyz=\"{at}\"/><axis xyz=\"0 1 0\"/><limit lower=\"0\" upper=\"1\" effort=\"1\" velocity=\"1\"/>{mimic}</joint>"
        )
    };
    let follows = "<mimic joint=\"a1\" multiplier=\"-1\"/>";
    let text = format!(
        "<robot name=\"hand\">{}{}{}{}{}</robot>",
        ["palm", "a", "aa", "b", "bb"].map(link).concat(),
        joint("a1", ["palm", "a"], "0 0 0", ""),
        joint("a2", ["a", "aa"], "0 0 0.03", follows),
        joint("b1", ["palm", "b"], "0.02 0 0", "<mimic joint=\"a1\"/>"),
        joint("b2", ["b", "bb"], "0 0 0.03", follows),
    );
    assert!(findings(&read(&text), FindOptions::new(Preset::Training)).unheld_jaws.is_empty());
}

fn stated(text: &str) -> Robot {
    let mut robot = read(text);
    state_loops(&mut robot, &model("gripper_tree.loops.toml")).unwrap();
    robot
}

#[test]
fn a_folded_tree_has_every_follower_name_the_driver() {
    let text = model("gripper_tree.urdf");
    let new = folded(&stated(&text), PLAIN).unwrap().text;
    assert!(!new.contains("rocker\"") && !new.contains("idle"), "{new}");
    assert_eq!(new.matches("<mimic joint=\"grip\"").count(), 3, "{new}");
    let free = changed(&text, &[("<mimic joint=\"grip\" multiplier=\"-1\" offset=\"0\"/>", "")]);
    let new = folded(&stated(&free), PLAIN).unwrap().text;
    assert_eq!(new.matches("<mimic joint=\"grip\" multiplier=\"-1\"").count(), 2, "{new}");
    let one = named(&stated(&text), "right_loop");
    let said = one.remarks.iter().find(|remark| remark.code == "multiplier").unwrap();
    assert!(said.message.contains("-1.0000…-1.0000"), "{}", said.message);
}

fn gripped(models: [&str; 2], half: f64) -> Vec<Value> {
    let input = json!({
        "models": models, "driver": "right_drive", "torque": 1.0, "half": half, "at": 0.385, "spring": 0.04,
        "pads": ["right_pad", "left_pad"], "fingers": ["right_finger", "left_finger"],
        "poses": [-0.4, -0.1, 0.2, 0.5],
    });
    let output = venv::script("grip_block.py", &input.to_string());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

/// 12.5 N for each N m at the pose in which the crank is square to the closing direction; off it, the closed file's own.
#[test]
fn in_an_engine_the_folded_gripper_grips_the_same_block_with_the_same_force() {
    let text = model("gripper.xml");
    let new = folded(&read(&text), PLAIN).unwrap().text;
    for half in [0.025, 0.015] {
        let found = gripped([&text, &new], half);
        assert_eq!([&found[0]["joints"], &found[1]["joints"]], [&json!(8), &json!(6)]);
        for side in [0, 1] {
            let [closed, tree] = [0, 1].map(|k: usize| found[k]["forces"][side].as_f64().unwrap());
            println!("{half} m: closed {closed:.4} N, folded {tree:.4} N");
            assert!((tree / closed - 1.0).abs() < 0.01 && closed > 10.0, "{closed} {tree}");
            assert!(half < 0.025 || (tree / 12.5 - 1.0).abs() < 0.01, "{tree}");
        }
        for (closed, tree) in
            found[0]["poses"].as_array().unwrap().iter().zip(found[1]["poses"].as_array().unwrap())
        {
            let of = |pose: &Value, key: &str| pose[key].as_f64().unwrap();
            let q = of(tree, "reads");
            assert!((of(closed, "opening") - of(tree, "opening")).abs() < 1e-6, "{closed} {tree}");
            assert!((of(tree, "opening") - (0.05 - 0.08 * q.sin())).abs() < 1e-6, "{tree}");
            assert!(tree["turns"][0].as_f64().unwrap().abs() < 1e-5, "{tree}");
        }
    }
}
