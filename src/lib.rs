//! Does a four-bar drive turn its joint as a direct joint would?
//!
//! | floor | module | question it answers |
//! |---|---|---|
//! | 0 | [`numeric`] | bracketed roots, extremes, best constant: arithmetic that knows no linkage |
//! | 0 | [`standards`] | what do ISO 2768-1 and ISO 286 say for this size? |
//! | 0 | [`units`], [`diagnostic`] | "45 ±0.05 mm" to SI and back; a message that points at a place in a file |
//! | 1 | [`linkage`] | where is the rocker, how fast, on which circuit, how far from its limits? |
//! | 1 | [`robot`] | what does a robot format hold for one joint, and how is it written? |
//! | 2 | [`dynamics`] | inertia and its replacement, loads, play and stiffness over the stroke |
//! | 3 | [`equivalence`] | criteria, the verdict, the best constants |
//! | 4 | [`tolerance`] | sensitivities, builds drawn at random, yield, budget |
//! | 5 | [`design`] | the file that the user wrote, checked, in SI, with its places |
//! | 6 | [`study`] | design in, findings out |
//! | 7 | [`handover`] | findings to robot formats |
//! | 8 | [`report`] | findings as text, JSON and CSV |
//! | 9 | [`cli`] | arguments, commands, exit status |

#![cfg_attr(
    test,
    allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        clippy::float_cmp,
        reason = "tests compare exact figures and count small numbers"
    )
)]

#[macro_use]
mod word;

pub mod cli;
pub mod design;
pub mod diagnostic;
pub mod dynamics;
pub mod equivalence;
pub mod handover;
pub mod linkage;
pub mod numeric;
pub mod report;
pub mod robot;
pub mod standards;
pub mod study;
pub mod tolerance;
pub mod units;
