//! Verdicts and what they rest on.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::print_stdout,
    clippy::unwrap_used,
    dead_code,
    unreachable_pub,
    reason = "a test that finds something else than it expects stops there, and may print what it found"
)]

#[path = "../ankles/mod.rs"]
mod ankles;
#[path = "../command/mod.rs"]
mod command;
#[path = "../hung/mod.rs"]
mod hung;
#[path = "../../benches/realistic/mod.rs"]
mod realistic;
#[path = "../tightness/mod.rs"]
mod tightness;
#[path = "../venv/mod.rs"]
mod venv;

mod attack;
mod grippers;
mod jaw_figures;
mod proof;
mod proof_files;
mod proof_reach;
mod regions;
mod regions_weights;
mod review;
mod together;
mod verdict;
