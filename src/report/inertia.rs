//! Inertia in words: what stands in, and what each shortcut would cost.

use crate::dynamics::{Fidelity, Shortcut};
use crate::linkage::Extreme;
use crate::study::{InertiaFindings, in_words};
use crate::units::{alike, millimetres, number, percent, percents};

use super::blocks::{Block, Cell, Group, Table, aligned, cells};

/// The inertia of a design with known masses.
pub(super) fn inertia(found: &InertiaFindings) -> Group {
    let names = ["model", "carrier fixed", "planar", "spatial", "gravity torque"];
    let rows = costs(found);
    let heading =
        |about: &str| Block::Heading("what the direct joint weighs".to_owned(), about.to_owned());
    if rows.is_empty() {
        return vec![heading(""), Block::List(lines(found))];
    }
    vec![
        heading(
            "(kinetic energy, largest error for any motion; n²J: rotor inertia times ratio squared)",
        ),
        Block::Table(Table::new("", &names, rows)),
        Block::List(lines(found)),
    ]
}

/// A row a shortcut, each column with its own decimals.
fn costs(found: &InertiaFindings) -> Vec<Vec<Cell>> {
    let shortcuts = &found.shortcuts;
    let shares = |of: fn(&Fidelity) -> Option<Extreme>| {
        let values = shortcuts.iter().map(|cost| of(&cost.fidelity).map(|e| e.value));
        aligned(values.collect(), percents)
    };
    let fixed = shares(|found| Some(found.fixed));
    let (planar, spatial) = (shares(|found| found.planar), shares(|found| found.spatial));
    let torques: Vec<f64> = shortcuts.iter().map(|c| c.fidelity.gravity_torque.value).collect();
    let torques = torques_alike(&torques);
    let figures = fixed.into_iter().zip(planar).zip(spatial).zip(torques);
    let named = shortcuts.iter().map(|cost| {
        let emitted = if cost.shortcut == Shortcut::Full { " (emitted)" } else { "" };
        format!("{}{emitted}", cost.shortcut.name())
    });
    let row = |(name, (((fixed, planar), spatial), torque))| {
        cells([name, fixed, planar, spatial, torque])
    };
    named.zip(figures).map(row).collect()
}

/// In one unit, that of the largest.
fn torques_alike(torques: &[f64]) -> Vec<String> {
    let torques: Vec<f64> = torques.iter().map(|t| if *t < NO_TORQUE { 0.0 } else { *t }).collect();
    if torques.iter().any(|torque| *torque >= 0.1) {
        return alike(&torques, "N m");
    }
    alike(&torques.iter().map(|torque| 1e3 * torque).collect::<Vec<_>>(), "mN m")
}

/// A gravity torque below this, N m, is none.
const NO_TORQUE: f64 = 5e-7;

/// Each joint's own figure, where they differ.
fn each(found: &InertiaFindings) -> Option<String> {
    let drives = found.drives.as_ref().ok()?;
    let shown: Vec<String> = drives.iter().map(|d| percent(d.error.value)).collect();
    let differ = shown.iter().any(|one| Some(one) != shown.first());
    let named = drives
        .iter()
        .zip(&shown)
        .map(|(d, error)| format!("{} {error}", d.joint.as_deref().unwrap_or("the joint")));
    differ.then(|| format!("inertia error of each: {}", named.collect::<Vec<_>>().join(", ")))
}

fn lines(found: &InertiaFindings) -> Vec<String> {
    let stands_in = match &found.drives {
        Err(fault) => Some(format!("no direct joint with real bodies: {}", in_words(fault))),
        Ok(_) => found.decisive().map(|drive| {
            format!(
                "armature {} kg m2 with the bodies changed along; n²J alone would be {} kg m2",
                number(drive.replacement.tree.armature),
                number(found.plain_armature)
            )
        }),
    };
    let mut lines: Vec<String> = stands_in.into_iter().chain(each(found)).collect();
    lines.extend(found.together.iter().map(|on_it| {
        let (joints, error) = (on_it.joints.join(", "), percent(on_it.error));
        format!("with {joints} on {} all moving: {error} ({})", on_it.link, on_it.over.name())
    }));
    lines.extend(found.counterweight.as_ref().map(|c| counterweight(c.missing())));
    lines.extend(found.torque_error.map(|torque| {
        format!("joint torque off by at most {} N m within [motion]", number(torque.value))
    }));
    if !found.left_out.is_empty() {
        lines.push(format!(
            "not used for want of a table or a place on the robot: {}",
            found.left_out.join(", ")
        ));
    }
    lines
}

/// What a crank lacks for an exact stand-in, of its first moment along and across it (kg m).
fn counterweight([along, across]: [f64; 2]) -> String {
    let mut text = format!(
        "exact with a counterweighted crank: its first moment about the motor axis must change by {} kg mm along the crank",
        number(along * 1e3)
    );
    if across.abs() > 1e-9 {
        text.push_str(&format!(" and {} kg mm across it", number(across * 1e3)));
    }
    if along < 0.0 {
        let (weight, behind) = (number(-along / 0.02), millimetres(0.02));
        text.push_str(&format!(" (e.g. {weight} kg {behind} behind the axis)"));
    }
    text
}
