//! A drive that was found as JSON.

use serde_json::{Map, Value, json};

use super::loop_drive::LoopDrive;
use crate::drive::Kind;

/// What `find --json` says of it.
pub(super) fn drive_view(found: &LoopDrive) -> Value {
    let sizes = found.figures().into_iter();
    let sizes: Map<String, Value> =
        sizes.map(|(name, value)| (name.to_owned(), value.into())).collect();
    json!({
        "kind": found.drawing.kind(),
        "motor": found.motor.map(|_| &found.joints[0]),
        "joint": found.joints[1],
        "sizes": sizes,
        "stroke": {
            "motor_rad": found.motor_turns,
            "joint_rad": found.joint_turns,
            "ended_by_limits": found.ended_by_limits,
        },
        "transmission_ratio": found.ratio,
        "transmission_angle_rad": Some(found.transmission_angle).filter(|x| x.is_finite()),
        "ball_tilt_rad": (found.drawing.kind() == Kind::BallRod).then_some(found.ball_tilt),
        "lead_known": !found.has_no_screw,
    })
}
