//! Generated code: compiled, run, and held against its vectors, the linkage and what it says of itself.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    clippy::expect_used,
    clippy::float_cmp,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    dead_code,
    unreachable_pub,
    reason = "a test that finds something else than it expects stops there"
)]

#[path = "../command/mod.rs"]
mod command;
#[path = "../venv/mod.rs"]
mod venv;

mod answers;
mod languages;
mod outside;
mod two_joints;
