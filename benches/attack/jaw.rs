//! Stand-ins of a pad: their constants, and what is said of those that were not asked for.

use serde_json::Value;

use super::compare::{Case, MET, Report, number};
use super::double::{Double, Real};
use super::drawing::Meaning;
use super::pad::{Judged, Motion, Start};
use super::random::Random;
use super::truth::{Question, worst};

/// Order of the figures of a stand-in's row.
const ROW: [(&str, usize); 4] = [("tilt_rad", 0), ("shift_m", 3), ("opening_m", 4), ("grip", 1)];

/// What was asked for, with the constants that are stated.
pub fn asked(meaning: &Meaning, json: &Value, report: &mut Report) -> Option<Judged<Double>> {
    let found = stated(meaning, json);
    if found.is_none() {
        report.broken("no constants", "the stand-in's are not stated");
    }
    if let Some(said) = number(json, "/finger/multiplier")
        && (said - multiplier(meaning, json)?.value()).abs() > MET
    {
        report.broken("constant", format!("the pair turns by {said}"));
    }
    found
}

fn stated(meaning: &Meaning, json: &Value) -> Option<Judged<Double>> {
    let finger = meaning.finger.as_ref()?;
    let (pad, zero) = (finger.pad, zero(meaning)?);
    let said = |path: &str| number(json, path).map(Double::of);
    let motion = match finger.stand_in {
        "counter" => Motion::counter(&pad, &zero, said("/finger/multiplier")?),
        "slide" => {
            let of = |key: &str| Some(said(key)? * Double::of(1e3));
            let [place, force] =
                ["/finger/slide_m_per_rad/opening", "/finger/slide_m_per_rad/grip"].map(of);
            Motion::slide([place?, force?])
        }
        _ => {
            let slope = Double::of(1.0) / said("/direct_joint/ratio")?;
            Motion::hinge(&pad, &zero, &meaning.reference, slope)
        }
    };
    Some(Judged { pad, motion })
}

fn zero(meaning: &Meaning) -> Option<Start<Double>> {
    Some(Start::of(&meaning.reference.pose(meaning.zero_crank, meaning.side)?))
}

/// −1, or the coupler's mean turn over the stroke less the crank's where the best is asked for.
fn multiplier(meaning: &Meaning, json: &Value) -> Option<Double> {
    if !meaning.finger.as_ref()?.best {
        return Some(Double::of(-1.0));
    }
    let [from, to] = super::compare::pair(json, "/stroke/motor_rad")?.map(Double::of);
    let coupler =
        |turn| Some(meaning.reference.pose(meaning.zero_crank + turn, meaning.side)?.coupler);
    Some((coupler(to)? - coupler(from)?) / (to - from) - Double::of(1.0))
}

impl Case<'_> {
    /// No neighbouring constant of a slide has a smaller worst error.
    pub(super) fn best_stand_in(&self, random: &mut Random, report: &mut Report) {
        let Some(pad) = self.alone.pad else { return };
        if self.meaning.finger.as_ref().is_none_or(|finger| finger.stand_in != "slide") {
            return;
        }
        for (k, figure) in [(0, 4), (1, 1)] {
            let of = |q: &Question<Double>, random: &mut Random| {
                worst(q, random).worst(figure).map_or(f64::INFINITY, |w| w.value.value())
            };
            let now = of(&self.alone, random);
            // No force is told of a slide whose pad turns back within the stroke.
            if figure == 1 && now >= 1.0 {
                continue;
            }
            for step in [1e-6, -1e-6, 1e-4, -1e-4] {
                let mut other = pad;
                other.motion.travel[k] = pad.motion.travel[k] * Double::of(1.0 + step);
                let there = of(&Question { pad: Some(other), ..self.alone }, random);
                if there < now * (1.0 - 1e-8) - 1e-13 {
                    let name = self.names()[figure];
                    let says = format!("{name} {now:e}, with a slide {step:+e} off {there:e}");
                    self.broken_off_change_points("constants are not the best", says, report);
                }
            }
        }
    }

    /// The row of every stand-in.
    pub(super) fn other_stand_ins(&self, random: &mut Random, report: &mut Report) {
        let Some(finger) = &self.meaning.finger else { return };
        let rows = self.json["finger"]["stand_ins"].as_array();
        if rows.is_none_or(|rows| rows.len() != 3) {
            report.broken("stand-ins missing", self.json["finger"].to_string());
        }
        for row in rows.into_iter().flatten() {
            let name = row["stand_in"].as_str().unwrap_or("");
            let is_asked = name == finger.stand_in;
            let motion = match (name, zero(self.meaning), multiplier(self.meaning, self.json)) {
                _ if is_asked => self.alone.pad.map(|pad| pad.motion),
                ("counter", Some(zero), Some(rate)) => {
                    Some(Motion::counter(&finger.pad, &zero, rate))
                }
                _ => None,
            };
            let judged = motion.map(|motion| Judged { pad: finger.pad, motion });
            if let Some(judged) = judged {
                self.row(row, judged, random, report);
            }
            let all_hold = self.names().iter().all(|name| {
                super::compare::criterion(self.json, name).is_some_and(|c| c["outcome"] == "holds")
            });
            if is_asked && all_hold != (row["outcome"] == "holds") {
                report.broken("stand-in", format!("{row} beside criteria that hold: {all_hold}"));
            }
        }
    }

    fn row(&self, row: &Value, judged: Judged<Double>, random: &mut Random, report: &mut Report) {
        let with = |q: &Question<Double>| Question { pad: Some(judged), ..*q };
        let own = worst(&with(&self.alone), random);
        for (key, figure) in ROW {
            let Some(found) = own.worst(figure).map(|w| w.value.value()) else { continue };
            let said = row[key].as_f64();
            // Where the pad stands still its force has no figure.
            let has_none = figure == 1 && found > 0.9;
            let off = said.map(|said| (said - found).abs());
            if !has_none
                && off.is_none_or(|off| {
                    off > 1e-8 * found.abs() + if figure == 1 { 1e-8 } else { 1e-11 }
                })
            {
                let says = format!("{key} {said:?} is {found:e}: {row}");
                self.broken_off_change_points("stand-in figure", says, report);
            }
        }
        let why = self.broken_over(&with(&self.family), random, report);
        match (row["outcome"].as_str(), why) {
            (Some("holds"), Some(why)) => {
                report.broken("untrue stand-in", format!("{row}: {why}"));
            }
            (Some("fails"), None) => {
                report.remarks.push(("stand-in fails unseen", row.to_string()));
            }
            _ => {}
        }
    }
}
