//! What more is known of each pose of the stroke where the design gives motor and masses.

use crate::design::Design;
use crate::dynamics::{joint_inertia, load_at};

use super::drive::{drive, missing_for_inertia};
use super::findings::ZeroPose;
use super::loads::bearings;
use super::mechanism::Mechanism;
use super::stroke_table::PoseRow;

/// Figures of one pose; `None` where the design does not give what they need.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PoseFigures {
    /// At the joint for the motor's peak torque, after friction in the pins, N m, signed as the ratio; 0 where they lock.
    pub torque: Option<f64>,
    /// Share of that torque which friction in the pins leaves; `None` without a coefficient.
    pub left: Option<f64>,
    /// Of the joint at the motor's largest speed, rad/s; infinite at a crank limit.
    pub speed: Option<f64>,
    /// In the rod for the motor's peak torque, N: pull positive.
    pub rod_force: Option<f64>,
    /// Inertia at the joint with the carrier fixed, rotor included, kg m².
    pub inertia: Option<f64>,
}

/// Fills in the figures of every row.
pub(super) fn fill(design: &Design, mechanism: &Mechanism, rows: &mut [PoseRow]) {
    let actuator = design.actuator.as_ref();
    let peak = actuator.and_then(|a| a.peak_torque);
    let fastest = actuator.and_then(|a| a.max_speed);
    let branch = &mechanism.branch;
    let zero = ZeroPose { crank: branch.zero_crank(), rocker: branch.zero_rocker() };
    let parts = drive(design, &zero).filter(|_| missing_for_inertia(design).is_empty());
    let bearings = bearings(design);
    for row in rows {
        let load = peak.map(|torque| load_at(&row.pose, torque));
        let left = bearings.left(&row.pose).max(0.0);
        row.figures = PoseFigures {
            torque: load.map(|l| l.joint_torque * left),
            left: bearings.friction.map(|_| left),
            speed: fastest.map(|speed| speed * row.pose.velocity_ratio().abs()),
            rod_force: load.map(|l| l.rod_tension),
            inertia: parts.as_ref().map(|d| joint_inertia(&row.pose, &d.masses).joint),
        };
        // Where the rocker stands still neither has a bound.
        if row.pose.transmission_ratio().is_infinite() {
            let unbounded = |figure: Option<f64>| figure.map(|_| f64::INFINITY);
            row.figures.torque = unbounded(row.figures.torque);
            row.figures.inertia = unbounded(row.figures.inertia);
        }
    }
}
