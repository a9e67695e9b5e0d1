//! The table over the stroke of a drive that is no planar four-bar, as text, CSV and JSON.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde::Serialize;
use serde_json::Value;

use crate::study::DriveRow;
use crate::units::fixed;

use super::json::json;
use super::style::Style;

#[derive(Serialize)]
#[serde(tag = "schema", rename = "unloop/stroke/1")]
struct StrokeJson<'a> {
    design: &'a str,
    rows: Vec<BTreeMap<&'static str, Value>>,
}

type Figure = fn(&DriveRow) -> Option<f64>;

/// The fields of JSON and CSV in the order of the latter, but for the tilts, which JSON has as a pair.
const FIGURES: [(&str, Figure); 20] = [
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

/// What CSV has for JSON's pair of tilts.
const TILTS: [(&str, Figure); 2] =
    [("ball_tilt_crank_rad", |r| r.ball_tilt[0]), ("ball_tilt_rocker_rad", |r| r.ball_tilt[1])];

/// Keys that only a finger has figures for.
const OF_A_FINGER: [&str; 5] =
    ["opening_m", "opening_rate_m_per_rad", "tilt_rad", "shift_m", "grip_n_per_n_m"];

/// `stroke --json`, schema `unloop/stroke/1`; figures that the kind does not have are null.
#[must_use]
pub fn drive_stroke_json(design: &str, rows: &[DriveRow]) -> String {
    let value =
        |figure: Option<f64>| figure.filter(|x| x.is_finite()).map_or(Value::Null, Value::from);
    let row = |r: &DriveRow| {
        let mut row: BTreeMap<&'static str, Value> =
            FIGURES.iter().map(|(key, figure)| (*key, value(figure(r)))).collect();
        let has_balls = r.ball_tilt.iter().any(Option::is_some);
        let tilts = r.ball_tilt.iter().map(|tilt| value(*tilt)).collect();
        row.insert("ball_tilt_rad", if has_balls { Value::Array(tilts) } else { Value::Null });
        row.extend(OF_A_FINGER.map(|key| (key, Value::Null)));
        row
    };
    json(&StrokeJson { design, rows: rows.iter().map(row).collect() })
}

/// `stroke --csv`: shortest exact decimals; columns that the kind does not have are left out.
#[must_use]
pub fn drive_stroke_csv(rows: &[DriveRow]) -> String {
    let known = |column: &&(_, Figure)| rows.iter().any(|r| (column.1)(r).is_some());
    let columns: Vec<&(&str, Figure)> = FIGURES.iter().chain(&TILTS).filter(known).collect();
    let names: Vec<&str> = columns.iter().map(|(name, _)| *name).collect();
    let mut out = names.join(",") + "\n";
    let cell = |figure: Option<f64>| {
        figure.filter(|x| x.is_finite()).map_or_else(String::new, |x| format!("{x:?}"))
    };
    for r in rows {
        let cells: Vec<String> = columns.iter().map(|(_, figure)| cell(figure(r))).collect();
        let _ = writeln!(out, "{}", cells.join(","));
    }
    out
}

/// A column for a person: name, width, decimals and the figure.
type Column = (&'static str, usize, usize, Figure);

const COLUMNS: [Column; 16] = [
    ("motor", 11, 3, |r| Some(r.motor_reading.to_degrees())),
    ("joint", 9, 3, |r| Some(r.joint_reading.to_degrees())),
    ("i = dφ/dψ", 11, 6, |r| Some(r.ratio)),
    ("slope /rad", 12, 6, |r| Some(r.slope)),
    ("transmission", 13, 3, |r| r.transmission_angle.map(f64::to_degrees)),
    ("angle error", 12, 5, |r| Some(r.angle_error.to_degrees())),
    ("crank side", 11, 3, |r| r.crank_side.map(f64::to_degrees)),
    ("tilt at P", 10, 3, |r| r.ball_tilt[0].map(f64::to_degrees)),
    ("tilt at Q", 10, 3, |r| r.ball_tilt[1].map(f64::to_degrees)),
    ("travel mm", 11, 4, |r| r.travel.map(|x| 1e3 * x)),
    ("mm per rad", 11, 4, |r| r.travel_rate.map(|x| 1e3 * x)),
    ("length mm", 11, 4, |r| r.length.map(|x| 1e3 * x)),
    ("torque N m", 13, 3, |r| r.figures.torque),
    ("speed rad/s", 13, 3, |r| r.figures.speed),
    ("rod force N", 13, 1, |r| r.figures.rod_force),
    ("inertia kg m2", 13, 6, |r| r.figures.inertia),
];

/// `stroke` for a person: degrees; torque and rod force are for the motor's peak torque; columns that the design gives nothing for
/// are left out.
#[must_use]
pub fn drive_stroke_text(design: &str, rows: &[DriveRow], style: Style) -> String {
    let given = |column: &&Column| rows.iter().any(|row| (column.3)(row).is_some());
    let columns: Vec<&Column> = COLUMNS.iter().filter(given).collect();
    let line = |cell: &dyn Fn(&Column) -> String| {
        let cells = columns.iter().map(|column| format!("{:>1$}", cell(column), column.1));
        cells.collect::<Vec<_>>().join(" ") + "\n"
    };
    let is_turn = |r: &DriveRow| {
        (r.motor_reading - r.motor).abs() < 1e-12 && (r.joint_reading - r.joint).abs() < 1e-12
    };
    let counted = if rows.iter().all(is_turn) {
        "counted from the zero pose"
    } else {
        "as read, in the drawing's sense"
    };
    let mut out = format!("{}: angles in deg, motor and joint {counted}\n", style.heading(design));
    let short =
        |name: &'static str| if style.unicode { name } else { name.trim_start_matches("i = ") };
    out.push_str(&line(&|column| style.fit(short(column.0).to_owned())));
    for row in rows {
        let shown = |column: &Column| (column.3)(row).map_or(String::new(), |x| fixed(x, column.2));
        out.push_str(&line(&shown));
    }
    style.fit(out)
}
