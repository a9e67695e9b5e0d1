//! Generated code: compiled, run, and held against its vectors, the linkage and what it says of itself.

#[path = "../command/mod.rs"]
mod command;
#[path = "../venv/mod.rs"]
mod venv;

mod answers;
mod languages;
mod outside;
