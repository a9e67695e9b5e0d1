//! Design in, findings out: the one place where the analyses are put together.

mod check;
mod drive;
mod each_robot;
mod family;
mod fault;
mod findings;
mod inertia;
mod loads;
mod mechanism;
mod phrases;
mod readings;
mod review;
mod slips;
mod standing;
mod stroke_loads;
mod stroke_table;
mod tolerance;
mod transmitted;
mod warnings;

pub use crate::units::percent;
pub use check::{check, check_on};
pub use drive::{
    Drive, Heights, as_drawn_on, carrier_frame, child_axes, drive, drive_on, heights,
    missing_for_inertia,
};
pub use each_robot::{
    LinkInertia as LinkOf, RobotInertia, joints_on, on_each_link, on_each_robot, on_robot,
};
pub use fault::Fault;
pub use findings::*;
pub use inertia::{DriveInertia, InertiaFindings, LinkInertia, in_words, in_words_alone};
pub use loads::{LoadFindings, loads};
pub use mechanism::Mechanism;
pub use phrases::{figure, lengths, note};
pub use readings::{OtherWay, Readings};
pub use review::{REVIEW_BUILDS, REVIEW_POSES, Review, review};
pub use slips::warnings as slips;
pub use stroke_loads::PoseFigures;
pub use stroke_table::{PoseRow, stroke, stroke_table};
pub use tolerance::{Range, Ranges, ToleranceFindings, ToleranceRequest, Worst, tolerance};
pub use transmitted::torque_ratio;
