//! What does a robot's file need so that one joint stands in for the linkage?
//!
//! [`emit`] puts a design and its findings into a [`crate::robot`] description and that into the text of
//! a file, with the JSON that holds what the format cannot; [`write_files`] puts both on the disk, whole
//! or not at all.

mod emit;
mod fault;
mod figures;
mod files;
mod joint_json;
mod limits;
mod link_frame;
mod remarks;
mod whole;

pub use emit::{ActuatorUnits, Emission, EmitOptions, Format, LimitBasis, emit};
pub use fault::EmitFault;
pub use figures::{Envelope, JointFigures};
pub use files::{WriteFault, Written, joint_json_path, must_be_free, write_files, write_texts};
pub use joint_json::{JointJson, JointRow};
pub use limits::{JointLimit, LimitSetBy};
