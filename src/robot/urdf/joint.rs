//! One joint of a URDF file.

use nalgebra::Vector3;

use super::read::Urdf;
use crate::robot::document::Element;
use crate::robot::model::{FileJoint, FileLink, JointKind, LinkId};
use crate::robot::place::Place;
use crate::robot::properties::{JointProperties, Mimic};
use crate::robot::values::{Faults, Written, rising, shown};

/// The types, and whether each is open at both ends.
const TYPES: [(&str, (JointKind, bool)); 6] = [
    ("revolute", (JointKind::Revolute, false)),
    ("continuous", (JointKind::Revolute, true)),
    ("prismatic", (JointKind::Prismatic, false)),
    ("fixed", (JointKind::Fixed, true)),
    ("floating", (JointKind::Other, true)),
    ("planar", (JointKind::Other, true)),
];

/// The link that some engines know without its being written.
const WORLD: &str = "world";

impl<'a> Urdf<'a> {
    pub(super) fn joint_name(&mut self, element: Element<'a>) {
        let Some(name) = self.faults.name(element) else { return };
        if self.joint_names.insert(name.text.clone(), element).is_some() {
            self.faults.twice("joint", &name);
        }
    }

    pub(super) fn joint(&mut self, element: Element<'a>) {
        let kind = self.joint_kind(element);
        let parent = self.joint_link(element, "parent");
        let child = self.joint_link(element, "child");
        let origin = self.origin(element);
        let is_turning = matches!(kind, Some((JointKind::Revolute | JointKind::Prismatic, _)));
        let axis = if is_turning { self.axis(element) } else { plane_normal(element) };
        let limit = kind.and_then(|(kind, is_open)| self.limit(element, kind, is_open));
        let [effort, velocity] = self.bounds(element);
        let [damping, friction] = self.dynamics(element);
        let mimic = element.child("mimic").and_then(|mimic| self.mimic(element, mimic));
        let soft_limits = self.soft_limits(element);
        let (Some((kind, _)), Some(axis)) = (kind, axis) else { return };
        let (Some((parent, _)), Some((child, child_name))) = (parent, child) else { return };
        self.placements.push((origin, child_name));
        self.robot.joints.push(FileJoint {
            name: element.value("name").unwrap_or_default().into_owned(),
            axis,
            properties: JointProperties {
                limit,
                effort,
                velocity,
                damping,
                friction,
                mimic,
                ..JointProperties::default()
            },
            soft_limits,
            ..FileJoint::bare(Place::from(element), kind, [parent, child])
        });
    }

    /// The kind, and whether it turns without limits.
    fn joint_kind(&mut self, element: Element<'a>) -> Option<(JointKind, bool)> {
        // no standard type, but in files that a physics engine's package carries
        if element.value("type").as_deref() == Some("spherical") {
            return Some((JointKind::Ball, true));
        }
        self.faults.joint_type(element, &TYPES)
    }

    fn joint_link(&mut self, joint: Element<'a>, side: &str) -> Option<(LinkId, Written<'a>)> {
        let name = self.child_value(joint, side, "link")?;
        let Some(id) = self.link_ids.get(&*name.text) else {
            if name.text == WORLD && side == "parent" {
                return Some((self.add_world(joint), name));
            }
            self.faults.unknown(
                "link",
                &name,
                self.robot.links.iter().map(|link| link.name.as_str()),
            );
            return None;
        };
        Some((*id, name))
    }

    fn add_world(&mut self, joint: Element<'a>) -> LinkId {
        let id = self.robot.links.len();
        self.link_ids.insert(WORLD.into(), id);
        let place = Place::from(joint.parent().unwrap_or(joint));
        self.robot.links.push(FileLink::bare(WORLD.to_owned(), place));
        id
    }

    /// x where it is not written.
    fn axis(&mut self, element: Element<'a>) -> Option<Vector3<f64>> {
        let written = element.child("axis").and_then(|axis| Written::attribute(axis, "xyz"));
        match written {
            Some(written) => self.faults.direction("the axis", &written),
            None => Some(Vector3::x()),
        }
    }

    /// 0 for what is not written; an infinite end is open.
    fn limit(&mut self, element: Element<'a>, kind: JointKind, is_open: bool) -> Option<[f64; 2]> {
        if is_open {
            return None;
        }
        let Some(limit) = element.child("limit") else {
            let name = element.value("name").unwrap_or_default();
            let message = format!("joint \"{}\" has no <limit>", shown(&name));
            let help = if kind == JointKind::Revolute {
                "write <limit lower= upper= effort= velocity=>, or type=\"continuous\" for a joint without end"
            } else {
                "write <limit lower= upper= effort= velocity=>"
            };
            self.faults.add(element.tag_range(), message, help);
            return None;
        };
        let [low, high] = ["lower", "upper"].map(|name| {
            let written = Written::attribute(limit, name);
            written.map_or(Some(0.0), |written| self.faults.open_number(name, &written))
        });
        self.rising(limit, [low?, high?])
    }

    fn rising(&mut self, limit: Element<'a>, ends: [f64; 2]) -> Option<[f64; 2]> {
        rising(ends).unwrap_or_else(|what| {
            self.remark(limit, what);
            None
        })
    }

    /// Where the format's safety controller is to keep the joint; 0 for an end that is not written where the other is.
    fn soft_limits(&mut self, joint: Element<'a>) -> Option<[f64; 2]> {
        let controller = joint.child("safety_controller")?;
        let ends = ["soft_lower_limit", "soft_upper_limit"]
            .map(|name| self.attribute_number(controller, name));
        (ends != [None; 2]).then(|| ends.map(|end| end.unwrap_or(0.0)))
    }

    fn bounds(&mut self, element: Element<'a>) -> [Option<f64>; 2] {
        let Some(limit) = element.child("limit") else { return [None; 2] };
        ["effort", "velocity"].map(|name| {
            let written = Written::attribute(limit, name)?;
            self.faults.open_number(name, &written).filter(|bound| bound.is_finite())
        })
    }

    fn dynamics(&mut self, element: Element<'a>) -> [Option<f64>; 2] {
        let Some(dynamics) = element.child("dynamics") else { return [None; 2] };
        ["damping", "friction"].map(|name| self.attribute_number(dynamics, name))
    }

    fn mimic(&mut self, joint: Element<'a>, mimic: Element<'a>) -> Option<Mimic> {
        let leader = self.child_value(joint, "mimic", "joint")?;
        if !self.joint_names.contains_key(&*leader.text) {
            let what =
                format!("it should follow joint \"{}\", which does not exist", shown(&leader.text));
            self.remark(mimic, what);
            return None;
        }
        if joint.value("name").as_deref() == Some(&*leader.text) {
            let message = format!("joint \"{}\" follows itself", shown(&leader.text));
            self.faults.add(leader.place.clone(), message, "name the joint that leads");
        }
        Some(Mimic {
            leader: leader.text.into_owned(),
            multiplier: self.attribute_number(mimic, "multiplier").unwrap_or(1.0),
            offset: self.attribute_number(mimic, "offset").unwrap_or(0.0),
        })
    }
}

/// The axis of a joint that need not have one, where it is written and has a direction; else zero.
fn plane_normal(element: Element<'_>) -> Option<Vector3<f64>> {
    let is_planar = element.value("type").as_deref() == Some("planar");
    let written = element.child("axis").and_then(|axis| Written::attribute(axis, "xyz"));
    let normal = written.filter(|_| is_planar);
    let found = normal.and_then(|xyz| Faults::default().direction("the axis", &xyz));
    Some(found.unwrap_or_default())
}
