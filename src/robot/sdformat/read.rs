//! Links and joints of an SDFormat file, versions 1.3 to 1.12.
//!
//! Meaning as in the specification's pages on frames: a `pose` is relative to the frame that `relative_to` names, else a
//! link's to its model, a joint's to its child, a frame's to what it is attached to. A joint's axis stands in the
//! joint's frame, or in `expressed_in`; before 1.7 in the model's where `use_parent_model_frame` says so, and before
//! 1.5 always. A link may be the child of several joints: the file holds loops. Models that are included are not read.
//!
//! The way: [`scope`](super::scope) finds everything that has a name, [`frame`](super::frame) says where it is, this
//! file makes links of it and [`joint`](super::joint) joints.

use nalgebra::Isometry3;

use super::frame::Frames;
use super::scope::{Entities, EntityKind};
use crate::diagnostic::Diagnostic;
use crate::robot::description::Inertial;
use crate::robot::document::Element;
use crate::robot::format::Format;
use crate::robot::link_shapes::shapes;
use crate::robot::model::{Fitting, LinkId, LinkShape, Place, Robot, RobotLink};
use crate::robot::values::{Faults, Written, shown, turned_tensor};

/// The newest version that is known.
const NEWEST: [u32; 2] = [1, 12];

/// Without its document yet.
pub(in crate::robot) fn read(root: Element<'_>) -> Result<Robot, Vec<Diagnostic>> {
    let mut reading = Reading::of(root);
    let entities = Entities::of(root, &mut reading);
    let frames = Frames::of(&entities, &mut reading);
    reading.links(&entities, &frames);
    reading.joints(&entities, &frames);
    reading.gearboxes(&entities, &frames);
    let Reading { mut robot, mut faults, .. } = reading;
    if robot.links.is_empty() && entities.includes == 0 {
        let help = "an SDFormat file holds a <model> with at least one <link>";
        faults.add(root.tag_range(), "the file holds no link".to_owned(), help);
    }
    (robot.name, robot.unread) = (entities.robot_name(), entities.includes);
    if faults.is_empty() { Ok(robot) } else { Err(faults.into_list()) }
}

/// What is read so far, and by which version's rules.
pub(super) struct Reading {
    /// Without its document yet.
    pub(super) robot: Robot,
    pub(super) faults: Faults,
    pub(super) version: [u32; 2],
    /// The link `world`, where a joint needed it.
    pub(super) ground: Option<LinkId>,
}

impl Reading {
    fn of(root: Element<'_>) -> Self {
        let robot = Robot::empty(Format::Sdformat);
        let mut reading = Self { robot, faults: Faults::default(), version: NEWEST, ground: None };
        reading.read_version(root);
        reading
    }

    fn read_version(&mut self, root: Element<'_>) {
        let Some(written) = Written::attribute(root, "version") else {
            let help = "write version=\"1.9\" or another: what poses and axes mean depends on it";
            return self.faults.add(root.tag_range(), "the <sdf> has no version".to_owned(), help);
        };
        let Some(version) = version(&written.text) else {
            let message = format!("\"{}\" is no version of SDFormat", shown(&written.text));
            return self.faults.add(written.place, message, "write a version such as 1.6 or 1.12");
        };
        self.version = version;
        if version > NEWEST {
            let [major, minor] = NEWEST;
            self.remark(
                root,
                format!("version {} is read as {major}.{minor}", shown(&written.text)),
            );
        }
    }

    pub(super) fn remark(&mut self, element: Element<'_>, message: String) {
        self.robot.remark(Place::of(element), message);
    }

    fn links(&mut self, entities: &Entities<'_>, frames: &Frames) {
        for (id, entity) in entities.all.iter().enumerate() {
            if let EntityKind::Link { .. } = entity.kind {
                let inertial = entity.element.child("inertial").and_then(|i| self.inertial(i));
                self.robot.links.push(RobotLink {
                    name: entity.name.clone(),
                    place: Place::of(entity.element),
                    pose: frames.pose(id),
                    inertial,
                    shapes: read_shapes(entity.element),
                    fittings: fittings(entity.element),
                    is_handle: false,
                });
            }
        }
    }

    /// The format's defaults: a mass of 1 kg, a tensor of 1 kg m² about each axis.
    fn inertial(&mut self, element: Element<'_>) -> Option<Inertial> {
        if element.value("auto").is_some_and(|auto| is_true(&auto)) {
            self.remark(element, "mass properties that follow from shapes are not read".to_owned());
            return None;
        }
        let pose = self.pose(element);
        let mass = self.child_number(element, "mass").unwrap_or(1.0);
        if mass < 0.0 {
            let place = element.child("mass").map_or(element.tag_range(), Element::text_range);
            let message = format!("a mass of {mass} kg");
            self.faults.add(place, message, "a mass is 0 or more, in kg");
        }
        let inertia = element.child("inertia");
        let diagonal = ["ixx", "iyy", "izz"].map(|name| self.entry(inertia, name, 1.0));
        let off = ["ixy", "ixz", "iyz"].map(|name| self.entry(inertia, name, 0.0));
        let ([xx, yy, zz], [xy, xz, yz]) = (diagonal, off);
        Some(Inertial {
            mass,
            center: pose.translation.vector.into(),
            tensor: turned_tensor(&pose.rotation, [xx, yy, zz, xy, xz, yz]),
        })
    }

    fn entry(&mut self, inertia: Option<Element<'_>>, name: &str, default: f64) -> f64 {
        inertia.and_then(|inertia| self.child_number(inertia, name)).unwrap_or(default)
    }

    /// The number inside the child of this name; `None` where there is none, or a fault.
    pub(super) fn child_number(&mut self, element: Element<'_>, name: &str) -> Option<f64> {
        let child = element.child(name)?;
        self.faults.number(name, &Written::inside(child))
    }

    /// The figures of `element`'s pose; an empty one is no shift and no turn.
    pub(super) fn pose(&mut self, element: Element<'_>) -> Isometry3<f64> {
        let pose = element.child("pose");
        pose.and_then(|pose| super::frame::figures(pose, &mut self.faults)).unwrap_or_default()
    }
}

/// What is faulty in a shape's pose is said nowhere: nothing but the search for loops looks at shapes.
fn read_shapes(link: Element<'_>) -> Vec<LinkShape> {
    let mut faults = Faults::default();
    shapes(link, |shape| {
        let pose = shape.child("pose");
        pose.and_then(|pose| super::frame::figures(pose, &mut faults)).unwrap_or_default()
    })
}

/// Sensors and lights of a link.
fn fittings(link: Element<'_>) -> Vec<Fitting> {
    let found = link.children().filter(|one| matches!(one.name(), "sensor" | "light"));
    let fitting = |one: Element<'_>| {
        let name = one.value("name").unwrap_or_default();
        Fitting { place: Place::of(one), what: format!("{} \"{}\"", one.name(), shown(&name)) }
    };
    found.map(fitting).collect()
}

/// The way in which the format writes a truth value.
pub(super) fn is_true(text: &str) -> bool {
    matches!(text.trim(), "1" | "true" | "True" | "TRUE")
}

fn version(text: &str) -> Option<[u32; 2]> {
    let (major, rest) = text.trim().split_once('.')?;
    let minor = rest.split('.').next()?;
    Some([major.parse().ok()?, minor.parse().ok()?])
}
