//! A drive to scale, which a slider moves over the stroke where scripts run; and what a planar four-bar shows with it.

use serde::Serialize;
use std::collections::BTreeMap;

use crate::report::blocks::{Cell, Table, or_dash};
use crate::report::check::facts;
use crate::report::drawing::{Place, Point, Skeleton, inline};
use crate::report::pictures::{self, Plot};
use crate::report::stroke_tables::OneJointRow;
use crate::report::words::typeset;
use crate::study::{DriveCourse, DriveRow, PoseRow};
use crate::units::fixed;

use super::Leaf;
use super::charts;
use super::element::{fold, table};
use super::poses_shown::{sparse, start};

/// What the script needs to move one design; pixels, and figures as they are printed.
#[derive(Serialize)]
struct Motion {
    views: Vec<View>,
    /// The read-outs of every row.
    read: Vec<Vec<String>>,
    /// Name and unit of the second of them.
    second: (&'static str, &'static str),
    /// Where every row lies in each chart, by the chart's id.
    dots: BTreeMap<String, Vec<Point>>,
}

/// The moving parts of one picture: by name, in every pose, their coordinates one after another.
#[derive(Serialize)]
pub(super) struct View {
    id: String,
    parts: BTreeMap<&'static str, Vec<Vec<f64>>>,
}

impl View {
    pub(super) fn of(id: String, view: &Skeleton) -> Self {
        let flat = |points: Vec<Point>| points.into_iter().flatten().map(tenth).collect();
        let part = |(name, poses): (_, Vec<_>)| (name, poses.into_iter().map(flat).collect());
        Self { id, parts: view.placed().into_iter().map(part).collect() }
    }
}

/// A drive that moves.
pub(super) struct Moved {
    pub(super) views: Vec<Skeleton>,
    pub(super) caption: &'static str,
    /// The row that it rests in.
    pub(super) start: usize,
    /// What is read out: a name with a hint, a unit; and the figures of every row.
    pub(super) names: Vec<(String, &'static str)>,
    pub(super) read: Vec<Vec<String>>,
    pub(super) second: (&'static str, &'static str),
    /// Pixels of every row in each chart, by the chart's name.
    pub(super) dots: Vec<(&'static str, Vec<Point>)>,
    pub(super) table: Table,
}

impl Moved {
    /// The section's body.
    pub(super) fn shown(&self, leaf: &Leaf<'_>) -> String {
        let pictures: Vec<String> =
            self.views.iter().enumerate().map(|(k, view)| self.figure(leaf, k, view)).collect();
        format!(
            "<div class=\"motion\" data-motion=\"{}\">\n<div class=\"stage\">\n{}<p class=\"hint\">{}</p>\n{}{}</div>\n\
             <div class=\"figures\">\n{}</div>\n<script type=\"application/json\">{}</script>\n</div>\n{}",
            leaf.id,
            pictures.concat(),
            self.caption,
            self.slider(leaf.id),
            leaf.set(&[facts(&leaf.review.check)]),
            self.readout(),
            self.data(leaf),
            fold("Table over the stroke", &table(&self.table))
        )
    }

    /// A view; where there are several each says how it is seen.
    fn figure(&self, leaf: &Leaf<'_>, k: usize, view: &Skeleton) -> String {
        let id = view_id(leaf, k);
        let place = Place { id: &id, class: "drawing" };
        let caption = if self.views.len() > 1 {
            format!("\n<figcaption>{}.</figcaption>", typeset(&view.title))
        } else {
            String::new()
        };
        format!("<figure id=\"{id}\">\n{}{caption}\n</figure>\n", inline(&view.draw(), place))
    }

    fn slider(&self, id: &str) -> String {
        format!(
            "<div class=\"slider needs-script\">\n<button type=\"button\" class=\"play\">Play</button>\n<label for=\"{id}-slider\">Move it over the stroke</label>\n\
             <input id=\"{id}-slider\" type=\"range\" min=\"0\" max=\"{}\" step=\"1\" value=\"{}\">\n\
             <p class=\"hint\">Arrow keys step, Home and End go to the ends of the stroke. The charts below follow.</p>\n</div>\n",
            self.read.len().saturating_sub(1),
            self.start
        )
    }

    fn readout(&self) -> String {
        let values = self.read.get(self.start).into_iter().flatten();
        let one = |(k, ((name, unit), value)): (usize, (&(String, &str), &String))| {
            let unit = if value == "–" { "needs [actuator] peak_torque" } else { *unit };
            format!(
                "<div><dt>{name}</dt><dd><span data-read=\"{k}\">{value}</span> <span class=\"unit\">{unit}</span></dd></div>\n"
            )
        };
        let listed: String = self.names.iter().zip(values).enumerate().map(one).collect();
        format!("<dl class=\"readout\">\n{listed}</dl>\n")
    }

    /// In a script element `<` would end it.
    fn data(&self, leaf: &Leaf<'_>) -> String {
        let view = |(k, view): (usize, &Skeleton)| View::of(view_id(leaf, k), view);
        let dots = |(name, places): &(&str, Vec<Point>)| {
            let places = places.iter().map(|place| place.map(tenth)).collect();
            (format!("{}-{name}", leaf.id), places)
        };
        let motion = Motion {
            views: self.views.iter().enumerate().map(view).collect(),
            read: self.read.clone(),
            second: self.second,
            dots: self.dots.iter().map(dots).collect(),
        };
        serde_json::to_string(&motion).unwrap_or_default().replace('<', "\\u003c")
    }
}

fn view_id(leaf: &Leaf<'_>, k: usize) -> String {
    format!("{}-view-{k}", leaf.id)
}

/// To a tenth of a pixel.
pub(super) fn tenth(x: f64) -> f64 {
    (x * 10.0).round() / 10.0
}

/// What is read out of a row: name, unit, figure.
pub(super) type Read = (&'static str, &'static str, String);

impl Moved {
    /// Of the poses in `rows`; `read` is what is read out of each, `table` what the
    /// table of some is called.
    pub(super) fn of<R: OneJointRow>(
        leaf: &Leaf<'_>,
        rows: &[R],
        read: impl Fn(&R) -> Vec<Read>,
        (views, caption): (Vec<Skeleton>, &'static str),
        table: &str,
    ) -> Self {
        let typeset = |row: &R| read(row).into_iter().map(|(.., figure)| typeset(&figure));
        let names = rows.first().map(&read).unwrap_or_default();
        let heads = names.iter().map(|(name, unit, _)| format!("{name}, {unit}"));
        let heads: Vec<String> = heads.map(|head| head.trim_end_matches(", ").to_owned()).collect();
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        let told = sparse(rows).map(|(_, row)| typeset(row).map(Cell::from).collect());
        let second =
            if leaf.review.check.is_of_pad() { ("opening", "mm") } else { ("joint", "deg") };
        Self {
            views,
            caption,
            start: start(rows),
            table: Table::new(table, &heads, told.collect()),
            read: rows.iter().map(|row| typeset(row).collect()).collect(),
            names: names.into_iter().map(|(name, unit, _)| (name.to_owned(), unit)).collect(),
            second,
            dots: charts::all(leaf).iter().map(Plot::dots).collect(),
        }
    }
}

/// Width and greatest height of the drawing, px.
const ROOM: Point = [480.0, 400.0];

const CAPTION: &str = "To scale, as its pins are drawn. Dashed: the linkage at both ends of its stroke; dotted: the paths \
    of P and Q. The carrier, which holds motor and joint, stands still.";

const CAPTION_OF_PAD: &str = "To scale, as its pins are drawn. Each pad rides on a coupler. Dashed: the drawn finger at both \
    ends of its stroke; dotted: the paths of P and Q. The palm stands still.";

/// The section's body for a planar four-bar.
pub(super) fn linkage(leaf: &Leaf<'_>, rows: &[PoseRow]) -> String {
    let check = &leaf.review.check;
    let views = vec![pictures::linkage(check, rows, start(rows), ROOM)];
    let caption = if check.is_of_pad() { CAPTION_OF_PAD } else { CAPTION };
    let table = "Poses evenly spaced in motor angle";
    let mut moved = Moved::of(leaf, rows, read, (views, caption), table);
    if rows.iter().any(|row| row.figures.rod_force.is_some())
        && let Some((name, _)) = moved.names.get_mut(4)
    {
        name.push_str(" <small>(pull +, thrust −)</small>");
    }
    moved.shown(leaf)
}

fn read(row: &PoseRow) -> Vec<Read> {
    let deg = |x: f64, digits| fixed(x.to_degrees(), digits);
    let motor = ("motor angle", "deg", deg(row.motor_reading, 2));
    let transmission = ("transmission angle", "deg", deg(row.transmission_angle(), 2));
    if let Some(pad) = row.pad() {
        let grip = or_dash(pad.grip, |grip| fixed(grip, 2));
        return vec![
            motor,
            ("opening", "mm", fixed(1e3 * pad.opening, 2)),
            ("tilt", "deg", deg(pad.pose.tilt, 4)),
            transmission,
            ("grip of each pad at peak torque", "N", grip),
        ];
    }
    let force = or_dash(row.figures.rod_force, |force| fixed(force, 1));
    vec![
        motor,
        ("joint angle", "deg", deg(row.joint_reading, 2)),
        ("ratio i", "", fixed(row.transmission_ratio(), 5)),
        transmission,
        ("rod force at peak torque", "N", force),
    ]
}

/// Width and greatest height of a view, px.
const ROOM_OF_A_VIEW: Point = [480.0, 340.0];

const CAPTION_OF_A_DRIVE: &str = "Dashed: the drive at both ends of its stroke; dotted: the paths of the pins. The carrier, which holds \
    motor and joint, stands still.";

/// The section's body for a drive of another kind, its stages beside each other.
pub(super) fn drive(leaf: &Leaf<'_>, course: &DriveCourse) -> String {
    let rows = &course.rows;
    let views = pictures::skeletons(course, start(rows), ROOM_OF_A_VIEW);
    let table = "Poses evenly spaced in joint angle";
    Moved::of(leaf, rows, read_of_drive, (views, CAPTION_OF_A_DRIVE), table).shown(leaf)
}

/// Name, unit and figure of what is read out, as far as the drive has it.
fn read_of_drive(row: &DriveRow) -> Vec<Read> {
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
    all.into_iter().filter_map(|(name, unit, figure)| Some((name, unit, figure?))).collect()
}
