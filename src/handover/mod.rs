//! What does a robot's file need so that one joint stands in for the linkage?
//!
//! [`emit`] puts a design and its findings into a [`crate::robot`] description and that into the text of
//! a file, with the JSON that holds what the format cannot; [`write_files`] puts both on the disk, whole
//! or not at all.

mod assumptions;
mod bodies;
pub mod compare;
mod emit;
mod engine;
mod fault;
mod figures;
mod files;
pub mod find;
pub mod fold;
mod frames;
mod inertia_remarks;
mod joint_json;
mod limits;
mod link_frame;
mod motor_side;
mod patch;
mod plan;
mod remarks;
mod snippets;
mod stand_in;
mod whole;

pub use crate::robot::Format;
pub use emit::{ActuatorUnits, Emission, EmitOptions, LimitBasis, emit};
pub use engine::{EngineVersion, VersionFault};
pub use fault::EmitFault;
pub use figures::{Envelope, JointFigures};
pub use files::{
    WriteFault, Written, joint_json_path, must_be_free, write_bytes, write_files, write_texts,
};
pub use joint_json::{CouplingJson, EnvelopeJson, JointJson, JointRow, LoopJson, OtherFitJson};
pub use limits::{JointLimit, LimitSetBy};
pub use motor_side::Quartic;
pub use patch::{AdditionJson, PatchJson};
pub use snippets::{Snippet, snippets};
pub use stand_in::Form;
