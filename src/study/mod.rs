//! Design in, findings out: the one place where the analyses are put together.

mod findings;

pub use findings::*;
