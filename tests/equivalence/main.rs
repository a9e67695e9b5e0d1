//! Verdicts and what they rest on.

#[path = "../../benches/realistic/mod.rs"]
mod realistic;
#[path = "../tightness/mod.rs"]
mod tightness;

mod attack;
mod proof;
mod proof_reach;
mod review;
mod together;
mod verdict;
