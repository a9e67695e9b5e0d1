//! Findings as text, JSON and CSV. Renders findings, computes nothing.

mod check_json;
mod check_text;
mod picture;
mod stroke_tables;
mod style;

pub use check_json::check_json;
pub use check_text::check_text;
pub use stroke_tables::{stroke_csv, stroke_json, stroke_text};
pub use style::Style;
