//! The table over the stroke as text, CSV and JSON.

use std::fmt::Write as _;

use serde::Serialize;

use crate::study::PoseRow;

use super::style::Style;

#[derive(Serialize)]
struct StrokeJson<'a> {
    schema: &'static str,
    design: &'a str,
    rows: Vec<RowJson>,
}

#[derive(Serialize)]
struct RowJson {
    motor_rad: f64,
    joint_rad: f64,
    crank_rad: f64,
    rocker_rad: f64,
    coupler_rad: f64,
    velocity_ratio: f64,
    transmission_ratio: f64,
    velocity_ratio_slope: f64,
    transmission_angle_rad: f64,
    angle_error_rad: f64,
}

/// `zero` holds crank and rocker angle of the zero pose, so that the absolute angles do not jump.
fn row(r: &PoseRow, zero: [f64; 2]) -> RowJson {
    RowJson {
        motor_rad: r.motor,
        joint_rad: r.joint,
        crank_rad: zero[0] + r.motor,
        rocker_rad: zero[1] + r.joint,
        coupler_rad: r.pose.coupler_angle(),
        velocity_ratio: r.pose.velocity_ratio(),
        transmission_ratio: r.pose.transmission_ratio(),
        velocity_ratio_slope: r.pose.velocity_ratio_slope(),
        transmission_angle_rad: r.pose.transmission_angle(),
        angle_error_rad: r.angle_error,
    }
}

/// `stroke --json`, schema `unloop/stroke/1`.
///
/// # Errors
/// None that a finding can cause; serialisation to a value is total for these types.
pub fn stroke_json(
    design: &str,
    zero: [f64; 2],
    rows: &[PoseRow],
) -> serde_json::Result<serde_json::Value> {
    let rows = rows.iter().map(|r| row(r, zero)).collect();
    serde_json::to_value(StrokeJson { schema: "unloop/stroke/1", design, rows })
}

/// `stroke --csv`: the fields of the JSON in its order, comma separated, a header line, shortest exact decimals; a
/// figure that is infinite is left empty.
#[must_use]
pub fn stroke_csv(zero: [f64; 2], rows: &[PoseRow]) -> String {
    let mut out = String::from(
        "motor_rad,joint_rad,crank_rad,rocker_rad,coupler_rad,velocity_ratio,transmission_ratio,\
         velocity_ratio_slope,transmission_angle_rad,angle_error_rad\n",
    );
    for r in rows.iter().map(|r| row(r, zero)) {
        let figures = [
            r.motor_rad,
            r.joint_rad,
            r.crank_rad,
            r.rocker_rad,
            r.coupler_rad,
            r.velocity_ratio,
            r.transmission_ratio,
            r.velocity_ratio_slope,
            r.transmission_angle_rad,
            r.angle_error_rad,
        ];
        let cells = figures.map(|x| if x.is_finite() { format!("{x:?}") } else { String::new() });
        let _ = writeln!(out, "{}", cells.join(","));
    }
    out
}

/// `stroke` for a person: degrees, and the ratio with the digits that one reads.
#[must_use]
pub fn stroke_text(design: &str, rows: &[PoseRow], style: Style) -> String {
    let mut out = format!(
        "{}: angles in deg, motor and joint counted from the zero pose\n",
        style.heading(design)
    );
    let [i, k] =
        if style.unicode { ["i = dφ/dψ", "dψ/dφ"] } else { ["dphi/dpsi", "dpsi/dphi"] };
    let _ = writeln!(
        out,
        "{:>9} {:>9} {i:>11} {k:>11} {:>12} {:>13} {:>12}",
        "motor", "joint", "slope /rad", "transmission", "angle error"
    );
    for r in rows {
        let _ = writeln!(
            out,
            "{:>9.3} {:>9.3} {:>11.6} {:>11.6} {:>12.6} {:>13.3} {:>12.5}",
            no_negative_zero(r.motor.to_degrees(), 5e-4),
            no_negative_zero(r.joint.to_degrees(), 5e-4),
            r.pose.transmission_ratio(),
            r.pose.velocity_ratio(),
            no_negative_zero(r.pose.velocity_ratio_slope(), 5e-7),
            r.pose.transmission_angle().to_degrees(),
            no_negative_zero(r.angle_error.to_degrees(), 5e-6),
        );
    }
    style.fit(out)
}

fn no_negative_zero(x: f64, below: f64) -> f64 {
    if x.abs() < below { 0.0 } else { x }
}
