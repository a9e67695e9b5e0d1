//! What `check` says, held against the truth.

use serde_json::Value;

use super::double::{Double, Real};
use super::drawing::Meaning;
use super::jaw;
use super::random::Random;
use super::truth::{Question, Truth, Worst, motor_turns, worst};

/// Something that is not as it was said.
#[derive(Clone, Debug)]
pub struct Break {
    pub kind: &'static str,
    pub says: String,
}

/// What came of one comparison.
#[derive(Clone, Debug, Default)]
pub struct Report {
    pub verdict: String,
    pub breaks: Vec<Break>,
    /// What is worth counting and no break.
    pub remarks: Vec<(&'static str, String)>,
    pub builds: u64,
    pub poses: u64,
    /// By how much the found worst exceeds the nearest bound, in the order of the figures; negative while it is below.
    pub excess: [Option<f64>; 5],
    /// The worst figures found over the family.
    pub found: [Option<f64>; 5],
}

/// Limits count as met within this; those of lengths, in m, within [`LENGTH_MET`].
pub(super) const MET: f64 = 1e-9;
const LENGTH_MET: f64 = 1e-12;

pub(super) fn met(figure: usize) -> f64 {
    if figure > 2 { LENGTH_MET } else { MET }
}

/// Within this of a change point, rad, floats no longer tell figures to nine digits: what a crank angle or a length is
/// rounded by is divided by the transmission angle, in slopes by its square.
const HAIR: f64 = 1e-3;

/// No bound is too loose by less than this, in the order of the figures; a force comes with the digits of two rates.
const ROOM: [f64; 5] = [MET, 1e-5, MET, MET, MET];

/// No figure of a linkage of this world is larger.
const ABSURD: f64 = 1e12;
/// What is judged of a joint and of a pad on the coupler.
const NAMES: [&[&str]; 2] = [
    &["angle", "ratio", "transmission_angle"],
    &["tilt", "grip", "transmission_angle", "shift", "opening"],
];

impl Meaning {
    /// The criteria that are judged.
    pub fn names(&self) -> &'static [&'static str] {
        NAMES[usize::from(self.is_of_pad())]
    }

    pub fn is_of_pad(&self) -> bool {
        self.finger.as_ref().is_some_and(|finger| finger.on_coupler)
    }
}

impl Report {
    pub(super) fn broken(&mut self, kind: &'static str, says: impl Into<String>) {
        self.breaks.push(Break { kind, says: says.into() });
    }

    pub(super) fn count(&mut self, truth: &Truth) {
        self.builds += truth.builds;
        self.poses += truth.poses;
    }
}

pub(super) fn number(json: &Value, path: &str) -> Option<f64> {
    json.pointer(path)?.as_f64()
}

pub(super) fn pair(json: &Value, path: &str) -> Option<[f64; 2]> {
    let list = json.pointer(path)?.as_array()?;
    Some([list.first()?.as_f64()?, list.get(1)?.as_f64()?])
}

pub(super) fn criterion<'a>(json: &'a Value, name: &str) -> Option<&'a Value> {
    json.get("criteria")?.as_array()?.iter().find(|c| c["name"] == name)
}

/// Compares all figures of `json` (`check --json`) with the closed form.
pub fn against(meaning: &Meaning, json: &Value, random: &mut Random) -> Report {
    let mut report = Report {
        verdict: json["verdict"].as_str().unwrap_or("none").to_owned(),
        ..Report::default()
    };
    absurd(json, "", &mut report);
    missing(meaning, json, &mut report);
    let (slope, offset) = match constants(meaning, json, &mut report) {
        Some(constants) => constants,
        // A pad is held against what moves it.
        None if meaning.is_of_pad() => (Double::of(1.0), Double::of(0.0)),
        // None are stated where the rocker stands still over the whole stroke, which refutes.
        None => {
            if report.verdict != "not_equivalent" {
                report.broken("no constants", "direct_joint without ratio or offset");
            }
            return report;
        }
    };
    let Some(turns) = turns(meaning, json, &mut report) else {
        return report;
    };
    let mut family = Question::of(meaning, turns, slope, offset);
    if meaning.is_of_pad() {
        family.pad = jaw::asked(meaning, json, &mut report);
        if family.pad.is_none() {
            return report;
        }
    }
    let truth = worst(&family, random);
    let alone = family.of_reference(meaning);
    let nominal = worst(&alone, random);
    report.count(&truth);
    report.count(&nominal);
    let case = Case { meaning, json, family, alone, truth, nominal };
    case.nominal_figures(random, &mut report);
    case.transmission_ratio(&mut report);
    case.criteria(&mut report);
    case.witness(&mut report);
    case.verdict(&mut report);
    case.proved_stretch(random, &mut report);
    case.largest_tolerance(random, &mut report);
    case.largest_stroke(random, &mut report);
    if meaning.is_of_pad() {
        case.best_stand_in(random, &mut report);
        case.other_stand_ins(random, &mut report);
    } else {
        case.best_constants(random, &mut report);
    }
    case.printed(&mut report);
    report
}

fn absurd(json: &Value, path: &str, report: &mut Report) {
    match json {
        Value::Number(n) if n.as_f64().is_none_or(|x| !x.is_finite() || x.abs() > ABSURD) => {
            report.broken("absurd figure", format!("{path} = {n}"));
        }
        Value::Array(all) => {
            for (k, one) in all.iter().enumerate() {
                absurd(one, &format!("{path}/{k}"), report);
            }
        }
        Value::Object(all) => {
            for (key, one) in all {
                absurd(one, &format!("{path}/{key}"), report);
            }
        }
        _ => {}
    }
}

fn missing(meaning: &Meaning, json: &Value, report: &mut Report) {
    let of_joint = (!meaning.is_of_pad()).then_some("/angle_error/max_rad");
    let finite = ["/zero/rocker_rad", "/stroke/motor_rad/0"].into_iter().chain(of_joint);
    for missing in finite.filter(|key| number(json, key).is_none()) {
        report.broken("figure missing", missing);
    }
}

/// 1/ratio and offset of the joint that is emitted, held against the ones that were asked for.
fn constants(meaning: &Meaning, json: &Value, report: &mut Report) -> Option<(Double, Double)> {
    let ratio = number(json, "/direct_joint/ratio")?;
    let offset = number(json, "/direct_joint/offset_rad")?;
    let asked = [(meaning.ratio, ratio), (meaning.offset, offset)];
    for (asked, given) in asked {
        if let Some(asked) = asked
            && (asked.value() - given).abs() > 1e-15 * (1.0 + asked.value().abs())
        {
            report.broken("constant", format!("{} asked for, {given} used", asked.value()));
        }
    }
    Some((Double::of(1.0) / Double::of(ratio), Double::of(offset)))
}

/// The motor turns of the stroke.
fn turns(meaning: &Meaning, json: &Value, report: &mut Report) -> Option<[Double; 2]> {
    let said = pair(json, "/stroke/motor_rad")?;
    let pose = |turn: Double| meaning.reference.pose(meaning.zero_crank + turn, meaning.side);
    let joint = |turn: Double| pose(turn).map(|p| p.rocker);
    let Some(own) = motor_turns(meaning) else {
        let says = format!("accepted with motor turns {said:?}");
        let ends = said.map(|turn| pose(Double::of(turn)).map(|p| p.transmission_angle.value()));
        if ends.iter().flatten().any(|angle| *angle < HAIR) {
            report.remarks.push(("stroke ends at a change point", says));
        } else {
            report.broken("stroke out of reach", says);
        }
        return None;
    };
    for (own, said) in own.into_iter().zip(said) {
        let apart = match (joint(own), joint(Double::of(said))) {
            (Some(x), Some(y)) => (x - y).value().abs(),
            _ => f64::INFINITY,
        };
        let off = (own.value() - said).abs();
        if off > MET && (apart > MET || off > 1e-6) {
            report.broken("stroke", format!("motor turn {said} is {}", own.value()));
        }
    }
    Some(own)
}

pub(super) struct Case<'a> {
    pub(super) meaning: &'a Meaning,
    pub(super) json: &'a Value,
    pub(super) family: Question<Double>,
    pub(super) alone: Question<Double>,
    pub(super) truth: Truth,
    pub(super) nominal: Truth,
}

/// By how much a figure passes its limit, the larger the worse.
pub(super) fn over(figure: usize, value: Double, limit: Double) -> f64 {
    if value.value().is_infinite() {
        return f64::INFINITY;
    }
    let past = if figure == 2 { limit - value } else { value - limit };
    past.value()
}

impl Case<'_> {
    /// A figure's last digits are counted, and no break, where linkage and stroke come to a change point.
    pub(super) fn broken_off_change_points(
        &self,
        kind: &'static str,
        says: String,
        report: &mut Report,
    ) {
        let lowest = self.nominal.worst(2).into_iter().chain(self.truth.worst(2));
        let lowest = lowest.map(|w| w.value.value()).fold(f64::INFINITY, f64::min);
        if lowest < HAIR {
            report.remarks.push(("digits lost at a change point", format!("{kind}: {says}")));
        } else {
            report.broken(kind, says);
        }
    }

    pub(super) fn names(&self) -> &'static [&'static str] {
        self.meaning.names()
    }

    pub(super) fn limit(&self, figure: usize) -> Double {
        self.meaning.accept[figure]
    }

    fn criteria(&self, report: &mut Report) {
        for (figure, name) in self.names().iter().enumerate() {
            let Some(said) = criterion(self.json, name) else {
                report.broken("criterion missing", *name);
                continue;
            };
            let outcome = said["outcome"].as_str().unwrap_or("");
            let limit = said["limit"].as_f64().unwrap_or(f64::NAN);
            let own = self.limit(figure).value();
            if (limit - own).abs() > 1e-15 * own {
                report.broken("limit", format!("{}: {limit} is {own}", name));
            }
            let found = self.truth.worst(figure);
            report.found[figure] = found.map(|w| w.value.value());
            if let Some(found) = found {
                self.bound(figure, said, &found, report);
            }
            match outcome {
                "holds" => self.holds(figure, found, report),
                "fails" => self.fails(figure, found, report),
                _ => self.tie(figure, found, report),
            }
        }
    }

    fn bound(&self, figure: usize, said: &Value, found: &Worst, report: &mut Report) {
        let bound = said["tolerance_bound"].as_f64().or(said["nominal_bound"].as_f64());
        let Some(bound) = bound else {
            if said["outcome"] == "holds" {
                report.broken("holds without a bound", self.names()[figure]);
            }
            return;
        };
        let excess = over(figure, found.value, Double::of(bound));
        report.excess[figure] = Some(excess);
        let name = self.names()[figure];
        if excess > met(figure) * bound.abs().max(1.0) || self.truth.open.is_some() {
            let place = self.described(&found.at);
            let value = found.value.value();
            let open = self.truth.open.map(|at| self.described(&at));
            report.broken(
                "bound beaten",
                format!("{name}: bound {bound:e}, {value:e} at {place}; open {open:?}"),
            );
        }
        self.tightness(figure, said, bound, found.value.value(), report);
    }

    fn tightness(&self, figure: usize, said: &Value, bound: f64, found: f64, report: &mut Report) {
        let limit = self.limit(figure).value();
        if said["outcome"] != "holds" {
            return;
        }
        let (loose, decides) = if figure == 2 {
            (found / bound, bound < 2.0 * limit)
        } else {
            (bound / found, bound > 0.5 * limit)
        };
        let rest = if figure == 2 { found / 1.002 - bound } else { bound - 1.002 * found };
        if rest <= ROOM[figure] {
            return;
        }
        let says =
            format!("{}: {bound:e} against {found:e}, {loose:.5} times", self.names()[figure]);
        if decides {
            self.broken_off_change_points("loose bound", says, report);
        } else {
            report.remarks.push(("loose bound far from its limit", says));
        }
    }

    fn holds(&self, figure: usize, found: Option<Worst>, report: &mut Report) {
        if let Some(open) = self.truth.open {
            let place = self.described(&open);
            report.broken("untrue holds", format!("{}: open at {place}", self.names()[figure]));
        }
        if let Some(found) = found
            && over(figure, found.value, self.limit(figure)) > met(figure)
        {
            let (value, place) = (found.value.value(), self.described(&found.at));
            report
                .broken("untrue holds", format!("{}: {value:e} at {place}", self.names()[figure]));
        }
    }

    /// At its limit to the last digits a criterion holds.
    fn tie(&self, figure: usize, found: Option<Worst>, report: &mut Report) {
        let past = found.map_or(f64::NAN, |w| over(figure, w.value, self.limit(figure)));
        if past.abs() <= 0.5 * met(figure) && self.truth.open.is_none() {
            report
                .remarks
                .push(("tie undecided", format!("{}: over by {past:e}", self.names()[figure])));
        }
    }

    /// Every failure must be one that can be shown.
    fn fails(&self, figure: usize, found: Option<Worst>, report: &mut Report) {
        let past = found.map(|w| over(figure, w.value, self.limit(figure)));
        if past.is_some_and(|past| past > met(figure)) || self.truth.open.is_some() {
            return;
        }
        let has_witness = self.json["witness"]["criterion"] == self.names()[figure];
        let kind = if has_witness { "failure only its witness shows" } else { "untrue fails" };
        let says = format!("{}: worst found passes its limit by {past:?}", self.names()[figure]);
        if has_witness {
            report.remarks.push((kind, says));
        } else {
            report.broken(kind, says);
        }
    }

    fn verdict(&self, report: &mut Report) {
        let outcomes: Vec<&str> = self.json["criteria"]
            .as_array()
            .map(|all| all.iter().filter_map(|c| c["outcome"].as_str()).collect())
            .unwrap_or_default();
        let any = |word: &str| outcomes.contains(&word);
        let wanted = if any("fails") {
            "not_equivalent"
        } else if any("undecided") || !any("holds") {
            "undecided"
        } else {
            "equivalent"
        };
        if report.verdict != wanted {
            report.broken("verdict", format!("{} beside {outcomes:?}", report.verdict));
        }
        if report.verdict == "undecided" {
            self.undecided(report);
        }
    }

    /// Far from every limit, or far past one, and still undecided.
    fn undecided(&self, report: &mut Report) {
        let share = |figure: usize| {
            let limit = self.limit(figure).value();
            self.truth.worst(figure).map(|w| over(figure, w.value, self.limit(figure)) / limit)
        };
        let count = self.names().len();
        let shares: Vec<f64> = (0..count).filter_map(share).collect();
        let says = format!("over the limits by {shares:?}, open {}", self.truth.open.is_some());
        let plainly_fails = self.truth.open.is_some() || shares.iter().any(|&s| s > 0.01);
        let plainly_holds = shares.len() == count && shares.iter().all(|&s| s < -0.01);
        if plainly_fails || plainly_holds {
            report.remarks.push(("needless undecided", says));
        } else {
            report.remarks.push(("undecided within 1 % of a limit", says));
        }
    }

    fn described(&self, place: &[f64; 6]) -> String {
        let at = |k: usize| {
            (self.family.low[k] + (self.family.high[k] - self.family.low[k]) * Double::of(place[k]))
                .value()
        };
        format!(
            "ground {} crank {} coupler {} rocker {} mm, zero {:+e} rad, motor {} rad",
            at(0),
            at(1),
            at(2),
            at(3),
            at(4),
            at(5)
        )
    }
}
