//! Design in, findings out: the one place where the analyses are put together.

mod bearing_parts;
mod check;
mod check_drive;
mod crank_drive;
mod drive;
mod drive_course;
mod drive_table;
mod drive_weights;
mod driven;
mod family;
mod fault;
mod findings;
mod finger;
mod finger_loads;
mod front;
mod inertia;
mod inertia_in_space;
mod lacking;
mod loads;
mod mechanism;
mod notes;
mod other_sizes;
mod parent_motor;
mod parts_in_space;
mod phrases;
mod proof;
mod readings;
mod review;
mod slips;
mod standing;
mod stroke_loads;
mod stroke_table;
mod studied;
mod tolerance;
mod tolerance_behind;
mod tolerance_findings;
mod tolerance_of_sizes;
mod tolerance_ranges;
mod transmitted;
mod two_joints;
mod warnings;
mod warnings_of_drive;
mod worst_corner;

pub use drive::{
    Drive, Heights, as_drawn_on, carrier_frame, child_axes, drive, drive_on, heights, joints_on,
    missing_for_inertia,
};
pub use drive_course::{DriveCourse, StageCourse};
pub use drive_table::{DriveRow, drive_rows, each_joint_turn, joint_turns};
pub use driven::Driven;
pub use fault::Fault;
pub use findings::*;
pub use finger_loads::{FingerDuty, FingerLoads};
pub use loads::{Borne, LoadFindings};
pub use mechanism::Mechanism;
pub use notes::{in_words, in_words_alone, note};
pub use other_sizes::{OtherSizes, SizeField};
pub use parent_motor::parent_motors;
pub use parts_in_space::{PlacedParts, child_frame_on, joint_frame_on};
pub use phrases::{drive_lines, drive_sizes, drive_word, figure, lengths, size_words, sizes};
pub use proof::{Broken, Domain, Proof, proof};
pub use readings::{OtherWay, Readings};
pub use review::{Review, review};
pub use slips::warnings as slips;
pub use stroke_loads::PoseFigures;
pub use stroke_table::{PadRow, PoseRow, Poses, Turns, pose_rows, stroke, stroke_table};
pub use studied::{
    Course, REVIEW_BUILDS, REVIEW_POSES, Studied, check, check_on, loads, tolerance,
};
pub use tolerance::{DrawnBuilds, builds};
pub use tolerance_findings::{Against, ToleranceFindings, ToleranceRequest, Worst};
pub use tolerance_ranges::{Range, Ranges};
pub use transmitted::torque_ratio;
pub use two_joints::{
    CoursePose, MAP_POSES, RankedSize, RegionCourse, RegionDuty, RegionLoads, RegionRanges,
    RegionRow, RegionScatter, RegionTolerance, RegionWorstCase, RodDuty, ScatteredFigure,
    TwoMotors, WorstBuild, WorstFigure, at_joints, check_two_joints, check_two_motors,
    claim_over_region, link_frames, loads_of_two_joints, over_joints, ranges_of_two_joints,
    region_course, region_rows, tolerance_of_two_joints, two_joint_bodies, two_joint_parts,
};
