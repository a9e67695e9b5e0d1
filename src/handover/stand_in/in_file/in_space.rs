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
    /// Why what the rod's pins lose, or a spring at one of several hinges, cannot stand at the driven joint, as a clause.
    pub(in crate::handover) fn lost_in_space(&self) -> Option<String> {
        let Motion::Space(found, _) = self.motion else { return None };
        let rubs = |joint: &&FileJoint| {
            joint.kind == JointKind::Ball && joint.friction.is_some_and(|friction| friction > 0.0)
        };
        if let Some(joint) = rods_own(self.robot, self.four_bar, found).flatten().find(rubs) {
            return Some(format!(
                "the friction of ball joint {:?} counts about three axes of its own, and cannot be carried over",
                joint.name
            ));
        }
        let pins =
            self.four_bar.pins.iter().flat_map(|pin| pin.joints.iter().map(move |id| (pin, id)));
        pins.filter_map(|(pin, id)| Some((pin.joints.len() > 1, self.robot.joints.get(*id)?)))
            .find_map(|(is_crossed, joint)| lost(is_crossed, joint))
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

/// What of a joint of crossed hinges, or of a universal joint, cannot be carried over, as a clause.
fn lost(is_crossed: bool, joint: &FileJoint) -> Option<String> {
    let has = |figure: Option<f64>| figure.is_some_and(|x| x.abs() > 0.0);
    let name = &joint.name;
    if joint.kind == JointKind::Universal && (has(joint.damping) || has(joint.friction)) {
        return Some(format!(
            "the losses of universal joint {name:?} count about two axes of its own, and cannot be carried over"
        ));
    }
    let is_sprung = (is_crossed || joint.kind == JointKind::Universal) && has(joint.stiffness);
    is_sprung.then(|| {
        format!(
            "the spring of joint {name:?}, one of two axes of the rod's end, cannot be carried over"
        )
    })
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
