//! The drive from two sides, which two sliders move over pitch and roll where scripts run.

use serde::Serialize;
use std::collections::BTreeMap;

use crate::report::blocks::{Cell, Table};
use crate::report::drawing::{Place, Point, inline};
use crate::report::page::element::{fold, table};
use crate::report::page::motion::{View, tenth};
use crate::report::pictures;
use crate::report::region;
use crate::report::words::{prose, typeset};
use crate::study::{CoursePose, RegionCheck};
use crate::units::{fixed, percent};

use super::RegionLeaf;

/// Width and greatest height of a view, px.
const ROOM: Point = [440.0, 400.0];

const CAPTION: &str = "To scale. The carrier, which holds the motors and the pitch axis, stands still; pitch carries the roll \
    axis, roll carries the foot.";

/// What the script needs; pixels, and figures as they are printed.
#[derive(Serialize)]
struct Motion {
    views: Vec<View>,
    /// The read-outs of every pose, pitch outermost.
    read: Vec<Vec<String>>,
    /// What the sliders move.
    joints: [&'static str; 2],
    /// Where every pose lies in a map, by the map's id.
    dots: BTreeMap<String, Vec<Point>>,
}

/// The section's body.
pub(super) fn drive(leaf: &RegionLeaf<'_>) -> String {
    let (check, course) = (leaf.check(), leaf.course());
    let views = pictures::region_views(check, course, course.nearest_zero_reached(), ROOM);
    let id = |k: usize| format!("{}-view-{k}", leaf.id);
    let figures = views.iter().enumerate().map(|(k, view)| {
        let drawing = inline(&view.draw(), Place { id: &id(k), class: "drawing" });
        format!(
            "<figure id=\"{}\">\n{drawing}\n<figcaption>{}.</figcaption>\n</figure>\n",
            id(k),
            typeset(&view.title)
        )
    });
    let figures: String = figures.collect();
    // A pose that is not reached would shift all that come after it.
    let moves = !leaf.of.is_static && course.poses.iter().all(Option::is_some);
    let motion = moves.then(|| Motion {
        views: views.iter().enumerate().map(|(k, view)| View::of(id(k), view)).collect(),
        read: course.poses.iter().flatten().map(read).collect(),
        joints: ["pitch", "roll"],
        dots: [(format!("{}-rate", leaf.id), places(leaf))].into(),
    });
    let data = motion.map_or_else(String::new, |motion| {
        let text = serde_json::to_string(&motion).unwrap_or_default().replace('<', "\\u003c");
        format!("<script type=\"application/json\">{text}</script>\n")
    });
    format!(
        "<div class=\"motion\"{}>\n<div class=\"stage\">\n{figures}<p class=\"hint\">{CAPTION}</p>\n{}{}</div>\n\
         <div class=\"figures\">\n{}</div>\n{data}</div>\n{}",
        if moves { format!(" data-motion=\"{}\"", leaf.id) } else { String::new() },
        if moves { sliders(leaf) } else { String::new() },
        leaf.set(&[region::facts(check, true)]),
        readout(leaf),
        fold("Table over the region", &table(&poses(leaf)))
    )
}

/// Where the pose lies in a map over pitch and roll, in its figures.
pub(super) fn place(leaf: &RegionLeaf<'_>, pose: usize) -> Option<Point> {
    let joints = leaf.course().joints(pose)?;
    Some(leaf.check().readings(joints).map(f64::to_degrees))
}

fn places(leaf: &RegionLeaf<'_>) -> Vec<Point> {
    let frame = pictures::rate_map(leaf.check(), leaf.course()).frame();
    let all = 0..leaf.course().poses.len();
    all.filter_map(|pose| Some(frame.held(place(leaf, pose)?).map(tenth))).collect()
}

/// What is read out: name and unit.
fn names(check: &RegionCheck) -> Vec<(String, &'static str)> {
    let [one, two] = &check.drive.motors;
    let mut names = vec![("pitch".to_owned(), "deg"), ("roll".to_owned(), "deg")];
    names.extend([one, two].map(|motor| (format!("motor {}", motor.name), "deg")));
    names.extend(["pitch error", "roll error"].map(|name| (name.to_owned(), "deg")));
    names.push(("rate error".to_owned(), ""));
    let angles = [one, two].map(|motor| (format!("transmission angle, {}", motor.name), "deg"));
    names.extend(angles);
    names
}

fn read(CoursePose { row, .. }: &CoursePose) -> Vec<String> {
    let [pitch, roll] = row.joint_readings;
    let [first, second] = row.motor_readings;
    let angles = [pitch, roll, first, second].map(|angle| fixed(angle.to_degrees(), 2));
    let errors = row.angle_error.map(|error| fixed(error.to_degrees(), 3));
    let sides = row.transmission_angle.map(|side| fixed(side.to_degrees(), 2));
    let all = angles.into_iter().chain(errors).chain([percent(row.rate_error)]).chain(sides);
    all.map(|figure| typeset(&figure)).collect()
}

fn sliders(leaf: &RegionLeaf<'_>) -> String {
    let course = leaf.course();
    let counts = [course.pitches.len(), course.rolls.len()];
    let start = [course.nearest_zero / counts[1].max(1), course.nearest_zero % counts[1].max(1)];
    let one = |(name, (count, start)): (&str, (usize, usize))| {
        format!(
            "<label for=\"{0}-{name}\">Move {name}</label>\n\
             <input id=\"{0}-{name}\" type=\"range\" min=\"0\" max=\"{1}\" step=\"1\" value=\"{start}\">\n",
            leaf.id,
            count.saturating_sub(1)
        )
    };
    let both: String =
        ["pitch", "roll"].into_iter().zip(counts.into_iter().zip(start)).map(one).collect();
    format!(
        "<div class=\"slider needs-script\">\n{both}<p class=\"hint\">Arrow keys step, Home and End go to the ends. The map below follows.</p>\n</div>\n"
    )
}

fn readout(leaf: &RegionLeaf<'_>) -> String {
    let (check, course) = (leaf.check(), leaf.course());
    let shown = course.poses.get(course.nearest_zero).and_then(Option::as_ref);
    let Some(figures) = shown.map(read) else { return String::new() };
    let one = |(k, ((name, unit), value)): (usize, ((String, &str), String))| {
        format!(
            "<div><dt>{}</dt><dd><span data-read=\"{k}\">{value}</span> <span class=\"unit\">{unit}</span></dd></div>\n",
            prose(&name)
        )
    };
    let listed: String = names(check).into_iter().zip(figures).enumerate().map(one).collect();
    format!("<dl class=\"readout\">\n{listed}</dl>\n")
}

/// Every fourth pose in pitch and in roll.
fn poses(leaf: &RegionLeaf<'_>) -> Table {
    let (check, course) = (leaf.check(), leaf.course());
    let rows = course.rolls.len().max(1);
    let last = [course.pitches.len().saturating_sub(1), rows - 1];
    let is_told = |k: usize, last: usize| k.is_multiple_of(4) || k == last;
    let told = course
        .poses
        .iter()
        .enumerate()
        .filter(|(k, _)| is_told(k / rows, last[0]) && is_told(k % rows, last[1]));
    let told = told.filter_map(|(_, pose)| pose.as_ref());
    let names = names(check)
        .into_iter()
        .map(|(name, unit)| if unit.is_empty() { name } else { format!("{name}, {unit}") });
    let names: Vec<String> = names.collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    Table::new(
        "Poses over pitch and roll",
        &names,
        told.map(|pose| read(pose).into_iter().map(Cell::from).collect()).collect(),
    )
}
