//! `kind = "fixed_ratio"`: belt, gear or cable.

use super::Drawn;
use crate::design::dimension::Dimension;
use crate::design::geometry::Sources;
use crate::design::sense::Sense;
use crate::design::sizes::Sizes;
use crate::design::stroke::transmission_ratio;
use crate::drive::{Drawing, FixedRatio};

pub(super) fn read(sources: &Sources<'_, '_>) -> Option<Drawn> {
    let entry = sources.drive?.required("ratio", "ratio = -2.5  # motor angle / joint angle")?;
    let ratio = transmission_ratio(&entry)?;
    let mut sizes = Sizes::default();
    sizes.put("ratio", &entry.place, Dimension::drawn(ratio, None));
    let sense = Sense::new(sources.axis_points).angle(1.0);
    let frame = [[1.0, 0.0, 0.0], [0.0, sense, 0.0], [0.0, 0.0, sense]];
    Some(Drawn::of(Drawing::FixedRatio(FixedRatio(ratio)), &sizes, frame))
}
