//! What a file says at the motor, with the losses of all that goes with the drive.

use std::fmt::Write as _;

use super::written::{GEAR, degrees, short};
use crate::robot::{ActuatorProperties, FileJoint, SharedDrive};

/// What the file says at the motor's joint, or at the length that an actuator between two points has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MotorSide {
    /// Largest torque, N m (N of a slide).
    pub effort: Option<f64>,
    /// Largest speed, rad/s (m/s).
    pub velocity: Option<f64>,
    /// N m s/rad (N s/m).
    pub damping: f64,
    /// N m (N).
    pub friction: f64,
    /// Position and velocity gain, N m/rad (N/m) and N m s/rad (N s/m).
    pub gains: [Option<f64>; 2],
    /// kg m² (kg).
    pub armature: f64,
}

impl MotorSide {
    /// With damping, friction and further armature of all that goes, there.
    pub(super) fn new(
        joint: &FileJoint,
        actuator: Option<&ActuatorProperties>,
        [damping, friction, of_pins]: [f64; 3],
    ) -> Self {
        let driven = actuator.and_then(|actuator| actuator.at_joint(|a| a.damping));
        Self {
            effort: joint.effort_with(actuator),
            velocity: joint.velocity,
            damping: damping + driven.unwrap_or(0.0),
            friction,
            gains: gains(actuator),
            armature: joint.armature_with(actuator).unwrap_or(0.0) + of_pins,
        }
    }

    /// Of an actuator between two points or on a tendon, by the length that it pulls.
    pub(crate) fn of_length(shared: &SharedDrive) -> Self {
        let (own, actuator) = (&shared.tendon, &shared.actuator);
        // A tendon's own bound is one of the actuator's force, before its gear.
        let bound = own.effort.map(|most| most * actuator.gear.abs());
        Self {
            effort: bound.into_iter().chain(actuator.effort()).reduce(f64::min),
            velocity: None,
            damping: own.damping_with(Some(actuator)).unwrap_or(0.0),
            friction: own.friction.unwrap_or(0.0),
            gains: gains(Some(actuator)),
            armature: own.armature_with(Some(actuator)).unwrap_or(0.0),
        }
    }

    /// The same of a motor that turns `turns` times as fast as the joint reads.
    #[must_use]
    pub fn geared(self, turns: f64) -> Self {
        let (plain, squared) = (turns.abs(), turns * turns);
        Self {
            effort: self.effort.map(|effort| effort / plain),
            velocity: self.velocity.map(|velocity| velocity * plain),
            damping: self.damping / squared,
            friction: self.friction / plain,
            gains: self.gains.map(|gain| gain.map(|gain| gain / squared)),
            armature: self.armature / squared,
        }
    }

    /// The table of a design, with the motor's stops where both are there, rad; empty where the file says nothing.
    pub(super) fn text(&self, stops: Option<[f64; 2]>) -> String {
        let lines = self.lines()
            + &stops.map_or(String::new(), |[low, high]| {
                format!("stops = [\"{}\", \"{}\"]\n", degrees(low), degrees(high))
            });
        if lines.is_empty() {
            return lines;
        }
        format!(
            "[actuator]                        # at the motor's joint; its losses with those of the pins and the driven joint\n{lines}"
        )
    }

    fn lines(&self) -> String {
        let mut lines = String::new();
        let above_zero = |x: f64| Some(x).filter(|x| *x > 0.0);
        for (key, figure, unit) in [
            ("peak_torque", self.effort.and_then(above_zero), "N m"),
            ("max_speed", self.velocity.and_then(above_zero), "rad/s"),
            ("damping", above_zero(self.damping), "N m s/rad"),
            ("friction", above_zero(self.friction), "N m"),
            ("position_gain", self.gains[0], "N m/rad"),
            ("velocity_gain", self.gains[1], "N m s/rad"),
        ] {
            if let Some(figure) = figure {
                let _ = writeln!(lines, "{key} = \"{} {unit}\"", short(figure));
            }
        }
        if let Some(armature) = above_zero(self.armature) {
            let _ = writeln!(
                lines,
                "# The file gives an armature alone, {} kg m2 at the motor's joint. Put in the real rotor and gear ratio:\n\
                 gear_ratio = {GEAR:.1}\nrotor_inertia = \"{} kg m2\"\nrotor_in_carrier = true",
                short(armature),
                short(armature / (GEAR * GEAR)),
            );
        }
        lines
    }
}

fn gains(actuator: Option<&ActuatorProperties>) -> [Option<f64>; 2] {
    [0, 1].map(|k: usize| actuator?.at_joint(|a| a.gains.and_then(|both| both.get(k).copied())))
}
