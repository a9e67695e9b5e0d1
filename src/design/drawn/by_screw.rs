//! Drives that a screw moves, by their lengths or their points.

use super::{Drawn, Given, given};
use crate::design::geometry::Sources;
use crate::design::screw;
use crate::design::section::Section;
use crate::design::sizes::Sizes;

/// Reads a drive by one of its two tables.
type Reader = fn(&Sources<'_, '_>, &Section<'_>) -> Option<Drawn>;

/// A drive that a screw moves, by its lengths or its points; where neither is given, faults of the screw are told all the same.
pub(super) fn driven(
    sources: &Sources<'_, '_>,
    help: &str,
    [by_lengths, by_points]: [Reader; 2],
) -> Option<Drawn> {
    match given(sources, help) {
        Some(Given::Lengths(linkage)) => by_lengths(sources, &linkage),
        Some(Given::Points(pivots)) => by_points(sources, &pivots),
        None => {
            screw::read(sources.root, &mut Sizes::default());
            None
        }
    }
}
