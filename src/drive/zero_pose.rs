//! The zero pose of one rod: which assembly it is in, and what the angles count from.

use super::angular::Angular;
use super::circle::Circle;
use super::fault::DriveFault;
use super::input_end::InputEnd;
use super::rod_pose::{RodOnHinge, RodPose};
use super::space::Vector;
use super::stop::StopKind;
use crate::numeric::Interval;

/// Sines of a margin below this in the zero pose count as none.
const FLAT: f64 = 1e-9;

/// The zero pose.
#[derive(Clone, Copy, Debug)]
pub(super) struct Zero {
    /// Joint angle from the datum of Q's circle.
    pub(super) joint: f64,
    /// Motor angle from its datum.
    pub(super) motor: f64,
    pub(super) sure_motor: Interval,
    /// The sign of the joint's S, that is of r_B.
    pub(super) side: f64,
    /// The sign of λ.
    pub(super) lever: f64,
    /// arg (K + jS) at the motor's end and at the joint's end.
    pub(super) leans: [f64; 2],
}

/// arg (K + jS).
pub(super) fn lean(circle: &Circle, point: Vector, rod: f64, s: f64) -> f64 {
    let [x, y, z] = circle.seen(point);
    libm::atan2(s, circle.along(x * x + y * y + z * z, rod))
}

/// The motor end's S.
pub(super) fn s_of(input: &InputEnd, pose: &RodPose) -> f64 {
    match *input {
        InputEnd::Crank { circle, .. } => -pose.reached.lever / circle.radius,
        _ => 0.0,
    }
}

impl Zero {
    pub(super) fn new(
        plain: &RodOnHinge,
        sure: &RodOnHinge<Interval>,
        joint: f64,
    ) -> Result<Self, DriveFault> {
        let q = plain.joint.pin(joint);
        let missing =
            || DriveFault::CannotReach { rod: 0, turn: 0.0, missing: plain.input.missing(q) };
        let pose = plain.at(libm::sincos(joint)).ok_or_else(missing)?;
        if pose.sin_transmission().abs() <= FLAT {
            return Err(DriveFault::ZeroPoseIsStop(StopKind::CrankLimit));
        }
        if pose.sin_input().is_some_and(|sine| sine.abs() <= FLAT) {
            return Err(DriveFault::ZeroPoseIsStop(StopKind::DeadPoint));
        }
        let motor = plain.input.angle(pose.reached.place, 0.0);
        if !motor.is_finite() || !pose.ratio.is_finite() {
            return Err(DriveFault::Undetermined(
                "the zero pose has no finite motor angle or ratio",
            ));
        }
        let enclosed = sure.at(Angular::sin_cos(Interval::point(joint)));
        let (p, length) = (pose.reached.pin, pose.reached.length);
        let s = pose.joint_arm() * length / plain.joint.radius;
        let motor_lean = match plain.input {
            InputEnd::Crank { circle, rod, .. } => lean(&circle, q, rod, s_of(&plain.input, &pose)),
            _ => 0.0,
        };
        Ok(Self {
            joint,
            motor,
            sure_motor: enclosed
                .map_or(Interval::ENTIRE, |pose| sure.input.angle(pose.reached.place, motor)),
            side: s.signum(),
            lever: pose.reached.lever.signum(),
            leans: [motor_lean, lean(&plain.joint, p, length, s)],
        })
    }
}
