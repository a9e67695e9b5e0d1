//! What the pins of a drive in space that go lose by themselves, as the driven joint has it.

use super::four_bar::FourBarLoop;
use super::loop_drive::LoopDrive;
use super::rod_bodies::behind;
use crate::dynamics::JointStroke;
use crate::numeric::evenly;
use crate::robot::{FileJoint, Robot};

/// Pieces of the stroke over which losses are taken in the mean.
const PIECES: u32 = 64;

/// What the driven joint and the pins that go lose and weigh by themselves, at the driven joint, by power; the motor's own joint
/// is not among them.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct RodLosses {
    /// N m s/rad.
    pub(crate) damping: f64,
    /// N m.
    pub(crate) friction: f64,
    /// kg m².
    pub(crate) armature: f64,
}

impl RodLosses {
    pub(crate) fn of(robot: &Robot, four_bar: &FourBarLoop, found: &LoopDrive) -> Self {
        let mut sum = robot.joints.get(found.joint).map(Self::at_joint).unwrap_or_default();
        let Some(rates) = pin_rates(found) else { return sum };
        let joints = rods_own(robot, four_bar, found);
        for (joint, rates) in joints.zip(rates).filter_map(|(j, r)| Some((j?, r))) {
            sum.add(joint, rates);
        }
        sum
    }

    /// Of the driven joint alone.
    pub(super) fn at_joint(driven: &FileJoint) -> Self {
        let mut sum = Self::default();
        sum.add(driven, [1.0, 1.0]);
        sum
    }

    /// By the mean rate, and by the mean of its square.
    fn add(&mut self, joint: &FileJoint, [plain, squared]: [f64; 2]) {
        let of = |figure: Option<f64>| figure.unwrap_or(0.0);
        self.damping += of(joint.damping) * squared;
        self.friction += of(joint.friction) * plain;
        self.armature += of(joint.armature) * squared;
    }
}

/// The joints of the pins that go, in their order; `None` for the motor's and for pins that are not one joint.
pub(crate) fn rods_own<'a>(
    robot: &'a Robot,
    four_bar: &FourBarLoop,
    found: &LoopDrive,
) -> impl Iterator<Item = Option<&'a FileJoint>> {
    let motor = found.motor;
    let pins = four_bar.pins.iter().take(3);
    pins.map(move |pin| robot.joints.get(pin.joint.filter(|id| Some(*id) != motor)?))
}

/// Of the same pins: how fast what is behind turns against what is before per joint rate, in the mean over the stroke, and
/// the mean of its square.
fn pin_rates(found: &LoopDrive) -> Option<[[f64; 2]; 3]> {
    let drive = found.drawing.drive().ok()?;
    let stroke = JointStroke::over(&drive, found.joint_turns).ok()?;
    let (mut sums, mut count) = ([[0.0; 2]; 3], 0.0_f64);
    for turn in evenly(found.joint_turns, PIECES) {
        let [first, second, child] =
            behind(found.drawing.kind(), &stroke.part_frames(turn).ok()?)?.map(|part| part.spin);
        for (sum, spin) in sums.iter_mut().zip([first, second - first, child - second]) {
            sum[0] += spin.norm();
            sum[1] += spin.norm_squared();
        }
        count += 1.0;
    }
    Some(sums.map(|sum| sum.map(|sum| sum / count)))
}
