//! Actuators of the motor's joint, moved to the driven joint.
//!
//! In **motor** units nothing but the gear changes: gear · slope, so that the control signal means what it meant. In
//! **joint** units the gear is 1, the force range the joint's torque, a position target the joint's reading.

use super::numbers::{is_same, list, text};
use super::{Changes, Job, figures};
use crate::handover::emit::ActuatorUnits;
use crate::robot::{Element, RobotActuator};

/// Changes the actuator at this element, where it is one of the motor's joint.
pub(super) fn change(job: &Job<'_>, element: Element<'_>, changes: &mut Changes) -> bool {
    let actuator = figures::motor_actuators(job.robot, job.four_bar)
        .find(|a| a.place.document == 0 && a.place.element == element.id());
    let Some(actuator) = actuator else { return false };
    for key in ["joint", "jointinparent"] {
        if element.value(key).is_some_and(|name| name == job.motor.name.as_str()) {
            changes.edits.set(element, key, &job.driven.name);
        }
    }
    match units(job, element) {
        ActuatorUnits::Motor => in_motor_units(job, element, actuator, changes),
        ActuatorUnits::Joint => in_joint_units(job, element, actuator, changes),
    }
    true
}

/// Only a force and a position servo have a joint's units of their own.
fn units(job: &Job<'_>, element: Element<'_>) -> ActuatorUnits {
    match element.name() {
        "motor" | "position" => job.options.actuator,
        _ => ActuatorUnits::Motor,
    }
}

fn in_motor_units(
    job: &Job<'_>,
    element: Element<'_>,
    actuator: &RobotActuator,
    changes: &mut Changes,
) {
    changes.edits.set(element, "gear", &text(actuator.gear * job.figures.slope));
    if job.options.actuator == ActuatorUnits::Joint {
        changes.notes.push(format!(
            "actuator {:?} is a <{}>: it stays in the motor's units",
            actuator.name,
            element.name()
        ));
    }
    if actuator.gains.is_some() && job.figures.shift.abs() > 0.0 {
        changes.notes.push(format!(
            "actuator {:?}: take {} rad off its position targets, the zero of the motor's reading",
            actuator.name,
            text(actuator.gear * job.figures.shift)
        ));
    }
}

fn in_joint_units(
    job: &Job<'_>,
    element: Element<'_>,
    actuator: &RobotActuator,
    changes: &mut Changes,
) {
    changes.edits.set(element, "gear", "1");
    let slope = actuator.gear * job.figures.slope;
    let share = slope.signum() * actuator.gear.abs() * job.figures.torque_share(job.options.limits);
    if let Some(force) = actuator.force {
        changes.edits.set(element, "forcerange", &list(&rising(force.map(|f| f * share))));
    }
    match actuator.gains {
        Some([position, velocity]) => {
            changes.edits.set(element, "kp", &text(position * slope * slope));
            if velocity.abs() > 0.0 {
                changes.edits.set(element, "kv", &text(velocity * slope * slope));
            }
            if let Some(control) = actuator.control {
                let joint = control.map(|target| job.figures.joint_reading(target / actuator.gear));
                changes.edits.set(element, "ctrlrange", &list(&rising(joint)));
            }
        }
        None => {
            if let Some(control) = actuator.control {
                changes.edits.set(element, "ctrlrange", &list(&rising(control.map(|c| c * share))));
            }
            if !is_same(Some(slope), 1.0) {
                changes.notes.push(format!(
                    "actuator {:?} takes joint torque now, N m: {} times the motor's signal (--actuator motor keeps that)",
                    actuator.name,
                    text(slope)
                ));
            }
        }
    }
    for (key, known) in [("armature", actuator.armature), ("damping", actuator.damping)] {
        if let Some(figure) = known.filter(|x| x.abs() > 0.0) {
            changes.edits.set(element, key, &text(figure * slope * slope));
        }
    }
}

fn rising([a, b]: [f64; 2]) -> [f64; 2] {
    [a.min(b), a.max(b)]
}
