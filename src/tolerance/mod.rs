//! What do the drawn tolerances do? Sensitivities, builds drawn at random, yield, budget.

mod bars;
mod budget;
mod build;
mod constants;
mod course;
mod lanes;
mod lost_motion;
mod near;
mod peak;
mod ranking;
mod spread;
mod statistics;
mod tally;

pub use budget::{Budget, ClassChoice, budget};
pub use constants::OwnConstants;
pub use lost_motion::{LostMotion, lost_motion};
pub use ranking::{Contribution, ranking};
pub use spread::{Deviation, Distribution, Group, Spread, Variable};
pub use statistics::{
    Estimate, Histogram, Interval95, Quantile, Request, Scatter, Scattered, Statistics, Yield,
    sample,
};
