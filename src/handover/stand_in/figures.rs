//! The numbers of one direct joint, mapped from the motor's side to the joint and into the readings of
//! the robot's software.
//!
//! The design counts turns from the zero pose about its own axis; the robot's joint counts readings about
//! the axis in its file. Where the drawing is seen from the other side (`mirrored`) the two axes are
//! opposite: the sense s = −1, and a reading is `joint_reads` + s · turn. The offset goes with the
//! joint's axis and is multiplied by s; the ratio of two turns about the same axis stays as it is. So,
//! with the motor's own sign:
//!
//! motor reading − `motor_reads` = `motor_sign` · ratio · (joint reading − `joint_reads` − s · offset)

use super::limits::{JointLimit, readings};
use crate::design::{Actuator, Design, RobotJoint};
use crate::handover::fault::EmitFault;
use serde::Serialize;

use crate::study::{Check, StrokeRow};

/// A figure that holds everywhere on the stroke, and one that is never exceeded on it; `None` where a
/// figure of the motor is missing or no finite bound exists.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Envelope {
    /// Reached everywhere on the stroke.
    pub guaranteed: Option<f64>,
    /// Exceeded nowhere on the stroke.
    pub never_exceed: Option<f64>,
}

/// One pose of the linkage: readings, and the figures of the linkage itself there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct JointRow {
    /// Joint reading; NaN, `null` in JSON, of a slide.
    pub joint_rad: f64,
    /// Joint reading of a slide.
    pub joint_m: Option<f64>,
    /// Motor reading.
    pub motor_rad: f64,
    /// Transmission ratio, signed, geometric.
    pub ratio: Option<f64>,
    /// At the joint for the motor's peak torque, after friction in the pins.
    pub torque_n_m: Option<f64>,
    /// Largest speed of the joint.
    pub speed_rad_per_s: Option<f64>,
    /// n²J at the joint.
    pub armature_kg_m2: Option<f64>,
    /// Distance of a gripper's pad faces.
    pub opening_m: Option<f64>,
    /// Force of each pad per motor torque, without loss.
    pub grip_n_per_n_m: Option<f64>,
    /// Force of each pad at the motor's peak torque, without loss.
    pub grip_n: Option<f64>,
}

/// The numbers of one direct joint, as the robot's software reads them.
#[derive(Clone, Debug, PartialEq)]
pub struct JointFigures {
    /// How they go together under the direct joint.
    pub readings: Readings,
    /// Readings, the smaller first.
    pub limit: [JointLimit; 2],
    /// At the joint, N m.
    pub torque: Envelope,
    /// Of the joint, rad/s.
    pub speed: Envelope,
    /// n²J at the joint, kg m².
    pub plain_armature: Option<f64>,
    /// At the joint, N m s/rad.
    pub damping: Option<f64>,
    /// At the joint, N m.
    pub friction: Option<f64>,
    /// At the joint, N m/rad.
    pub position_gain: Option<f64>,
    /// At the joint, N m s/rad.
    pub velocity_gain: Option<f64>,
}

impl JointFigures {
    /// The figures of one joint of the design; `limits` are turns about the design's axis, `torque_ratio` as
    /// [`crate::study::torque_ratio`] has it.
    ///
    /// # Errors
    /// When the direct joint's ratio is 0 or not finite.
    pub fn new<G>(
        design: &Design<G>,
        check: &Check,
        robot: &RobotJoint,
        limits: [JointLimit; 2],
        torque_ratio: [f64; 2],
    ) -> Result<Self, EmitFault> {
        let ratio = check.direct_joint.ratio;
        if !ratio.is_normal() {
            return Err(EmitFault::NoRatio);
        }
        let sense = sense(robot);
        let at_joint = AtJoint { ratio, torque: torque_ratio, speed: check.ratio_magnitude };
        let motor = design.actuator.clone().unwrap_or_default();
        Ok(Self {
            readings: Readings {
                motor_sign: robot.motor_sign,
                sense,
                ratio,
                offset: sense * check.direct_joint.offset,
                motor: design.motor_reads,
                joint: design.joint_reads,
            },
            limit: readings(limits, design.joint_reads, sense),
            torque: at_joint.torque(motor.peak_torque),
            speed: at_joint.speed(motor.max_speed),
            plain_armature: plain_armature(&motor, ratio),
            damping: motor.damping.map(|d| at_joint.squared(d)),
            friction: motor.friction.map(|f| at_joint.plain(f)),
            position_gain: motor.position_gain.map(|k| at_joint.squared(k)),
            velocity_gain: motor.velocity_gain.map(|k| at_joint.squared(k)),
        })
    }

    /// The relation of the two readings, with its numbers; what adds 0 or multiplies by 1 is left out.
    #[must_use]
    pub fn formula(&self) -> String {
        let Readings { motor: reads, joint, offset, .. } = self.readings;
        let terms = [joint, offset].map(less).concat();
        let joint = format!("joint reading{terms}");
        let gear = self.readings.gear().to_string();
        let product = match (gear == "1", terms.is_empty()) {
            (true, _) => joint,
            (false, true) => format!("{gear} * {joint}"),
            (false, false) => format!("{gear} * ({joint})"),
        };
        let first = if reads == 0.0 { String::new() } else { format!("{reads} + ") };
        format!("motor reading = {first}{product}, in rad")
    }

    /// One pose in readings.
    pub(in crate::handover) fn row(&self, row: &StrokeRow, motor: Option<&Actuator>) -> JointRow {
        let i = row.transmission_ratio;
        JointRow {
            joint_rad: self.readings.joint_at_turn(row.joint),
            motor_rad: self.readings.motor_at_turn(row.motor),
            ratio: finite(i),
            torque_n_m: motor.and_then(|m| finite(m.peak_torque? * i.abs() * row.left)),
            speed_rad_per_s: motor.and_then(|m| finite(m.max_speed? / i.abs())),
            armature_kg_m2: motor.and_then(|m| finite(plain_armature(m, i)?)),
            joint_m: None,
            opening_m: None,
            grip_n_per_n_m: None,
            grip_n: None,
        }
    }
}

/// ` - 0.2`, ` + 0.2`, or nothing for 0.
fn less(x: f64) -> String {
    match x {
        0.0 => String::new(),
        x if x < 0.0 => format!(" + {}", -x),
        x => format!(" - {x}"),
    }
}

/// +1, or −1 where the design's axis is opposite to the robot joint's.
#[must_use]
pub(in crate::handover) fn sense(robot: &RobotJoint) -> f64 {
    if robot.mirrored { -1.0 } else { 1.0 }
}

/// What figures of the motor become at the joint.
#[derive(Clone, Copy, Debug)]
pub(in crate::handover) struct AtJoint {
    /// Of the direct joint.
    pub(in crate::handover) ratio: f64,
    /// Smallest and largest joint torque per motor torque over the stroke.
    pub(in crate::handover) torque: [f64; 2],
    /// Smallest and largest |i| over the stroke.
    pub(in crate::handover) speed: [f64; 2],
}

impl AtJoint {
    /// Nothing is guaranteed where the pins lock the drive.
    pub(in crate::handover) fn torque(&self, peak: Option<f64>) -> Envelope {
        let [smallest, largest] = self.torque;
        Envelope {
            guaranteed: peak.filter(|_| smallest > 0.0).and_then(|t| finite(t * smallest)),
            never_exceed: peak.and_then(|t| finite(t * largest)),
        }
    }

    pub(in crate::handover) fn speed(&self, fastest: Option<f64>) -> Envelope {
        let [smallest, largest] = self.speed;
        let over = |i: f64| fastest.filter(|_| i.is_finite()).and_then(|v| finite(v / i));
        Envelope { guaranteed: over(largest), never_exceed: over(smallest) }
    }

    /// Of friction.
    pub(in crate::handover) fn plain(&self, figure: f64) -> f64 {
        figure * self.ratio.abs()
    }

    /// Of damping, inertia and gains.
    pub(in crate::handover) fn squared(&self, figure: f64) -> f64 {
        figure * self.ratio * self.ratio
    }
}

/// The relation of the two readings under the direct joint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Readings {
    /// +1 or −1.
    pub motor_sign: f64,
    /// +1, or −1 where the design's axis is opposite to the robot joint's.
    pub sense: f64,
    /// Motor turn per joint turn, signed.
    pub ratio: f64,
    /// About the robot joint's axis, rad.
    pub offset: f64,
    /// The motor's in the zero pose, rad.
    pub motor: f64,
    /// The joint's in the zero pose, rad.
    pub joint: f64,
}

impl Readings {
    /// The motor's per the joint's, signed.
    #[must_use]
    pub fn gear(&self) -> f64 {
        self.motor_sign * self.ratio
    }

    /// The motor's where the joint's is `joint`, rad.
    #[must_use]
    pub fn motor_at(&self, joint: f64) -> f64 {
        self.motor + self.gear() * (joint - self.joint - self.offset)
    }

    /// The motor's at a motor turn about the design's axis, rad.
    pub(in crate::handover) fn motor_at_turn(&self, turn: f64) -> f64 {
        self.motor + self.motor_sign * self.sense * turn
    }

    /// The joint's at a joint turn about the design's axis, rad.
    pub(in crate::handover) fn joint_at_turn(&self, turn: f64) -> f64 {
        self.joint + self.sense * turn
    }
}

pub(in crate::handover) fn plain_armature(motor: &Actuator, ratio: f64) -> Option<f64> {
    let n = motor.gear_ratio? * ratio;
    Some(n * n * motor.rotor_inertia?)
}

fn finite(x: f64) -> Option<f64> {
    x.is_finite().then_some(x)
}
