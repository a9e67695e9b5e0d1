//! What the pins of a drive in space that go lose by themselves, as the driven joint has it.

use super::crossed::Crossed;
use super::four_bar::FourBarLoop;
use super::freedom;
use super::loop_drive::LoopDrive;
use super::losses::{Losses, means};
use super::rates::PIECES;
use super::rod_bodies::behind;
use crate::dynamics::{JointStroke, PartFrames};
use crate::numeric::evenly;
use crate::robot::{FileJoint, JointKind, Robot};

impl Losses {
    /// What the driven joint and the pins that go lose and weigh by themselves, at the driven joint; the motor's own joint is not
    /// among them.
    pub(crate) fn of_rod(robot: &Robot, four_bar: &FourBarLoop, found: &LoopDrive) -> Self {
        let driven = Self::default().and(robot.joints.get(found.joint), [1.0; 2]);
        let rated = rated(robot, four_bar, found).unwrap_or_default();
        rated.into_iter().fold(driven, |sum, (joint, rates)| sum.and(Some(joint), rates))
    }
}

/// The joints of the pins that go, in their order; `None` for the motor's and for pins that are not one hinge, slide or ball.
pub(crate) fn rods_own<'a>(
    robot: &'a Robot,
    four_bar: &FourBarLoop,
    found: &LoopDrive,
) -> impl Iterator<Item = Option<&'a FileJoint>> {
    let motor = found.motor;
    let pins = four_bar.pins.iter().take(3);
    pins.map(move |pin| {
        let joint = robot.joints.get(pin.joint.filter(|id| Some(*id) != motor)?)?;
        Some(joint).filter(|joint| joint.kind != JointKind::Universal)
    })
}

/// The joints of the pins that go, but the motor's, whose own limits end the motion unless others do before.
pub(crate) fn limited<'a>(
    robot: &'a Robot,
    four_bar: &FourBarLoop,
    found: &LoopDrive,
) -> Vec<&'a FileJoint> {
    let ids = four_bar.pins.iter().take(3).flat_map(|pin| &pin.joints);
    let own = ids.filter(|id| Some(**id) != found.motor && **id != found.joint);
    let joints = own.filter_map(|id| robot.joints.get(*id));
    let ends =
        |joint: &&FileJoint| joint.limit.is_some_and(|ends| ends.iter().any(|end| end.is_finite()));
    joints.filter(ends).collect()
}

/// The joints of the pins that go with their rates per joint rate, in the mean over the stroke, and the means of their squares:
/// of a ball, or of a hinge, by how fast what is behind turns against what is before; each of two crossed hinges by its own.
fn rated<'a>(
    robot: &'a Robot,
    four_bar: &FourBarLoop,
    found: &LoopDrive,
) -> Option<Vec<(&'a FileJoint, [f64; 2])>> {
    let drive = found.drawing.drive().ok()?;
    let stroke = JointStroke::over(&drive, found.joint_turns).ok()?;
    let frames = evenly(found.joint_turns, PIECES).map(|turn| stroke.part_frames(turn).ok());
    let frames: Vec<PartFrames> = frames.collect::<Option<_>>()?;
    let spins = frames.iter().map(|frames| {
        let [first, second, child] = behind(found.kind(), frames)?.map(|part| part.spin);
        Some([first, second - first, child - second].map(|spin| spin.norm()))
    });
    let spins: Vec<[f64; 3]> = spins.collect::<Option<_>>()?;
    let single = rods_own(robot, four_bar, found).enumerate().filter_map(|(pin, joint)| {
        let rates = spins.iter().filter_map(move |all| all.get(pin).copied());
        Some((joint?, means(rates)))
    });
    let ends = freedom::ends(four_bar).into_iter().enumerate();
    let crossed = ends.filter_map(|end| Crossed::new(robot, found, end, &stroke));
    // A universal joint of its own has its losses by axis, and no figure here.
    let crossed = crossed.filter(|one| one.joints.iter().all(|j| j.kind == JointKind::Revolute));
    let crossed = crossed.flat_map(|crossed| {
        let both: Vec<[f64; 2]> = frames.iter().filter_map(|at| crossed.rates(at)).collect();
        let rates = [means(both.iter().map(|r| r[0])), means(both.iter().map(|r| r[1]))];
        crossed.joints.into_iter().zip(rates)
    });
    Some(single.chain(crossed).collect())
}
