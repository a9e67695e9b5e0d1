//! A body's mass figures, from the frame of the drawing into the child link's own frame.
//!
//! The child link's frame is aligned with its parent's at reading 0, so in the zero pose it stands turned
//! by `joint_reads` about the robot's axis. The drawing's frame of the child has its origin on the joint
//! axis, z along the design's axis d (opposite to the robot's where mirrored) and x towards Q, and in the
//! zero pose x is the direction A→B turned by ψ₀ about d.

use nalgebra::{Matrix3, Rotation3, Unit, Vector3};

use super::fault::EmitFault;
use super::figures::sense;
use crate::design::{Body, BodyFrame, BodyInertia, Design, RobotJoint};
use crate::robot::Inertial;

const CHILD_INERTIA: &str = "[mass.child] inertia";
const CARRIER_INERTIA: &str = "[mass.carrier] inertia";

/// The carrier's figures, which stand in its own frame.
///
/// # Errors
/// When they stand in the drawing's frame, or the inertia is not six valid figures.
pub(super) fn carrier(body: &Body) -> Result<Inertial, EmitFault> {
    if body.frame == BodyFrame::Drawing {
        return Err(EmitFault::Unfit {
            key: "[mass.carrier] frame",
            why: "the drawing has no frame for the carrier".into(),
            help: "give its figures in the parent link's own frame and write frame = \"robot\""
                .into(),
        });
    }
    inertial(body, CARRIER_INERTIA, Matrix3::identity())
}

/// The child's figures in the child link's own frame; `rocker` is ψ₀, rad.
///
/// # Errors
/// When the inertia is not six valid figures, or the drawing's frame cannot be placed.
pub(super) fn child(
    design: &Design,
    robot: &RobotJoint,
    body: &Body,
    rocker: f64,
) -> Result<Inertial, EmitFault> {
    let rotation = match body.frame {
        BodyFrame::Robot => Matrix3::identity(),
        BodyFrame::Drawing => drawing_to_link(design, robot, rocker)?,
    };
    inertial(body, CHILD_INERTIA, rotation)
}

/// Columns: the axes of the drawing's frame of the child in the child link's frame.
fn drawing_to_link(
    design: &Design,
    robot: &RobotJoint,
    rocker: f64,
) -> Result<Matrix3<f64>, EmitFault> {
    let axis = Unit::new_normalize(Vector3::from(robot.axis));
    let d = axis.into_inner() * sense(robot);
    let ground = ground_direction(design, robot, &d).ok_or_else(no_ground_direction)?;
    let turn = sense(robot) * rocker - design.joint_reads;
    let x = Rotation3::from_axis_angle(&axis, turn) * ground;
    Ok(Matrix3::from_columns(&[x, d.cross(&x), d]))
}

/// A→B square to the axis, in the parent's frame; `None` where nothing places it.
fn ground_direction(
    design: &Design,
    robot: &RobotJoint,
    axis: &Vector3<f64>,
) -> Option<Vector3<f64>> {
    let ground = match (&robot.motor_at, &design.geometry.pivots) {
        (Some(motor), _) => Vector3::from(robot.origin) - Vector3::from(*motor),
        (None, Some(pivots)) => Vector3::from(pivots.joint) - Vector3::from(pivots.motor),
        (None, None) => return None,
    };
    (ground - axis * axis.dot(&ground)).try_normalize(1e-12)
}

fn no_ground_direction() -> EmitFault {
    EmitFault::Missing {
        key: "[[robot]] motor_at",
        needed_for: "the child's mass figures stand in the drawing's frame, which only the direction from the motor axis to the joint axis places on the robot".into(),
        help: "add motor_at, or give [mass.child] in the link's own frame with frame = \"robot\"".into(),
    }
}

fn inertial(body: &Body, key: &'static str, r: Matrix3<f64>) -> Result<Inertial, EmitFault> {
    let BodyInertia::Tensor([xx, yy, zz, xy, xz, yz]) = body.inertia else {
        return Err(EmitFault::Unfit {
            key,
            why: "a whole model needs six figures, this is one about the axis".into(),
            help: "give [xx, yy, zz, xy, xz, yz] about the mass centre, or leave --whole out"
                .into(),
        });
    };
    let tensor = Matrix3::new(xx, xy, xz, xy, yy, yz, xz, yz, zz);
    must_be_physical(&tensor, key)?;
    let t = r * tensor * r.transpose();
    let center = r * Vector3::from(body.center);
    Ok(Inertial {
        mass: body.mass,
        center: center.into(),
        tensor: [t.m11, t.m22, t.m33, t.m12, t.m13, t.m23],
    })
}

/// Principal moments A ≤ B ≤ C of a body are positive and A + B ≥ C; physics engines refuse others.
fn must_be_physical(tensor: &Matrix3<f64>, key: &'static str) -> Result<(), EmitFault> {
    let moments = tensor.symmetric_eigenvalues();
    let (smallest, largest, sum) = (moments.min(), moments.max(), moments.sum());
    if smallest > 0.0 && sum - largest >= largest * (1.0 - 1e-9) {
        return Ok(());
    }
    Err(EmitFault::Unfit {
        key,
        why: "no body has these moments: principal moments are positive, and none is larger than the other two together".into(),
        help: "check the figures, their order xx, yy, zz, xy, xz, yz and the sign of the products of inertia".into(),
    })
}
