//! How two bodies may turn against each other at a pin.

use std::f64::consts::PI;

use nalgebra::Vector3;

use super::pins::LoopPin;
use crate::robot::{FileJoint, JointKind, Robot};

/// Axes that differ by less count as parallel, rad.
pub(super) const PARALLEL: f64 = 0.1 * PI / 180.0;

/// Two hinges are crossed where their axes are this far from parallel, rad.
const CROSSED: f64 = 5.0 * PI / 180.0;

/// How two bodies may turn against each other at a pin.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Freedom {
    /// About one axis.
    Hinge(Vector3<f64>),
    /// About two axes through one point: that of the body before, and that of the body behind.
    Crossed([Vector3<f64>; 2]),
    /// About all.
    Ball,
    /// As nothing that a rod hangs on.
    Other,
}

impl Freedom {
    pub(super) fn of(robot: &Robot, pin: &LoopPin) -> Self {
        let joints: Option<Vec<&FileJoint>> =
            pin.joints.iter().map(|id| robot.joints.get(*id)).collect();
        let joints = joints.unwrap_or_default();
        match (joints.as_slice(), pin.closures.len(), pin.axis) {
            ([], 1, _) => Self::Ball,
            ([], 2, Some(axis)) => Self::Hinge(axis),
            ([one], 0, _) => match (one.kind, pin.axis) {
                (JointKind::Ball, _) => Self::Ball,
                (JointKind::Universal, _) => Self::crossed([one.axis, one.second_axis], one, pin),
                (JointKind::Revolute, Some(axis)) => Self::Hinge(axis),
                _ => Self::Other,
            },
            (several, 0, _) => Self::of_hinges(several, pin),
            _ => Self::Other,
        }
    }

    /// Hinges one after the other.
    fn of_hinges(joints: &[&FileJoint], pin: &LoopPin) -> Self {
        let are_hinges = joints.iter().all(|joint| joint.kind == JointKind::Revolute);
        let anchor = joints.first().map(|joint| joint.anchor);
        let meet = joints.iter().all(|j| anchor.is_some_and(|at| (j.anchor - at).norm() < 1e-6));
        if !are_hinges || !meet {
            return Self::Other;
        }
        match joints {
            [a, b] => Self::crossed([a.axis, b.axis], a, pin),
            _ => Self::Other,
        }
    }

    /// About the two axes of `first`, or of it and the one behind it.
    fn crossed([a, b]: [Vector3<f64>; 2], first: &FileJoint, pin: &LoopPin) -> Self {
        if a.cross(&b).norm() <= CROSSED.sin() {
            return Self::Other;
        }
        // Walked against the file's order the second is the one on the body before.
        let is_along = first.parent == pin.links[0];
        Self::Crossed(if is_along { [a, b] } else { [b, a] })
    }

    pub(super) fn turns(&self) -> u32 {
        match self {
            Self::Hinge(_) => 1,
            Self::Crossed(_) => 2,
            Self::Ball => 3,
            Self::Other => 0,
        }
    }

    /// A turn about `axis` is among them.
    pub(super) fn turns_about(&self, axis: &Vector3<f64>) -> bool {
        let is_it = |own: &Vector3<f64>| own.cross(axis).norm() < PARALLEL;
        match self {
            Self::Hinge(own) => is_it(own),
            Self::Crossed(both) => both.iter().any(is_it),
            Self::Ball => true,
            Self::Other => false,
        }
    }
}
