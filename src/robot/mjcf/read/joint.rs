//! Joints of a body.

use nalgebra::{Isometry3, Point3, Vector3};

use super::Reading;
use super::body::{Part, Parts};
use super::defaults::Layers;
use super::include::Node;
use super::option::Effect;
use crate::robot::model::{FileJoint, JointKind, LinkId};
use crate::robot::properties::JointProperties;

/// Softer than the engine's own default by more than the decimals of a file.
const SOFTER: f64 = 1.01;

impl<'a> Reading<'a> {
    /// The joints between a body and its parent, in order; one that holds where it has none.
    pub(super) fn joints_of(
        &mut self,
        body: Node<'a>,
        parts: &Parts<'a>,
        links: [LinkId; 2],
        pose: Isometry3<f64>,
    ) {
        for part in &parts.joints {
            if part.node.tag() == "freejoint" {
                let joint = bare(part.node, JointKind::Other, links, pose);
                self.add_joint(part.node, joint);
            } else {
                self.joint(part, links, pose);
            }
        }
        if parts.joints.is_empty() {
            let joint = bare(body, JointKind::Fixed, links, pose);
            self.robot.joints.push(FileJoint { name: String::new(), ..joint });
        }
    }

    fn joint(&mut self, part: &Part<'a>, links: [LinkId; 2], pose: Isometry3<f64>) {
        let layers = self.layers(part.node, part.class, &["joint"]);
        let kind = self.joint_kind(&layers);
        let joint = bare(part.node, kind, links, pose);
        if kind == JointKind::Other {
            // a free joint has no place and no axis of its own
            let loss = self.losses(&layers, joint);
            return self.add_joint(part.node, loss);
        }
        let shift: [f64; 3] = self.numbers(&layers, "pos").unwrap_or_default();
        let anchor = pose * (part.frame * Point3::from(shift));
        let axis = if layers.figures("axis").is_some() {
            self.direction(&layers, "axis")
        } else {
            Some(Vector3::z())
        };
        let axis = axis.map(|axis| pose.rotation * (part.frame.rotation * axis));
        let axis = axis.filter(|_| kind != JointKind::Ball).unwrap_or_default();
        let scale = if kind == JointKind::Prismatic { 1.0 } else { self.compiler.angle };
        let limit = self.joint_limit(&layers, kind).map(|ends| ends.map(|end| end * scale));
        let limit = limit.filter(|_| self.options.has(Effect::Limit));
        let drawn_at = self.number(&layers, "ref").unwrap_or(0.0) * scale;
        let drawn_at = if kind == JointKind::Ball { 0.0 } else { drawn_at };
        let spring_reference = self.number(&layers, "springref").unwrap_or(0.0) * scale;
        let mut joint = self.losses(&layers, FileJoint { anchor, axis, spring_reference, ..joint });
        (joint.properties.limit, joint.properties.drawn_at) = (limit, drawn_at);
        self.stops(&layers, &mut joint);
        if self.is_tuned(part.node, &layers) {
            (joint.stiffness, joint.properties.damping) = (None, None);
            "springdamper".clone_into(&mut joint.unread);
        }
        self.add_joint(part.node, joint);
    }

    /// Where and how firmly the limits stop it: the engine adds `margin` at either end, rad whatever the file's angles are (m).
    fn stops(&mut self, layers: &Layers<'a>, joint: &mut FileJoint) {
        let Some([low, high]) = joint.properties.limit else { return };
        let margin = self.number(layers, "margin").unwrap_or(0.0);
        let lowest = if joint.kind == JointKind::Ball { low } else { low + margin };
        if lowest < high - margin {
            joint.properties.limit = Some([lowest, high - margin]);
            joint.limit_margin = margin;
        } else {
            let and = if joint.unread.is_empty() { "" } else { " and " };
            joint.unread = format!("{}{and}a margin over its whole range", joint.unread);
        }
        let softness = self.softness(layers, ["solreflimit", "solimplimit"]);
        if let Some(times) = softness.filter(|times| *times > SOFTER) {
            joint.soft = format!("solreflimit, solimplimit: {times:.1} times as far");
        }
    }

    /// A ball may be limited without a range, mostly by a class: the engine then holds it as it is drawn.
    fn joint_limit(&mut self, layers: &Layers<'a>, kind: JointKind) -> Option<[f64; 2]> {
        let is_bare = kind == JointKind::Ball && layers.figures("range").is_none();
        if !is_bare {
            return self.limited(layers, "range", "limited");
        }
        if layers.text("limited").as_deref() == Some("true")
            && let Some(node) = layers.0.last().copied()
        {
            let what = "a ball that is limited without a range: an engine holds it as it is drawn";
            self.remark(node, what.to_owned());
        }
        None
    }

    fn joint_kind(&mut self, layers: &Layers<'a>) -> JointKind {
        let Some(value) = layers.value("type") else { return JointKind::Revolute };
        match self.one_of(&value, "type", &["hinge", "slide", "ball", "free"]).as_deref() {
            Some("slide") => JointKind::Prismatic,
            Some("ball") => JointKind::Ball,
            Some("free") => JointKind::Other,
            _ => JointKind::Revolute,
        }
    }

    /// Whether stiffness and damping follow from a time constant and the masses that the joint moves.
    fn is_tuned(&mut self, node: Node<'a>, layers: &Layers<'a>) -> bool {
        let tuned: [f64; 2] = self.numbers(layers, "springdamper").unwrap_or_default();
        let is_tuned = tuned.iter().all(|figure| *figure > 0.0);
        if is_tuned {
            let what = "springdamper sets stiffness and damping by the masses; they are not read";
            self.remark(node, what.to_owned());
        }
        is_tuned
    }

    /// What holds the motion back.
    fn losses(&mut self, layers: &Layers<'a>, joint: FileJoint) -> FileJoint {
        let effort = self.limited(layers, "actuatorfrcrange", "actuatorfrclimited");
        let effort = effort.filter(|ends| ends.iter().all(|end| end.is_finite()));
        let [stiffness, bent @ ..] = self.leading_of(layers, "stiffness", [0.0; 3]);
        let damping =
            layers.figures("damping").map(|value| self.leading(&value, "damping", [0.0; 3]));
        let has = |part| self.options.has(part);
        let (springs, rubs) = (has(Effect::Spring), has(Effect::Friction));
        let damping = damping.filter(|_| has(Effect::Damper));
        let thickened = damping.is_some_and(|[_, more @ ..]| more.iter().any(|x| x.abs() > 0.0));
        let bent = springs && bent.iter().any(|x| x.abs() > 0.0);
        let unread = [(bent, "stiffness"), (thickened, "damping")];
        let unread: Vec<String> = unread
            .into_iter()
            .filter(|(is_bent, _)| *is_bent)
            .map(|(_, key)| format!("{key} of several figures"))
            .collect();
        FileJoint {
            properties: JointProperties {
                effort: effort.map(|[low, high]| low.abs().min(high.abs())),
                damping: damping.map(|[first, ..]| first),
                friction: self.number(layers, "frictionloss").filter(|_| rubs),
                armature: self.number(layers, "armature"),
                ..joint.properties
            },
            stiffness: (springs && stiffness != 0.0).then_some(stiffness),
            effort_ends: effort,
            unread: unread.join(" and "),
            ..joint
        }
    }

    fn add_joint(&mut self, node: Node<'a>, joint: FileJoint) {
        if let Some(name) = node.name() {
            let id = self.robot.joints.len();
            if self.joint_ids.insert(name.written.text.clone().into_owned(), id).is_some() {
                self.faults(name.document).twice("joint", &name.written);
            }
        }
        self.robot.joints.push(joint);
    }
}

/// A joint of which nothing is known but its kind and its links.
fn bare(node: Node<'_>, kind: JointKind, links: [LinkId; 2], pose: Isometry3<f64>) -> FileJoint {
    let anchor = Point3::from(pose.translation.vector);
    FileJoint { name: node.text("name"), anchor, ..FileJoint::bare(node.place(), kind, links) }
}
