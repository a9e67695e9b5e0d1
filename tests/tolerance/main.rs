//! What tolerances do.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test that finds something else than it expects stops there, and may print what it found"
)]

#[path = "../venv/mod.rs"]
mod venv;

mod pads;
mod regions;
mod sizes;
mod studies;
