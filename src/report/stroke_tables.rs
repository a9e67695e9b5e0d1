//! The table over the stroke as text, CSV and JSON.

use serde::Serialize;
use serde_json::Value;

use crate::study::PoseRow;
use crate::units::fixed;

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
        torque_n_m: figures.torque,
        speed_rad_per_s: figures.speed,
        rod_force_n: figures.rod_force,
        joint_inertia_kg_m2: figures.inertia,
    }
}

/// `stroke --json`, schema `unloop/stroke/1`.
///
/// # Errors
/// None that a finding can cause; serialisation to a value is total for these types.
pub fn stroke_json(design: &str, zero: [f64; 2], rows: &[PoseRow]) -> serde_json::Result<Value> {
    let rows = rows.iter().map(|r| row(r, zero)).collect();
    serde_json::to_value(StrokeJson { schema: "unloop/stroke/1", design, rows })
}

/// The fields of the JSON in its order.
const FIELDS: [&str; 16] = [
    "motor_rad",
    "joint_rad",
    "crank_rad",
    "rocker_rad",
    "coupler_rad",
    "velocity_ratio",
    "transmission_ratio",
    "velocity_ratio_slope",
    "transmission_angle_rad",
    "angle_error_rad",
    "motor_reading_rad",
    "joint_reading_rad",
    "torque_n_m",
    "speed_rad_per_s",
    "rod_force_n",
    "joint_inertia_kg_m2",
];

/// The last of them only some designs have.
const ALWAYS: usize = 12;

/// `stroke --csv`: the fields of the JSON in its order, comma separated, a header line, shortest exact decimals; a
/// figure that is infinite is left empty, a column that the design gives nothing for is left out.
#[must_use]
pub fn stroke_csv(zero: [f64; 2], rows: &[PoseRow]) -> String {
    let rows: Vec<Value> =
        rows.iter().filter_map(|r| serde_json::to_value(row(r, zero)).ok()).collect();
    let given = |(at, field): &(usize, &str)| {
        *at < ALWAYS || rows.iter().any(|row| figure(row, field).is_some())
    };
    let fields: Vec<&str> =
        FIELDS.into_iter().enumerate().filter(given).map(|(_, field)| field).collect();
    let line = |row: &Value| {
        let cells = fields.iter().map(|field| figure(row, field));
        cells.map(|x| x.map_or(String::new(), |x| format!("{x:?}"))).collect::<Vec<_>>().join(",")
    };
    let lines = std::iter::once(fields.join(",")).chain(rows.iter().map(line));
    lines.map(|line| line + "\n").collect()
}

fn figure(row: &Value, field: &str) -> Option<f64> {
    row.get(field).and_then(Value::as_f64)
}

/// `stroke` for a person: degrees, and the ratio with the digits that one reads; torque and rod force are for the
/// motor's peak torque, columns that the design gives nothing for are left out.
#[must_use]
pub fn stroke_text(design: &str, rows: &[PoseRow], style: Style) -> String {
    let given = |column: &&Column| rows.iter().any(|row| (column.figure)(row).is_some());
    let columns: Vec<&Column> = COLUMNS.iter().filter(given).collect();
    let line = |cell: &dyn Fn(&Column) -> String| {
        let cells = columns.iter().map(|column| format!("{:>1$}", cell(column), column.width));
        cells.collect::<Vec<_>>().join(" ") + "\n"
    };
    let mut out =
        format!("{}: angles in deg, motor and joint {}\n", style.heading(design), counted(rows));
    // Greek letters that ASCII spells out would push their columns aside.
    let short =
        |name: &'static str| if style.unicode { name } else { name.trim_start_matches("i = ") };
    out.push_str(&line(&|column| style.fit(short(column.name).to_owned())));
    for row in rows {
        let shown = |column: &Column| {
            (column.figure)(row).map_or(String::new(), |x| fixed(x, column.decimals))
        };
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

/// A column for a person; of some figures only some designs have any.
struct Column {
    name: &'static str,
    width: usize,
    decimals: usize,
    figure: fn(&PoseRow) -> Option<f64>,
}

const fn column(
    name: &'static str,
    width: usize,
    decimals: usize,
    figure: fn(&PoseRow) -> Option<f64>,
) -> Column {
    Column { name, width, decimals, figure }
}

const COLUMNS: [Column; 11] = [
    column("motor", 9, 3, |r| Some(r.motor_reading.to_degrees())),
    column("joint", 9, 3, |r| Some(r.joint_reading.to_degrees())),
    column("i = dφ/dψ", 11, 6, |r| Some(r.pose.transmission_ratio())),
    column("dψ/dφ", 11, 6, |r| Some(r.pose.velocity_ratio())),
    column("slope /rad", 12, 6, |r| Some(r.pose.velocity_ratio_slope())),
    column("transmission", 13, 3, |r| Some(r.pose.transmission_angle().to_degrees())),
    column("angle error", 12, 5, |r| Some(r.angle_error.to_degrees())),
    column("torque N m", 13, 3, |r| r.figures.torque),
    column("speed rad/s", 13, 3, |r| r.figures.speed),
    column("rod force N", 13, 1, |r| r.figures.rod_force),
    column("inertia kg m2", 13, 6, |r| r.figures.inertia),
];
