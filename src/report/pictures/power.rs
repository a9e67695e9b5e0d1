//! Torque, speed, rod force and inertia over the stroke.

use crate::dynamics::{Bounds, Duty};
use crate::report::drawing::{Form, Ink, Layer};
use crate::report::stroke_tables::OneJointRow;
use crate::study::{Check, LoadFindings};
use crate::units::figure;

use super::figure::{Figure, Plot, range_with_zero};
use super::range;

/// A unit in which a figure has a digit or two before the point: name and factor.
fn handy(largest: f64, units: &[(&'static str, f64)]) -> (&'static str, f64) {
    let fits = units.iter().find(|(_, factor)| largest * factor >= 1.0);
    fits.or(units.last()).copied().unwrap_or(("", 1.0))
}

/// A figure that the joint may promise, and one that it never exceeds: range, layers and words.
fn bounded(
    check: &Check,
    drawn: &Figure,
    bounds: Option<Bounds>,
    (unit, factor): (&str, f64),
) -> ([f64; 2], Vec<Layer>, String) {
    let (curve, heights) = (drawn.curve(check), drawn.heights());
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
pub(super) fn torque<R: OneJointRow>(
    check: &Check,
    rows: &[R],
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    let drawn = Figure::of("torque", rows, figure, |row| row.figures().torque.map(f64::abs))?;
    let rubs = rows.iter().any(|row| row.figures().left.is_some());
    let losses = if rubs { "after the friction that is given" } else { "without losses" };
    let bounds = loads.and_then(|l| l.joint()?.peak.as_ref()).map(|d: &Duty| d.joint_torque);
    let top = bounds.map_or_else(|| drawn.largest(), |b| b.never_exceed.value);
    let unit = handy(top, &[("N m", 1.0), ("mN m", 1e3)]);
    let drawn = drawn.times(unit.1);
    let (range, layers, words) = bounded(check, &drawn, bounds, unit);
    let label = format!("joint torque at peak motor torque, {}", unit.0);
    let description = format!("The joint's torque at the motor's peak, {losses}; {words}.");
    let titles = ["Torque available at the joint", label.as_str()];
    Some(drawn.plot(check, titles, description, range, layers))
}

/// The joint's speed at the motor's largest.
pub(super) fn speed<R: OneJointRow>(
    check: &Check,
    rows: &[R],
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    let drawn = Figure::of("speed", rows, figure, |row| row.figures().speed)?;
    let bounds = loads.and_then(|l| l.joint()?.joint_speed);
    let (range, layers, words) = bounded(check, &drawn, bounds, ("rad/s", 1.0));
    let titles = ["Speed available at the joint", "joint speed at full motor speed, rad/s"];
    let description = format!("The joint's speed at the motor's largest; {words}.");
    Some(drawn.plot(check, titles, description, range, layers))
}

/// The rod's force at the motor's peak torque, with what the rod bears.
pub(super) fn rod_force<R: OneJointRow>(
    check: &Check,
    rows: &[R],
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    let drawn = Figure::of("rod", rows, figure, |row| row.figures().rod_force.map(f64::abs))?;
    let critical = loads.and_then(|l| l.joint()?.buckling).map(|b| b.load);
    let top = drawn.largest();
    // A rod that bears many times the force would press the curve flat.
    let shown = critical.filter(|c| *c <= 4.0 * top);
    let curve = Form::Curve(drawn.points.clone());
    let mut layers = vec![Layer(curve, Ink::Curve, "pull or thrust in the rod".into())];
    layers.extend(shown.map(|c| Layer(Form::Level(c), Ink::Limit, "the rod buckles".into())));
    let beyond = if shown.is_none() { ", beyond the chart" } else { "" };
    let aside =
        critical.map_or(String::new(), |c| format!(" The rod buckles at {} N{beyond}.", figure(c)));
    let top = figure(top);
    let titles = ["Rod force over the stroke", "rod force at peak motor torque, N"];
    let description = format!(
        "Force in the rod and on every pin at the motor's peak torque: up to {top} N.{aside}"
    );
    let range = range_with_zero(drawn.heights().chain(shown));
    Some(drawn.plot(check, titles, description, range, layers))
}

/// The inertia at the joint, carrier fixed, and the direct joint's constant.
pub(super) fn inertia<R: OneJointRow>(check: &Check, rows: &[R]) -> Option<Plot> {
    let drawn = Figure::of("inertia", rows, figure, |row| row.figures().inertia)?;
    let units = [("kg m²", 1.0), ("g m²", 1e3), ("g cm²", 1e7)];
    let (unit, factor) = handy(drawn.largest(), &units);
    let drawn = drawn.times(factor);
    let decisive = check.inertia.as_ref().and_then(|found| found.decisive());
    let constant = decisive.map(|drive| factor * drive.replacement.tree.joint_inertia());
    let [low, high] = range(drawn.heights().chain(constant), 0.25);
    // No less than ±5 %, so that a hair does not look like a mountain.
    let middle = 0.5 * (low + high);
    let mut layers = vec![drawn.curve(check)];
    layers.extend(constant.map(|c| Layer(Form::Level(c), Ink::Direct, "direct joint".into())));
    let has =
        constant.map_or_else(|| "no constant".to_owned(), |c| format!("{} {unit}", figure(c)));
    let description = format!(
        "Inertia that the joint feels with the carrier held, rotor included; the direct joint has {has}."
    );
    let label = format!("inertia at the joint, {unit}");
    let titles = ["Inertia at the joint over the stroke", label.as_str()];
    let range = [low.min(0.95 * middle), high.max(1.05 * middle)];
    Some(drawn.plot(check, titles, description, range, layers))
}
