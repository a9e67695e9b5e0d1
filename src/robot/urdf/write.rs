//! URDF: `limit` with effort and velocity is required for a revolute joint, `dynamics` must not be
//! empty, there is no armature.

use crate::robot::figures::{self, Figures};
use crate::robot::markup::{Element, Node, document};
use crate::robot::{
    BorneJoint, DrivenJoint, Inertial, Link, Mimic, Model, Motion, MotorSide, TreeJoint,
};

/// What URDF cannot hold, said in the file.
pub(in crate::robot) const REMARKS: &[&str] = &[
    "URDF holds no armature and no controller gains: they stand in the JSON beside this file.",
    "Do not hide the armature in a link's inertia: that is wrong as soon as the parent link moves.",
];

/// What a user has to know who pastes a snippet.
pub(in crate::robot) const SNIPPET_REMARKS: &[&str] = &[
    "A snippet: paste its elements into the <robot> element of your own file; take the old joint out.",
    "The child link's frame must lie on the joint axis, aligned with the parent link's frame at reading 0.",
];

/// The joints alone, for somebody's own file.
pub(in crate::robot) fn snippet(model: &Model) -> String {
    figures::snippet(model, joint, motor_side, borne)
}

/// A file that loads by itself: each carrier fixed to `world`, each child on its joint.
pub(in crate::robot) fn whole(model: &Model) -> String {
    let mut robot = Element::new("robot")
        .with("name", model.name.as_str())
        .holding(Element::new("link").with("name", "world"));
    for carrier in &model.carriers {
        robot = robot.holding(link(carrier)).holding(weld(&carrier.name));
    }
    for driven in &model.joints {
        robot = robot
            .holding_all(driven.child.iter().map(|child| link(child).into()))
            .holding_all(joint(&driven.joint))
            .holding_all(driven.motor_side.iter().flat_map(motor_side))
            .holding_all(borne(driven));
    }
    document(&[Node::Comment(model.head.clone()), robot.into()])
}

/// The crank on its joint; a rod that closes a loop has no place in URDF and is left out.
fn motor_side(side: &MotorSide) -> Vec<Node> {
    let [remarks, crank] = joint(&side.crank);
    let mut nodes = vec![remarks, link(&side.link).into(), crank];
    if let Some(rotor) = &side.rotor {
        let [remarks, hinge] = joint(&rotor.joint);
        nodes.extend([remarks, link(&rotor.link).into(), hinge]);
    }
    nodes
}

/// What else moves with the joint; what closes a loop has no place here.
fn borne(driven: &DrivenJoint) -> Vec<Node> {
    let one = |other: &BorneJoint| {
        let link = other.link.iter().map(|own| link(own).into());
        link.chain(joint(&other.joint)).collect::<Vec<_>>()
    };
    driven.others.iter().flat_map(one).collect()
}

fn joint(joint: &TreeJoint) -> [Node; 2] {
    let kind = match (joint.motion, joint.properties.limit) {
        (Motion::Slide, _) => "prismatic",
        // No file of a ball is asked for in this format.
        (Motion::Ball, _) => "floating",
        (Motion::Turn, Some(_)) => "revolute",
        (Motion::Turn, None) => "continuous",
    };
    let element = Element::new("joint")
        .with("name", joint.name.as_str())
        .with("type", kind)
        .holding(Element::new("parent").with("link", joint.parent.as_str()))
        .holding(Element::new("child").with("link", joint.child.as_str()))
        .holding(origin(&joint.origin))
        .holding(Element::new("axis").with_numbers("xyz", &joint.axis))
        .holding_all(Figures::Attributes.limit(&joint.properties))
        .holding_all(Figures::Attributes.dynamics(&joint.properties))
        .holding_all(joint.properties.mimic.as_ref().map(mimic));
    [Node::Comment(joint.remarks.clone()), element.into()]
}

fn mimic(mimic: &Mimic) -> Node {
    let element = Element::new("mimic")
        .with("joint", mimic.leader.as_str())
        .with_numbers("multiplier", &[mimic.multiplier])
        .with_numbers("offset", &[mimic.offset]);
    element.into()
}

fn origin(xyz: &[f64; 3]) -> Element {
    Element::new("origin").with_numbers("xyz", xyz).with("rpy", "0 0 0")
}

fn weld(carrier: &str) -> Element {
    Element::new("joint")
        .with("name", format!("world_to_{carrier}"))
        .with("type", "fixed")
        .holding(Element::new("parent").with("link", "world"))
        .holding(Element::new("child").with("link", carrier))
}

fn link(link: &Link) -> Element {
    Element::new("link").with("name", link.name.as_str()).holding(inertial(&link.inertial))
}

fn inertial(body: &Inertial) -> Element {
    Element::new("inertial")
        .holding(origin(&body.center))
        .holding(Element::new("mass").with_numbers("value", &[body.mass]))
        .holding(Figures::Attributes.inertia(body))
}
