//! The bodies of a drive in space, as a robot file holds them.
//!
//! Carrier, child and what lies between are weighed in the frames of `dynamics::spatial`: the joint frame stands in the carrier
//! link's own, in which the design that `find` wrote has its points, and the others where they are in the drawn pose.

use super::bodies::{NewBodies, in_words};
use super::figures::Figures;
use super::{FileDrive, Motion};
use crate::drive::Kind;
use crate::dynamics::{
    Body, DriveParts, JointStroke, Masses, Rotor, drive_fidelity, drive_replacement,
};
use crate::handover::find::{GEAR, JudgedDrive, LoopDrive, RodBodies, RodFrames, rods_own};
use crate::handover::stand_in::additions::Additions;
use crate::robot::{FileJoint, JointKind, LinkId};

impl FileDrive<'_> {
    /// Why what the rod's pins lose cannot stand at the driven joint, as a clause.
    pub(in crate::handover) fn lost_in_space(&self) -> Option<String> {
        let Motion::Space(found, _) = self.motion else { return None };
        let rubs = |joint: &&FileJoint| {
            joint.kind == JointKind::Ball && joint.friction.is_some_and(|friction| friction > 0.0)
        };
        let joint = rods_own(self.robot, self.four_bar, found).flatten().find(rubs)?;
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
        let frames = RodFrames::new(self.robot, found, &stroke).ok_or("the drive has no rod")?;
        let parts = self.parts_in_space(figures, found, &frames)?;
        let new = drive_replacement(&stroke, &parts, 1).map_err(in_words)?;
        let measured = DriveParts { masses: self.measured(&parts.masses), ..parts };
        let (over, worst) = drive_fidelity(&stroke, &measured, &new.tree).headline();
        Ok(NewBodies {
            armature: Some(new.tree.armature),
            error: Some((over, worst.value)),
            ..self
                .with(&Additions::direct(&new), &[frames.carrier, frames.child, frames.parts[0]])?
        })
    }

    /// The four bodies, each in its own of `frames`.
    ///
    /// # Errors
    /// One weighs nothing in the file, as a clause.
    fn parts_in_space(
        &self,
        figures: &Figures,
        found: &LoopDrive,
        frames: &RodFrames,
    ) -> Result<DriveParts, String> {
        let own = RodBodies::new(self.robot, self.bodies, self.four_bar, frames);
        let [carrier, first, second, child] = self.four_bar.bodies();
        let weighed = |body: Option<Body>, id: LinkId| body.ok_or_else(|| self.weighs_nothing(id));
        let parts = [weighed(own.parts[0], first)?, weighed(own.parts[1], second)?];
        if own.carrier.is_none() && !self.is_grounded() {
            return Err(self.weighs_nothing(carrier));
        }
        let masses = Masses {
            crank: None,
            coupler: None,
            child: weighed(own.child, child)?,
            carrier: own.carrier,
            carried: None,
            rotor: rotor(figures.rotor, found.motor_per_reading),
        };
        Ok(placed(found.drawing.kind(), masses, parts))
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
