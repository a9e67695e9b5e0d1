//! Designs in, findings out.
#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a test that finds something else than it expects stops there, and may print what it found"
)]

#[path = "../hung/mod.rs"]
mod hung;
#[path = "../../benches/realistic/mod.rs"]
mod realistic;

mod bodies_in_space;
mod drives_in_space;
mod fingers_behind_a_nut;
mod guaranteed_torque;
mod readings;
mod slips;
mod two_joints;
