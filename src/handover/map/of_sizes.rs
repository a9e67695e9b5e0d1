//! The map of a drive that is drawn by a list of sizes, both ways: closed form, or polynomials.

use std::f64::consts::PI;

use super::code::{self, Code};
use super::direction::{COARSE, ClosedForm, Direction, End, FEW_ROUNDINGS};
use super::stages::{Towards, closed_form};
use super::{MapAsk, MapFault, MapForm, joints, motor_turns};
use crate::design::{Design, Drawn, MotorOn};
use crate::drive::{Builds, Counted, Measure, OneJoint as _, Size, Transfer};
use crate::numeric::{Interval, Jet, evenly};
use crate::study::Driven;

/// All that is written, in no language yet.
pub(super) fn code(
    design: &Design<Drawn>,
    driven: &Driven,
    ask: &MapAsk,
) -> Result<Code, MapFault> {
    let choice = ask.choice();
    let stops = design.actuator.as_ref().and_then(|actuator| actuator.stops);
    let motor_turns = motor_turns(&driven.stroke, stops)?;
    let mut joint_turns = motor_turns.map(|turn| driven.drive.joint_turn(turn).unwrap_or(f64::NAN));
    joint_turns.sort_by(f64::total_cmp);
    let joints = joints(design, driven.readings.clone())?;
    let ends: Vec<(End, End)> = joints.iter().map(|joint| (joint.motor, joint.joint)).collect();
    let back: Vec<(End, End)> = ends.iter().map(|(motor, joint)| (*joint, *motor)).collect();
    let [to_joint, to_motor] = digits(design, joint_turns).ok_or(MapFault::NotCertified)?;
    let form = |towards, own_digits| -> Result<ClosedForm, MapFault> {
        let core = closed_form(&driven.drive, towards).ok_or(MapFault::NotCertified)?;
        Ok(ClosedForm { core, furthest: furthest(driven, towards, joint_turns), own_digits })
    };
    let direction = |(towards, own_digits), turns, ends: &[(End, End)]| match choice.form {
        MapForm::Formula => {
            Direction::of_closed_form(form(towards, own_digits)?, turns, ends, &choice)
        }
        MapForm::Polynomial => {
            let transfer = match towards {
                Towards::Joint => Transfer::ToJoint(&driven.drive),
                Towards::Motor => Transfer::ToMotor(&driven.drive),
            };
            Direction::of_polynomial((&transfer, own_digits), turns, ends, &choice)
        }
    };
    let to_joint = direction((Towards::Joint, to_joint), motor_turns, &ends)?;
    let to_motor = Some(direction((Towards::Motor, to_motor), joint_turns, &back)?);
    Ok(Code {
        design: design.name.clone(),
        source: design.source.path.clone(),
        name: code::identifier(&design.name),
        choice,
        is_same: false,
        is_motor_on_parent: design.motor_on == MotorOn::Parent,
        motor_turns,
        dead_at: None,
        joints,
        to_joint,
        to_motor,
    })
}

/// The furthest turn of an arm that the code tells by its direction, rad: it tells half a turn only.
fn furthest(driven: &Driven, towards: Towards, joints: [f64; 2]) -> Option<f64> {
    let turns = joints
        .into_iter()
        .filter_map(|joint| driven.drive.arm_turns(joint, towards == Towards::Joint).ok());
    turns.flatten().max_by(|a, b| a.abs().total_cmp(&b.abs()))
}

/// What a few roundings of every figure that the code is made from do to the joint's turn and to the motor's, rad, each with
/// the rate as a share: from slopes by every size at poses of the stroke, and twice that for what lies between.
fn digits(design: &Design<Drawn>, joints: [f64; 2]) -> Option<[[f64; 2]; 2]> {
    let drawing = &design.geometry.drawing;
    let (builds, sizes) = (Builds::of(drawing).ok()?, drawing.sizes());
    let lengths = sizes.iter().filter(|size| size.measure == Measure::Length);
    let length = lengths.map(|size| size.value.abs()).fold(0.0, f64::max);
    let mut worst = [[0.0_f64; 2]; 2];
    for joint in evenly(joints, COARSE) {
        let [turn, ratio, share] = moved(&builds, &sizes, length, joint)?;
        let here = [[PI + turn / ratio, share], [PI + turn, share]];
        for (most, here) in worst.as_flattened_mut().iter_mut().zip(here.as_flattened()) {
            *most = most.max(2.0 * FEW_ROUNDINGS * here);
        }
    }
    Some(worst)
}

/// The sum over all sizes of motor turn by size × size, |i|, and the same sum of i as a share of it.
fn moved(builds: &Builds, sizes: &[Size], length: f64, joint: f64) -> Option<[f64; 3]> {
    let sheets = builds.sheets(joint).ok()?;
    let constant = |x: f64| Jet::<1>::constant(Interval::point(x));
    let drawn: Vec<Jet<1>> = sizes.iter().map(|size| constant(size.value)).collect();
    let (mut turn, mut rate, mut ratio) = (0.0, 0.0, f64::NAN);
    for (k, size) in sizes.iter().enumerate() {
        let mut varied = drawn.clone();
        let slot = varied.get_mut(k)?;
        *slot = Jet::variable(0, slot.value);
        let pose = builds.build(&varied, Counted::FromOwnZero)?.at(constant(joint), &sheets)?;
        let scale = match size.measure {
            Measure::Length => length,
            Measure::Angle => PI,
            Measure::Number => size.value.abs(),
        };
        ratio = pose.ratio.value.mid().abs();
        turn += scale * pose.motor.slopes[0].magnitude();
        rate += scale * pose.ratio.slopes[0].magnitude();
    }
    Some([turn, ratio, rate / ratio])
}
