//! The same questions of a drive that is drawn by a list of sizes, and judged over its joint turns.
//!
//! | file | tells |
//! |---|---|
//! | `spread` | how the sizes scatter |
//! | `course` | a build over the stroke: its worst figures |
//! | `slopes` | what each size does, first order, and the corners of the tolerances that are worst by it |
//! | `growth` | how much tolerances may grow |
//! | `own` | the constants of the direct joint from build to build |
//! | `sample` | builds drawn at random |

mod course;
mod growth;
mod own;
mod sample;
mod slopes;
mod spread;

pub use course::{Course, Seen, SizedRequest};
pub use growth::{Alone, Growth, growth};
pub use sample::sample_sized;
pub use slopes::Slopes;
pub use spread::{SizeGroup, SizeSpread};
