//! Which picture shows which finding; the page and `--plot` share them.

mod angles;
mod builds;
mod power;

pub(super) use angles::{angle_error, ratio, transmission};
pub(super) use builds::{histogram, histogram_bins, ranking};
pub(super) use power::{inertia, rod_force, speed, torque};

use crate::equivalence::{Criterion, Figure, Outcome};
use crate::study::{Check, PoseRow};

use super::drawing::{Axis, LinkagePicture, Point};

/// Width and height of a chart on the page, px.
pub(super) const CHART: Point = [440.0, 300.0];

const JOINT: &str = "joint angle from the zero pose, deg";

const JOINT_READING: &str = "joint reading, deg";

/// A figure of every pose over the joint angle, deg.
fn over_joint(rows: &[PoseRow], figure: impl Fn(&PoseRow) -> f64) -> Vec<Point> {
    rows.iter().map(|row| [row.joint_reading.to_degrees(), figure(row)]).collect()
}

fn stroke_axis(check: &Check) -> Axis {
    let label = if check.readings.are_turns() { JOINT } else { JOINT_READING };
    let range = check.readings.joint_range(check.stroke.joint).map(f64::to_degrees);
    Axis { label: label.to_owned(), range }
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

/// The index of the row nearest to a joint turn.
pub(super) fn nearest_row(rows: &[PoseRow], joint: f64) -> usize {
    let indexed = rows.iter().enumerate();
    let nearest =
        indexed.min_by(|a, b| (a.1.joint - joint).abs().total_cmp(&(b.1.joint - joint).abs()));
    nearest.map_or(0, |(index, _)| index)
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
