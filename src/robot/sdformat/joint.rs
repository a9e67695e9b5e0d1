//! The joints of an SDFormat file.

use nalgebra::{Point3, UnitQuaternion, Vector3};

use super::frame::{Frames, look_up};
use super::reading::{Reading, is_true};
use super::scope::{Entities, Entity, EntityId, EntityKind, WORLD};
use crate::robot::document::Element;
use crate::robot::model::{FileJoint, FileLink, JointCoupling, JointKind, LinkId};
use crate::robot::place::Place;
use crate::robot::properties::{JointProperties, Mimic};
use crate::robot::values::{Written, rising, shown};

/// Limits at and beyond this are none, by the versions before 1.9.
const OPEN: f64 = 1e16;

/// The types, and whether each needs an axis.
const TYPES: [(&str, (JointKind, bool)); 10] = [
    ("revolute", (JointKind::Revolute, true)),
    ("continuous", (JointKind::Revolute, true)),
    ("prismatic", (JointKind::Prismatic, true)),
    ("fixed", (JointKind::Fixed, false)),
    ("ball", (JointKind::Ball, false)),
    ("universal", (JointKind::Universal, false)),
    ("revolute2", (JointKind::Other, false)),
    ("screw", (JointKind::Other, false)),
    ("gearbox", (JointKind::Gearbox, false)),
    ("piston", (JointKind::Other, false)),
];

/// The format's stiffness of a stop where none is written, N m/rad.
const STIFF: f64 = 1e8;

/// One joint with what its names are looked up in.
struct Source<'e, 'a> {
    entities: &'e Entities<'a>,
    frames: &'e Frames,
    id: EntityId,
    entity: &'e Entity<'a>,
}

impl Reading {
    /// All of them; a link `world` is added where a joint needs it.
    pub(super) fn joints(&mut self, entities: &Entities<'_>, frames: &Frames) {
        for (id, entity) in entities.all.iter().enumerate() {
            if entity.kind == EntityKind::Joint {
                let joint = self.joint(&Source { entities, frames, id, entity });
                self.robot.joints.extend(joint);
            }
        }
    }

    fn joint(&mut self, source: &Source<'_, '_>) -> Option<FileJoint> {
        let element = source.entity.element;
        let kind = self.faults.joint_type(element, &TYPES);
        let [parent, child] = ["parent", "child"].map(|side| self.side(source, side));
        let turns_freely = element.value("type").as_deref() == Some("continuous");
        let axis = kind.and_then(|(kind, needs)| self.axis(source, kind, needs));
        let second_axis = self.second_axis(source, kind.map(|(kind, _)| kind));
        let about = element.child("axis");
        let limit = about.filter(|_| !turns_freely).and_then(|axis| self.limit(axis));
        let [effort, velocity] = ["effort", "velocity"].map(|name| self.bound(about, name));
        let [damping, friction, stiffness, rest] =
            ["damping", "friction", "spring_stiffness", "spring_reference"]
                .map(|name| self.child_number(about?.child("dynamics")?, name));
        let beside = element.child("axis2").filter(|_| second_axis.is_some_and(|a| a.norm() > 0.0));
        let [damping, friction, stiffness] =
            [(damping, "damping"), (friction, "friction"), (stiffness, "spring_stiffness")].map(
                |(own, name)| {
                    let dynamics = beside.and_then(|axis| axis.child("dynamics"));
                    let other = dynamics.and_then(|dynamics| self.child_number(dynamics, name));
                    // Of two axes the larger: that it has any is what counts.
                    own.into_iter().chain(other).reduce(f64::max)
                },
            );
        let mimic = about.and_then(|axis| self.mimic(source, axis.child("mimic")?));
        let (parent, child) = (parent?, child?);
        self.must_differ(source, parent, child);
        let [parent, child] = [parent, child].map(|side| self.link_id(side, source));
        Some(FileJoint {
            name: source.entity.name.clone(),
            anchor: Point3::from(source.frames.pose(source.id).translation.vector),
            axis: axis?,
            second_axis: second_axis?,
            properties: JointProperties {
                limit,
                effort,
                velocity,
                damping,
                friction,
                mimic,
                ..JointProperties::default()
            },
            stiffness: stiffness.filter(|stiffness| *stiffness > 0.0),
            spring_reference: rest.unwrap_or(0.0),
            unread: engine_motor(element),
            soft: self.soft(element),
            ..FileJoint::bare(Place::from(element), kind?.0, [parent, child])
        })
    }

    /// What makes the limits give way: the format's stiffness of a stop, and an engine's own figures.
    fn soft(&mut self, joint: Element<'_>) -> String {
        let limit = joint.child("axis").and_then(|axis| axis.child("limit"));
        let stiffness = limit.and_then(|limit| self.child_number(limit, "stiffness"));
        let is_soft = stiffness.is_some_and(|stiffness| (0.0..STIFF).contains(&stiffness));
        let engine = joint.child("physics").is_some_and(|physics| {
            physics.descendants().any(|one| matches!(one.name(), "cfm" | "erp"))
        });
        let all = [(is_soft, "<stiffness> of <limit>"), (engine, "<cfm>, <erp> of <physics>")];
        let all = all.into_iter().filter(|(is_there, _)| *is_there).map(|(_, what)| what);
        all.collect::<Vec<_>>().join(" and ")
    }

    /// What the gearbox joints couple: the turns of parent and child against the reference body, θ₂ = −ratio·θ₁.
    pub(super) fn gearboxes(&mut self, entities: &Entities<'_>, frames: &Frames) {
        let boxes = entities.all.iter().enumerate().filter(|(_, one)| {
            one.kind == EntityKind::Joint && one.element.value("type").as_deref() == Some("gearbox")
        });
        for (id, entity) in boxes {
            let source = Source { entities, frames, id, entity };
            match self.gearbox(&source) {
                Some(coupling) => self.robot.couplings.push(coupling),
                None => {
                    let what = "what the gearbox couples is not read: no hinge holds both its links to its reference body";
                    self.remark(entity.element, what.to_owned());
                }
            }
        }
    }

    fn gearbox(&mut self, source: &Source<'_, '_>) -> Option<JointCoupling> {
        let element = source.entity.element;
        let link = |name: &str| {
            let found = source.entities.find(source.entity.scope, &element.child(name)?.text())?;
            source.frames.link(found)
        };
        let [base, parent, child] =
            [link("gearbox_reference_body")?, link("parent")?, link("child")?];
        let hinge = |link: LinkId| {
            self.robot.joints.iter().enumerate().find_map(|(id, joint)| {
                let is_along = joint.parent == base && joint.child == link;
                let is_back = joint.parent == link && joint.child == base;
                let turns = joint.kind == JointKind::Revolute && (is_along || is_back);
                turns.then_some((id, if is_along { joint.axis } else { -joint.axis }))
            })
        };
        let ((leader, first), (follower, second)) = (hinge(parent)?, hinge(child)?);
        let ratio = self.child_number(element, "gearbox_ratio").unwrap_or(1.0);
        let axis = |name: &str| {
            let turn = self.axis_frame(source, element.child(name)?)?;
            let xyz = element.child(name)?.child("xyz")?;
            self.faults.direction("the axis", &Written::inside(xyz)).map(|xyz| turn * xyz)
        };
        let [one, two] = ["axis", "axis2"].map(axis);
        let sense = |axis: Option<Vector3<f64>>, joint: Vector3<f64>| {
            axis.map_or(1.0, |axis| axis.dot(&joint).signum())
        };
        let slope = -ratio * sense(one, first) * sense(two, second);
        Some(JointCoupling {
            place: Place::from(element),
            follower,
            leader: Some(leader),
            polynomial: [0.0, slope, 0.0, 0.0, 0.0],
            is_active: true,
        })
    }

    /// The link or frame on one side. Of an included model there is no link to be tied: the joint is left out.
    fn side(&mut self, source: &Source<'_, '_>, side: &str) -> Option<EntityId> {
        let joint = source.entity;
        let Some(element) = joint.element.child(side) else {
            let message = format!("joint \"{}\" has no <{side}>", shown(&joint.name));
            let help = format!("write <{side}>LINK</{side}> inside it");
            self.faults.add(joint.element.tag_range(), message, help);
            return None;
        };
        let name = Written::inside(element);
        if name.text.is_empty() {
            let help = format!("write <{side}>LINK</{side}>");
            self.faults.add(name.place, format!("the <{side}> names no link"), help);
            return None;
        }
        let found = source.entities.find(joint.scope, &name.text);
        if found.is_some() {
            return found;
        }
        if source.entities.may_be_included(joint.scope, &name.text) {
            let what = format!("not read: \"{}\" may be of an included model", shown(&name.text));
            self.remark(joint.element, what);
        } else {
            self.faults.unknown("link", &name, source.entities.names(joint.scope));
        }
        None
    }

    fn must_differ(&mut self, source: &Source<'_, '_>, parent: EntityId, child: EntityId) {
        let link = source.frames.link(parent);
        if parent == child || (link.is_some() && link == source.frames.link(child)) {
            let message = format!("joint \"{}\" ties a link to itself", shown(&source.entity.name));
            let place = source.entity.element.tag_range();
            self.faults.add(place, message, "name two links in <parent> and <child>");
        }
    }

    /// The unit vector in the world; zero where the joint has none.
    fn axis(
        &mut self,
        source: &Source<'_, '_>,
        kind: JointKind,
        is_needed: bool,
    ) -> Option<Vector3<f64>> {
        let joint = source.entity.element;
        let Some(axis) = joint.child("axis") else {
            if is_needed {
                let message = format!("joint \"{}\" has no <axis>", shown(&source.entity.name));
                let help = "write <axis><xyz>0 0 1</xyz></axis> inside it";
                self.faults.add(joint.tag_range(), message, help);
                return None;
            }
            return Some(Vector3::zeros());
        };
        if matches!(kind, JointKind::Fixed | JointKind::Ball) {
            return Some(Vector3::zeros());
        }
        let turn = self.axis_frame(source, axis)?;
        let Some(xyz) = axis.child("xyz") else { return Some(turn * Vector3::z()) };
        self.faults.direction("the axis", &Written::inside(xyz)).map(|xyz| turn * xyz)
    }

    /// The unit vector of `axis2` in the world; zero where the kind has one axis alone.
    fn second_axis(
        &mut self,
        source: &Source<'_, '_>,
        kind: Option<JointKind>,
    ) -> Option<Vector3<f64>> {
        let axis = source.entity.element.child("axis2");
        let Some(axis) = axis.filter(|_| kind == Some(JointKind::Universal)) else {
            return Some(Vector3::zeros());
        };
        let turn = self.axis_frame(source, axis)?;
        let Some(xyz) = axis.child("xyz") else { return Some(turn * Vector3::z()) };
        self.faults.direction("the axis", &Written::inside(xyz)).map(|xyz| turn * xyz)
    }

    /// From the frame in which the axis is written to the world.
    fn axis_frame(
        &mut self,
        source: &Source<'_, '_>,
        axis: Element<'_>,
    ) -> Option<UnitQuaternion<f64>> {
        let Source { entities, frames, entity, id } = source;
        let expressed_in = axis
            .child("xyz")
            .and_then(|xyz| Written::attribute(xyz, "expressed_in"))
            .filter(|name| !name.text.is_empty());
        if let Some(name) = expressed_in {
            let frame = look_up(entities, entity.scope, &name, self)?;
            return Some(frames.pose(frame).rotation);
        }
        let model = entities.scopes.get(entity.scope).map_or(WORLD, |scope| scope.frame);
        let says = axis.child("use_parent_model_frame").is_some_and(|says| is_true(&says.text()));
        if says && self.version >= [1, 7] {
            self.remark(
                axis,
                "use_parent_model_frame means nothing from version 1.7 on".to_owned(),
            );
        }
        let is_in_model = self.version < [1, 5] || (says && self.version < [1, 7]);
        Some(frames.pose(if is_in_model { model } else { *id }).rotation)
    }

    fn limit(&mut self, axis: Element<'_>) -> Option<[f64; 2]> {
        let limit = axis.child("limit")?;
        let low = self.open_child(limit, "lower").filter(|low| *low > -OPEN);
        let high = self.open_child(limit, "upper").filter(|high| *high < OPEN);
        rising([low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY)]).unwrap_or_else(
            |what| {
                self.remark(limit, what);
                None
            },
        )
    }

    fn open_child(&mut self, element: Element<'_>, name: &str) -> Option<f64> {
        self.faults.open_number(name, &Written::inside(element.child(name)?))
    }

    /// Negative and infinite is no bound.
    fn bound(&mut self, axis: Option<Element<'_>>, name: &str) -> Option<f64> {
        let bound = self.open_child(axis?.child("limit")?, name)?;
        (bound >= 0.0 && bound.is_finite()).then_some(bound)
    }

    /// The format's reference goes into the offset: multiplier · (leader − reference) + offset.
    fn mimic(&mut self, source: &Source<'_, '_>, mimic: Element<'_>) -> Option<Mimic> {
        let Some(name) = Written::attribute(mimic, "joint") else {
            let help = "write joint=\"...\": the joint that leads";
            self.faults.add(mimic.tag_range(), "the <mimic> names no joint".to_owned(), help);
            return None;
        };
        let leader = source.entities.find_joint(source.entity.scope, &name.text);
        let Some(leader) = leader.and_then(|leader| source.entities.all.get(leader)) else {
            let scope = source.entity.scope;
            self.faults.unknown("joint", &name, source.entities.joint_names(scope));
            return None;
        };
        let multiplier = self.child_number(mimic, "multiplier").unwrap_or(1.0);
        let offset = self.child_number(mimic, "offset").unwrap_or(0.0);
        let reference = self.child_number(mimic, "reference").unwrap_or(0.0);
        Some(Mimic {
            leader: leader.name.clone(),
            multiplier,
            offset: offset - multiplier * reference,
        })
    }

    fn link_id(&mut self, side: EntityId, source: &Source<'_, '_>) -> LinkId {
        if let Some(link) = source.frames.link(side) {
            return link;
        }
        let links = &mut self.robot.links;
        *self.ground.get_or_insert_with(|| {
            let root = source.entities.all.first().map_or(source.entity.element, |w| w.element);
            links.push(FileLink::bare("world".to_owned(), Place::from(root)));
            links.len() - 1
        })
    }
}

/// A motor of the physics engine's own, which has torque; empty without one.
fn engine_motor(joint: Element<'_>) -> String {
    let ode = joint.child("physics").and_then(|physics| physics.child("ode"));
    let force = ode.and_then(|ode| ode.child("max_force"));
    let acts = force.is_some_and(|force| force.text().parse() != Ok(0.0));
    if acts {
        "a motor of the engine's own (<max_force> of <physics>)".to_owned()
    } else {
        String::new()
    }
}
