//! The program as a whole, and the house it lives in.

mod commands;
mod floors;
mod fuzz_corpus;
mod guidance;
mod readme;
