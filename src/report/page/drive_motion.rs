//! A drive of another kind than a planar four-bar, its stages beside each other, which a slider moves over the stroke where
//! scripts run.

use crate::report::blocks::Table;
use crate::report::drawing::Point;
use crate::report::pictures::{self, Plot};
use crate::report::words::typeset;
use crate::study::{DriveCourse, DriveRow};
use crate::units::fixed;

use super::Leaf;
use super::charts;
use super::motion::Moved;
use super::poses_shown::{sparse, start};

/// Width and greatest height of a view, px.
const ROOM: Point = [480.0, 340.0];

const CAPTION: &str = "Dashed: the drive at both ends of its stroke; dotted: the paths of the pins. The carrier, which holds \
    motor and joint, stands still.";

/// The section's body.
pub(super) fn drive(leaf: &Leaf<'_>, course: &DriveCourse) -> String {
    let start = start(&course.rows);
    let named = course.rows.first().map(read).unwrap_or_default();
    let figures = |row: &DriveRow| read(row).into_iter().map(|one| one.2).collect();
    Moved {
        views: pictures::skeletons(course, start, ROOM),
        caption: CAPTION,
        start,
        names: named.into_iter().map(|(name, unit, _)| (name.to_owned(), unit)).collect(),
        read: course.rows.iter().map(figures).collect(),
        second: ("joint", "deg"),
        dots: charts::all(leaf).iter().map(Plot::dots).collect(),
        table: poses(&course.rows),
    }
    .shown(leaf)
}

/// Name, unit and figure of what is read out, as far as the drive has it.
fn read(row: &DriveRow) -> Vec<(&'static str, &'static str, String)> {
    let deg = |x: f64| fixed(x.to_degrees(), 2);
    let all = [
        ("motor angle", "deg", Some(deg(row.motor_reading))),
        ("joint angle", "deg", Some(deg(row.joint_reading))),
        ("ratio i", "", Some(fixed(row.ratio, 5))),
        ("transmission angle", "deg", row.transmission_angle.map(deg)),
        ("margin to the dead point", "deg", row.crank_side.map(deg)),
        ("ball tilt", "deg", row.largest_tilt.map(deg)),
        ("travel", "mm", row.travel.map(|x| fixed(1e3 * x, 3))),
    ];
    let known = all.into_iter().filter_map(|(name, unit, figure)| Some((name, unit, figure?)));
    known.map(|(name, unit, figure)| (name, unit, typeset(&figure))).collect()
}

fn poses(rows: &[DriveRow]) -> Table {
    let named = rows.first().map(read).unwrap_or_default();
    let names: Vec<String> = named
        .iter()
        .map(
            |(name, unit, _)| {
                if unit.is_empty() { (*name).to_owned() } else { format!("{name}, {unit}") }
            },
        )
        .collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let figures = |row: &DriveRow| read(row).into_iter().map(|r| r.2.into()).collect();
    let rows = sparse(rows).map(|(_, row)| figures(row)).collect();
    Table::new("Poses evenly spaced in joint angle", &names, rows)
}
