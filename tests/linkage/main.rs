//! Kinematics of the four-bar.

mod kinematics;
mod laws;
