//! Grippers of other people's files against the designs that find makes of them: heights of pins, a finger that is turned
//! instead of mirrored, fingers on their rockers, a palm of several links are no differences; a slip is one.

use super::fold::{PLAIN, model, read};
use super::jaws::{changed, named, why};

use std::fs;

use unloop::handover::compare::{ComparedJoint, compare};
use unloop::handover::find::Judged;
use unloop::handover::fold::fold;
use unloop::robot::Robot;

/// A robot file by its text, one of its loops, and the design that find makes of that.
struct Gripper {
    text: String,
    name: &'static str,
    judged: Judged,
}

impl Gripper {
    fn new(text: String, name: &'static str) -> Self {
        let judged = named(&read(&text), name).judged.unwrap();
        Self { text, name, judged }
    }

    fn public(name: &'static str) -> Self {
        let path = super::find_packages::file("panda_updated_robotiq_2f85.xml");
        Self::new(fs::read_to_string(path).unwrap(), name)
    }

    fn folded(&self) -> String {
        let robot = read(&self.text);
        fold(&robot, &named(&robot, self.name), PLAIN)
            .unwrap_or_else(|f| panic!("{}", why(&f)))
            .text
    }

    fn against(&self, robot: Robot) -> ComparedJoint {
        let Judged { design, mechanism, check, .. } = &self.judged;
        let found = compare(design, mechanism, check, &[robot], None).unwrap();
        found.joints().next().unwrap().clone()
    }

    fn differences(&self, text: &str) -> Vec<String> {
        let found = self.against(read(text));
        found.differences().map(|row| format!("{}: {}", row.title(), row.why)).collect()
    }
}

#[test]
fn a_public_gripper_is_in_step_with_its_own_design_closed_and_folded() {
    for name in ["left_spring_link_joint", "right_spring_link_joint"] {
        let gripper = Gripper::public(name);
        for text in [gripper.text.clone(), gripper.folded()] {
            let found = gripper.against(read(&text));
            assert_eq!(found.differences().count(), 0, "{name}: {:#?}", gripper.differences(&text));
            assert!(
                found.notes.iter().any(|note| note.contains("half a turn")),
                "{:?}",
                found.notes
            );
            // The actuator is the left driver's.
            let names =
                ["origin", "damping", "armature", "mass of base", "multiplier of", "effort"];
            for quantity in names {
                let has = found.rows.iter().any(|row| row.title().starts_with(quantity));
                let is_told = quantity != "effort" || name.starts_with("left");
                assert!(has == is_told, "{name}: {quantity}");
            }
        }
    }
}

#[test]
fn grippers_of_the_models_are_in_step_with_their_own_designs() {
    for (file, name) in [("gripper.xml", "right_loop"), ("gripper_on_rockers.xml", "right_loop")] {
        let gripper = Gripper::new(model(file), name);
        for text in [gripper.text.clone(), gripper.folded()] {
            assert_eq!(gripper.differences(&text), Vec::<String>::new(), "{file}");
        }
    }
}

/// A row that has to differ, what is put for what in the file.
type Slip<'a> = (&'a str, &'a str, &'a str);

fn each_is_told(gripper: &Gripper, text: &str, slips: &[Slip<'_>]) {
    for (row, from, to) in slips {
        let off = gripper.differences(&changed(text, &[(from, to)]));
        assert!(off.iter().any(|line| line.starts_with(row)), "{row}, {to}: {off:#?}");
    }
}

#[test]
fn a_slip_in_a_public_gripper_whose_fingers_are_closed_is_told() {
    let gripper = Gripper::public("left_spring_link_joint");
    each_is_told(
        &gripper,
        &gripper.text,
        &[
            ("ground: ", "left_spring_link\" pos=\"-0.0127", "left_spring_link\" pos=\"-0.0137"),
            ("origin: ", "left_driver\" pos=\"-0.0306011", "left_driver\" pos=\"-0.0316011"),
            (
                "origin of right_driver_joint",
                "right_driver\" pos=\"0.0306011",
                "right_driver\" pos=\"0.0316011",
            ),
            (
                "ground of right_driver_joint",
                "right_spring_link\" pos=\"0.0127",
                "right_spring_link\" pos=\"0.0137",
            ),
            ("rocker: ", "left_follower\" pos=\"-0.0382079", "left_follower\" pos=\"-0.0392079"),
            (
                "rocker of right_driver_joint",
                "right_follower\" pos=\"-0.0382079",
                "right_follower\" pos=\"-0.0392079",
            ),
            (
                "multiplier of right_driver_joint",
                "polycoef=\"0 1 0 0 0\" solimp",
                "polycoef=\"0 0.99 0 0 0\" solimp",
            ),
            (
                "upper limit",
                "<joint range=\"0 0.9\" armature=\"0.005\"",
                "<joint range=\"0 0.85\" armature=\"0.005\"",
            ),
            ("effort", "forcerange=\"-5 5\"", "forcerange=\"-6 6\""),
            ("damping", "damping=\"0.00125\"", "damping=\"0.0125\""),
            ("armature", "armature=\"0.005\" damping", "armature=\"0.006\" damping"),
            ("mass of left_follower", "mass=\"0.0125222\"", "mass=\"0.0225222\""),
            (
                "mass centre of right_driver",
                "pos=\"2.96931e-12 0.0177547",
                "pos=\"2.96931e-12 0.0277547",
            ),
            ("mass of base", "mass=\"0.777441\"", "mass=\"0.877441\""),
        ],
    );
}

#[test]
fn a_slip_in_a_folded_public_gripper_is_told() {
    let gripper = Gripper::public("left_spring_link_joint");
    let tie =
        |side| format!("joint2=\"{side}_driver_joint\" polycoef=\"0 1 0 0 0\" solref=\"0.004");
    let (left, right) = (tie("left"), tie("right"));
    let [slower, back] = [left.replace("0 1 0", "0 0.99 0"), right.replace("0 1 0", "0 -1 0")];
    let slips = [
        ("origin: ", "left_driver\" pos=\"-0.0306011", "left_driver\" pos=\"-0.0316011"),
        (
            "origin of right_driver_joint",
            "right_driver\" pos=\"0.0306011",
            "right_driver\" pos=\"0.0316011",
        ),
        (
            "origin of right_follower_joint",
            "right_follower\" pos=\"-0.0203068",
            "right_follower\" pos=\"-0.0213068",
        ),
        ("multiplier of left_follower", left.as_str(), slower.as_str()),
        ("axis of right_follower_joint", right.as_str(), back.as_str()),
        (
            "upper limit",
            "<joint range=\"0 0.9\" armature=\"0.005\"",
            "<joint range=\"0 0.85\" armature=\"0.005\"",
        ),
        ("mass of right_driver", "mass=\"0.0510301282654\"", "mass=\"0.0610301282654\""),
    ];
    each_is_told(&gripper, &gripper.folded(), &slips);
}
