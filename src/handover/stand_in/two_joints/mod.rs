//! What stands in a file for two motors with a rod each on pitch and roll.
//!
//! | form | what the file has |
//! |---|---|
//! | direct | two joints; in the motors' units one fixed tendon a motor, its figures a row of the constant matrix T |
//! | coupled, MJCF | two linear actuators as tendons from pin to pin, exact |
//! | loop, MJCF and SDFormat | cranks and rods, or housings and nuts, and the pins that close both loops |
//!
//! ```text
//! turn of a joint = reading − joint_reads        motor reading = motor_reads + motor_sign T (turns)
//! ```
//!
//! Every link's frame has its origin on the joint that bears it and is aligned with the carrier's where both joints read 0.

mod faults;
pub(in crate::handover) mod in_file;
mod links;
mod loop_bodies;
mod motor_rows;

pub(in crate::handover) use motor_rows::MotorRow;

use nalgebra::{Isometry3, Matrix2, Vector3};

use super::super::fault::EmitFault;
use super::{ActuatorUnits, Ask, Form};
use crate::design::{Actuator, TwoJointDesign, TwoJointRobot};
use crate::drive::{Direct, Region, TwoRods, Vector};
use crate::dynamics::{
    ArmatureForm, Capability, DynamicsFault, LegParts, Moments, TwoJointParts, TwoJointTree,
    two_joint_tree,
};
use crate::equivalence::{Basis, Verdict};
use crate::robot::{
    BorneJoint, ClosingPin, DrivenJoint, JointActuator, JointProperties, Link, Model, Motion,
    TieSettings, TreeJoint,
};
use crate::study::{RegionCheck, TwoMotors, link_frames};

/// Pieces of each range for means over the region.
const PIECES: u32 = 12;

/// The time step that the constraints of a loop are set for, s.
const STEP: f64 = super::crank::STEP;

/// A drive of two joints, what was found of it, and what is asked.
#[derive(Clone, Debug)]
pub struct TwoJointsAsked<'a> {
    /// The design's name.
    pub name: &'a str,
    /// The file that it stands in, for the head of what is written.
    pub source: &'a str,
    /// The drive.
    pub drive: &'a TwoRods,
    /// What stands in: T.
    pub direct: &'a Direct,
    /// Turns of pitch and roll from the zero pose, each ascending, rad.
    pub region: [[f64; 2]; 2],
    /// What the joints are called.
    pub robots: &'a [TwoJointRobot],
    /// What the motors read in the zero pose, rad.
    pub motor_reads: [f64; 2],
    /// What pitch and roll read there, rad.
    pub joint_reads: [f64; 2],
    /// Both motors.
    pub actuator: Option<&'a Actuator>,
    /// What both give over the region at their peak torques.
    pub torque: Option<&'a Capability>,
    /// The same of speeds.
    pub speed: Option<&'a Capability>,
    /// Every body, where all are known.
    pub parts: Option<&'a TwoJointParts>,
    /// What the design lacks for them, named as in its file.
    pub lacks: &'a [&'static str],
    /// The verdict on two direct joints.
    pub verdict: Verdict,
    /// What it is over.
    pub basis: Basis,
    /// Is it proved?
    pub proved: bool,
    /// Why, in words.
    pub reason: &'a str,
    /// What was assumed, a sentence each.
    pub assumptions: &'a [String],
    /// What is asked.
    pub ask: Ask,
}

/// The model of a file, and what else the file has to say.
pub(in crate::handover) struct TwoJointModel {
    /// Without its head.
    pub(in crate::handover) model: Model,
    /// Of a whole file or a closed loop: the bodies that stand in.
    pub(in crate::handover) tree: Option<TwoJointTree>,
}

impl<'a> TwoJointsAsked<'a> {
    /// Of a design whose verdict is known, with its parts or what it lacks for them.
    pub(in crate::handover) fn of_design(
        design: &'a TwoJointDesign,
        of: &'a TwoMotors,
        check: &'a RegionCheck,
        (parts, lacks): (Option<&'a TwoJointParts>, &'a [&'static str]),
        ask: Ask,
    ) -> Self {
        Self {
            name: &design.name,
            source: &design.source.path,
            drive: &of.drive,
            direct: &of.direct,
            region: of.region,
            robots: &design.robots,
            motor_reads: design.motor_reads,
            joint_reads: design.joint_reads,
            actuator: design.actuator.as_ref(),
            torque: check.torque.as_ref().map(|of| &of.capability),
            speed: check.speed.as_ref().map(|of| &of.capability),
            parts,
            lacks,
            verdict: check.verdict,
            basis: check.basis,
            proved: check.proved,
            reason: &check.reason,
            assumptions: &check.assumptions,
            ask,
        }
    }
}

impl TwoJointsAsked<'_> {
    fn motor(&self) -> Actuator {
        self.actuator.cloned().unwrap_or_default()
    }

    /// n²J of each motor, kg m².
    pub(in crate::handover) fn rotor(&self) -> Option<f64> {
        self.actuator?.rotor_at_output()
    }

    /// Are the motors' units asked for, and does the format hold an actuator?
    pub(in crate::handover) fn drives_motors(&self) -> bool {
        let ask = self.ask;
        ask.format.holds_actuators()
            && (ask.form != Form::Direct || ask.actuator == ActuatorUnits::Motor)
    }

    /// Frames of middle link and child in the carrier's, in the zero pose.
    fn frames(&self) -> [Isometry3<f64>; 2] {
        let geometry = self.drive.geometry();
        link_frames(&geometry.pitch, &geometry.roll, self.joint_reads)
    }

    /// Turns of pitch and roll from the zero pose where a file draws a loop, rad: none, or where the format draws at reading 0
    /// those that lead there.
    fn drawn_turns(&self) -> [f64; 2] {
        if self.ask.format.holds_drawn_readings() {
            return [0.0; 2];
        }
        self.joint_reads.map(|reads| -reads)
    }

    /// Readings of pitch and roll over the region, rad.
    pub(in crate::handover) fn limits(&self) -> [[f64; 2]; 2] {
        let ([[p0, p1], [r0, r1]], [p, r]) = (self.region, self.joint_reads);
        [[p0 + p, p1 + p], [r0 + r, r1 + r]]
    }

    /// The box of torques and of speeds that become the joints' limits: the one guaranteed with both axes at once, or what no
    /// pose exceeds.
    fn boxes(&self) -> [Option<[f64; 2]>; 2] {
        let of = |capability: Option<&Capability>| {
            let capability = capability?;
            Some(match self.ask.limits {
                super::LimitBasis::Guaranteed => capability.guaranteed,
                super::LimitBasis::NeverExceed => {
                    let [p, r] = &capability.never_exceed();
                    [p.value, r.value]
                }
            })
        };
        [of(self.torque), of(self.speed)]
    }

    /// Tᵀ diag(x) T of one figure for both motors.
    fn at_joints(&self, figure: f64) -> Matrix2<f64> {
        let t = self.direct.matrix;
        t.transpose() * t * figure
    }

    /// Everything that stands against it, never an empty list.
    ///
    /// # Errors
    /// As said.
    pub(in crate::handover) fn model(&self) -> Result<TwoJointModel, Vec<EmitFault>> {
        let faults = self.faults();
        if !faults.is_empty() {
            return Err(faults);
        }
        let tree = self.tree()?;
        let mut joints = Vec::new();
        let mut carriers: Vec<Link> = Vec::new();
        for robot in self.robots {
            let links = tree.as_ref().map(|tree| self.links(robot, tree)).transpose()?;
            let bodies = self.loop_bodies(robot)?;
            if let Some(links) = &links
                && !carriers.iter().any(|known| known.name == links.carrier.name)
            {
                carriers.push(links.carrier.clone());
            }
            joints.extend(self.driven(robot, tree.as_ref(), links, bodies));
        }
        let tie = TieSettings { step: STEP, by_sites: true };
        let model = Model { name: self.name.to_owned(), head: Vec::new(), joints, carriers, tie };
        Ok(TwoJointModel { model, tree })
    }

    /// The bodies of a whole file.
    fn tree(&self) -> Result<Option<TwoJointTree>, Vec<EmitFault>> {
        let Some(parts) = self.parts.filter(|_| self.ask.whole) else { return Ok(None) };
        let tree = self.tree_of(parts);
        tree.map(Some).map_err(|fault| vec![EmitFault::Dynamics(fault)])
    }

    /// The tree for `parts`. Where tendons hold the rotors exactly, what is left for the joints is the actuators' bodies.
    pub(in crate::handover) fn tree_of(
        &self,
        parts: &TwoJointParts,
    ) -> Result<TwoJointTree, DynamicsFault> {
        let (parts, form) = match self.ask.form {
            Form::Direct if self.drives_motors() => (*parts, ArmatureForm::Motors),
            Form::Direct => (*parts, ArmatureForm::Joints),
            Form::Coupled | Form::Loop => {
                let legs = parts.legs.map(|leg| LegParts { rotor: None, ..leg });
                (TwoJointParts { legs, ..*parts }, ArmatureForm::Joints)
            }
        };
        two_joint_tree(self.drive, &self.grid(), &parts, self.direct, form)
    }

    /// The same in a file that may have both hinges on one body: without a link between them that could take over what spins
    /// with pitch alone, the carrier keeps that.
    pub(in crate::handover) fn tree_on(
        &self,
        parts: &TwoJointParts,
        has_middle: bool,
    ) -> Result<TwoJointTree, DynamicsFault> {
        if has_middle {
            return self.tree_of(parts);
        }
        let tree = self.tree_of(&TwoJointParts { carrier: None, ..*parts })?;
        let own = parts.carrier.as_ref().map(Moments::from).unwrap_or_default();
        Ok(TwoJointTree { carrier: own + tree.carrier, ..tree })
    }

    /// The region in pieces for means over it.
    fn grid(&self) -> Region {
        let [pitch, roll] = self.region;
        Region { pitch, roll, pieces: PIECES }
    }

    fn driven(
        &self,
        robot: &TwoJointRobot,
        tree: Option<&TwoJointTree>,
        links: Option<links::ThreeLinks>,
        bodies: (Vec<BorneJoint>, Vec<ClosingPin>),
    ) -> [DrivenJoint; 2] {
        let [pitch, roll] = self.joints(robot, tree);
        let [first, second] = self.actuators(robot, tree);
        let (middle, child) = match links {
            Some(links) => (Some(links.middle), Some(links.child)),
            None => (None, None),
        };
        let one = |joint, actuator: JointActuator, child, (others, pins)| DrivenJoint {
            joint,
            actuator,
            child,
            motor_side: None,
            others,
            pins,
        };
        let none = (Vec::new(), Vec::new());
        [one(pitch, first, middle, none), one(roll, second, child, bodies)]
    }

    /// Pitch from carrier to middle link, roll from there to the child.
    fn joints(&self, robot: &TwoJointRobot, tree: Option<&TwoJointTree>) -> [TreeJoint; 2] {
        let geometry = self.drive.geometry();
        let [middle, _] = self.frames();
        let roll_point = middle.inverse_transform_point(&plain(geometry.roll.point).into()).coords;
        let roll_axis = middle.inverse_transform_vector(&plain(geometry.roll.direction));
        let [pitch, roll] = [0, 1].map(|axis| self.properties(axis, tree));
        let remarks = self.remarks(robot);
        let [pitch_name, roll_name] = robot.joints.clone();
        let pitch = TreeJoint {
            name: pitch_name,
            parent: robot.parent.clone(),
            child: robot.middle.clone(),
            motion: Motion::Turn,
            axis: plain(geometry.pitch.direction).into(),
            origin: plain(geometry.pitch.point).into(),
            properties: pitch,
            remarks,
        };
        let roll = TreeJoint {
            name: roll_name,
            parent: robot.middle.clone(),
            child: robot.child.clone(),
            motion: Motion::Turn,
            axis: crate::handover::link_moments::without_dust(roll_axis.into()),
            origin: crate::handover::link_moments::without_dust(roll_point.into()),
            properties: roll,
            remarks: self.roll_remarks(robot),
        };
        [pitch, roll]
    }

    fn remarks(&self, robot: &TwoJointRobot) -> Vec<String> {
        let mut lines =
            vec![format!("Pitch, the first of two: {:?} is carried by it.", robot.joints[1])];
        if let (Form::Direct, Some(torque)) = (self.ask.form, self.torque) {
            let [p, r] = torque.guaranteed;
            lines.push(format!(
                "Both motors together give {p:.4} N m on pitch and {r:.4} N m on roll at once at every pose of the region; alone pitch has {:.4}, roll {:.4} N m. The torques are a parallelogram, no box: the JSON beside this file has it.",
                torque.guaranteed_alone[0], torque.guaranteed_alone[1]
            ));
        }
        lines
    }

    fn roll_remarks(&self, robot: &TwoJointRobot) -> Vec<String> {
        let mut lines = vec![format!("Roll, carried by {:?}.", robot.joints[0])];
        let of_loop = self.ask.format.loop_remarks().iter().map(|line| (*line).to_owned());
        lines.extend(of_loop.filter(|_| self.ask.form == Form::Loop));
        lines
    }

    /// What pitch or roll allows and what resists it.
    pub(in crate::handover) fn properties(
        &self,
        axis: usize,
        tree: Option<&TwoJointTree>,
    ) -> JointProperties {
        let motor = self.motor();
        let of = |pair: [f64; 2]| pair.get(axis).copied();
        let diagonal = |m: Matrix2<f64>| if axis == 0 { m.m11 } else { m.m22 };
        let [torque, speed] = self.boxes().map(|pair| pair.and_then(of));
        let own = JointProperties {
            limit: self.limits().get(axis).copied(),
            effort: torque,
            velocity: speed,
            ..JointProperties::default()
        };
        if self.ask.form == Form::Loop {
            let reads = of(self.joint_reads).filter(|_| self.ask.format.holds_drawn_readings());
            return JointProperties { drawn_at: reads.unwrap_or(0.0), ..own };
        }
        let split = tree.and_then(|tree| of(tree.joint_armatures));
        if self.drives_motors() {
            return JointProperties { armature: split.filter(|x| *x > 0.0), ..own };
        }
        let plain = self.rotor().map(|rotor| diagonal(self.at_joints(rotor)));
        let rubbed = |friction: f64| {
            let t = self.direct.matrix.column(axis);
            friction * t.iter().map(|x| x.abs()).sum::<f64>()
        };
        JointProperties {
            armature: split.or(plain),
            damping: motor.damping.map(|d| diagonal(self.at_joints(d))),
            friction: motor.friction.map(rubbed),
            ..own
        }
    }
}

pub(super) fn plain(v: Vector) -> Vector3<f64> {
    Vector3::new(v.x, v.y, v.z)
}
