//! What holds for every four-bar, tried where it is most likely to fail.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::float_cmp,
    reason = "a law that cannot be read off is a failed law"
)]

mod branches;
mod degenerate;
mod extremes;
mod linkages;
mod poses;
