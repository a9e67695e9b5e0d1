//! Inertia and its replacement.
#![allow(
    clippy::indexing_slicing,
    clippy::panic,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a test that finds something else than it expects stops there, and may print what it found"
)]

#[path = "../ankles/mod.rs"]
mod ankles;
#[path = "../drive/mod.rs"]
mod drive;
#[path = "../venv/mod.rs"]
mod venv;

mod coupled;
mod engine;
mod fingers;
mod fingers_engine;
mod laws;
mod replacement;
mod spatial;
mod spatial_loads;
mod two_joints;
