//! `[actuator]`: figures at the output shaft of the gearbox, but for the rotor.

use super::entry::Entry;
use super::machine_elements::Actuator;
use super::section::Section;
use super::sense::Sense;
use super::stroke::turns;
use crate::diagnostic::Code;
use crate::units::UnitKind;

/// `[actuator]`, each line where it is given; its stops count from what the motor reads in the zero pose.
pub(super) fn read(root: &Section<'_>, motor_reads: Option<f64>, sense: Sense) -> Option<Actuator> {
    let table = root.section("actuator")?;
    let positive = |key: &str, kind| table.get(key).and_then(|entry| entry.positive(kind));
    let loss = |key: &str, kind| table.get(key).and_then(|entry| entry.not_negative(kind));
    let actuator = Actuator {
        gear_ratio: table.get("gear_ratio").and_then(|entry| gear_ratio(&entry)),
        rotor_inertia: loss("rotor_inertia", UnitKind::Inertia),
        rotor_in_carrier: table.get("rotor_in_carrier").and_then(|entry| entry.boolean()),
        peak_torque: positive("peak_torque", UnitKind::Torque),
        rated_torque: positive("rated_torque", UnitKind::Torque),
        max_speed: positive("max_speed", UnitKind::AngularSpeed),
        damping: loss("damping", UnitKind::Damping),
        friction: loss("friction", UnitKind::Torque),
        holding_friction: loss("holding_friction", UnitKind::Torque),
        backlash: loss("backlash", UnitKind::Angle),
        stops: table.get("stops").and_then(|entry| turns(&entry, motor_reads, sense)),
        position_gain: loss("position_gain", UnitKind::Stiffness),
        velocity_gain: loss("velocity_gain", UnitKind::Damping),
    };
    warn_of_ratings(&table, &actuator);
    Some(actuator)
}

fn gear_ratio(entry: &Entry<'_>) -> Option<f64> {
    let ratio = entry.number()?;
    if ratio.abs() < 1e-6 || ratio.abs() > 1e6 {
        let help = "rotor turns per output turn, such as 7.75; 1 without a gearbox, negative for a reversing one";
        entry.fault("is no gear ratio", "out of range", help);
        return None;
    }
    Some(ratio)
}

fn warn_of_ratings(table: &Section<'_>, actuator: &Actuator) {
    let (Some(rated), Some(peak)) = (actuator.rated_torque, actuator.peak_torque) else {
        return;
    };
    if rated > peak
        && let Some(entry) = table.get("rated_torque")
    {
        let help = "the rated torque is the one held for ever, the peak torque the short one";
        entry.warning(
            Code::RatedOverPeak,
            "is over the peak torque",
            "larger than peak_torque",
            help,
        );
    }
}
