//! Opening, tilt and grip of a gripper over the motor angle.

use crate::equivalence::Criterion;
use crate::report::drawing::{Form, Ink, Layer};
use crate::study::{Check, LoadFindings, PoseRow, figure as criterion_figure};
use crate::units::{degrees, figure, fixed};

use super::angles::{certified_band, limit};
use super::power::range_with_zero;
use super::{Course, Plot, range};

const OPENING: Course = Course {
    name: "opening",
    height: |r| r.pad.map_or(f64::NAN, |pad| 1e3 * pad.opening),
    factor: 1.0,
    shown: |y| fixed(y, 2),
};

const TILT: Course = Course {
    name: "tilt",
    height: |r| r.pad.map_or(f64::NAN, |pad| pad.pose.tilt.to_degrees()),
    factor: 1.0,
    shown: |y| fixed(y, 4),
};

const GRIP: Course = Course {
    name: "grip",
    height: |r| r.pad.and_then(|pad| pad.grip).unwrap_or(f64::NAN),
    factor: 1.0,
    shown: figure,
};

const GRIP_PER_TORQUE: Course = Course {
    name: "grip",
    height: |r| r.pad.map_or(f64::NAN, |pad| pad.pose.grip_per_torque()),
    factor: 1.0,
    shown: figure,
};

/// The opening.
pub(in crate::report) fn opening(check: &Check, rows: &[PoseRow]) -> Option<Plot> {
    let [low, high] = check.finger.as_ref()?.opening.map(|at| fixed(1e3 * at.value, 2));
    let heights = rows.iter().map(|row| OPENING.value(row)[1]);
    let layers = vec![Layer(Form::Curve(OPENING.points(rows)), Ink::Curve, "linkage".into())];
    let description = format!("Distance of the pad faces: {low}…{high} mm over the stroke.");
    let titles = ["Opening over the stroke", "opening, mm"];
    Some(Plot::new(check, (OPENING, rows), titles, description, range_with_zero(heights), layers))
}

/// The tilt of the drawn linkage's pad, with limits and bound where its stand-in does not tilt.
pub(in crate::report) fn tilt(check: &Check, rows: &[PoseRow]) -> Option<Plot> {
    let found = check.finger.as_ref()?;
    let limit = limit(check, Criterion::Tilt);
    let is_level = found.multiplier == Some(-1.0) || found.travel.is_some();
    let band = |bound: f64| [-bound.to_degrees(), bound.to_degrees()];
    let mut layers = Vec::new();
    let mut edges = Vec::new();
    if is_level {
        layers.extend(certified_band(check, Criterion::Tilt, band));
        let [low, high] = band(limit);
        layers.push(Layer(Form::Level(low), Ink::Limit, "limits".into()));
        layers.push(Layer(Form::Level(high), Ink::Limit, "".into()));
        layers.push(Layer(Form::Level(0.0), Ink::Direct, "stand-in".into()));
        edges.extend([low, high]);
    }
    layers.push(Layer(Form::Curve(TILT.points(rows)), Ink::Curve, "linkage".into()));
    let [low, high] = found.tilt.map(|at| degrees(at.value));
    let description = format!(
        "Turn of the drawn linkage's pad against the zero pose: {low}…{high}; accepted within {} of the stand-in.",
        criterion_figure(Criterion::Tilt, limit)
    );
    let heights = rows.iter().map(|row| TILT.value(row)[1]).chain(edges);
    let titles = ["Tilt over the stroke", "tilt, deg"];
    Some(Plot::new(check, (TILT, rows), titles, description, range(heights, 0.06), layers))
}

/// The grip of each pad, at peak torque where that is given, with what is guaranteed.
pub(in crate::report) fn grip(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
) -> Option<Plot> {
    let at_peak = rows.iter().any(|row| row.pad.is_some_and(|pad| pad.grip.is_some()));
    let (course, label) = if at_peak {
        (GRIP, "grip of each pad at peak torque, N")
    } else {
        (GRIP_PER_TORQUE, "grip of each pad for each N m, N")
    };
    let duty = loads.and_then(|found| found.finger()?.peak.as_ref()).filter(|_| at_peak);
    let guaranteed = duty.map(|duty| duty.jaw.guaranteed.value);
    let mut layers = vec![Layer(Form::Curve(course.points(rows)), Ink::Curve, "linkage".into())];
    layers.extend(guaranteed.map(|n| Layer(Form::Level(n), Ink::Direct, "guaranteed".into())));
    let words = guaranteed.map_or_else(String::new, |n| {
        let every = duty.and_then(|duty| duty.within_tolerances).map(|grip| grip.map(figure));
        let every = every.map_or_else(String::new, |[low, high]| {
            let without =
                if check.readings.front().is_some() { "without loss" } else { "without friction" };
            format!(
                "; every build within the drawn tolerances grips with {low}…{high} N, {without}"
            )
        });
        format!(
            " At least {} N are guaranteed over the stroke of the drawn linkage{every}.",
            figure(n)
        )
    });
    let description =
        format!("Force of each pad along the closing direction, both in contact.{words}");
    let heights = rows.iter().map(|row| course.value(row)[1]).chain(guaranteed);
    let titles = ["Grip over the stroke", label];
    Some(Plot::new(check, (course, rows), titles, description, range_with_zero(heights), layers))
}
