//! For one way of turning a joint by a motor elsewhere: where are motor and joint, how fast, how far from their limits?
//!
//! ```text
//! input end ───── rod ───── pin Q on the driven body
//! ```
//!
//! An input end is a crank (pin P on a circle), a nut on a guide (P on a line), or none (a rod of variable length from a fixed
//! pin). The driven body turns on one hinge or on a universal joint; each rod gives one equation, its length. **Joint to
//! motor is explicit**, one square root a rod; motor to joint is explicit for a hinge and an iteration for a universal joint. So a
//! design is judged from the joint's side.
//!
//! | kind | trade's words | answers |
//! |---|---|---|
//! | [`BallRod`], [`BallRodPoints`] | push-rod with rod ends; axes need not be parallel | [`RodDrive`] |
//! | [`LinearActuator`] | cylinder or ball screw between two pins | [`RodDrive`] |
//! | [`Slider`] | nut on a guide that pushes a rod | [`RodDrive`] |
//! | [`FixedRatio`], [`Coaxial`] | belt, gear; a motor on another link | itself |
//! | [`Series`] | drive after drive | itself |
//! | [`TwoRods`] | ankle or wrist with two motors | itself, [`Direct`] |
//!
//! A kind with one joint is an [`OneJoint`]; its closed forms are written over [`Angular`], so that plain floats, enclosures and
//! gradients come from one text. A planar four-bar is a [`BallRod`] without axial, twist and lean; [`crate::linkage`] has
//! the tighter forms of its own.
//!
//! # Conventions
//!
//! SI or any one unit of length; rad. Axes are right-handed, turns count from the zero pose. n, A: unit axis and centre of
//! the crank pin's circle; m, B: the joint's; P, Q the rod's pins; w = Q − P. **Open** is the assembly whose rod arm r_B
//! about the joint axis is negative, as a planar four-bar's with Q left of P→B.
//!
//! The planar, spatial and linear forms are derived here but for what names a source; worked values with their sources
//! stand in `tests/data/check-values-drives.toml`.

mod angular;
mod ball_rod;
mod builds;
mod built;
mod circle;
mod drawing;
mod fault;
mod fixed_ratio;
mod input_end;
mod linear_actuator;
mod one_joint;
mod real_roots;
mod rod_drive;
mod rod_pose;
mod rod_shares;
mod screw;
mod series;
mod size;
mod slider;
mod space;
mod stop;
mod stops;
mod transfer;
mod two_rods;
mod winding;
mod zero_pose;

pub use angular::Angular;
pub use ball_rod::{Assembly, BallRod, BallRodPoints};
pub use builds::{Build, BuildPose, Builds, Counted};
pub use built::Built;
pub use circle::Circle;
pub use drawing::{Drawing, Kind};
pub use fault::{DriveFault, StageFault};
pub use fixed_ratio::{Coaxial, FixedRatio};
pub use input_end::{InputEnd, Place, Reached};
pub use linear_actuator::{LargestArm, LinearActuator, longest_even_stroke};
pub use one_joint::{Motion, OneJoint};
pub use rod_drive::RodDrive;
pub use rod_pose::{RodOnHinge, RodPose};
pub use rod_shares::{RodOver, RodShare};
pub use screw::Screw;
pub use series::{JointDrive, Series};
pub use size::{Measure, Size};
pub use slider::Slider;
pub use space::{Axis, Vector};
pub use stop::{Stop, StopKind};
pub use transfer::Transfer;
pub use two_rods::{
    BentPose, Direct, DrawnLeg, Joints, Leg, MarginShare, MarginShares, OF_ROD, Region,
    RodsOnUniversal, Share, Shares, SizedBuild, TwoRods, TwoRodsDrawing, TwoRodsPose,
};
