//! Where the points of a drive that is no four-bar stand in the links of one `[[robot]]`.
//!
//! Points in the carrier's own frame stand where they are, or as their mirror image in a coordinate plane. A drawing is laid
//! with its joint axis on the robot's and its ground line along `motor_at`→`origin`; where motor and joint axis are
//! parallel it slides along them to the height of `motor_at`.

use nalgebra::{Matrix3, Rotation3, Unit, Vector3};

use crate::design::{Design, Drawn, RobotJoint};
use crate::drive::{Axis, Built, InputEnd, Vector};
use crate::handover::fault::EmitFault;
use crate::handover::stand_in::figures::sense;

/// Places on a robot may miss the drawing by this share of a length, or by [`MISS`] where that is more.
const MISS_SHARE: f64 = 1e-3;

/// See [`MISS_SHARE`], m.
const MISS: f64 = 1e-4;

/// Directions may miss by this, rad: what figures from CAD are rounded to.
const TURNED: f64 = 1e-3;

/// Axes closer than this are parallel, rad.
const PARALLEL: f64 = 1e-9;

/// From the frame that the points are written in to the parent link's, in the zero pose.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placed {
    turn: Matrix3<f64>,
    shift: Vector3<f64>,
    /// Of the child link in its parent, in the zero pose.
    child: Rotation3<f64>,
    origin: Vector3<f64>,
}

impl Placed {
    /// The drive as built, on `robot`.
    ///
    /// # Errors
    /// Where nothing places it there, or what does contradicts the drawing.
    pub(super) fn on(
        design: &Design<Drawn>,
        robot: &RobotJoint,
        built: &Built,
    ) -> Result<Self, EmitFault> {
        let (turn, shift) = if design.geometry.is_in_carrier_frame {
            in_carrier(robot, &built.joint)?
        } else {
            laid(robot, built)?
        };
        let axis = Unit::new_normalize(Vector3::from(robot.axis));
        let child = Rotation3::from_axis_angle(&axis, design.joint_reads);
        Ok(Self { turn, shift, child, origin: robot.origin.into() })
    }

    /// A point in the parent link's frame, m.
    pub(super) fn point(&self, at: Vector) -> Vector3<f64> {
        self.turn * plain(at) + self.shift
    }

    /// The turn alone; it mirrors where the drive is a mirror image.
    pub(super) fn turn(&self) -> Matrix3<f64> {
        self.turn
    }

    /// −1 where a turn about an axis becomes one the other way.
    pub(super) fn handedness(&self) -> f64 {
        self.turn.determinant().signum()
    }

    /// A direction in the parent link's frame.
    pub(super) fn direction(&self, of: Vector) -> Vector3<f64> {
        self.turn * plain(of)
    }

    /// Axes given in the zero pose, in the child link's frame.
    pub(super) fn turned_on_child(&self, axes: &Matrix3<f64>) -> Matrix3<f64> {
        self.child.inverse().into_inner() * self.turn * axes
    }

    /// A point that moves with the child, given where it is in the zero pose, in the child link's frame, m.
    pub(super) fn on_child(&self, at: Vector) -> Vector3<f64> {
        self.child.inverse() * (self.point(at) - self.origin)
    }
}

pub(super) fn plain(v: Vector) -> Vector3<f64> {
    Vector3::new(v.x, v.y, v.z)
}

/// As they stand, or mirrored: first across y, the usual plane between a robot's sides.
fn in_carrier(robot: &RobotJoint, joint: &Axis) -> Result<(Matrix3<f64>, Vector3<f64>), EmitFault> {
    let across = |k: usize| {
        let mut image = Matrix3::identity();
        image.column_mut(k).neg_mut();
        image
    };
    let images = if robot.mirrored {
        vec![across(1), across(0), across(2)]
    } else {
        vec![Matrix3::identity()]
    };
    let fits = |image: &Matrix3<f64>| {
        let axis = image * plain(joint.direction);
        let off = (Vector3::from(robot.origin) - image * plain(joint.point)).cross(&axis).norm();
        (axis - Vector3::from(robot.axis)).norm() <= TURNED && off <= MISS
    };
    let image = images.into_iter().find(fits).ok_or_else(|| EmitFault::Unfit {
        key: "[[robot]] origin",
        why: "axis and origin are not those of the drawn joint, nor of its mirror image where mirrored".into(),
        help: "give the points in this joint's parent frame; mirrored = true takes their mirror image in a coordinate plane".into(),
    })?;
    Ok((image, Vector3::zeros()))
}

/// A drawing, by its ground line.
fn laid(robot: &RobotJoint, built: &Built) -> Result<(Matrix3<f64>, Vector3<f64>), EmitFault> {
    let motor = Vector3::from(robot.motor_at.ok_or_else(no_motor)?);
    let (origin, axis) = (Vector3::from(robot.origin), Vector3::from(robot.axis) * sense(robot));
    let (datum, parallel) = datum(built);
    let (joint, m) = (plain(built.joint.point), plain(built.joint.direction));
    let ground = joint - datum;
    let [drawn, there] = [(ground, m), (origin - motor, axis)].map(|(v, m)| v - m * m.dot(&v));
    let allowed = MISS.max(MISS_SHARE * ground.norm());
    let rise = (origin - motor).dot(&axis) - ground.dot(&m);
    if (drawn.norm() - there.norm()).abs() > allowed || (!parallel && rise.abs() > allowed) {
        return Err(off_ground(ground.norm(), parallel));
    }
    let basis = |x: Vector3<f64>, z: Vector3<f64>| Matrix3::from_columns(&[x, z.cross(&x), z]);
    let turn = basis(there.normalize(), axis) * basis(drawn.normalize(), m).transpose();
    let level = if parallel { origin - axis * rise } else { origin };
    Ok((turn, level - turn * joint))
}

/// The point that `motor_at` names, and whether the drawing may slide along its joint axis.
fn datum(built: &Built) -> (Vector3<f64>, bool) {
    match built.input {
        InputEnd::Crank { circle, .. } => {
            let sine = circle.axis.cross(built.joint.direction).length();
            (plain(circle.centre), sine < PARALLEL)
        }
        InputEnd::Actuator { pin, .. } => (plain(pin), true),
        // The drawing's origin.
        InputEnd::Slide { .. } => (Vector3::zeros(), true),
    }
}

fn no_motor() -> EmitFault {
    EmitFault::Missing {
        key: "[[robot]] motor_at",
        needed_for:
            "only the direction from the motor to the joint axis places the drive on the robot"
                .into(),
        help: "add motor_at, or give the pins in the carrier's frame under [pivots]".into(),
    }
}

fn off_ground(ground: f64, parallel: bool) -> EmitFault {
    let across =
        if parallel { " across the joint axis" } else { ", with `axial` along the motor axis" };
    EmitFault::Unfit {
        key: "[[robot]] motor_at",
        why: format!(
            "it is not where the drawing has the motor: {} from the joint{across}",
            crate::units::millimetres(ground)
        ),
        help: "name the centre of the crank ball's circle (the carrier's pin, the drawing's origin), and as origin that of the lever ball's".into(),
    }
}
