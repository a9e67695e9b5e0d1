//! The design file, read.
#![allow(
    clippy::float_cmp,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test that finds something else than it expects stops there, and may print what it found"
)]

#[path = "../whole_messages/mod.rs"]
mod whole_messages;

mod drives;
mod messages;
mod reading;
