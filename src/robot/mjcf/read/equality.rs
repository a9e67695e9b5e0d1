//! What closes loops and ties joints: `equality`.

use std::collections::HashMap;

use nalgebra::Point3;

use super::Reading;
use super::defaults::{Layers, MAIN};
use super::include::Node;
use super::option::Effect;
use crate::robot::model::{Closure, ClosureKind, JointCoupling, LinkId, Robot, StatedRoles};
use crate::robot::values::shown;

impl<'a> Reading<'a> {
    pub(super) fn equality(&mut self, node: Node<'a>) {
        match node.tag() {
            "connect" => self.closure(node, ClosureKind::Connect),
            "weld" => self.closure(node, ClosureKind::Weld),
            "joint" => self.coupling(node),
            _ => {}
        }
    }

    pub(super) fn is_active(&mut self, layers: &Layers<'a>) -> bool {
        let value = layers.value("active");
        let word = value.and_then(|value| self.one_of(&value, "active", &["true", "false"]));
        self.options.has(Effect::Equality) && word.as_deref() != Some("false")
    }

    fn closure(&mut self, node: Node<'a>, kind: ClosureKind) {
        let layers = self.layers(node, MAIN, &["equality"]);
        let is_active = self.is_active(&layers);
        let softness = self.softness(&layers, ["solref", "solimp"]);
        let by_sites = node.own("site1").is_some() || node.own("site2").is_some();
        let ends = if by_sites { self.by_sites(node) } else { self.by_bodies(node, kind) };
        let Some((links, points)) = ends else { return };
        self.robot.closures.push(Closure {
            name: node.text("name"),
            place: node.place(),
            kind,
            links,
            points,
            by_sites,
            is_active,
            softness,
            roles: StatedRoles::default(),
        });
    }

    /// How far a constraint gives way to a small steady load, times what it would by the engine's defaults: with impedance d
    /// and reference (τ, ζ) that is (1 − d)/d² · (d_max τ ζ)² times the acceleration which the load alone would give.
    ///
    /// The engine's documentation on solver parameters, where a negative reference is a stiffness instead of 1/(τ ζ)²; held
    /// against the engine by hanging a ball on a `connect`.
    pub(super) fn softness(
        &mut self,
        layers: &Layers<'a>,
        [solref, solimp]: [&'static str; 2],
    ) -> Option<f64> {
        layers.figures(solref).or_else(|| layers.figures(solimp))?;
        let reference = self.leading_of(layers, solref, DEFAULT_REFERENCE);
        let impedance = self.leading_of(layers, solimp, DEFAULT_IMPEDANCE);
        Some(gives_way(reference, impedance) / gives_way(DEFAULT_REFERENCE, DEFAULT_IMPEDANCE))
    }

    fn by_sites(&mut self, node: Node<'a>) -> Option<([LinkId; 2], [Point3<f64>; 2])> {
        let [one, two] = ["site1", "site2"]
            .map(|name| self.id_of(node, name, "site", |reading| &reading.site_ids));
        let (one, two) = (self.sites.get(one?)?, self.sites.get(two?)?);
        Some(([one.link, two.link], [one.point, two.point]))
    }

    fn by_bodies(
        &mut self,
        node: Node<'a>,
        kind: ClosureKind,
    ) -> Option<([LinkId; 2], [Point3<f64>; 2])> {
        let one = self.link_of(node, "body1");
        let two = if node.own("body2").is_some() { self.link_of(node, "body2") } else { Some(0) };
        let anchor: Option<[f64; 3]> = self.own_numbers(node, "anchor");
        if anchor.is_none() && node.own("anchor").is_none() && kind == ClosureKind::Connect {
            let help = "write anchor=\"x y z\" in the frame of body1, or site1 and site2";
            self.fault_at(node, "the <connect> has no anchor".to_owned(), help);
        }
        let relative: Option<[f64; 7]> = self.own_numbers(node, "relpose");
        let anchor = Point3::from(anchor.unwrap_or_default());
        let links = [one?, two?];
        let [one, two] =
            links.map(|id| self.robot.links.get(id).map(|link| link.pose).unwrap_or_default());
        let points = match kind {
            ClosureKind::Connect => [one * anchor; 2],
            // a weld's anchor is in the second body's frame
            ClosureKind::Weld => {
                let drawn = two * anchor;
                [relative.and_then(held).map_or(drawn, |point| one * point), drawn]
            }
        };
        Some((links, points))
    }

    fn coupling(&mut self, node: Node<'a>) {
        let layers = self.layers(node, MAIN, &["equality"]);
        let is_active = self.is_active(&layers);
        let follower = self.joint_of(node, "joint1");
        let leader = match node.own("joint2") {
            Some(_) => match self.joint_of(node, "joint2") {
                None => return,
                found => found,
            },
            None => None,
        };
        let straight = [0.0, 1.0, 0.0, 0.0, 0.0];
        let polynomial = match node.figures("polycoef") {
            Some(value) => self.leading(&value, "polycoef", straight),
            None => straight,
        };
        let Some(follower) = follower else { return };
        self.robot.couplings.push(JointCoupling {
            place: node.place(),
            follower,
            leader,
            polynomial,
            is_active,
        });
    }

    /// The body that an attribute names.
    pub(super) fn link_of(&mut self, node: Node<'a>, name: &str) -> Option<LinkId> {
        self.id_of(node, name, "body", |reading| &reading.link_ids)
    }

    /// The joint that an attribute names.
    pub(super) fn joint_of(&mut self, node: Node<'a>, name: &str) -> Option<usize> {
        self.id_of(node, name, "joint", |reading| &reading.joint_ids)
    }

    fn id_of(
        &mut self,
        node: Node<'a>,
        name: &str,
        kind: &str,
        ids: fn(&Self) -> &HashMap<String, usize>,
    ) -> Option<usize> {
        let found = self.named(node, name)?;
        ids(self).get(&found).copied().or_else(|| self.unknown(node, name, kind))
    }

    fn named(&mut self, node: Node<'a>, name: &str) -> Option<String> {
        let found = node.text(name);
        if found.is_empty() {
            let message = format!("the <{}> has no {name}", node.tag());
            self.fault_at(node, message, &format!("write {name}=\"...\" into the tag"));
            return None;
        }
        Some(found)
    }

    /// A fault; where the engine makes bodies that are not read, a remark.
    fn unknown(&mut self, node: Node<'a>, name: &str, kind: &str) -> Option<usize> {
        let value = node.own(name)?;
        if self.robot.unread > 0 {
            let what =
                format!("it names a {kind} \"{}\" that was not read", shown(&value.written.text));
            self.remark(node, what);
            return None;
        }
        let faults = self.faults.entry(value.document).or_default();
        let Robot { links, joints, .. } = &self.robot;
        match kind {
            "body" => faults.unknown(kind, &value.written, links.iter().map(|one| &*one.name)),
            "joint" => faults.unknown(kind, &value.written, joints.iter().map(|one| &*one.name)),
            _ => faults.unknown(kind, &value.written, self.sites.iter().map(|one| &*one.name)),
        }
        None
    }
}

/// `solref` and `solimp` where they are not written: the second begins with the two impedances.
const DEFAULT_REFERENCE: [f64; 2] = [0.02, 1.0];
const DEFAULT_IMPEDANCE: [f64; 5] = [0.9, 0.95, 0.001, 0.5, 2.0];

/// The ends that the engine holds an impedance to.
const IMPEDANCES: [f64; 2] = [1e-4, 0.9999];

/// m per m/s².
fn gives_way([first, second]: [f64; 2], [least, most, ..]: [f64; 5]) -> f64 {
    let [least, most] = [least, most].map(|d| d.clamp(IMPEDANCES[0], IMPEDANCES[1]));
    let per_stiffness = if first > 0.0 { (first * second).powi(2) } else { -1.0 / first };
    (1.0 - least) / (least * least) * most * most * per_stiffness
}

/// The point of the first body that a weld's `relpose` names, in its own frame; none where the bodies are held as drawn.
fn held([x, y, z, quaternion @ ..]: [f64; 7]) -> Option<Point3<f64>> {
    quaternion.iter().any(|part| *part != 0.0).then(|| Point3::new(x, y, z))
}
