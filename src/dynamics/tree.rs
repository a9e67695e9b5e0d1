//! A carrier and a child with one revolute joint between them, and its mass matrix.

use nalgebra::{Complex, Vector3};

use super::moments::Moments;
use super::reflected::{Matrix7, add_joint, add_rigid, rocker_direction};
use crate::linkage::Pose;

/// Carrier and child with one revolute joint between them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tree {
    /// In the carrier frame, about B; where the carrier is not known, only what is to be added to it.
    pub carrier: Moments,
    /// In the child frame, about B.
    pub child: Moments,
    /// Inertia that only the joint's own rate sees, kg m².
    pub armature: f64,
}

impl Tree {
    /// Its mass matrix for (v, ω, ψ̇) with the child where the linkage has it at `pose`.
    #[must_use]
    pub fn mass_matrix(&self, pose: &Pose) -> Matrix7 {
        self.mass_matrix_towards(rocker_direction(pose))
    }

    /// The same with the child's x in `direction`, a unit number in the carrier frame.
    #[must_use]
    pub(super) fn mass_matrix_towards(&self, direction: Complex<f64>) -> Matrix7 {
        let child = self.child.turned(direction);
        let mut matrix = Matrix7::zeros();
        add_rigid(&mut matrix, &(self.carrier + child));
        let linear = Vector3::new(-child.first.y, child.first.x, 0.0);
        let angular = child.inertia.column(2).into_owned();
        add_joint(&mut matrix, &linear, &angular, child.inertia.m33 + self.armature);
        matrix
    }

    /// W of the tree, the same at every pose, kg m².
    #[must_use]
    pub fn joint_inertia(&self) -> f64 {
        self.child.inertia.m33 + self.armature
    }
}

/// A tree with the armature that it would have had.
#[derive(Clone, Copy, Debug)]
pub(super) struct Draft {
    /// The tree; its armature is never negative.
    pub(super) tree: Tree,
    /// W − L before it was held at zero, kg m².
    pub(super) unbounded: f64,
    /// The rotor's share of it, kg m².
    pub(super) rotor: f64,
    /// Rotor turns per joint turn.
    pub(super) turns: f64,
}

/// Moments with xx, yy, xy alone: the mean of xx and yy, and (xx − yy)/2 + 1j xy.
pub(super) fn in_plane_inertia(mean: f64, twist: Complex<f64>) -> Moments {
    let mut moments = Moments::default();
    let entries = &mut moments.inertia;
    (entries.m11, entries.m22) = (mean + twist.re, mean - twist.re);
    (entries.m12, entries.m21) = (twist.im, twist.im);
    moments
}

/// (xx − yy)/2 + 1j xy.
pub(super) fn twist_of(moments: &Moments) -> Complex<f64> {
    let i = &moments.inertia;
    Complex { re: 0.5 * (i.m11 - i.m22), im: i.m12 }
}
