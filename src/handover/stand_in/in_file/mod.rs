//! What stands in for a loop that a robot file holds, on that file's own joints and links?
//!
//! `jaw` has what stands in for fingers. `figures` has the driven joint's, `bodies` what the links weigh then, `spring` the spring in place of those that go and how
//! a rod that is kept to be seen moves along: all in the file's own readings and frames.

pub(in crate::handover) mod bodies;
pub(in crate::handover) mod figures;
mod in_space;
pub(in crate::handover) mod jaw;
pub(in crate::handover) mod spring;

use super::coupling::{Coupled, fit};
use super::{Ask, Form, LimitBasis, Request};
use crate::dynamics::Fit;
use crate::handover::fault::EmitFault;
use crate::handover::find::{
    Bodies, FourBarLoop, Judged, JudgedDrive, LoopDrive, MotorSeat, Reach,
};
use crate::robot::{ActuatorProperties, FileActuator, FileJoint, JointId, Robot};
use crate::study::Check;

/// A planar four-bar, where it moves, and its verdict.
#[derive(Clone, Copy)]
pub(in crate::handover) struct Plane<'a> {
    pub(in crate::handover) reach: &'a Reach,
    pub(in crate::handover) judged: &'a Judged,
}

/// How a loop moves.
#[derive(Clone, Copy)]
pub(in crate::handover) enum Motion<'a> {
    /// As a planar four-bar.
    Plane(Plane<'a>),
    /// As a drive of another kind, with its verdict.
    Space(&'a LoopDrive, &'a JudgedDrive),
}

/// A loop of a robot file, and what is asked to stand in its place.
#[derive(Clone, Copy)]
pub(in crate::handover) struct FileDrive<'a> {
    pub(in crate::handover) robot: &'a Robot,
    /// Of the robot.
    pub(in crate::handover) bodies: &'a Bodies,
    pub(in crate::handover) four_bar: &'a FourBarLoop,
    pub(in crate::handover) motion: Motion<'a>,
    pub(in crate::handover) driven: &'a FileJoint,
    /// The crank's joint, which is the motor's unless that sits on the child; of a jaw the driven joint as well.
    pub(in crate::handover) motor: &'a FileJoint,
    pub(in crate::handover) form: Form,
    pub(in crate::handover) limits: LimitBasis,
}

impl<'a> FileDrive<'a> {
    /// `None` of a drive that is no planar four-bar.
    pub(in crate::handover) fn plane(&self) -> Option<Plane<'a>> {
        match self.motion {
            Motion::Plane(plane) => Some(plane),
            Motion::Space(..) => None,
        }
    }

    /// The verdict.
    pub(in crate::handover) fn check(&self) -> &'a Check {
        match self.motion {
            Motion::Plane(plane) => &plane.judged.check,
            Motion::Space(_, judged) => &judged.check,
        }
    }

    /// The motor's.
    pub(in crate::handover) fn motor_joint(&self) -> Option<JointId> {
        match self.motion {
            Motion::Plane(_) => self.four_bar.motor(),
            Motion::Space(found, _) => found.motor,
        }
    }

    /// The motor sits on the child's own joint, where it stays.
    pub(in crate::handover) fn is_childs(&self) -> bool {
        self.four_bar.roles.seat == MotorSeat::Child
    }

    /// The coupler is what is carried: its crank stays with its motor.
    pub(in crate::handover) fn is_jaw(&self) -> bool {
        self.four_bar.is_jaw()
    }

    /// The motor, and what speaks of its joint, moves to the driven joint.
    pub(in crate::handover) fn motor_moves(&self) -> bool {
        self.form == Form::Direct && !self.is_childs() && !self.is_jaw()
    }

    /// The actuators of the motor's joint.
    pub(in crate::handover) fn actuators(
        &self,
    ) -> impl Iterator<Item = &'a FileActuator> + use<'a> {
        self.motor_joint().into_iter().flat_map(|motor| self.robot.actuators_of(motor))
    }

    /// Armature or damping of these, behind their gears.
    pub(in crate::handover) fn on_actuators(
        &self,
        figure: fn(&ActuatorProperties) -> Option<f64>,
    ) -> f64 {
        self.actuators().filter_map(|actuator| actuator.at_joint(figure)).sum()
    }

    /// The relation of crank and joint that the file gets: the polynomial, from both joints' `drawn_at`, or the direct
    /// joint's line.
    ///
    /// # Errors
    /// A dead point inside the stroke.
    pub(in crate::handover) fn coupled(&self) -> Result<Coupled, EmitFault> {
        let plane = self.plane().ok_or(EmitFault::NoRatio)?;
        let Judged { design, mechanism, check, .. } = plane.judged;
        let readings = figures::readings_of(self, plane);
        let ask = Ask::new(Form::Coupled, self.robot.format);
        if !ask.format.holds_polynomials() {
            return Ok(Coupled::straight(check, readings));
        }
        let coupling = fit(&Request { design, mechanism, check, ask }, Fit::Balanced)?;
        let from = [self.driven.drawn_at, self.motor.drawn_at];
        Ok(Coupled::curved(check, readings, &coupling, from))
    }
}
