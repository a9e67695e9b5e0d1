//! What does a robot's file need so that one joint stands in for the linkage?
//!
//! [`emit`] puts a design and its findings into a [`crate::robot`] description and that into the text of
//! a file, with the JSON that holds what the format cannot; [`write_files`] puts both on the disk, whole
//! or not at all.

mod assumptions;
pub mod compare;
mod emit;
mod emit_two_joints;
mod engine;
mod fault;
mod files;
mod fills;
pub mod find;
mod finger_json;
mod finger_remarks;
pub mod fold;
mod inertia_remarks;
mod joint_json;
mod joints_json;
mod link_moments;
pub mod map;
mod patch;
mod remarks;
mod snippets;
mod stand_in;
mod tie;
mod unfinished;
mod whole;

pub use crate::robot::Format;
pub use emit::{Emission, emit, emit_drawn};
pub use emit_two_joints::{TwoJointEmission, emit_design_of_two_joints, emit_two_joints};
pub use engine::{EngineVersion, VersionFault};
pub use fault::EmitFault;

pub use files::{
    WriteFault, Written, joint_json_path, joints_json_path, must_be_free, write_bytes, write_files,
    write_texts, write_two_joint_files,
};
pub use finger_json::{FingerJson, FollowerJson, SlideJson};
pub use joint_json::{CouplingJson, JointJson, LoopJson};
pub use joints_json::{AxisJson, BoxesJson, JointsJson, LegJson, MapJson, PoseJson, RateErrorJson};

pub use patch::{AdditionJson, PatchJson};
pub use snippets::{Snippet, TwoJointSnippet, snippets, snippets_of_two_joints};
pub use stand_in::{
    ActuatorUnits, Ask, Envelope, FitCost, Form, JointFigures, JointLimit, JointRow, LimitBasis,
    LimitSetBy, Quartic, Readings, TwoJointsAsked,
};
pub use unfinished::remove_unfinished;
