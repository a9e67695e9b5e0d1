//! What `check` says, held against the truth.

use serde_json::Value;

use super::double::{Double, Real};
use super::drawing::{By, Meaning};
use super::random::Random;
use super::truth::{Question, Truth, Worst, motor_turn, motor_turns, worst};

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
    /// By how much the found worst exceeds the nearest bound (angle, ratio, transmission angle); negative while it is
    /// below.
    pub excess: [Option<f64>; 3],
    /// The worst figures found over the family.
    pub found: [Option<f64>; 3],
}

/// Limits count as met within this.
const MET: f64 = 1e-9;
/// How far a witness may lie outside the typed decimals, in mm: rounding of its floats.
const OUTSIDE: f64 = 1e-9;
/// No figure of a linkage of this world is larger.
const ABSURD: f64 = 1e12;
const NAMES: [&str; 3] = ["angle", "ratio", "transmission_angle"];

impl Report {
    fn broken(&mut self, kind: &'static str, says: impl Into<String>) {
        self.breaks.push(Break { kind, says: says.into() });
    }

    fn count(&mut self, truth: &Truth) {
        self.builds += truth.builds;
        self.poses += truth.poses;
    }
}

fn number(json: &Value, path: &str) -> Option<f64> {
    json.pointer(path)?.as_f64()
}

fn pair(json: &Value, path: &str) -> Option<[f64; 2]> {
    let list = json.pointer(path)?.as_array()?;
    Some([list.first()?.as_f64()?, list.get(1)?.as_f64()?])
}

fn criterion<'a>(json: &'a Value, name: &str) -> Option<&'a Value> {
    json.get("criteria")?.as_array()?.iter().find(|c| c["name"] == name)
}

/// Compares all figures of `json` (`check --json`) with the closed form.
pub fn against(meaning: &Meaning, json: &Value, random: &mut Random) -> Report {
    let mut report = Report {
        verdict: json["verdict"].as_str().unwrap_or("none").to_owned(),
        ..Report::default()
    };
    absurd(json, "", &mut report);
    let Some((slope, offset)) = constants(meaning, json, &mut report) else {
        report.broken("no constants", "direct_joint without ratio or offset");
        return report;
    };
    let Some(turns) = turns(meaning, json, &mut report) else {
        return report;
    };
    let family = Question::of(meaning, turns, slope, offset);
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
    case.best_constants(random, &mut report);
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
    let finite = ["/zero/rocker_rad", "/angle_error/max_rad", "/stroke/motor_rad/0"];
    if path.is_empty() {
        for missing in finite.into_iter().filter(|key| number(json, key).is_none()) {
            report.broken("figure missing", missing);
        }
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
    let Some(own) = motor_turns(meaning) else {
        report.broken("stroke out of reach", format!("accepted with motor turns {said:?}"));
        return None;
    };
    let joint = |turn: Double| {
        meaning.reference.pose(meaning.zero_crank + turn, meaning.side).map(|p| p.rocker)
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

struct Case<'a> {
    meaning: &'a Meaning,
    json: &'a Value,
    family: Question<Double>,
    alone: Question<Double>,
    truth: Truth,
    nominal: Truth,
}

/// By how much a figure passes its limit, the larger the worse.
fn over(figure: usize, value: Double, limit: Double) -> f64 {
    if value.value().is_infinite() {
        return f64::INFINITY;
    }
    let past = if figure == 2 { limit - value } else { value - limit };
    past.value()
}

impl Case<'_> {
    fn limit(&self, figure: usize) -> Double {
        self.meaning.accept[figure]
    }

    /// How far rounding of the inputs to floats, a few units in the last place, moves the figure.
    fn slack(&self, aimed: usize, found: &Worst) -> f64 {
        let (sign, figure) = if aimed % 2 == 1 { (-1.0, aimed / 2) } else { (1.0, aimed / 2) };
        let mut slack = 0.0;
        for k in 0..7 {
            let mut moved = self.alone;
            if k == 6 {
                moved.zero_crank = moved.zero_crank + Double::of(2e-15);
            } else {
                let by = Double::of(2e-15) * Double::of(moved.high[k].value().abs().max(1e-3));
                moved.low[k] = moved.low[k] + by;
                moved.high[k] = moved.high[k] + by;
            }
            let there = moved.figures(&found.at).map_or(f64::INFINITY, |figures| {
                (Double::of(sign) * figures[figure] - found.value).value().abs()
            });
            slack += there;
        }
        slack
    }

    fn nominal_figures(&self, random: &mut Random, report: &mut Report) {
        for figure in 0..3 {
            let said = criterion(self.json, NAMES[figure]).and_then(|c| c["nominal"].as_f64());
            let aims = if figure == 2 { 4..5 } else { 2 * figure..2 * figure + 2 };
            let Some(found) = self.nominal.worst(figure) else { continue };
            let true_value = found.value.value();
            let slack = aims
                .filter_map(|k| self.nominal.aims[k].map(|w| self.slack(k, &w)))
                .fold(0.0, f64::max);
            let off = said.map(|s| (s - true_value).abs());
            let infinite = figure == 1 && (true_value > 0.9 || true_value.is_infinite());
            match off {
                None if infinite => {}
                Some(off) if off <= 1e-9 * true_value.abs() + 1e-12 + slack => {}
                _ if infinite && self.runs_over_dead_point() => {}
                Some(_) if self.json_turns_explain(figure, said, true_value, random) => {}
                _ => report.broken(
                    "nominal figure",
                    format!("{}: {said:?} is {true_value:e} (slack {slack:e})", NAMES[figure]),
                ),
            }
        }
    }

    /// Smallest, largest and mean transmission ratio of the reference.
    fn transmission_ratio(&self, report: &mut Report) {
        let [_, _, Some(up), Some(down), _] = self.nominal.aims else { return };
        if self.runs_over_dead_point() || !up.value.value().is_finite() {
            return;
        }
        let one = Double::of(1.0);
        let ratio = one / self.alone.slope;
        let mut ends = [ratio * (one + up.value), ratio * (one - down.value)].map(Real::value);
        ends.sort_by(f64::total_cmp);
        let slack = ratio.value().abs() * (self.slack(2, &up) + self.slack(3, &down));
        let turned = |share: f64| {
            let place = [0.0, 0.0, 0.0, 0.0, 0.0, share];
            let still = Question { slope: Double::of(0.0), ..self.alone };
            still.figures(&place).map(|figures| figures[0])
        };
        let mean = turned(1.0).zip(turned(0.0)).map_or(f64::NAN, |(to, from)| {
            ((self.alone.high[5] - self.alone.low[5]) / (to - from)).value()
        });
        for (key, own) in [("min", ends[0]), ("max", ends[1]), ("mean", mean)] {
            let said = number(self.json, &format!("/transmission_ratio/{key}"));
            let off = said.map_or(f64::INFINITY, |said| (said - own).abs());
            if off > 1e-8 * own.abs() + 2.0 * slack {
                report.broken("transmission ratio", format!("{key}: {said:?} is {own}"));
            }
        }
    }

    /// A joint stroke's ends are roots; where the figure is steep their last digits matter.
    fn json_turns_explain(
        &self,
        figure: usize,
        said: Option<f64>,
        true_value: f64,
        random: &mut Random,
    ) -> bool {
        let (Some(ends), Some(said)) = (pair(self.json, "/stroke/motor_rad"), said) else {
            return false;
        };
        if self.meaning.by == By::Motor {
            return false;
        }
        let mut moved = self.alone;
        moved.low[5] = Double::of(ends[0]);
        moved.high[5] = Double::of(ends[1]);
        let there = worst(&moved, random).worst(figure).map(|w| w.value.value());
        there.is_some_and(|there| {
            (there - said).abs() <= 1e-9 * said.abs() + 4.0 * (there - true_value).abs() + 1e-14
        })
    }

    fn runs_over_dead_point(&self) -> bool {
        let beyond = |k: usize| self.nominal.aims[k].is_some_and(|w| w.value.value() >= 1.0);
        beyond(2) || beyond(3)
    }

    fn criteria(&self, report: &mut Report) {
        for figure in 0..3 {
            let Some(said) = criterion(self.json, NAMES[figure]) else {
                report.broken("criterion missing", NAMES[figure]);
                continue;
            };
            let outcome = said["outcome"].as_str().unwrap_or("");
            let limit = said["limit"].as_f64().unwrap_or(f64::NAN);
            let own = self.limit(figure).value();
            if (limit - own).abs() > 1e-15 * own {
                report.broken("limit", format!("{}: {limit} is {own}", NAMES[figure]));
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
                report.broken("holds without a bound", NAMES[figure]);
            }
            return;
        };
        let excess = over(figure, found.value, Double::of(bound));
        report.excess[figure] = Some(excess);
        let name = NAMES[figure];
        if excess > MET * bound.abs().max(1.0) || self.truth.open.is_some() {
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
        if rest <= MET {
            return;
        }
        let says = format!("{}: {bound:e} against {found:e}, {loose:.5} times", NAMES[figure]);
        if decides {
            report.broken("loose bound", says);
        } else {
            report.remarks.push(("loose bound far from its limit", says));
        }
    }

    fn holds(&self, figure: usize, found: Option<Worst>, report: &mut Report) {
        if let Some(open) = self.truth.open {
            let place = self.described(&open);
            report.broken("untrue holds", format!("{}: open at {place}", NAMES[figure]));
        }
        if let Some(found) = found
            && over(figure, found.value, self.limit(figure)) > MET
        {
            let (value, place) = (found.value.value(), self.described(&found.at));
            report.broken("untrue holds", format!("{}: {value:e} at {place}", NAMES[figure]));
        }
    }

    /// At its limit to the last digits a criterion holds.
    fn tie(&self, figure: usize, found: Option<Worst>, report: &mut Report) {
        let past = found.map_or(f64::NAN, |w| over(figure, w.value, self.limit(figure)));
        if past.abs() <= 0.5 * MET && self.truth.open.is_none() {
            report.remarks.push(("tie undecided", format!("{}: over by {past:e}", NAMES[figure])));
        }
    }

    /// Every failure must be one that can be shown.
    fn fails(&self, figure: usize, found: Option<Worst>, report: &mut Report) {
        let past = found.map(|w| over(figure, w.value, self.limit(figure)));
        if past.is_some_and(|past| past > MET) || self.truth.open.is_some() {
            return;
        }
        let has_witness = self.json["witness"]["criterion"] == NAMES[figure];
        let kind = if has_witness { "failure only its witness shows" } else { "untrue fails" };
        let says = format!("{}: worst found passes its limit by {past:?}", NAMES[figure]);
        if has_witness {
            report.remarks.push((kind, says));
        } else {
            report.broken(kind, says);
        }
    }

    fn witness(&self, report: &mut Report) {
        let witness = &self.json["witness"];
        if witness.is_null() {
            return;
        }
        let figure = NAMES.iter().position(|name| witness["criterion"] == *name);
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
        if over(figure, value, self.limit(figure)) <= MET {
            let says = format!("reaches {:e} only: {witness}", value.value());
            report.broken("witness breaks no limit", says);
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
        let shares: Vec<f64> = (0..3).filter_map(share).collect();
        let says = format!("over the limits by {shares:?}, open {}", self.truth.open.is_some());
        let plainly_fails = self.truth.open.is_some() || shares.iter().any(|&s| s > 0.01);
        let plainly_holds = shares.len() == 3 && shares.iter().all(|&s| s < -0.01);
        if plainly_fails || plainly_holds {
            report.remarks.push(("needless undecided", says));
        } else {
            report.remarks.push(("undecided within 1 % of a limit", says));
        }
    }

    /// All criteria over other turns or another box: what breaks, or nothing.
    fn broken_over(
        &self,
        q: &Question<Double>,
        random: &mut Random,
        report: &mut Report,
    ) -> Option<String> {
        let truth = worst(q, random);
        report.count(&truth);
        if truth.open.is_some() {
            return Some("does not close".to_owned());
        }
        (0..3).find_map(|figure| {
            let found = truth.worst(figure)?;
            (over(figure, found.value, self.limit(figure)) > MET).then(|| {
                format!("{} reaches {:e} at {:?}", NAMES[figure], found.value.value(), found.at)
            })
        })
    }

    /// The same family over the motor turns that belong to joint turns of the reference.
    fn over_joint(&self, joint: [f64; 2]) -> Option<Question<Double>> {
        let mut q = self.family;
        let stroke = pair(self.json, "/stroke/joint_rad")?;
        let end = |joint: f64| {
            let nearest = (0..2).find(|&k| (stroke[k] - joint).abs() < 1e-12);
            match nearest {
                Some(0) => Some(self.family.low[5]),
                Some(_) => Some(self.family.high[5]),
                None => motor_turn(self.meaning, Double::of(joint)),
            }
        };
        let (first, second) = (end(joint[0])?, end(joint[1])?);
        (q.low[5], q.high[5]) = if first < second { (first, second) } else { (second, first) };
        Some(q)
    }

    fn proved_stretch(&self, random: &mut Random, report: &mut Report) {
        let Some(joint) = pair(self.json, "/proved_joint_rad") else { return };
        let Some(q) = self.over_joint(joint) else {
            report.remarks.push(("stretch not followed", format!("proved {joint:?}")));
            return;
        };
        if let Some(why) = self.broken_over(&q, random, report) {
            report.broken("untrue stretch", format!("{joint:?}: {why}"));
        }
    }

    fn largest_tolerance(&self, random: &mut Random, report: &mut Report) {
        let Some(half) = number(self.json, "/largest_symmetric_tolerance_m") else { return };
        let millimetres = half * 1e3;
        let with = |half: f64| self.family.with_tolerance(self.meaning, Double::of(half));
        if let Some(why) = self.broken_over(&with(millimetres), random, report) {
            report.broken("untrue largest tolerance", format!("{millimetres} mm: {why}"));
        }
        let shortest = self.meaning.reference.floats().all().into_iter().fold(f64::MAX, f64::min);
        if millimetres > 0.4 * shortest {
            return;
        }
        // Where it is nothing, next to nothing must be too much.
        let more = (1.02 * millimetres).max(1e-6 * shortest);
        let tight = self.broken_over(&with(more), random, report).is_some();
        let kind =
            if tight { "largest tolerance within 2 %" } else { "largest tolerance too small" };
        report.remarks.push((kind, format!("{millimetres} mm")));
    }

    fn largest_stroke(&self, random: &mut Random, report: &mut Report) {
        let Some(joint) = pair(self.json, "/largest_stroke_joint_rad") else { return };
        let Some(q) = self.over_joint(joint) else {
            report.remarks.push(("stretch not followed", format!("largest stroke {joint:?}")));
            return;
        };
        if let Some(why) = self.broken_over(&q, random, report) {
            report.broken("untrue largest stroke", format!("{joint:?}: {why}"));
        }
        let more = 0.02 * (joint[1] - joint[0]);
        for further in [[joint[0] - more, joint[1]], [joint[0], joint[1] + more]] {
            let tight = self
                .over_joint(further)
                .is_none_or(|q| self.broken_over(&q, random, report).is_some());
            let kind = if tight { "largest stroke within 2 %" } else { "largest stroke too small" };
            report.remarks.push((kind, format!("{joint:?}")));
        }
    }

    /// No neighbouring constant has a smaller worst angle error: the error is convex in slope and offset.
    fn best_constants(&self, random: &mut Random, report: &mut Report) {
        let best_offset = self.meaning.offset.is_none();
        if self.meaning.ratio.is_some() && !best_offset {
            return;
        }
        let spread = |slope: Double, random: &mut Random| {
            let found = worst(&Question { slope, ..self.alone }, random).aims;
            let [high, low] = [found[0]?.value, found[1]?.value];
            let worst = if best_offset {
                (high + low) * Double::of(0.5)
            } else if high > low {
                high
            } else {
                low
            };
            Some(worst.value())
        };
        let Some(now) = self.nominal.worst(0).map(|w| w.value.value()) else { return };
        let steps: &[f64] =
            if self.meaning.ratio.is_some() { &[0.0] } else { &[0.0, 1e-7, -1e-7, 1e-4, -1e-4] };
        for step in steps {
            let slope = self.alone.slope * Double::of(1.0 + step);
            let there = spread(slope, random).unwrap_or(f64::INFINITY);
            if there < now * (1.0 - 1e-9) - 1e-14 {
                let says = format!("angle error {now:e}, with slope {step:+e} of it {there:e}");
                report.broken("constants are not the best", says);
            }
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
