//! Can a drive that is no planar four-bar move as its file hangs it, or do its pins lock it?
//!
//! In space a loop of one motor and one driven hinge moves where the two ends of its rod leave it five turns or more: a ball at one and
//! a ball or two crossed hinges at the other. With less it moves where all axes are parallel, in a plane.

use std::f64::consts::PI;

use nalgebra::Vector3;

use super::crossed::Crossed;
use super::four_bar::FourBarLoop;
use super::loop_drive::LoopDrive;
use super::pins::LoopPin;
use crate::dynamics::JointStroke;
use crate::numeric::evenly;
use crate::robot::{FileJoint, JointKind, Robot};

/// Axes that differ by less count as parallel, rad.
const PARALLEL: f64 = 0.1 * PI / 180.0;

/// Two hinges are crossed where their axes are this far from parallel, rad.
const CROSSED: f64 = 5.0 * PI / 180.0;

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
                (JointKind::Universal, _) => Self::crossed([one.axis, one.second_axis], one, pin),
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
            [a, b] => Self::crossed([a.axis, b.axis], a, pin),
            _ => Self::Other,
        }
    }

    /// About the two axes of `first`, or of it and the one behind it.
    fn crossed([a, b]: [Vector3<f64>; 2], first: &FileJoint, pin: &LoopPin) -> Self {
        if a.cross(&b).norm() <= CROSSED.sin() {
            return Self::Other;
        }
        // Walked against the file's order the second is the one on the body before.
        let is_along = first.parent == pin.links[0];
        Self::Crossed(if is_along { [a, b] } else { [b, a] })
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
    let ends = ends(found);
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
    let in_line = ends.into_iter().enumerate().find(|one| !works(robot, drive, *one));
    in_line.map(|(_, pin)| {
        format!("the rod comes in line with the crossed hinges of {} in its stroke", pin.name)
    })
}

/// Whether crossed hinges at an end of the rod let it point where it does over the whole stroke; what is none does.
fn works(robot: &Robot, drive: &LoopDrive, end: (usize, &LoopPin)) -> bool {
    let is_crossed = matches!(Freedom::of(robot, end.1), Freedom::Crossed(_));
    let over = || {
        let own = drive.drawing.drive().ok()?;
        let stroke = JointStroke::over(&own, drive.joint_turns).ok()?;
        let crossed = Crossed::new(robot, drive, end, &stroke)?;
        let mut frames = evenly(drive.joint_turns, POSES).map(|turn| stroke.part_frames(turn));
        Some(frames.all(|frames| frames.is_ok_and(|frames| crossed.works(&frames))))
    };
    !is_crossed || over().unwrap_or(false)
}

/// The two ends of a drive's rod, or of an actuator between two pins.
pub(super) fn ends(found: &FourBarLoop) -> [&LoopPin; 2] {
    let [a, p, q, _] = &found.pins;
    if p.slide.is_some() { [a, q] } else { [p, q] }
}

/// Motor, slide and driven joint move in one plane.
fn is_plane(found: &FourBarLoop) -> bool {
    let driving = found.driving_pin();
    let turns = driving.axis.is_none_or(|axis| axis.cross(&found.axis).norm() < PARALLEL);
    let slides = driving.slide.is_none_or(|along| along.dot(&found.axis).abs() < PARALLEL);
    turns && slides
}
