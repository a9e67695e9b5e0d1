//! Two loops that turn one body about pitch and roll, found in robot files.

use unloop::design::Preset;
use unloop::drive::{DrawnLeg, TwoRodsDrawing};
use unloop::handover::find::{FindOptions, TwoJointLoops, find, find_two_joints};
use unloop::handover::{ActuatorUnits, Form, Format};
use unloop::robot::Robot;

use super::two_joints::{Case, JOINT_READS, REGION, SIGNS, actuators, cranks};

fn read(text: &str) -> Robot {
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    unloop::robot::read("robot", text.as_bytes().to_vec(), none).unwrap_or_else(|r| panic!("{r}"))
}

fn ankle() -> (Case, String) {
    let case = Case::new(cranks(), 7.75, 1.2e-5);
    let text = case.emitted(Form::Loop, Format::Mjcf, ActuatorUnits::Motor).file;
    (case, text)
}

fn only(text: &str) -> TwoJointLoops {
    let found = find_two_joints(&read(text), FindOptions::new(Preset::Coarse));
    let [one] = <[_; 1]>::try_from(found).unwrap();
    one
}

fn drawing(one: &TwoJointLoops) -> TwoRodsDrawing {
    one.drive.as_ref().unwrap_or_else(|| panic!("{:?}", one.obstacles)).drawing
}

#[test]
fn dbg() {
    let (_, text) = ankle();
    println!("{text}");
    let one = only(&text);
    println!("{one:#?}");
    println!("{}", one.text.unwrap_or_default());
}
