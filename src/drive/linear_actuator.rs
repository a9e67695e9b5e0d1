//! A cylinder or screw between a pin A on the carrier and a pin Q on the joint's lever.
//!
//! ```text
//! L = |Q − A|     x = √(L² − e²)     dx/dψ = w·(m × q)/x     θ = 2π (x − x₀)/lead
//! ```
//!
//! x is what the actuator shows along its slide line, which may run e beside A; the transmission angle uses the line A–Q,
//! along which the force acts. In any geometry x² = α + β cos(ψ − ψ₁), from which the law of the largest arm follows.

use std::f64::consts::PI;

use super::angular::Angular;
use super::built::Built;
use super::circle::Circle;
use super::fault::DriveFault;
use super::input_end::InputEnd;
use super::rod_drive::RodDrive;
use super::rod_pose::RodOnHinge;
use super::size::{PointSizes, Size};
use super::space::{Axis, Vector};
use crate::numeric::{Interval, Scalar};

/// A linear actuator by its points in the carrier's frame, in the zero pose. Lengths in one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinearActuator<T = f64> {
    /// The pin A on the carrier.
    pub motor: Vector<T>,
    /// The joint axis.
    pub joint: Axis<T>,
    /// The pin Q on the lever.
    pub rocker: Vector<T>,
    /// e, the distance of the slide line from A, ≥ 0.
    pub line_offset: T,
    /// Travel per turn of the motor, signed.
    pub lead: T,
}

impl<T: Angular> LinearActuator<T> {
    /// In a plane: A in the origin, the joint axis z at (ground, 0), the lever at `rocker_angle` (rad) from A→B.
    pub fn planar([ground, rocker, line_offset, lead]: [T; 4], rocker_angle: T) -> Self {
        let [zero, one] = [0.0, 1.0].map(T::exactly);
        let (sine, cosine) = rocker_angle.sin_cos();
        let (point, direction) = (Vector::new(ground, zero, zero), Vector::new(zero, zero, one));
        Self {
            motor: Vector::zero(),
            joint: Axis { point, direction },
            rocker: point + Vector::new(rocker * cosine, rocker * sine, zero),
            line_offset,
            lead,
        }
    }
}

impl<T: Angular> LinearActuator<T> {
    /// The build of ground, rocker, line offset, lead and the lever's angle in the zero pose, in a plane.
    pub(super) fn built_in_plane(sizes: &[T]) -> Option<Built<T>> {
        let &[ground, rocker, line_offset, lead, zero_rocker] = sizes else { return None };
        Some(Self::planar([ground, rocker, line_offset, lead], zero_rocker).as_built())
    }

    fn as_built(&self) -> Built<T> {
        let (pin, offset, lead) = (self.motor, self.line_offset, self.lead);
        let input = InputEnd::Actuator { pin, offset, lead };
        Built { input, foot: self.rocker, joint: self.joint }
    }
}

impl LinearActuator {
    /// Its sizes: the three points, two tilts of the joint axis, line offset and lead.
    pub(super) fn sizes(&self) -> Vec<Size> {
        PointSizes::default()
            .point(["motor_x", "motor_y", "motor_z"], self.motor)
            .point(["joint_x", "joint_y", "joint_z"], self.joint.point)
            .point(["rocker_x", "rocker_y", "rocker_z"], self.rocker)
            .tilts(["joint_axis_u", "joint_axis_v"])
            .length("line_offset", self.line_offset)
            .length("lead", self.lead)
            .all()
    }

    /// The build of these sizes.
    pub(super) fn built<T: Angular>(&self, sizes: &[T]) -> Option<Built<T>> {
        let &[ax, ay, az, jx, jy, jz, qx, qy, qz, ju, jv, line_offset, lead] = sizes else {
            return None;
        };
        let direction = self.joint.direction.map(T::exactly);
        let joint = Axis { point: Vector::new(jx, jy, jz), direction }.tilted([ju, jv])?;
        let (motor, rocker) = (Vector::new(ax, ay, az), Vector::new(qx, qy, qz));
        Some(LinearActuator { motor, joint, rocker, line_offset, lead }.as_built())
    }
}

impl<T: Scalar> LinearActuator<T> {
    /// Poses by joint turns from the pose as drawn; `None` where Q may lie on the joint axis.
    pub fn geometry(&self) -> Option<RodOnHinge<T>> {
        let joint = Circle::through(self.rocker, &self.joint)?;
        let (pin, offset, lead) = (self.motor, self.line_offset, self.lead);
        Some(RodOnHinge { joint, input: InputEnd::Actuator { pin, offset, lead } })
    }

    /// The same in another kind of number.
    pub fn map<U>(&self, f: impl Fn(T) -> U + Copy) -> LinearActuator<U> {
        LinearActuator {
            motor: self.motor.map(f),
            joint: self.joint.map(f),
            rocker: self.rocker.map(f),
            line_offset: f(self.line_offset),
            lead: f(self.lead),
        }
    }
}

const PIN_ON_AXIS: DriveFault = DriveFault::Undetermined(
    "the lever's pin lies on the joint axis, or the axis has no direction",
);

/// Where dx/dψ is largest in size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LargestArm {
    /// Joint turn from the pose as drawn, rad in (−π, π].
    pub joint: f64,
    /// dx/dψ there.
    pub arm: f64,
}

impl LinearActuator {
    /// The drive whose zero pose is as drawn, between `shortest` and `longest` along the slide line where they are given.
    ///
    /// # Errors
    /// [`DriveFault::CannotReach`] where Q is nearer to A than the slide line,
    /// [`DriveFault::ZeroPoseIsStop`], [`DriveFault::Undetermined`].
    pub fn drive(&self, lengths: Option<[f64; 2]>) -> Result<RodDrive, DriveFault> {
        let sure = self.map(Interval::point).geometry().ok_or(PIN_ON_AXIS)?;
        RodDrive::new(sure, 0.0, lengths)
    }

    /// The two poses in which the arm is largest, that with a negative arm first: the best about which to lay a stroke.
    ///
    /// There x″ = 0, so that x′² = −(β/2) cos δ and, with x′ = −(β/2) sin δ/x, β y² + 2αy + β = 0 for y = cos δ. In a plane
    /// without offset the rod is then square to the shorter of ground and lever. Derived here.
    ///
    /// # Errors
    /// [`DriveFault::Undetermined`] where A lies on the joint axis, or is nearer to Q than the slide line in every pose.
    pub fn largest_arms(&self) -> Result<[LargestArm; 2], DriveFault> {
        let joint = Circle::through(self.rocker, &self.joint).ok_or(PIN_ON_AXIS)?;
        let [x, y, z] = joint.seen(self.motor);
        let (h, towards) = (libm::hypot(x, y), libm::atan2(y, x));
        let [radius, offset] = [joint.radius, self.line_offset];
        let alpha = h * h + z * z + radius * radius - offset * offset;
        // |w|² is largest with the lever away from A.
        let beta = 2.0 * h * radius;
        let root = ((alpha - beta) * (alpha + beta)).max(0.0).sqrt();
        let cosine = -beta / (alpha + root);
        if alpha <= 0.0 || beta <= 0.0 {
            return Err(DriveFault::Undetermined("the actuator's pin lies on the joint axis"));
        }
        let away = cosine.clamp(-1.0, 1.0).acos();
        let arm = (-0.5 * beta * cosine).sqrt();
        let at = |delta: f64, arm: f64| {
            let joint = libm::remainder(towards + PI + delta, 2.0 * PI);
            LargestArm { joint, arm }
        };
        Ok([at(away, -arm), at(-away, arm)])
    }
}

/// The longest stroke (rad) over which a linear actuator between two pins can keep its ratio within ±`share` of a
/// constant, whatever its lengths: 2 acos((1 − ε)/(1 + ε)) ≈ 4√ε.
///
/// At its largest the arm r = dx/dψ obeys r″ = −r: with x² = α + β cos δ, x x″ + r² = −(β/2) cos δ; at r′ = x″ = 0 one
/// more derivative gives x x‴ = (β/2) sin δ = −x r. So the arm falls off like a cosine at best. Derived here.
#[must_use]
pub fn longest_even_stroke(share: f64) -> f64 {
    2.0 * ((1.0 - share) / (1.0 + share)).acos()
}
