//! Robot files, read.
#![allow(
    clippy::cast_possible_truncation,
    clippy::float_cmp,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a test that finds something else than it expects stops there, and may print what it found"
)]

#[path = "../damage/byte_damage.rs"]
mod byte_damage;
#[path = "../damage/mod.rs"]
mod damage;
#[path = "../venv/mod.rs"]
mod venv;
#[path = "../whole_messages/mod.rs"]
mod whole_messages;

mod damaged_files;
mod engine_packages;
mod mjcf;
mod mjcf_engine;
mod mjcf_rules;
mod reading;
