//! SDFormat, read and written.

mod frame;
mod joint;
pub(super) mod read;
mod scope;
mod write;

pub use write::{REMARKS, SNIPPET_REMARKS, snippet, whole};
