//! `[linkage]`, and what a drawn tolerance means for a size.

use super::dimension::{Dimension, Tolerance};
use super::entry::Entry;
use super::section::Section;
use crate::diagnostic::Code;
use crate::standards::{GeneralClass, OutsideTable, general_tolerance, grade};
use crate::units::{self, Deviation, UnitKind, millimetres};

/// The four lengths in the order of the model, each where it could be read.
pub(super) type Lengths = [Option<Dimension>; 4];

/// Keys of the four lengths.
pub(super) const KEYS: [&str; 4] = ["ground", "crank", "coupler", "rocker"];

/// Shorter ones are no link, m.
pub(super) const SHORTEST: f64 = 1e-10;

/// Longer ones are no link, m.
pub(super) const LONGEST: f64 = 1e6;

/// `[linkage]`.
pub(super) fn read(linkage: &Section<'_>) -> Lengths {
    KEYS.map(|key| length(&linkage.required(key, &format!("{key} = \"45 mm\""))?))
}

/// The length of a link with the tolerance that it may carry.
pub(super) fn length(entry: &Entry<'_>) -> Option<Dimension> {
    let drawn = entry.dimension(UnitKind::Length)?;
    if !is_a_length(entry, drawn.nominal) {
        return None;
    }
    let tolerance = match drawn.tolerance {
        Some(drawn_tolerance) => Some(resolve(entry, drawn.nominal, drawn_tolerance)?),
        None => None,
    };
    Some(Dimension::drawn(drawn.nominal, tolerance))
}

/// Whether a size can be that of a link; a fault where it cannot.
fn is_a_length(entry: &Entry<'_>, size: f64) -> bool {
    let (summary, help) = if size < 0.0 {
        (
            "is negative",
            "a length is over zero; a closure is picked by [zero] rocker, not by a sign",
        )
    } else if size < SHORTEST {
        ("is no length", "write a length of at least 0.0001 um")
    } else if size > LONGEST {
        ("is longer than 1000 km", "is the unit the one that was meant?")
    } else {
        return true;
    };
    entry.fault(summary, "not the length of a link", help);
    false
}

/// What a tolerance means for a length of `nominal` metres.
pub(super) fn resolve(
    entry: &Entry<'_>,
    nominal: f64,
    drawn: units::Tolerance,
) -> Option<Tolerance> {
    let [lower, upper] = limits(entry, nominal, &drawn.deviation)?;
    if nominal + lower < SHORTEST {
        let help = format!(
            "the nominal length is {}: is the unit of the tolerance right?",
            millimetres(nominal)
        );
        entry.fault("has a tolerance as large as the length", "leaves no length", help);
        return None;
    }
    Some(Tolerance { lower, upper, written: drawn.written })
}

/// The deviations that a drawn tolerance means for a size of `nominal` metres; a fault where the standard has none.
pub(super) fn limits(entry: &Entry<'_>, nominal: f64, deviation: &Deviation) -> Option<[f64; 2]> {
    let cure = "write the deviations themselves, such as \"±0.1 mm\"";
    deviations(nominal, deviation).map_err(|outside| outside_table(entry, &outside, cure)).ok()
}

fn deviations(nominal: f64, deviation: &Deviation) -> Result<[f64; 2], OutsideTable> {
    match *deviation {
        Deviation::Limits { lower, upper } => Ok([lower, upper]),
        Deviation::Grade(it) => grade(it, nominal).map(|width| [-width / 2.0, width / 2.0]),
        Deviation::General(letter) => {
            let class = GeneralClass::from_letter(letter).unwrap_or(GeneralClass::Medium);
            general_tolerance(class, nominal).map(|half| [-half, half])
        }
    }
}

/// The fault of a size for which a standard has no value.
pub(super) fn outside_table(entry: &Entry<'_>, outside: &OutsideTable, cure: &str) {
    let label = format!("{} is outside the table", millimetres(outside.size));
    let help = format!("{outside}; {cure}");
    entry.coded(
        Code::OutsideTheStandard,
        "is a size for which the standard has no value",
        &label,
        help,
    );
}
