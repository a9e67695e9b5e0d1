//! Carrier, middle link and child of a whole file, each in its own frame.

use nalgebra::{Isometry3, Matrix3, Vector3};

use super::TwoJointsAsked;
use crate::design::TwoJointRobot;
use crate::dynamics::{Body, Inertia, Moments, TwoJointParts, TwoJointTree};
use crate::handover::Form;
use crate::handover::fault::EmitFault;
use crate::handover::link_moments::inertial;
use crate::robot::Link;

/// The three links of two joints.
pub(super) struct ThreeLinks {
    pub(super) carrier: Link,
    pub(super) middle: Link,
    pub(super) child: Link,
}

/// A middle link that the design says nothing of has this share of the child's mass.
const LIGHT: f64 = 1e-3;

/// Its radius of gyration, m.
const SMALL: f64 = 0.01;

/// A middle link is never without mass: engines refuse it, or turn it without bound.
pub(in crate::handover) fn stated_middle(child: &Body, at: Vector3<f64>) -> Body {
    let mass = LIGHT * child.mass;
    let tensor = Matrix3::identity() * (mass * SMALL * SMALL);
    Body { mass, centre: at, inertia: Inertia::Tensor(tensor) }
}

impl TwoJointsAsked<'_> {
    /// The links with what the drive's parts add to them; in a loop as they are.
    pub(super) fn links(
        &self,
        robot: &TwoJointRobot,
        tree: &TwoJointTree,
    ) -> Result<ThreeLinks, Vec<EmitFault>> {
        let Some(parts) = self.parts else { return Err(self.mass_faults()) };
        let [middle_frame, child_frame] = self.frames();
        let [carrier, middle, child] = self.weighed(parts, tree);
        Ok(ThreeLinks {
            carrier: link(&robot.parent, &carrier, &Isometry3::identity())?,
            middle: link(&robot.middle, &middle, &middle_frame)?,
            child: link(&robot.child, &child, &child_frame)?,
        })
    }
}

impl TwoJointsAsked<'_> {
    /// Carrier, middle link and child about the origin of the carrier's frame, in the zero pose.
    pub(in crate::handover) fn weighed(
        &self,
        parts: &TwoJointParts,
        tree: &TwoJointTree,
    ) -> [Moments; 3] {
        let [middle_frame, _] = self.frames();
        let given = parts
            .middle
            .unwrap_or_else(|| stated_middle(&parts.child, middle_frame.translation.vector));
        if self.ask.form == Form::Loop {
            let carrier = parts.carrier.as_ref().map(Moments::from).unwrap_or_default();
            return [carrier - self.rotors_moved(), (&given).into(), (&parts.child).into()];
        }
        let stated =
            if parts.middle.is_none() { Moments::from(&given) } else { Moments::default() };
        [tree.carrier, tree.middle + stated, tree.child]
    }
}

/// A link with `moments` about the carrier frame's origin, its frame at `frame` there.
pub(super) fn link(
    name: &str,
    moments: &Moments,
    frame: &Isometry3<f64>,
) -> Result<Link, Vec<EmitFault>> {
    let own = moments.seen_from(&frame.inverse());
    if own.body().check().is_err() {
        return Err(vec![EmitFault::NoRealLink { link: name.to_owned() }]);
    }
    Ok(Link { name: name.to_owned(), inertial: inertial(&own) })
}
