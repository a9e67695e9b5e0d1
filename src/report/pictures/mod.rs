//! Which picture shows which finding; the page and `--plot` share them.

mod angles;
mod builds;
mod figure;
mod finger;
mod four_bar;
mod power;
mod region_builds;
mod region_maps;
mod region_powers;
mod region_views;
mod skeletons;

pub(super) use builds::{histogram, histogram_bins, ranking};
pub(super) use figure::Plot;
pub(super) use four_bar::linkage;
pub(super) use region_builds::{region_histograms, region_rankings};
pub(super) use region_maps::{angle_maps, motor_maps, rate_map, rod_force_maps, told};
pub(super) use region_powers::powers;
pub(super) use region_views::region_views;
pub(super) use skeletons::skeletons;

use crate::equivalence::{Criterion, Figure, Outcome};
use crate::study::{Check, Course, DriveCourse, LoadFindings};

use super::drawing::Point;
use super::stroke_tables::OneJointRow;

/// Width and height of a chart on the page, px.
pub(super) const CHART: Point = [440.0, 300.0];

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
pub(super) fn nearest_row<R: OneJointRow>(rows: &[R], joint: f64) -> usize {
    nearest(rows, |row| row.turns()[1] - joint)
}

/// Ratio, angle error, transmission angle and other margins; of a pad on the coupler what the pad does.
pub(super) fn angle_plots(
    check: &Check,
    course: &Course,
    loads: Option<&LoadFindings>,
) -> Vec<Plot> {
    match course {
        Course::Linkage(rows) if check.is_of_pad() => {
            let pad = [finger::opening(check, rows), finger::tilt(check, rows)];
            let others = [finger::grip(check, rows, loads), angles::transmission(check, rows)];
            pad.into_iter().chain(others).flatten().collect()
        }
        Course::Linkage(rows) => joint_plots(check, rows).collect(),
        Course::Drive(DriveCourse { rows, .. }) => {
            joint_plots(check, rows).chain(angles::margins(check, rows)).collect()
        }
    }
}

fn joint_plots<R: OneJointRow>(check: &Check, rows: &[R]) -> impl Iterator<Item = Plot> {
    let errors = [angles::ratio(check, rows), angles::angle_error(check, rows)];
    errors.into_iter().chain([angles::transmission(check, rows)]).flatten()
}

/// Torque, speed and inertia at the joint, as far as the design gives motor and masses.
pub(super) fn power_plots(
    check: &Check,
    course: &Course,
    loads: Option<&LoadFindings>,
) -> Vec<Plot> {
    fn plots<R: OneJointRow>(
        check: &Check,
        rows: &[R],
        loads: Option<&LoadFindings>,
    ) -> [Option<Plot>; 3] {
        [
            power::torque(check, rows, loads),
            power::speed(check, rows, loads),
            power::inertia(check, rows),
        ]
    }
    let found = match course {
        Course::Linkage(rows) => plots(check, rows, loads),
        Course::Drive(DriveCourse { rows, .. }) => plots(check, rows, loads),
    };
    found.into_iter().flatten().collect()
}

/// The rod's force, where there is one rod or more.
pub(super) fn rod_plot(
    check: &Check,
    course: &Course,
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    match course {
        Course::Linkage(rows) => power::rod_force(check, rows, loads),
        Course::Drive(DriveCourse { rows, .. }) => power::rod_force(check, rows, loads),
    }
}
