//! Where the drawing's frames stand in the robot's links.

use nalgebra::{Isometry3, UnitQuaternion, Vector3};

use crate::design::{Design, RobotJoint};
use crate::handover::fault::EmitFault;
use crate::study;

/// The drawing's frames in the links of one `[[robot]]`.
#[derive(Clone, Copy, Debug)]
pub(in crate::handover) struct Frames {
    /// The carrier frame (origin on the joint axis, x along A→B) in the parent link's frame.
    pub(in crate::handover) carrier: Isometry3<f64>,
    /// The child frame (x towards Q) in the child link's frame; both have their origin on the joint axis.
    pub(in crate::handover) child: UnitQuaternion<f64>,
}

impl Frames {
    /// `rocker` is ψ₀, rad.
    ///
    /// # Errors
    /// Where nothing places the direction from the motor axis to the joint axis.
    pub(in crate::handover) fn of(
        design: &Design,
        robot: &RobotJoint,
        rocker: f64,
    ) -> Result<Self, EmitFault> {
        let carrier = study::carrier_frame(design, robot).ok_or_else(no_ground_direction)?;
        Ok(Self { carrier, child: study::child_axes(design, robot, &carrier, rocker) })
    }

    /// The axes of a part of the drawing at `angle` from A→B in the parent link's frame.
    pub(in crate::handover) fn axes(&self, angle: f64) -> UnitQuaternion<f64> {
        self.carrier.rotation * UnitQuaternion::from_axis_angle(&Vector3::z_axis(), angle)
    }
}

fn no_ground_direction() -> EmitFault {
    EmitFault::Missing {
        key: "[[robot]] motor_at",
        needed_for: "the mass figures stand in the drawing's frame, which only the direction from the motor axis to the joint axis places on the robot".into(),
        help: "add motor_at, or give [mass.child] in the link's own frame with frame = \"robot\"".into(),
    }
}
