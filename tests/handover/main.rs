//! Findings and robot files together: emit, find, fold, compare.
#![allow(
    clippy::cast_possible_truncation,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a test that finds something else than it expects stops there, and may print what it found"
)]

#[path = "../changed_structure/mod.rs"]
mod changed_structure;
#[path = "../command/mod.rs"]
mod command;
#[path = "../damage/mod.rs"]
mod damage;
#[path = "../scenario/mod.rs"]
mod scenario;
#[path = "../venv/mod.rs"]
mod venv;

mod biped;
mod compare;
mod compare_acting;
mod demo_engine;
mod drives;
mod emit;
mod engine_models;
mod engines;
mod find;
mod find_packages;
mod fold;
mod fold_engine;
mod fold_fuzz;
mod fold_in_space;
mod fold_keeps;
mod fold_linear;
mod fold_sdformat;
mod gripper;
mod gripper_engine;
mod jaw_compare;
mod jaws;
mod laws;
mod random_engine;
mod rehung;
mod two_compare;
mod two_folds;
mod two_joints;
mod two_loops;
