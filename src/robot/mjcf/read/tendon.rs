//! Tendons, and what acts through them or between two sites.

use std::collections::HashSet;

use super::Reading;
use super::defaults::{ACTUATORS, MAIN};
use super::include::Node;
use crate::robot::model::{DriveEnds, DriveThrough, JointId, LinkId, SharedDrive};
use crate::robot::properties::{ActuatorProperties, JointProperties};

/// What moves when a tendon is pulled.
#[derive(Clone, Debug)]
pub(super) struct Tendon {
    through: DriveThrough,
    joints: Vec<(JointId, Option<f64>)>,
    /// The sites of a path of two.
    sites: Option<[usize; 2]>,
    properties: JointProperties,
}

impl<'a> Reading<'a> {
    pub(super) fn tendon(&mut self, node: Node<'a>) {
        let (through, joints, sites) = match node.tag() {
            "fixed" => (DriveThrough::FixedTendon, self.fixed_joints(node), None),
            "spatial" => {
                (DriveThrough::SpatialTendon, self.spanned_joints(node), self.two_sites(node))
            }
            _ => return,
        };
        let properties = self.tendon_properties(node);
        let tendon = Tendon { through, joints, sites, properties };
        self.tendons.insert(node.text("name"), tendon);
    }

    fn tendon_properties(&mut self, node: Node<'a>) -> JointProperties {
        let layers = self.layers(node, MAIN, &["tendon"]);
        let effort = self.limited(&layers, "actuatorfrcrange", "actuatorfrclimited");
        let [damping, ..] = self.leading_of(&layers, "damping", [0.0; 3]);
        JointProperties {
            limit: self.limited(&layers, "range", "limited"),
            effort: effort.map(|[low, high]| low.abs().min(high.abs())),
            damping: layers.figures("damping").map(|_| damping),
            friction: self.number(&layers, "frictionloss"),
            armature: self.number(&layers, "armature"),
            ..JointProperties::default()
        }
    }

    fn fixed_joints(&mut self, tendon: Node<'a>) -> Vec<(JointId, Option<f64>)> {
        let mut found = Vec::new();
        for node in self.files.children(tendon).into_iter().filter(|one| one.tag() == "joint") {
            let share: Option<[f64; 1]> = self.own_numbers(node, "coef");
            if let Some(joint) = self.joint_of(node, "joint") {
                found.push((joint, share.map(|[share]| share)));
            }
        }
        found
    }

    /// All joints between the bodies of two sites that follow each other on the path.
    fn spanned_joints(&mut self, tendon: Node<'a>) -> Vec<(JointId, Option<f64>)> {
        let path = self.files.children(tendon);
        let sites = path.iter().filter_map(|node| self.site_link(&node.text("site")));
        let links: Vec<LinkId> = sites.collect();
        let mut found = Vec::new();
        for pair in links.windows(2) {
            if let [a, b] = pair {
                found.extend(self.joints_between(*a, *b));
            }
        }
        each_once(found)
    }

    /// Where the path has two sites and nothing else.
    fn two_sites(&self, tendon: Node<'a>) -> Option<[usize; 2]> {
        let path = self.files.children(tendon);
        let sites: Vec<usize> =
            path.iter().filter_map(|node| self.site_ids.get(&node.text("site")).copied()).collect();
        <[usize; 2]>::try_from(sites).ok().filter(|_| path.len() == 2)
    }

    fn ends(&self, sites: [usize; 2], actuator: &ActuatorProperties) -> Option<DriveEnds> {
        let [a, b] = [self.sites.get(sites[0])?, self.sites.get(sites[1])?];
        let (links, points) = ([a.link, b.link], [a.point, b.point]);
        let (actuator, tendon) = (actuator.clone(), JointProperties::default());
        Some(DriveEnds { links, points, slide: None, actuator, tendon })
    }

    /// A slide with a rod: the slide's z axis is its way.
    fn slider_crank(&mut self, node: Node<'a>, actuator: &ActuatorProperties) -> Option<DriveEnds> {
        let id = |name: &str| self.site_ids.get(&node.text(name)).copied();
        let sites = [id("slidersite")?, id("cranksite")?];
        let along = self.sites.get(sites[0])?.along;
        let [rod]: [f64; 1] = self.own_numbers(node, "cranklength")?;
        Some(DriveEnds { slide: Some((along, rod)), ..self.ends(sites, actuator)? })
    }

    fn site_link(&self, name: &str) -> Option<LinkId> {
        Some(self.sites.get(*self.site_ids.get(name)?)?.link)
    }

    /// The joints on the way between two bodies of the tree.
    fn joints_between(&self, a: LinkId, b: LinkId) -> Vec<JointId> {
        let (up, down) = (self.way_up(a), self.way_up(b));
        let (left, right): (HashSet<JointId>, HashSet<JointId>) =
            (up.iter().copied().collect(), down.iter().copied().collect());
        left.symmetric_difference(&right).copied().collect()
    }

    /// The joints from a body to the world; a child stands behind its parent in the list of links.
    fn way_up(&self, link: LinkId) -> Vec<JointId> {
        let (mut found, mut at) = (Vec::new(), link);
        while at != 0 {
            let first = self.robot.joints.partition_point(|joint| joint.child < at);
            let own = self
                .robot
                .joints
                .iter()
                .enumerate()
                .skip(first)
                .take_while(|one| one.1.child == at);
            let own: Vec<(JointId, LinkId)> = own.map(|(id, joint)| (id, joint.parent)).collect();
            let Some((_, parent)) = own.first().copied().filter(|one| one.1 < at) else { break };
            found.extend(own.iter().map(|one| one.0));
            at = parent;
        }
        found
    }

    /// An actuator that names no joint: its tendon's joints, or those between its two sites.
    pub(super) fn shared_drive(&mut self, node: Node<'a>) {
        let (name, place) = (node.text("name"), node.place());
        let layers = self.layers(node, MAIN, &ACTUATORS);
        let actuator = self.actuator_properties(node, &layers, true);
        if let Some(tendon) = self.tendons.get(&node.text("tendon")) {
            let Tendon { through, joints, sites, properties } = tendon.clone();
            let ends = sites.and_then(|sites| self.ends(sites, &actuator));
            let ends = ends.map(|ends| DriveEnds { tendon: properties, ..ends });
            self.robot.shared_drives.push(SharedDrive { name, place, through, joints, ends });
            return;
        }
        let slide = self.slider_crank(node, &actuator);
        let ends = [["cranksite", "slidersite"], ["site", "refsite"]];
        let ends = ends.into_iter().find_map(|[one, two]| {
            Some((self.site_link(&node.text(one))?, self.site_link(&node.text(two))?))
        });
        if let Some((one, two)) = ends {
            let joints = each_once(self.joints_between(one, two));
            let through = DriveThrough::Sites;
            self.robot.shared_drives.push(SharedDrive {
                name,
                place,
                through,
                joints,
                ends: slide,
            });
        }
    }
}

/// In rising order, without a constant share of the force.
fn each_once(mut joints: Vec<JointId>) -> Vec<(JointId, Option<f64>)> {
    joints.sort_unstable();
    joints.dedup();
    joints.into_iter().map(|joint| (joint, None)).collect()
}
