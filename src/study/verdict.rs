//! The criteria with their proofs.

use crate::design::{Basis, Design};
use crate::equivalence::{
    self, Budget, Family, Figures, Finding, Findings, Limits, Outcome, Prover, Verdict, Witness,
};
use crate::linkage::{Branch, Extreme};

use super::family::family;
use super::findings::{Criterion, Extremes};
use super::inertia::InertiaFindings;

/// Names of the criteria that the proof covers, in its order.
const PROVED: [&str; 3] = ["angle", "ratio", "transmission_angle"];

/// What the verdict rests on.
pub(super) struct Case<'a> {
    pub(super) design: &'a Design,
    pub(super) branch: &'a Branch,
    pub(super) prover: Prover<'a>,
    pub(super) limits: Limits,
    /// Motor turns of the stroke.
    pub(super) turns: [f64; 2],
}

/// The criteria and what refutes them.
pub(super) struct Judged {
    pub(super) criteria: Vec<Criterion>,
    pub(super) witness: Option<(&'static str, Witness)>,
    pub(super) verdict: Verdict,
    pub(super) proved: bool,
    /// i / ratio lies certainly between these over the family, where that is known and both are above 0.
    pub(super) ratio_range: Option<[f64; 2]>,
}

impl Case<'_> {
    /// The linkages that the verdict is over.
    pub(super) fn family(&self) -> Family {
        family(self.design, self.design.accept.over)
    }

    /// Every criterion over the verdict's family.
    pub(super) fn judge(
        &self,
        figures: &Figures,
        inertia: &Result<InertiaFindings, String>,
    ) -> Judged {
        let found = self.prover.judge(&self.family(), self.turns);
        let nominal = [figures.angle, figures.ratio, figures.transmission_angle];
        let limits = [self.limits.angle, self.limits.ratio, self.limits.transmission_angle];
        let mut criteria: Vec<Criterion> = PROVED
            .into_iter()
            .zip(found.all())
            .zip(nominal.into_iter().zip(limits))
            .map(|((name, finding), (figure, limit))| {
                self.criterion(name, limit, figure, &finding, found.assembly)
            })
            .collect();
        criteria.insert(2, inertia_criterion(self.design, inertia));
        let verdict = Verdict::of(criteria.iter().map(|c| c.outcome));
        let proved = match verdict {
            Verdict::Equivalent => assessed(&criteria).all(|c| c.proved),
            Verdict::NotEquivalent => {
                criteria.iter().any(|c| c.outcome == Outcome::Fails && c.proved)
            }
            Verdict::Undecided => false,
        };
        Judged {
            witness: worst_witness(&criteria, &found),
            criteria,
            verdict,
            proved,
            ratio_range: ratio_range(&found.ratio),
        }
    }

    fn criterion(
        &self,
        name: &'static str,
        limit: f64,
        figure: Extreme,
        finding: &Finding,
        assembly: Outcome,
    ) -> Criterion {
        let over_tolerance = self.design.accept.over == Basis::Tolerance;
        let broken =
            if name == "transmission_angle" { figure.value < limit } else { figure.value > limit };
        // The drawn linkage belongs to the family; by more than rounding it refutes on its own.
        let plainly_broken = broken && (figure.value - limit).abs() > 1e-9 * limit;
        let outcome = match finding.outcome {
            Outcome::Holds if broken => Outcome::Undecided,
            Outcome::Holds => Outcome::Holds,
            Outcome::Fails => Outcome::Fails,
            Outcome::Undecided | Outcome::NotAssessed if plainly_broken => Outcome::Fails,
            Outcome::Undecided | Outcome::NotAssessed => Outcome::Undecided,
        };
        // The search stops far beyond the limit; the drawn linkage alone may be worse than its witness.
        let drawn_is_worse = if name == "transmission_angle" {
            figure.value <= finding.witness.value
        } else {
            figure.value >= finding.witness.value
        };
        let refuted = finding.outcome == Outcome::Fails && !drawn_is_worse;
        let seen = if refuted { finding.witness.value } else { figure.value };
        Criterion {
            name,
            limit,
            nominal: Some(figure.value),
            worst_at_joint: self.joint_at(finding, figure, drawn_is_worse),
            tolerance_bound: finding.bound.filter(|_| over_tolerance),
            nominal_bound: finding.bound.filter(|_| !over_tolerance),
            worst_seen: (outcome == Outcome::Fails).then_some(seen).filter(|x| !x.is_nan()),
            outcome,
            proved: matches!(outcome, Outcome::Holds | Outcome::Fails),
            note: self.note(outcome, finding, assembly),
        }
    }

    /// Where it is worst: the drawn linkage's own place, or within tolerance the drawn joint angle that belongs to the
    /// worst motor turn.
    fn joint_at(&self, finding: &Finding, figure: Extreme, drawn_is_worse: bool) -> Option<f64> {
        let turn = match self.design.accept.over {
            Basis::Nominal => figure.turn,
            Basis::Tolerance if finding.boxes == 0 || drawn_is_worse => figure.turn,
            Basis::Tolerance => finding.witness.turn,
        };
        // The box is a hair wider than the stroke.
        self.branch.joint_turn(turn.clamp(self.turns[0], self.turns[1])).ok()
    }

    fn note(&self, outcome: Outcome, finding: &Finding, assembly: Outcome) -> Option<String> {
        match (outcome, assembly) {
            (Outcome::Undecided, Outcome::Fails) => Some(
                "not looked at: a linkage within tolerance does not even close over the stroke"
                    .to_owned(),
            ),
            (Outcome::Undecided, Outcome::Undecided | Outcome::NotAssessed) => {
                let who = match self.design.accept.over {
                    Basis::Nominal => {
                        "the drawn linkage comes so near to a change point or crank limit that it was not shown to close all along"
                    }
                    Basis::Tolerance => {
                        "the linkages within tolerance come so near to a change point or crank limit that it was not shown that all of them close"
                    }
                };
                Some(who.to_owned())
            }
            (Outcome::Undecided, Outcome::Holds) => Some(format!(
                "not decided after {} boxes: the worst case lies at the limit itself, or near a change point or dead point",
                finding.boxes
            )),
            _ => None,
        }
    }

    /// How far it would still hold. `verdict` says whether the drawn linkage can.
    pub(super) fn extremes(&self) -> Extremes {
        let family = self.family();
        let prover = self.prover.with_budget(Budget(1500));
        let tolerance =
            equivalence::largest_tolerance(&prover, self.branch, family.crank_error, self.turns);
        let stroke = equivalence::largest_stroke(&prover, self.branch, &family, self.turns);
        Extremes {
            symmetric_tolerance: tolerance,
            stroke_joint: stroke.map(|turns| self.joint_range(turns)),
        }
    }

    /// Ascending joint turns of a range of motor turns on the drawn linkage.
    pub(super) fn joint_range(&self, turns: [f64; 2]) -> [f64; 2] {
        let mut joint = turns.map(|turn| self.branch.joint_turn(turn).unwrap_or(f64::NAN));
        joint.sort_by(f64::total_cmp);
        joint
    }

    /// Stretches of the stroke by what could be shown over each: (proved around the zero pose, undecided).
    pub(super) fn stretches(&self) -> (Option<[f64; 2]>, Vec<[f64; 2]>) {
        let family = self.family();
        let prover = self.prover.with_budget(Budget(400));
        let [from, to] = self.turns;
        let edge = |k: u32| from + (to - from) * f64::from(k) / f64::from(STRETCHES);
        let outcomes: Vec<([f64; 2], Outcome)> = (0..STRETCHES)
            .map(|k| [edge(k), edge(k + 1)])
            .map(|t| (t, prover.decide(&family, t)))
            .collect();
        let proved = longest_run(&outcomes, Outcome::Holds)
            .into_iter()
            .max_by(|a, b| width(a).total_cmp(&width(b)));
        let undecided = longest_run(&outcomes, Outcome::Undecided);
        (
            proved.map(|t| self.joint_range(t)),
            undecided.into_iter().map(|t| self.joint_range(t)).collect(),
        )
    }
}

/// Pieces that the stroke is cut into to show what part of it is proved.
const STRETCHES: u32 = 32;

fn width(range: &[f64; 2]) -> f64 {
    range[1] - range[0]
}

/// Runs of neighbouring stretches with one outcome, joined.
fn longest_run(outcomes: &[([f64; 2], Outcome)], wanted: Outcome) -> Vec<[f64; 2]> {
    let mut runs: Vec<[f64; 2]> = Vec::new();
    for (range, _) in outcomes.iter().filter(|(_, outcome)| *outcome == wanted) {
        match runs.last_mut() {
            Some(last) if last[1] >= range[0] => last[1] = range[1],
            _ => runs.push(*range),
        }
    }
    runs
}

fn assessed(criteria: &[Criterion]) -> impl Iterator<Item = &Criterion> {
    criteria.iter().filter(|c| c.outcome != Outcome::NotAssessed)
}

/// The certified range of i / ratio.
pub(super) fn ratio_range(ratio: &Finding) -> Option<[f64; 2]> {
    let [above, below] = ratio.sides;
    (above.is_finite() && below < 1.0).then_some([1.0 - below, 1.0 + above])
}

/// The witness of the failing criterion that is furthest over its limit.
fn worst_witness(criteria: &[Criterion], found: &Findings) -> Option<(&'static str, Witness)> {
    let witness =
        |name: &str| PROVED.into_iter().zip(found.all()).find(|(n, _)| *n == name).map(|(_, f)| f);
    criteria
        .iter()
        .filter(|c| c.outcome == Outcome::Fails)
        .filter_map(|c| Some((c, witness(c.name).filter(|f| f.outcome == Outcome::Fails)?)))
        .max_by(|(a, _), (b, _)| a.load().total_cmp(&b.load()))
        .map(|(c, finding)| (c.name, finding.witness))
}

/// The inertia criterion: proved where the certificate reaches the limit; else computed for the drawn lengths, which
/// shows nothing of the others within tolerance.
fn inertia_criterion(design: &Design, found: &Result<InertiaFindings, String>) -> Criterion {
    let (limit, over) = (design.accept.inertia, design.accept.over);
    let not_assessed =
        if design.accept.inertia_by_hand { Outcome::Undecided } else { Outcome::NotAssessed };
    let outcome = match found {
        Err(_) => not_assessed,
        Ok(found) if found.error.value > limit => Outcome::Fails,
        Ok(found) if found.bound.is_some() => Outcome::Holds,
        Ok(_) if over == Basis::Nominal => Outcome::Holds,
        Ok(_) => Outcome::Undecided,
    };
    let figures = found.as_ref().ok();
    let bound = figures.and_then(|f| f.bound);
    Criterion {
        name: "inertia",
        limit,
        nominal: figures.map(|f| f.error.value),
        worst_at_joint: figures.map(|f| f.error.at_joint),
        tolerance_bound: bound.filter(|_| over == Basis::Tolerance),
        nominal_bound: bound.filter(|_| over == Basis::Nominal),
        worst_seen: figures.map(|f| f.error.value).filter(|_| outcome == Outcome::Fails),
        outcome,
        proved: outcome == Outcome::Fails || (outcome == Outcome::Holds && bound.is_some()),
        note: inertia_note(found, over),
    }
}

fn inertia_note(found: &Result<InertiaFindings, String>, over: Basis) -> Option<String> {
    let found = match found {
        Ok(found) => found,
        Err(why) => return Some(why.clone()),
    };
    let figure = format!("{} figure", found.over.name());
    match (found.bound, over) {
        (Some(_), _) => {
            Some(format!("{figure}, the largest error of kinetic energy for any such motion"))
        }
        (None, Basis::Nominal) => Some(format!("{figure}, computed, not proved")),
        (None, Basis::Tolerance) => Some(format!(
            "{figure} of the drawn lengths; it was not proved for all within tolerance"
        )),
    }
}
