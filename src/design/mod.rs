//! The design file that the user wrote: values with their places, checked, in SI.

mod model;

pub use model::*;
