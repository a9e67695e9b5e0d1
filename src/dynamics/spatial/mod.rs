//! Inertia of a drive of one joint whose bodies need not move in one plane: ball rods, linear actuators, sliders; belts.
//!
//! ```text
//! joint frame: origin B, the foot of Q on the joint axis; z the joint axis; x along A→B made square to it
//! crank   origin on the motor axis, z along it, x to P         rod      origin P, x to Q
//! housing of an actuator: origin A, x to Q; of a slider: the guide's point, x along it, still
//! nut     of an actuator: origin Q, x from A; of a slider: origin P, x along the guide
//! child   origin B, z the joint axis, x to Q
//! ```
//!
//! z of rod, housing and nut lies as near the joint axis as it can. A rod between two balls turns about its own line as it
//! likes; **it is taken not to**: its angular speed against the carrier is square to the rod. So are housing and nut of an
//! actuator, whose rotor turns about the slide line against them; where that line runs beside the pin they are taken to turn as
//! the line A→Q does. Belts and series have no bodies but child and rotor here, the rotor's axis parallel to the joint's.
//!
//! The joint frame takes the place of the four-bar's carrier frame in everything: a planar drive has the four-bar's figures.
//!
//! | file | question |
//! |---|---|
//! | `joint_stroke` | where is the joint frame, and what does the stroke run over? |
//! | `moving_frames` | where does each body's frame stand, and how does it move with the joint? |
//! | `part_frames` | the same frames, for a robot file's own bodies |
//! | `drive_parts` | the bodies of one drive, and the mass matrix: exact |
//! | `direct_tree` | the direct joint that stands in, and how far it is from the drive |
//! | `pose_over`, `drive_certificate` | a bound of that for every pose and every build in a box of sizes |
//! | `coupled_in_space` | a file that keeps the motor's side: what do the other bodies leave to the links? |
//! | `drive_loads` | what the drive bears over the stroke |
//! | `carried_rotor` | a motor on the carrier's parent: what its rotor adds to which link |

mod carried_rotor;
mod coupled_in_space;
mod direct_tree;
mod drive_certificate;
mod drive_loads;
mod drive_parts;
mod joint_stroke;
mod moving_frames;
mod part_frames;
mod pose_over;

pub use carried_rotor::{CoaxialRotor, RotorShares};
pub use coupled_in_space::{RodAtPins, coupled_fidelity, tendon_fidelity};
pub use direct_tree::{
    PartsOnCarrier, drive_error_at, drive_fidelity, drive_replacement, drives_together,
};
pub use drive_certificate::{BuildsOver, DriveCertificate};
pub use drive_loads::{
    BallTilts, DriveLoadParts, DrivePoseLoad, InSpace, ScrewDuty, ScrewLoads, drive_load_at,
    drive_loads,
};
pub use drive_parts::{DriveParts, drive_mass_matrix};
pub use joint_stroke::JointStroke;
pub use part_frames::{PartFrame, PartFrames};
pub use pose_over::DriveBuild;
