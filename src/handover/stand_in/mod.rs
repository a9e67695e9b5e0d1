//! What stands in a robot file in the linkage's place?
//!
//! Worked out once, from a drive × a form × what the format can hold: `emit` writes it, `fold` applies it as edits,
//! `compare` holds it against a file, NAME.joint.json prints it.

mod additions;
mod ask;
pub(super) mod bodies;
pub(super) mod coupling;
pub(super) mod crank;
mod draws;
pub(super) mod figures;
mod form;
pub(super) mod frames;
pub(super) mod in_file;
pub(super) mod jaw;
pub(super) mod joint;
pub(super) mod limits;
pub(super) mod link_frame;
pub(super) mod one_joint;
pub(super) mod plan;
pub(super) mod two_joints;

use super::engine::EngineVersion;
use crate::design::{Design, Geometry, RobotJoint};
use crate::dynamics::Coupling;
use crate::study::Check;

pub use ask::{ActuatorUnits, Ask, LimitBasis};
pub use bodies::FitCost;
pub(super) use coupling::Coupled;
pub use coupling::Quartic;
pub(super) use draws::Draws;
pub use figures::{Envelope, JointFigures, JointRow, Readings};
pub use form::Form;
pub(super) use jaw::Jaw;
pub use limits::{JointLimit, LimitSetBy};
pub(super) use one_joint::MotorEnd;
pub(super) use plan::Plan;
pub use two_joints::TwoJointsAsked;

/// A drive as it is drawn, what was found of it, and what is asked; of a planar four-bar where nothing else is said.
pub(super) struct Request<'a, G: Draws = Geometry> {
    pub(super) design: &'a Design<G>,
    pub(super) mechanism: &'a G::Moving,
    pub(super) check: &'a Check,
    pub(super) ask: Ask,
}

impl<G: Draws> Clone for Request<'_, G> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<G: Draws> Copy for Request<'_, G> {}

impl<G: Draws> Request<'_, G> {
    /// The engine version that the MJCF file is for.
    pub(super) fn engine(&self) -> EngineVersion {
        let oldest = match self.ask.form {
            Form::Loop => EngineVersion::LOOPS_BY_SITES,
            Form::Direct | Form::Coupled => EngineVersion::OLDEST,
        };
        self.ask.engine.unwrap_or(oldest)
    }

    /// The reading at which a file draws the driven joint, where the format has one: a whole model that keeps the crank is
    /// drawn in the zero pose.
    pub(super) fn joint_drawn_at(&self) -> f64 {
        let ask = self.ask;
        let in_zero_pose = ask.form.keeps_crank() && ask.whole && ask.format.holds_drawn_readings();
        if in_zero_pose { self.design.joint_reads } else { 0.0 }
    }

    /// The joint turn of a motor turn from the zero pose, rad.
    pub(super) fn through(&self) -> impl Fn(f64) -> Option<f64> {
        |motor| G::joint_turn(self.mechanism, motor)
    }
}

/// What stands in for the drive on one `[[robot]]`.
pub(super) struct StandIn<'a> {
    pub(super) robot: &'a RobotJoint,
    pub(super) figures: JointFigures,
    /// What the linkage's parts add to the links, and what stays of its own.
    pub(super) plan: Plan,
    /// Of crank and joint, in the coupled form.
    pub(super) coupling: Option<Coupling>,
    /// A gripper's fingers.
    pub(super) jaw: Option<Jaw>,
    /// The motor's side of a drive that is no four-bar, where the file keeps it.
    pub(super) motor: Option<MotorEnd>,
}

impl StandIn<'_> {
    /// The relation of crank and joint that the file holds, in the coupled form.
    pub(super) fn coupled<G: Draws>(&self, request: &Request<'_, G>) -> Option<Coupled> {
        Some(Coupled::new(request, &self.figures, self.coupling.as_ref()?))
    }
}
