//! MJCF: `range` is in the unit of the model's compiler (degree by default), an actuator's force and
//! control ranges are before its gear, the armature is at the joint, there is no speed limit.
//!
//! A snippet is written in radians. Read as degrees by mistake it locks the joint, which is seen at
//! once; degrees read as radians would take the limits away without a word.
//!
//! A snippet is a fragment: for each joint one `<joint>`, for the child's body, then one `<actuator>`
//! section, for the root element. All limits are switched on by name, so that the model's
//! `autolimits` does not matter.

use super::markup::{Element, Node, document, fragment, number};
use super::{Actuator, DrivenJoint, Inertial, Link, Model, RevoluteJoint, Servo};

/// What MJCF cannot hold, said in the file.
pub const REMARKS: &[&str] =
    &["MJCF holds no speed limit of a joint: it stands in the JSON beside this file."];

/// What a user has to know who pastes a snippet.
pub const SNIPPET_REMARKS: &[&str] = &[
    "A snippet IN RADIANS: your model needs <compiler angle=\"radian\"/>. The default is degree; there",
    "convert each joint's range (the figures in degrees stand above the joint).",
    "Paste each <joint> inside its child's <body> and the <actuator> section inside <mujoco>.",
    "The child's body must be drawn at reading 0, aligned with its parent's frame.",
];

/// The joints and their actuators alone, for somebody's own file.
#[must_use]
pub fn snippet(model: &Model) -> String {
    let mut nodes = vec![Node::Comment(model.head.clone())];
    for driven in &model.joints {
        let mut remarks = paste_remarks(&driven.joint);
        remarks.extend(driven.joint.remarks.iter().cloned());
        nodes.push(Node::Comment(remarks));
        nodes.push(joint(&driven.joint).into());
    }
    nodes.push(actuators(&model.joints).into());
    fragment(&nodes)
}

/// The fixed body that bears the carriers where there are several.
pub const BASE: &str = "fixed_base";

/// A file that loads by itself: each carrier fixed to the world, each child on its joint.
///
/// Several carriers hang on one fixed body: some readers (Pinocchio 4.1.0) take the world's first body only.
#[must_use]
pub fn whole(model: &Model) -> String {
    let carriers = model.carriers.iter().map(|carrier| {
        let children = (model.joints.iter()).filter(|d| d.joint.parent == carrier.name);
        carrier_body(carrier).holding_all(children.map(child_body)).into()
    });
    let world = Element::new("worldbody");
    let world = if model.carriers.len() > 1 {
        let base = Element::new("body").with("name", BASE);
        world.holding(base.holding_all(carriers))
    } else {
        world.holding_all(carriers)
    };
    let root = Element::new("mujoco")
        .with("model", model.name.as_str())
        .holding(Element::new("compiler").with("angle", "radian"))
        .holding(world)
        .holding(actuators(&model.joints));
    document(&[Node::Comment(model.head.clone()), root.into()])
}

fn paste_remarks(joint: &RevoluteJoint) -> Vec<String> {
    let [low, high] = joint.limit.map(|x| number(x.to_degrees()));
    let [x, y, z] = joint.origin.map(number);
    vec![
        format!(
            "Into <body name=\"{}\">, which lies at pos=\"{x} {y} {z}\" in body \"{}\".",
            joint.child, joint.parent
        ),
        format!("In a model whose compiler angle is degree: range=\"{low} {high}\"."),
    ]
}

fn carrier_body(carrier: &Link) -> Element {
    Element::new("body").with("name", carrier.name.as_str()).holding(inertial(&carrier.inertial))
}

fn child_body(driven: &DrivenJoint) -> Node {
    let body = Element::new("body")
        .with("name", driven.joint.child.as_str())
        .with_numbers("pos", &driven.joint.origin)
        .holding_all(driven.child.iter().map(|child| inertial(&child.inertial).into()))
        .holding(Node::Comment(driven.joint.remarks.clone()))
        .holding(joint(&driven.joint));
    body.into()
}

fn joint(joint: &RevoluteJoint) -> Element {
    Element::new("joint")
        .with("name", joint.name.as_str())
        .with("type", "hinge")
        .with("pos", "0 0 0")
        .with_numbers("axis", &joint.axis)
        .with("limited", "true")
        .with_numbers("range", &joint.limit)
        .with_known("damping", joint.damping)
        .with_known("frictionloss", joint.friction)
        .with_known("armature", joint.armature)
}

fn actuators(joints: &[DrivenJoint]) -> Element {
    let each = joints.iter().map(|driven| actuator(&driven.actuator).into());
    Element::new("actuator").holding_all(each)
}

fn actuator(actuator: &Actuator) -> Element {
    let element = match &actuator.servo {
        Some(servo) => controlled(actuator, servo),
        None => limited(named("motor", actuator), ["ctrllimited", "ctrlrange"], actuator.force),
    };
    limited(element, ["forcelimited", "forcerange"], actuator.force)
}

/// `position` where its control signal is gear · joint reading; else `general` with the shift as bias.
fn controlled(actuator: &Actuator, servo: &Servo) -> Element {
    let Servo { position_gain: kp, velocity_gain: kv, shift, target } = *servo;
    let element = if shift == 0.0 {
        named("position", actuator).with_numbers("kp", &[kp]).with_numbers("kv", &[kv])
    } else {
        named("general", actuator)
            .with("biastype", "affine")
            .with_numbers("gainprm", &[kp])
            .with_numbers("biasprm", &[-kp * shift, -kp, -kv])
    };
    element.with("ctrllimited", "true").with_numbers("ctrlrange", &target)
}

fn named(kind: &'static str, actuator: &Actuator) -> Element {
    Element::new(kind)
        .with("name", actuator.joint.as_str())
        .with("joint", actuator.joint.as_str())
        .with_numbers("gear", &[actuator.gear])
}

fn limited(element: Element, keys: [&'static str; 2], largest: Option<f64>) -> Element {
    let [switch, range] = keys;
    match largest {
        Some(largest) => element.with(switch, "true").with_numbers(range, &[-largest, largest]),
        None => element,
    }
}

fn inertial(body: &Inertial) -> Element {
    Element::new("inertial")
        .with_numbers("pos", &body.center)
        .with_numbers("mass", &[body.mass])
        .with_numbers("fullinertia", &body.tensor)
}
