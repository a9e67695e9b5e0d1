//! What a claim may be above that of one build, by its slopes by all sizes.

use super::claims::Batch;
use crate::numeric::Interval;

/// The most that a claim can be at one joint turn, by its slopes there.
pub(super) struct Rest {
    /// One build: each size at the end towards which the claim certainly rises, else in the middle.
    pub(super) anchor: Vec<Interval>,
    /// The latter at the end towards which it more likely rises.
    pub(super) uphill: Vec<f64>,
    /// The most that the claim may be above that of the anchor.
    pub(super) upper: f64,
    /// The size for which most of that is.
    pub(super) most: Option<usize>,
}

impl Rest {
    pub(super) fn of(batch: &Batch, slopes: &[Interval]) -> Self {
        let mut rest = Self {
            anchor: batch.sizes.clone(),
            uphill: middles(&batch.sizes),
            upper: 0.0,
            most: None,
        };
        let (mut sum, mut most) = (Interval::ZERO, 0.0);
        for (place, slope) in batch.open().zip(slopes) {
            let (Some(slot), Some(uphill)) =
                (rest.anchor.get_mut(place), rest.uphill.get_mut(place))
            else {
                continue;
            };
            let range = *slot;
            *uphill = if slope.mid() < 0.0 { range.lo() } else { range.hi() };
            let end = end_of(range, *slope);
            *slot = Interval::point(end.unwrap_or_else(|| range.mid()));
            let by = if end.is_some() { 0.0 } else { (*slope * (range - *slot)).hi() };
            sum = sum + Interval::point(by);
            if by > most {
                (most, rest.most) = (by, Some(place));
            }
        }
        rest.upper = sum.hi();
        rest
    }
}

/// The end of a range towards which what has this slope certainly does not fall.
pub(super) fn end_of(range: Interval, slope: Interval) -> Option<f64> {
    if slope.lo() >= 0.0 { Some(range.hi()) } else { (slope.hi() <= 0.0).then_some(range.lo()) }
}

/// Every size in the middle of its range.
pub(super) fn middles(sizes: &[Interval]) -> Vec<f64> {
    sizes.iter().map(|range| range.mid()).collect()
}

/// The sizes of a batch, each with a certain sign of slope at its upper-value end; `None` where there is none.
pub(super) fn moved(batch: &Batch, slopes: &[Interval]) -> Option<Vec<Interval>> {
    let (mut sizes, mut is_moved) = (batch.sizes.clone(), false);
    for (place, slope) in batch.open().zip(slopes) {
        let range = sizes.get_mut(place)?;
        let Some(end) = end_of(*range, *slope) else { continue };
        (*range, is_moved) = (Interval::point(end), true);
    }
    is_moved.then_some(sizes)
}
