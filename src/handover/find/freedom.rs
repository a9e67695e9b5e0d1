//! Can a drive that is no planar four-bar move as its file hangs it, or do its pins lock it?
//!
//! In space a loop of one motor and one driven hinge moves where the two ends of its rod leave it five turns or more: a ball at one and
//! a ball or two crossed hinges at the other. With less it moves where all axes are parallel, in a plane.

use std::f64::consts::PI;

use nalgebra::Vector3;

use super::four_bar::FourBarLoop;
use super::loop_drive::LoopDrive;
use super::pins::LoopPin;
use crate::drive::Kind;
use crate::dynamics::{JointStroke, PartFrame, PartFrames};
use crate::numeric::evenly;
use crate::robot::{FileJoint, JointKind, Robot};

/// Axes that differ by less count as parallel, rad.
const PARALLEL: f64 = 0.1 * PI / 180.0;

/// Two crossed hinges work this far from where the rod lies in line with them, rad.
const LEFT: f64 = 5.0 * PI / 180.0;

/// Poses at which crossed hinges are looked at.
const POSES: u32 = 64;

/// How two bodies may turn against each other at a pin.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Freedom {
    /// About one axis.
    Hinge(Vector3<f64>),
    /// About two axes through one point: that of the body before, and that of the body behind.
    Crossed([Vector3<f64>; 2]),
    /// About all.
    Ball,
    /// As nothing that a rod hangs on.
    Other,
}

impl Freedom {
    pub(super) fn of(robot: &Robot, pin: &LoopPin) -> Self {
        let joints: Option<Vec<&FileJoint>> =
            pin.joints.iter().map(|id| robot.joints.get(*id)).collect();
        let joints = joints.unwrap_or_default();
        match (joints.as_slice(), pin.closures.len(), pin.axis) {
            ([], 1, _) => Self::Ball,
            ([], 2, Some(axis)) => Self::Hinge(axis),
            ([one], 0, _) => match (one.kind, pin.axis) {
                (JointKind::Ball, _) => Self::Ball,
                (JointKind::Revolute, Some(axis)) => Self::Hinge(axis),
                _ => Self::Other,
            },
            (several, 0, _) => Self::of_hinges(several, pin),
            _ => Self::Other,
        }
    }

    /// Hinges one after the other.
    fn of_hinges(joints: &[&FileJoint], pin: &LoopPin) -> Self {
        let are_hinges = joints.iter().all(|joint| joint.kind == JointKind::Revolute);
        let anchor = joints.first().map(|joint| joint.anchor);
        let meet = joints.iter().all(|j| anchor.is_some_and(|at| (j.anchor - at).norm() < 1e-6));
        if !are_hinges || !meet {
            return Self::Other;
        }
        match joints {
            [a, b] if a.axis.cross(&b.axis).norm() > LEFT.sin() => {
                // Walked against the file's order the second is the one on the body before.
                let is_along = a.parent == pin.links[0];
                Self::Crossed(if is_along { [a.axis, b.axis] } else { [b.axis, a.axis] })
            }
            [a, b, c] if a.axis.cross(&b.axis).dot(&c.axis).abs() > LEFT.sin() => Self::Ball,
            _ => Self::Other,
        }
    }

    fn turns(&self) -> u32 {
        match self {
            Self::Hinge(_) => 1,
            Self::Crossed(_) => 2,
            Self::Ball => 3,
            Self::Other => 0,
        }
    }

    /// A turn about `axis` is among them.
    fn turns_about(&self, axis: &Vector3<f64>) -> bool {
        let is_it = |own: &Vector3<f64>| own.cross(axis).norm() < PARALLEL;
        match self {
            Self::Hinge(own) => is_it(own),
            Self::Crossed(both) => both.iter().any(is_it),
            Self::Ball => true,
            Self::Other => false,
        }
    }
}

/// Why the loop cannot move as its drive would, as a clause.
pub(super) fn locked(robot: &Robot, found: &FourBarLoop, drive: &LoopDrive) -> Option<String> {
    let [a, p, q, _] = &found.pins;
    let ends = if p.slide.is_some() { [a, q] } else { [p, q] };
    let own = ends.map(|pin| Freedom::of(robot, pin));
    if let Some((pin, _)) = ends.iter().zip(&own).find(|(_, own)| **own == Freedom::Other) {
        return Some(format!("{} is neither ball nor hinge nor two crossed hinges", pin.name));
    }
    if is_plane(found) && own.iter().all(|own| own.turns_about(&found.axis)) {
        return None;
    }
    if own.iter().map(Freedom::turns).sum::<u32>() < 5 {
        let names = ends.map(|pin| pin.name.as_str()).join(" and ");
        return Some(format!(
            "{names} leave its rod too few turns: axes that are not parallel need a ball at one end and a ball or two crossed hinges at the other; as drawn it moves only where pins give"
        ));
    }
    let in_line = ends.iter().zip(&own).enumerate().find_map(|(end, (pin, own))| {
        let Freedom::Crossed(axes) = own else { return None };
        (!cross_works(robot, drive, end, axes)).then_some(pin)
    });
    in_line.map(|pin| {
        format!("the rod comes in line with the crossed hinges of {} in its stroke", pin.name)
    })
}

/// Motor, slide and driven joint move in one plane.
fn is_plane(found: &FourBarLoop) -> bool {
    let driving = found.driving_pin();
    let turns = driving.axis.is_none_or(|axis| axis.cross(&found.axis).norm() < PARALLEL);
    let slides = driving.slide.is_none_or(|along| along.dot(&found.axis).abs() < PARALLEL);
    turns && slides
}

/// Whether crossed hinges at one end of the rod let it point where it does over the whole stroke: the three directions, an axis on
/// the body, one on the rod, and the rod, must leave a spherical triangle.
fn cross_works(
    robot: &Robot,
    found: &LoopDrive,
    end: usize,
    [before, behind]: &[Vector3<f64>; 2],
) -> bool {
    // At the first end the rod is behind, at the second before.
    let (on_body, on_rod) = if end == 0 { (before, behind) } else { (behind, before) };
    let angles = || -> Option<Vec<f64>> {
        let carrier = robot.links.get(found.links[0])?.pose;
        let drive = found.drawing.drive().ok()?;
        let stroke = JointStroke::over(&drive, found.joint_turns).ok()?;
        let (body, rod) = ends_of(found.drawing.kind(), &stroke.part_frames(0.0).ok()?, end)?;
        let frame = carrier * stroke.frame();
        let own = (frame * body.place).rotation.inverse() * on_body;
        let fixed = ((frame * rod.place).rotation * Vector3::x()).angle(on_rod);
        let cross = on_body.angle(on_rod);
        evenly(found.joint_turns, POSES)
            .map(|turn| {
                let frames = stroke.part_frames(turn).ok()?;
                let (body, rod) = ends_of(found.drawing.kind(), &frames, end)?;
                let open = (rod.place.rotation * Vector3::x()).angle(&(body.place.rotation * own));
                let most = (cross + fixed).min(2.0 * PI - cross - fixed);
                Some((open - (cross - fixed).abs()).min(most - open))
            })
            .collect()
    };
    angles().is_some_and(|all| all.iter().all(|left| *left > LEFT))
}

/// The body that the rod hangs on at one of its ends, and the rod; the carrier stands still.
fn ends_of(kind: Kind, frames: &PartFrames, end: usize) -> Option<(PartFrame, PartFrame)> {
    let carrier = PartFrame { place: nalgebra::Isometry3::identity(), spin: Vector3::zeros() };
    let (first, rod) = match kind {
        Kind::BallRod => (frames.crank?, frames.coupler?),
        Kind::LinearActuator => (carrier, frames.nut?),
        Kind::Slider => (frames.nut?, frames.coupler?),
        _ => return None,
    };
    Some((if end == 0 { first } else { frames.child }, rod))
}
