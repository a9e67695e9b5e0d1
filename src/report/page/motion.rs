//! The linkage to scale, which a slider moves over the stroke where scripts run.

use serde::Serialize;
use std::collections::BTreeMap;

use crate::report::blocks::{Table, cells, or_dash};
use crate::report::check::facts;
use crate::report::drawing::{LinkagePicture, Place, Point, inline};
use crate::report::pictures::{self, Plot};
use crate::report::words::typeset;
use crate::study::PoseRow;
use crate::units::fixed;

use super::Leaf;
use super::charts::{self, sparse, start};
use super::element::{fold, table};

/// What the script needs to move one design; pixels, and figures as they are printed.
#[derive(Serialize)]
struct Motion {
    /// P and Q of every row.
    p: Vec<Point>,
    q: Vec<Point>,
    /// Of a gripper: the pads.
    jaw: Option<Jaw>,
    /// The read-outs of every row.
    read: Vec<[String; 5]>,
    /// Name and unit of the second of them.
    second: (&'static str, &'static str),
    /// Where every row lies in each chart, by the chart's id.
    dots: BTreeMap<String, Vec<Point>>,
}

/// The pads of every row.
#[derive(Serialize)]
struct Jaw {
    /// Pad point and both ends of the pad's face.
    faces: Vec<[Point; 3]>,
    /// A point of the line in which the other finger is the mirror image, and its normal.
    mirror: Option<[Point; 2]>,
}

/// Width and greatest height of the drawing, px.
const ROOM: Point = [560.0, 420.0];

/// What is read out: name, unit.
const READ: [(&str, &str); 5] = [
    ("motor angle", "deg"),
    ("joint angle", "deg"),
    ("ratio i", ""),
    ("transmission angle", "deg"),
    ("rod force at peak torque", "N"),
];

const READ_OF_PAD: [(&str, &str); 5] = [
    ("motor angle", "deg"),
    ("opening", "mm"),
    ("tilt", "deg"),
    ("transmission angle", "deg"),
    ("grip of each pad at peak torque", "N"),
];

/// What is read out of one row: name, unit.
fn names(row: Option<&PoseRow>) -> [(&'static str, &'static str); 5] {
    if row.is_some_and(PoseRow::is_of_pad) { READ_OF_PAD } else { READ }
}

const CAPTION: &str = "To scale, the joint axis pointing at you. Dashed: the linkage at both ends of its stroke; dotted: \
    the paths of P and Q. The carrier, which holds motor and joint, stands still.";

const CAPTION_OF_PAD: &str = "To scale, the motor axis pointing at you. Each pad rides on a coupler. Dashed: the drawn finger \
    at both ends of its stroke; dotted: the paths of P and Q. The palm stands still.";

/// The section's body.
pub(super) fn linkage(leaf: &Leaf<'_>) -> String {
    let review = leaf.review;
    let start = start(&review.rows);
    let picture = pictures::linkage(&review.check, &review.rows, start, ROOM);
    let caption = if review.check.is_of_pad() { CAPTION_OF_PAD } else { CAPTION };
    let place = Place { id: &format!("{}-drawing", leaf.id), class: "drawing" };
    format!(
        "<div class=\"motion\" data-motion=\"{}\">\n<div class=\"stage\">\n<figure>\n{}\n<figcaption>{caption}</figcaption>\n</figure>\n\
         {}{}</div>\n<div class=\"figures\">\n{}{}</div>\n<script type=\"application/json\">{}</script>\n</div>\n{}",
        leaf.id,
        inline(&picture.draw(), place),
        slider(leaf.id, start, review.rows.len()),
        leaf.set(&[facts(&review.check)]),
        readout(&review.rows, start),
        parts(review.check.is_of_pad()),
        data(leaf, &picture),
        fold("Table over the stroke", &poses(leaf))
    )
}

pub(super) fn slider(id: &str, start: usize, rows: usize) -> String {
    format!(
        "<div class=\"slider\" hidden>\n<label for=\"{id}-slider\">Move it over the stroke</label>\n\
         <input id=\"{id}-slider\" type=\"range\" min=\"0\" max=\"{}\" step=\"1\" value=\"{start}\">\n\
         <p class=\"hint\">Arrow keys step, Home and End go to the ends of the stroke. The charts below follow.</p>\n</div>\n",
        rows.saturating_sub(1)
    )
}

fn read(row: &PoseRow) -> [String; 5] {
    if let Some(pad) = row.pad.filter(|pad| pad.is_on_coupler) {
        let figures = [
            fixed(row.motor_reading.to_degrees(), 2),
            fixed(1e3 * pad.opening, 2),
            fixed(pad.pose.tilt.to_degrees(), 4),
            fixed(row.pose.transmission_angle().to_degrees(), 2),
            or_dash(pad.grip, |grip| fixed(grip, 2)),
        ];
        return figures.map(|figure| typeset(&figure));
    }
    [
        fixed(row.motor_reading.to_degrees(), 2),
        fixed(row.joint_reading.to_degrees(), 2),
        fixed(row.pose.transmission_ratio(), 5),
        fixed(row.pose.transmission_angle().to_degrees(), 2),
        or_dash(row.figures.rod_force, |force| fixed(force, 1)),
    ]
    .map(|figure| typeset(&figure))
}

fn readout(rows: &[PoseRow], start: usize) -> String {
    let values = rows.get(start).map(read).unwrap_or_default();
    let has_force = rows.iter().any(|r| r.figures.rod_force.is_some());
    let one = |(k, ((name, unit), value)): (usize, (&(&str, &str), String))| {
        let unit = if value == "–" { "needs [actuator] peak_torque" } else { *unit };
        let note = if k == 4 && has_force { " <small>(pull +, thrust −)</small>" } else { "" };
        format!(
            "<div><dt>{name}{note}</dt><dd><span data-read=\"{k}\">{value}</span> <span class=\"unit\">{unit}</span></dd></div>\n"
        )
    };
    let named = names(rows.first());
    let listed: String = named.iter().zip(values).enumerate().map(one).collect();
    format!("<dl class=\"readout\">\n{listed}</dl>\n")
}

/// The look that each part has in the drawing.
fn parts(of_pad: bool) -> String {
    let one = |(name, pins): (&str, &str)| {
        format!(
            "<li><svg class=\"swatch\" viewBox=\"0 0 34 10\" aria-hidden=\"true\"><line class=\"i-{name}\" x1=\"4\" y1=\"5\" x2=\"30\" y2=\"5\"/></svg>\
             {name} {pins}</li>\n"
        )
    };
    let parts = [("ground", "A–B"), ("crank", "A–P"), ("coupler", "P–Q"), ("rocker", "B–Q")];
    let pads = [("finger", "with its pad point"), ("pad", "")].into_iter().filter(|_| of_pad);
    let listed: String = parts.into_iter().chain(pads).map(one).collect();
    format!("<ul class=\"parts\">\n{listed}</ul>\n")
}

/// In a script element `<` would end it.
fn data(leaf: &Leaf<'_>, picture: &LinkagePicture) -> String {
    let pins = picture.pins_placed();
    let tenth = |[x, y]: Point| [(x * 10.0).round() / 10.0, (y * 10.0).round() / 10.0];
    let rows = &leaf.review.rows;
    let plots = charts::all(leaf);
    let id = |plot: &Plot| format!("{}-{}", leaf.id, plot.course.name);
    let dots = |Plot { course, chart }: &Plot| {
        rows.iter().map(|row| tenth(chart.frame().held(course.value(row)))).collect()
    };
    let motion = Motion {
        p: pins.iter().map(|[p, _]| tenth(*p)).collect(),
        q: pins.iter().map(|[_, q]| tenth(*q)).collect(),
        jaw: picture.jaw_placed().map(|jaw| Jaw {
            faces: jaw.faces.into_iter().map(|face| face.map(tenth)).collect(),
            mirror: jaw.mirror.map(|mirror| [mirror.at, mirror.normal]),
        }),
        read: rows.iter().map(read).collect(),
        second: if leaf.review.check.is_of_pad() { ("opening", "mm") } else { ("joint", "deg") },
        dots: plots.iter().map(|plot| (id(plot), dots(plot))).collect(),
    };
    serde_json::to_string(&motion).unwrap_or_default().replace('<', "\\u003c")
}

fn poses(leaf: &Leaf<'_>) -> String {
    let rows = sparse(&leaf.review.rows).map(|row| cells(read(row))).collect();
    let named = names(leaf.review.rows.first()).map(|(name, unit)| format!("{name}, {unit}"));
    let names = named.each_ref().map(|name| name.trim_end_matches(", "));
    table(&Table::new("Poses evenly spaced in motor angle", &names, rows))
}
