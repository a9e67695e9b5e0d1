//! Figures of a drive of another kind than a planar four-bar over its stroke.

use crate::equivalence::Criterion;
use crate::report::drawing::{Form, Ink, Layer, Point};
use crate::report::words::ratio_shown;
use crate::study::{Check, DriveRow, LoadFindings, figure};
use crate::units::{degrees, fixed};

use super::angles::{certified_band, limit};
use super::power::{Told, inertia_told, rod_told, speed_told, torque_told};
use super::{NOTHING, Plot, chart, range};

/// What is drawn of one figure.
struct Figure<'a> {
    name: &'static str,
    titles: [&'static str; 2],
    height: &'a dyn Fn(&DriveRow) -> Option<f64>,
    shown: fn(f64) -> String,
    /// Beside the curve, limits first.
    layers: Vec<Layer>,
    /// Figures that must be seen.
    seen: Vec<f64>,
    what: String,
}

/// Ratio, angle error, transmission angle, crank side, ball tilt and travel, as far as the drive has them.
pub(in crate::report) fn drive_curves(check: &Check, rows: &[DriveRow]) -> Vec<Plot> {
    // In a plane no ball tilts.
    let tilts = rows.iter().any(|row| row.largest_tilt.is_some_and(|tilt| tilt > NOTHING));
    [
        ratio(check),
        angle_error(check),
        transmission(check),
        margin(
            "crank-side",
            ["Margin to the dead point over the stroke", "angle of rod and input, deg"],
            &|row| row.crank_side.map(f64::to_degrees),
            "Angle between the rod and the path of its pin at the motor's end, taken from 90 deg: 0 at a dead point.",
        ),
        margin(
            "ball-tilt",
            ["Tilt of the rod's balls over the stroke", "largest ball tilt, deg"],
            &|row| row.largest_tilt.filter(|_| tilts).map(f64::to_degrees),
            "Rod against the plane square to a ball's bolt: rod ends allow some 8 to 15 deg.",
        ),
        Figure {
            name: "travel",
            titles: ["Travel of the screw over the stroke", "travel from the zero pose, mm"],
            height: &|row| row.travel.map(|x| 1e3 * x),
            shown: |y| fixed(y, 3),
            layers: Vec::new(),
            seen: Vec::new(),
            what: "Travel along the slide line, 0 in the zero pose.".to_owned(),
        },
    ]
    .into_iter()
    .filter_map(|figure| curve(check, rows, figure))
    .collect()
}

fn ratio(check: &Check) -> Figure<'static> {
    let constant = Some(check.direct_joint.ratio).filter(|i| i.is_finite()).unwrap_or(0.0);
    let allowed = limit(check, Criterion::Ratio);
    let band = |share: f64| [constant * (1.0 - share), constant * (1.0 + share)];
    let [low, high] = band(allowed);
    Figure {
        name: "ratio",
        titles: ["Transmission ratio over the stroke", "transmission ratio i = dφ/dψ"],
        height: &|row| Some(row.ratio),
        shown: |y| fixed(y, 5),
        layers: layers([low, high], constant, certified_band(check, Criterion::Ratio, band)),
        seen: vec![low, high],
        what: format!(
            "Motor rate over joint rate; the direct joint has {}, accepted within {}.",
            ratio_shown(constant),
            figure(Criterion::Ratio, allowed)
        ),
    }
}

fn angle_error(check: &Check) -> Figure<'static> {
    let allowed = limit(check, Criterion::Angle);
    let band = |bound: f64| [-bound.to_degrees(), bound.to_degrees()];
    Figure {
        name: "angle",
        titles: ["Angle error over the stroke", "angle error, deg"],
        height: &|row| Some(row.angle_error.to_degrees()),
        shown: |y| fixed(y, 4),
        layers: layers(band(allowed), 0.0, certified_band(check, Criterion::Angle, band)),
        seen: band(allowed).to_vec(),
        what: format!(
            "Joint angle of the drive less that of the direct joint: at most {} in size; accepted within {}.",
            degrees(check.angle_error.value),
            figure(Criterion::Angle, allowed)
        ),
    }
}

fn transmission(check: &Check) -> Figure<'static> {
    let floor = limit(check, Criterion::TransmissionAngle);
    let above = |bound: f64| [bound.to_degrees(), 90.0];
    let certified = certified_band(check, Criterion::TransmissionAngle, above);
    let floor_line = Layer(Form::Level(floor.to_degrees()), Ink::Limit, "floor".into());
    Figure {
        name: "transmission",
        titles: ["Transmission angle over the stroke", "transmission angle, deg"],
        height: &|row| row.transmission_angle.map(f64::to_degrees),
        shown: |y| fixed(y, 2),
        layers: certified.into_iter().chain([floor_line]).collect(),
        seen: vec![0.0, 90.0],
        what: format!(
            "Angle between rod and lever: the smaller, the larger the forces in the pins. The floor is {}.",
            figure(Criterion::TransmissionAngle, floor)
        ),
    }
}

fn margin<'a>(
    name: &'static str,
    titles: [&'static str; 2],
    angle: &'a dyn Fn(&DriveRow) -> Option<f64>,
    what: &str,
) -> Figure<'a> {
    Figure {
        name,
        titles,
        height: angle,
        shown: |y| fixed(y, 2),
        layers: Vec::new(),
        seen: vec![0.0],
        what: what.to_owned(),
    }
}

/// The certified band, the accepted limits and the direct joint.
fn layers([low, high]: [f64; 2], direct: f64, certified: Option<Layer>) -> Vec<Layer> {
    let lines = [
        Layer(Form::Level(low), Ink::Limit, "limits".into()),
        Layer(Form::Level(high), Ink::Limit, "".into()),
        Layer(Form::Level(direct), Ink::Direct, "direct joint".into()),
    ];
    certified.into_iter().chain(lines).collect()
}

/// Joint readings (deg) with a figure; `None` where a pose does not have it.
fn points(rows: &[DriveRow], height: &dyn Fn(&DriveRow) -> Option<f64>) -> Option<Vec<Point>> {
    rows.iter().map(|row| Some([row.joint_reading.to_degrees(), height(row)?])).collect()
}

fn curve(check: &Check, rows: &[DriveRow], of: Figure<'_>) -> Option<Plot> {
    let points = points(rows, of.height)?;
    let mut layers = of.layers;
    layers.push(Layer(Form::Curve(points.clone()), Ink::Curve, DRIVE.into()));
    let heights = points.iter().map(|p| p[1]).chain(of.seen);
    let range = range(heights, 0.06);
    let titles = of.titles.map(str::to_owned);
    let chart = chart(check, Told { factor: 1.0, titles, description: of.what, range, layers });
    Some(Plot { name: of.name, points, shown: of.shown, chart })
}

/// What the curve is called.
const DRIVE: &str = "drive";

/// Torque, speed and inertia at the joint, as far as the design gives motor and masses.
pub(in crate::report) fn drive_power_curves(
    check: &Check,
    rows: &[DriveRow],
    loads: Option<&LoadFindings>,
) -> Vec<Plot> {
    let rubs = rows.iter().any(|row| row.figures.left.is_some());
    let losses = if rubs { "after the friction that is given" } else { "without losses" };
    let curves = [
        powered("torque", check, rows, &|row| row.figures.torque.map(f64::abs), &|points| {
            torque_told(points, loads, losses, DRIVE)
        }),
        powered("speed", check, rows, &|row| row.figures.speed, &|points| {
            speed_told(points, loads, DRIVE)
        }),
        powered("inertia", check, rows, &|row| row.figures.inertia, &|points| {
            inertia_told(points, check, DRIVE)
        }),
    ];
    curves.into_iter().flatten().collect()
}

/// The rod's force, where there is one rod or more.
pub(in crate::report) fn drive_rod_curve(
    check: &Check,
    rows: &[DriveRow],
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    let force = |row: &DriveRow| row.figures.rod_force.map(f64::abs);
    powered("rod", check, rows, &force, &|points| rod_told(points, loads))
}

fn powered(
    name: &'static str,
    check: &Check,
    rows: &[DriveRow],
    height: &dyn Fn(&DriveRow) -> Option<f64>,
    told: &dyn Fn(&[Point]) -> Told,
) -> Option<Plot> {
    let points = points(rows, height)?;
    let told = told(&points);
    let points = points.into_iter().map(|[x, y]| [x, told.factor * y]).collect();
    Some(Plot { name, points, shown: crate::units::figure, chart: chart(check, told) })
}
