//! The printed figures of a finger: opening, tilt, shift, grip, speed, what holds without power, the toggle.

use std::f64::consts::PI;

use super::closed_form::Bars;
use super::compare::{Case, Report, number, pair};
use super::double::Real;
use super::pad::{FingerMeaning, Pad, Placed, Start, dot};

/// Poses that are looked at.
const POSES: u32 = 1000;
/// m in a mm.
const METRE: f64 = 1e-3;

/// A finger of the reference, in floats.
struct Finger<'a> {
    said: &'a FingerMeaning,
    pad: Pad<f64>,
    bars: Bars<f64>,
    zero_crank: f64,
    side: f64,
}

impl Finger<'_> {
    fn placed(&self, turn: f64) -> Option<Placed<f64>> {
        let zero = self.bars.pose(self.zero_crank, self.side)?;
        let pose = self.bars.pose(self.zero_crank + turn, self.side)?;
        if self.said.on_coupler {
            return Some(self.pad.placed(&pose, &Start::of(&zero)));
        }
        let tilt = pose.rocker - zero.rocker;
        let ([x, y], (sin, cos)) = (self.pad.point, tilt.sin_cos());
        let [u, v] = [x * cos - y * sin, x * sin + y * cos];
        let r = pose.velocity_ratio;
        Some(Placed { tilt, moved: [u - x, v - y], rate: [-r * v, r * u] })
    }

    /// Of the opening, m/rad.
    fn rate(&self, turn: f64) -> Option<f64> {
        let rate = dot(self.pad.closing, self.placed(turn)?.rate);
        Some(-METRE * self.pad.fingers * rate)
    }

    /// Opening (m), tilt (rad), shift (m), grip (N for each N m).
    fn figures(&self, turn: f64) -> Option<[f64; 4]> {
        let placed = self.placed(turn)?;
        let closed = METRE * self.pad.fingers * dot(self.pad.closing, placed.moved);
        Some([
            self.said.opening - closed,
            placed.tilt,
            METRE * dot(self.pad.across, placed.moved),
            1.0 / self.rate(turn)?.abs(),
        ])
    }

    /// Is no crank limit and no change point between these turns?
    fn closes(&self, [from, to]: [f64; 2]) -> bool {
        self.bars.closes_over_by(self.zero_crank + from, self.zero_crank + to, 1e-6)
    }

    /// Does the opening turn from growing to falling, or back, between these turns?
    fn turns_back(&self, [from, to]: [f64; 2]) -> bool {
        let rates = evenly([from, to]).filter_map(|turn| self.rate(turn));
        let signs: Vec<f64> = rates.map(f64::signum).collect();
        signs.iter().any(|sign| Some(sign) != signs.first())
    }
}

/// How far short of a toggle it is looked at, as a share of the way: at a change point floats lose their digits.
const SHORT: f64 = 1e-3;

fn evenly([from, to]: [f64; 2]) -> impl Iterator<Item = f64> {
    (0..=POSES).map(move |k| from + (to - from) * f64::from(k) / f64::from(POSES))
}

impl Case<'_> {
    /// Everything that is printed of a finger.
    pub(super) fn printed(&self, report: &mut Report) {
        let Some(said) = &self.meaning.finger else { return };
        let finger = Finger {
            said,
            pad: said.pad.floats(),
            bars: self.meaning.reference.floats(),
            zero_crank: self.meaning.zero_crank.value(),
            side: self.meaning.side,
        };
        let Some(stroke) = pair(self.json, "/stroke/motor_rad") else { return };
        let size = METRE * (finger.pad.point[0].hypot(finger.pad.point[1]) + finger.bars.crank);
        for (k, key) in ["opening_m", "tilt_rad", "shift_m", "grip_n_per_n_m"].iter().enumerate() {
            let slack = if k == 1 { 1e-9 } else { 1e-9 * (size + said.opening) };
            self.ends(&finger, (k, key), stroke, slack, report);
        }
        self.of_actuator(said, report);
        self.toggle(&finger, stroke, report);
    }

    /// Smallest and largest of one figure: reached where it is said, and passed nowhere.
    fn ends(
        &self,
        finger: &Finger<'_>,
        (k, key): (usize, &str),
        stroke: [f64; 2],
        slack: f64,
        report: &mut Report,
    ) {
        let at = |turn: f64| finger.figures(turn).map(|figures| figures[k]);
        let slack = |value: f64| if k == 3 { 1e-6 * value.abs() } else { slack };
        for (end, sign) in [("min", -1.0), ("max", 1.0)] {
            let path = format!("/finger/{key}/{end}");
            let said = number(self.json, &path).unwrap_or(f64::INFINITY);
            let place = number(self.json, &format!("{path}_at_motor_rad")).unwrap_or(f64::NAN);
            let there = at(place).unwrap_or(f64::INFINITY);
            if said.is_finite() && (there - said).abs() > slack(said) {
                let says = format!("{path} {said:e} at {place} is {there:e}");
                self.broken_off_change_points("printed figure", says, report);
            }
            let beyond = |turn: &f64| at(*turn).is_some_and(|x| sign * (x - said) > slack(said));
            if let Some(turn) = evenly(stroke).find(beyond) {
                let says = format!("{path} {said:e} is passed at {turn}: {:?}", at(turn));
                self.broken_off_change_points("printed figure", says, report);
            }
        }
    }

    /// What torque, speed and friction make of the grip.
    fn of_actuator(&self, said: &FingerMeaning, report: &mut Report) {
        let grip = ["min", "max"].map(|end| {
            number(self.json, &format!("/finger/grip_n_per_n_m/{end}")).unwrap_or(f64::INFINITY)
        });
        let [peak, speed, holding] = said.actuator;
        let fast = grip.map(|g| 1.0 / g);
        for (key, factor, of) in [
            ("grip_at_peak_n", peak, grip),
            ("closing_speed_m_per_s", speed, [fast[1], fast[0]]),
            ("unpowered/holds_n", holding, grip),
        ] {
            let told = self.json.pointer(&format!("/finger/{key}"));
            let told = told.and_then(|told| told.as_array());
            if factor.is_some() != told.is_some() {
                report.broken("printed figure", format!("{key}: {told:?}"));
            }
            let (Some(factor), Some(told)) = (factor, told) else { continue };
            for (told, of) in told.iter().zip(of) {
                let own = factor * of;
                let off = told.as_f64().map_or(f64::INFINITY, |told| (told - own).abs());
                if own.is_finite() && off > 1e-9 * (own.abs() + factor) {
                    let says = format!("{key}: {told} is {own}");
                    self.broken_off_change_points("printed figure", says, report);
                }
            }
        }
    }

    fn toggle(&self, finger: &Finger<'_>, [from, to]: [f64; 2], report: &mut Report) {
        let said = number(self.json, "/finger/toggle/motor_rad");
        let Some(motor) = said else {
            let furthest = [[from - PI, from], [from, to], [to, to + PI]];
            let is_missed = |range: &[f64; 2]| finger.closes(*range) && finger.turns_back(*range);
            if let Some(range) = furthest.into_iter().find(is_missed) {
                report.broken("toggle", format!("none, but between {range:?}"));
            }
            return;
        };
        let margin = number(self.json, "/finger/toggle/margin_rad").unwrap_or(f64::NAN);
        if finger.turns_back([from, to]) && margin > 0.0 {
            report.broken("toggle", format!("inside the stroke, said to be at {motor}"));
        }
        let end = motor.clamp(from, to);
        if ((motor - end).abs() - margin).abs() > 1e-9 {
            report.broken("toggle", format!("at {motor} with margin {margin}"));
        }
        if margin < 1e-3 {
            return;
        }
        let short = end + (motor - end) * (1.0 - SHORT);
        if finger.turns_back([end, short]) {
            report.broken("toggle", format!("said to be at {motor}, is nearer"));
        }
        let rates = evenly([end, short]).filter_map(|turn| finger.rate(turn));
        let fastest = rates.fold(0.0, |most: f64, rate| most.max(rate.abs()));
        let still = finger.rate(short).map_or(0.0, f64::abs);
        if still > 0.1 * fastest {
            let says = format!("at {motor} the opening changes by {still:e} m/rad");
            self.broken_off_change_points("toggle", says, report);
        }
    }
}
