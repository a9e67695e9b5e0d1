//! May a direct joint stand in for the linkage? Criteria, the best constants, the verdict with its three outcomes, and
//! the proof over every pose and every linkage in a box of lengths.

mod advice;
mod claims;
mod direct_joint;
mod extremes;
mod family;
mod nominal;
mod outcome;
mod proof;
mod suspects;

pub use advice::{Change, LengthName, largest_share, most_helpful_change};
pub use claims::Zeroing;
pub use direct_joint::{Constants, DirectJoint};
pub use extremes::{largest_alone, largest_stroke, largest_tolerance};
pub use family::{Family, Typed, size_range, typed_range};
pub use nominal::{Figures, Limits};
pub use outcome::{Outcome, Verdict};
pub use proof::{Budget, Finding, Findings, Prover, SLACK, Witness};
