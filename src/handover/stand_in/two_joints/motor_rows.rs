//! What drives both joints: each joint's own actuator, or one tendon a motor.

use std::f64::consts::TAU;

use super::{TwoJointsAsked, plain};
use crate::design::TwoJointRobot;
use crate::drive::InputEnd;
use crate::dynamics::TwoJointTree;
use crate::handover::Form;
use crate::robot::{ActuatorProperties, JointActuator, Site, Tendon, Through};

/// A motor's reading as a straight line of both joints' readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::handover) struct MotorRow {
    /// Per reading of pitch and roll.
    pub(in crate::handover) figures: [f64; 2],
    /// Where both joints read 0, rad.
    pub(in crate::handover) at_zero: f64,
}

impl TwoJointsAsked<'_> {
    /// Both motors' rows.
    pub(in crate::handover) fn rows(&self, robot: &TwoJointRobot) -> [MotorRow; 2] {
        let t = self.direct.matrix;
        let row = |[p, r]: [f64; 2], sign: f64, reads: f64| {
            let figures = [sign * p, sign * r];
            let [by_p, by_r] = figures;
            let at_zero = reads - by_p * self.joint_reads[0] - by_r * self.joint_reads[1];
            MotorRow { figures, at_zero: at_zero + 0.0 }
        };
        let ([s1, s2], [m1, m2]) = (robot.motor_signs, self.motor_reads);
        [row([t.m11, t.m12], s1, m1), row([t.m21, t.m22], s2, m2)]
    }

    /// What each drives, pitch's or the first motor's before the other.
    pub(in crate::handover) fn actuators(
        &self,
        robot: &TwoJointRobot,
        tree: Option<&TwoJointTree>,
    ) -> [JointActuator; 2] {
        if !self.drives_motors() {
            return [0, 1].map(|axis| self.of_joint(robot, axis));
        }
        [0, 1].map(|k| {
            let (through, [gear, shift]) = match self.ask.form {
                Form::Direct => self.fixed_tendon(robot, tree, k),
                Form::Coupled => self.pin_to_pin(robot, k),
                Form::Loop => self.in_loop(robot, k),
            };
            self.of_motor(robot, k, through, [gear, shift])
        })
    }

    fn of_joint(&self, robot: &TwoJointRobot, axis: usize) -> JointActuator {
        let motor = self.motor();
        let pick = |m: nalgebra::Matrix2<f64>| if axis == 0 { m.m11 } else { m.m22 };
        let gains = motor.gains().map(|gains| gains.map(|gain| pick(self.at_joints(gain))));
        let force = self.boxes()[0].and_then(|pair| pair.get(axis).copied()).map(|e| [-e, e]);
        let target = self.limits().get(axis).copied();
        JointActuator {
            joint: robot.joints.get(axis).cloned().unwrap_or_default(),
            through: Through::Joint,
            properties: ActuatorProperties::of_motor(1.0, force, gains, target),
        }
    }

    fn of_motor(
        &self,
        robot: &TwoJointRobot,
        k: usize,
        through: Through,
        [gear, shift]: [f64; 2],
    ) -> JointActuator {
        let motor = self.motor();
        let target = motor.position_gain.and_then(|_| self.motor_range(robot, k));
        let joint = match self.ask.form {
            Form::Loop => self.loop_joint(robot, k),
            _ => robot.motors.get(k).cloned().unwrap_or_default(),
        };
        JointActuator {
            joint,
            through,
            properties: ActuatorProperties {
                shift,
                ..ActuatorProperties::of_motor(gear, motor.torques(), motor.gains(), target)
            },
        }
    }

    /// The motor's readings over the region, seen at the points of a grid.
    fn motor_range(&self, robot: &TwoJointRobot, k: usize) -> Option<[f64; 2]> {
        let (sign, reads) = (robot.motor_signs.get(k)?, self.motor_reads.get(k)?);
        let grid = self.grid();
        let turns = grid.turns().filter_map(|q| self.drive.motor_turns(q).ok()?.get(k).copied());
        let ends = turns.map(|turn| reads + sign * turn);
        ends.fold(None, |ends: Option<[f64; 2]>, x| {
            Some(ends.map_or([x, x], |[low, high]| [low.min(x), high.max(x)]))
        })
    }

    fn tendon(&self, robot: &TwoJointRobot, k: usize) -> Tendon {
        let name = robot.motors.get(k).map(|motor| format!("{motor}_tendon")).unwrap_or_default();
        Tendon { name, ..Tendon::default() }
    }

    /// A length that is the motor's reading, less what it is where both joints read 0.
    fn fixed_tendon(
        &self,
        robot: &TwoJointRobot,
        tree: Option<&TwoJointTree>,
        k: usize,
    ) -> (Through, [f64; 2]) {
        let motor = self.motor();
        let armature = match tree {
            Some(tree) => tree.motor_armatures.get(k).copied(),
            None => self.rotor(),
        };
        let tendon = Tendon {
            armature: armature.filter(|x| *x > 0.0),
            damping: motor.damping,
            friction: motor.friction,
            ..self.tendon(robot, k)
        };
        let [first, second] = self.rows(robot);
        let row = if k == 0 { first } else { second };
        let joints = robot.joints.iter().cloned().zip(row.figures).collect();
        (Through::Readings(tendon, joints), [1.0, row.at_zero])
    }

    /// A screw's length is that of the tendon from its pin to the foot; reading = motor_reads + sign · 2π/lead (L − L₀).
    fn pin_to_pin(&self, robot: &TwoJointRobot, k: usize) -> (Through, [f64; 2]) {
        let motor = self.motor();
        let name = robot.motors.get(k).cloned().unwrap_or_default();
        let Some([gear, shift]) = self.per_travel(robot, k) else {
            return (Through::Joint, [1.0, 0.0]);
        };
        let seen = |x: f64| x * gear * gear;
        let tendon = Tendon {
            armature: self.rotor().map(seen),
            damping: motor.damping.map(seen),
            friction: motor.friction.map(|x| x * gear.abs()),
            ..self.tendon(robot, k)
        };
        let leg = self.drive.geometry().legs.get(k);
        let [_, child] = self.frames();
        let on_child = |at| child.inverse_transform_point(&plain(at).into()).coords;
        let ends = leg.map(|leg| {
            let pin = match leg.input {
                InputEnd::Actuator { pin, .. } => plain(pin),
                _ => nalgebra::Vector3::zeros(),
            };
            let site = |link: &String, part: &str, at: nalgebra::Vector3<f64>| Site {
                link: link.clone(),
                name: format!("{name}_{part}"),
                at: at.into(),
            };
            let foot = site(&robot.child, "foot_pin", on_child(leg.foot));
            [site(&robot.parent, "carrier_pin", pin), foot]
        });
        match ends {
            Some(ends) => (Through::Points(tendon, ends), [gear, shift]),
            None => (Through::Joint, [gear, shift]),
        }
    }

    /// Motor reading per length of a screw, rad/m, and what the motor reads at no length.
    pub(in crate::handover) fn per_travel(
        &self,
        robot: &TwoJointRobot,
        k: usize,
    ) -> Option<[f64; 2]> {
        let leg = self.drive.geometry().legs.get(k)?;
        let InputEnd::Actuator { pin, lead, .. } = leg.input else { return None };
        let gear = robot.motor_signs.get(k)? * TAU / lead;
        Some([gear, self.motor_reads.get(k)? - gear * (leg.foot - pin).length()])
    }
}
