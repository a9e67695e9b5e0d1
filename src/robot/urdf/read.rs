//! Links and joints of a URDF file.
//!
//! Meaning as in the format's public description: `rpy` turns about fixed axes; a joint's `axis` stands in the
//! child's frame and is x where it is not written; a limit that is not written is 0; a `mimic` is linear. Lenient where
//! the common parsers are: elements that the format does not know are passed over, `effort` and `velocity` may be
//! missing. `transmission` is read where it ties one joint to one actuator.

use std::borrow::Cow;
use std::collections::HashMap;

use nalgebra::Isometry3;

use super::tree::Tree;
use crate::diagnostic::Diagnostic;
use crate::numeric::parallel::both;
use crate::robot::document::Element;
use crate::robot::format::Format;
use crate::robot::influence::{Fitting, Influence};
use crate::robot::link_shapes::shapes;
use crate::robot::model::{
    DriveThrough, FileActuator, FileLink, JointId, LinkId, LinkShape, Robot, SharedDrive,
};
use crate::robot::place::Place;
use crate::robot::properties::{ActuatorProperties, Inertial, JointProperties};
use crate::robot::values::{Faults, Written, placed, roll_pitch_yaw, shown};

/// Without its document yet.
pub(in crate::robot) fn read(root: Element<'_>) -> Result<Robot, Vec<Diagnostic>> {
    if let Some(fault) = unexpanded(root) {
        return Err(vec![fault]);
    }
    let mut urdf = Urdf::new();
    urdf.read(root);
    if urdf.faults.is_empty() { Ok(urdf.robot) } else { Err(urdf.faults.into_list()) }
}

/// What is read so far.
pub(super) struct Urdf<'a> {
    /// Without its document yet.
    pub(super) robot: Robot,
    pub(super) faults: Faults,
    pub(super) link_ids: HashMap<Cow<'a, str>, LinkId>,
    /// Where the child is in the parent's frame, and where the file names the child; one for each joint.
    pub(super) placements: Vec<(Isometry3<f64>, Written<'a>)>,
    pub(super) joint_names: HashMap<Cow<'a, str>, Element<'a>>,
}

impl<'a> Urdf<'a> {
    fn new() -> Self {
        Self {
            robot: Robot::empty(Format::Urdf),
            faults: Faults::default(),
            link_ids: HashMap::new(),
            placements: Vec::new(),
            joint_names: HashMap::new(),
        }
    }

    fn read(&mut self, root: Element<'a>) {
        self.robot.name = root.value("name").unwrap_or_default().into_owned();
        let links: Vec<Element<'a>> =
            root.children_named("link").filter(|link| self.link(*link)).collect();
        let joints: Vec<Element<'a>> = root.children_named("joint").collect();
        joints.iter().for_each(|joint| self.joint_name(*joint));
        self.weigh_and_join(&links, &joints);
        self.place_links(root);
        for transmission in root.children_named("transmission") {
            self.transmission(transmission);
        }
        for block in root.children_named("gazebo") {
            self.sensors(block);
            self.simulated(block);
        }
    }

    /// What the links weigh and how the joints stand, side by side: most of the work of a large file.
    fn weigh_and_join(&mut self, links: &[Element<'a>], joints: &[Element<'a>]) {
        let mut scales = Self::new();
        let weigh = || -> Vec<(Option<Inertial>, Vec<LinkShape>)> {
            links.iter().map(|link| scales.weight_and_shapes(*link)).collect()
        };
        let (weighed, ()) = both(weigh, || joints.iter().for_each(|joint| self.joint(*joint)));
        for (link, (inertial, shapes)) in self.robot.links.iter_mut().zip(weighed) {
            (link.inertial, link.shapes) = (inertial, shapes);
        }
        self.faults.join(scales.faults);
        self.robot.remarks.append(&mut scales.robot.remarks);
    }

    fn weight_and_shapes(&mut self, link: Element<'a>) -> (Option<Inertial>, Vec<LinkShape>) {
        let inertial = link.child("inertial").and_then(|inertial| self.inertial(inertial));
        let mut faults = Faults::default();
        let shapes = shapes(link, |shape| origin(shape, &mut faults));
        (inertial, shapes)
    }

    fn place_links(&mut self, root: Element<'a>) {
        let tree = Tree::new(&self.robot, &self.placements, root, &mut self.faults);
        if self.faults.is_empty() {
            tree.place(&mut self.robot, &self.placements);
        }
    }

    /// A link without its weight yet; whether it is one of its own.
    fn link(&mut self, element: Element<'a>) -> bool {
        let Some(name) = self.faults.name(element) else { return false };
        let id = self.robot.links.len();
        if self.link_ids.insert(name.text.clone(), id).is_some() {
            self.faults.twice("link", &name);
            return false;
        }
        self.robot.links.push(FileLink::bare(name.text.into_owned(), Place::from(element)));
        true
    }

    /// Common parsers pass over an `inertial` that is not whole.
    fn inertial(&mut self, element: Element<'a>) -> Option<Inertial> {
        let origin = self.origin(element);
        let missing = ["mass", "inertia"].into_iter().find(|name| element.child(name).is_none());
        if let Some(missing) = missing {
            let what = format!(
                "{} has no <{missing}>: the link is read as one without mass",
                called(element)
            );
            self.remark(element, what);
            return None;
        }
        let mass = self.child_value(element, "mass", "value").and_then(|mass| self.mass(&mass));
        let inertia = element.child("inertia")?;
        let tensor = ["ixx", "iyy", "izz", "ixy", "ixz", "iyz"]
            .map(|name| self.attribute_number(inertia, name).unwrap_or(0.0));
        Some(Inertial::placed(mass?, &origin, tensor))
    }

    fn mass(&mut self, written: &Written<'_>) -> Option<f64> {
        let mass = self.faults.number("mass", written)?;
        if mass < 0.0 {
            let message = format!("a mass of {} kg", shown(written.text.trim()));
            self.faults.add(written.place.clone(), message, "a mass is 0 or more, in kg");
        }
        Some(mass)
    }

    /// The place of `element`'s `origin`; nothing written is no shift and no turn.
    pub(super) fn origin(&mut self, element: Element<'a>) -> Isometry3<f64> {
        origin(element, &mut self.faults)
    }

    /// The attribute of the child of this name; a fault where either is missing.
    pub(super) fn child_value(
        &mut self,
        element: Element<'a>,
        child: &str,
        attribute: &str,
    ) -> Option<Written<'a>> {
        let Some(found) = element.child(child) else {
            self.missing(element, child);
            return None;
        };
        let written = Written::attribute(found, attribute);
        if written.is_none() {
            let message = format!("the <{child}> has no {attribute}");
            let help = format!("write {attribute}=\"...\" into the tag");
            self.faults.add(found.tag_range(), message, help);
        }
        written
    }

    fn missing(&mut self, element: Element<'a>, child: &str) {
        let message = format!("{} has no <{child}>", called(element));
        self.faults.add(element.tag_range(), message, format!("write <{child} .../> inside it"));
    }

    /// The number of an attribute; `None` where it is not written, or faulty.
    pub(super) fn attribute_number(&mut self, element: Element<'a>, name: &str) -> Option<f64> {
        let written = Written::attribute(element, name)?;
        self.faults.number(name, &written)
    }

    /// Sensors that a simulator's own block puts on a link.
    fn sensors(&mut self, block: Element<'a>) {
        let link = block.value("reference").and_then(|name| self.link_ids.get(&name).copied());
        let Some(link) = link.and_then(|link| self.robot.links.get_mut(link)) else { return };
        for sensor in block.children_named("sensor") {
            let what = format!("sensor \"{}\"", shown(&sensor.value("name").unwrap_or_default()));
            link.fittings.push(Fitting { place: Place::from(sensor), what });
        }
    }

    /// What a simulator's own block does to a link, or without a name to all.
    fn simulated(&mut self, block: Element<'a>) {
        let name = block.value("reference").unwrap_or_default();
        let is_meant = |link: &&mut FileLink| name.is_empty() || link.name == name;
        let found: Vec<Influence> = block.children().filter_map(influence).collect();
        for link in self.robot.links.iter_mut().filter(is_meant).filter(|_| !found.is_empty()) {
            link.influences.extend(found.iter().cloned());
        }
        let Some(joint) = self.joint_id(&name).and_then(|id| self.robot.joints.get_mut(id)) else {
            return;
        };
        let spring = block.child("springStiffness").filter(|one| one.text().parse() != Ok(0.0));
        if spring.is_some() {
            let and = if joint.unread.is_empty() { "" } else { " and " };
            joint.unread =
                format!("{}{and}a spring of the simulator's (<springStiffness>)", joint.unread);
        }
        if block.children().any(|one| matches!(one.name(), "stopCfm" | "stopErp")) {
            "<stopCfm>, <stopErp>".clone_into(&mut joint.soft);
        }
    }

    fn transmission(&mut self, element: Element<'a>) {
        let joints: Vec<Element<'a>> = element.children_named("joint").collect();
        let actuators: Vec<Element<'a>> = element.children_named("actuator").collect();
        let ([joint], [actuator]) = (joints.as_slice(), actuators.as_slice()) else {
            return self.shared_transmission(element, &joints, actuators.len());
        };
        let name = joint.value("name").unwrap_or_default();
        let Some(joint_id) = self.joint_id(&name) else {
            let what =
                format!("a transmission to joint \"{}\", which does not exist", shown(&name));
            return self.remark(element, what);
        };
        let Some(gear) = reduction(&[*actuator, *joint, element]) else {
            return self.remark(element, "a mechanicalReduction that is no number".to_owned());
        };
        self.robot.actuators.push(FileActuator {
            name: actuator.value("name").unwrap_or_default().into_owned(),
            place: Place::from(element),
            joint: joint_id,
            properties: ActuatorProperties { gear, ..ActuatorProperties::default() },
        });
    }

    /// Several joints or actuators: all joints are driven, their figures are not read.
    fn shared_transmission(&mut self, element: Element<'a>, joints: &[Element<'a>], count: usize) {
        let what = format!(
            "a transmission of {} joints and {count} actuators: its joints count as driven, its figures are not read",
            joints.len(),
        );
        self.remark(element, what);
        let known = |joint: &Element<'a>| {
            Some((self.joint_id(&joint.value("name").unwrap_or_default())?, None))
        };
        let joints: Vec<_> = joints.iter().filter_map(known).collect();
        if !joints.is_empty() && count > 0 {
            self.robot.shared_drives.push(SharedDrive {
                name: element.value("name").unwrap_or_default().into_owned(),
                place: Place::from(element),
                through: DriveThrough::Transmission,
                joints,
                ends: None,
                actuator: ActuatorProperties::default(),
                tendon: JointProperties::default(),
            });
        }
    }

    /// Linear in the number of joints only where there are faults, and then nobody asks.
    fn joint_id(&self, name: &str) -> Option<JointId> {
        let element = self.joint_names.get(name)?;
        let id = self.robot.joints.binary_search_by_key(&element.id(), |joint| joint.place.element);
        id.ok()
    }

    pub(super) fn remark(&mut self, element: Element<'a>, message: String) {
        self.robot.remark(Place::from(element), message);
    }
}

/// The place of `element`'s `origin`; nothing written is no shift and no turn.
fn origin(element: Element<'_>, faults: &mut Faults) -> Isometry3<f64> {
    let Some(origin) = element.child("origin") else { return Isometry3::identity() };
    let xyz = Written::attribute(origin, "xyz")
        .and_then(|xyz| faults.finite("xyz", &xyz))
        .unwrap_or_default();
    let turn = match Written::attribute(origin, "quat_xyzw") {
        Some(quaternion) => {
            let xyzw = faults.finite("quat_xyzw", &quaternion);
            xyzw.and_then(|xyzw| faults.quaternion(&quaternion, xyzw, "0 0 0 1"))
        }
        None => Written::attribute(origin, "rpy")
            .and_then(|rpy| faults.finite("rpy", &rpy))
            .map(roll_pitch_yaw),
    };
    placed(xyz, turn.unwrap_or_default())
}

/// `link "foot"`, or `the <inertial> of link "foot"`.
fn called(element: Element<'_>) -> String {
    if let Some(name) = element.value("name") {
        return format!("{} \"{}\"", element.name(), shown(&name));
    }
    let of = element.parent().and_then(|outer| Some((outer.name(), outer.value("name")?)));
    match of {
        Some((kind, name)) => format!("the <{}> of {kind} \"{}\"", element.name(), shown(&name)),
        None => format!("a <{}>", element.name()),
    }
}

/// What one element of a simulator's own block does to a link.
fn influence(element: Element<'_>) -> Option<Influence> {
    let text = element.text();
    let is_true = matches!(text.trim(), "1" | "true" | "True");
    let (does, holds) = match element.name() {
        "static" | "kinematic" => (is_true, true),
        "gravity" => (!is_true, false),
        "turnGravityOff" => (is_true, false),
        _ => return None,
    };
    let what = format!("<{}>{}", element.name(), shown(text.trim()));
    does.then(|| Influence { place: Place::from(element), what, holds })
}

/// The first reduction that is written in one of these, else 1; `None` where it is no number.
fn reduction(places: &[Element<'_>]) -> Option<f64> {
    let written = places.iter().find_map(|element| element.child("mechanicalReduction"));
    let Some(written) = written else { return Some(1.0) };
    written.text().parse::<f64>().ok().filter(|gear| gear.is_finite())
}

/// What shows that the file is a template that was not expanded.
fn unexpanded(root: Element<'_>) -> Option<Diagnostic> {
    // Two quick looks at the whole text spare large files a look at every value.
    let text = root.document().text();
    if !text.contains('$') && !text.contains("<xacro:") {
        return None;
    }
    let place = root.descendants().find_map(|element| {
        if element.name().starts_with("xacro:") {
            return Some(element.tag_range());
        }
        let template = element.attributes().find(|attribute| attribute.value().contains("${"));
        template.map(|attribute| attribute.value_range())
    })?;
    let fault = Diagnostic::error("the file is a xacro template, not yet a robot")
        .at(place)
        .label("to be expanded")
        .help("expand it with xacro and read the URDF that comes out");
    Some(fault)
}
