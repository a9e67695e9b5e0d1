//! What tolerances do.

#[path = "../venv/mod.rs"]
mod venv;

mod studies;
