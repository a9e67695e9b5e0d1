//! `[rod]` and `[pins]`: the coupler as a structural part, and how loosely the pins sit.

use super::entry::Entry;
use super::lengths::outside_table;
use super::machine_elements::{Pin, Pins, Rod};
use super::section::Section;
use crate::standards::Fit;
use crate::units::{self, Deviation, UnitKind};

/// `[rod]`.
pub(super) fn rod(root: &Section<'_>) -> Option<Rod> {
    let table = root.section("rod")?;
    let outer = table
        .required("outer", "outer = \"8 mm\"")
        .and_then(|entry| entry.positive(UnitKind::Length));
    let inner = table.get("inner").map_or(Some(0.0), |entry| entry.not_negative(UnitKind::Length));
    let stress = |key: &str| table.get(key).and_then(|entry| entry.positive(UnitKind::Stress));
    let (modulus, yield_stress) = (stress("modulus"), stress("yield"));
    let (outer, inner) = (outer?, inner?);
    if inner >= outer
        && let Some(entry) = table.get("inner")
    {
        let help = "the inner diameter is under the outer one; leave `inner` out for a solid rod";
        entry.fault("leaves no wall", "as large as `outer`", help);
        return None;
    }
    Some(Rod { outer, inner, modulus, yield_stress })
}

/// `[pins]`.
pub(super) fn pins(root: &Section<'_>) -> Pins {
    let Some(table) = root.section("pins") else {
        return Pins::default();
    };
    let pin = |key: &str| {
        let table = table.get(key)?.section(format!("[pins] {key}"))?;
        pin(&table)
    };
    Pins {
        motor: pin("motor"),
        crank: pin("crank"),
        rocker: pin("rocker"),
        joint: pin("joint"),
        friction: table.get("friction").and_then(|entry| friction(&entry)),
    }
}

fn friction(entry: &Entry<'_>) -> Option<f64> {
    let friction = entry.number()?;
    if !(0.0..=10.0).contains(&friction) {
        entry.fault("is no coefficient of friction", "out of range", "write a number such as 0.15");
        return None;
    }
    Some(friction)
}

fn pin(table: &Section<'_>) -> Option<Pin> {
    let width = table.get("width").and_then(|entry| entry.positive(UnitKind::Length));
    match (table.get("clearance"), table.get("fit")) {
        (Some(entry), None) => {
            Some(Pin { clearance: clearance(&entry)?, diameter: None, fit: None, width })
        }
        (None, Some(entry)) => Some(Pin { width, ..fit(&entry)? }),
        (Some(_), Some(entry)) => {
            entry.fault("is a second clearance", "`clearance` is given too", "keep one of the two");
            None
        }
        (None, None) => {
            table.missing("clearance", "write fit = \"6 mm H7/g6\", or clearance = \"0.02 mm\"");
            None
        }
    }
}

/// Smallest and largest diametral clearance.
fn clearance(entry: &Entry<'_>) -> Option<[f64; 2]> {
    let drawn = entry.dimension(UnitKind::Length)?;
    let (lower, upper) = match drawn.tolerance.map(|tolerance| tolerance.deviation) {
        None => (0.0, 0.0),
        Some(Deviation::Limits { lower, upper }) => (lower, upper),
        Some(Deviation::General(_) | Deviation::Grade(_)) => {
            entry.fault(
                "has a tolerance that does not fit",
                "a clearance",
                "write \"0.02 ±0.01 mm\"",
            );
            return None;
        }
    };
    let limits = [drawn.nominal + lower, drawn.nominal + upper];
    if limits.iter().any(|limit| *limit < 0.0) {
        entry.fault(
            "is negative",
            "the pin would not go in",
            "write zero or more, across the diameter",
        );
        return None;
    }
    Some(limits)
}

/// "6 mm H7/g6".
fn fit(entry: &Entry<'_>) -> Option<Pin> {
    let text = entry.text()?.trim();
    let Some((size, class)) = text.rsplit_once(' ') else {
        unread(entry);
        return None;
    };
    let size = match units::quantity(size, UnitKind::Length) {
        Ok(size) => size,
        Err(fault) => {
            entry.fault(&fault.summary, &fault.label, fault.help);
            return None;
        }
    };
    let Some(fit) = Fit::named(class) else {
        unread(entry);
        return None;
    };
    let clearance = fit
        .clearance(size)
        .map_err(|outside| outside_table(entry, &outside, "give `clearance` itself"))
        .ok()?;
    Some(Pin { clearance, diameter: Some(size), fit: Some(class.to_owned()), width: None })
}

fn unread(entry: &Entry<'_>) {
    let help = "write \"6 mm H7/g6\": a diameter, a bore H7 or H8, a pin f7, g6 or h6; or give `clearance` itself";
    entry.fault("is no fit known here", "not in the table", help);
}
