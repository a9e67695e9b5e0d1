//! The one link that bears several drives, with what the stand-ins of all add to it.

use nalgebra::Isometry3;

use super::body::Body;
use super::counter_pair::CounterPair;
use super::fault::DynamicsFault;
use super::masses::Masses;
use super::moments::Moments;
use super::replacement::Replacement;
use super::slide::Slide;

/// A stand-in that adds something to its carrier.
pub trait OnCarrier {
    /// What it adds, in the carrier frame, about B.
    fn carrier_patch(&self) -> Moments;
}

impl OnCarrier for Replacement {
    fn carrier_patch(&self) -> Moments {
        self.carrier_patch
    }
}

impl OnCarrier for CounterPair {
    fn carrier_patch(&self) -> Moments {
        self.carrier_patch
    }
}

impl OnCarrier for Slide {
    fn carrier_patch(&self) -> Moments {
        self.carrier_patch
    }
}

/// The carrier with what the stand-ins of all `drives` add to it, as a body in the carrier frame of the first. Each must
/// have the same carrier in its masses, in its own carrier frame.
///
/// # Errors
/// [`DynamicsFault::NoRealBody`] where no real body has the sum, though each alone has one.
pub fn shared_carrier(
    drives: &[(Isometry3<f64>, &Masses, &impl OnCarrier)],
) -> Result<Body, DynamicsFault> {
    let first = drives.first();
    let own = first.map(|(_, masses, _)| masses.carrier_moments());
    let sum = drives.iter().fold(own.unwrap_or_default(), |sum, (frame, _, stand_in)| {
        let to_first = first.map_or_else(Isometry3::identity, |(f, _, _)| f.inverse() * frame);
        sum + stand_in.carrier_patch().seen_from(&to_first)
    });
    let is_spatial = drives.iter().all(|(_, masses, _)| masses.are_spatial());
    let body = if is_spatial { sum.body() } else { sum.planar_body() };
    body.check().map(|()| body).map_err(|fault| DynamicsFault::NoRealBody {
        body: "carrier",
        fault,
        lacks: None,
    })
}
