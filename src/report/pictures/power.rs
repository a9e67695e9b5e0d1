//! Torque, speed, rod force and inertia over the stroke.

use crate::dynamics::{Bounds, Duty};
use crate::report::drawing::{Form, Ink, Layer, Point};
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

/// A figure over the stroke as it is drawn, whatever the drive.
pub(super) struct Told {
    /// From SI to the chart's unit.
    pub(super) factor: f64,
    pub(super) titles: [String; 2],
    pub(super) description: String,
    pub(super) range: [f64; 2],
    pub(super) layers: Vec<Layer>,
}

/// Joint readings (deg) with a figure (SI).
type Points<'a> = &'a [Point];

fn scaled(points: Points<'_>, factor: f64) -> Vec<Point> {
    points.iter().map(|[x, y]| [*x, factor * y]).collect()
}

fn heights(points: Points<'_>) -> impl Iterator<Item = f64> {
    points.iter().map(|point| point[1])
}

fn largest(points: Points<'_>) -> f64 {
    heights(points).map(f64::abs).filter(|y| y.is_finite()).fold(0.0, f64::max)
}

/// A figure of `who` that the joint may promise, and one that it never exceeds: range, layers and words.
fn bounded(
    points: &[Point],
    bounds: Option<Bounds>,
    (unit, factor): (&str, f64),
    who: &'static str,
) -> ([f64; 2], Vec<Layer>, String) {
    let curve = Layer(Form::Curve(points.to_vec()), Ink::Curve, who.into());
    let heights = heights(points);
    let Some(Bounds { guaranteed, never_exceed }) = bounds else {
        return (range_with_zero(heights), vec![curve], "no bound over this stroke".to_owned());
    };
    let [low, high] = [guaranteed, never_exceed].map(|e| factor * e.value);
    let layers = vec![
        curve,
        Layer(Form::Level(low), Ink::Direct, "guaranteed".into()),
        Layer(Form::Level(high), Ink::Limit, "never exceeded".into()),
    ];
    let words =
        format!("at least {} and at most {} {unit} over the stroke", figure(low), figure(high));
    (range_with_zero(heights.chain([high])), layers, words)
}

/// The joint's torque at the motor's peak.
pub(super) fn torque_told(
    points: Points<'_>,
    loads: Option<&LoadFindings>,
    losses: &str,
    who: &'static str,
) -> Told {
    let bounds = loads.and_then(|l| l.joint()?.peak.as_ref()).map(|d: &Duty| d.joint_torque);
    let top = bounds.map_or_else(|| largest(points), |b| b.never_exceed.value);
    let unit = handy(top, &[("N m", 1.0), ("mN m", 1e3)]);
    let (range, layers, words) = bounded(&scaled(points, unit.1), bounds, unit, who);
    Told {
        factor: unit.1,
        titles: [
            "Torque available at the joint".to_owned(),
            format!("joint torque at peak motor torque, {}", unit.0),
        ],
        description: format!("The joint's torque at the motor's peak, {losses}; {words}."),
        range,
        layers,
    }
}

/// The joint's speed at the motor's largest.
pub(super) fn speed_told(
    points: Points<'_>,
    loads: Option<&LoadFindings>,
    who: &'static str,
) -> Told {
    let bounds = loads.and_then(|l| l.joint()?.joint_speed);
    let (range, layers, words) = bounded(points, bounds, ("rad/s", 1.0), who);
    Told {
        factor: 1.0,
        titles: ["Speed available at the joint", "joint speed at full motor speed, rad/s"]
            .map(str::to_owned),
        description: format!("The joint's speed at the motor's largest; {words}."),
        range,
        layers,
    }
}

/// The rod's force at the motor's peak torque, with what the rod bears.
pub(super) fn rod_told(points: Points<'_>, loads: Option<&LoadFindings>) -> Told {
    let critical = loads.and_then(|l| l.joint()?.buckling).map(|b| b.load);
    let top = largest(points);
    // A rod that bears many times the force would press the curve flat.
    let shown = critical.filter(|c| *c <= 4.0 * top);
    let curve = Form::Curve(points.to_vec());
    let mut layers = vec![Layer(curve, Ink::Curve, "pull or thrust in the rod".into())];
    layers.extend(shown.map(|c| Layer(Form::Level(c), Ink::Limit, "the rod buckles".into())));
    let beyond = if shown.is_none() { ", beyond the chart" } else { "" };
    let aside =
        critical.map_or(String::new(), |c| format!(" The rod buckles at {} N{beyond}.", figure(c)));
    let top = figure(top);
    Told {
        factor: 1.0,
        titles: ["Rod force over the stroke", "rod force at peak motor torque, N"]
            .map(str::to_owned),
        description: format!(
            "Force in the rod and on every pin at the motor's peak torque: up to {top} N.{aside}"
        ),
        range: range_with_zero(heights(points).chain(shown)),
        layers,
    }
}

/// The inertia at the joint, carrier fixed, and the direct joint's constant.
pub(super) fn inertia_told(points: Points<'_>, check: &Check, who: &'static str) -> Told {
    let (unit, factor) = handy(largest(points), &[("kg m²", 1.0), ("g m²", 1e3), ("g cm²", 1e7)]);
    let points = scaled(points, factor);
    let drive = check.inertia.as_ref().and_then(|found| found.decisive());
    let constant = drive.map(|drive| factor * drive.replacement.tree.joint_inertia());
    let [low, high] = range(heights(&points).chain(constant), 0.25);
    // No less than ±5 %, so that a hair does not look like a mountain.
    let middle = 0.5 * (low + high);
    let mut layers = vec![Layer(Form::Curve(points), Ink::Curve, who.into())];
    layers.extend(constant.map(|c| Layer(Form::Level(c), Ink::Direct, "direct joint".into())));
    let has =
        constant.map_or_else(|| "no constant".to_owned(), |c| format!("{} {unit}", figure(c)));
    Told {
        factor,
        titles: [
            "Inertia at the joint over the stroke".to_owned(),
            format!("inertia at the joint, {unit}"),
        ],
        description: format!(
            "Inertia that the joint feels with the carrier held, rotor included; the direct joint has {has}."
        ),
        range: [low.min(0.95 * middle), high.max(1.05 * middle)],
        layers,
    }
}

/// What the curve of a four-bar is called.
const LINKAGE: &str = "linkage";

/// The joint's torque at the motor's peak.
pub(in crate::report) fn torque(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    rows.iter().find_map(|r| r.figures.torque)?;
    let left = rows.iter().any(|r| r.figures.left.is_some());
    let losses = if left { "after friction in the pins" } else { "without losses" };
    let told = torque_told(&TORQUE.points(rows), loads, losses, LINKAGE);
    Some(Plot::of(check, (TORQUE, rows), told))
}

/// The joint's speed at the motor's largest.
pub(in crate::report) fn speed(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    rows.iter().find_map(|r| r.figures.speed)?;
    Some(Plot::of(check, (SPEED, rows), speed_told(&SPEED.points(rows), loads, LINKAGE)))
}

/// The rod's force at the motor's peak torque.
pub(in crate::report) fn rod_force(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    rows.iter().find_map(|r| r.figures.rod_force)?;
    Some(Plot::of(check, (ROD, rows), rod_told(&ROD.points(rows), loads)))
}

/// The inertia at the joint, carrier fixed.
pub(in crate::report) fn inertia(check: &Check, rows: &[PoseRow]) -> Option<Plot> {
    rows.iter().find_map(|r| r.figures.inertia)?;
    Some(Plot::of(check, (INERTIA, rows), inertia_told(&INERTIA.points(rows), check, LINKAGE)))
}
