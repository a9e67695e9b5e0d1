//! A body's mass figures, from the frame of the drawing into the child link's own frame.
//!
//! The child link's frame is aligned with its parent's at reading 0, so in the zero pose it stands turned
//! by `joint_reads` about the robot's axis. The drawing's frame of the child has its origin on the joint
//! axis, z along the design's axis d (opposite to the robot's where mirrored) and x towards Q, and in the
//! zero pose x is the direction A→B turned by ψ₀ about d.

use nalgebra::{Matrix3, Vector3};

use super::frames::Frames;
use crate::design::{BodyFrame, BodyInertia, BodyMass, Design, RobotJoint};
use crate::dynamics::Moments;
use crate::handover::fault::EmitFault;
use crate::handover::link_moments::{self, without_dust};
use crate::robot::{Inertial, tensor_entries};
use crate::study;

const CHILD_INERTIA: &str = "[mass.child] inertia";
const CARRIER_INERTIA: &str = "[mass.carrier] inertia";

/// The carrier's figures, which stand in its own frame.
///
/// # Errors
/// When they stand in the drawing's frame, or the inertia is not six valid figures.
pub(in crate::handover) fn carrier(body: &BodyMass) -> Result<Inertial, EmitFault> {
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
pub(in crate::handover) fn child(
    design: &Design,
    robot: &RobotJoint,
    body: &BodyMass,
    rocker: f64,
) -> Result<Inertial, EmitFault> {
    let rotation = match body.frame {
        BodyFrame::Robot => Matrix3::identity(),
        BodyFrame::Drawing => {
            Frames::of(design, robot, rocker)?.child.to_rotation_matrix().into_inner()
        }
    };
    let body = match body.frame {
        BodyFrame::Drawing => study::as_drawn_on(design, Some(robot), body),
        BodyFrame::Robot => body.clone(),
    };
    inertial(&body, CHILD_INERTIA, rotation)
}

/// A body's figures in a frame that stands turned by `r` in the link's; the link's origin is the body's own.
///
/// # Errors
/// When the inertia is not six valid figures.
pub(in crate::handover) fn inertial(
    body: &BodyMass,
    key: &'static str,
    r: Matrix3<f64>,
) -> Result<Inertial, EmitFault> {
    let BodyInertia::Tensor(tensor) = body.inertia else {
        return Err(EmitFault::Unfit {
            key,
            why: "a whole model needs six figures, this is one about the axis".into(),
            help: "give [xx, yy, zz, xy, xz, yz] about the mass centre, or leave --whole out"
                .into(),
        });
    };
    let tensor = Inertial { mass: body.mass, center: body.center, tensor }.matrix();
    must_be_physical(&tensor, key)?;
    let t = r * tensor * r.transpose();
    let center = r * Vector3::from(body.center);
    Ok(Inertial {
        mass: body.mass,
        center: without_dust(center.into()),
        tensor: without_dust(tensor_entries(&t)),
    })
}

/// Principal moments A ≤ B ≤ C of a body are positive and A + B ≥ C; physics engines refuse others.
fn must_be_physical(tensor: &Matrix3<f64>, key: &'static str) -> Result<(), EmitFault> {
    if is_physical(tensor) {
        return Ok(());
    }
    Err(EmitFault::Unfit {
        key,
        why: "no body has these moments: principal moments are positive, and none is larger than the other two together".into(),
        help: "check the figures, their order xx, yy, zz, xy, xz, yz and the sign of the products of inertia".into(),
    })
}

fn is_physical(tensor: &Matrix3<f64>) -> bool {
    let moments = tensor.symmetric_eigenvalues();
    let (smallest, largest, sum) = (moments.min(), moments.max(), moments.sum());
    smallest > 0.0 && sum - largest >= largest * (1.0 - 1e-9)
}

/// The mass figures with these moments about the frame's origin; `key` is whose they are.
///
/// # Errors
/// When no body has them.
pub(in crate::handover) fn real(
    moments: &Moments,
    key: &'static str,
) -> Result<Inertial, EmitFault> {
    must_be_physical(&moments.body().tensor(), key)?;
    Ok(link_moments::inertial(moments))
}

/// The link with what the linkage's parts add to it.
///
/// # Errors
/// When no body has the sum.
pub(in crate::handover) fn patched(
    name: &str,
    own: &Inertial,
    patches: impl Iterator<Item = Moments>,
) -> Result<Inertial, EmitFault> {
    let mut patches = patches.peekable();
    if patches.peek().is_none() {
        return Ok(*own);
    }
    let sum = patches.fold(link_moments::moments(own), |sum, patch| sum + patch);
    if sum.mass > 0.0 && is_physical(&sum.body().tensor()) {
        return Ok(link_moments::inertial(&sum));
    }
    Err(EmitFault::NoRealLink { link: name.to_owned() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_that_would_be_no_real_body_is_refused_by_name() {
        let tensor = [0.02, 0.006, 0.02, 0.0, 0.0, 0.0];
        let own = Inertial { mass: 2.0, center: [0.0; 3], tensor };
        let taking = |about: f64| [Moments::about_z(-about)].into_iter();
        assert!(patched("upper", &own, taking(0.002)).is_ok());
        let fault = patched("upper", &own, taking(0.015)).unwrap_err();
        assert_eq!(fault, EmitFault::NoRealLink { link: "upper".into() });
    }
}
