//! What a robot file says of one joint, in the parent's frame as a design says it.

use nalgebra::{Isometry3, Translation3, Unit, UnitQuaternion, Vector3};

use super::row::Line;
use super::spot::{Spot, line_of, spot};
use crate::dynamics::Moments;
use crate::handover::find::{Bodies, as_read};
use crate::robot::{
    ActuatorProperties, FileActuator, FileJoint, Format, JointId, JointKind, LinkId, Motion, Robot,
    TreeJoint,
};

/// One joint of a robot file.
pub(super) struct JointFacts<'a> {
    pub(super) robot: &'a Robot,
    pub(super) id: JointId,
    pub(super) joint: &'a FileJoint,
    /// Names of the two links.
    pub(super) parent: &'a str,
    pub(super) child: &'a str,
    /// Unit vector in the parent's frame.
    pub(super) axis: Vector3<f64>,
    /// A point on the axis in the parent's frame, m.
    pub(super) origin: Vector3<f64>,
    /// The child link's frame at reading 0, seen from the parent's orientation in that point.
    pub(super) child_frame: Isometry3<f64>,
    /// The first that drives it and is not switched off, else the first.
    pub(super) actuator: Option<&'a FileActuator>,
}

impl<'a> JointFacts<'a> {
    /// Of the joint, in the frame of the link `parent` where the robot has it, else of its own parent.
    pub(super) fn of(robot: &'a Robot, id: JointId, parent: &str) -> Option<Self> {
        let joint = robot.joints.get(id)?;
        let own = robot.links.get(joint.parent)?;
        let frame = link_named(robot, parent).and_then(|link| robot.links.get(link));
        let frame = frame.unwrap_or(own).pose;
        let child = robot.links.get(joint.child)?;
        let at_anchor = Translation3::from(joint.anchor.coords);
        let aligned = Isometry3::from_parts(at_anchor, frame.rotation);
        let back = Unit::try_new(joint.axis, 1e-9).map_or(UnitQuaternion::identity(), |axis| {
            UnitQuaternion::from_axis_angle(&axis, -joint.drawn_at)
        });
        let turned = at_anchor * back * at_anchor.inverse() * child.pose;
        Some(Self {
            robot,
            id,
            joint,
            parent: &own.name,
            child: &child.name,
            axis: frame.rotation.inverse() * joint.axis,
            origin: frame.inverse_transform_point(&joint.anchor).coords,
            child_frame: aligned.inverse() * turned,
            actuator: robot.actuator_of(id),
        })
    }

    pub(super) fn line(&self, of: Spot) -> Option<Line> {
        spot(self.robot, self.joint, of)
    }

    /// Whether it moves as the joint that is wanted.
    pub(super) fn moves_as(&self, wanted: &TreeJoint) -> bool {
        match wanted.motion {
            Motion::Turn => self.joint.kind == JointKind::Revolute,
            Motion::Slide => self.joint.kind == JointKind::Prismatic,
            Motion::Ball => self.joint.kind == JointKind::Ball,
        }
    }

    /// The tighter of the joint's own bound and the actuator's force behind its gear, N m, and where it stands.
    pub(super) fn effort(&self) -> (Option<f64>, Option<Line>) {
        let found = self.joint.effort_with(self.actuator_properties());
        let by = self.actuator.filter(|_| found != self.joint.effort);
        (found, by.map_or_else(|| self.effort_line(), |by| line_of(self.robot, by.place)))
    }

    /// What it can do the stronger way, N m; `None` where it is as strong both ways, or a bound is not there.
    pub(super) fn stronger_effort(&self) -> Option<f64> {
        let driven = self.actuator_properties().and_then(ActuatorProperties::efforts);
        let own = self.joint.effort_ends.or(self.joint.effort.map(|most| [-most, most]));
        let ends = own.into_iter().chain(driven);
        let [low, high] = ends.reduce(|[a, b], [c, d]| [a.max(c), b.min(d)])?.map(f64::abs);
        (low.max(high) > low.min(high)).then_some(low.max(high))
    }

    /// The readings between which its position controller may be told to go, rad (m).
    pub(super) fn targets(&self) -> Option<[f64; 2]> {
        let actuator = self.actuator.filter(|actuator| actuator.gains.is_some())?;
        let ends = actuator.control?.map(|end| (end - actuator.shift) / actuator.gear);
        Some(if actuator.gear < 0.0 { [ends[1], ends[0]] } else { ends })
    }

    /// Position and velocity gain at the joint.
    pub(super) fn gains(&self) -> Option<[f64; 2]> {
        let actuator = self.actuator?;
        Some(actuator.gains?.map(|gain| gain * actuator.gear * actuator.gear))
    }

    fn actuator_properties(&self) -> Option<&'a ActuatorProperties> {
        self.actuator.map(|actuator| &actuator.properties)
    }

    fn effort_line(&self) -> Option<Line> {
        match (self.robot.format, self.actuator, self.joint.effort) {
            (Format::Mjcf, Some(actuator), None) => line_of(self.robot, actuator.place),
            _ => self.line(Spot::Effort),
        }
    }

    /// The joint's own and the actuator's behind its gear.
    pub(super) fn armature(&self) -> Option<f64> {
        self.joint.armature_with(self.actuator_properties())
    }

    /// The joint's own and the actuator's behind its gear.
    pub(super) fn damping(&self) -> Option<f64> {
        self.joint.damping_with(self.actuator_properties())
    }

    /// The parent link's body about its own origin; `None` where the file gives no mass.
    pub(super) fn carrier(&self) -> Option<Moments> {
        rigid_moments(self.robot, self.joint.parent)
    }

    /// The parent link with all that is rigid with it, also what it hangs on itself but the world: a carrier of several
    /// links, on whichever of them the mass stands.
    pub(super) fn whole_carrier(&self) -> Option<Moments> {
        let bodies = Bodies::beside_world(self.robot);
        let body = bodies.of_link(self.joint.parent);
        let frame = self.robot.links.get(self.joint.parent)?.pose;
        as_read(self.robot, bodies.links(body), &frame)
    }

    /// The one of both that is nearer to one of these masses, kg: of a carrier of several links the design may mean those that
    /// hang on the one it names, or all.
    pub(super) fn carrier_that_weighs(&self, wanted: &[f64]) -> Option<Moments> {
        let off = |found: &Moments| {
            let each = wanted.iter().map(|wanted| (found.mass - wanted).abs());
            each.fold(f64::INFINITY, f64::min)
        };
        let both = [self.carrier(), self.whole_carrier()];
        both.into_iter().flatten().min_by(|a, b| off(a).total_cmp(&off(b)))
    }

    /// The child link's body about its own origin.
    pub(super) fn child_body(&self) -> Option<Moments> {
        rigid_moments(self.robot, self.joint.child)
    }

    /// The child link's body about the joint's origin, in the parent's orientation at reading 0.
    pub(super) fn borne(&self) -> Option<Moments> {
        Some(self.child_body()?.seen_from(&self.child_frame))
    }
}

/// The link and all that fixed joints hang on it, about the link's origin.
pub(super) fn rigid_moments(robot: &Robot, link: LinkId) -> Option<Moments> {
    as_read(robot, rigid_with(robot, link), &robot.links.get(link)?.pose)
}

/// Itself first; each once, also where fixed joints go round in a ring.
pub(super) fn rigid_with(robot: &Robot, link: LinkId) -> Vec<LinkId> {
    let mut found = vec![link];
    let mut next = 0;
    while let Some(at) = found.get(next).copied() {
        let fixed = robot.joints.iter().filter(|j| j.kind == JointKind::Fixed && j.parent == at);
        for child in fixed.map(|joint| joint.child) {
            if !found.contains(&child) {
                found.push(child);
            }
        }
        next += 1;
    }
    found
}

/// The link of this name, or the only one whose last part has it.
pub(super) fn link_named(robot: &Robot, name: &str) -> Option<LinkId> {
    robot.link_named(name).or_else(|| nested(robot.links.iter().map(|l| l.name.as_str()), name))
}

/// The joint of this name, or the only one whose last part has it.
pub(super) fn joint_named(robot: &Robot, name: &str) -> Option<JointId> {
    robot.joint_named(name).or_else(|| nested(robot.joints.iter().map(|j| j.name.as_str()), name))
}

fn nested<'n>(names: impl Iterator<Item = &'n str>, name: &str) -> Option<usize> {
    let ending = format!("::{name}");
    let mut found = names.enumerate().filter(|(_, known)| known.ends_with(&ending));
    let (at, _) = found.next()?;
    found.next().is_none().then_some(at)
}
