//! Two direct joints in place of two motors with a rod each on a universal joint: the verdict over a region of pitch and roll
//! and every build that the drawing allows.
//!
//! ```text
//! angle   e(q) = T⁻¹(θ(q) − θ₀) − q          rates   E(q) = T⁻¹ J(q) − 1
//! ```
//!
//! One bound of the largest singular value of E covers speed and torque. Poses are cut into rectangles; over each, every
//! figure is its value of the middle build in the middle pose, give or take slope × range of each of both joint turns and of all
//! sizes, the slopes enclosed over the whole rectangle and all builds ([`piece`]). Only poses are halved ([`search`]).
//!
//! Assembly comes first: over all builds and every pose between the zero pose and the region's far corners both rods reach,
//! neither comes in line with its crank, and the foot is loose about no axis. Only then is each pose the one that continuity from
//! the zero pose leads to, and only then does anything hold.
//!
//! Inertia is another proof over the same poses and builds ([`weights`]): all builds are weighed in the corners of rectangles, and
//! what lies between is no further from them than it bends.
//!
//! A proof covers rigid parts without play whose sizes lie in the box. Nothing else.

mod builds_over;
mod certain;
mod figures;
mod first_cut;
mod joint_side;
mod judged;
mod one_build;
mod piece;
mod question;
mod rates;
mod reach;
mod search;
mod values;
mod weights;

pub use figures::{Peak, RegionFigures, RodPeak};
pub use judged::{RegionBounds, RegionJudgement, judge_region, region_outcome, region_verdict};
pub use one_build::{RegionBuilds, RegionErrors, RegionWorst};
pub use question::{RegionLimits, RegionQuestion, RegionWitness};
pub use reach::{LargestRegion, MapCell, largest_region, region_map};
