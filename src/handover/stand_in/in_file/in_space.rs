//! The bodies and losses of a drive in space, as a robot file holds them.
//!
//! Carrier, child and what lies between are weighed in the frames of `dynamics::spatial`: the joint frame stands in the carrier
//! link's own, in which the design that `find` wrote has its points, and the others where they are in the drawn pose.

use nalgebra::Isometry3;

use super::bodies::{NewBodies, in_words};
use super::figures::Figures;
use super::{FileDrive, Motion};
use crate::drive::Kind;
use crate::dynamics::{
    Body, DriveParts, JointStroke, Masses, PartFrame, PartFrames, Rotor, drive_fidelity,
    drive_replacement,
};
use crate::handover::find::{GEAR, JudgedDrive, LoopDrive, carrier_links, together};
use crate::handover::stand_in::additions::Additions;
use crate::numeric::evenly;
use crate::robot::{FileJoint, JointKind, LinkId};

/// Pieces of the stroke over which losses are taken in the mean.
const PIECES: u32 = 64;

/// The frames of the bodies behind the carrier's first pin, behind the second, and of the child.
fn behind(kind: Kind, frames: &PartFrames) -> Option<[PartFrame; 3]> {
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
fn rods_own<'a>(
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

impl FileDrive<'_> {
    /// Why what the rod's pins lose cannot stand at the driven joint, as a clause.
    pub(in crate::handover) fn lost_in_space(&self) -> Option<String> {
        let Motion::Space(found, _) = self.motion else { return None };
        let rubs = |joint: &&FileJoint| {
            joint.kind == JointKind::Ball && joint.friction.is_some_and(|friction| friction > 0.0)
        };
        let joint = rods_own(self, found).flatten().find(rubs)?;
        Some(format!(
            "the friction of ball joint {:?} counts about three axes of its own, and cannot be carried over",
            joint.name
        ))
    }

    /// What lies between carrier and child, into both of them.
    ///
    /// # Errors
    /// A part weighs nothing in the file, or no real bodies can stand for them, as a clause.
    pub(super) fn bodies_in_space(
        &self,
        figures: &Figures,
        found: &LoopDrive,
        judged: &JudgedDrive,
    ) -> Result<NewBodies, String> {
        let drive = &judged.driven.drive;
        let stroke = JointStroke::over(drive, judged.driven.joint_turns()).map_err(in_words)?;
        let carrier = self.robot.links.get(found.links[0]).map(|link| link.pose);
        let joint_frame = carrier.unwrap_or_default() * stroke.frame();
        let frames = stroke.part_frames(0.0).map_err(in_words)?;
        let kind = found.drawing.kind();
        let places = behind(kind, &frames).ok_or("the drive has no rod")?;
        let [first, second, child] = places.map(|part| joint_frame * part.place);
        let parts = self.parts_in_space(figures, found, [joint_frame, first, second, child])?;
        let new = drive_replacement(&stroke, &parts, 1).map_err(in_words)?;
        let measured = DriveParts { masses: self.measured(&parts.masses), ..parts };
        let (over, worst) = drive_fidelity(&stroke, &measured, &new.tree).headline();
        Ok(NewBodies {
            armature: Some(new.tree.armature),
            error: Some((over, worst.value)),
            ..self.with(&Additions::direct(&new), &[joint_frame, child, first])?
        })
    }

    /// The four bodies, each in its own of the frames of carrier, both parts and child.
    ///
    /// # Errors
    /// One weighs nothing in the file, as a clause.
    fn parts_in_space(
        &self,
        figures: &Figures,
        found: &LoopDrive,
        frames: [Isometry3<f64>; 4],
    ) -> Result<DriveParts, String> {
        let [_, first, second, child] = self.four_bar.bodies();
        let [in_carrier, in_first, in_second, in_child] = frames;
        let own = |links: Vec<LinkId>, frame| Some(together(self.robot, links, frame)?.body());
        let of = |body: LinkId, frame| {
            own(self.bodies.links(body).collect(), frame).ok_or_else(|| self.weighs_nothing(body))
        };
        let (first, second) = (of(first, &in_first)?, of(second, &in_second)?);
        let carrier = own(carrier_links(self.robot, self.bodies, self.four_bar), &in_carrier);
        if carrier.is_none() && !self.is_grounded() {
            return Err(self.weighs_nothing(self.four_bar.bodies()[0]));
        }
        let masses = Masses {
            crank: None,
            coupler: None,
            child: of(child, &in_child)?,
            carrier,
            carried: None,
            rotor: rotor(figures.rotor, found.motor_per_reading),
        };
        Ok(placed(found.drawing.kind(), masses, [first, second]))
    }

    fn weighs_nothing(&self, body: LinkId) -> String {
        format!("{:?} weighs nothing in the file", self.robot.link_name(body))
    }
}

/// The two parts between carrier and child where this kind of drive has them.
fn placed(kind: Kind, masses: Masses, [first, second]: [Body; 2]) -> DriveParts {
    let (first, second) = (Some(first), Some(second));
    match kind {
        Kind::LinearActuator => DriveParts { masses, housing: first, nut: second },
        Kind::Slider => {
            DriveParts { masses: Masses { coupler: second, ..masses }, housing: None, nut: first }
        }
        _ => Masses { crank: first, coupler: second, ..masses }.into(),
    }
}

/// What the motor's joint bears, `armature` at its own reading, as a rotor that turns so fast that nothing else of it is felt.
fn rotor(armature: f64, motor_per_reading: f64) -> Option<Rotor> {
    (armature > 0.0).then(|| Rotor {
        inertia: armature / (GEAR * motor_per_reading).powi(2),
        gear_ratio: GEAR * motor_per_reading.signum(),
        in_carrier: true,
    })
}
