//! The design file, read.

mod messages;
mod reading;
