//! Which picture shows which finding; the page and `--plot` share them.

mod angles;
mod builds;
mod power;

pub(super) use angles::{angle_error, ratio, transmission};
pub(super) use builds::{histogram, histogram_bins, ranking};
pub(super) use power::{inertia, rod_force, speed, torque};

use crate::equivalence::{Criterion, Figure, Outcome};
use crate::study::{Check, PoseRow};

use super::drawing::{Axis, Chart, Layer, LinkagePicture, Point};

/// Width and height of a chart on the page, px.
pub(super) const CHART: Point = [440.0, 300.0];

const JOINT: &str = "joint angle from the zero pose, deg";

const JOINT_READING: &str = "joint reading, deg";

/// What a figure of every pose comes to over the joint angle.
#[derive(Clone, Copy)]
pub(super) struct Course {
    /// The name of its picture, in ids.
    pub(super) name: &'static str,
    /// What is plotted at a row; not a number where it is not known.
    height: fn(&PoseRow) -> f64,
    /// From the row's unit to the chart's.
    factor: f64,
    /// A plotted figure in words.
    pub(super) shown: fn(f64) -> String,
}

impl Course {
    /// Joint reading (deg) and figure at a row.
    pub(super) fn value(&self, row: &PoseRow) -> Point {
        [row.joint_reading.to_degrees(), self.factor * (self.height)(row)]
    }

    fn points(&self, rows: &[PoseRow]) -> Vec<Point> {
        rows.iter().map(|row| self.value(row)).collect()
    }

    /// The largest size of a finite figure.
    fn largest(&self, rows: &[PoseRow]) -> f64 {
        let sizes = rows.iter().map(|row| self.value(row)[1].abs()).filter(|y| y.is_finite());
        sizes.fold(0.0, f64::max)
    }

    /// With another factor.
    fn times(self, factor: f64) -> Self {
        Self { factor, ..self }
    }
}

/// A course and its chart.
#[derive(Clone)]
pub(super) struct Plot {
    pub(super) course: Course,
    pub(super) chart: Chart,
}

impl Plot {
    fn new(
        check: &Check,
        course: Course,
        [title, label]: [&str; 2],
        description: String,
        range: [f64; 2],
        layers: Vec<Layer>,
    ) -> Self {
        let along = if check.readings.are_turns() { JOINT } else { JOINT_READING };
        let joint = check.readings.joint_range(check.stroke.joint).map(f64::to_degrees);
        let chart = Chart {
            title: title.to_owned(),
            description,
            size: CHART,
            x: Axis { label: along.to_owned(), range: joint },
            y: Axis { label: label.to_owned(), range },
            layers,
        };
        Self { course, chart }
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
pub(super) fn nearest(rows: &[PoseRow], off: impl Fn(&PoseRow) -> f64) -> usize {
    let sizes = rows.iter().map(|row| off(row).abs()).enumerate();
    sizes.min_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(index, _)| index)
}

/// The index of the row nearest to a joint turn.
pub(super) fn nearest_row(rows: &[PoseRow], joint: f64) -> usize {
    nearest(rows, |row| row.joint - joint)
}

/// The linkage over its stroke, shown at one row.
pub(super) fn linkage(
    check: &Check,
    rows: &[PoseRow],
    shown: usize,
    room: Point,
) -> LinkagePicture {
    let pins = rows.iter().map(|row| {
        let (p, q) = (row.pose.crank_pin(), row.pose.rocker_pin());
        [[p.x, p.y], [q.x, q.y]]
    });
    LinkagePicture {
        title: "The linkage, to scale".to_owned(),
        description: format!(
            "A four-bar linkage with its joint axis pointing at the reader. Motor axis A at the left and joint axis B at the right on the carrier; crank from A to pin P, coupler from P to pin Q, rocker from B to Q, rigid with the child. {}. The ends of the stroke are dashed, the paths of P and Q dotted.",
            crate::study::lengths(&check.linkage.bars)
        ),
        ground: check.linkage.bars.ground,
        pins: pins.collect(),
        shown,
        room,
    }
}
