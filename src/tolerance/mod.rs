//! What do the drawn tolerances do? Sensitivities, builds drawn at random, yield, budget.

mod behind;
mod budget;
mod build;
mod built_linkage;
mod constants;
mod drawn;
mod interior_extremes;
mod look;
mod lost_motion;
mod pad;
mod peak;
mod ranking;
mod region;
mod region_constants;
mod request;
mod sized;
mod spread;
mod statistics;
mod stroke_grid;
mod tally;
mod varied;

pub use behind::sample_behind;
pub use budget::{Budget, ClassChoice, budget};
pub use constants::{OwnConstants, Scatter};
pub use drawn::{DrawnBuild, OwnJoint, drawn};
pub use lost_motion::{LostMotion, lost_motion};
pub use ranking::{Contribution, Ranked, ranking};
pub use region::{
    DrawnRegionBuild, RegionContribution, RegionRequest, RegionStatistics, region_ranking,
    sample_region,
};
pub use region_constants::{RegionConstants, region_constants};
pub use request::Request;
pub use sized::{
    Alone, Course, Growth, Seen, SizeGroup, SizeSpread, SizedRequest, Slopes, growth, sample_sized,
};
pub use spread::{Deviation, Distribution, Group, Spread, Variable};
pub use statistics::{
    Estimate, Histogram, Interval95, Quantile, Scattered, Statistics, Yield, sample,
};
pub use varied::Varied;
