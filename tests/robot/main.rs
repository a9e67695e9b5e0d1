//! Robot files, read.

#[path = "../venv/mod.rs"]
mod venv;

mod damaged_files;
mod engine_packages;
mod mjcf;
mod mjcf_engine;
mod mjcf_rules;
mod reading;
