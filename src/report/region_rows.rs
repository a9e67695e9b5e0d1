//! What the table over a region tells of a pose of a drive of two joints.

use serde_json::{Map, Value, json};

use crate::study::RegionRow;
use crate::units::percent;

use super::stroke_tables::{Column, Figure, Summary, TableRow, in_degrees, wider, worst};

impl TableRow for RegionRow {
    const SCHEMA: &'static str = "unloop/stroke_region/1";
    const LEADING: usize = 2;
    type Sum = OverRegion;

    const FIELDS: &'static [(&'static str, Figure<Self>)] =
        &[("pitch_rad", |r| Some(r.joints[0])), ("roll_rad", |r| Some(r.joints[1]))];

    const ONLY_IN_CSV: &'static [(&'static str, Figure<Self>)] = &[
        ("motor_1_rad", |r| Some(r.motors[0])),
        ("motor_2_rad", |r| Some(r.motors[1])),
        ("jacobian_1_pitch", |r| Some(r.jacobian[0][0])),
        ("jacobian_1_roll", |r| Some(r.jacobian[0][1])),
        ("jacobian_2_pitch", |r| Some(r.jacobian[1][0])),
        ("jacobian_2_roll", |r| Some(r.jacobian[1][1])),
        ("transmission_angle_1_rad", |r| Some(r.transmission_angle[0])),
        ("transmission_angle_2_rad", |r| Some(r.transmission_angle[1])),
        ("crank_side_1_rad", |r| r.crank_side[0]),
        ("crank_side_2_rad", |r| r.crank_side[1]),
        ("ball_tilt_1_rad", |r| r.ball_tilt[0]),
        ("ball_tilt_2_rad", |r| r.ball_tilt[1]),
        ("length_1_m", |r| r.length[0]),
        ("length_2_m", |r| r.length[1]),
        ("arm_1_pitch_m", |r| Some(r.arms[0][0])),
        ("arm_1_roll_m", |r| Some(r.arms[0][1])),
        ("arm_2_pitch_m", |r| Some(r.arms[1][0])),
        ("arm_2_roll_m", |r| Some(r.arms[1][1])),
        ("angle_error_pitch_rad", |r| Some(r.angle_error[0])),
        ("angle_error_roll_rad", |r| Some(r.angle_error[1])),
        ("rate_error", |r| Some(r.rate_error)),
        ("motor_reading_1_rad", |r| Some(r.motor_readings[0])),
        ("motor_reading_2_rad", |r| Some(r.motor_readings[1])),
        ("pitch_reading_rad", |r| Some(r.joint_readings[0])),
        ("roll_reading_rad", |r| Some(r.joint_readings[1])),
    ];

    const COLUMNS: &'static [Column<Self>] = &[
        ("pitch", "", 2, |r| Some(r.joint_readings[0].to_degrees())),
        ("roll", "", 2, |r| Some(r.joint_readings[1].to_degrees())),
        ("motor", "1", 3, |r| Some(r.motor_readings[0].to_degrees())),
        ("motor", "2", 3, |r| Some(r.motor_readings[1].to_degrees())),
        ("1 per", "pitch", 4, |r| Some(r.jacobian[0][0])),
        ("1 per", "roll", 4, |r| Some(r.jacobian[0][1])),
        ("2 per", "pitch", 4, |r| Some(r.jacobian[1][0])),
        ("2 per", "roll", 4, |r| Some(r.jacobian[1][1])),
        ("off in", "pitch", 3, |r| Some(r.angle_error[0].to_degrees())),
        ("off in", "roll", 3, |r| Some(r.angle_error[1].to_degrees())),
        ("rates", "off, %", 2, |r| Some(1e2 * r.rate_error)),
        ("transm.", "1", 1, |r| Some(r.transmission_angle[0].to_degrees())),
        ("transm.", "2", 1, |r| Some(r.transmission_angle[1].to_degrees())),
        ("crank", "side 1", 1, |r| r.crank_side[0].map(f64::to_degrees)),
        ("crank", "side 2", 1, |r| r.crank_side[1].map(f64::to_degrees)),
        ("tilt at", "crank 1", 1, |r| r.ball_tilt[0].map(f64::to_degrees)),
        ("tilt at", "crank 2", 1, |r| r.ball_tilt[1].map(f64::to_degrees)),
        ("length", "1, mm", 2, |r| r.length[0].map(|x| 1e3 * x)),
        ("length", "2, mm", 2, |r| r.length[1].map(|x| 1e3 * x)),
    ];

    fn add_to_json(&self, row: &mut Map<String, Value>) {
        let Value::Object(besides) = json!({
            "motor_rad": self.motors,
            "jacobian": self.jacobian,
            "transmission_angle_rad": self.transmission_angle,
            "crank_side_rad": self.crank_side,
            "ball_tilt_rad": self.ball_tilt,
            "length_m": self.length,
            "arm_m": self.arms,
            "angle_error_rad": self.angle_error,
            "rate_error": self.rate_error,
            "motor_reading_rad": self.motor_readings,
            "joint_reading_rad": self.joint_readings,
        }) else {
            return;
        };
        row.extend(besides);
    }
}

/// What a table over a region says.
pub struct OverRegion {
    pitch: [f64; 2],
    roll: [f64; 2],
    /// Largest angle error of either joint, rad, and largest share that rates are off.
    angle: f64,
    rate: f64,
    are_turns: bool,
}

impl Default for OverRegion {
    fn default() -> Self {
        let none = [f64::INFINITY, f64::NEG_INFINITY];
        Self { pitch: none, roll: none, angle: 0.0, rate: 0.0, are_turns: true }
    }
}

impl Summary<RegionRow> for OverRegion {
    fn add(&mut self, row: &RegionRow) {
        let [pitch, roll] = row.joint_readings;
        (self.pitch, self.roll) = (wider(self.pitch, pitch), wider(self.roll, roll));
        self.angle = row.angle_error.iter().fold(self.angle, |most, e| most.max(e.abs()));
        self.rate = self.rate.max(row.rate_error);
        let besides =
            [row.joint_readings[0] - row.joints[0], row.joint_readings[1] - row.joints[1]];
        self.are_turns &= besides.iter().all(|x| x.abs() < 1e-12);
    }

    fn answer(&self, poses: &str) -> String {
        let [pitch, roll] = [self.pitch, self.roll].map(in_degrees);
        let off = worst("angle error", self.angle);
        let rate = percent(self.rate);
        format!(
            "two direct joints: {off}, rates up to {rate} off{poses}, pitch {pitch} deg, roll {roll} deg"
        )
    }

    fn counted(&self) -> &'static str {
        if self.are_turns {
            "angles in deg, motors and joints counted from the zero pose; motors in the order of the file"
        } else {
            "angles in deg, motors and joints as read; motors in the order of the file"
        }
    }
}
