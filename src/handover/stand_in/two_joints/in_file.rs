//! What stands in a robot file for two loops on two of its own joints: a tendon a motor, and what its links weigh then.
//!
//! ```text
//! reading of a motor's joint in the file = slope · length of its tendon + shift
//! ```
//!
//! Of a crank that reading is the motor's; a slide reads its travel, and its tendon is as long as that or as the actuator itself.

use nalgebra::{Isometry3, Point3};

use super::{TwoJointsAsked, plain};
use crate::design::TwoJointRobot;
use crate::drive::{DrawnLeg, Vector};
use crate::dynamics::{
    Moments, Rotor, TwoJointFidelity, TwoJointParts, TwoJointTree, fidelity_beside_rotors,
    two_joint_fidelity,
};
use crate::handover::find::{Bodies, GEAR, JudgedTwoJoints, TwoRodsInFile, beside_the_world};
use crate::handover::stand_in::in_file::bodies::{
    NewBodies, in_words, is_grounded, patch_carrier, patched,
};
use crate::handover::stand_in::{ActuatorUnits, Ask, Form, LimitBasis};
use crate::robot::{FileActuator, FileJoint, Format, JointId, LinkId, Robot, Through};
use crate::study::two_joint_bodies;

/// Closer than this two zeros are one, rad: 0.006 deg, what a file's decimals leave.
const DECIMALS: f64 = 1e-4;

/// Two loops of a robot file, and what is asked to stand in their place.
pub(in crate::handover) struct TwoJointsInFile<'a> {
    pub(in crate::handover) robot: &'a Robot,
    /// Of the robot.
    pub(in crate::handover) bodies: &'a Bodies,
    pub(in crate::handover) found: &'a TwoRodsInFile,
    pub(in crate::handover) judged: &'a JudgedTwoJoints,
    pub(in crate::handover) form: Form,
    pub(in crate::handover) limits: LimitBasis,
    /// What the file calls joints, motors and links.
    pub(in crate::handover) names: [TwoJointRobot; 1],
}

/// What a motor's tendon runs along.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::handover) enum Along {
    /// Readings of joints, each times its figure.
    Readings(Vec<(String, f64)>),
    /// From point to point in the model's frame in the drawn pose, m, each of a link and with a name.
    Points([(String, LinkId, Point3<f64>); 2]),
}

/// What stands in a motor's place.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::handover) struct MotorTendon {
    pub(in crate::handover) name: String,
    pub(in crate::handover) along: Along,
    /// Reading of the motor's joint: slope and shift.
    pub(in crate::handover) line: [f64; 2],
    /// The whole by that reading, the actuators' own among it, kg m² (kg of a slide).
    pub(in crate::handover) armature: f64,
}

/// What stands in.
pub(in crate::handover) struct Stands {
    pub(in crate::handover) tendons: [MotorTendon; 2],
    /// What comes to the armatures of pitch and roll, kg m².
    pub(in crate::handover) armatures: [f64; 2],
    pub(in crate::handover) new: NewBodies,
    pub(in crate::handover) tree: Option<TwoJointTree>,
}

impl TwoJointsInFile<'_> {
    /// As for a file that is made anew, in the motors' units.
    pub(in crate::handover) fn asked(&self) -> TwoJointsAsked<'_> {
        let JudgedTwoJoints { design, of, check } = self.judged;
        let ask = Ask {
            anyway: true,
            limits: self.limits,
            actuator: ActuatorUnits::Motor,
            ..Ask::new(self.form, Format::Mjcf)
        };
        TwoJointsAsked {
            robots: &self.names,
            ..TwoJointsAsked::of_design(design, of, check, (None, &[]), ask)
        }
    }

    pub(in crate::handover) fn joint(&self, id: JointId) -> Option<&FileJoint> {
        self.robot.joints.get(id)
    }

    /// The actuators of a motor's joint.
    fn actuators(&self, k: usize) -> impl Iterator<Item = &FileActuator> {
        let motor = self.found.motors.get(k).copied();
        motor.into_iter().flat_map(|motor| self.robot.actuators_of(motor))
    }

    /// Armature of a motor's actuators behind their gears, by the reading of its joint.
    pub(in crate::handover) fn on_actuators(&self, k: usize) -> f64 {
        self.actuators(k).filter_map(|actuator| actuator.at_joint(|a| a.armature)).sum()
    }

    /// The same with the joint's own.
    fn armature(&self, k: usize) -> f64 {
        let joint = self.found.motors.get(k).and_then(|id| self.joint(*id));
        joint.and_then(|joint| joint.armature).unwrap_or(0.0) + self.on_actuators(k)
    }

    fn per_reading(&self, k: usize) -> f64 {
        self.found.per_reading.get(k).copied().unwrap_or(1.0)
    }

    /// What the file's motor joint bears, as a rotor that turns so fast that nothing else of it is felt.
    fn rotor(&self, k: usize) -> Option<Rotor> {
        let at_motor = self.armature(k) / self.per_reading(k).powi(2);
        (at_motor > 0.0).then(|| Rotor {
            inertia: at_motor / (GEAR * GEAR),
            gear_ratio: GEAR,
            in_carrier: true,
        })
    }

    /// Everything that stands in.
    ///
    /// # Errors
    /// No real bodies can stand for what goes, as a clause.
    pub(in crate::handover) fn stands(&self) -> Result<Stands, String> {
        let asked = self.asked();
        let parts = two_joint_bodies(&self.judged.design, [0, 1].map(|k| self.rotor(k))).ok();
        let weighed = parts.map(|parts| self.weighed(&asked, &parts)).transpose()?;
        let (tree, new) = match weighed {
            Some((tree, new)) => (Some(tree), new),
            None => (None, dropped()),
        };
        let [first, second] = [0, 1].map(|k| self.tendon(&asked, tree.as_ref(), k));
        let lacks = || "the drive has no place for a tendon".to_owned();
        Ok(Stands {
            tendons: [first.ok_or_else(lacks)?, second.ok_or_else(lacks)?],
            armatures: tree.map_or([0.0; 2], |tree| tree.joint_armatures),
            new,
            tree,
        })
    }

    fn tendon(
        &self,
        asked: &TwoJointsAsked<'_>,
        tree: Option<&TwoJointTree>,
        k: usize,
    ) -> Option<MotorTendon> {
        let per = self.per_reading(k);
        let names = self.names.first()?;
        let made = asked.actuators(names, tree).into_iter().nth(k)?;
        let [slope, shift] = [made.properties.gear / per, made.properties.shift / per];
        let (name, along, line) = match made.through {
            Through::Readings(tendon, joints) => {
                let along = joints.into_iter().map(|(joint, share)| (joint, share / per)).collect();
                let shift = if made.properties.shift.abs() < DECIMALS { 0.0 } else { shift };
                (tendon.name, Along::Readings(along), [1.0, shift])
            }
            // The slide is as long as the tendon, but for rounding.
            Through::Points(tendon, [carrier, foot]) => {
                let points = self.points(k, [carrier.name, foot.name])?;
                (tendon.name, Along::Points(points), [slope.signum(), shift])
            }
            Through::Joint | Through::Slide { .. } => return None,
        };
        let of_tree = tree.filter(|_| self.form == Form::Direct);
        let of_tree = of_tree.and_then(|tree| Some(tree.motor_armatures.get(k)? * per * per));
        let armature = of_tree.unwrap_or_else(|| self.armature(k));
        Some(MotorTendon { name, along, line, armature })
    }

    /// Both pins of an actuator, where the file draws them.
    fn points(
        &self,
        k: usize,
        [carrier, child]: [String; 2],
    ) -> Option<[(String, LinkId, Point3<f64>); 2]> {
        let DrawnLeg::Actuator { pin, foot, .. } = *self.found.drawing.legs.get(k)? else {
            return None;
        };
        let frame = self.frame();
        let at = |point: Vector| frame * Point3::from(plain(point));
        Some([(carrier, self.found.parent, at(pin)), (child, self.found.child, at(foot))])
    }

    /// The carrier link's, in which the drawing stands.
    fn frame(&self) -> Isometry3<f64> {
        self.robot.links.get(self.found.parent).map_or_else(Isometry3::identity, |link| link.pose)
    }

    /// The tree, and the links with what it adds to them.
    fn weighed(
        &self,
        asked: &TwoJointsAsked<'_>,
        parts: &TwoJointParts,
    ) -> Result<(TwoJointTree, NewBodies), String> {
        let has_middle = self.found.middle.is_some();
        let tree = asked.tree_on(parts, has_middle).map_err(in_words)?;
        let measure =
            if self.form == Form::Coupled { fidelity_beside_rotors } else { two_joint_fidelity };
        let error = measure(asked.drive, &asked.grid(), parts, &tree);
        let TwoJointFidelity { over, worst } = error.map_err(in_words)?;
        let new = self.patched(&tree, parts)?;
        Ok((tree, NewBodies { error: Some((over, worst.value)), ..new }))
    }

    fn patched(&self, tree: &TwoJointTree, parts: &TwoJointParts) -> Result<NewBodies, String> {
        let Self { robot, bodies, found, .. } = self;
        let frame = self.frame();
        let own = parts.carrier.as_ref().map(Moments::from).unwrap_or_default();
        let mut out = NewBodies::default();
        let grounded = is_grounded(robot, bodies, bodies.of_link(found.parent));
        let links = beside_the_world(robot, bodies, found.parent);
        patch_carrier((robot, grounded), links, &(tree.carrier - own), &frame, &mut out)?;
        let middle = parts.middle.as_ref().map(Moments::from).unwrap_or_default();
        let both = [
            (found.middle, tree.middle - middle),
            (Some(found.child), tree.child - Moments::from(&parts.child)),
        ];
        for (link, patch) in both {
            let Some(link) = link.filter(|_| weighs(&patch)) else { continue };
            let links = bodies.links(bodies.of_link(link)).collect();
            out.links.push(patched(robot, links, &patch, &frame)?);
        }
        Ok(out)
    }
}

fn weighs(patch: &Moments) -> bool {
    patch.mass != 0.0 || patch.inertia.iter().any(|entry| *entry != 0.0)
}

/// Without masses in the file nothing can be carried over.
fn dropped() -> NewBodies {
    let note = "the file does not give the mass of every part, so that those of cranks and rods are not carried over";
    NewBodies { notes: vec![note.to_owned()], ..NewBodies::default() }
}
