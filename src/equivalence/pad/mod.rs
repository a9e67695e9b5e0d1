//! A pad that rides on the coupler: what may stand in for its finger, what each does with the pad, and what is claimed of it.
//!
//! | stand-in | joints of a finger | moves the pad as |
//! |---|---|---|
//! | counter | a hinge at A, the motor's; one at P that turns against it | two arms: the crank, and the pad point from P |
//! | slide | one slide along n | a straight line |
//! | hinge | one hinge at B | one arm from B |

mod behind;
mod claims;
mod figures;
mod motion;
mod weighing;

pub(super) use behind::Behind;
pub(super) use claims::PadClaim;
pub use figures::{PadFigures, PadLimits};
pub use motion::{ModelPose, PadMotion, PadStandIn};
pub use weighing::{FingerWeighing, WeighedFinger};

pub(super) use weighing::weigh;

use crate::linkage::Pad;

/// A finger whose pad rides on the coupler, what is to stand in for it and what that is held against.
#[derive(Clone, Copy, Debug)]
pub struct Finger {
    /// The pad.
    pub pad: Pad,
    /// What the stand-in does with it.
    pub motion: PadMotion,
    /// A point of the plane that mirrors the finger into the other one, with the closing direction as its normal, from B, m;
    /// `None` where there is no other.
    pub mirror: Option<[f64; 2]>,
    /// Limits of tilt, shift, opening and grip.
    pub limits: PadLimits,
}
