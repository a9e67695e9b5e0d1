//! Drives that are no planar four-bar: the claims on them over every build that a drawing allows, by the list of its sizes.
//!
//! Joint to motor is one closed form for every kind ([`crate::drive`]), so that a stroke is a range of joint turns and each
//! build is judged over it. Assembly comes first: while the sines of the angles at both ends of the rod keep their sign over
//! every build and all joint turns from the zero pose on, each build reaches all of them and passes no stop. Then follow the
//! margins, and the errors of ratio and angle from above and below. A chain of drives is judged in short stretches of its joint
//! turns, its stages apart ([`chain`]).
//!
//! A proof covers rigid drives without play whose sizes lie in the box. Nothing else.

mod chain;
mod claims;
mod figures;
mod front;
mod judged;
mod part;
mod poses;
mod question;
mod reach;
mod rest;
mod shared;
mod stage;
mod weights;
mod worst;

pub use figures::DriveFigures;
pub use front::{Front, FrontErrors, FrontMargins};
pub use judged::{DriveJudgement, drive_outcome, judge_drive};
pub use question::{BuildWitness, DriveLimits, DriveQuestion, SizeRanges};
