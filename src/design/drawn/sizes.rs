//! Sizes as they are read: each under the name that the drive knows it by, with its tolerance and place.

use std::collections::BTreeMap;
use std::ops::Range;

use super::DrawnSize;
use crate::design::dimension::{Dimension, Tolerance};
use crate::design::entry::Entry;
use crate::design::lengths;
use crate::design::sense::Sense;
use crate::design::zero;
use crate::drive::Size;
use crate::units::UnitKind;

/// What the drawing says of each size, by its stage and name.
#[derive(Debug, Default)]
pub(in crate::design) struct Sizes {
    /// Whose sizes are being read.
    stage: usize,
    read: BTreeMap<(usize, &'static str), DrawnSize>,
}

impl Sizes {
    /// What is put from here on belongs to this stage.
    pub(in crate::design) fn at_stage(&mut self, stage: usize) {
        self.stage = stage;
    }

    /// The length of a link.
    pub(in crate::design) fn length(
        &mut self,
        name: &'static str,
        entry: &Entry<'_>,
    ) -> Option<f64> {
        let drawn = lengths::length(entry)?;
        Some(self.put(name, &entry.place, drawn))
    }

    /// A length of whatever sign.
    pub(in crate::design) fn offset(
        &mut self,
        name: &'static str,
        entry: &Entry<'_>,
    ) -> Option<f64> {
        let drawn = offset(entry)?;
        Some(self.put(name, &entry.place, drawn))
    }

    /// An angle about the joint axis.
    pub(in crate::design) fn angle(
        &mut self,
        name: &'static str,
        entry: &Entry<'_>,
        sense: Sense,
    ) -> Option<f64> {
        let drawn = zero::exact_angle(entry, sense)?;
        Some(self.put(name, &entry.place, drawn))
    }

    /// One size with what is drawn of it; its value.
    pub(in crate::design) fn put(
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
    pub(in crate::design) fn has_tolerance(&self) -> bool {
        self.read.values().any(|size| size.tolerance.is_some())
    }

    /// In the order of the drawing's own sizes.
    pub(in crate::design) fn of(&self, sizes: &[Size]) -> Vec<DrawnSize> {
        let drawn = |size: &Size| self.read.get(&(size.stage, size.name)).cloned();
        sizes.iter().map(|size| drawn(size).unwrap_or_default()).collect()
    }
}

/// A length of whatever sign, with the tolerance that it may carry.
pub(in crate::design) fn offset(entry: &Entry<'_>) -> Option<Dimension> {
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
