//! Tendons, and what acts through them or between two sites.

use std::collections::HashSet;

use super::Reading;
use super::defaults::{ACTUATORS, Layers, MAIN};
use super::include::Node;
use super::option::Effect;
use crate::robot::model::{DriveEnds, DriveThrough, JointId, LinkId, Restraint, SharedDrive};
use crate::robot::place::Place;
use crate::robot::properties::JointProperties;

/// What moves when a tendon is pulled.
#[derive(Clone, Debug)]
pub(super) struct Tendon {
    place: Place,
    is_elastic: bool,
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
        let layers = self.layers(node, MAIN, &["tendon"]);
        let [stiffness, ..] = self.leading_of(&layers, "stiffness", [0.0; 3]);
        let stiffness = if self.options.has(Effect::Spring) { stiffness } else { 0.0 };
        let properties = self.tendon_properties(&layers);
        let by = restraining(stiffness, &properties);
        self.restrains(node, by.join(", "), joints.iter().map(|(joint, _)| *joint).collect());
        let is_elastic = stiffness != 0.0;
        let place = node.place();
        let tendon = Tendon { place, is_elastic, through, joints, sites, properties };
        self.tendons.insert(node.text("name"), tendon);
    }

    fn restrains(&mut self, node: Node<'a>, by: String, joints: Vec<JointId>) {
        if !by.is_empty() {
            let (name, place) = (node.text("name"), node.place());
            self.robot.restraints.push(Restraint { name, place, by, joints });
        }
    }

    /// An equality that ties the lengths of two tendons, or holds that of one.
    pub(super) fn tied_tendons(&mut self, node: Node<'a>) {
        let layers = self.layers(node, MAIN, &["equality"]);
        if !self.is_active(&layers) {
            return;
        }
        let tied = ["tendon1", "tendon2"].into_iter().filter_map(|end| node.own(end));
        let tied = tied.filter_map(|name| self.tendons.get(&*name.written.text));
        let joints =
            tied.flat_map(|tendon| tendon.joints.iter().map(|(joint, _)| *joint)).collect();
        self.restrains(node, "an equality of tendons".to_owned(), joints);
    }

    fn tendon_properties(&mut self, layers: &Layers<'a>) -> JointProperties {
        let effort = self.limited(layers, "actuatorfrcrange", "actuatorfrclimited");
        let [damping, ..] = self.leading_of(layers, "damping", [0.0; 3]);
        let [limits, damps, rubs] =
            [Effect::Limit, Effect::Damper, Effect::Friction].map(|part| self.options.has(part));
        JointProperties {
            limit: self.limited(layers, "range", "limited").filter(|_| limits),
            effort: effort.map(|[low, high]| low.abs().min(high.abs())),
            damping: layers.figures("damping").map(|_| damping).filter(|_| damps),
            friction: self.number(layers, "frictionloss").filter(|_| rubs),
            armature: self.number(layers, "armature"),
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

    fn ends(&self, sites: [usize; 2]) -> Option<DriveEnds> {
        let [a, b] = [self.sites.get(sites[0])?, self.sites.get(sites[1])?];
        let (links, points) = ([a.link, b.link], [a.point, b.point]);
        Some(DriveEnds { links, points, slide: None })
    }

    /// A slide with a rod: the slide's z axis is its way.
    fn slider_crank(&mut self, node: Node<'a>) -> Option<DriveEnds> {
        let id = |name: &str| self.site_ids.get(&node.text(name)).copied();
        let sites = [id("slidersite")?, id("cranksite")?];
        let along = self.sites.get(sites[0])?.along;
        let [rod]: [f64; 1] = self.own_numbers(node, "cranklength")?;
        Some(DriveEnds { slide: Some((along, rod)), ..self.ends(sites)? })
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
            let Tendon { place: own, is_elastic, through, joints, sites, properties } =
                tendon.clone();
            let ends = sites.and_then(|sites| self.ends(sites));
            // What resists a drive between two points is that drive's own.
            if ends.is_some() && !is_elastic {
                self.robot.restraints.retain(|one| one.place != own);
            }
            self.robot.shared_drives.push(SharedDrive {
                name,
                place,
                through,
                joints,
                ends,
                actuator,
                tendon: properties,
            });
            return;
        }
        let slide = self.slider_crank(node);
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
                actuator,
                tendon: JointProperties::default(),
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

/// The properties by which a tendon acts on its joints itself, in the format's words.
fn restraining(stiffness: f64, tendon: &JointProperties) -> Vec<&'static str> {
    let is_there = |figure: Option<f64>| figure.is_some_and(|figure| figure != 0.0);
    let all = [
        (stiffness != 0.0, "stiffness"),
        (is_there(tendon.damping), "damping"),
        (is_there(tendon.friction), "frictionloss"),
        (is_there(tendon.armature), "armature"),
        (tendon.limit.is_some(), "range"),
    ];
    all.into_iter().filter(|(is_there, _)| *is_there).map(|(_, name)| name).collect()
}
