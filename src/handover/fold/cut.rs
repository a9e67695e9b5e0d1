//! What goes out of a file and what takes its part: all that the edits of the rest of the file need to know.

use std::borrow::Cow;

use super::gone::Gone;
use super::seen::Seen;
use super::{FoldFault, FoldOptions};
use crate::handover::find::{Bodies, LoopPin};
use crate::handover::stand_in::in_file::bodies::NewBodies;
use crate::robot::{Document, Element, FileActuator, FileJoint, Format, JointId, LinkId, Robot};

/// Of one fold.
#[derive(Clone)]
pub(super) struct Cut<'a> {
    pub(super) robot: &'a Robot,
    /// Of the robot.
    pub(super) bodies: &'a Bodies,
    /// The file that was named, which alone is changed.
    pub(super) document: &'a Document,
    pub(super) options: FoldOptions,
    pub(super) gone: Gone,
    pub(super) new: NewBodies,
    /// The bodies that are looked through for what is not the linkage's own.
    pub(super) parts: Vec<Part<'a>>,
    /// The motors whose actuators act on something else now.
    pub(super) motors: Vec<MovedMotor<'a>>,
}

/// A body of a ring that goes.
#[derive(Clone, Copy)]
pub(super) struct Part<'a> {
    /// Which of the ring: 1 next to the carrier.
    pub(super) at: usize,
    pub(super) body: LinkId,
    /// Of the ring, from the carrier on.
    pub(super) pins: &'a [LoopPin],
    /// The link that the pins name.
    pub(super) bar: Option<LinkId>,
}

/// A motor whose joint goes.
#[derive(Clone)]
pub(super) struct MovedMotor<'a> {
    pub(super) id: JointId,
    /// Its joint as it was.
    pub(super) joint: &'a FileJoint,
    pub(super) onto: Onto<'a>,
    /// What its actuators see there.
    pub(super) seen: Seen,
}

/// What a motor's actuators act on now.
#[derive(Clone)]
pub(super) enum Onto<'a> {
    /// Another joint.
    Joint(&'a FileJoint),
    /// A tendon of this name.
    Tendon(String),
}

impl<'a> MovedMotor<'a> {
    /// The joint that takes its part.
    pub(super) fn driven(&self) -> Option<&'a FileJoint> {
        match self.onto {
            Onto::Joint(joint) => Some(joint),
            Onto::Tendon(_) => None,
        }
    }

    /// It reads what it read, so that whatever read the one may read the other.
    pub(super) fn reads_the_same(&self) -> bool {
        let [slope, shift] = self.seen.line;
        (slope - 1.0).abs() < 1e-12 && shift.abs() <= 0.0
    }

    /// Its actuators.
    pub(super) fn actuators(
        &self,
        robot: &'a Robot,
    ) -> impl Iterator<Item = &'a FileActuator> + use<'a> {
        let id = self.id;
        robot.actuators.iter().filter(move |actuator| actuator.joint == id)
    }
}

impl<'a> Cut<'a> {
    /// The motors whose part another joint takes, with that.
    pub(super) fn on_joints(
        &self,
    ) -> impl Iterator<Item = (&MovedMotor<'a>, &'a FileJoint)> + use<'_, 'a> {
        let named = self.motors.iter().filter(|motor| !motor.joint.name.is_empty());
        named.filter_map(|motor| Some((motor, motor.driven()?)))
    }

    /// Does the MJCF file write angles in degrees?
    pub(super) fn is_in_degrees(&self) -> bool {
        self.setting("compiler", "angle").is_none_or(|angle| angle != "radian")
    }

    /// What the last of the MJCF files' elements of this name says.
    pub(super) fn setting(&self, element: &str, key: &str) -> Option<Cow<'_, str>> {
        let documents = self.robot.documents.iter();
        let elements = documents.flat_map(|document| document.root().descendants());
        elements.filter(|e| e.name() == element).filter_map(|e| e.value(key)).last()
    }

    /// What makes an engine weigh the links otherwise than an `inertial` of theirs says, so that none can be written.
    pub(super) fn masses_of_the_engine(&self) -> Option<FoldFault> {
        let root = |document: &'a Document| document.root().descendants();
        let compilers =
            self.robot.documents.iter().flat_map(root).filter(|e| e.name() == "compiler");
        let overrules = |element: &Element<'_>| {
            let total = element.value("settotalmass").and_then(|total| total.parse::<f64>().ok());
            total.is_some_and(|total| total > 0.0)
                || element.value("inertiafromgeom").is_some_and(|from| from == "true")
        };
        let compiler =
            compilers.filter(overrules).last().filter(|_| self.robot.format == Format::Mjcf)?;
        let message =
            "the compiler makes the masses itself, whatever the fold writes into the links";
        let help = "write each body's own mass and take inertiafromgeom=\"true\" and settotalmass out, then fold";
        let fault = FoldFault::at(compiler, message, help);
        let document = compiler.document();
        let is_own = std::ptr::eq(document, self.document);
        Some(if is_own { fault } else { FoldFault::elsewhere(document, &fault.diagnostic) })
    }

    /// The line of the file on which an element begins.
    pub(super) fn line(&self, element: Element<'_>) -> usize {
        element.document().line_column(element.range().start).0
    }
}
