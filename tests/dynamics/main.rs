//! Inertia and its replacement.

#[path = "../drive/mod.rs"]
mod drive;
#[path = "../venv/mod.rs"]
mod venv;

mod coupled;
mod engine;
mod laws;
mod replacement;
