//! What the pins of a drive in space that go lose by themselves, as the driven joint has it.

use super::FileDrive;
use crate::drive::Kind;
use crate::dynamics::{JointStroke, PartFrame, PartFrames};
use crate::handover::find::{JudgedDrive, LoopDrive};
use crate::numeric::evenly;
use crate::robot::FileJoint;

/// Pieces of the stroke over which losses are taken in the mean.
const PIECES: u32 = 64;

/// The frames of the bodies behind the carrier's first pin, behind the second, and of the child.
pub(super) fn behind(kind: Kind, frames: &PartFrames) -> Option<[PartFrame; 3]> {
    let (first, second) = match kind {
        Kind::BallRod => (frames.crank, frames.coupler),
        Kind::LinearActuator => (frames.housing, frames.nut),
        Kind::Slider => (frames.nut, frames.coupler),
        _ => return None,
    };
    Some([first?, second?, frames.child])
}

/// What the driven joint and the pins that go lose and weigh by themselves, at the driven joint, by power; the motor's own joint
/// is not among them.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct RodLosses {
    /// N m s/rad.
    pub(super) damping: f64,
    /// N m.
    pub(super) friction: f64,
    /// kg m².
    pub(super) armature: f64,
}

impl RodLosses {
    pub(super) fn of(drive: &FileDrive<'_>, found: &LoopDrive, judged: &JudgedDrive) -> Self {
        let mut sum = Self::default();
        sum.add(drive.driven, [1.0, 1.0]);
        let Some(rates) = pin_rates(found, judged) else { return sum };
        for (joint, rates) in rods_own(drive, found).zip(rates).filter_map(|(j, r)| Some((j?, r))) {
            sum.add(joint, rates);
        }
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

/// The joints of the pins that go, in their order; `None` for the motor's and for pins without a joint.
pub(super) fn rods_own<'a>(
    drive: &FileDrive<'a>,
    found: &LoopDrive,
) -> impl Iterator<Item = Option<&'a FileJoint>> {
    let (robot, motor) = (drive.robot, found.motor);
    let pins = drive.four_bar.pins.iter().take(3);
    pins.map(move |pin| robot.joints.get(pin.joint.filter(|id| Some(*id) != motor)?))
}

/// Of the same pins: how fast what is behind turns against what is before per joint rate, in the mean over the stroke, and
/// the mean of its square.
fn pin_rates(found: &LoopDrive, judged: &JudgedDrive) -> Option<[[f64; 2]; 3]> {
    let turns = judged.driven.joint_turns();
    let stroke = JointStroke::over(&judged.driven.drive, turns).ok()?;
    let (mut sums, mut count) = ([[0.0; 2]; 3], 0.0_f64);
    for turn in evenly(turns, PIECES) {
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
