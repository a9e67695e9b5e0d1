//! What the table over the stroke tells of a pose of a drive that is no planar four-bar.

use serde_json::{Map, Value};

use crate::study::{DriveRow, PadRow, PoseFigures};

use super::stroke_tables::{Column, Figure, OneJointRow, OverStroke, TableRow};

/// Keys that only a finger has figures for.
const OF_A_FINGER: [&str; 5] =
    ["opening_m", "opening_rate_m_per_rad", "tilt_rad", "shift_m", "grip_n_per_n_m"];

impl TableRow for DriveRow {
    const SCHEMA: &'static str = "unloop/stroke/1";
    const LEADING: usize = 1;
    type Sum = OverStroke;

    const FIELDS: &'static [(&'static str, Figure<Self>)] = &[
        ("motor_rad", |r| Some(r.motor)),
        ("joint_rad", |r| Some(r.joint)),
        ("crank_rad", |r| r.crank),
        ("rocker_rad", |r| r.rocker),
        ("coupler_rad", |r| r.coupler),
        ("velocity_ratio", |r| Some(1.0 / r.ratio)),
        ("transmission_ratio", |r| Some(r.ratio)),
        // By the crank angle, as a four-bar's: d(1/i)/dφ = −(di/dψ)/i³.
        ("velocity_ratio_slope", |r| Some(-r.slope / r.ratio.powi(3))),
        ("transmission_angle_rad", |r| r.transmission_angle),
        ("angle_error_rad", |r| Some(r.angle_error)),
        ("motor_reading_rad", |r| Some(r.motor_reading)),
        ("joint_reading_rad", |r| Some(r.joint_reading)),
        ("crank_side_rad", |r| r.crank_side),
        ("travel_m", |r| r.travel),
        ("travel_rate_m_per_rad", |r| r.travel_rate),
        ("length_m", |r| r.length),
        ("torque_n_m", |r| r.figures.torque),
        ("speed_rad_per_s", |r| r.figures.speed),
        ("rod_force_n", |r| r.figures.rod_force),
        ("joint_inertia_kg_m2", |r| r.figures.inertia),
    ];

    const ONLY_IN_CSV: &'static [(&'static str, Figure<Self>)] = &[
        ("ball_tilt_crank_rad", |r| r.ball_tilt[0]),
        ("ball_tilt_rocker_rad", |r| r.ball_tilt[1]),
    ];

    const COLUMNS: &'static [Column<Self>] = &[
        ("motor", "", 3, |r| Some(r.motor_reading.to_degrees())),
        ("joint", "", 3, |r| Some(r.joint_reading.to_degrees())),
        ("ratio i", "dφ/dψ", 6, |r| Some(r.ratio)),
        ("its slope", "/rad", 6, |r| Some(r.slope)),
        ("transm.", "angle", 3, |r| r.transmission_angle.map(f64::to_degrees)),
        ("angle", "error", 5, |r| Some(r.angle_error.to_degrees())),
        ("crank", "side", 3, |r| r.crank_side.map(f64::to_degrees)),
        ("tilt", "at P", 3, |r| r.ball_tilt[0].map(f64::to_degrees)),
        ("tilt", "at Q", 3, |r| r.ball_tilt[1].map(f64::to_degrees)),
        ("travel", "mm", 4, |r| r.travel.map(|x| 1e3 * x)),
        ("its rate", "mm/rad", 4, |r| r.travel_rate.map(|x| 1e3 * x)),
        ("length", "mm", 4, |r| r.length.map(|x| 1e3 * x)),
        ("torque", "N m", 3, |r| r.figures.torque),
        ("speed", "rad/s", 3, |r| r.figures.speed),
        ("rod", "N", 1, |r| r.figures.rod_force),
        ("inertia", "kg m2", 6, |r| r.figures.inertia),
    ];

    fn add_to_json(&self, row: &mut Map<String, Value>) {
        let has_balls = self.ball_tilt.iter().any(Option::is_some);
        let tilts = self.ball_tilt.iter().map(|tilt| Value::from(*tilt)).collect();
        let tilts = if has_balls { Value::Array(tilts) } else { Value::Null };
        row.insert("ball_tilt_rad".to_owned(), tilts);
        row.extend(OF_A_FINGER.map(|key| (key.to_owned(), Value::Null)));
    }
}

impl OneJointRow for DriveRow {
    fn turns(&self) -> [f64; 2] {
        [self.motor, self.joint]
    }

    fn readings(&self) -> [f64; 2] {
        [self.motor_reading, self.joint_reading]
    }

    fn pad(&self) -> Option<&PadRow> {
        None
    }

    fn ratio_and_error(&self) -> [f64; 2] {
        [self.ratio, self.angle_error]
    }

    fn transmission_angle(&self) -> Option<f64> {
        self.transmission_angle
    }

    fn figures(&self) -> &PoseFigures {
        &self.figures
    }
}
