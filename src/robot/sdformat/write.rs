//! SDFormat 1.7 and later: the joint's place and axis are both said in the parent link's frame
//! (`relative_to`, `expressed_in`), which no default of 1.7 to 1.12 changes; there is no armature.

use crate::robot::figures::{self, Figures};
use crate::robot::markup::{Element, Node, document};
use crate::robot::{
    BorneJoint, DrivenJoint, Inertial, Link, Mimic, Model, Motion, MotorSide, Tie, TreeJoint,
};

/// What SDFormat cannot hold, said in the file.
pub(in crate::robot) const REMARKS: &[&str] = &[
    "SDFormat 1.7 or later (a mimic joint: 1.11). It holds no armature and no controller gains: they stand in the JSON beside this file.",
    "Do not hide the armature in a link's inertia: that is wrong as soon as the parent link moves.",
];

/// What becomes of a closed loop.
pub(in crate::robot) const LOOP_REMARKS: &[&str] = &[
    "The child link has more than one parent: many engines refuse such a loop, or leave it open.",
];

/// What a user has to know who pastes a snippet.
pub(in crate::robot) const SNIPPET_REMARKS: &[&str] = &[
    "A snippet: paste its elements into the <model> element of your own file; take the old joint out.",
    "The two links must stand in your file as they stand to each other at reading 0: aligned, the child's frame on the joint axis.",
];

/// The joints alone, for somebody's own file.
pub(in crate::robot) fn snippet(model: &Model) -> String {
    figures::snippet(model, joint, motor_side, borne)
}

/// A file that loads by itself: each carrier fixed to the world, each child on its joint.
pub(in crate::robot) fn whole(model: &Model) -> String {
    let mut body = Element::new("model").with("name", model.name.as_str());
    for carrier in &model.carriers {
        body = body.holding(link(carrier, None)).holding(weld(&carrier.name));
    }
    for driven in &model.joints {
        let child = driven.child.iter().map(|child| link(child, Some(&driven.joint)).into());
        let side = driven.motor_side.iter().flat_map(motor_side);
        body = body.holding_all(child).holding_all(joint(&driven.joint)).holding_all(side);
        body = body.holding_all(borne(driven));
    }
    let root = Element::new("sdf").with("version", version(model)).holding(body);
    document(&[Node::Comment(model.head.clone()), root.into()])
}

/// `mimic` came with 1.11.
fn version(model: &Model) -> &'static str {
    let mut sides = model.joints.iter().filter_map(|d| d.motor_side.as_ref());
    let follows = |side: &MotorSide| side.crank.properties.mimic.is_some() || side.rotor.is_some();
    let mut others = model.joints.iter().flat_map(|d| &d.others);
    let is_tied = sides.any(follows) || others.any(|o| o.joint.properties.mimic.is_some());
    if is_tied { "1.11" } else { "1.7" }
}

/// What else moves with the joint, and what closes loops among that: a second joint of its child.
fn borne(driven: &DrivenJoint) -> Vec<Node> {
    let one = |other: &BorneJoint| {
        let link = other.link.iter().map(|own| link(own, Some(&other.joint)).into());
        link.chain(joint(&other.joint)).collect::<Vec<_>>()
    };
    let pins = driven.pins.iter().flat_map(|pin| joint(&pin.end));
    driven.others.iter().flat_map(one).chain(pins).collect()
}

/// The crank on its joint, and the rod with its two joints where the loop is kept: its far end is the child's second
/// parent.
fn motor_side(side: &MotorSide) -> Vec<Node> {
    let mut nodes = vec![link(&side.link, Some(&side.crank)).into()];
    nodes.extend(joint(&side.crank));
    if let Tie::Rod(rod) = &side.tie {
        nodes.push(link(&rod.link, Some(&rod.joint)).into());
        nodes.extend(joint(&rod.joint));
        nodes.extend(joint(&rod.end));
    }
    if let Some(rotor) = &side.rotor {
        nodes.push(link(&rotor.link, Some(&rotor.joint)).into());
        nodes.extend(joint(&rotor.joint));
    }
    nodes
}

fn joint(joint: &TreeJoint) -> [Node; 2] {
    let kind = match joint.motion {
        Motion::Turn => "revolute",
        Motion::Slide => "prismatic",
        Motion::Ball => "ball",
    };
    let element = Element::new("joint")
        .with("name", joint.name.as_str())
        .with("type", kind)
        .holding(pose(&joint.origin).with("relative_to", joint.parent.as_str()))
        .holding(Element::text("parent", joint.parent.as_str()))
        .holding(Element::text("child", joint.child.as_str()))
        .holding_all((joint.motion != Motion::Ball).then(|| axis(joint).into()));
    [Node::Comment(joint.remarks.clone()), element.into()]
}

fn axis(joint: &TreeJoint) -> Element {
    let xyz = Element::numbers("xyz", &joint.axis).with("expressed_in", joint.parent.as_str());
    Element::new("axis")
        .holding(xyz)
        .holding_all(Figures::Children.limit(&joint.properties))
        .holding_all(Figures::Children.dynamics(&joint.properties))
        .holding_all(joint.properties.mimic.as_ref().map(mimic))
}

/// The reference is 0: reading = multiplier · leader's reading + offset.
fn mimic(mimic: &Mimic) -> Node {
    let figures = [("multiplier", mimic.multiplier), ("offset", mimic.offset), ("reference", 0.0)];
    let element = Element::new("mimic").with("joint", mimic.leader.as_str()).with("axis", "axis");
    Figures::Children.put(element, figures.map(|(key, x)| (key, Some(x)))).into()
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

fn link(link: &Link, at: Option<&TreeJoint>) -> Element {
    let place = at.map(|j| pose(&j.origin).with("relative_to", j.parent.as_str()).into());
    Element::new("link")
        .with("name", link.name.as_str())
        .holding_all(place)
        .holding(inertial(&link.inertial))
}

fn inertial(body: &Inertial) -> Element {
    Element::new("inertial")
        .holding(pose(&body.center))
        .holding(Element::numbers("mass", &[body.mass]))
        .holding(Figures::Children.inertia(body))
}
