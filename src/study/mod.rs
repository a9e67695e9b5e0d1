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
mod review;
mod stroke_loads;
mod stroke_table;
mod tolerance;
mod warnings;

pub use check::{check, check_on};
pub use drive::{Drive, carrier_frame, child_axes, drive, drive_on, missing_for_inertia};
pub use each_robot::{LinkInertia, RobotInertia, on_each_link, on_each_robot, on_robot};
pub use fault::Fault;
pub use findings::*;
pub use inertia::{DriveInertia, InertiaFindings, in_words, in_words_alone};
pub use loads::{LoadFindings, loads};
pub use mechanism::Mechanism;
pub use phrases::{degrees, figure, lengths, note, percent};
pub use review::{REVIEW_BUILDS, REVIEW_POSES, Review, review};
pub use stroke_loads::PoseFigures;
pub use stroke_table::{PoseRow, stroke, stroke_table};
pub use tolerance::{Range, Ranges, ToleranceFindings, ToleranceRequest, Worst, tolerance};
