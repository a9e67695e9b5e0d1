//! The linkage and pose that are said to break a limit, held against the drawing and the closed form.

use serde_json::Value;

use super::compare::{Case, Report, met, over};
use super::double::{Double, Real};

/// A ratio or grip error above this is that of what stands still.
const STANDING: f64 = 1e9;
/// How far a witness may lie outside the typed decimals, in mm: rounding of its floats.
const OUTSIDE: f64 = 1e-9;

impl Case<'_> {
    pub(super) fn witness(&self, report: &mut Report) {
        let witness = &self.json["witness"];
        if witness.is_null() {
            return;
        }
        let figure = self.names().iter().position(|name| witness["criterion"] == *name);
        let Some(figure) = figure else { return };
        let Some(place) = self.typed(witness, report) else {
            report.broken("witness", format!("incomplete: {witness}"));
            return;
        };
        let mut q = self.family;
        (q.low, q.high) = (place, place);
        let reached = q.figures(&[0.0; 6]).filter(|_| q.closes(&[0.0; 6]));
        let said = witness["value"].as_f64();
        let Some(figures) = reached else {
            if said.is_some() && figure != 2 {
                report.broken("witness", format!("does not close: {witness}"));
            }
            return;
        };
        let value = if figure == 2 { figures[2] } else { figures[figure].abs() };
        if over(figure, value, self.limit(figure)) <= met(figure) {
            let says = format!("reaches {:e} only: {witness}", value.value());
            report.broken("witness breaks no limit", says);
        }
        // Where the rocker stands still the ratio error has no bound, and no figure is stated.
        if said.is_none() && figure == 1 && value.value() > STANDING {
            return;
        }
        let off = said.map(|s| (s - value.value()).abs() / s.abs().max(1.0));
        if off.is_none_or(|off| off > 1e-7) {
            report.broken("witness", format!("reaches {:e}: {witness}", value.value()));
        }
    }

    /// The witness's place in mm and rad, moved into the typed decimals; far outside is a break.
    fn typed(&self, witness: &Value, report: &mut Report) -> Option<[Double; 6]> {
        let keys =
            ["ground_m", "crank_m", "coupler_m", "rocker_m", "zero_crank_error_rad", "motor_rad"];
        let mut place = [Double::of(0.0); 6];
        for (k, key) in keys.into_iter().enumerate() {
            let unit = if k < 4 { 1000.0 } else { 1.0 };
            let said = Double::of(witness[key].as_f64()?) * Double::of(unit);
            let (low, high) = (self.family.low[k], self.family.high[k]);
            let inside = if said < low {
                low
            } else if said > high {
                high
            } else {
                said
            };
            let outside = (said - inside).value().abs();
            if outside > OUTSIDE {
                report.broken("witness outside the drawing", format!("{key} by {outside:e}"));
            } else if outside > 1e-15 * said.value().abs().max(1e-3) {
                report.remarks.push(("witness a hair outside", format!("{key} by {outside:e}")));
            }
            place[k] = inside;
        }
        Some(place)
    }
}
