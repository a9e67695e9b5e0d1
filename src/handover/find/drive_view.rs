//! A drive that was found as JSON.

use serde::Serialize;

use super::loop_drive::LoopDrive;
use crate::drive::Kind;

/// What `find --json` says of it.
#[derive(Serialize)]
pub(super) struct DriveView {
    kind: Kind,
    motor: Option<String>,
    joint: String,
    sizes: serde_json::Map<String, serde_json::Value>,
    stroke: StrokeView,
    transmission_ratio: [f64; 2],
    transmission_angle_rad: Option<f64>,
    ball_tilt_rad: Option<f64>,
    lead_known: bool,
}

#[derive(Serialize)]
struct StrokeView {
    motor_rad: [f64; 2],
    joint_rad: [f64; 2],
    ended_by_limits: bool,
}

impl DriveView {
    pub(super) fn of(found: &LoopDrive) -> Self {
        let sizes = found.figures().into_iter();
        Self {
            kind: found.drawing.kind(),
            motor: found.motor.map(|_| found.joints[0].clone()),
            joint: found.joints[1].clone(),
            sizes: sizes.map(|(name, value)| (name.to_owned(), value.into())).collect(),
            stroke: StrokeView {
                motor_rad: found.motor_turns,
                joint_rad: found.joint_turns,
                ended_by_limits: found.ended_by_limits,
            },
            transmission_ratio: found.ratio,
            transmission_angle_rad: Some(found.transmission_angle).filter(|x| x.is_finite()),
            ball_tilt_rad: (found.drawing.kind() == Kind::BallRod).then_some(found.ball_tilt),
            lead_known: !found.has_no_screw,
        }
    }
}
