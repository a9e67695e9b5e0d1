//! A drive of another kind than a planar four-bar, its stages beside each other, which a slider moves over the stroke where
//! scripts run.

use crate::report::blocks::{Table, cells};
use crate::report::drawing::{Point, cursor};
use crate::report::pictures::{self, DriveCurve, nearest_pose};
use crate::report::words::typeset;
use crate::study::{DriveCourse, DriveRow, REVIEW_POSES, Review};
use crate::units::fixed;

use super::Leaf;
use super::charts::{Drawn, still, varying};
use super::motion::Moved;

/// Width and greatest height of a view, px.
const ROOM: Point = [480.0, 340.0];

const CAPTION: &str = "Dashed: the drive at both ends of its stroke; dotted: the paths of the pins. The carrier, which holds \
    motor and joint, stands still.";

/// The row nearest to the zero pose where that lies on the stroke, else the middle one.
pub(super) fn start(rows: &[DriveRow]) -> usize {
    let ends = [rows.first(), rows.last()].map(|row| row.map_or(0.0, |row| row.motor));
    if ends[0] <= 0.0 && ends[1] >= 0.0 { nearest_pose(rows, 0.0) } else { rows.len() / 2 }
}

/// The section's body.
pub(super) fn drive(leaf: &Leaf<'_>, course: &DriveCourse) -> String {
    let start = start(&course.rows);
    let named = course.rows.first().map(read).unwrap_or_default();
    let dots = |curve: DriveCurve| {
        let frame = curve.chart.frame();
        (curve.name, curve.points.iter().map(|point| frame.held(*point)).collect())
    };
    let figures = |row: &DriveRow| read(row).into_iter().map(|one| one.2).collect();
    let all = curves_of(leaf.review, course).into_iter();
    let all = all.chain(power_curves(leaf.review, course)).chain(rod_curve(leaf.review, course));
    Moved {
        views: pictures::skeletons(course, start, ROOM),
        caption: CAPTION,
        start,
        names: named.into_iter().map(|(name, unit, _)| (name.to_owned(), unit)).collect(),
        read: course.rows.iter().map(figures).collect(),
        second: ("joint", "deg"),
        dots: all.filter(DriveCurve::varies).map(dots).collect(),
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

/// Every tenth row of those that are evenly spaced, with its index.
fn sparse(rows: &[DriveRow]) -> impl Iterator<Item = (usize, &DriveRow)> {
    let has_rest = rows.len() > REVIEW_POSES;
    let evenly = rows.iter().enumerate().filter(move |(_, row)| !has_rest || row.joint != 0.0);
    evenly.step_by(10)
}

fn curves_of(review: &Review, course: &DriveCourse) -> Vec<DriveCurve> {
    pictures::drive_curves(&review.check, &course.rows)
}

/// Ratio, angles and margins.
pub(super) fn curves(leaf: &Leaf<'_>, course: &DriveCourse) -> String {
    shown(leaf, course, curves_of(leaf.review, course))
}

/// Torque, speed and inertia.
fn power_curves(review: &Review, course: &DriveCourse) -> Vec<DriveCurve> {
    pictures::drive_power_curves(&review.check, &course.rows, review.loads.as_ref().ok())
}

/// The rod's force, of a drive that has one.
fn rod_curve(review: &Review, course: &DriveCourse) -> Option<DriveCurve> {
    pictures::drive_rod_curve(&review.check, &course.rows, review.loads.as_ref().ok())
}

/// Names and pictures of torque, speed and inertia.
pub(super) fn power(leaf: &Leaf<'_>, course: &DriveCourse) -> (Vec<&'static str>, String) {
    let curves = power_curves(leaf.review, course);
    (curves.iter().map(|curve| curve.name).collect(), shown(leaf, course, curves))
}

/// The rod's force over the stroke, where it is known.
pub(super) fn rod(leaf: &Leaf<'_>, course: &DriveCourse) -> String {
    shown(leaf, course, Vec::from_iter(rod_curve(leaf.review, course)))
}

/// Curves that follow the slider, side by side; a constant in words.
fn shown(leaf: &Leaf<'_>, course: &DriveCourse, curves: Vec<DriveCurve>) -> String {
    let start = start(&course.rows);
    let drawn = |curve: DriveCurve| Drawn {
        picture: curve.varies().then(|| picture(leaf, course, &curve, start)),
        constant: curve.constant(),
    };
    varying(leaf, curves.into_iter().map(drawn).collect())
}

fn picture(leaf: &Leaf<'_>, course: &DriveCourse, curve: &DriveCurve, start: usize) -> String {
    let mut drawing = curve.chart.draw();
    if let Some(at) = curve.points.get(start) {
        cursor(&mut drawing, &curve.chart.frame(), *at);
    }
    let at = |k: usize| curve.points.get(k).copied();
    let row = |[x, y]: Point| cells([fixed(x, 2), (curve.shown)(y)]);
    let rows = sparse(&course.rows).filter_map(|(k, _)| at(k)).map(row).collect();
    let names = ["joint angle, deg", curve.chart.y.label.as_str()];
    let table = Table::new(curve.chart.title.clone(), &names, rows);
    still(leaf, curve.name, &drawing, &curve.chart.y.label, &curve.chart.description, &table)
}
