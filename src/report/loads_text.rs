//! `loads` for a person.

use std::fmt::Write as _;

use crate::dynamics::{Bounds, BucklingLaw, Duty, Loads};
use crate::linkage::Extreme;
use crate::study::{LoadFindings, degrees, percent};
use crate::units::number;

use super::style::Style;
use super::words::{table, wrapped};

/// The findings for a person: figures with their worst pose as joint turn.
#[must_use]
pub fn loads_text(found: &LoadFindings, style: Style) -> String {
    let blocks = [
        headline(found, style),
        duties(found, style),
        pins(found, style),
        structure(found, style),
        missing(found, style),
        caution(style),
    ];
    let shown: Vec<String> = blocks.into_iter().filter(|b| !b.is_empty()).collect();
    style.fit(shown.join("\n"))
}

fn headline(found: &LoadFindings, style: Style) -> String {
    let arm = found.loads.smallest_arm;
    format!(
        "{}: what the drive bears over the stroke (worst poses computed, not proved)\n  smallest arm of the rod about the joint {}{}\n",
        style.heading(&found.design),
        crate::units::millimetres(arm.value),
        at(found, arm)
    )
}

pub(super) fn at(found: &LoadFindings, e: Extreme) -> String {
    format!(" at joint {:.1} deg", found.joint_reading_at(e.turn).to_degrees())
}

fn dash() -> String {
    "–".to_owned()
}

/// Two or three digits with the unit.
fn shown(value: f64, unit: &str) -> String {
    if value.abs() >= 100.0 { format!("{value:.0} {unit}") } else { format!("{value:.2} {unit}") }
}

fn megapascal(stress: f64) -> String {
    format!("{:.1} MPa", stress * 1e-6)
}

fn margin(x: Option<f64>) -> String {
    x.map_or_else(dash, |x| format!("{x:.2}"))
}

fn duties(found: &LoadFindings, style: Style) -> String {
    let (header, rows) = duty_table(found);
    let speed = speed_line(found);
    if rows.is_empty() && speed.is_none() {
        return String::new();
    }
    let mut out = format!("  {}\n", style.heading("torque, speed, rod"));
    if !rows.is_empty() {
        out.push_str(&table(&header, &rows));
    }
    if let Some(line) = speed {
        let _ = writeln!(out, "  {line}");
    }
    for line in guaranteed_lines(found) {
        out.push_str(&wrapped(&line, style.width, "  "));
    }
    out
}

/// What "guaranteed" holds for.
pub(super) fn guaranteed_lines(found: &LoadFindings) -> Vec<String> {
    let pins = found.loads.efficiency.is_some().then_some(
        "the guaranteed torque is what friction in the pins leaves, the one never exceeded is without it",
    );
    let tolerance = found.over_tolerance.then_some(
        "torque and speed hold for every linkage within the drawn tolerances, all else for the drawn one",
    );
    [pins, tolerance].into_iter().flatten().map(str::to_owned).collect()
}

fn guaranteed(torque: Extreme) -> String {
    if torque.value > 0.0 { shown(torque.value, "N m") } else { "none: the pins lock".to_owned() }
}

/// Torque and rod under the motor's peak and rated torque; no rows where neither is given.
pub(super) fn duty_table(found: &LoadFindings) -> (Vec<&'static str>, Vec<Vec<String>>) {
    let Loads { peak, rated, .. } = &found.loads;
    let columns: Vec<(&str, &Duty)> = [("peak", peak), ("rated", rated)]
        .into_iter()
        .filter_map(|(n, d)| Some((n, d.as_ref()?)))
        .collect();
    let header: Vec<&str> = ["  "].into_iter().chain(columns.iter().map(|(n, _)| *n)).collect();
    let row = |name: &str, cell: &dyn Fn(&Duty) -> String| -> Vec<String> {
        [format!("  {name}")].into_iter().chain(columns.iter().map(|(_, d)| cell(d))).collect()
    };
    let rows = vec![
        row("motor torque", &|d| shown(d.motor_torque, "N m")),
        row("joint torque, guaranteed", &|d| guaranteed(d.joint_torque.guaranteed)),
        row("joint torque, never exceeded", &|d| shown(d.joint_torque.never_exceed.value, "N m")),
        row("rod force, largest", &|d| {
            format!("{}{}", shown(d.rod_force.value, "N"), at(found, d.rod_force))
        }),
        row("rod stress", &|d| d.rod_stress.map_or_else(dash, megapascal)),
        row("margin to yield", &|d| margin(d.yield_margin)),
        row("margin to buckling", &|d| margin(d.buckling_margin)),
        row("joint gives way by", &|d| {
            d.deflection.map_or_else(dash, |e| format!("{}{}", degrees(e.value), at(found, e)))
        }),
    ];
    (header, if columns.is_empty() { Vec::new() } else { rows })
}

/// The joint's speed at the motor's largest.
pub(super) fn speed_line(found: &LoadFindings) -> Option<String> {
    let Bounds { guaranteed, never_exceed } = found.loads.joint_speed?;
    Some(format!(
        "joint speed {} guaranteed, {} never exceeded",
        shown(guaranteed.value, "rad/s"),
        shown(never_exceed.value, "rad/s")
    ))
}

fn pins(found: &LoadFindings, style: Style) -> String {
    pin_table(found).map_or_else(String::new, |(title, rows)| {
        format!("  {}\n{}", style.heading(&title), table(&PIN_HEADER, &rows))
    })
}

/// Columns of [`pin_table`].
pub(super) const PIN_HEADER: [&str; 4] = ["  pin", "force", "bearing pressure", "shear, one plane"];

/// What the pins bear, under a heading that says at which torque.
pub(super) fn pin_table(found: &LoadFindings) -> Option<(String, Vec<Vec<String>>)> {
    let duty = found.loads.peak.as_ref().or(found.loads.rated.as_ref())?;
    let rows = duty.pins.iter().map(|pin| {
        vec![
            format!("  {}", pin.place.name()),
            shown(pin.force, "N"),
            pin.pressure.map_or_else(dash, megapascal),
            pin.shear.map_or_else(dash, megapascal),
        ]
    });
    let title = format!("pins at {} of motor torque", shown(duty.motor_torque, "N m"));
    Some((title, rows.collect()))
}

fn structure(found: &LoadFindings, style: Style) -> String {
    let lines = structure_lines(found);
    if lines.is_empty() {
        return String::new();
    }
    let mut out = format!("  {}\n", style.heading("rod, play, losses"));
    for line in lines {
        out.push_str(&wrapped(&line, style.width, "  - "));
    }
    out
}

/// Buckling, stiffness, lost motion and friction.
pub(super) fn structure_lines(found: &LoadFindings) -> Vec<String> {
    let loads = &found.loads;
    let mut lines = Vec::new();
    if let Some(b) = &loads.buckling {
        let law = match b.law {
            BucklingLaw::Euler => "Euler",
            BucklingLaw::Johnson => "Johnson",
        };
        let change = b.change_over.map_or(String::new(), |c| format!(", laws meet at {c:.0}"));
        lines.push(format!(
            "the rod buckles at {} by {law}, pinned at both ends (slenderness {:.0}{change})",
            shown(b.load, "N"),
            b.slenderness
        ));
    }
    if let Some(k) = loads.stiffness {
        lines.push(format!(
            "rod stiffness at the joint, crank held: {} N m/rad{}",
            number(k.value),
            at(found, k)
        ));
    }
    if let Some([least, most]) = loads.lost_motion {
        lines.push(format!(
            "lost motion from the pins' clearances: {}…{}{}",
            degrees(least.value),
            degrees(most.value),
            at(found, most)
        ));
    }
    if let Some(e) = loads.efficiency {
        lines.push(format!(
            "left of the joint torque after friction in the pins: {}{}",
            percent(e.value),
            at(found, e)
        ));
    }
    lines
}

fn missing(found: &LoadFindings, style: Style) -> String {
    let names = |places: &[crate::dynamics::PinPlace]| {
        places.iter().map(|p| p.name()).collect::<Vec<_>>().join(", ")
    };
    let mut out = String::new();
    if !found.missing.is_empty() {
        let text = format!("would tell more: {}", found.missing.join(", "));
        out.push_str(&wrapped(&text, style.width, "  "));
    }
    if found.loads.lost_motion.is_some() && !found.loads.without_clearance.is_empty() {
        let text = format!("lost motion leaves out: {}", names(&found.loads.without_clearance));
        out.push_str(&wrapped(&text, style.width, "  "));
    }
    if found.loads.efficiency.is_some() && !found.loads.without_diameter.is_empty() {
        let text = format!("friction leaves out: {}", names(&found.loads.without_diameter));
        out.push_str(&wrapped(&text, style.width, "  "));
    }
    out
}

fn caution(style: Style) -> String {
    style.faint(&wrapped(
        "caution: a sizing check under slow, steady load. Fatigue, impact, bending from misalignment or rods offset along the \
         axis, threads, rod ends and the joint's own weight are left out. A stalled or back-driven leg can exceed peak torque. \
         Local codes and a licensed engineer decide.",
        style.width,
        "  ",
    ))
}
