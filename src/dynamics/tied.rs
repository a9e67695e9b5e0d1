//! Several drives on one carrier, all turned by one motor: the two fingers of a gripper.
//!
//! Each crank turns at the one rate φ̇ about the z axis of its own carrier frame; a mirror image has that axis turned round
//! ([`mirrored_place`](super::mirrored_place)). So there are seven speeds still, M = carrier + Σ T_kᵀ N_k T_k and ΔM = Σ T_kᵀ ΔM_k T_k
//! with T_k as in `seat`, and the same figures of them as of one drive. What one finger's stand-in adds, its mirror image may
//! take away. Derived here.

use super::fidelity::{Fidelity, Known, Pair7};
use super::reflected::{Matrix7, add_rigid};
use super::seat::{DriveOnCarrier, Seat};

/// How far the stand-ins of all `drives` together are from their linkages where one motor turns them all alike: at each motor
/// turn of the first one's stroke every drive stands at that turn. All stand-ins count by the same angle, the rotor is one
/// drive's alone, and each holds the same carrier in its own carrier frame.
///
/// `None` without a drive, or where the axes are not parallel and a tensor is not known. Computed, not proved.
#[must_use]
pub fn tied(drives: &[DriveOnCarrier<'_>]) -> Option<Fidelity> {
    let first = drives.first()?;
    let known = Known {
        is_spatial: drives.iter().all(|drive| drive.masses.are_spatial()),
        ..Known::of(first.masses)
    };
    let (seats, carrier) = (Seat::all(drives), first.masses.carrier_moments());
    if !known.is_spatial && !seats.iter().all(Seat::is_parallel) {
        return None;
    }
    Some(known.figures(first.stroke.ends(), |turn| {
        let mut sums: Pair7 = [Matrix7::zeros(), Matrix7::zeros()];
        let [whole, error] = &mut sums;
        add_rigid(whole, &carrier);
        for seat in &seats {
            // A drive that cannot follow leaves no figure at this turn.
            let unknown = Matrix7::repeat(f64::NAN);
            let part = seat.part(turn);
            *whole += part.map_or(unknown, |part| part.moving);
            *error += part.map_or(unknown, |part| part.error);
        }
        Some(sums)
    }))
}
