//! URDF, read and written.

mod joint;
pub(super) mod read;
mod tree;
mod write;

pub(super) use write::{REMARKS, SNIPPET_REMARKS, snippet, whole};
