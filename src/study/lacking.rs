//! What a design leaves out, named as in the file.

use crate::design::{Actuator, Pins};

/// Whether something is left out, and its name.
pub(super) type Lack = (bool, &'static str);

/// The names of what is left out.
pub(super) fn named(all: impl IntoIterator<Item = Lack>) -> Vec<&'static str> {
    all.into_iter().filter_map(|(lacks, name)| lacks.then_some(name)).collect()
}

/// Of the motor's torques and speed.
pub(super) fn of_motor(actuator: Option<&Actuator>) -> [Lack; 3] {
    [
        (actuator.and_then(|a| a.peak_torque).is_none(), "[actuator] peak_torque"),
        (actuator.and_then(|a| a.rated_torque).is_none(), "[actuator] rated_torque"),
        (actuator.and_then(|a| a.max_speed).is_none(), "[actuator] max_speed"),
    ]
}

/// Of the rotor.
pub(super) fn of_rotor(actuator: Option<&Actuator>) -> [Lack; 2] {
    [
        (actuator.and_then(|a| a.rotor_inertia).is_none(), "[actuator] rotor_inertia"),
        (actuator.and_then(|a| a.gear_ratio).is_none(), "[actuator] gear_ratio"),
    ]
}

/// Of the pins and their friction.
pub(super) fn of_pins(pins: &Pins) -> [Lack; 2] {
    [(pins.given().next().is_none(), "[pins]"), (pins.friction.is_none(), "[pins] friction")]
}
