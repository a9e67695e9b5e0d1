//! Two crossed hinges at an end of a rod: how fast each turns, and whether they let the rod point where it does.
//!
//! One hinge has its axis u on the body, the other its axis v on the rod; u, v and the rod's direction w make a spherical triangle with
//! two constant sides, (u, v) and (v, w). The third, (u, w), follows from the drive, and v from the three, on the side of the plane
//! through u and w on which it is drawn. The rates p and q are those with which the rod's own turn about w is free:
//! (p u + q v) × w = (turn of the rod against the body) × w.

use std::f64::consts::PI;

use nalgebra::{Isometry3, Vector3};

use super::loop_drive::LoopDrive;
use super::pin_freedom::Freedom;
use super::pins::LoopPin;
use crate::drive::Kind;
use crate::dynamics::{JointStroke, PartFrame, PartFrames};
use crate::robot::{FileJoint, Robot};

/// They work this far from where the rod lies in line with them, rad.
const LEFT: f64 = 5.0 * PI / 180.0;

/// The crossed hinges of one end of a drive's rod.
pub(super) struct Crossed<'a> {
    /// The joint on the body, and that on the rod; one alone may be both.
    pub(super) joints: [&'a FileJoint; 2],
    kind: Kind,
    /// 0 at the crank's or the carrier's end, 1 at the child's.
    end: usize,
    /// u in the body's own frame.
    own: Vector3<f64>,
    /// Cosines of (u, v) and (v, w).
    fixed: [f64; 2],
    /// On which side of the plane of u and w the drawing has v.
    side: f64,
}

impl<'a> Crossed<'a> {
    /// `None` where the pin is something else.
    pub(super) fn new(
        robot: &'a Robot,
        found: &LoopDrive,
        (end, pin): (usize, &LoopPin),
        stroke: &JointStroke<'_>,
    ) -> Option<Self> {
        let Freedom::Crossed([before, behind]) = Freedom::of(robot, pin) else { return None };
        let joint = |axis: Vector3<f64>| {
            let mut all = pin.joints.iter().filter_map(|id| robot.joints.get(*id));
            all.find(|joint| joint.axis == axis || joint.second_axis == axis)
        };
        // At the first end the rod is behind, at the second before.
        let [on_body, on_rod] = if end == 0 { [before, behind] } else { [behind, before] };
        let frame = robot.links.get(found.links[0])?.pose * stroke.frame();
        let kind = found.kind();
        let (body, rod) = ends_of(kind, &stroke.part_frames(0.0).ok()?, end)?;
        let w = (frame * rod.place).rotation * Vector3::x();
        Some(Self {
            joints: [joint(on_body)?, joint(on_rod)?],
            kind,
            end,
            own: (frame * body.place).rotation.inverse() * on_body,
            fixed: [on_body.dot(&on_rod), on_rod.dot(&w)],
            side: on_body.cross(&w).dot(&on_rod).signum(),
        })
    }

    /// u, v and w, in the joint frame; `None` where there is no such v.
    fn triangle(&self, body: &PartFrame, rod: &PartFrame) -> Option<[Vector3<f64>; 3]> {
        let (u, w) = (body.place.rotation * self.own, rod.place.rotation * Vector3::x());
        let ([uv, vw], uw) = (self.fixed, u.dot(&w));
        let square = 1.0 - uw * uw;
        let (along_u, along_w) = ((uv - uw * vw) / square, (vw - uw * uv) / square);
        let left = (1.0 - along_u * uv - along_w * vw) / square;
        let v = u * along_u + w * along_w + u.cross(&w) * (self.side * left.sqrt());
        left.is_finite().then_some([u, v, w]).filter(|_| left > 0.0)
    }

    /// How fast each of the two turns, per joint rate.
    pub(super) fn rates(&self, frames: &PartFrames) -> Option<[f64; 2]> {
        let (body, rod) = ends_of(self.kind, frames, self.end)?;
        let [u, v, w] = self.triangle(&body, &rod)?;
        let turn = (rod.spin - body.spin).cross(&w);
        let volume = u.cross(&w).dot(&v);
        Some([turn.dot(&v) / volume, -turn.dot(&u) / volume])
    }

    /// Whether the rod stays clear of lying in line with them.
    pub(super) fn works(&self, frames: &PartFrames) -> bool {
        let clear = || {
            let (body, rod) = ends_of(self.kind, frames, self.end)?;
            let [u, v, w] = self.triangle(&body, &rod)?;
            Some(u.cross(&w).dot(&v).abs() > LEFT.sin())
        };
        clear().unwrap_or(false)
    }
}

/// The body that the rod hangs on at one of its ends, and the rod; the carrier stands still.
fn ends_of(kind: Kind, frames: &PartFrames, end: usize) -> Option<(PartFrame, PartFrame)> {
    let carrier = PartFrame { place: Isometry3::identity(), spin: Vector3::zeros() };
    let (first, rod) = match kind {
        Kind::BallRod => (frames.crank?, frames.coupler?),
        Kind::LinearActuator => (carrier, frames.nut?),
        Kind::Slider => (frames.nut?, frames.coupler?),
        _ => return None,
    };
    Some((if end == 0 { first } else { frames.child }, rod))
}
