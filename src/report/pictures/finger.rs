//! Opening, tilt and grip of a gripper over the motor angle.

use crate::equivalence::Criterion;
use crate::report::drawing::{Form, Ink, Layer};
use crate::study::{Check, LoadFindings, PadRow, PoseRow, figure as criterion_figure};
use crate::units::{degrees, figure, fixed};

use super::angles::{certified_band, limit};
use super::figure::{Figure, Plot, range_with_zero};
use super::range;

/// A figure of the pad.
fn of_pad(
    name: &'static str,
    rows: &[PoseRow],
    shown: fn(f64) -> String,
    height: impl Fn(&PadRow) -> Option<f64>,
) -> Option<Figure> {
    Figure::of(name, rows, shown, |row| row.pad.as_ref().and_then(&height))
}

/// The opening.
pub(super) fn opening(check: &Check, rows: &[PoseRow]) -> Option<Plot> {
    let [low, high] = check.finger.as_ref()?.opening.map(|at| fixed(1e3 * at.value, 2));
    let drawn = of_pad("opening", rows, |y| fixed(y, 2), |pad| Some(1e3 * pad.opening))?;
    let layers = vec![drawn.curve(check)];
    let range = range_with_zero(drawn.heights());
    let description = format!("Distance of the pad faces: {low}…{high} mm over the stroke.");
    let titles = ["Opening over the stroke", "opening, mm"];
    Some(drawn.plot(check, titles, description, range, layers))
}

/// The tilt of the drawn linkage's pad, with limits and bound where its stand-in does not tilt.
pub(super) fn tilt(check: &Check, rows: &[PoseRow]) -> Option<Plot> {
    let found = check.finger.as_ref()?;
    let tilt = |pad: &PadRow| Some(pad.pose.tilt.to_degrees());
    let drawn = of_pad("tilt", rows, |y| fixed(y, 4), tilt)?;
    let limit = limit(check, Criterion::Tilt);
    let is_level = found.multiplier == Some(-1.0) || found.travel.is_some();
    let band = |bound: f64| [-bound.to_degrees(), bound.to_degrees()];
    let mut layers = Vec::new();
    let mut edges = Vec::new();
    if is_level {
        layers.extend(certified_band(check, Criterion::Tilt, band));
        layers.extend(drawn.between(check, band(limit), (0.0, "stand-in")));
        edges.extend(band(limit));
    } else {
        layers.push(drawn.curve(check));
    }
    let [low, high] = found.tilt.map(|at| degrees(at.value));
    let description = format!(
        "Turn of the drawn linkage's pad against the zero pose: {low}…{high}; accepted within {} of the stand-in.",
        criterion_figure(Criterion::Tilt, limit)
    );
    let range = range(drawn.heights().chain(edges), 0.06);
    Some(drawn.plot(check, ["Tilt over the stroke", "tilt, deg"], description, range, layers))
}

/// The grip of each pad, at peak torque where that is given, with what is guaranteed.
pub(super) fn grip(check: &Check, rows: &[PoseRow], loads: Option<&LoadFindings>) -> Option<Plot> {
    let at_peak = rows.iter().any(|row| row.pad.is_some_and(|pad| pad.grip.is_some()));
    let (drawn, label) = if at_peak {
        let drawn = of_pad("grip", rows, figure, |pad| pad.grip)?;
        (drawn, "grip of each pad at peak torque, N")
    } else {
        let drawn = of_pad("grip", rows, figure, |pad| Some(pad.pose.grip_per_torque()))?;
        (drawn, "grip of each pad for each N m, N")
    };
    let duty = loads.and_then(|found| found.finger()?.peak.as_ref()).filter(|_| at_peak);
    let guaranteed = duty.map(|duty| duty.jaw.guaranteed.value);
    let mut layers = vec![drawn.curve(check)];
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
    let range = range_with_zero(drawn.heights().chain(guaranteed));
    Some(drawn.plot(check, ["Grip over the stroke", label], description, range, layers))
}
