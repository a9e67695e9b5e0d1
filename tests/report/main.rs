//! Page, browser and schemas.
#![allow(
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test that finds something else than it expects stops there, and may print what it found"
)]

#[path = "../command/mod.rs"]
mod command;

mod browser;
mod figures;
mod grippers;
mod page;
mod region;
mod schemas;
mod screens;
