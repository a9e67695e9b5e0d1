//! What URDF and SDFormat have in the same order, with figures that both name alike and write differently.

use super::description::{DrivenJoint, Model, MotorSide, TreeJoint};
use super::markup::{Element, Node, fragment};
use super::properties::{Inertial, JointProperties};

/// The joints alone, each with its remarks before it, and the drive's own parts behind it.
pub(super) fn snippet(
    model: &Model,
    joint: fn(&TreeJoint) -> [Node; 2],
    motor_side: fn(&MotorSide) -> Vec<Node>,
    others: fn(&DrivenJoint) -> Vec<Node>,
) -> String {
    let mut nodes = vec![Node::Comment(model.head.clone())];
    for driven in &model.joints {
        nodes.extend(joint(&driven.joint));
        nodes.extend(driven.motor_side.iter().flat_map(motor_side));
        nodes.extend(others(driven));
    }
    fragment(&nodes)
}

/// Where the figures of an element stand.
#[derive(Clone, Copy)]
pub(super) enum Figures {
    /// Each in an attribute: URDF.
    Attributes,
    /// Each in a child of its own: SDFormat.
    Children,
}

impl Figures {
    /// The element with those figures that are known.
    pub(super) fn put<const N: usize>(
        self,
        element: Element,
        figures: [(&'static str, Option<f64>); N],
    ) -> Element {
        let known = figures.into_iter().filter_map(|(key, value)| Some((key, value?)));
        known.fold(element, |element, (key, value)| match self {
            Self::Attributes => element.with_numbers(key, &[value]),
            Self::Children => element.holding(Element::numbers(key, &[value])),
        })
    }

    /// None where the joint turns freely; in SDFormat a free joint may have bounds alone.
    pub(super) fn limit(self, joint: &JointProperties) -> Option<Node> {
        let [low, high] = [0, 1].map(|end: usize| joint.limit.and_then(|l| l.get(end).copied()));
        let bounds = [("effort", joint.effort), ("velocity", joint.velocity)];
        match self {
            Self::Attributes => joint.limit.map(|_| ())?,
            Self::Children => low.or(joint.effort).or(joint.velocity).map(|_| ())?,
        }
        let ends = [("lower", low), ("upper", high)];
        Some(self.put(self.put(Element::new("limit"), ends), bounds).into())
    }

    /// None where neither figure is known: an empty element is an error in URDF.
    pub(super) fn dynamics(self, joint: &JointProperties) -> Option<Node> {
        joint.damping.or(joint.friction)?;
        let losses = [("damping", joint.damping), ("friction", joint.friction)];
        Some(self.put(Element::new("dynamics"), losses).into())
    }

    pub(super) fn inertia(self, body: &Inertial) -> Element {
        let [xx, yy, zz, xy, xz, yz] = body.tensor.map(Some);
        let rows = [("ixx", xx), ("ixy", xy), ("ixz", xz), ("iyy", yy), ("iyz", yz), ("izz", zz)];
        self.put(Element::new("inertia"), rows)
    }
}
