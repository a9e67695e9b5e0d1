//! SDFormat, read and written.

mod frame;
mod joint;
pub(super) mod read;
mod reading;
mod scope;
mod write;

pub(super) use write::{LOOP_REMARKS, REMARKS, SNIPPET_REMARKS, snippet, whole};
