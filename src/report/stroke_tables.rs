//! The table over the stroke as text, CSV and JSON.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde::Serialize;

use crate::study::PoseRow;
use crate::units::fixed;

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
const FIGURES: [(&str, Figure); 21] = [
    ("motor_rad", |r, _| Some(r.motor)),
    ("joint_rad", |r, _| Some(r.joint)),
    ("crank_rad", |r, zero| Some(zero[0] + r.motor)),
    ("rocker_rad", |r, zero| Some(zero[1] + r.joint)),
    ("coupler_rad", |r, _| Some(r.pose.coupler_angle())),
    ("velocity_ratio", |r, _| Some(r.pose.velocity_ratio())),
    ("transmission_ratio", |r, _| Some(r.pose.transmission_ratio())),
    ("velocity_ratio_slope", |r, _| Some(r.pose.velocity_ratio_slope())),
    ("transmission_angle_rad", |r, _| Some(r.pose.transmission_angle())),
    ("angle_error_rad", |r, _| angle_error(r)),
    ("motor_reading_rad", |r, _| Some(r.motor_reading)),
    ("joint_reading_rad", |r, _| Some(r.joint_reading)),
    ("torque_n_m", |r, _| finite(r.figures.torque)),
    ("speed_rad_per_s", |r, _| finite(r.figures.speed)),
    ("rod_force_n", |r, _| finite(r.figures.rod_force)),
    ("joint_inertia_kg_m2", |r, _| finite(r.figures.inertia)),
    ("opening_m", |r, _| r.pad.map(|pad| pad.opening)),
    ("opening_rate_m_per_rad", |r, _| r.pad.map(|pad| pad.pose.opening_rate)),
    ("tilt_rad", |r, _| r.pad.map(|pad| pad.pose.tilt)),
    ("shift_m", |r, _| r.pad.map(|pad| pad.pose.shift)),
    ("grip_n_per_n_m", |r, _| finite(r.pad.map(|pad| pad.pose.grip_per_torque()))),
];

/// Against the direct joint, which a pad on the coupler has none of.
fn angle_error(r: &PoseRow) -> Option<f64> {
    (!r.is_of_pad()).then_some(r.angle_error)
}

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
    let given = |column: &&Column| rows.iter().any(|row| (column.3)(row).is_some());
    let columns: Vec<&Column> = COLUMNS.iter().filter(given).collect();
    let line = |cell: &dyn Fn(&Column) -> String| {
        let cells = columns.iter().map(|column| format!("{:>1$}", cell(column), column.1));
        cells.collect::<Vec<_>>().join(" ") + "\n"
    };
    let mut out =
        format!("{}: angles in deg, motor and joint {}\n", style.heading(design), counted(rows));
    // Greek letters that ASCII spells out would push their columns aside.
    let short =
        |name: &'static str| if style.unicode { name } else { name.trim_start_matches("i = ") };
    out.push_str(&line(&|column| style.fit(short(column.0).to_owned())));
    for row in rows {
        let shown = |column: &Column| (column.3)(row).map_or(String::new(), |x| fixed(x, column.2));
        out.push_str(&line(&shown));
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

/// A column for a person: name, width, decimals, and the figure, of which some only some designs have.
type Column = (&'static str, usize, usize, fn(&PoseRow) -> Option<f64>);

const COLUMNS: [Column; 17] = [
    ("motor", 9, 3, |r| Some(r.motor_reading.to_degrees())),
    ("joint", 9, 3, |r| Some(r.joint_reading.to_degrees())),
    ("i = dφ/dψ", 11, 6, |r| Some(r.pose.transmission_ratio())),
    ("dψ/dφ", 11, 6, |r| Some(r.pose.velocity_ratio())),
    ("slope /rad", 12, 6, |r| Some(r.pose.velocity_ratio_slope())),
    ("transmission", 13, 3, |r| Some(r.pose.transmission_angle().to_degrees())),
    ("angle error", 12, 5, |r| angle_error(r).map(f64::to_degrees)),
    ("torque N m", 13, 3, |r| r.figures.torque),
    ("speed rad/s", 13, 3, |r| r.figures.speed),
    ("rod force N", 13, 1, |r| r.figures.rod_force),
    ("inertia kg m2", 13, 6, |r| r.figures.inertia),
    ("opening mm", 11, 3, |r| r.pad.map(|pad| 1e3 * pad.opening)),
    ("mm per rad", 11, 3, |r| r.pad.map(|pad| 1e3 * pad.pose.opening_rate)),
    ("tilt deg", 9, 4, |r| r.pad.map(|pad| pad.pose.tilt.to_degrees())),
    ("shift mm", 9, 3, |r| r.pad.map(|pad| 1e3 * pad.pose.shift)),
    ("N per N m", 10, 3, |r| r.pad.map(|pad| pad.pose.grip_per_torque())),
    ("grip N", 8, 2, |r| r.pad.and_then(|pad| pad.grip)),
];
