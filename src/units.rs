//! "45 ±0.05 mm" to SI and back.
//!
//! A quantity is a decimal number and a unit; a dimension may carry its tolerance as on a drawing. Text comes
//! in, SI goes out (m, rad, kg, s and what follows from them), and what cannot be read earns a [`Fault`] that
//! says what to write instead. The power of ten of a unit is folded into the decimal exponent before the one
//! rounding to `f64`, so "0.1 mm" is the `f64` nearest to 0.0001.
//!
//! Left out: what a standard says for a size ([`crate::standards`]) and where in a file the text stands
//! ([`crate::diagnostic`]).

mod dimension;
mod fault;
mod number;
mod quantity;
mod text;
mod unit;

pub use dimension::{Deviation, Dimension, Tolerance, dimension, tolerance};
pub use fault::Fault;
pub use quantity::quantity;
pub use text::{
    alike, angle, angles, clipped, degrees, figure, fine_millimetres, fixed, four_digits,
    millimetres, number, percent, percents, rounded_down, span,
};
pub use unit::UnitKind;
