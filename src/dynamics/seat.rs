//! A drive in its place on the carrier that it shares with others.
//!
//! Its carrier frame stands at (R, p) in that of the first: it sees v_k = Rᵀ (v + ω × p), ω_k = Rᵀ ω, so that T_k, which takes
//! (v, ω, rate) to its own speeds, carries its mass matrices over as T_kᵀ N T_k. Derived here.

use nalgebra::{Isometry3, Vector3};

use super::crank_stroke::CrankStroke;
use super::fidelity::{Pair7, StandIn, compared};
use super::masses::Masses;
use super::reflected::{Matrix7, mass_matrix_by};

/// One of several drives on one carrier.
#[derive(Clone, Copy)]
pub struct DriveOnCarrier<'a> {
    /// Its carrier frame in the frame of the link that bears them all.
    pub frame: Isometry3<f64>,
    /// Its poses.
    pub stroke: &'a CrankStroke<'a>,
    /// Its parts; each drive holds the same carrier, in its own carrier frame.
    pub masses: &'a Masses,
    /// What stands in for it, the whole carrier in it.
    pub stand_in: &'a dyn StandIn,
}

/// Axes off by less than this are parallel, rad.
const PARALLEL: f64 = 1e-9;

/// Mass matrix of a drive's moving parts at a turn, and that of its stand-in less the whole.
type Matrices<'a> = dyn Fn(f64) -> Option<Pair7> + 'a;

/// A drive with T, which takes the speeds of the first drive's carrier frame to its own.
pub(super) struct Seat<'a> {
    pub(super) ends: [f64; 2],
    matrices: Box<Matrices<'a>>,
    speeds: Matrix7,
}

/// One drive's part at one pose, in the first drive's carrier frame.
#[derive(Clone, Copy)]
pub(super) struct Part {
    pub(super) turn: f64,
    pub(super) moving: Matrix7,
    pub(super) error: Matrix7,
}

impl<'a> Seat<'a> {
    /// Every drive as the first one's carrier frame sees it.
    pub(super) fn all(drives: &[DriveOnCarrier<'a>]) -> Vec<Self> {
        let first = drives.first().map_or_else(Isometry3::identity, |first| first.frame);
        drives.iter().map(|drive| Self::of(drive, &first)).collect()
    }

    fn of(drive: &DriveOnCarrier<'a>, first: &Isometry3<f64>) -> Self {
        let DriveOnCarrier { frame, stroke, masses, stand_in } = *drive;
        let matrices = move |turn: f64| {
            let pose = stroke.pose(turn).ok()?;
            let bare = Masses { carrier: None, ..*masses };
            let moving = mass_matrix_by(stand_in.counts_by(), &pose, &bare);
            let [_, error] = compared(stand_in, masses, &pose, turn);
            Some([moving, error])
        };
        Self::new(stroke.ends(), Box::new(matrices), &(first.inverse() * frame))
    }

    /// A drive whose matrices are told at each turn between `ends`, its carrier frame at `place` in the first one's.
    pub(super) fn new(ends: [f64; 2], matrices: Box<Matrices<'a>>, place: &Isometry3<f64>) -> Self {
        let back = place.rotation.inverse().to_rotation_matrix().into_inner();
        let mut speeds = Matrix7::identity();
        speeds.fixed_view_mut::<3, 3>(0, 0).copy_from(&back);
        speeds.fixed_view_mut::<3, 3>(3, 3).copy_from(&back);
        let lever = -(back * place.translation.vector.cross_matrix());
        speeds.fixed_view_mut::<3, 3>(0, 3).copy_from(&lever);
        Self { ends, matrices, speeds }
    }

    pub(super) fn is_parallel(&self) -> bool {
        let axis = self.speeds.fixed_view::<3, 3>(0, 0) * Vector3::z();
        axis.xy().norm() < PARALLEL
    }

    pub(super) fn part(&self, turn: f64) -> Option<Part> {
        let [moving, error] = (self.matrices)(turn)?;
        let carried = |matrix: Matrix7| self.speeds.transpose() * matrix * self.speeds;
        Some(Part { turn, moving: carried(moving), error: carried(error) })
    }
}
