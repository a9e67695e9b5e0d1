//! What does a robot file say, how is one part of it changed with every other byte kept, and how is a joint written?
//!
//! [`read`] turns a file of any of the three formats into a [`Robot`]: a graph of links and joints, each of which
//! knows the bytes that say it.
//!
//! A joint, its two links and its actuator are described once, without any format
//! ([`TreeJoint`], [`Link`], [`JointActuator`], [`Model`]); each [`Format`] knows what it can hold of that and turns it
//! into text, as a snippet for somebody's own file or as a small model that loads by itself.
//! Angles are readings of the joint in rad; at reading 0 the child link's frame is aligned with its
//! parent's. Nothing here knows a linkage.

mod chains;
mod description;
mod document;
mod edits;
mod encoding;
mod figures;
mod files;
mod format;
mod influence;
mod lines;
mod link_shapes;
mod malformed;
pub mod markup;
pub mod mjcf;
mod model;
mod place;
mod properties;
mod read;
mod sdformat;
mod tag;
mod unified_diff;
mod urdf;
mod values;
mod write;

pub use description::*;
pub use document::*;
pub use edits::*;
pub use encoding::LARGEST_FILE;
pub use files::{IncludeFolders, file_bytes, plain_bytes, read_at_most};
pub use format::Format;
pub use influence::{Fitting, Influence};
pub use model::*;
pub use place::{Place, Remark};
pub use properties::*;
pub use read::{Includes, RobotRejected, read};
pub use unified_diff::unified_diff;
