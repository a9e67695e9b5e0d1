//! A drive of another kind than a planar four-bar, its stages beside each other, which a slider moves over the stroke where
//! scripts run.

use serde::Serialize;
use std::collections::BTreeMap;

use crate::report::blocks::{Table, cells};
use crate::report::check::facts;
use crate::report::drawing::{Place, Point, Skeleton, cursor, inline};
use crate::report::pictures::{self, DriveCurve, nearest_pose};
use crate::report::words::typeset;
use crate::study::{DriveCourse, DriveRow, Review};
use crate::units::fixed;

use super::Leaf;
use super::charts::{side_by_side, still};
use super::element::{fold, table};
use super::motion::slider;

/// What the script needs to move one design; pixels, and figures as they are printed.
#[derive(Serialize)]
struct Motion {
    views: Vec<View>,
    read: Vec<Vec<String>>,
    second: (&'static str, &'static str),
    dots: BTreeMap<String, Vec<Point>>,
}

/// The moving parts of one picture: by name, in every pose, their coordinates one after another.
#[derive(Serialize)]
struct View {
    id: String,
    parts: BTreeMap<&'static str, Vec<Vec<f64>>>,
}

/// Width and greatest height of a view, px.
const ROOM: Point = [560.0, 360.0];

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
    let views = pictures::skeletons(course, start, ROOM);
    let shown: Vec<String> =
        views.iter().enumerate().map(|(k, view)| figure(leaf, k, view)).collect();
    format!(
        "<div class=\"motion\" data-motion=\"{}\">\n<div class=\"stage\">\n{}<p class=\"hint\">{CAPTION}</p>\n{}</div>\n\
         <div class=\"figures\">\n{}{}</div>\n<script type=\"application/json\">{}</script>\n</div>\n{}",
        leaf.id,
        shown.concat(),
        slider(leaf.id, start, course.rows.len()),
        leaf.set(&[facts(&leaf.review.check)]),
        readout(&course.rows, start),
        data(leaf, course, &views),
        fold("Table over the stroke", &poses(&course.rows))
    )
}

fn view_id(leaf: &Leaf<'_>, k: usize) -> String {
    format!("{}-view-{k}", leaf.id)
}

fn figure(leaf: &Leaf<'_>, k: usize, view: &Skeleton) -> String {
    let id = view_id(leaf, k);
    let place = Place { id: &id, class: "drawing" };
    format!(
        "<figure id=\"{id}\">\n{}\n<figcaption>{}.</figcaption>\n</figure>\n",
        inline(&view.draw(), place),
        typeset(&view.title)
    )
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

fn readout(rows: &[DriveRow], start: usize) -> String {
    let one = |(k, (name, unit, value)): (usize, (&str, &str, String))| {
        format!(
            "<div><dt>{name}</dt><dd><span data-read=\"{k}\">{value}</span> <span class=\"unit\">{unit}</span></dd></div>\n"
        )
    };
    let read = rows.get(start).map(read).unwrap_or_default();
    let listed: String = read.into_iter().enumerate().map(one).collect();
    format!("<dl class=\"readout\">\n{listed}</dl>\n")
}

/// In a script element `<` would end it.
fn data(leaf: &Leaf<'_>, course: &DriveCourse, views: &[Skeleton]) -> String {
    let tenth = |x: f64| (x * 10.0).round() / 10.0;
    let view = |(k, view): (usize, &Skeleton)| {
        let flat = |points: Vec<Point>| points.into_iter().flatten().map(tenth).collect();
        let part = |(name, poses): (&'static str, Vec<Vec<Point>>)| {
            (name, poses.into_iter().map(flat).collect())
        };
        View { id: view_id(leaf, k), parts: view.placed().into_iter().map(part).collect() }
    };
    let dots = |curve: &DriveCurve| {
        let places = curve.points.iter().map(|point| curve.chart.frame().held(*point).map(tenth));
        (format!("{}-{}", leaf.id, curve.name), places.collect())
    };
    let review = leaf.review;
    let mut all = pictures::drive_curves(&review.check, &course.rows);
    all.extend(power_curves(review, course).into_iter().chain(rod_curve(review, course)));
    let motion = Motion {
        views: views.iter().enumerate().map(view).collect(),
        read: course.rows.iter().map(|row| read(row).into_iter().map(|r| r.2).collect()).collect(),
        second: ("joint", "deg"),
        dots: all.iter().map(dots).collect(),
    };
    serde_json::to_string(&motion).unwrap_or_default().replace('<', "\\u003c")
}

fn poses(rows: &[DriveRow]) -> String {
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
    let rows = rows.iter().step_by(10).map(figures).collect();
    table(&Table::new("Poses evenly spaced in joint angle", &names, rows))
}

/// Ratio, angles and margins.
pub(super) fn curves(leaf: &Leaf<'_>, course: &DriveCourse) -> String {
    shown(leaf, course, &pictures::drive_curves(&leaf.review.check, &course.rows))
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
    (curves.iter().map(|curve| curve.name).collect(), shown(leaf, course, &curves))
}

/// The rod's force over the stroke, where it is known.
pub(super) fn rod(leaf: &Leaf<'_>, course: &DriveCourse) -> String {
    let curve = rod_curve(leaf.review, course);
    shown(leaf, course, curve.as_slice())
}

/// Curves that follow the slider, side by side.
fn shown(leaf: &Leaf<'_>, course: &DriveCourse, curves: &[DriveCurve]) -> String {
    let shown = curves.iter().map(|curve| {
        let mut drawing = curve.chart.draw();
        if let Some(at) = curve.points.get(start(&course.rows)) {
            cursor(&mut drawing, &curve.chart.frame(), *at);
        }
        let row = |[x, y]: &Point| cells([fixed(*x, 2), (curve.shown)(*y)]);
        let rows = curve.points.iter().step_by(10).map(row).collect();
        let names = ["joint angle, deg", curve.chart.y.label.as_str()];
        let table = Table::new(curve.chart.title.clone(), &names, rows);
        still(leaf, curve.name, &drawing, &curve.chart.description, &table)
    });
    side_by_side(shown.collect())
}
