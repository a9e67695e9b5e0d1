//! How far two direct joints are from the drive, as one figure for any motion of both: ε = max |eig(M⁻¹ ΔM)| over a region.

use nalgebra::{Matrix2, Vector2};

use super::super::fault::DynamicsFault;
use super::super::fidelity::{MeasuredOver, largest_share};
use super::both_moving::{AllFrames, LegParts, Matrix8, TwoJointParts};
use super::placed::{Placed, Spread, largest, spread};
use super::two_joint_tree::TwoJointTree;
use crate::drive::{Direct, Region, TwoRods};

/// How far the tree is from the drive over the region. Computed, not proved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoJointFidelity {
    /// With the carrier moving and turning in space where it and all tensors are known, else with it fixed: of the (pitch, roll)
    /// blocks.
    pub over: MeasuredOver,
    /// ε.
    pub worst: Placed,
}

fn block(matrix: &Matrix8) -> Matrix2<f64> {
    matrix.fixed_view::<2, 2>(6, 6).into_owned()
}

/// How far `tree` is from the drive with `parts` over the region.
///
/// # Errors
/// A pose of the region's grid out of reach.
pub fn two_joint_fidelity(
    drive: &TwoRods,
    region: &Region,
    parts: &TwoJointParts,
    tree: &TwoJointTree,
) -> Result<TwoJointFidelity, DynamicsFault> {
    fidelity(drive, region, [parts, parts], tree)
}

/// The same of a tree beside which something else holds the rotors of `parts` exactly: it stands for all but those.
///
/// # Errors
/// A pose of the region's grid out of reach.
pub fn fidelity_beside_rotors(
    drive: &TwoRods,
    region: &Region,
    parts: &TwoJointParts,
    tree: &TwoJointTree,
) -> Result<TwoJointFidelity, DynamicsFault> {
    let legs = parts.legs.map(|leg| LegParts { rotor: None, ..leg });
    fidelity(drive, region, [parts, &TwoJointParts { legs, ..*parts }], tree)
}

/// What of all `parts` the error of a tree is that stands for some of them.
fn fidelity(
    drive: &TwoRods,
    region: &Region,
    [parts, held]: [&TwoJointParts; 2],
    tree: &TwoJointTree,
) -> Result<TwoJointFidelity, DynamicsFault> {
    for joints in region.turns() {
        drive.pose(joints)?;
    }
    let is_spatial = parts.are_spatial();
    let (parts, held) = (parts.with_bars(), held.with_bars());
    let worst = largest(region, &|joints| match AllFrames::at(drive, joints) {
        Ok(frames) => {
            let (whole, error) =
                (frames.matrix(&parts), tree.in_frames(&frames) - frames.matrix(&held));
            share(&error, &whole, is_spatial)
        }
        Err(_) => f64::NAN,
    });
    let over = if is_spatial { MeasuredOver::Space } else { MeasuredOver::FixedCarrier };
    Ok(TwoJointFidelity { over, worst })
}

/// ε of these matrices, over all motions or those of the joints alone.
fn share(error: &Matrix8, whole: &Matrix8, is_spatial: bool) -> f64 {
    if is_spatial {
        largest_share(error, whole)
    } else {
        largest_share(&block(error), &block(whole))
    }
}

/// The largest share that the tree's kinetic energy is off at one pose for any motion; with the carrier still where not all
/// tensors are known.
///
/// # Errors
/// [`crate::drive::DriveFault::CannotReach`].
pub fn energy_error(
    drive: &TwoRods,
    joints: [f64; 2],
    parts: &TwoJointParts,
    tree: &TwoJointTree,
) -> Result<f64, DynamicsFault> {
    let frames = AllFrames::at(drive, joints)?;
    let whole = frames.matrix(&parts.with_bars());
    let error = tree.in_frames(&frames) - whole;
    Ok(share(&error, &whole, parts.are_spatial()))
}

/// What both rotors weigh at the joints over a region, bodies left out: Jᵀ diag(n²J) J.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RotorInertia {
    /// At the pitch joint, kg m².
    pub pitch: Spread,
    /// At the roll joint, kg m².
    pub roll: Spread,
    /// The coupling as a share of the geometric mean of both, where it is largest.
    pub coupling: Placed,
    /// ε of two plain armatures, the diagonal of Tᵀ diag(n²J) T.
    pub plain: Placed,
    /// ε of Tᵀ diag(n²J) T.
    pub constant: Placed,
}

/// The rotors' inertia over the region; `rotors` are inertia × gear ratio², kg m² at each motor's output.
///
/// # Errors
/// A pose of the region's grid out of reach.
pub fn rotor_inertia(
    drive: &TwoRods,
    region: &Region,
    rotors: [f64; 2],
    direct: &Direct,
) -> Result<RotorInertia, DynamicsFault> {
    for joints in region.turns() {
        drive.pose(joints)?;
    }
    let at = |joints, figure: &dyn Fn(&Matrix2<f64>) -> f64| match drive.pose(joints) {
        Ok(pose) => figure(&pose.armature(rotors)),
        Err(_) => f64::NAN,
    };
    let t = direct.matrix;
    let constant = t.transpose() * Matrix2::from_diagonal(&Vector2::from(rotors)) * t;
    let plain = Matrix2::from_diagonal(&constant.diagonal());
    let share = |model: Matrix2<f64>| {
        largest(region, &|q| at(q, &|whole| largest_share(&(model - whole), whole)))
    };
    let coupling = |m: &Matrix2<f64>| m.m12.abs() / (m.m11 * m.m22).sqrt();
    Ok(RotorInertia {
        pitch: spread(region, &|q| at(q, &|m| m.m11)),
        roll: spread(region, &|q| at(q, &|m| m.m22)),
        coupling: largest(region, &|q| at(q, &coupling)),
        plain: share(plain),
        constant: share(constant),
    })
}
