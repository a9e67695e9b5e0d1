//! What the drive bears, and with what margin.

use crate::report::loads_text::{
    PIN_HEADER, at, duty_table, guaranteed_lines, pin_table, speed_line, structure_lines,
};
use crate::study::LoadFindings;
use crate::units::millimetres;

use super::Leaf;
use super::charts::{grid, rod};
use super::element::{heading, list, paragraph, sentence, table};

/// The section's body.
pub(super) fn loads(leaf: &Leaf<'_>) -> String {
    match &leaf.review.loads {
        Ok(found) => found_loads(leaf, found),
        Err(faults) => {
            let why: Vec<String> =
                faults.iter().map(|f| format!("{}: {}", f.message, f.label)).collect();
            paragraph(&format!("Not shown. {}", sentence(&why.join("; "))))
        }
    }
}

fn found_loads(leaf: &Leaf<'_>, found: &LoadFindings) -> String {
    let rank = leaf.rank + 2;
    let arm = found.loads.smallest_arm;
    let mut out = paragraph(&format!(
        "Under slow, steady load; worst poses are computed, not proved. Smallest arm of the rod about the joint: {}{}.",
        millimetres(arm.value),
        at(found, arm)
    ));
    out.push_str(&grid(leaf, &rod(leaf).into_iter().collect::<Vec<_>>()));
    let (mut header, rows) = duty_table(found);
    if let Some(first) = header.first_mut() {
        *first = "at motor torque";
    }
    if !rows.is_empty() {
        out.push_str(&heading(rank, None, "Torque and rod"));
        out.push_str(&table(
            "Torque, rod force and margins at the motor's peak and rated torque",
            &header,
            &rows,
        ));
    }
    out.push_str(&speed_line(found).map_or_else(String::new, |l| paragraph(&sentence(&l))));
    let lines: Vec<String> = guaranteed_lines(found).iter().map(|l| sentence(l)).collect();
    if !lines.is_empty() {
        out.push_str(&paragraph(&lines.join(" ")));
    }
    if let Some((title, rows)) = pin_table(found) {
        out.push_str(&heading(rank, None, sentence(&title).trim_end_matches('.')));
        out.push_str(&table("Largest force, pressure and shear of each pin", &PIN_HEADER, &rows));
    }
    let lines: Vec<String> = structure_lines(found).iter().map(|l| sentence(l)).collect();
    if !lines.is_empty() {
        out.push_str(&heading(rank, None, "Rod, play, losses"));
        out.push_str(&list(&lines));
    }
    if !found.missing.is_empty() {
        out.push_str(&paragraph(&format!("Would tell more: {}.", found.missing.join(", "))));
    }
    out
}
