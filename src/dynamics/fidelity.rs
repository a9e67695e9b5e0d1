//! How far the direct joint is from the linkage, as one figure for any motion.
//!
//! With M the linkage's mass matrix and ΔM = the tree's less the linkage's, the kinetic energy of any motion is wrong by
//! at most ε = max |eig(M⁻¹ ΔM)| of itself: ½ q̇ᵀ ΔM q̇ / ½ q̇ᵀ M q̇ is a Rayleigh quotient of the pencil (ΔM, M). ε has no
//! unit and is the same in every frame, since a change of speeds q̇ = T ẏ turns both into TᵀMT. It is taken at equal joint
//! angles (crank angles, for what counts by the crank): what the angle itself errs by is another criterion.
//!
//! The joint's own torque in the plane, B accelerated by a in the carrier frame, is
//!
//! ```text
//! τ = W ψ̈ + ½ W_ψ ψ̇² + L α̈ − ½ K_ψ α̇² + H_ψ·a
//! ```
//!
//! and K, L, W of the tree do not change, so that the error of each term is bounded by itself. Derived here.

use nalgebra::allocator::Allocator;
use nalgebra::linalg::Cholesky;
use nalgebra::{DefaultAllocator, Dim, DimDiff, DimSub, Matrix4, OMatrix, U1};

use super::crank_stroke::{CrankStroke, worst_between};
use super::masses::Masses;
use super::moments::Moments;
use super::monotone_stroke::MonotoneStroke;
use super::reflected::{Matrix7, add_rigid, joint_inertia, mass_matrix_by};
use super::tree::Tree;
use crate::linkage::{Drive, Extreme, Pose};
use crate::numeric::remembered;

/// A model that stands in for the linkage.
pub trait StandIn {
    /// Its mass matrix for (v, ω, ψ̇) with the child where the linkage has it at `pose`, which is that of the motor turn
    /// `turn`, rad from the zero pose; for (v, ω, φ̇) with the crank where the linkage has it, where it counts by the motor.
    fn mass_matrix(&self, pose: &Pose, turn: f64) -> Matrix7;

    /// Whose rate the seventh speed is.
    fn counts_by(&self) -> Drive {
        Drive::Joint
    }
}

impl StandIn for Tree {
    fn mass_matrix(&self, pose: &Pose, _turn: f64) -> Matrix7 {
        Self::mass_matrix(self, pose)
    }
}

/// Standard acceleration of free fall, m/s².
///
/// # Source
/// 3rd CGPM (1901); ISO 80000-3.
pub(super) const FREE_FALL: f64 = 9.806_65;

words! {
    /// The motions of the carrier that a figure allows for.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum MeasuredOver {
        /// The carrier stands still.
        FixedCarrier = "carrier fixed",
        /// The carrier moves and turns in the plane.
        Plane = "planar",
        /// The carrier moves and turns in space.
        Space = "spatial",
    }
}

/// How far the tree is from the linkage over the stroke. All computed, not proved; turns are motor turns, rad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fidelity {
    /// ε with the carrier fixed: |ΔW|/W.
    pub fixed: Extreme,
    /// ε in the plane; `None` where the carrier is not known.
    pub planar: Option<Extreme>,
    /// ε in space; `None` where a tensor is not known.
    pub spatial: Option<Extreme>,
    /// ε in the plane with what the carrier bears besides; `None` where that is not known.
    pub planar_carried: Option<Extreme>,
    /// ε in space with what the carrier bears besides.
    pub spatial_carried: Option<Extreme>,
    /// g₀ |ΔH_ψ|: the largest error of the torque of weight at the joint, or at the crank where that is counted by, N m.
    pub gravity_torque: Extreme,
}

impl Fidelity {
    /// The figure that allows for most motions of what the masses allow, without what the carrier bears besides.
    #[must_use]
    pub fn headline(&self) -> (MeasuredOver, Extreme) {
        match (self.spatial, self.planar) {
            (Some(figure), _) => (MeasuredOver::Space, figure),
            (None, Some(figure)) => (MeasuredOver::Plane, figure),
            (None, None) => (MeasuredOver::FixedCarrier, self.fixed),
        }
    }
}

/// What a motion in the plane sees: x, y of B's speed, the carrier's turn about z, the joint.
fn in_plane(matrix: &Matrix7) -> Matrix4<f64> {
    let at = [0, 1, 5, 6];
    let pick = |k: usize| at.get(k).copied().unwrap_or_default();
    Matrix4::from_fn(|row, column| {
        matrix.get((pick(row), pick(column))).copied().unwrap_or_default()
    })
}

/// max |eig(M⁻¹ ΔM)| as that of L⁻¹ ΔM L⁻ᵀ with M = L Lᵀ; NaN where M is not positive definite.
pub(super) fn largest_share<D>(error: &OMatrix<f64, D, D>, whole: &OMatrix<f64, D, D>) -> f64
where
    D: Dim + DimSub<U1>,
    DefaultAllocator:
        Allocator<D, D> + Allocator<D> + Allocator<DimDiff<D, U1>> + Allocator<D, DimDiff<D, U1>>,
{
    let Some(factor) = Cholesky::new(whole.clone()) else {
        return f64::NAN;
    };
    let lower = factor.l_dirty();
    let mut half = error.clone();
    lower.solve_lower_triangular_unchecked_mut(&mut half);
    let mut share = half.transpose();
    lower.solve_lower_triangular_unchecked_mut(&mut share);
    if share.iter().all(|x| x.is_finite()) {
        share.symmetric_eigenvalues().amax()
    } else {
        f64::NAN
    }
}

/// Both matrices at a pose: M of the linkage, and ΔM.
pub(super) type Pair7 = [Matrix7; 2];

fn entry(matrix: &Matrix7, at: (usize, usize)) -> f64 {
    matrix.get(at).copied().unwrap_or(f64::NAN)
}

/// ε at one pose.
pub(super) fn share(over: MeasuredOver, [whole, error]: &Pair7) -> f64 {
    match over {
        MeasuredOver::Space => largest_share(error, whole),
        MeasuredOver::Plane => largest_share(&in_plane(error), &in_plane(whole)),
        MeasuredOver::FixedCarrier => (entry(error, (6, 6)) / entry(whole, (6, 6))).abs(),
    }
}

/// |ΔH_ψ|, kg m.
fn first_moment_error(error: &Matrix7) -> f64 {
    libm::hypot(libm::hypot(entry(error, (0, 6)), entry(error, (1, 6))), entry(error, (2, 6)))
}

/// Both matrices of the linkage with `masses` and what stands in for it.
pub(super) fn compared(
    stand_in: &(impl StandIn + ?Sized),
    masses: &Masses,
    pose: &Pose,
    turn: f64,
) -> Pair7 {
    let whole = mass_matrix_by(stand_in.counts_by(), pose, masses);
    [whole, stand_in.mass_matrix(pose, turn) - whole]
}

/// What of the bodies is known.
#[derive(Clone, Copy, Debug)]
pub(super) struct Known {
    /// The carrier.
    pub(super) is_planar: bool,
    /// All tensors.
    pub(super) is_spatial: bool,
    /// What the carrier bears besides.
    pub(super) carried: Option<Moments>,
}

impl Known {
    pub(super) fn of(masses: &Masses) -> Self {
        Self {
            is_planar: masses.carrier.is_some(),
            is_spatial: masses.are_spatial(),
            carried: masses.carried.as_ref().map(Moments::from),
        }
    }

    /// The motions that the headline figure allows for.
    pub(super) fn over(&self) -> MeasuredOver {
        match self {
            Self { is_spatial: true, .. } => MeasuredOver::Space,
            Self { is_planar: true, .. } => MeasuredOver::Plane,
            _ => MeasuredOver::FixedCarrier,
        }
    }

    /// Every figure of `matrices`, which are told at each turn between `ends` that can be reached.
    pub(super) fn figures(
        &self,
        ends: [f64; 2],
        matrices: impl Fn(f64) -> Option<Pair7>,
    ) -> Fidelity {
        let matrices = remembered(matrices);
        let worst = |figure: &dyn Fn(Pair7) -> f64| {
            worst_between(ends, &|turn| matrices(turn).map_or(f64::NAN, figure))
        };
        let over = |over: MeasuredOver, carried: Moments| {
            worst(&|[mut whole, error]| {
                add_rigid(&mut whole, &carried);
                share(over, &[whole, error])
            })
        };
        let bare = |which, known: bool| known.then(|| over(which, Moments::default()));
        let borne = |which, known: bool| self.carried.filter(|_| known).map(|c| over(which, c));
        Fidelity {
            fixed: over(MeasuredOver::FixedCarrier, Moments::default()),
            planar: bare(MeasuredOver::Plane, self.is_planar),
            spatial: bare(MeasuredOver::Space, self.is_spatial),
            planar_carried: borne(MeasuredOver::Plane, self.is_planar),
            spatial_carried: borne(MeasuredOver::Space, self.is_spatial),
            gravity_torque: worst(&|[_, error]| FREE_FALL * first_moment_error(&error)),
        }
    }
}

/// How far `tree` is from the linkage with `masses` over the stroke.
#[must_use]
pub fn fidelity(stroke: &CrankStroke<'_>, masses: &Masses, tree: &impl StandIn) -> Fidelity {
    Known::of(masses)
        .figures(stroke.ends(), |turn| Some(compared(tree, masses, &stroke.pose(turn).ok()?, turn)))
}

/// The largest motions that are asked of the robot, as sizes; 0 where nothing is asked.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Envelope {
    /// ψ̇, rad/s.
    pub joint_speed: f64,
    /// ψ̈, rad/s².
    pub joint_acceleration: f64,
    /// α̇, rad/s.
    pub carrier_speed: f64,
    /// α̈, rad/s².
    pub carrier_acceleration: f64,
    /// Acceleration of B, m/s², without free fall.
    pub base_acceleration: f64,
}

/// The largest error of the joint's torque, N m, that motions within `envelope` can bring in the plane, weight left
/// out: |ΔW| ψ̈ + ½ |ΔW_ψ| ψ̇² + |ΔL| α̈ + ½ |ΔK_ψ| α̇² + |ΔH_ψ| |a_B|.
#[must_use]
pub fn torque_error_bound(
    stroke: &MonotoneStroke<'_>,
    masses: &Masses,
    tree: &Tree,
    envelope: &Envelope,
) -> Extreme {
    stroke.worst_by_turn(|pose, turn| {
        let linkage = joint_inertia(pose, masses);
        (tree.joint_inertia() - linkage.joint).abs() * envelope.joint_acceleration
            + 0.5 * linkage.joint_slope.abs() * envelope.joint_speed.powi(2)
            + (tree.child.inertia.m33 - linkage.coupling).abs() * envelope.carrier_acceleration
            + 0.5 * linkage.carrier_slope.abs() * envelope.carrier_speed.powi(2)
            + first_moment_error(&compared(tree, masses, pose, turn)[1])
                * envelope.base_acceleration
    })
}
