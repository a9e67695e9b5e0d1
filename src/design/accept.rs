//! `[accept]`: what "equivalent" has to mean.

use super::entry::Entry;
use super::model::{Accept, Preset};
use super::section::Section;
use crate::diagnostic::Code;
use crate::equivalence::{Basis, PadLimits};
use crate::units::UnitKind;
use std::f64::consts::FRAC_PI_2;

/// `[accept]` with its preset resolved, of a pad `on_coupler` or of a joint; both where that is known.
pub(super) fn read(
    root: &Section<'_>,
    tolerance_is_drawn: Option<bool>,
    on_coupler: Option<bool>,
) -> Option<Accept> {
    let table = root.section("accept");
    let get = |key: &str| table.as_ref().and_then(|table| table.get(key));
    let preset = get("preset").map_or(Some(Preset::default()), |entry| {
        entry.choice(&Preset::ALL.map(|preset| (preset.name(), preset)))
    });
    let start = of_preset(preset.unwrap_or_default());
    let limit =
        |key: &str, kind, preset| get(key).map_or(Some(preset), |entry| entry.positive(kind));
    let angle = limit("angle", UnitKind::Angle, start.angle);
    let ratio = limit("ratio", UnitKind::Share, start.ratio);
    let inertia = limit("inertia", UnitKind::Share, start.inertia);
    let steepest = get("transmission_angle")
        .map_or(Some(start.transmission_angle), |entry| folded(&entry, "transmission angle", "30"));
    let wished = |key: &str, noun: &str, usual: &str| match get(key) {
        Some(entry) => folded(&entry, noun, usual).map(Some),
        None => Some(None),
    };
    let ball_tilt = wished("ball_tilt", "tilt", "12");
    let crank_side = wished("crank_side", "angle", "30");
    let tilt = limit("tilt", UnitKind::Angle, start.pad.tilt);
    let shift = limit("shift", UnitKind::Length, start.pad.shift);
    let opening = limit("opening", UnitKind::Length, start.pad.opening);
    let grip = limit("grip", UnitKind::Share, start.pad.grip);
    refuse_what_is_not_judged(on_coupler, &get);
    let over = over(get("over"), tolerance_is_drawn);
    let by_hand = get("inertia");
    check_inertia(root, by_hand.as_ref());
    preset?;
    Some(Accept {
        angle: angle?,
        ratio: ratio?,
        inertia: inertia?,
        inertia_by_hand: by_hand.is_some(),
        transmission_angle: steepest?,
        ball_tilt: ball_tilt?,
        crank_side: crank_side?,
        pad: PadLimits { tilt: tilt?, shift: shift?, opening: opening?, grip: grip? },
        over: over?,
        ..start
    })
}

/// Limits of a pad's motion and limits of a joint's are for one of the two.
fn refuse_what_is_not_judged<'a>(
    on_coupler: Option<bool>,
    get: &dyn Fn(&str) -> Option<Entry<'a>>,
) {
    let Some(on_coupler) = on_coupler else { return };
    let (idle, label, help): (&[&str], _, _) = if on_coupler {
        let help = "the pad rides on the coupler: write tilt, shift, opening or grip instead";
        (&["angle", "ratio"], "judged of a joint", help)
    } else {
        let help = "add [finger] with pad = \"coupler\", or take this line out";
        (&["tilt", "shift", "opening", "grip"], "judged of a pad on the coupler", help)
    };
    for entry in idle.iter().filter_map(|key| get(key)) {
        entry.fault("is not judged here", label, help);
    }
}

/// The limits of a preset: angle in deg, ratio and inertia in %, transmission angle in deg; of a pad tilt in deg, shift and
/// opening in mm, grip in %.
fn of_preset(preset: Preset) -> Accept {
    let ([angle, ratio, inertia, transmission], [tilt, shift, opening, grip]) = match preset {
        Preset::Invisible => ([0.05, 0.5, 1.0, 40.0], [0.05, 0.1, 0.05, 1.0]),
        Preset::Training => ([0.5, 2.0, 5.0, 30.0], [0.5, 1.0, 0.5, 5.0]),
        Preset::Coarse => ([1.0, 5.0, 10.0, 20.0], [1.0, 2.0, 1.0, 10.0]),
    };
    Accept {
        preset,
        angle: f64::to_radians(angle),
        ratio: ratio / 100.0,
        inertia: inertia / 100.0,
        inertia_by_hand: false,
        transmission_angle: f64::to_radians(transmission),
        ball_tilt: None,
        crank_side: None,
        pad: PadLimits {
            tilt: f64::to_radians(tilt),
            shift: shift / 1000.0,
            opening: opening / 1000.0,
            grip: grip / 100.0,
        },
        over: Basis::Nominal,
    }
}

/// An angle that is nowhere over 90 deg.
fn folded(entry: &Entry<'_>, noun: &str, usual: &str) -> Option<f64> {
    let angle = entry.positive(UnitKind::Angle)?;
    if angle > FRAC_PI_2 {
        let help = format!("the {noun} is folded into 0 to 90 deg: write such as \"{usual} deg\"");
        entry.fault("is over 90 deg", "never reached", help);
        return None;
    }
    Some(angle)
}

fn over(entry: Option<Entry<'_>>, tolerance_is_drawn: Option<bool>) -> Option<Basis> {
    let default = if tolerance_is_drawn == Some(true) { Basis::Tolerance } else { Basis::Nominal };
    let Some(entry) = entry else {
        return Some(default);
    };
    let over = entry.choice(&[("nominal", Basis::Nominal), ("tolerance", Basis::Tolerance)])?;
    if over == Basis::Tolerance && tolerance_is_drawn == Some(false) {
        let help = "draw tolerances, such as crank = \"45 ±0.05 mm\", or write over = \"nominal\"";
        entry.coded(Code::ToleranceMissing, "needs tolerances", "none is drawn", help);
        return None;
    }
    Some(over)
}

/// An inertia limit that is written by hand needs something to be judged with.
fn check_inertia(root: &Section<'_>, by_hand: Option<&Entry<'_>>) {
    let Some(entry) = by_hand else { return };
    let wanted = [("mass", "[mass.child]"), ("actuator", "[actuator]")];
    let missing: Vec<&str> =
        wanted.iter().filter(|(key, _)| root.get(key).is_none()).map(|(_, table)| *table).collect();
    if missing.is_empty() {
        return;
    }
    let help = format!("add {}, or leave this line out", missing.join(" and "));
    let label = format!("needs {}", missing.join(" and "));
    entry.coded(Code::InertiaCannotBeJudged, "cannot be judged", &label, help);
}
