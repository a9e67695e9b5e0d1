//! Torque, speed, rod force and inertia over the stroke.

use crate::dynamics::{Bounds, Duty};
use crate::report::drawing::{Axis, Chart, Form, Ink, Layer, Point};
use crate::study::{Check, InertiaFindings, LoadFindings, PoseRow};
use crate::units::figure;

use super::{over_joint, range, stroke_axis};

/// From zero on to whatever the figures reach, on both sides of it where they have both signs.
fn range_with_zero(figures: impl IntoIterator<Item = f64>) -> [f64; 2] {
    let [low, high] = range(figures.into_iter().chain([0.0]), 0.08);
    [
        if low > -0.2 * high { low.max(0.0) } else { low },
        if high < -0.2 * low { high.min(0.0) } else { high },
    ]
}

/// A unit in which a figure has a digit or two before the point: name and factor.
fn handy(largest: f64, units: &[(&'static str, f64)]) -> (&'static str, f64) {
    let fits = units.iter().find(|(_, factor)| largest * factor >= 1.0);
    fits.or(units.last()).copied().unwrap_or(("", 1.0))
}

fn largest(points: &[Point]) -> f64 {
    points.iter().map(|p| p[1].abs()).filter(|y| y.is_finite()).fold(0.0, f64::max)
}

const TORQUES: [(&str, f64); 2] = [("N m", 1.0), ("mN m", 1e3)];

/// The joint's torque at the motor's peak, and the factor from N m to the chart's unit.
pub(in crate::report) fn torque(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
    size: Point,
) -> Option<(Chart, f64)> {
    rows.iter().find_map(|r| r.figures.torque)?;
    let mut points = over_joint(rows, |r| r.figures.torque.map_or(f64::NAN, f64::abs));
    let bounds = loads.and_then(|l| l.loads.peak.as_ref()).map(|d: &Duty| d.joint_torque);
    let top = bounds.map_or_else(|| largest(&points), |b| b.never_exceed.value);
    let (unit, factor) = handy(top, &TORQUES);
    scale(&mut points, factor);
    let chart = Chart {
        title: "Torque available at the joint".to_owned(),
        description: format!(
            "The joint's torque at the motor's peak, {}; {}.",
            if rows.iter().any(|r| r.figures.left.is_some()) {
                "after friction in the pins"
            } else {
                "without losses"
            },
            bounds_in_words(bounds, factor, unit)
        ),
        size,
        x: stroke_axis(check),
        y: axis_from_zero(
            &points,
            bounds,
            factor,
            &format!("joint torque at peak motor torque, {unit}"),
        ),
        layers: bounded(points, bounds, factor),
    };
    Some((chart, factor))
}

/// The joint's speed at the motor's largest.
pub(in crate::report) fn speed(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
    size: Point,
) -> Option<Chart> {
    rows.iter().find_map(|r| r.figures.speed)?;
    let points = over_joint(rows, |r| r.figures.speed.unwrap_or(f64::NAN));
    let bounds = loads.and_then(|l| l.loads.joint_speed);
    Some(Chart {
        title: "Speed available at the joint".to_owned(),
        description: format!(
            "The joint's speed at the motor's largest; {}.",
            bounds_in_words(bounds, 1.0, "rad/s")
        ),
        size,
        x: stroke_axis(check),
        y: axis_from_zero(&points, bounds, 1.0, "joint speed at full motor speed, rad/s"),
        layers: bounded(points, bounds, 1.0),
    })
}

fn scale(points: &mut [Point], factor: f64) {
    for point in points {
        point[1] *= factor;
    }
}

fn axis_from_zero(points: &[Point], bounds: Option<Bounds>, factor: f64, label: &str) -> Axis {
    let top = bounds.map(|b| b.never_exceed.value * factor);
    let range = range_with_zero(points.iter().map(|p| p[1]).chain(top));
    Axis { label: label.to_owned(), range }
}

fn bounded(points: Vec<Point>, bounds: Option<Bounds>, factor: f64) -> Vec<Layer> {
    let mut layers = vec![Layer(Form::Curve(points), Ink::Curve, "linkage")];
    if let Some(b) = bounds {
        let [low, high] = [b.guaranteed.value * factor, b.never_exceed.value * factor];
        layers.push(Layer(Form::Level(low), Ink::Direct, "guaranteed"));
        layers.push(Layer(Form::Level(high), Ink::Limit, "never exceeded"));
    }
    layers
}

fn bounds_in_words(bounds: Option<Bounds>, factor: f64, unit: &str) -> String {
    bounds.map_or_else(
        || "no bound over this stroke".to_owned(),
        |b| {
            format!(
                "at least {} and at most {} {unit} over the stroke",
                figure(b.guaranteed.value * factor),
                figure(b.never_exceed.value * factor)
            )
        },
    )
}

/// The rod's force at the motor's peak torque, with what the rod bears.
pub(in crate::report) fn rod_force(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
    size: Point,
) -> Option<Chart> {
    rows.iter().find_map(|r| r.figures.rod_force)?;
    let points = over_joint(rows, |r| r.figures.rod_force.map_or(f64::NAN, f64::abs));
    let critical = loads.and_then(|l| l.loads.buckling).map(|b| b.load);
    let top = largest(&points);
    // A rod that bears many times the force would press the curve flat.
    let shown = critical.filter(|c| *c <= 4.0 * top);
    let curve = Form::Curve(points.clone());
    let mut layers = vec![Layer(curve, Ink::Curve, "pull or thrust in the rod")];
    layers.extend(shown.map(|c| Layer(Form::Level(c), Ink::Limit, "the rod buckles")));
    let aside = match (critical, shown) {
        (Some(c), None) => format!(" The rod buckles at {} N, beyond the chart.", figure(c)),
        (Some(c), Some(_)) => format!(" The rod buckles at {} N.", figure(c)),
        (None, _) => String::new(),
    };
    Some(Chart {
        title: "Rod force over the stroke".to_owned(),
        description: format!(
            "Force in the rod and on every pin at the motor's peak torque: up to {} N.{aside}",
            figure(top)
        ),
        size,
        x: stroke_axis(check),
        y: Axis {
            label: "rod force at peak motor torque, N".to_owned(),
            range: range_with_zero(points.iter().map(|p| p[1]).chain(shown)),
        },
        layers,
    })
}

const INERTIAS: [(&str, f64); 3] = [("kg m²", 1.0), ("g m²", 1e3), ("g cm²", 1e7)];

/// The inertia at the joint, carrier fixed, and the direct joint's constant; and the factor from kg m² to the chart's
/// unit.
pub(in crate::report) fn inertia(
    check: &Check,
    rows: &[PoseRow],
    size: Point,
) -> Option<(Chart, f64)> {
    rows.iter().find_map(|r| r.figures.inertia)?;
    let mut points = over_joint(rows, |r| r.figures.inertia.unwrap_or(f64::NAN));
    let constant = check.inertia.as_ref().and_then(joint_inertia);
    let (unit, factor) = handy(largest(&points), &INERTIAS);
    scale(&mut points, factor);
    let constant = constant.map(|c| c * factor);
    let [low, high] = range(points.iter().map(|p| p[1]).chain(constant), 0.25);
    // No less than ±5 %, so that a hair does not look like a mountain.
    let middle = 0.5 * (low + high);
    let y = [low.min(0.95 * middle), high.max(1.05 * middle)];
    let mut layers = vec![Layer(Form::Curve(points), Ink::Curve, "linkage")];
    layers.extend(constant.map(|c| Layer(Form::Level(c), Ink::Direct, "direct joint")));
    let chart = Chart {
        title: "Inertia at the joint over the stroke".to_owned(),
        description: format!(
            "Inertia that the joint feels with the carrier held, rotor included; the direct joint has {}.",
            constant.map_or_else(|| "no constant".to_owned(), |c| format!("{} {unit}", figure(c)))
        ),
        size,
        x: stroke_axis(check),
        y: Axis { label: format!("inertia at the joint, {unit}"), range: y },
        layers,
    };
    Some((chart, factor))
}

fn joint_inertia(found: &InertiaFindings) -> Option<f64> {
    found.decisive().map(|d| d.replacement.tree.joint_inertia())
}
