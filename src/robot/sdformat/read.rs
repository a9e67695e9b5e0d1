//! Links and joints of an SDFormat file, versions 1.3 to 1.12.
//!
//! Meaning as in the specification's pages on frames: a `pose` is relative to the frame that `relative_to` names, else a
//! link's to its model, a joint's to its child, a frame's to what it is attached to. A joint's axis stands in the
//! joint's frame, or in `expressed_in`; before 1.7 in the model's where `use_parent_model_frame` says so, and before
//! 1.5 always. A link may be the child of several joints: the file holds loops. Models that are included are not read.
//!
//! The way: [`scope`](super::scope) finds everything that has a name, [`frame`](super::frame) says where it is, this
//! file makes links of it and [`joint`](super::joint) joints.

use super::frame::Frames;
use super::reading::{Reading, figures, is_true};
use super::scope::{Entities, Entity, EntityKind};
use crate::diagnostic::Diagnostic;
use crate::robot::document::Element;
use crate::robot::influence::{Fitting, Influence};
use crate::robot::link_shapes::shapes;
use crate::robot::model::{FileLink, LinkShape, Robot};
use crate::robot::place::{Place, Remark};
use crate::robot::properties::Inertial;
use crate::robot::values::{Faults, Written, shown};

/// Without its document yet.
pub(in crate::robot) fn read(root: Element<'_>) -> Result<Robot, Vec<Diagnostic>> {
    let mut reading = Reading::new(root);
    let entities = Entities::new(root, &mut reading);
    let frames = Frames::new(&entities, &mut reading);
    reading.links(&entities, &frames);
    reading.joints(&entities, &frames);
    reading.gearboxes(&entities, &frames);
    reading.surroundings(root);
    let Reading { mut robot, mut faults, .. } = reading;
    if robot.links.is_empty() && entities.includes == 0 {
        let help = "an SDFormat file holds a <model> with at least one <link>";
        faults.add(root.tag_range(), "the file holds no link".to_owned(), help);
    }
    (robot.name, robot.unread) = (entities.robot_name(), entities.includes);
    if faults.is_empty() { Ok(robot) } else { Err(faults.into_list()) }
}

impl Reading {
    fn links(&mut self, entities: &Entities<'_>, frames: &Frames) {
        self.unweighed(entities);
        for (id, entity) in entities.all.iter().enumerate() {
            if let EntityKind::Link { .. } = entity.kind {
                let written = entity.element.child("inertial");
                let inertial = written.and_then(|inertial| self.inertial(inertial));
                self.robot.links.push(FileLink {
                    name: entity.name.clone(),
                    place: Place::from(entity.element),
                    pose: frames.pose(id),
                    inertial,
                    mass_is_unread: written.is_none_or(follows_shapes),
                    shapes: read_shapes(entity.element),
                    fittings: fittings(entity.element),
                    sites: Vec::new(),
                    is_handle: false,
                    influences: influences(entity.element),
                });
            }
        }
    }

    /// A world without gravity, or with wind on some of it.
    fn surroundings(&mut self, root: Element<'_>) {
        let blown = root.descendants().find(|one| says(*one, "enable_wind", true).is_some());
        if let Some(blown) = blown {
            let message = "wind acts on it, which is in no figure".to_owned();
            self.robot.settings.push(Remark { place: Place::from(blown), message });
        }
        let gravity = root.child("world").and_then(|world| world.child("gravity"));
        let Some(gravity) = gravity else { return };
        if self.faults.finite::<3>("gravity", &Written::inside(gravity)) == Some([0.0; 3]) {
            let message = "gravity is none here: no link weighs anything".to_owned();
            self.robot.settings.push(Remark { place: Place::from(gravity), message });
        }
    }

    /// The format weighs a link that says nothing of it as one of 1 kg, which no drawing means: it is not taken for the
    /// link's mass, and not for none.
    fn unweighed(&mut self, entities: &Entities<'_>) {
        let is_link = |entity: &&Entity<'_>| matches!(entity.kind, EntityKind::Link { .. });
        let links = entities.all.iter().filter(is_link).map(|link| link.element);
        let mut bare = links.filter(|link| link.child("inertial").is_none());
        let Some(first) = bare.next() else { return };
        let which = match bare.count() {
            0 => "a link has no <inertial>: the format makes it".to_owned(),
            more => format!("{} links have no <inertial>: the format makes each", more + 1),
        };
        self.remark(first, format!("{which} 1 kg with 1 kg m² about each axis, which is not read"));
    }

    /// The format's defaults: a mass of 1 kg, a tensor of 1 kg m² about each axis.
    fn inertial(&mut self, element: Element<'_>) -> Option<Inertial> {
        if follows_shapes(element) {
            self.remark(element, "mass properties that follow from shapes are not read".to_owned());
            return None;
        }
        let pose = self.pose(element);
        let mass = element.child("mass").map(Written::inside);
        let mass = mass.and_then(|mass| self.faults.mass(&mass)).unwrap_or(1.0);
        let inertia = element.child("inertia");
        let diagonal = ["ixx", "iyy", "izz"].map(|name| self.entry(inertia, name, 1.0));
        let off = ["ixy", "ixz", "iyz"].map(|name| self.entry(inertia, name, 0.0));
        let ([xx, yy, zz], [xy, xz, yz]) = (diagonal, off);
        Some(Inertial::placed(mass, &pose, [xx, yy, zz, xy, xz, yz]))
    }

    fn entry(&mut self, inertia: Option<Element<'_>>, name: &str, default: f64) -> f64 {
        inertia.and_then(|inertia| self.child_number(inertia, name)).unwrap_or(default)
    }
}

/// What is faulty in a shape's pose is said nowhere: nothing but the search for loops looks at shapes.
fn read_shapes(link: Element<'_>) -> Vec<LinkShape> {
    let mut faults = Faults::default();
    shapes(link, |shape| {
        let pose = shape.child("pose");
        pose.and_then(|pose| figures(pose, &mut faults)).unwrap_or_default()
    })
}

/// Sensors and lights of a link.
fn fittings(link: Element<'_>) -> Vec<Fitting> {
    let found = link.children().filter(|one| matches!(one.name(), "sensor" | "light"));
    let fitting = |one: Element<'_>| {
        let name = one.value("name").unwrap_or_default();
        Fitting { place: Place::from(one), what: format!("{} \"{}\"", one.name(), shown(&name)) }
    };
    found.map(fitting).collect()
}

/// What link and models around it say of how it moves besides its joints.
fn influences(link: Element<'_>) -> Vec<Influence> {
    let influence = |(element, what, holds): (Element<'_>, &str, bool)| Influence {
        place: Place::from(element),
        what: what.to_owned(),
        holds,
    };
    let own = [
        says(link, "gravity", false).map(|at| (at, "<gravity>false", false)),
        says(link, "kinematic", true).map(|at| (at, "<kinematic>true", true)),
        link.child("velocity_decay")
            .filter(|decay| brakes(*decay))
            .map(|at| (at, "<velocity_decay>", false)),
    ];
    let around = std::iter::successors(link.parent(), |one| one.parent());
    let fixed = around.filter(|one| one.name() == "model");
    let fixed = fixed.filter_map(|model| says(model, "static", true));
    let fixed = fixed.map(|at| (at, "<static>true", true));
    own.into_iter().flatten().chain(fixed).map(influence).collect()
}

/// Whether a share of the link's speed is taken from it at every step.
fn brakes(decay: Element<'_>) -> bool {
    decay.children().any(|share| share.text().parse() != Ok(0.0))
}

/// The child of this name that says yes, or no.
fn says<'a>(element: Element<'a>, name: &str, word: bool) -> Option<Element<'a>> {
    let child = element.child(name)?;
    let text = child.text();
    (!text.is_empty() && is_true(&text) == word).then_some(child)
}

/// Mass properties that the engine makes from the shapes.
fn follows_shapes(inertial: Element<'_>) -> bool {
    inertial.value("auto").is_some_and(|auto| is_true(&auto))
}
