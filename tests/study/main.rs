//! Designs in, findings out.

#[path = "../../benches/realistic/mod.rs"]
mod realistic;

mod bodies_in_space;
mod guaranteed_torque;
mod readings;
mod slips;
