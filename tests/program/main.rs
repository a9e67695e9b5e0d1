//! The program as a whole, and the house it lives in.
#![allow(
    clippy::cast_possible_truncation,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test that finds something else than it expects stops there, and may print what it found"
)]

#[path = "../damage/byte_damage.rs"]
mod byte_damage;
#[path = "../command/mod.rs"]
mod command;
#[path = "../damage/mod.rs"]
mod damage;
#[path = "../venv/mod.rs"]
mod venv;

mod commands;
mod floors;
mod fuzz_corpus;
mod guidance;
mod lines;
mod outputs;
mod readme;
mod stranger;
