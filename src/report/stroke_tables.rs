//! The table over the stroke as text, CSV and JSON.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde::Serialize;

use crate::study::PoseRow;

use super::json::json;
use super::style::Style;

#[derive(Serialize)]
#[serde(tag = "schema", rename = "unloop/stroke/1")]
struct StrokeJson<'a> {
    design: &'a str,
    rows: Vec<BTreeMap<&'static str, Option<f64>>>,
}

/// A figure of a row, where the design gives what it needs; besides, crank and rocker angle of the zero pose, so that
/// absolute angles do not jump.
type Figure = fn(&PoseRow, [f64; 2]) -> Option<f64>;

/// The fields of JSON and CSV in the order of the latter.
const FIGURES: [(&str, Figure); 16] = [
    ("motor_rad", |r, _| Some(r.motor)),
    ("joint_rad", |r, _| Some(r.joint)),
    ("crank_rad", |r, zero| Some(zero[0] + r.motor)),
    ("rocker_rad", |r, zero| Some(zero[1] + r.joint)),
    ("coupler_rad", |r, _| Some(r.pose.coupler_angle())),
    ("velocity_ratio", |r, _| Some(r.pose.velocity_ratio())),
    ("transmission_ratio", |r, _| Some(r.pose.transmission_ratio())),
    ("velocity_ratio_slope", |r, _| Some(r.pose.velocity_ratio_slope())),
    ("transmission_angle_rad", |r, _| Some(r.pose.transmission_angle())),
    ("angle_error_rad", |r, _| Some(r.angle_error)),
    ("motor_reading_rad", |r, _| Some(r.motor_reading)),
    ("joint_reading_rad", |r, _| Some(r.joint_reading)),
    ("torque_n_m", |r, _| finite(r.figures.torque)),
    ("speed_rad_per_s", |r, _| finite(r.figures.speed)),
    ("rod_force_n", |r, _| finite(r.figures.rod_force)),
    ("joint_inertia_kg_m2", |r, _| finite(r.figures.inertia)),
];

fn finite(figure: Option<f64>) -> Option<f64> {
    figure.filter(|x| x.is_finite())
}

/// `stroke --json`, schema `unloop/stroke/1`; `zero` holds crank and rocker angle of the zero pose.
#[must_use]
pub fn stroke_json(design: &str, zero: [f64; 2], rows: &[PoseRow]) -> String {
    let row = |r| FIGURES.iter().map(|(key, figure)| (*key, figure(r, zero))).collect();
    json(&StrokeJson { design, rows: rows.iter().map(row).collect() })
}

/// `stroke --csv`: the fields of the JSON, comma separated, a header line, shortest exact decimals; a figure that is
/// infinite is left empty, a column that the design gives nothing for is left out.
#[must_use]
pub fn stroke_csv(zero: [f64; 2], rows: &[PoseRow]) -> String {
    let known = |column: &&(_, Figure)| rows.iter().any(|r| (column.1)(r, zero).is_some());
    let (names, figures): (Vec<&str>, Vec<Figure>) = FIGURES.iter().filter(known).copied().unzip();
    let mut out = names.join(",") + "\n";
    for r in rows {
        let cells: Vec<String> = figures.iter().map(|figure| cell(figure(r, zero))).collect();
        let _ = writeln!(out, "{}", cells.join(","));
    }
    out
}

fn cell(figure: Option<f64>) -> String {
    finite(figure).map_or_else(String::new, |x| format!("{x:?}"))
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
