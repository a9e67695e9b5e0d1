//! Where the bodies of a drive stand at one joint turn, for whoever knows them in other frames.

use nalgebra::{Isometry3, Rotation3, UnitQuaternion, Vector3};

use super::super::fault::DynamicsFault;
use super::joint_stroke::JointStroke;
use super::moving_frames::{MovingFrame, MovingFrames};

/// One body's frame.
#[derive(Clone, Copy, Debug)]
pub struct PartFrame {
    /// In the joint frame.
    pub place: Isometry3<f64>,
    /// Angular speed per joint rate, in the joint frame.
    pub spin: Vector3<f64>,
}

/// The frames of the bodies that a drive can have; `None` of those that it does not have.
#[derive(Clone, Copy, Debug)]
pub struct PartFrames {
    /// Of a rod's crank.
    pub crank: Option<PartFrame>,
    /// Of a rod.
    pub coupler: Option<PartFrame>,
    /// Of an actuator, or of a guide.
    pub housing: Option<PartFrame>,
    /// Of what a screw shifts.
    pub nut: Option<PartFrame>,
    /// Of the child.
    pub child: PartFrame,
}

impl From<MovingFrame> for PartFrame {
    fn from(frame: MovingFrame) -> Self {
        let axes = Rotation3::from_matrix_unchecked(frame.axes);
        let turn = UnitQuaternion::from_rotation_matrix(&axes);
        Self { place: Isometry3::from_parts(frame.origin.into(), turn), spin: frame.spin }
    }
}

impl JointStroke<'_> {
    /// The bodies' frames at the joint turn `turn`, rad.
    ///
    /// # Errors
    /// A turn that cannot be reached.
    pub fn part_frames(&self, turn: f64) -> Result<PartFrames, DynamicsFault> {
        let MovingFrames { crank, coupler, housing, nut, child, .. } =
            MovingFrames::at(self, turn)?;
        let of = |frame: Option<MovingFrame>| frame.map(PartFrame::from);
        Ok(PartFrames {
            crank: of(crank),
            coupler: of(coupler),
            housing: of(housing),
            nut: of(nut),
            child: child.into(),
        })
    }
}
