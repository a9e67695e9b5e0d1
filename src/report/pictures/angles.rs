//! Ratio, angle error and transmission angle over the stroke.

use crate::equivalence::{Basis, Criterion};
use crate::report::check::ratio_span;
use crate::report::drawing::{Form, Ink, Layer};
use crate::report::words::ratio_shown;
use crate::study::{Check, Located, PoseRow, figure};
use crate::units::{degrees, fixed};

use super::{Course, NOTHING, Plot, certified, nearest_row, range};

const RATIO: Course = Course {
    name: "ratio",
    height: |r| r.transmission_ratio(),
    factor: 1.0,
    shown: |y| fixed(y, 5),
};

const ANGLE: Course = Course {
    name: "angle",
    height: |r| r.angle_error.to_degrees(),
    factor: 1.0,
    shown: |y| fixed(y, 4),
};

const TRANSMISSION: Course = Course {
    name: "transmission",
    height: |r| r.transmission_angle().to_degrees(),
    factor: 1.0,
    shown: |y| fixed(y, 2),
};

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

/// The linkage's curve.
fn curve(course: &Course, rows: &[PoseRow]) -> Layer {
    Layer(Form::Curve(course.points(rows)), Ink::Curve, "linkage".into())
}

/// The accepted limits, the linkage, and the direct joint.
fn between([low, high]: [f64; 2], course: &Course, rows: &[PoseRow], direct: f64) -> [Layer; 4] {
    [
        Layer(Form::Level(low), Ink::Limit, "limits".into()),
        Layer(Form::Level(high), Ink::Limit, "".into()),
        curve(course, rows),
        Layer(Form::Level(direct), Ink::Direct, "direct joint".into()),
    ]
}

/// A ring at the row nearest to where the figure is worst; one that is next to nothing has no place.
fn worst_spot(course: &Course, rows: &[PoseRow], worst: &Located) -> Option<Layer> {
    let row = rows.get(nearest_row(rows, worst.at_joint)).filter(|_| worst.value > NOTHING)?;
    Some(Layer(Form::Spot(course.value(row)), Ink::Worst, "worst".into()))
}

/// The ratio over the stroke with the accepted band and the certified bound.
pub(in crate::report) fn ratio(check: &Check, rows: &[PoseRow]) -> Plot {
    let constant = Some(check.direct_joint.ratio).filter(|i| i.is_finite()).unwrap_or(0.0);
    let limit = limit(check, Criterion::Ratio);
    let band = |share: f64| [constant * (1.0 - share), constant * (1.0 + share)];
    // Near a dead point the curve leaves for infinity: what is far from the constant is not shown.
    let near = |y: &f64| (y - constant).abs() <= 2.0 * constant.abs();
    let heights = rows.iter().map(|row| RATIO.value(row)[1]).filter(near);
    let mut layers = Vec::from_iter(certified_band(check, Criterion::Ratio, band));
    layers.extend(between(band(limit), &RATIO, rows, constant));
    let worst = check.transmission_ratio.worst_error;
    layers.extend(worst.and_then(|worst| worst_spot(&RATIO, rows, &worst)));
    let description = format!(
        "The linkage's ratio of motor rate to joint rate: {}; the direct joint has {}, accepted within {}.",
        ratio_span(check),
        ratio_shown(check.direct_joint.ratio),
        figure(Criterion::Ratio, limit)
    );
    let titles = ["Transmission ratio over the stroke", "transmission ratio i = dφ/dψ"];
    Plot::new(
        check,
        (RATIO, rows),
        titles,
        description,
        range(heights.chain(band(limit)), 0.06),
        layers,
    )
}

/// The angle error over the stroke with its band.
pub(in crate::report) fn angle_error(check: &Check, rows: &[PoseRow]) -> Plot {
    let limit = limit(check, Criterion::Angle);
    let band = |bound: f64| [-bound.to_degrees(), bound.to_degrees()];
    let heights = rows.iter().map(|row| ANGLE.value(row)[1]);
    let mut layers = Vec::from_iter(certified_band(check, Criterion::Angle, band));
    layers.extend(between(band(limit), &ANGLE, rows, 0.0));
    layers.extend(worst_spot(&ANGLE, rows, &check.angle_error));
    let description = format!(
        "Joint angle of the linkage less that of the direct joint: at most {} in size; accepted within {}.",
        degrees(check.angle_error.value),
        figure(Criterion::Angle, limit)
    );
    let titles = ["Angle error over the stroke", "angle error, deg"];
    Plot::new(
        check,
        (ANGLE, rows),
        titles,
        description,
        range(heights.chain(band(limit)), 0.06),
        layers,
    )
}

/// The transmission angle over the stroke with its floor; `None` where there is no rod.
pub(in crate::report) fn transmission(check: &Check, rows: &[PoseRow]) -> Option<Plot> {
    let least = check.transmission_angle?;
    let floor = limit(check, Criterion::TransmissionAngle);
    let above = |bound: f64| [bound.to_degrees(), 90.0];
    let mut layers = Vec::from_iter(certified_band(check, Criterion::TransmissionAngle, above));
    layers.push(Layer(Form::Level(floor.to_degrees()), Ink::Limit, "floor".into()));
    layers.push(curve(&TRANSMISSION, rows));
    layers.extend(worst_spot(&TRANSMISSION, rows, &least));
    let description = format!(
        "Angle between rod and lever: never below {}; the floor is {}.",
        degrees(least.value),
        figure(Criterion::TransmissionAngle, floor)
    );
    let titles = ["Transmission angle over the stroke", "transmission angle, deg"];
    Some(Plot::new(check, (TRANSMISSION, rows), titles, description, [0.0, 90.0], layers))
}
