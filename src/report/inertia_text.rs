//! Inertia in `check`: what stands in, and what each shortcut would cost.

use std::fmt::Write as _;

use crate::dynamics::{Fidelity, Shortcut};
use crate::linkage::Extreme;
use crate::study::{InertiaFindings, in_words, percent};
use crate::units::{millimetres, number};

use super::style::Style;
use super::words::{table, wrapped};

/// The block for one design with known masses.
pub(super) fn inertia_text(found: &InertiaFindings, style: Style) -> String {
    let mut out = format!(
        "  {} (kinetic energy, largest error for any motion)\n",
        style.heading("what the direct joint weighs")
    );
    out.push_str(&shortcuts(found));
    for line in inertia_lines(found) {
        out.push_str(&wrapped(&line, style.width, "  - "));
    }
    out
}

fn shortcuts(found: &InertiaFindings) -> String {
    table(&SHORTCUT_HEADER, &shortcut_rows(found))
}

/// Columns of [`shortcut_rows`].
pub(super) const SHORTCUT_HEADER: [&str; 5] =
    ["  model", "carrier fixed", "planar", "spatial", "gravity torque"];

/// What each shortcut costs.
pub(super) fn shortcut_rows(found: &InertiaFindings) -> Vec<Vec<String>> {
    let rows = found.shortcuts.iter().map(|cost| {
        let Fidelity { fixed, planar, spatial, gravity_torque, .. } = &cost.fidelity;
        let share = |e: &Option<Extreme>| e.map_or_else(|| "–".to_owned(), |e| percent(e.value));
        let name = match cost.shortcut {
            Shortcut::Full => format!("  {} (emitted)", cost.shortcut.name()),
            _ => format!("  {}", cost.shortcut.name()),
        };
        let torque = if gravity_torque.value < 5e-7 {
            "0 N m".to_owned()
        } else {
            format!("{:.2e} N m", gravity_torque.value)
        };
        vec![name, percent(fixed.value), share(planar), share(spatial), torque]
    });
    rows.collect()
}

/// Each joint's own figure, where they differ.
fn each_line(found: &InertiaFindings) -> Option<String> {
    let drives = found.drives.as_ref().ok()?;
    let shown: Vec<String> = drives.iter().map(|d| percent(d.error.value)).collect();
    let differ = shown.iter().any(|one| Some(one) != shown.first());
    let named = drives
        .iter()
        .zip(&shown)
        .map(|(d, error)| format!("{} {error}", d.joint.as_deref().unwrap_or("the joint")));
    differ.then(|| format!("inertia error of each: {}", named.collect::<Vec<_>>().join(", ")))
}

pub(super) fn inertia_lines(found: &InertiaFindings) -> Vec<String> {
    let mut lines = Vec::new();
    match (&found.drives, found.decisive()) {
        (Err(fault), _) => {
            lines.push(format!("no direct joint with real bodies: {}", in_words(fault)));
        }
        (Ok(_), Some(drive)) => lines.push(format!(
            "armature {} kg m2 with the bodies changed along; n²J alone would be {} kg m2",
            number(drive.replacement.tree.armature),
            number(found.plain_armature)
        )),
        (Ok(_), None) => {}
    }
    lines.extend(each_line(found));
    lines.extend(found.together.iter().map(|on_it| {
        format!(
            "with {} on {} all moving: {} ({})",
            on_it.joints.join(", "),
            on_it.link,
            percent(on_it.error),
            on_it.over.name()
        )
    }));
    if let Some(c) = &found.counterweight {
        let [along, across] = c.missing();
        let mut text = format!(
            "exact with a counterweighted crank: its first moment about the motor axis must change by {} kg mm along the crank",
            number(along * 1e3)
        );
        if across.abs() > 1e-9 {
            let _ = write!(text, " and {} kg mm across it", number(across * 1e3));
        }
        if along < 0.0 {
            let _ = write!(
                text,
                " (e.g. {} kg {} behind the axis)",
                number(-along / 0.02),
                millimetres(0.02)
            );
        }
        lines.push(text);
    }
    if let Some(torque) = found.torque_error {
        lines.push(format!(
            "joint torque off by at most {} N m within [motion]",
            number(torque.value)
        ));
    }
    if !found.left_out.is_empty() {
        lines.push(format!(
            "not used for want of a table or a place on the robot: {}",
            found.left_out.join(", ")
        ));
    }
    lines
}
