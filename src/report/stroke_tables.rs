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
    motor_reading_rad: f64,
    joint_reading_rad: f64,
    torque_n_m: Option<f64>,
    speed_rad_per_s: Option<f64>,
    rod_force_n: Option<f64>,
    joint_inertia_kg_m2: Option<f64>,
}

/// `zero` holds crank and rocker angle of the zero pose, so that the absolute angles do not jump.
fn row(r: &PoseRow, zero: [f64; 2]) -> RowJson {
    let figures = &r.figures;
    let finite = |x: Option<f64>| x.filter(|x| x.is_finite());
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
        motor_reading_rad: r.motor_reading,
        joint_reading_rad: r.joint_reading,
        torque_n_m: finite(figures.torque),
        speed_rad_per_s: finite(figures.speed),
        rod_force_n: finite(figures.rod_force),
        joint_inertia_kg_m2: finite(figures.inertia),
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
/// figure that is infinite is left empty, a column that the design gives nothing for is left out.
#[must_use]
pub fn stroke_csv(zero: [f64; 2], rows: &[PoseRow]) -> String {
    let rows: Vec<RowJson> = rows.iter().map(|r| row(r, zero)).collect();
    let known = |column: &&(&str, Figure)| rows.iter().any(|r| (column.1)(r).is_some());
    let extra: Vec<_> = EXTRA.iter().filter(known).collect();
    let mut out = String::from(
        "motor_rad,joint_rad,crank_rad,rocker_rad,coupler_rad,velocity_ratio,transmission_ratio,\
         velocity_ratio_slope,transmission_angle_rad,angle_error_rad,motor_reading_rad,joint_reading_rad",
    );
    for (name, _) in &extra {
        let _ = write!(out, ",{name}");
    }
    out.push('\n');
    for r in &rows {
        let more = extra.iter().map(|(_, figure)| figure(r));
        let cells: Vec<String> = always(r).into_iter().map(Some).chain(more).map(cell).collect();
        let _ = writeln!(out, "{}", cells.join(","));
    }
    out
}

/// A figure of a row, where the design gives what it needs.
type Figure = fn(&RowJson) -> Option<f64>;

/// Columns that only some designs have.
const EXTRA: [(&str, Figure); 4] = [
    ("torque_n_m", |r| r.torque_n_m),
    ("speed_rad_per_s", |r| r.speed_rad_per_s),
    ("rod_force_n", |r| r.rod_force_n),
    ("joint_inertia_kg_m2", |r| r.joint_inertia_kg_m2),
];

fn always(r: &RowJson) -> [f64; 12] {
    [
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
        r.motor_reading_rad,
        r.joint_reading_rad,
    ]
}

fn cell(figure: Option<f64>) -> String {
    figure.filter(|x| x.is_finite()).map_or_else(String::new, |x| format!("{x:?}"))
}

/// `stroke` for a person: degrees, and the ratio with the digits that one reads; torque and rod force are for the
/// motor's peak torque, columns that the design gives nothing for are left out.
#[must_use]
pub fn stroke_text(design: &str, rows: &[PoseRow], style: Style) -> String {
    let mut out =
        format!("{}: angles in deg, motor and joint {}\n", style.heading(design), counted(rows));
    let extra: Vec<&Column> =
        COLUMNS.iter().filter(|c| rows.iter().any(|r| (c.figure)(r).is_some())).collect();
    let [i, k] =
        if style.unicode { ["i = dφ/dψ", "dψ/dφ"] } else { ["dphi/dpsi", "dpsi/dphi"] };
    let _ = write!(
        out,
        "{:>9} {:>9} {i:>11} {k:>11} {:>12} {:>13} {:>12}",
        "motor", "joint", "slope /rad", "transmission", "angle error"
    );
    for column in &extra {
        let _ = write!(out, " {:>13}", column.name);
    }
    out.push('\n');
    for r in rows {
        let _ = write!(
            out,
            "{:>9.3} {:>9.3} {:>11} {:>11.6} {:>12.6} {:>13.3} {:>12.5}",
            no_negative_zero(r.motor_reading.to_degrees(), 5e-4),
            no_negative_zero(r.joint_reading.to_degrees(), 5e-4),
            bounded(r.pose.transmission_ratio(), 6),
            no_negative_zero(r.pose.velocity_ratio(), 5e-7),
            no_negative_zero(r.pose.velocity_ratio_slope(), 5e-7),
            r.pose.transmission_angle().to_degrees(),
            no_negative_zero(r.angle_error.to_degrees(), 5e-6),
        );
        for Column { figure, decimals, .. } in &extra {
            let _ = match figure(r) {
                Some(x) => write!(out, " {:>13}", bounded(x, *decimals)),
                None => write!(out, " {:>13}", ""),
            };
        }
        out.push('\n');
    }
    style.fit(out)
}

/// What motor and joint count from.
fn counted(rows: &[PoseRow]) -> &'static str {
    let is_turn = |r: &PoseRow| {
        (r.motor_reading - r.motor).abs() < 1e-12 && (r.joint_reading - r.joint).abs() < 1e-12
    };
    if rows.iter().all(is_turn) {
        "counted from the zero pose"
    } else {
        "as read, in the drawing's sense"
    }
}

/// A column that only some designs have.
struct Column {
    name: &'static str,
    decimals: usize,
    figure: fn(&PoseRow) -> Option<f64>,
}

const COLUMNS: [Column; 4] = [
    Column { name: "torque N m", decimals: 3, figure: |r| r.figures.torque },
    Column { name: "speed rad/s", decimals: 3, figure: |r| r.figures.speed },
    Column { name: "rod force N", decimals: 1, figure: |r| r.figures.rod_force },
    Column { name: "inertia kg m2", decimals: 6, figure: |r| r.figures.inertia },
];

/// The figure, or a word where the rocker stands still.
fn bounded(x: f64, decimals: usize) -> String {
    if x.is_finite() { format!("{x:.decimals$}") } else { "unbounded".to_owned() }
}

fn no_negative_zero(x: f64, below: f64) -> f64 {
    if x.abs() < below { 0.0 } else { x }
}
