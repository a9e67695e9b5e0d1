//! Which picture shows which finding; the page and `--plot` share them.

mod angles;
mod builds;
mod drive_curves;
mod finger;
mod four_bar;
mod power;
mod region_builds;
mod region_maps;
mod region_powers;
mod region_views;
mod skeletons;

pub(super) use angles::{angle_error, ratio, transmission};
pub(super) use builds::{histogram, histogram_bins, ranking};
pub(super) use drive_curves::{drive_curves, drive_power_curves, drive_rod_curve};
pub(super) use finger::{grip, opening, tilt};
pub(super) use four_bar::linkage;
use power::Told;
pub(super) use power::{inertia, rod_force, speed, torque};
pub(super) use region_builds::{region_histograms, region_rankings};
pub(super) use region_maps::{angle_maps, motor_maps, rate_map, rod_force_maps, told};
pub(super) use region_powers::powers;
pub(super) use region_views::region_views;
pub(super) use skeletons::skeletons;

use crate::equivalence::{Criterion, Figure, Outcome};
use crate::study::{Check, DriveRow, PoseRow};

use super::drawing::{Axis, Chart, Layer, Point};

/// Width and height of a chart on the page, px.
pub(super) const CHART: Point = [440.0, 300.0];

const JOINT: &str = "joint angle from the zero pose, deg";

const JOINT_READING: &str = "joint reading, deg";

const MOTOR: &str = "motor angle from the zero pose, deg";

const MOTOR_READING: &str = "motor reading, deg";

/// What a figure of every pose comes to over the joint angle, or over the motor angle for a pad on the coupler.
#[derive(Clone, Copy)]
struct Course {
    /// The name of its picture, in ids.
    name: &'static str,
    /// What is plotted at a row; not a number where it is not known.
    height: fn(&PoseRow) -> f64,
    /// From the row's unit to the chart's.
    factor: f64,
    /// A plotted figure in words.
    shown: fn(f64) -> String,
}

impl Course {
    /// Reading (deg) and figure at a row.
    fn value(&self, row: &PoseRow) -> Point {
        let reading = if row.is_of_pad() { row.motor_reading } else { row.joint_reading };
        [reading.to_degrees(), self.factor * (self.height)(row)]
    }

    fn points(&self, rows: &[PoseRow]) -> Vec<Point> {
        rows.iter().map(|row| self.value(row)).collect()
    }

    /// With another factor.
    fn times(self, factor: f64) -> Self {
        Self { factor, ..self }
    }
}

/// A curve over the stroke and its chart.
#[derive(Clone, Debug)]
pub(super) struct Plot {
    /// The name of its picture, in ids.
    pub(super) name: &'static str,
    /// Reading (deg) and figure of every pose.
    pub(super) points: Vec<Point>,
    /// The figure where it is written.
    pub(super) shown: fn(f64) -> String,
    pub(super) chart: Chart,
}

impl Plot {
    fn new(
        check: &Check,
        (course, rows): (Course, &[PoseRow]),
        titles: [&str; 2],
        description: String,
        range: [f64; 2],
        layers: Vec<Layer>,
    ) -> Self {
        let titles = titles.map(str::to_owned);
        Self::of(check, (course, rows), Told { factor: 1.0, titles, description, range, layers })
    }

    fn of(check: &Check, (course, rows): (Course, &[PoseRow]), told: Told) -> Self {
        let points = course.times(told.factor).points(rows);
        Self { name: course.name, points, shown: course.shown, chart: chart(check, told) }
    }

    /// Is there a curve to see?
    pub(super) fn varies(&self) -> bool {
        self.constant().is_none()
    }

    /// The figure in words where it is the same in every pose, as it is printed.
    pub(super) fn constant(&self) -> Option<String> {
        let mut figures = self.points.iter().map(|point| (self.shown)(point[1]));
        let first = figures.next()?;
        figures.all(|figure| figure == first).then(|| {
            let label = &self.chart.y.label;
            let (what, unit) = label.rsplit_once(", ").unwrap_or((label, ""));
            format!("{what}: {first} {unit}").trim_end().to_owned() + " in every pose"
        })
    }

    /// Where every pose lies in the picture, px, by its name.
    pub(super) fn dots(&self) -> (&'static str, Vec<Point>) {
        let frame = self.chart.frame();
        (self.name, self.points.iter().map(|point| frame.held(*point)).collect())
    }
}

/// A chart over the stroke.
fn chart(check: &Check, told: Told) -> Chart {
    let (readings, stroke) = (&check.readings, &check.stroke);
    let (along, over) = match (check.is_of_pad(), readings.are_turns()) {
        (false, true) => (JOINT, readings.joint_range(stroke.joint)),
        (false, false) => (JOINT_READING, readings.joint_range(stroke.joint)),
        (true, true) => (MOTOR, readings.motor_range(stroke.motor)),
        (true, false) => (MOTOR_READING, readings.motor_range(stroke.motor)),
    };
    let [title, label] = told.titles;
    Chart {
        title,
        description: told.description,
        size: CHART,
        x: Axis { label: along.to_owned(), range: over.map(f64::to_degrees) },
        y: Axis { label, range: told.range },
        layers: told.layers,
    }
}

/// From the smallest to the largest of the finite figures, with `room` of that to each side.
fn range(figures: impl IntoIterator<Item = f64>, room: f64) -> [f64; 2] {
    let finite = figures.into_iter().filter(|x| x.is_finite());
    let [low, high] =
        finite.fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], x| [l.min(x), h.max(x)]);
    if low > high {
        return [0.0, 1.0];
    }
    let more = (room * (high - low)).max(1e-3 * low.abs().max(high.abs())).max(1e-9);
    [low - more, high + more]
}

/// A certified bound of a criterion that holds, over tolerance or over the drawn linkage.
pub(super) fn certified(check: &Check, criterion: Criterion) -> Option<f64> {
    // Where a criterion fails the bound only says where the search stopped.
    let c = check.criterion(criterion).filter(|c| c.outcome == Outcome::Holds)?;
    c.bound.map(Figure::value)
}

/// What no sheet could show, rad or share.
pub(super) const NOTHING: f64 = 1e-9;

/// The index of the row where what is `off` is smallest in size.
pub(super) fn nearest<R>(rows: &[R], off: impl Fn(&R) -> f64) -> usize {
    let sizes = rows.iter().map(|row| off(row).abs()).enumerate();
    sizes.min_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(index, _)| index)
}

/// The index of the row nearest to a joint turn.
pub(super) fn nearest_row(rows: &[PoseRow], joint: f64) -> usize {
    nearest(rows, |row| row.joint - joint)
}

/// The same of another drive than a planar four-bar.
pub(super) fn nearest_pose(rows: &[DriveRow], joint: f64) -> usize {
    nearest(rows, |row| row.joint - joint)
}
