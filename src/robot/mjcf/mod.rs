//! MJCF, read and written.

pub(super) mod read;
mod write;

pub use write::BASE;
pub(super) use write::{REMARKS, SNIPPET_REMARKS, snippet, whole};
