//! An attack on the verdict: designs drawn at random, each figure held against an independent closed form.

mod ankle_weights;
pub mod ankles;
pub mod closed_form;
pub mod compare;
pub mod double;
pub mod drawing;
pub mod drives;
pub mod families;
mod fingers;
mod jaw;
pub mod pad;
mod printed;
mod promises;
pub mod random;
mod reference;
pub mod run;
mod sheet;
pub mod tally;
pub mod truth;
mod witness;
