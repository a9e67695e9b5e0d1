//! Sizes as they are read: each under the name that the drive knows it by, with its tolerance and place.

use std::collections::BTreeMap;
use std::ops::Range;

use super::dimension::{Dimension, Tolerance};
use super::drawn_size::DrawnSize;
use super::entry::Entry;
use super::lengths;
use super::sense::Sense;
use super::zero;
use crate::drive::Size;
use crate::units::UnitKind;

/// What the drawing says of each size, by its stage and name.
#[derive(Debug, Default)]
pub(super) struct Sizes {
    /// Whose sizes are being read.
    stage: usize,
    read: BTreeMap<(usize, &'static str), DrawnSize>,
}

impl Sizes {
    /// What is put from here on belongs to this stage.
    pub(super) fn at_stage(&mut self, stage: usize) {
        self.stage = stage;
    }

    /// The length of a link.
    pub(super) fn length(&mut self, name: &'static str, entry: &Entry<'_>) -> Option<f64> {
        let drawn = lengths::length(entry)?;
        Some(self.put(name, &entry.place, drawn))
    }

    /// A length of whatever sign.
    pub(super) fn offset(&mut self, name: &'static str, entry: &Entry<'_>) -> Option<f64> {
        let drawn = offset(entry)?;
        Some(self.put(name, &entry.place, drawn))
    }

    /// An angle about the joint axis.
    pub(super) fn angle(
        &mut self,
        name: &'static str,
        entry: &Entry<'_>,
        sense: Sense,
    ) -> Option<f64> {
        let drawn = zero::exact_angle(entry, sense)?;
        Some(self.put(name, &entry.place, drawn))
    }

    /// One size with what is drawn of it; its value.
    pub(super) fn put(
        &mut self,
        name: &'static str,
        place: &Range<usize>,
        drawn: Dimension,
    ) -> f64 {
        let Dimension { nominal, tolerance, written_outside } = drawn;
        let at = (self.stage, name);
        self.read.insert(at, DrawnSize { tolerance, written_outside, place: Some(place.clone()) });
        nominal
    }

    /// Whether any tolerance is drawn.
    pub(super) fn has_tolerance(&self) -> bool {
        self.read.values().any(|size| size.tolerance.is_some())
    }

    /// In the order of the drawing's own sizes.
    pub(super) fn of(&self, sizes: &[Size]) -> Vec<DrawnSize> {
        let drawn = |size: &Size| self.read.get(&(size.stage, size.name)).cloned();
        sizes.iter().map(|size| drawn(size).unwrap_or_default()).collect()
    }
}

/// A length of whatever sign, with the tolerance that it may carry.
pub(super) fn offset(entry: &Entry<'_>) -> Option<Dimension> {
    let drawn = entry.dimension(UnitKind::Length)?;
    if drawn.nominal.abs() > lengths::LONGEST {
        entry.fault(
            "is longer than 1000 km",
            "not of a drive",
            "is the unit the one that was meant?",
        );
        return None;
    }
    let tolerance = match drawn.tolerance {
        Some(tolerance) => {
            let size = drawn.nominal.abs();
            let [lower, upper] = lengths::limits(entry, size, &tolerance.deviation)?;
            Some(Tolerance { lower, upper, written: tolerance.written })
        }
        None => None,
    };
    Some(Dimension::drawn(drawn.nominal, tolerance))
}
