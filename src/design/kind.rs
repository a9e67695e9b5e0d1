//! `[drive]`: what turns the joint, and which link bears the motor.

use super::faults::Faults;
use super::model::MotorOn;
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
    Kind::ALL.into_iter().find(|kind| kind.name() == name.as_ref())
}

/// The fault of a kind that is not read.
pub(super) fn refuse(table: &DeTable<'_>, faults: &Faults) {
    if let Some(entry) = Section::unchecked(table, faults).within("drive", "kind") {
        entry.choice(&Kind::ALL.map(|kind| (kind.name(), kind)));
    }
}

/// The fault of a kind that is no stage of a series.
pub(super) fn refuse_stage(kind: Kind, table: &DeTable<'_>, faults: &Faults) {
    let Some(entry) = Section::unchecked(table, faults).within("drive", "kind") else { return };
    if kind == Kind::TwoRods {
        let help = "name drives of one motor and one joint, in order from the motor";
        entry.fault("drives two joints", "a stage turns one", help);
    } else {
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
