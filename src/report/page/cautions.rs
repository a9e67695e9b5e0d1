//! Assumptions, cautions, and what is not covered.

use crate::study::{Check, degrees};

use super::Leaf;
use super::element::{heading, list, sentence};

/// The section's body.
pub(super) fn cautions(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let rank = leaf.rank + 2;
    let mut out = String::new();
    let warnings: Vec<String> = check.warnings.iter().map(|w| sentence(&w.message)).collect();
    for (name, lines) in [
        ("Warnings for this design", warnings),
        ("Cautions", dangers(check)),
        ("Assumed", assumed(leaf)),
        ("Not covered", not_covered(check)),
    ] {
        if !lines.is_empty() {
            out.push_str(&heading(rank, None, name));
            out.push_str(&list(&lines));
        }
    }
    out
}

fn owned(lines: &[&str]) -> Vec<String> {
    lines.iter().map(|l| (*l).to_owned()).collect()
}

fn dangers(check: &Check) -> Vec<String> {
    let mut lines = owned(&[
        "Crank, rod and lever pinch: keep hands out while power is on, and while a leg can fall.",
        "A raised or sprung leg stores energy after power-off: block it before work on it.",
        "Limits in a simulator are not stops on a robot. Check direction and range of each motor at low torque first.",
    ]);
    if let Some(limit) = check.change_point {
        lines.push(format!(
            "This linkage has a change point, {} of motor angle beyond the stroke, where it can leave its shape: hard stops must keep it from there, also when power fails.",
            degrees(limit.margin)
        ));
    }
    if let Some(limit) = check.crank_limit {
        lines.push(format!(
            "The crank can go no further {} beyond the stroke (toggle); pin forces grow without bound towards it.",
            degrees(limit.margin)
        ));
    }
    if let Some(limit) = check.rocker_limit {
        let place = if limit.margin > 0.0 {
            format!("{} beyond the stroke", degrees(limit.margin))
        } else {
            format!("inside the stroke at joint {}", degrees(check.readings.joint(limit.at)))
        };
        lines.push(format!(
            "The rocker turns back {place} (dead point): it cannot drive the crank there."
        ));
    }
    lines
}

fn assumed(leaf: &Leaf<'_>) -> Vec<String> {
    let mut lines = owned(&[
        "Four parallel axes, rigid parts, pins without play; play is bounded apart where clearances are given.",
        "The linkage stays on the branch on which its zero pose lies, and is followed by continuity.",
        "Masses and inertias are those of the design file.",
    ]);
    let emitted = leaf.snippets.iter().find_map(|s| s.outcome.as_ref().ok());
    let more = emitted.and_then(|e| e.joints.first()).map(|j| j.assumptions.clone());
    lines.extend(more.unwrap_or_default().iter().map(|l| sentence(l)));
    lines
}

fn not_covered(check: &Check) -> Vec<String> {
    let mut lines = owned(&[
        "Bending, wear, axes that are not parallel, control, heat, fatigue, impact, rod ends and threads.",
        "Whether either model is strong, fast or safe enough: a verdict compares two models.",
        "Local codes, and what a licensed engineer has to decide before anything is built and used.",
    ]);
    if !check.unused.is_empty() {
        lines.push(format!(
            "Read from the design and not used by the verdict: {}.",
            check.unused.join(", ")
        ));
    }
    lines
}
