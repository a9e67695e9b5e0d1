//! Arithmetic that knows no linkage: intervals with outward rounding, bracketed roots, the best constant.

pub mod bent;
pub mod cover;
pub mod elementary;
pub mod even;
pub mod interval;
pub mod jet;
pub(crate) mod lane_arithmetic;
pub mod minimax;
pub mod normal;
pub mod parallel;
mod peaks;
pub mod polynomial;
pub mod quadrature;
pub mod ranked;
mod remembered;
pub mod roots;
pub mod sampling;
pub mod scalar;
pub mod search;
pub mod wide;

pub use bent::Bent;
pub use even::{even_pieces, evenly};
pub use interval::Interval;
pub use jet::Jet;
pub use peaks::{golden, peaks};
pub use polynomial::Polynomial;
pub use ranked::Ranked;
pub use remembered::remembered;
pub use scalar::Scalar;
