//! Ratio, angle error, transmission angle and other margins over the stroke.

use crate::equivalence::{Basis, Criterion};
use crate::report::check::ratio_span;
use crate::report::drawing::{Form, Ink, Layer};
use crate::report::stroke_tables::OneJointRow;
use crate::report::words::ratio_shown;
use crate::study::{Check, DriveRow, figure};
use crate::units::{degrees, fixed};

use super::figure::{Figure, Plot, range_with_zero};
use super::{NOTHING, certified, range};

/// The limit of a criterion, in its unit.
pub(super) fn limit(check: &Check, criterion: Criterion) -> f64 {
    check.criterion(criterion).map_or(0.0, |c| c.limit)
}

/// The certified band, its edges from the bound by `band`.
pub(super) fn certified_band(
    check: &Check,
    criterion: Criterion,
    band: impl Fn(f64) -> [f64; 2],
) -> Option<Layer> {
    let over_tolerance = check.criteria.iter().any(|c| c.bound_over(Basis::Tolerance).is_some());
    let name = if over_tolerance { "certified, every build" } else { "certified" };
    Some(Layer(Form::Band(band(certified(check, criterion)?)), Ink::Certified, name.into()))
}

/// The ratio over the stroke with the accepted band and the certified bound.
pub(super) fn ratio<R: OneJointRow>(check: &Check, rows: &[R]) -> Option<Plot> {
    let drawn = Figure::of("ratio", rows, |y| fixed(y, 5), |row| Some(row.ratio_and_error()[0]))?;
    let constant = Some(check.direct_joint.ratio).filter(|i| i.is_finite()).unwrap_or(0.0);
    let limit = limit(check, Criterion::Ratio);
    let band = |share: f64| [constant * (1.0 - share), constant * (1.0 + share)];
    // Near a dead point the curve leaves for infinity: what is far from the constant is not shown.
    let near = |y: &f64| (y - constant).abs() <= 2.0 * constant.abs();
    let range = range(drawn.heights().filter(near).chain(band(limit)), 0.06);
    let mut layers = Vec::from_iter(certified_band(check, Criterion::Ratio, band));
    layers.extend(drawn.between(check, band(limit), (constant, "direct joint")));
    let worst = check.transmission_ratio.worst_error;
    layers.extend(worst.and_then(|worst| drawn.worst_spot(rows, &worst)));
    let description = format!(
        "Ratio of motor rate to joint rate: {}; the direct joint has {}, accepted within {}.",
        ratio_span(check),
        ratio_shown(check.direct_joint.ratio),
        figure(Criterion::Ratio, limit)
    );
    let titles = ["Transmission ratio over the stroke", "transmission ratio i = dφ/dψ"];
    Some(drawn.plot(check, titles, description, range, layers))
}

/// The angle error over the stroke with its band.
pub(super) fn angle_error<R: OneJointRow>(check: &Check, rows: &[R]) -> Option<Plot> {
    let error = |row: &R| Some(row.ratio_and_error()[1].to_degrees());
    let drawn = Figure::of("angle", rows, |y| fixed(y, 4), error)?;
    let limit = limit(check, Criterion::Angle);
    let band = |bound: f64| [-bound.to_degrees(), bound.to_degrees()];
    let range = range(drawn.heights().chain(band(limit)), 0.06);
    let mut layers = Vec::from_iter(certified_band(check, Criterion::Angle, band));
    layers.extend(drawn.between(check, band(limit), (0.0, "direct joint")));
    layers.extend(drawn.worst_spot(rows, &check.angle_error));
    let description = format!(
        "Joint angle of the drive less that of the direct joint: at most {} in size; accepted within {}.",
        degrees(check.angle_error.value),
        figure(Criterion::Angle, limit)
    );
    let titles = ["Angle error over the stroke", "angle error, deg"];
    Some(drawn.plot(check, titles, description, range, layers))
}

/// The transmission angle over the stroke with its floor; `None` where there is no rod.
pub(super) fn transmission<R: OneJointRow>(check: &Check, rows: &[R]) -> Option<Plot> {
    let least = check.transmission_angle?;
    let angle = |row: &R| row.transmission_angle().map(f64::to_degrees);
    let drawn = Figure::of("transmission", rows, |y| fixed(y, 2), angle)?;
    let floor = limit(check, Criterion::TransmissionAngle);
    let above = |bound: f64| [bound.to_degrees(), 90.0];
    let mut layers = Vec::from_iter(certified_band(check, Criterion::TransmissionAngle, above));
    layers.push(Layer(Form::Level(floor.to_degrees()), Ink::Limit, "floor".into()));
    layers.push(drawn.curve(check));
    layers.extend(drawn.worst_spot(rows, &least));
    let description = format!(
        "Angle between rod and lever: never below {}; the smaller, the larger the forces in the pins. The floor is {}.",
        degrees(least.value),
        figure(Criterion::TransmissionAngle, floor)
    );
    let titles = ["Transmission angle over the stroke", "transmission angle, deg"];
    Some(drawn.plot(check, titles, description, [0.0, 90.0], layers))
}

/// Crank side, ball tilt and travel, as far as the drive has them.
pub(super) fn margins(check: &Check, rows: &[DriveRow]) -> impl Iterator<Item = Plot> {
    // In a plane no ball tilts.
    let tilts = rows.iter().any(|row| row.largest_tilt.is_some_and(|tilt| tilt > NOTHING));
    let crank_side = |row: &DriveRow| row.crank_side.map(f64::to_degrees);
    let tilt = |row: &DriveRow| row.largest_tilt.filter(|_| tilts).map(f64::to_degrees);
    let crank_side = Figure::of("crank-side", rows, |y| fixed(y, 2), crank_side).map(|drawn| {
        let titles = ["Margin to the dead point over the stroke", "angle of rod and input, deg"];
        let what = "Angle between the rod and the path of its pin at the motor's end, taken from 90 deg: 0 at a dead point.";
        alone(check, drawn, titles, what, true)
    });
    let tilt = Figure::of("ball-tilt", rows, |y| fixed(y, 2), tilt).map(|drawn| {
        let titles = ["Tilt of the rod's balls over the stroke", "largest ball tilt, deg"];
        let what =
            "Rod against the plane square to a ball's bolt: rod ends allow some 8 to 15 deg.";
        alone(check, drawn, titles, what, true)
    });
    let travel = |row: &DriveRow| row.travel.map(|x| 1e3 * x);
    let travel = Figure::of("travel", rows, |y| fixed(y, 3), travel).map(|drawn| {
        let titles = ["Travel of the screw over the stroke", "travel from the zero pose, mm"];
        alone(check, drawn, titles, "Travel along the slide line, 0 in the zero pose.", false)
    });
    [crank_side, tilt, travel].into_iter().flatten()
}

/// A curve with nothing to hold it against; with zero on the chart where that is asked for.
fn alone(check: &Check, drawn: Figure, titles: [&str; 2], what: &str, from_zero: bool) -> Plot {
    let heights = drawn.heights();
    let range = if from_zero { range_with_zero(heights) } else { range(heights, 0.06) };
    let layers = vec![drawn.curve(check)];
    drawn.plot(check, titles, what.to_owned(), range, layers)
}
