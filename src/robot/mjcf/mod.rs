//! MJCF, read and written.

pub(super) mod read;
mod write;

pub use write::{BASE, REMARKS, SNIPPET_REMARKS, snippet, whole};
