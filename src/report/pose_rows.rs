//! What the table over the stroke tells of a pose of a planar four-bar.

use serde_json::{Map, Value};

use crate::study::{PadRow, PoseFigures, PoseRow};

use super::stroke_tables::{Column, Figure, OneJointRow, OverStroke, TableRow};

impl TableRow for PoseRow {
    const SCHEMA: &'static str = "unloop/stroke/1";
    const LEADING: usize = 1;
    type Sum = OverStroke;

    const FIELDS: &'static [(&'static str, Figure<Self>)] = &[
        ("motor_rad", |r| Some(r.motor)),
        ("joint_rad", |r| Some(r.joint)),
        ("crank_rad", |r| Some(r.crank)),
        ("rocker_rad", |r| Some(r.rocker)),
        ("coupler_rad", |r| Some(r.pose.coupler_angle())),
        ("velocity_ratio", |r| Some(r.velocity_ratio())),
        ("transmission_ratio", |r| Some(r.transmission_ratio())),
        ("velocity_ratio_slope", |r| Some(r.velocity_ratio_slope())),
        ("transmission_angle_rad", |r| Some(r.transmission_angle())),
        ("angle_error_rad", angle_error),
        ("motor_reading_rad", |r| Some(r.motor_reading)),
        ("joint_reading_rad", |r| Some(r.joint_reading)),
        ("torque_n_m", |r| finite(r.figures.torque)),
        ("speed_rad_per_s", |r| finite(r.figures.speed)),
        ("rod_force_n", |r| finite(r.figures.rod_force)),
        ("joint_inertia_kg_m2", |r| finite(r.figures.inertia)),
        ("opening_m", |r| r.pad.map(|pad| pad.opening)),
        ("opening_rate_m_per_rad", |r| r.pad.map(|pad| pad.pose.opening_rate)),
        ("tilt_rad", |r| r.pad.map(|pad| pad.pose.tilt)),
        ("shift_m", |r| r.pad.map(|pad| pad.pose.shift)),
        ("grip_n_per_n_m", |r| finite(r.pad.map(|pad| pad.pose.grip_per_torque()))),
    ];

    const ONLY_IN_CSV: &'static [(&'static str, Figure<Self>)] = &[];

    const COLUMNS: &'static [Column<Self>] = &[
        ("motor", "", 3, |r| Some(r.motor_reading.to_degrees())),
        ("joint", "", 3, |r| Some(r.joint_reading.to_degrees())),
        ("ratio i", "dφ/dψ", 6, |r| Some(r.transmission_ratio())),
        ("1/i", "dψ/dφ", 6, |r| Some(r.velocity_ratio())),
        ("its slope", "/rad", 6, |r| Some(r.velocity_ratio_slope())),
        ("transm.", "angle", 3, |r| Some(r.transmission_angle().to_degrees())),
        ("angle", "error", 5, |r| angle_error(r).map(f64::to_degrees)),
        ("torque", "N m", 3, |r| r.figures.torque),
        ("speed", "rad/s", 3, |r| r.figures.speed),
        ("rod", "N", 1, |r| r.figures.rod_force),
        ("inertia", "kg m2", 6, |r| r.figures.inertia),
        ("opening", "mm", 3, |r| r.pad.map(|pad| 1e3 * pad.opening)),
        ("its rate", "mm/rad", 3, |r| r.pad.map(|pad| 1e3 * pad.pose.opening_rate)),
        ("tilt", "deg", 4, |r| r.pad.map(|pad| pad.pose.tilt.to_degrees())),
        ("shift", "mm", 3, |r| r.pad.map(|pad| 1e3 * pad.pose.shift)),
        ("grip", "N/(N m)", 3, |r| r.pad.map(|pad| pad.pose.grip_per_torque())),
        ("grip", "N", 2, |r| r.pad.and_then(|pad| pad.grip)),
    ];

    fn add_to_json(&self, _: &mut Map<String, Value>) {}
}

impl OneJointRow for PoseRow {
    fn turns(&self) -> [f64; 2] {
        [self.motor, self.joint]
    }

    fn readings(&self) -> [f64; 2] {
        [self.motor_reading, self.joint_reading]
    }

    fn pad(&self) -> Option<&PadRow> {
        self.pad.as_ref().filter(|pad| pad.is_on_coupler)
    }

    fn ratio_and_error(&self) -> [f64; 2] {
        [self.transmission_ratio(), self.angle_error]
    }

    fn transmission_angle(&self) -> Option<f64> {
        Some(self.transmission_angle())
    }

    fn figures(&self) -> &PoseFigures {
        &self.figures
    }
}

/// Against the direct joint, which a pad on the coupler has none of.
fn angle_error(r: &PoseRow) -> Option<f64> {
    (!r.is_of_pad()).then_some(r.angle_error)
}

fn finite(figure: Option<f64>) -> Option<f64> {
    figure.filter(|x| x.is_finite())
}
