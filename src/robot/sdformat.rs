//! SDFormat 1.7 and later: the joint's place and axis are both said in the parent link's frame
//! (`relative_to`, `expressed_in`), which no default of 1.7 to 1.12 changes; there is no armature.

use super::markup::{Element, Node, document, fragment};
use super::{Inertial, Link, Model, RevoluteJoint};

/// What SDFormat cannot hold, said in the file.
pub const REMARKS: &[&str] = &[
    "SDFormat 1.7 or later. It holds no armature and no controller gains: they stand in the JSON beside this file.",
    "Do not hide the armature in a link's inertia: that is wrong as soon as the parent link moves.",
];

/// What a user has to know who pastes a snippet.
pub const SNIPPET_REMARKS: &[&str] = &[
    "A snippet: paste each <joint> inside the <model> element of your own file, in place of the old one.",
    "The two links must stand in your file as they stand to each other at reading 0: aligned, the child's",
    "frame on the joint axis.",
];

/// The joints alone, for somebody's own file.
#[must_use]
pub fn snippet(model: &Model) -> String {
    let mut nodes = vec![Node::Comment(model.head.clone())];
    for driven in &model.joints {
        nodes.extend(joint(&driven.joint));
    }
    fragment(&nodes)
}

/// A file that loads by itself: each carrier fixed to the world, each child on its joint.
#[must_use]
pub fn whole(model: &Model) -> String {
    let mut body = Element::new("model").with("name", model.name.as_str());
    for carrier in &model.carriers {
        body = body.holding(link(carrier, None)).holding(weld(&carrier.name));
    }
    for driven in &model.joints {
        let child = driven.child.iter().map(|child| link(child, Some(&driven.joint)).into());
        body = body.holding_all(child).holding_all(joint(&driven.joint));
    }
    let root = Element::new("sdf").with("version", "1.7").holding(body);
    document(&[Node::Comment(model.head.clone()), root.into()])
}

fn joint(joint: &RevoluteJoint) -> [Node; 2] {
    let element = Element::new("joint")
        .with("name", joint.name.as_str())
        .with("type", "revolute")
        .holding(pose(&joint.origin).with("relative_to", joint.parent.as_str()))
        .holding(Element::text("parent", joint.parent.as_str()))
        .holding(Element::text("child", joint.child.as_str()))
        .holding(axis(joint));
    [Node::Comment(joint.remarks.clone()), element.into()]
}

fn axis(joint: &RevoluteJoint) -> Element {
    let xyz = Element::numbers("xyz", &joint.axis).with("expressed_in", joint.parent.as_str());
    Element::new("axis").holding(xyz).holding(limit(joint)).holding_all(dynamics(joint))
}

fn limit(joint: &RevoluteJoint) -> Element {
    let [low, high] = joint.limit;
    Element::new("limit")
        .holding(Element::numbers("lower", &[low]))
        .holding(Element::numbers("upper", &[high]))
        .holding_all(known("effort", joint.effort))
        .holding_all(known("velocity", joint.velocity))
}

fn dynamics(joint: &RevoluteJoint) -> Option<Node> {
    joint.damping.or(joint.friction)?;
    let element = Element::new("dynamics")
        .holding_all(known("damping", joint.damping))
        .holding_all(known("friction", joint.friction));
    Some(element.into())
}

fn known(name: &'static str, value: Option<f64>) -> Option<Node> {
    Some(Element::numbers(name, &[value?]).into())
}

fn pose(xyz: &[f64; 3]) -> Element {
    let [x, y, z] = *xyz;
    Element::numbers("pose", &[x, y, z, 0.0, 0.0, 0.0])
}

fn weld(carrier: &str) -> Element {
    Element::new("joint")
        .with("name", format!("world_to_{carrier}"))
        .with("type", "fixed")
        .holding(Element::text("parent", "world"))
        .holding(Element::text("child", carrier))
}

fn link(link: &Link, at: Option<&RevoluteJoint>) -> Element {
    let place = at.map(|j| pose(&j.origin).with("relative_to", j.parent.as_str()).into());
    Element::new("link")
        .with("name", link.name.as_str())
        .holding_all(place)
        .holding(inertial(&link.inertial))
}

fn inertial(body: &Inertial) -> Element {
    let [xx, yy, zz, xy, xz, yz] = body.tensor;
    let mut inertia = Element::new("inertia");
    for (key, value) in
        [("ixx", xx), ("ixy", xy), ("ixz", xz), ("iyy", yy), ("iyz", yz), ("izz", zz)]
    {
        inertia = inertia.holding(Element::numbers(key, &[value]));
    }
    Element::new("inertial")
        .holding(pose(&body.center))
        .holding(Element::numbers("mass", &[body.mass]))
        .holding(inertia)
}
