//! Bodies, nested, and frames between them.

use nalgebra::Isometry3;

use super::Reading;
use super::defaults::{ClassId, MAIN};
use super::include::Node;
use super::mention::called;
use crate::robot::document::DEEPEST;
use crate::robot::influence::{Fitting, Influence};
use crate::robot::model::{FileLink, LinkId};
use crate::robot::values::shown;

/// What the engine makes bodies of.
const MAKERS: [&str; 5] = ["replicate", "attach", "composite", "flexcomp", "plugin"];

/// A body that is yet to be read.
#[derive(Clone, Copy)]
struct Waiting<'a> {
    node: Node<'a>,
    parent: LinkId,
    /// From its parent's frame, or the frame element around it, to the model's.
    outer: Isometry3<f64>,
    class: ClassId,
    depth: usize,
}

/// An element of a body with the frames around it.
#[derive(Clone, Copy)]
pub(super) struct Part<'a> {
    pub(super) node: Node<'a>,
    /// From the innermost frame to the body.
    pub(super) frame: Isometry3<f64>,
    pub(super) class: ClassId,
}

/// What one body holds.
#[derive(Default)]
pub(super) struct Parts<'a> {
    pub(super) joints: Vec<Part<'a>>,
    pub(super) geoms: Vec<Part<'a>>,
    pub(super) sites: Vec<Part<'a>>,
    pub(super) inertial: Option<Node<'a>>,
    /// Cameras and lights.
    pub(super) fittings: Vec<Node<'a>>,
    bodies: Vec<Part<'a>>,
}

impl<'a> Reading<'a> {
    /// The world and everything in it, depth first.
    pub(super) fn world(&mut self, root: Node<'a>, worlds: &[Node<'a>]) {
        let element = worlds.first().copied().unwrap_or(root);
        self.link_ids.insert("world".to_owned(), 0);
        self.robot.links.push(FileLink::bare("world".to_owned(), element.place()));
        let mut waiting = Vec::new();
        for world in worlds {
            let class = self.class(*world, "childclass", MAIN);
            let parts = self.parts(*world, class);
            if let Some(joint) = parts.joints.first() {
                let message = format!("a <{}> of the world", joint.node.tag());
                self.fault_at(
                    joint.node,
                    message,
                    "the world does not move: write the joint into a <body>",
                );
            }
            self.sites(&parts, 0);
            waiting.extend(inside(&parts, 0, Isometry3::identity(), 1));
        }
        waiting.reverse();
        while let Some(next) = waiting.pop() {
            waiting.extend(self.body(next).into_iter().rev());
        }
    }

    /// Gives the bodies inside.
    fn body(
        &mut self,
        Waiting { node, parent, outer, class, depth }: Waiting<'a>,
    ) -> Vec<Waiting<'a>> {
        if depth > DEEPEST {
            let message = format!("bodies are nested more than {DEEPEST} deep");
            self.fault_at(node, message, "no robot needs that: nest fewer bodies");
            return Vec::new();
        }
        let link = self.robot.links.len();
        self.body_name(node, link);
        let pose = outer * self.own_placement(node);
        let class = self.class(node, "childclass", class);
        let parts = self.parts(node, class);
        let shapes = parts.geoms.iter().map(|geom| self.shape(geom)).collect();
        let influences = self.compensated(node).into_iter().collect();
        self.robot.links.push(FileLink {
            name: node.text("name"),
            place: node.place(),
            pose,
            inertial: None,
            mass_is_unread: false,
            shapes,
            fittings: parts.fittings.iter().map(|node| fitting(*node)).collect(),
            sites: Vec::new(),
            is_handle: node.text("mocap") == "true",
            influences,
        });
        self.joints_of(node, &parts, [parent, link], pose);
        self.sites(&parts, link);
        let inertial = self.inertial(node, &parts);
        if let Some(link) = self.robot.links.get_mut(link) {
            link.mass_is_unread = inertial.is_err();
            link.inertial = inertial.unwrap_or_default();
        }
        inside(&parts, link, pose, depth + 1)
    }

    /// That a share of its weight is taken from it, or more than all.
    fn compensated(&mut self, node: Node<'a>) -> Option<Influence> {
        self.own_numbers(node, "gravcomp").filter(|[share]| *share != 0.0)?;
        let what = format!("gravcomp=\"{}\"", shown(&node.text("gravcomp")));
        Some(Influence { place: node.place(), what, holds: false })
    }

    fn body_name(&mut self, node: Node<'a>, link: LinkId) {
        let Some(name) = node.name() else { return };
        if self.link_ids.contains_key(&*name.written.text) {
            let message = format!("two bodies are named \"{}\"", shown(&name.written.text));
            let help = "give each body a name of its own; the world is named \"world\"";
            return self.fault(&name, &message, help);
        }
        self.link_ids.insert(name.written.text.into_owned(), link);
    }

    /// Sorts what a body holds, and goes through its frames.
    fn parts(&mut self, node: Node<'a>, class: ClassId) -> Parts<'a> {
        let mut parts = Parts::default();
        let mut next = self.expand(&Part { node, frame: Isometry3::identity(), class });
        next.reverse();
        while let Some(part) = next.pop() {
            match part.node.tag() {
                "frame" => {
                    let frame = part.frame * self.own_placement(part.node);
                    let class = self.class(part.node, "childclass", part.class);
                    let inner = self.expand(&Part { node: part.node, frame, class });
                    next.extend(inner.into_iter().rev());
                }
                "body" => parts.bodies.push(part),
                "joint" | "freejoint" => parts.joints.push(part),
                "geom" => parts.geoms.push(part),
                "site" => parts.sites.push(part),
                "camera" | "light" => parts.fittings.push(part.node),
                "inertial" => parts.inertial = Some(part.node),
                tag if MAKERS.contains(&tag) => self.not_read(part.node),
                _ => {}
            }
        }
        parts
    }

    fn expand(&self, around: &Part<'a>) -> Vec<Part<'a>> {
        let Part { node, frame, class } = *around;
        self.files.children(node).into_iter().map(|node| Part { node, frame, class }).collect()
    }
}

fn fitting(node: Node<'_>) -> Fitting {
    Fitting { place: node.place(), what: called(node) }
}

fn inside<'a>(
    parts: &Parts<'a>,
    parent: LinkId,
    pose: Isometry3<f64>,
    depth: usize,
) -> Vec<Waiting<'a>> {
    let waiting = |part: &Part<'a>| Waiting {
        node: part.node,
        parent,
        outer: pose * part.frame,
        class: part.class,
        depth,
    };
    parts.bodies.iter().map(waiting).collect()
}
