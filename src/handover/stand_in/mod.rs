//! What stands in a robot file in the linkage's place?

mod form;

pub use form::Form;
