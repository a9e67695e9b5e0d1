//! `[drive]`: what turns the joint, and which link bears the motor.

use super::faults::Faults;
use super::model::MotorOn;
use super::schema;
use super::section::Section;
use crate::drive::Kind;
use toml::de::{DeTable, DeValue};

/// The kind that the file names; a planar four-bar where it names none, nothing where it is not one that is read.
pub(super) fn named(table: &DeTable<'_>) -> Option<Kind> {
    let Some(DeValue::Table(drive)) = table.get("drive").map(|value| value.get_ref()) else {
        return Some(Kind::default());
    };
    let Some(kind) = drive.get("kind") else { return Some(Kind::default()) };
    let DeValue::String(name) = kind.get_ref() else { return None };
    let known = Kind::ALL.into_iter().find(|kind| kind.name() == name.as_ref());
    known.filter(|kind| *kind != Kind::TwoRods)
}

/// The fault of a kind that is not read.
pub(super) fn refuse(table: &DeTable<'_>, faults: &Faults) {
    let Some(entry) = Section::unchecked(table, faults).within("drive", "kind") else { return };
    let read: Vec<(&str, Kind)> = Kind::ALL
        .into_iter()
        .filter(|kind| *kind != Kind::TwoRods)
        .map(|kind| (kind.name(), kind))
        .collect();
    if matches!(entry.value, DeValue::String(name) if name == Kind::TwoRods.name()) {
        let names: Vec<&str> = read.iter().map(|(name, _)| *name).collect();
        let help = format!("this version reads drives of one joint: {}", schema::choices(&names));
        entry.fault("cannot be \"two_rods\" yet", "two motors on two joints", help);
        return;
    }
    entry.choice(&read);
}

/// The fault of a series as a stage.
pub(super) fn refuse_series(table: &DeTable<'_>, faults: &Faults) {
    if let Some(entry) = Section::unchecked(table, faults).within("drive", "kind") {
        let help = "write its stages into the file that names this one";
        entry.fault("is a series within a series", "a stage is one drive", help);
    }
}

/// `[drive] motor_on`.
pub(super) fn motor_on(drive: Option<&Section<'_>>) -> MotorOn {
    let entry = drive.and_then(|drive| drive.get("motor_on"));
    let words = MotorOn::ALL.map(|on| (on.name(), on));
    entry.and_then(|entry| entry.choice(&words)).unwrap_or_default()
}
