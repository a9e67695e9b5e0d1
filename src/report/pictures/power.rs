//! Torque, speed, rod force and inertia over the stroke.

use crate::dynamics::{Bounds, Duty};
use crate::report::drawing::{Form, Ink, Layer};
use crate::study::{Check, LoadFindings, PoseRow};
use crate::units::figure;

use super::{Course, Plot, range};

const fn course(name: &'static str, height: fn(&PoseRow) -> f64) -> Course {
    Course { name, height, factor: 1.0, shown: figure }
}

const TORQUE: Course = course("torque", |r| r.figures.torque.map_or(f64::NAN, f64::abs));
const SPEED: Course = course("speed", |r| r.figures.speed.unwrap_or(f64::NAN));
const ROD: Course = course("rod", |r| r.figures.rod_force.map_or(f64::NAN, f64::abs));
const INERTIA: Course = course("inertia", |r| r.figures.inertia.unwrap_or(f64::NAN));

/// From zero on to whatever the figures reach, on both sides of it where they have both signs.
pub(super) fn range_with_zero(figures: impl IntoIterator<Item = f64>) -> [f64; 2] {
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

/// A figure that the joint may promise, and one that it never exceeds: range, layers and words.
fn bounded(
    points: &[[f64; 2]],
    bounds: Option<Bounds>,
    (unit, factor): (&str, f64),
) -> ([f64; 2], Vec<Layer>, String) {
    let curve = Layer(Form::Curve(points.to_vec()), Ink::Curve, "linkage");
    let heights = points.iter().map(|p| p[1]);
    let Some(Bounds { guaranteed, never_exceed }) = bounds else {
        return (range_with_zero(heights), vec![curve], "no bound over this stroke".to_owned());
    };
    let [low, high] = [guaranteed, never_exceed].map(|e| factor * e.value);
    let layers = vec![
        curve,
        Layer(Form::Level(low), Ink::Direct, "guaranteed"),
        Layer(Form::Level(high), Ink::Limit, "never exceeded"),
    ];
    let words =
        format!("at least {} and at most {} {unit} over the stroke", figure(low), figure(high));
    (range_with_zero(heights.chain([high])), layers, words)
}

/// The joint's torque at the motor's peak.
pub(in crate::report) fn torque(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    rows.iter().find_map(|r| r.figures.torque)?;
    let bounds = loads.and_then(|l| l.joint()?.peak.as_ref()).map(|d: &Duty| d.joint_torque);
    let top = bounds.map_or_else(|| TORQUE.largest(rows), |b| b.never_exceed.value);
    let unit = handy(top, &[("N m", 1.0), ("mN m", 1e3)]);
    let course = TORQUE.times(unit.1);
    let (range, layers, words) = bounded(&course.points(rows), bounds, unit);
    let left = rows.iter().any(|r| r.figures.left.is_some());
    let losses = if left { "after friction in the pins" } else { "without losses" };
    let description = format!("The joint's torque at the motor's peak, {losses}; {words}.");
    let label = format!("joint torque at peak motor torque, {}", unit.0);
    let titles = ["Torque available at the joint", &label];
    Some(Plot::new(check, course, titles, description, range, layers))
}

/// The joint's speed at the motor's largest.
pub(in crate::report) fn speed(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    rows.iter().find_map(|r| r.figures.speed)?;
    let bounds = loads.and_then(|l| l.joint()?.joint_speed);
    let (range, layers, words) = bounded(&SPEED.points(rows), bounds, ("rad/s", 1.0));
    let description = format!("The joint's speed at the motor's largest; {words}.");
    let titles = ["Speed available at the joint", "joint speed at full motor speed, rad/s"];
    Some(Plot::new(check, SPEED, titles, description, range, layers))
}

/// The rod's force at the motor's peak torque, with what the rod bears.
pub(in crate::report) fn rod_force(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    rows.iter().find_map(|r| r.figures.rod_force)?;
    let critical = loads.and_then(|l| l.joint()?.buckling).map(|b| b.load);
    let top = ROD.largest(rows);
    // A rod that bears many times the force would press the curve flat.
    let shown = critical.filter(|c| *c <= 4.0 * top);
    let curve = Form::Curve(ROD.points(rows));
    let mut layers = vec![Layer(curve, Ink::Curve, "pull or thrust in the rod")];
    layers.extend(shown.map(|c| Layer(Form::Level(c), Ink::Limit, "the rod buckles")));
    let beyond = if shown.is_none() { ", beyond the chart" } else { "" };
    let aside =
        critical.map_or(String::new(), |c| format!(" The rod buckles at {} N{beyond}.", figure(c)));
    let top = figure(top);
    let description = format!(
        "Force in the rod and on every pin at the motor's peak torque: up to {top} N.{aside}"
    );
    let titles = ["Rod force over the stroke", "rod force at peak motor torque, N"];
    let range = range_with_zero(rows.iter().map(|row| ROD.value(row)[1]).chain(shown));
    Some(Plot::new(check, ROD, titles, description, range, layers))
}

/// The inertia at the joint, carrier fixed, and the direct joint's constant.
pub(in crate::report) fn inertia(check: &Check, rows: &[PoseRow]) -> Option<Plot> {
    rows.iter().find_map(|r| r.figures.inertia)?;
    let (unit, factor) =
        handy(INERTIA.largest(rows), &[("kg m²", 1.0), ("g m²", 1e3), ("g cm²", 1e7)]);
    let course = INERTIA.times(factor);
    let drive = check.inertia.as_ref().and_then(|found| found.decisive());
    let constant = drive.map(|drive| factor * drive.replacement.tree.joint_inertia());
    let [low, high] = range(rows.iter().map(|row| course.value(row)[1]).chain(constant), 0.25);
    // No less than ±5 %, so that a hair does not look like a mountain.
    let middle = 0.5 * (low + high);
    let mut layers = vec![Layer(Form::Curve(course.points(rows)), Ink::Curve, "linkage")];
    layers.extend(constant.map(|c| Layer(Form::Level(c), Ink::Direct, "direct joint")));
    let has =
        constant.map_or_else(|| "no constant".to_owned(), |c| format!("{} {unit}", figure(c)));
    let description = format!(
        "Inertia that the joint feels with the carrier held, rotor included; the direct joint has {has}."
    );
    let label = format!("inertia at the joint, {unit}");
    let titles = ["Inertia at the joint over the stroke", &label];
    let range = [low.min(0.95 * middle), high.max(1.05 * middle)];
    Some(Plot::new(check, course, titles, description, range, layers))
}
