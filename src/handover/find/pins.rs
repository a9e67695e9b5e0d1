//! The pins of a ring: where the file puts them, and about what they turn.

use nalgebra::{Point3, Vector3};

use super::cycles::{Bodies, Edge, Tie};
use crate::robot::{FileJoint, JointId, JointKind, LinkId, Place, Robot};

/// One pin of a ring, between the body before it and the body behind it.
#[derive(Clone, Debug)]
pub struct LoopPin {
    /// The joint's or closure's name, with what it is.
    pub name: String,
    /// Where the file says it.
    pub place: Place,
    /// The same as `file:line:column`.
    pub whereabouts: String,
    /// The links before and behind, as the element names them.
    pub links: [LinkId; 2],
    /// The joint, where it is one alone.
    pub joint: Option<JointId>,
    /// All joints between the two, one after the other.
    pub joints: Vec<JointId>,
    /// The closures between the two, where it is no joint.
    pub closures: Vec<usize>,
    /// Its point on the body before and on the body behind, in the model's frame, m.
    pub points: [Point3<f64>; 2],
    /// Unit vector about which the body behind turns against the body before where the joint's reading grows; `None`
    /// for a ball or a single point.
    pub axis: Option<Vector3<f64>>,
    /// Unit vector along which the body behind slides against the body before where the joint's reading grows; `None` where
    /// it slides not.
    pub slide: Option<Vector3<f64>>,
    /// Angle between its axis and the driven joint's, rad, 0…π/2.
    pub tilt: Option<f64>,
    /// How far it stands from the driven joint's pin along the axis, m.
    pub axial: f64,
}

impl LoopPin {
    /// Of an edge walked from `before`.
    pub(super) fn new(robot: &Robot, bodies: &Bodies, edge: &Edge, before: LinkId) -> Option<Self> {
        let pin = match &edge.tie {
            Tie::Joints(joints) => of_joints(robot, joints, edge.links)?,
            Tie::Closures(closures) => of_closures(robot, closures, edge.links)?,
        };
        let is_along = bodies.of_link(pin.links[0]) == before;
        Some(if is_along { pin } else { pin.reversed() })
    }

    /// Distance between its two points as drawn, m.
    #[must_use]
    pub fn gap(&self) -> f64 {
        (self.points[1] - self.points[0]).norm()
    }

    /// The same pin walked the other way round.
    pub(super) fn reversed(mut self) -> Self {
        self.points.reverse();
        self.links.reverse();
        self.axis = self.axis.map(|axis| -axis);
        self.slide = self.slide.map(|along| -along);
        self
    }
}

fn of_joints(robot: &Robot, joints: &[JointId], links: [LinkId; 2]) -> Option<LoopPin> {
    let first = robot.joints.get(*joints.first()?)?;
    let alone = |kind: JointKind| joints.len() == 1 && first.kind == kind;
    Some(LoopPin {
        name: joint_called(robot, first),
        place: first.place,
        whereabouts: robot.whereabouts(first.place),
        links,
        joint: joints.first().copied().filter(|_| joints.len() == 1),
        joints: joints.to_vec(),
        closures: Vec::new(),
        points: [first.anchor; 2],
        axis: alone(JointKind::Revolute).then_some(first.axis),
        slide: alone(JointKind::Prismatic).then_some(first.axis),
        tilt: None,
        axial: 0.0,
    })
}

/// `joint "knee"`, or where it stands if it has no name.
pub(super) fn joint_called(robot: &Robot, joint: &FileJoint) -> String {
    if joint.name.is_empty() {
        format!("the joint of {}", robot.whereabouts(joint.place))
    } else {
        format!("joint {:?}", joint.name)
    }
}

/// Two points side by side make a hinge about the line through them.
fn of_closures(robot: &Robot, closures: &[usize], links: [LinkId; 2]) -> Option<LoopPin> {
    let found: Vec<_> = closures.iter().filter_map(|id| robot.closures.get(*id)).collect();
    let first = *found.first()?;
    // The second closure of a pair may name the links the other way round.
    let second = found.get(1).map(|closure| {
        let same = closure.links[0] == first.links[0];
        if same { closure.points[0] } else { closure.points[1] }
    });
    let axis = second.map(|point| point - first.points[0]).filter(|line| line.norm() > 1e-9);
    let name = if first.name.is_empty() {
        format!("the constraint of {}", robot.whereabouts(first.place))
    } else {
        format!("constraint {:?}", first.name)
    };
    Some(LoopPin {
        name,
        place: first.place,
        whereabouts: robot.whereabouts(first.place),
        links,
        joint: None,
        joints: Vec::new(),
        closures: closures.to_vec(),
        points: first.points,
        axis: axis.map(|line| line.normalize()),
        slide: None,
        tilt: None,
        axial: 0.0,
    })
}
