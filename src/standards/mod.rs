//! What do ISO 2768-1 and ISO 286 say for this size?
//!
//! Sizes go in and deviations come out in metres. Ranges are "over … up to and including". The tables are
//! shipped as figures, in whole micrometres: the formulas behind them do not give every cell.

mod fit;
mod general;
mod grade;

pub use fit::{Fit, Hole, Shaft};
pub use general::{GeneralClass, general_tolerance};
pub use grade::grade;

use std::fmt;

/// A size for which a table has no value.
#[derive(Clone, Debug, PartialEq)]
pub struct OutsideTable {
    /// The table, "ISO 2768-1 class f".
    pub table: String,
    /// The size asked for, m.
    pub size: f64,
    /// Where the table has values, m: from, up to and including.
    pub range: [f64; 2],
    /// The first bound belongs to the range.
    pub from_inclusive: bool,
}

impl fmt::Display for OutsideTable {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [from, to] = self.range.map(|bound| bound * 1e3);
        let start = if self.from_inclusive { "from" } else { "over" };
        write!(out, "{} has values {start} {from} mm up to and including {to} mm", self.table)
    }
}

impl std::error::Error for OutsideTable {}

/// Micrometres to metres, rounded once.
fn metres(micrometres: i32) -> f64 {
    f64::from(micrometres) / 1e6
}

/// The column whose range holds `size`: over the bound before, up to and including its own; bounds in mm.
fn column(upper_bounds_mm: &[i32], size: f64) -> Option<usize> {
    upper_bounds_mm.iter().position(|bound| size <= f64::from(*bound) / 1e3)
}
