//! URDF holds trees: every link but one hangs on exactly one joint.

use nalgebra::{Isometry3, Point3};

use crate::diagnostic::Diagnostic;
use crate::robot::chains::Chains;
use crate::robot::document::Element;
use crate::robot::model::{FileLink, JointId, LinkId, Robot};
use crate::robot::values::{Faults, Written, shown};

/// So many names are listed in one message.
const LISTED: usize = 5;

/// The joint that each link hangs on, and the links from the root outward.
pub(super) struct Tree {
    joint_of: Vec<Option<JointId>>,
    order: Vec<LinkId>,
}

impl Tree {
    /// Of the links and joints that are read, with where the file puts each joint's child; faults go to the file's.
    pub(super) fn new(
        robot: &Robot,
        placements: &[(Isometry3<f64>, Written<'_>)],
        root: Element<'_>,
        faults: &mut Faults,
    ) -> Self {
        let joint_of = parents(robot, placements, faults);
        let parent_of = |joint: &Option<JointId>| {
            joint.and_then(|joint| robot.joints.get(joint)).map(|joint| joint.parent)
        };
        let chains = Chains::new(&joint_of.iter().map(parent_of).collect::<Vec<_>>());
        for circle in &chains.circles {
            if let Some(fault) = circle_fault(robot, placements, circle, &joint_of) {
                faults.add_labelled(fault);
            }
        }
        // a joint that was refused leaves roots behind that are none
        if faults.is_empty() {
            one_root(robot, root, &joint_of, faults);
        }
        Self { joint_of, order: chains.order }
    }

    /// Where every link and joint is in the root's frame, all joints at 0.
    pub(super) fn place(&self, robot: &mut Robot, placements: &[(Isometry3<f64>, Written<'_>)]) {
        let Robot { links, joints, .. } = robot;
        for &link in &self.order {
            let Some(id) = self.joint_of.get(link).copied().flatten() else { continue };
            let (Some(joint), Some((origin, _))) = (joints.get_mut(id), placements.get(id)) else {
                continue;
            };
            let Some(parent) = links.get(joint.parent) else { continue };
            let pose = parent.pose * origin;
            joint.anchor = Point3::from(pose.translation.vector);
            joint.axis = pose.rotation * joint.axis;
            links.get_mut(link).into_iter().for_each(|link| link.pose = pose);
        }
    }
}

fn parents(
    robot: &Robot,
    placements: &[(Isometry3<f64>, Written<'_>)],
    faults: &mut Faults,
) -> Vec<Option<JointId>> {
    let mut joint_of: Vec<Option<JointId>> = vec![None; robot.links.len()];
    for (id, joint) in robot.joints.iter().enumerate() {
        let Some(slot) = joint_of.get_mut(joint.child) else { continue };
        let Some(first) = slot.and_then(|first| robot.joints.get(first)) else {
            *slot = Some(id);
            continue;
        };
        let Some((_, child)) = placements.get(id) else { continue };
        let message = format!(
            "link \"{}\" hangs on two joints, \"{}\" and \"{}\"",
            shown(&child.text),
            shown(&first.name),
            shown(&joint.name)
        );
        let help = "URDF holds trees only: take one of the two joints out; SDFormat and MJCF can close a loop";
        faults.add(child.place.clone(), message, help);
    }
    joint_of
}

fn circle_fault(
    robot: &Robot,
    placements: &[(Isometry3<f64>, Written<'_>)],
    circle: &[LinkId],
    joint_of: &[Option<JointId>],
) -> Option<Diagnostic> {
    let joint = |link: &LinkId| joint_of.get(*link).copied().flatten();
    let names: Vec<&str> = circle
        .iter()
        .rev()
        .filter_map(|link| robot.joints.get(joint(link)?))
        .map(|joint| joint.name.as_str())
        .collect();
    let (_, child) = circle.first().and_then(joint).and_then(|id| placements.get(id))?;
    let fault = Diagnostic::error(format!("joints go round in a circle: {}", listed(&names)))
        .at(child.place.clone())
        .label("hangs on itself")
        .help("one link must hang on no joint: take one of these joints out, or mend its parent");
    Some(fault)
}

fn one_root(robot: &Robot, root: Element<'_>, joint_of: &[Option<JointId>], faults: &mut Faults) {
    let is_root = |pair: &(&FileLink, &Option<JointId>)| pair.1.is_none();
    let roots: Vec<&FileLink> =
        robot.links.iter().zip(joint_of).filter(is_root).map(|pair| pair.0).collect();
    let Some(second) = roots.get(1) else {
        if robot.links.is_empty() {
            let help = "a robot has at least one <link name=\"...\"/>";
            faults.add(root.tag_range(), "the file holds no link".to_owned(), help);
        }
        return;
    };
    let place = root.document().element(second.place.element).tag_range();
    let names: Vec<&str> = roots.iter().map(|link| link.name.as_str()).collect();
    let message = format!("{} links hang on no joint: {}", roots.len(), listed(&names));
    let help =
        "URDF holds one tree: tie all but one of them with joints, a fixed one where nothing moves";
    faults.add(place, message, help);
}

fn listed(names: &[&str]) -> String {
    let mut text = names.iter().take(LISTED).map(|name| shown(name)).collect::<Vec<_>>().join(", ");
    if names.len() > LISTED {
        text.push_str(&format!(" and {} more", names.len() - LISTED));
    }
    text
}
