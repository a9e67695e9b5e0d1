//! What the four bodies of a drive in space weigh, each in its own of the frames of `dynamics::spatial`.

use nalgebra::Isometry3;

use super::cycles::Bodies;
use super::four_bar::FourBarLoop;
use super::loop_drive::LoopDrive;
use super::masses::{as_read, carrier_links, together};
use crate::drive::Kind;
use crate::dynamics::{Body, JointStroke, PartFrame, PartFrames};
use crate::robot::{LinkId, Robot};

/// The frames of the bodies behind the carrier's first pin, behind the second, and of the child.
pub(crate) fn behind(kind: Kind, frames: &PartFrames) -> Option<[PartFrame; 3]> {
    let (first, second) = match kind {
        Kind::BallRod => (frames.crank, frames.coupler),
        Kind::LinearActuator => (frames.housing, frames.nut),
        Kind::Slider => (frames.nut, frames.coupler),
        _ => return None,
    };
    Some([first?, second?, frames.child])
}

/// The frames in the model's, in the drawn pose.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RodFrames {
    /// The joint frame, in which the carrier is weighed.
    pub(crate) carrier: Isometry3<f64>,
    /// Of the parts between carrier and child.
    pub(crate) parts: [Isometry3<f64>; 2],
    /// Of the child.
    pub(crate) child: Isometry3<f64>,
}

impl RodFrames {
    /// Of the drive of `stroke`, which is drawn in the carrier link's own frame; `None` where it has no rod.
    pub(crate) fn new(robot: &Robot, found: &LoopDrive, stroke: &JointStroke<'_>) -> Option<Self> {
        let carrier = robot.links.get(found.links[0])?.pose * stroke.frame();
        let frames = stroke.part_frames(0.0).ok()?;
        let [first, second, child] =
            behind(found.drawing.kind(), &frames)?.map(|part| carrier * part.place);
        Some(Self { carrier, parts: [first, second], child })
    }
}

/// The bodies; `None` of one that weighs nothing in the file.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RodBodies {
    pub(crate) carrier: Option<Body>,
    pub(crate) parts: [Option<Body>; 2],
    pub(crate) child: Option<Body>,
}

impl RodBodies {
    pub(crate) fn new(
        robot: &Robot,
        bodies: &Bodies,
        found: &FourBarLoop,
        frames: &RodFrames,
    ) -> Self {
        let of = |body: LinkId, frame| Some(together(robot, bodies.links(body), frame)?.body());
        let [_, first, second, child] = found.bodies();
        let [in_first, in_second] = &frames.parts;
        Self {
            carrier: as_read(robot, carrier_links(robot, bodies, found), &frames.carrier)
                .map(|moments| moments.body()),
            parts: [of(first, in_first), of(second, in_second)],
            child: of(child, &frames.child),
        }
    }
}
