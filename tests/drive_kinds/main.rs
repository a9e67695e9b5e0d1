//! Kinematics of the drives beside the planar four-bar.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::float_cmp,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test that finds something else than it expects stops there, and may print what it found"
)]

mod certain;
mod drawing;
mod engine;
mod known;
mod laws;
mod studied;
mod twist;
mod two_rods;
#[path = "../venv/mod.rs"]
mod venv;
mod worked;
