//! Where is the rocker, how fast does it turn, on which circuit, and how far is it from its limits?
//!
//! ```text
//!          P ______coupler______ Q
//!          /                     \
//!    crank/ φ                   ψ \ rocker
//!        A ________ground__________B
//! ```
//!
//! All angles are measured from A→B, counter-clockwise with the joint axis pointing at the reader. The joint axis is
//! B. Planar, rigid, without play; nothing here knows of files, units or directions in the robot.

mod branch;
mod classes;
mod coupler;
mod dead_points;
mod fault;
mod four_bar;
mod kernel;
mod pad;
mod pose;
mod sensitivity;
mod stationary;
mod sweep;
mod transfer;
mod turns;

pub use branch::{Barrier, Branch};
pub use classes::{Class, Kind, classify, kind_of, nearest_special};
pub use dead_points::dead_points;
pub use fault::{BarrierKind, LinkageFault};
pub use four_bar::FourBar;
pub use kernel::{Batch, sweep_batch};
pub use pad::{Pad, PadOn, PadPose};
pub use pose::{Closure, Half, Pose, PoseOf};
pub use sweep::{Drive, Extreme, Stroke, Sweep};
pub use transfer::Transfer;
pub use turns::Turns;
