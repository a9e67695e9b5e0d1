//! `[tolerance]`: where no drawing dimension carries them, and what is made together.

use super::dimension::Dimension;
use super::entry::Entry;
use super::lengths::{KEYS, Lengths, resolve};
use super::model::Together;
use super::section::Section;
use crate::equivalence::LengthName;
use crate::units::UnitKind;
use toml::de::DeValue;

/// The lengths with the tolerances that stand in `[tolerance]`.
pub(super) fn apply(table: Option<&Section<'_>>, lengths: Lengths) -> Lengths {
    let mut out = lengths;
    for (length, key) in out.iter_mut().zip(KEYS) {
        if let Some(entry) = table.and_then(|table| table.get(key)) {
            *length = length.take().and_then(|drawn| with(&entry, drawn));
        }
    }
    out
}

fn with(entry: &Entry<'_>, length: Dimension) -> Option<Dimension> {
    if let Some(drawn) = &length.tolerance {
        let label = format!("the drawing has {}", drawn.written);
        entry.fault("is a second tolerance for this length", &label, "keep one of the two");
        return None;
    }
    let tolerance = resolve(entry, length.nominal, entry.tolerance(UnitKind::Length)?)?;
    Some(Dimension::drawn(length.nominal, Some(tolerance)))
}

/// `[tolerance] together`: one list of lengths, a list of such lists, or tables `{ lengths, correlation }`.
pub(super) fn together(table: Option<&Section<'_>>) -> Vec<Together> {
    let Some(entry) = table.and_then(|table| table.get("together")) else {
        return Vec::new();
    };
    let items = entry.items().unwrap_or_default();
    if items.iter().all(|item| matches!(item.value, DeValue::String(_))) {
        return group(&entry, 1.0).into_iter().collect();
    }
    let groups: Vec<Together> = items.iter().filter_map(one).collect();
    let mut all: Vec<LengthName> = groups.iter().flat_map(|g| g.lengths.iter().copied()).collect();
    let count = all.len();
    all.sort_unstable();
    all.dedup();
    if all.len() < count {
        let help = "name each length in one group only; lengths of two groups are one larger group";
        entry.fault("names a length in two groups", "twice", help);
    }
    groups
}

fn one(item: &Entry<'_>) -> Option<Together> {
    if matches!(item.value, DeValue::Array(_)) {
        return group(item, 1.0);
    }
    let table = item.section("[tolerance] together".to_owned())?;
    let lengths = table.required("lengths", "lengths = [\"crank\", \"rocker\"]");
    let correlation = table.get("correlation").map_or(Some(1.0), |entry| correlation(&entry));
    group(&lengths?, correlation?)
}

fn correlation(entry: &Entry<'_>) -> Option<f64> {
    let value = entry.number()?;
    if !(0.0..=1.0).contains(&value) {
        entry.fault("is no correlation", "out of range", "write a number from 0 to 1");
        return None;
    }
    Some(value)
}

fn group(entry: &Entry<'_>, correlation: f64) -> Option<Together> {
    let items = entry.items()?;
    let words = LengthName::ALL.map(|length| (length.name(), length));
    let lengths: Vec<LengthName> = items.iter().filter_map(|item| item.choice(&words)).collect();
    if lengths.len() < items.len() {
        return None;
    }
    let mut once = lengths.clone();
    once.sort_unstable();
    once.dedup();
    if once.len() < 2 || once.len() < lengths.len() {
        let help = "name two or more lengths, each once: [\"crank\", \"rocker\"]";
        entry.fault("is no group of lengths", "made together with what?", help);
        return None;
    }
    Some(Together { lengths, correlation })
}
