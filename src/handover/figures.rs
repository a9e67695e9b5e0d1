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

use super::fault::EmitFault;
use super::joint_json::JointRow;
use super::limits::{JointLimit, readings};
use crate::design::{Actuator, Design, RobotJoint};
use crate::study::{Check, StrokeRow};

/// A figure that holds everywhere on the stroke, and one that is never exceeded on it; `None` where a
/// figure of the motor is missing or no finite bound exists.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Envelope {
    /// Reached everywhere on the stroke.
    pub guaranteed: Option<f64>,
    /// Exceeded nowhere on the stroke.
    pub never_exceed: Option<f64>,
}

/// The numbers of one direct joint, as the robot's software reads them.
#[derive(Clone, Debug, PartialEq)]
pub struct JointFigures {
    /// +1, or −1 where the design's axis is opposite to the robot joint's.
    pub sense: f64,
    /// Motor turn per joint turn, signed.
    pub ratio: f64,
    /// rad, about the robot joint's axis.
    pub offset: f64,
    /// +1 or −1.
    pub motor_sign: f64,
    /// Motor reading in the zero pose, rad.
    pub motor_reads: f64,
    /// Joint reading in the zero pose, rad.
    pub joint_reads: f64,
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
    pub fn new(
        design: &Design,
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
        let none = Actuator::default();
        let motor = design.actuator.as_ref().unwrap_or(&none);
        Ok(Self {
            sense,
            ratio,
            offset: sense * check.direct_joint.offset,
            motor_sign: robot.motor_sign,
            motor_reads: design.motor_reads,
            joint_reads: design.joint_reads,
            limit: readings(limits, design.joint_reads, sense),
            torque: torque(motor.peak_torque, torque_ratio),
            speed: speed(motor.max_speed, check.ratio_magnitude),
            plain_armature: plain_armature(motor, ratio),
            damping: motor.damping.map(|d| d * ratio * ratio),
            friction: motor.friction.map(|f| f * ratio.abs()),
            position_gain: motor.position_gain.map(|k| k * ratio * ratio),
            velocity_gain: motor.velocity_gain.map(|k| k * ratio * ratio),
        })
    }

    /// Motor reading per joint reading, signed.
    #[must_use]
    pub fn gear(&self) -> f64 {
        self.motor_sign * self.ratio
    }

    /// The motor's reading where the joint's is `joint`, rad.
    #[must_use]
    pub fn motor_reading(&self, joint: f64) -> f64 {
        self.motor_reads + self.gear() * (joint - self.joint_reads - self.offset)
    }

    /// The relation of the two readings, with its numbers; what adds 0 or multiplies by 1 is left out.
    #[must_use]
    pub fn formula(&self) -> String {
        let terms = [self.joint_reads, self.offset].map(less).concat();
        let joint = format!("joint reading{terms}");
        let gear = self.gear().to_string();
        let product = match (gear == "1", terms.is_empty()) {
            (true, _) => joint,
            (false, true) => format!("{gear} * {joint}"),
            (false, false) => format!("{gear} * ({joint})"),
        };
        let reads = self.motor_reads;
        let first = if reads == 0.0 { String::new() } else { format!("{reads} + ") };
        format!("motor reading = {first}{product}, in rad")
    }

    /// The table over the stroke in readings, rising joint reading.
    #[must_use]
    pub fn over_stroke(&self, rows: &[StrokeRow], motor: Option<&Actuator>) -> Vec<JointRow> {
        let mut rows: Vec<JointRow> = rows.iter().map(|row| self.row(row, motor)).collect();
        rows.sort_by(|a, b| a.joint_rad.total_cmp(&b.joint_rad));
        rows
    }

    fn row(&self, row: &StrokeRow, motor: Option<&Actuator>) -> JointRow {
        let i = row.transmission_ratio;
        JointRow {
            joint_rad: self.joint_reads + self.sense * row.joint,
            motor_rad: self.motor_reads + self.motor_sign * self.sense * row.motor,
            ratio: finite(i),
            torque_n_m: motor.and_then(|m| finite(m.peak_torque? * i.abs() * row.left)),
            speed_rad_per_s: motor.and_then(|m| finite(m.max_speed? / i.abs())),
            armature_kg_m2: motor.and_then(|m| finite(plain_armature(m, i)?)),
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
pub(super) fn sense(robot: &RobotJoint) -> f64 {
    if robot.mirrored { -1.0 } else { 1.0 }
}

/// Nothing is guaranteed where the pins lock the drive.
fn torque(peak: Option<f64>, [smallest, largest]: [f64; 2]) -> Envelope {
    Envelope {
        guaranteed: peak.filter(|_| smallest > 0.0).and_then(|t| finite(t * smallest)),
        never_exceed: peak.and_then(|t| finite(t * largest)),
    }
}

fn speed(fastest: Option<f64>, [smallest, largest]: [f64; 2]) -> Envelope {
    let over = |i: f64| fastest.filter(|_| i.is_finite()).and_then(|v| finite(v / i));
    Envelope { guaranteed: over(largest), never_exceed: over(smallest) }
}

fn plain_armature(motor: &Actuator, ratio: f64) -> Option<f64> {
    let n = motor.gear_ratio? * ratio;
    Some(n * n * motor.rotor_inertia?)
}

fn finite(x: f64) -> Option<f64> {
    x.is_finite().then_some(x)
}
