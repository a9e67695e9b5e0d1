//! `[screw]`: what turns the motor's angle into travel.

use super::drawn_size::ScrewFigures;
use super::lengths::SHORTEST;
use super::section::Section;
use super::sizes::Sizes;
use crate::units::UnitKind;

/// `[screw]` of the design or of one of its motors, its lead among the sizes too, and the shortest and longest length that the actuator has along its slide line.
pub(super) fn read(
    home: &Section<'_>,
    sizes: &mut Sizes,
) -> Option<(ScrewFigures, Option<[f64; 2]>)> {
    let table = table(home)?;
    let lengths = lengths(&table);
    let lead = lead(&table, sizes);
    let efficiency = given(&table, "efficiency", UnitKind::Share);
    if let (Some(entry), Some(Some(share))) = (table.get("efficiency"), efficiency)
        && share > 1.0
    {
        let help = "the share of the motor's work that arrives when it drives, such as \"90 %\"";
        entry.fault("is over 100 %", "more than the motor gives", help);
        return None;
    }
    let mean_diameter = given(&table, "mean_diameter", UnitKind::Length);
    let guided = table.get("twist_guided").map_or(Some(false), |entry| entry.boolean());
    let figures = ScrewFigures {
        lead: lead?,
        efficiency: efficiency?,
        mean_diameter: mean_diameter?,
        is_twist_guided: guided?,
    };
    Some((figures, lengths?))
}

fn table<'a>(home: &Section<'a>) -> Option<Section<'a>> {
    if home.get("screw").is_none() {
        let title = home.child_title("screw");
        let help = format!("add {title} with the line: lead = \"5 mm\"  # travel per turn");
        home.missing("screw", &help);
    }
    home.section("screw")
}

fn given(table: &Section<'_>, key: &str, kind: UnitKind) -> Option<Option<f64>> {
    match table.get(key) {
        Some(entry) => entry.positive(kind).map(Some),
        None => Some(None),
    }
}

fn lead(table: &Section<'_>, sizes: &mut Sizes) -> Option<f64> {
    let entry = table.required("lead", "lead = \"5 mm\"  # travel per turn of the motor")?;
    let lead = sizes.offset("lead", &entry)?;
    if lead.abs() < SHORTEST {
        let help = "travel per turn of the motor, such as \"5 mm\"; negative for the other hand";
        entry.fault("is no lead", "nothing moves", help);
        return None;
    }
    Some(lead)
}

/// `shortest` and `longest`, both or neither.
fn lengths(table: &Section<'_>) -> Option<Option<[f64; 2]>> {
    let (shortest, longest) = (table.get("shortest"), table.get("longest"));
    let (Some(shortest), Some(longest)) = (&shortest, &longest) else {
        let lacking = match (shortest, longest) {
            (Some(_), _) => "longest",
            (_, Some(_)) => "shortest",
            _ => return Some(None),
        };
        table.missing(lacking, &format!("add the line: {lacking} = \"300 mm\", or leave both out"));
        return None;
    };
    let (low, high) =
        (shortest.not_negative(UnitKind::Length)?, longest.positive(UnitKind::Length)?);
    if low >= high {
        let help = "shortest and longest along the slide line, in this order";
        longest.fault("is not over the shortest", "no travel is left", help);
        return None;
    }
    Some(Some([low, high]))
}
