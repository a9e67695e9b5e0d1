//! The program's arithmetic, taken as it stands, so that it is compiled for the processor that inari needs and nothing
//! else of the program has to be built. Its test: `cd .ci/inari-check && cargo test --locked`.

#[path = "../../../src/numeric/mod.rs"]
pub mod numeric;
