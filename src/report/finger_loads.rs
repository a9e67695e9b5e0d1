//! `loads` of a gripper in words: what grips, what the pins of a finger bear, what holds without power.

use crate::dynamics::{JawDuty, PinLoad, PinPlace};
use crate::linkage::Extreme;
use crate::study::{FingerDuty, FingerLoads, LoadFindings};
use crate::units::{alike, angle, figure, fixed, percent};

use super::blocks::{Block, Cell, Column, Group, Holds, Table, cells, dash, figures, or_dash};
use super::cautions::DECIDES;
use super::finger;
use super::style::Detail;

/// All of it but the head; in short what grips and what holds.
pub(super) fn groups(found: &LoadFindings, finger: &FingerLoads, detail: Detail) -> Vec<Group> {
    if !detail.is_full() {
        let held = vec![holding(found, finger)];
        return vec![duties(found, finger), held, remarks(found, finger)];
    }
    vec![
        duties(found, finger),
        pins(found, finger),
        vec![holding(found, finger)],
        remarks(found, finger),
    ]
}

/// What follows, and the grip to count on.
pub(super) fn headline(found: &LoadFindings, finger: &FingerLoads) -> Group {
    let grip = match (&finger.peak, &finger.rated) {
        (Some(duty), _) => at_least(found, &duty.jaw, "peak"),
        (None, Some(duty)) => at_least(found, &duty.jaw, "rated"),
        (None, None) => {
            "no grip without a torque: [actuator] peak_torque or rated_torque".to_owned()
        }
    };
    let what = "what each pad grips with, and what a finger bears over the stroke (worst poses computed, not proved)";
    vec![Block::Title(found.design.clone(), None, grip), Block::Line(what.to_owned())]
}

fn at_least(found: &LoadFindings, duty: &JawDuty, which: &str) -> String {
    let least = grip(found, duty.guaranteed);
    format!("each pad grips with at least {least}, at {which} torque")
}

fn grip(found: &LoadFindings, force: Extreme) -> String {
    if force.value > 0.0 {
        format!("{}{}", with_unit(force.value, "N"), at(found, force.turn))
    } else {
        "nothing: the pins lock".to_owned()
    }
}

fn at(found: &LoadFindings, turn: f64) -> String {
    format!(" at motor {}", angle(found.motor_reading_at(turn), 1))
}

/// Grip under the motor's torques, and speed.
fn duties(found: &LoadFindings, finger: &FingerLoads) -> Group {
    let given = [("peak", &finger.peak), ("rated", &finger.rated)];
    let given: Vec<(&str, &FingerDuty)> =
        given.into_iter().filter_map(|(name, duty)| Some((name, duty.as_ref()?))).collect();
    let row = |name: &str, cell: &dyn Fn(&FingerDuty) -> String| -> Vec<Cell> {
        let figures = given.iter().map(|(_, duty)| cell(duty).into());
        std::iter::once(name.into()).chain(figures).collect()
    };
    let mut rows = vec![
        row("motor torque", &|d| with_unit(d.jaw.motor_torque, "N m")),
        row("grip of each pad, guaranteed", &|d| grip(found, d.jaw.guaranteed)),
        row("grip of each pad, at best", &|d| grip(found, d.jaw.best)),
    ];
    if given.iter().any(|(_, duty)| duty.jaw.alone.is_some()) {
        rows.push(row("one pad alone in contact, at most", &|d| {
            or_dash(d.jaw.alone, |force| grip(found, force))
        }));
    }
    if given.iter().any(|(_, duty)| duty.within_tolerances.is_some()) {
        rows.push(row("grip of each pad, every build", &|d| {
            or_dash(d.within_tolerances, |[low, high]| {
                format!("{}…{} N", fixed(low, 2), fixed(high, 2))
            })
        }));
    }
    let named = given.iter().map(|(name, _)| figures(*name));
    let columns = std::iter::once(Column(Holds::Outcome, "at motor torque".to_owned()))
        .chain(named)
        .collect();
    let caption = "Grip at the motor's peak and rated torque".to_owned();
    let mut group = vec![Block::heading("grip and speed")];
    if !given.is_empty() {
        group.push(Block::Table(Table { caption, columns, rows }));
    }
    if let Some([slow, fast]) = finger.speed.map(|speed| speed.map(|v| fixed(1e3 * v, 0))) {
        let line = format!("the opening closes by {slow}…{fast} mm/s at the motor's largest speed");
        group.push(Block::Line(line));
    }
    if group.len() == 1 {
        return Group::new();
    }
    let friction = match (finger.efficiency, finger.screw_efficiency) {
        (Some(_), Some(_)) => {
            "after friction in the pins and what the screw loses; at best without both"
        }
        (None, Some(_)) => "after what the screw loses; at best without it",
        (Some(_), None) => "after friction in the pins; at best without it",
        (None, None) => "without loss",
    };
    let every = match given.first().and_then(|(_, duty)| duty.within_tolerances) {
        Some(_) => "; every build is every linkage within the drawn tolerances, without friction",
        None => "",
    };
    let line = format!("guaranteed over the stroke of the drawn linkage, {friction}{every}");
    group.push(Block::Line(line));
    group
}

/// What the pins of a finger bear, under a heading that says at which torque.
fn pins(found: &LoadFindings, finger: &FingerLoads) -> Group {
    let duty = finger.peak.as_ref().or(finger.rated.as_ref());
    let Some(duty) = duty.map(|duty| &duty.jaw) else { return Group::new() };
    let row = |((pin, turn), force): ((&PinLoad, f64), String)| {
        cells([
            pin.place.name().to_owned(),
            force,
            angle(found.motor_reading_at(turn), 1),
            or_dash(pin.pressure, megapascal),
            or_dash(pin.shear, megapascal),
        ])
    };
    let rows = duty.pins.iter().zip(duty.pins_at).zip(alike_forces(&duty.pins)).map(row).collect();
    let names = ["pin", "force", "at motor", "bearing pressure", "shear, one plane"];
    let caption = "Largest force, pressure and shear of each pin of one finger";
    let torque = with_unit(duty.motor_torque, "N m");
    let mut group = vec![
        Block::heading(format!("pins of one finger at {torque} of motor torque")),
        Block::Table(Table::new(caption, &names, rows)),
    ];
    if finger.is_behind {
        group.push(Block::Line(
            "the motor pin A with all the force that the rod in front puts on its lever, along it: no more than this, without loss; not told behind a belt or gear"
                .to_owned(),
        ));
    }
    if duty.alone.is_some() {
        group.push(Block::Line(
            "both pads in contact; an object that one pad alone touches gets the whole torque, and these forces double"
                .to_owned(),
        ));
    }
    group
}

/// What the drive holds without power, and the toggle.
fn holding(found: &LoadFindings, finger: &FingerLoads) -> Block {
    let readings = found.readings();
    let mut facts: Vec<(&'static str, Vec<String>)> = Vec::new();
    facts.extend(
        finger.unpowered.as_ref().map(|held| ("unpowered", finger::unpowered(readings, held))),
    );
    facts.push(("toggle", vec![finger::toggle(readings, finger.toggle)]));
    if let Some(e) = finger.efficiency {
        let left =
            format!("{} of the motor's torque arrives{}", percent(e.value), at(found, e.turn));
        facts.push(("friction", vec![left]));
    }
    Block::Facts(facts)
}

/// What was not given, and what is not covered.
fn remarks(found: &LoadFindings, finger: &FingerLoads) -> Group {
    let mut lines = Vec::new();
    if finger.has_rod {
        lines.push(
            "[rod] is read and not used: a jaw's coupler carries the pad and is bent, which is not covered"
                .to_owned(),
        );
    }
    if !found.missing.is_empty() {
        lines.push(format!("would tell more: {}", found.missing.join(", ")));
    }
    if finger.efficiency.is_some() && !finger.without_diameter.is_empty() {
        let names: Vec<&str> =
            finger.without_diameter.iter().map(|p: &PinPlace| p.name()).collect();
        lines.push(format!("friction leaves out: {}", names.join(", ")));
    }
    lines.into_iter().map(Block::Line).collect()
}

/// Where these figures end.
pub(super) fn caution() -> Block {
    Block::Caution(format!(
        "a sizing check under slow, steady load along the closing direction. Bending of coupler and finger, loads across \
         the closing direction, impact, fatigue, friction at the pads and the parts' own weight are left out. A stalled motor \
         can exceed peak torque. {DECIDES}"
    ))
}

pub(super) fn with_unit(value: f64, unit: &str) -> String {
    format!("{} {unit}", figure(value))
}

pub(super) fn megapascal(stress: f64) -> String {
    format!("{} MPa", fixed(stress * 1e-6, 1))
}

/// Forces of pins, N, with the same decimals.
pub(super) fn alike_forces(pins: &[PinLoad]) -> Vec<String> {
    let forces: Vec<f64> = pins.iter().map(|pin| pin.force).collect();
    if forces.iter().any(|force| force.is_nan()) {
        return forces
            .iter()
            .map(|f| if f.is_nan() { dash() } else { with_unit(*f, "N") })
            .collect();
    }
    let is_large = forces.iter().any(|force| *force >= 100.0);
    if is_large {
        forces.iter().map(|f| format!("{} N", fixed(*f, 0))).collect()
    } else {
        alike(&forces, "N")
    }
}
