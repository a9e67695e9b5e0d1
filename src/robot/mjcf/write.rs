//! MJCF: `range` is in the unit of the model's compiler (degree by default), an actuator's force and
//! control ranges are before its gear, the armature is at the joint, there is no speed limit.
//!
//! A snippet is written in radians. Read as degrees by mistake it locks the joint, which is seen at
//! once; degrees read as radians would take the limits away without a word.
//!
//! A snippet is a fragment: for each joint one `<joint>`, for the child's body, then one `<actuator>`
//! section, for the root element. All limits are switched on by name, so that the model's
//! `autolimits` does not matter.

use crate::robot::markup::{Element, Node, document, fragment, number};
use crate::robot::{
    BorneJoint, ClosingPin, ClosingRod, DrivenJoint, Inertial, JointActuator, Link, Model, Motion,
    MotorSide, Site, Tendon, Through, Tie, TieSettings, TreeJoint,
};

/// What MJCF cannot hold, said in the file.
pub(in crate::robot) const REMARKS: &[&str] =
    &["MJCF holds no speed limit of a joint: it stands in the JSON beside this file."];

/// What a user has to know who pastes a snippet.
pub(in crate::robot) const SNIPPET_REMARKS: &[&str] = &[
    "A snippet IN RADIANS: your model needs <compiler angle=\"radian\"/>. The default is degree; there convert each joint's range (the figures in degrees stand above the joint).",
    "Paste each <joint> inside its child's <body> and the other sections inside <mujoco>.",
    "The child's body must be drawn at reading 0, aligned with its parent's frame.",
];

/// The joints and their actuators alone, for somebody's own file; with a motor's side its bodies as well.
pub(in crate::robot) fn snippet(model: &Model) -> String {
    let mut nodes = vec![Node::Comment(model.head.clone())];
    for driven in &model.joints {
        let mut remarks = paste_remarks(&driven.joint);
        remarks.extend(driven.joint.remarks.iter().cloned());
        nodes.push(Node::Comment(remarks));
        if driven.pins.is_empty() || driven.child.is_none() {
            nodes.push(joint(&driven.joint).into());
            nodes.extend(driven.motor_side.iter().flat_map(|side| pasted_side(driven, side)));
            nodes
                .extend(driven.others.iter().filter(|other| other.link.is_none()).flat_map(pasted));
            nodes.extend(pasted_sites(driven));
            nodes.extend(pasted_loop(driven));
        } else {
            nodes.push(child_body(model, driven));
            nodes.extend(borne_by(driven, &driven.joint.parent));
        }
    }
    nodes.extend(equalities(model));
    nodes.extend(tendons(model));
    nodes.push(actuators(&model.joints).into());
    fragment(&nodes)
}

fn pasted(other: &BorneJoint) -> [Node; 2] {
    let mut remarks = paste_remarks(&other.joint);
    remarks.extend(other.joint.remarks.iter().cloned());
    [Node::Comment(remarks), joint(&other.joint).into()]
}

/// The bodies of a loop and its pin on a child that is the user's own.
fn pasted_loop(driven: &DrivenJoint) -> Vec<Node> {
    let into = |body: &str| Node::Comment(vec![format!("Into <body name=\"{body}\">.")]);
    let (parent, child) = (&driven.joint.parent, &driven.joint.child);
    let feet = driven.pins.iter().filter(|pin| &pin.end.child == child);
    let feet: Vec<Node> = feet.map(|pin| site(on_child(&pin.end), &pin.on_child).into()).collect();
    let bodies = if driven.pins.is_empty() { Vec::new() } else { borne_by(driven, parent) };
    let both = [(child, feet), (parent, bodies)];
    both.into_iter()
        .filter(|(_, nodes)| !nodes.is_empty())
        .flat_map(|(link, nodes)| [vec![into(link)], nodes].concat())
        .collect()
}

fn pasted_sites(driven: &DrivenJoint) -> impl Iterator<Item = Node> {
    let into = |body: &str| Node::Comment(vec![format!("Into <body name=\"{body}\">.")]);
    let own = driven.actuator.through.sites().into_iter();
    own.flat_map(move |(one, z)| [into(&one.link), named_point(one, z).into()])
}

fn pasted_side(driven: &DrivenJoint, side: &MotorSide) -> Vec<Node> {
    let into = |body: &str| Node::Comment(vec![format!("Into <body name=\"{body}\">.")]);
    let mut nodes = vec![into(&driven.joint.parent), crank_body(side)];
    nodes.extend(rotor_body(side));
    if let Tie::Rod(rod) = &side.tie {
        nodes.extend([into(&driven.joint.child), child_pin(rod).into()]);
    }
    nodes
}

/// The fixed body that bears the carriers where there are several.
pub const BASE: &str = "fixed_base";

/// A file that loads by itself: each carrier fixed to the world, each child on its joint.
///
/// Several carriers hang on one fixed body: some readers (Pinocchio 4.1.0) take the world's first body only.
pub(in crate::robot) fn whole(model: &Model) -> String {
    let carriers = model.carriers.iter().map(|carrier| {
        let own = || model.joints.iter().filter(|d| d.joint.parent == carrier.name);
        let sides = || own().filter_map(|d| d.motor_side.as_ref());
        carrier_body(carrier)
            .holding_all(sites_on(model, &carrier.name))
            .holding_all(own().map(|driven| child_body(model, driven)))
            .holding_all(sides().map(crank_body))
            .holding_all(sides().filter_map(rotor_body))
            .holding_all(model.joints.iter().flat_map(|driven| borne_by(driven, &carrier.name)))
            .into()
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
        .holding_all(step(model))
        .holding(world)
        .holding_all(equalities(model))
        .holding_all(tendons(model))
        .holding(actuators(&model.joints));
    document(&[Node::Comment(model.head.clone()), root.into()])
}

fn is_tied(model: &Model) -> bool {
    model.joints.iter().any(|d| d.motor_side.is_some() || !d.others.is_empty())
}

fn step(model: &Model) -> Option<Node> {
    let element = Element::new("option").with_numbers("timestep", &[model.tie.step]);
    is_tied(model).then(|| element.into())
}

/// The section that holds coupled joints and loops together.
fn equalities(model: &Model) -> Option<Node> {
    let each = model.joints.iter().flat_map(|driven| {
        let side = driven.motor_side.as_ref();
        let tie = side.map(|side| equality(driven, side, &model.tie).into());
        let rotor = side.and_then(|side| rotor_equality(side, &model.tie));
        let followers =
            driven.others.iter().filter_map(|other| following(driven, other, &model.tie));
        let pins = driven.pins.iter().map(|pin| pinned(pin, &model.tie));
        tie.into_iter().chain(rotor).chain(followers).chain(pins)
    });
    is_tied(model).then(|| Element::new("equality").holding_all(each).into())
}

/// A time constant of two steps is the stiffest that the engine keeps stable; the impedance is close to 1.
fn equality(driven: &DrivenJoint, side: &MotorSide, tie: &TieSettings) -> Element {
    let element = match &side.tie {
        Tie::Coupling(polynomial) => Element::new("joint")
            .with("joint1", side.crank.name.as_str())
            .with("joint2", driven.joint.name.as_str())
            .with_numbers("polycoef", polynomial),
        Tie::Rod(rod) if tie.by_sites => Element::new("connect")
            .with("site1", rod.end.name.as_str())
            .with("site2", child_pin_name(rod)),
        Tie::Rod(rod) => Element::new("connect")
            .with("body1", rod.link.name.as_str())
            .with("body2", driven.joint.child.as_str())
            .with_numbers("anchor", &rod.end.origin),
    };
    held(element, tie)
}

/// The follower's reading less its own drawn one, as a straight line of the driver's less that one's.
fn following(driven: &DrivenJoint, other: &BorneJoint, tie: &TieSettings) -> Option<Node> {
    let mimic = other.joint.properties.mimic.as_ref()?;
    let from = driven.joint.properties.drawn_at;
    let constant = mimic.multiplier * from + mimic.offset - other.joint.properties.drawn_at;
    let element = Element::new("joint")
        .with("joint1", other.joint.name.as_str())
        .with("joint2", mimic.leader.as_str())
        .with_numbers("polycoef", &[constant + 0.0, mimic.multiplier, 0.0, 0.0, 0.0]);
    Some(held(element, tie).into())
}

fn pinned(pin: &ClosingPin, tie: &TieSettings) -> Node {
    let element = Element::new("connect");
    let element = if tie.by_sites {
        element.with("site1", pin.end.name.as_str()).with("site2", on_child(&pin.end))
    } else {
        element
            .with("body1", pin.end.parent.as_str())
            .with("body2", pin.end.child.as_str())
            .with_numbers("anchor", &pin.end.origin)
    };
    held(element, tie).into()
}

/// The tendons that actuators pull.
fn tendons(model: &Model) -> Option<Node> {
    let mut each = model.joints.iter().filter_map(|driven| tendon(&driven.actuator.through));
    let first = each.next()?;
    Some(Element::new("tendon").holding_all(std::iter::once(first).chain(each)).into())
}

fn tendon(through: &Through) -> Option<Node> {
    let of = |kind: &'static str, tendon: &Tendon| {
        Element::new(kind)
            .with("name", tendon.name.as_str())
            .with_known("armature", tendon.armature)
            .with_known("damping", tendon.damping)
            .with_known("frictionloss", tendon.friction)
    };
    let share = |(joint, share): &(String, f64)| {
        Element::new("joint").with("joint", joint.as_str()).with_numbers("coef", &[*share]).into()
    };
    let end = |end: &Site| Element::new("site").with("site", end.name.as_str()).into();
    match through {
        Through::Joint | Through::Slide { .. } => None,
        Through::Readings(tendon, joints) => {
            Some(of("fixed", tendon).holding_all(joints.iter().map(share)).into())
        }
        Through::Points(tendon, ends) => {
            Some(of("spatial", tendon).holding_all(ends.iter().map(end)).into())
        }
    }
}

/// The points of its bodies that actuators need.
fn sites_on<'a>(model: &'a Model, link: &'a str) -> impl Iterator<Item = Node> + 'a {
    let all = model.joints.iter().flat_map(|driven| driven.actuator.through.sites());
    all.filter(move |(one, _)| one.link == link).map(|(one, z)| named_point(one, z).into())
}

fn named_point(one: &Site, z: Option<[f64; 3]>) -> Element {
    let element = site(one.name.clone(), &one.at);
    match z {
        Some(z) => element.with_numbers("zaxis", &z),
        None => element,
    }
}

fn held(element: Element, tie: &TieSettings) -> Element {
    element.with_numbers("solref", &[2.0 * tie.step, 1.0]).with_numbers("solimp", &[0.999, 0.9999])
}

/// The rotor turns with the crank.
fn rotor_equality(side: &MotorSide, tie: &TieSettings) -> Option<Node> {
    let rotor = side.rotor.as_ref()?;
    let element = Element::new("joint")
        .with("joint1", rotor.joint.name.as_str())
        .with("joint2", side.crank.name.as_str())
        .with_numbers("polycoef", &[0.0, rotor.turns, 0.0, 0.0, 0.0]);
    Some(held(element, tie).into())
}

fn child_pin_name(rod: &ClosingRod) -> String {
    on_child(&rod.end)
}

fn on_child(end: &TreeJoint) -> String {
    format!("{}_on_child", end.name)
}

/// What else moves with the joint and hangs on the link of this name.
fn borne_by(driven: &DrivenJoint, parent: &str) -> Vec<Node> {
    let own = driven.others.iter().filter(|other| other.joint.parent == parent);
    own.map(|other| {
        with_borne(driven, body_on(&other.joint, other.link.as_ref()), &other.joint.child).into()
    })
    .collect()
}

/// With the sites of the pins on it and the bodies that hang on it.
fn with_borne(driven: &DrivenJoint, body: Element, link: &str) -> Element {
    let ends = driven.pins.iter().filter(|pin| pin.end.parent == link);
    let feet = driven.pins.iter().filter(|pin| pin.end.child == link);
    body.holding_all(ends.map(|pin| site(pin.end.name.clone(), &pin.end.origin).into()))
        .holding_all(feet.map(|pin| site(on_child(&pin.end), &pin.on_child).into()))
        .holding_all(borne_by(driven, link))
}

/// Invisible and small: nothing but a point.
fn site(name: String, at: &[f64; 3]) -> Element {
    Element::new("site").with("name", name).with_numbers("pos", at).with_numbers("size", &[0.002])
}

fn child_pin(rod: &ClosingRod) -> Element {
    site(child_pin_name(rod), &rod.pin_on_child)
}

fn crank_body(side: &MotorSide) -> Node {
    let rod = match &side.tie {
        Tie::Coupling(_) => None,
        Tie::Rod(rod) => Some(
            body_on(&rod.joint, Some(&rod.link))
                .holding(site(rod.end.name.clone(), &rod.end.origin))
                .into(),
        ),
    };
    body_on(&side.crank, Some(&side.link)).holding_all(rod).into()
}

fn rotor_body(side: &MotorSide) -> Option<Node> {
    side.rotor.as_ref().map(|rotor| body_on(&rotor.joint, Some(&rotor.link)).into())
}

/// A body on its joint, drawn at the joint's `drawn_at`.
fn body_on(joint: &TreeJoint, link: Option<&Link>) -> Element {
    let body =
        Element::new("body").with("name", joint.child.as_str()).with_numbers("pos", &joint.origin);
    let body = if joint.motion != Motion::Turn || joint.properties.drawn_at == 0.0 {
        body
    } else {
        body.with_numbers("quat", &turned(&joint.axis, joint.properties.drawn_at))
    };
    body.holding_all(link.map(|link| inertial(&link.inertial).into()))
        .holding(Node::Comment(joint.remarks.clone()))
        .holding(self::joint(joint))
}

/// The unit quaternion (real part first) of a turn about a unit axis.
fn turned([x, y, z]: &[f64; 3], angle: f64) -> [f64; 4] {
    let (sine, cosine) = libm::sincos(0.5 * angle);
    [cosine, sine * x, sine * y, sine * z]
}

fn paste_remarks(joint: &TreeJoint) -> Vec<String> {
    let [x, y, z] = joint.origin.map(number);
    let mut lines = vec![format!(
        "Into <body name=\"{}\">, which lies at pos=\"{x} {y} {z}\" in body \"{}\".",
        joint.child, joint.parent
    )];
    let turns = joint.properties.limit.filter(|_| joint.motion == Motion::Turn);
    lines.extend(turns.map(|limit| {
        let [low, high] = limit.map(|x| number(x.to_degrees()));
        format!("In a model whose compiler angle is degree: range=\"{low} {high}\".")
    }));
    lines
}

fn carrier_body(carrier: &Link) -> Element {
    Element::new("body").with("name", carrier.name.as_str()).holding(inertial(&carrier.inertial))
}

fn child_body(model: &Model, driven: &DrivenJoint) -> Node {
    let pin = driven.motor_side.as_ref().and_then(|side| match &side.tie {
        Tie::Coupling(_) => None,
        Tie::Rod(rod) => Some(child_pin(rod).into()),
    });
    let sites = sites_on(model, &driven.joint.child);
    let next = model.joints.iter().filter(|other| other.joint.parent == driven.joint.child);
    let body = body_on(&driven.joint, driven.child.as_ref()).holding_all(pin).holding_all(sites);
    let body = body.holding_all(next.map(|other| child_body(model, other)));
    with_borne(driven, body, &driven.joint.child).into()
}

fn joint(joint: &TreeJoint) -> Element {
    let kind = match joint.motion {
        Motion::Turn => "hinge",
        Motion::Slide => "slide",
        Motion::Ball => "ball",
    };
    let element = Element::new("joint")
        .with("name", joint.name.as_str())
        .with("type", kind)
        .with("pos", "0 0 0");
    let has_axis = joint.motion != Motion::Ball;
    let element = if has_axis { element.with_numbers("axis", &joint.axis) } else { element };
    let element = element.with_known("ref", Some(joint.properties.drawn_at).filter(|x| *x != 0.0));
    let element = match &joint.properties.limit {
        Some(limit) => element.with("limited", "true").with_numbers("range", limit),
        None => element.with("limited", "false"),
    };
    element
        .with_known("damping", joint.properties.damping)
        .with_known("frictionloss", joint.properties.friction)
        .with_known("armature", joint.properties.armature)
}

fn actuators(joints: &[DrivenJoint]) -> Element {
    let each = joints.iter().map(|driven| actuator(&driven.actuator).into());
    Element::new("actuator").holding_all(each)
}

/// `position` where its control signal is gear · joint reading; with a shift `general` with that as bias.
fn actuator(actuator: &JointActuator) -> Element {
    let own = &actuator.properties;
    let element = match own.gains {
        Some([kp, kv]) if own.shift == 0.0 => {
            named("position", actuator).with_numbers("kp", &[kp]).with_numbers("kv", &[kv])
        }
        Some([kp, kv]) => named("general", actuator)
            .with("biastype", "affine")
            .with_numbers("gainprm", &[kp])
            .with_numbers("biasprm", &[-kp * own.shift, -kp, -kv]),
        None => named("motor", actuator),
    };
    let element = limited(element, ["ctrllimited", "ctrlrange"], own.control);
    limited(element, ["forcelimited", "forcerange"], own.force)
}

fn named(kind: &'static str, actuator: &JointActuator) -> Element {
    let JointActuator { joint, properties, through, .. } = actuator;
    let element = Element::new(kind).with("name", joint.as_str());
    let element = match through {
        Through::Joint => element.with("joint", joint.as_str()),
        Through::Readings(tendon, _) | Through::Points(tendon, _) => {
            element.with("tendon", tendon.name.as_str())
        }
        Through::Slide { slide, point, rod, .. } => element
            .with("slidersite", slide.name.as_str())
            .with("cranksite", point.name.as_str())
            .with_numbers("cranklength", &[*rod]),
    };
    element
        .with_numbers("gear", &[properties.gear])
        .with_known("armature", properties.armature)
        .with_known("damping", properties.damping)
}

fn limited(
    element: Element,
    [switch, range]: [&'static str; 2],
    ends: Option<[f64; 2]>,
) -> Element {
    match ends {
        Some(ends) => element.with(switch, "true").with_numbers(range, &ends),
        None => element,
    }
}

fn inertial(body: &Inertial) -> Element {
    Element::new("inertial")
        .with_numbers("pos", &body.center)
        .with_numbers("mass", &[body.mass])
        .with_numbers("fullinertia", &body.tensor)
}
