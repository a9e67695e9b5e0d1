//! May a direct joint stand in for the linkage? Criteria, the best constants, the verdict with its three outcomes, and
//! the proof over every pose and every linkage in a box of lengths. [`judge`] is the one door to a verdict.

mod advice;
mod assessment;
mod boxes;
mod builds;
mod claims;
mod criterion;
mod direct_joint;
mod evidence;
mod extremes;
mod family;
mod finding;
mod held;
mod inertia;
mod judge;
mod nominal;
mod outcome;
mod pad;
mod proof;
mod question;
mod region;
mod suspects;
mod weighing;

pub use advice::{Change, LengthName, largest_share, most_helpful_change};
pub use assessment::{Assessment, Shown, Why};
pub use builds::{
    BuildWitness, DriveFigures, DriveJudgement, DriveLimits, DriveQuestion, Front, FrontErrors,
    FrontMargins, SizeRanges, drive_outcome, judge_drive,
};
pub use claims::Zeroing;
pub use criterion::{Basis, Criterion, Figure, MET_WITHIN, Side, Unit};
pub use direct_joint::{Constants, DirectJoint};
pub use evidence::Evidence;
pub use extremes::{largest_alone, largest_stroke, largest_tolerance};
pub use family::{Family, Typed, size_range, typed_range};
pub use finding::{Budget, Finding, Shows, Witness};
pub use held::{Reach, ratio_range};
pub use inertia::{InertiaAsk, assess_in_space, assess_two_joints};
pub use judge::{Judgement, judge, judge_behind};
pub use nominal::{Figures, Limits};
pub use outcome::{Outcome, Verdict};
pub use pad::{
    Finger, FingerWeighing, ModelPose, PadFigures, PadLimits, PadMotion, PadStandIn, WeighedFinger,
};
pub use proof::{Findings, Prover};
pub use question::{HungDrive, Question, Weights};
pub use region::{
    LargestRegion, MapCell, Peak, RegionBounds, RegionBuilds, RegionErrors, RegionFigures,
    RegionJudgement, RegionLimits, RegionQuestion, RegionWitness, RegionWorst, RodPeak,
    judge_region, largest_region, region_map, region_outcome, region_verdict,
};
pub use weighing::{Weighed, WeighedDrive, Weighing, weigh_in_space};
