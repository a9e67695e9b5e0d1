//! Ratio, angle error and transmission angle over the stroke.

use crate::equivalence::{Basis, Criterion};
use crate::report::drawing::{Axis, Chart, Ink, Layer, Point};
use crate::report::words::{fixed, ratio_shown};
use crate::study::{Check, Located, PoseRow};

use super::{NOTHING, certified, over_joint, range, stroke_axis};

fn certified_name(check: &Check) -> Option<String> {
    let over_tolerance = check.criteria.iter().any(|c| c.bound_over(Basis::Tolerance).is_some());
    let what = if over_tolerance { "certified, every build" } else { "certified" };
    Some(what.to_owned())
}

fn ratio_in_words(check: &Check, limit: f64) -> String {
    let found = &check.transmission_ratio;
    let runs = found.ends.map_or_else(
        || "has no bound, because the rocker stands still in the stroke".to_owned(),
        |[low, high]| format!("runs from {} to {}", fixed(low, 5), fixed(high, 5)),
    );
    format!(
        "The linkage's ratio of motor rate to joint rate {runs}; the direct joint has {}, accepted within {} %.",
        ratio_shown(check.direct_joint.ratio),
        fixed(100.0 * limit, 2)
    )
}

/// The ratio over the stroke with the accepted band and the certified bound.
pub(in crate::report) fn ratio(check: &Check, rows: &[PoseRow], size: Point) -> Chart {
    let points = over_joint(rows, |r| r.pose.transmission_ratio());
    let constant = Some(check.direct_joint.ratio).filter(|i| i.is_finite()).unwrap_or(0.0);
    let limit = check.criterion(Criterion::Ratio).map_or(0.0, |c| c.limit);
    let band = |share: f64| [constant * (1.0 - share), constant * (1.0 + share)];
    // Near a dead point the curve leaves for infinity: what is far from the constant is not shown.
    let near = |y: &f64| (y - constant).abs() <= 2.0 * constant.abs();
    let y = range(points.iter().map(|p| p[1]).filter(near).chain(band(limit)), 0.06);
    let mut layers = Vec::new();
    if let Some(bound) = certified(check, Criterion::Ratio) {
        layers.push(Layer::Band(band(bound), Ink::Certified, certified_name(check)));
    }
    let [low, high] = band(limit);
    layers.push(Layer::Level(low, Ink::Limit, Some("limits".to_owned())));
    layers.push(Layer::Level(high, Ink::Limit, None));
    layers.push(Layer::Curve(points, Ink::Curve, Some("linkage".to_owned())));
    layers.push(Layer::Level(constant, Ink::Direct, Some("direct joint".to_owned())));
    let worst = check.transmission_ratio.worst_error;
    layers.extend(worst.and_then(|w| worst_spot(rows, &w, |r| r.pose.transmission_ratio())));
    Chart {
        title: "Transmission ratio over the stroke".to_owned(),
        description: ratio_in_words(check, limit),
        size,
        x: stroke_axis(check),
        y: Axis { label: "transmission ratio i = dφ/dψ".to_owned(), range: y },
        layers,
    }
}

/// A ring at the row nearest to where the figure is worst.
fn worst_spot(
    rows: &[PoseRow],
    worst: &Located,
    figure: impl Fn(&PoseRow) -> f64,
) -> Option<Layer> {
    // A worst figure that is next to nothing has no place.
    let row = nearest(rows, worst.at_joint).filter(|_| worst.value > NOTHING)?;
    let at = [row.joint_reading.to_degrees(), figure(row)];
    Some(Layer::Spot(at, Ink::Worst, Some("worst".to_owned())))
}

fn nearest(rows: &[PoseRow], joint: f64) -> Option<&PoseRow> {
    rows.iter().min_by(|a, b| (a.joint - joint).abs().total_cmp(&(b.joint - joint).abs()))
}

/// The angle error over the stroke with its band.
pub(in crate::report) fn angle_error(check: &Check, rows: &[PoseRow], size: Point) -> Chart {
    let points = over_joint(rows, |r| r.angle_error.to_degrees());
    let limit = check.criterion(Criterion::Angle).map_or(0.0, |c| c.limit.to_degrees());
    let y = range(points.iter().map(|p| p[1]).chain([-limit, limit]), 0.06);
    let mut layers = Vec::new();
    if let Some(bound) = certified(check, Criterion::Angle).map(f64::to_degrees) {
        layers.push(Layer::Band([-bound, bound], Ink::Certified, certified_name(check)));
    }
    layers.push(Layer::Level(-limit, Ink::Limit, Some("limits".to_owned())));
    layers.push(Layer::Level(limit, Ink::Limit, None));
    layers.push(Layer::Curve(points, Ink::Curve, Some("linkage".to_owned())));
    layers.push(Layer::Level(0.0, Ink::Direct, Some("direct joint".to_owned())));
    layers.extend(worst_spot(rows, &check.angle_error, |r| r.angle_error.to_degrees()));
    Chart {
        title: "Angle error over the stroke".to_owned(),
        description: format!(
            "Joint angle of the linkage less that of the direct joint: at most {} in size; accepted within {} deg.",
            crate::study::degrees(check.angle_error.value),
            fixed(limit, 2)
        ),
        size,
        x: stroke_axis(check),
        y: Axis { label: "angle error, deg".to_owned(), range: y },
        layers,
    }
}

/// The transmission angle over the stroke with its floor.
pub(in crate::report) fn transmission(check: &Check, rows: &[PoseRow], size: Point) -> Chart {
    let floor = check.criterion(Criterion::TransmissionAngle).map_or(0.0, |c| c.limit.to_degrees());
    let points = over_joint(rows, |r| r.pose.transmission_angle().to_degrees());
    let mut layers = Vec::new();
    if let Some(bound) = certified(check, Criterion::TransmissionAngle).map(f64::to_degrees) {
        layers.push(Layer::Band([bound, 90.0], Ink::Certified, certified_name(check)));
    }
    layers.push(Layer::Level(floor, Ink::Limit, Some("floor".to_owned())));
    layers.push(Layer::Curve(points, Ink::Curve, Some("linkage".to_owned())));
    layers.extend(worst_spot(rows, &check.transmission_angle, |r| {
        r.pose.transmission_angle().to_degrees()
    }));
    Chart {
        title: "Transmission angle over the stroke".to_owned(),
        description: format!(
            "Angle between rod and lever: never below {}; the floor is {} deg.",
            crate::study::degrees(check.transmission_angle.value),
            fixed(floor, 0)
        ),
        size,
        x: stroke_axis(check),
        y: Axis { label: "transmission angle, deg".to_owned(), range: [0.0, 90.0] },
        layers,
    }
}
