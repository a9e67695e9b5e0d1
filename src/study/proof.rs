//! A verdict's evidence as a file that others can check without this program.
//!
//! Every figure is a decimal with all its digits. Lengths are in mm: as drawn where the drawn decimals are short, else
//! rounded outward. What the verdict rests on and is not in the file is named there.

use serde::Serialize;

use crate::design::Design;
use crate::equivalence::{
    Assessment, Criterion, DirectJoint, Evidence, MET_WITHIN, Outcome, Witness, Zeroing,
};
use crate::numeric::Interval;

use super::check::with_question;
use super::fault::Fault;
use super::findings::Check;
use super::front;
use super::mechanism::Mechanism;

/// One claim of `unloop/proof/1`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Proof {
    /// `unloop/proof/1`.
    pub schema: &'static str,
    /// The design's name.
    pub design: String,
    /// `angle`, `ratio`, `transmission_angle`; `assembly` from the zero pose to a stroke that does not hold it;
    /// `inertia`, of which nothing is in the file.
    pub claim: &'static str,
    /// What the verdict has found.
    pub outcome: Outcome,
    /// What of it is not in the file, and why.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left_out: Option<&'static str>,
    /// rad or share.
    pub limit: String,
    /// By how much the figure may pass its limit.
    pub met_within: String,
    /// rad.
    pub zero_crank: String,
    /// −1: Q lies left of the directed line P→B; 1: right.
    pub closure: i8,
    /// `jig`: every build is zeroed in its own zero pose; `drawing`: where the drawing has the rocker.
    pub set_by: &'static str,
    /// The drawn rocker in the zero pose, rad.
    pub zero_rocker: String,
    /// Joint turn per motor turn of the direct joint.
    pub slope: String,
    /// rad.
    pub offset: String,
    /// What the claim is over.
    pub domain: Domain,
    /// For each side of the claim: a digit halves the box in that variable of the domain, a dot is a box that holds.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub trees: Vec<String>,
    /// What breaks the claim.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub witness: Option<Broken>,
}

/// Ranges; lengths in mm, angles in rad, in the order of the variables of a tree.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Domain {
    /// mm
    pub crank: [String; 2],
    /// mm
    pub coupler: [String; 2],
    /// mm
    pub rocker: [String; 2],
    /// mm
    pub ground: [String; 2],
    /// rad
    pub crank_error: [String; 2],
    /// rad
    pub motor_turn: [String; 2],
}

/// One linkage in one pose.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Broken {
    /// mm
    pub crank: String,
    /// mm
    pub coupler: String,
    /// mm
    pub rocker: String,
    /// mm
    pub ground: String,
    /// rad
    pub crank_error: String,
    /// rad
    pub motor_turn: String,
    /// Tangent of half the crank angle there.
    pub half_tangent: String,
    /// Holds the figure: the sine of the angle error, the ratio error, the cosine of the transmission angle.
    pub figure: [String; 2],
}

/// The evidence for `check`, the verdict on `design`, claim by claim.
///
/// # Errors
/// As [`super::check`].
pub fn proof(
    design: &Design,
    mechanism: &Mechanism,
    check: &Check,
) -> Result<Vec<Proof>, Vec<Fault>> {
    if design.front.is_some() {
        return Err(vec![front::no_proof_file()]);
    }
    with_question(design, mechanism, |question, _| {
        let setting =
            Setting { design, mechanism, joint: question.joint, zeroing: question.zeroing };
        let limit = |claim: &Evidence| match claim.criterion {
            Some(Criterion::Angle) => question.limits.angle,
            Some(Criterion::Ratio) => question.limits.ratio,
            _ => question.limits.transmission_angle,
        };
        let evidence = question.evidence(&check.criteria);
        let mut proofs: Vec<Proof> =
            evidence.iter().map(|claim| setting.proof(claim, limit(claim))).collect();
        // Of inertia, whose masses are measured figures, and of a pad's motion no tree tells.
        let is_told = |c: &&Assessment| evidence.iter().any(|e| e.criterion == Some(c.criterion));
        let untold = check.criteria.iter().filter(|c| !is_told(c));
        let first = proofs.first().cloned();
        proofs.extend(untold.zip(std::iter::repeat(first)).filter_map(|(one, first)| {
            Some(Proof {
                claim: one.criterion.name(),
                outcome: one.outcome,
                left_out: Some(match one.criterion {
                    Criterion::Inertia => {
                        "the inertia criterion is computed, or certified by this program alone"
                    }
                    _ => "what the pad does is certified by this program alone",
                }),
                limit: decimal(one.limit),
                trees: Vec::new(),
                witness: None,
                ..first?
            })
        }));
        proofs
    })
}

struct Setting<'a> {
    design: &'a Design,
    mechanism: &'a Mechanism,
    joint: DirectJoint,
    zeroing: Zeroing,
}

impl Setting<'_> {
    fn proof(&self, claim: &Evidence, limit: f64) -> Proof {
        let branch = &self.mechanism.branch;
        let left_out = match claim.outcome {
            Outcome::Holds if claim.trees.is_empty() => Some("the tree would be too long"),
            Outcome::Fails if claim.broken.is_none() => {
                Some("the figure has no bound where it breaks the limit")
            }
            Outcome::Undecided => Some("nothing was shown"),
            _ => None,
        };
        let broken = |(witness, figure): &(Witness, Interval)| self.broken(witness, *figure);
        Proof {
            schema: "unloop/proof/1",
            design: self.design.name.clone(),
            claim: claim.criterion.map_or("assembly", Criterion::name),
            outcome: claim.outcome,
            left_out,
            limit: decimal(limit),
            met_within: decimal(MET_WITHIN),
            zero_crank: decimal(branch.zero_crank()),
            closure: if branch.closure().sign() < 0.0 { -1 } else { 1 },
            set_by: match self.zeroing {
                Zeroing::OnEachRobot => "jig",
                Zeroing::AsDrawn => "drawing",
            },
            zero_rocker: decimal(branch.zero_rocker()),
            slope: decimal(1.0 / self.joint.ratio),
            offset: decimal(self.joint.offset),
            domain: domain(&claim.domain),
            trees: claim.trees.iter().map(|tree| tree.0.clone()).collect(),
            witness: claim.broken.as_ref().map(broken),
        }
    }

    fn broken(&self, witness: &Witness, figure: Interval) -> Broken {
        let bars = &witness.bars;
        let crank = self.mechanism.branch.zero_crank() + witness.crank_error + witness.turn;
        Broken {
            crank: millimetres(bars.crank),
            coupler: millimetres(bars.coupler),
            rocker: millimetres(bars.rocker),
            ground: millimetres(bars.ground),
            crank_error: decimal(witness.crank_error),
            motor_turn: decimal(witness.turn),
            half_tangent: decimal(libm::tan(0.5 * crank)),
            figure: widened(figure).map(decimal),
        }
    }
}

/// A witness's decimals are rounded once more where they are turned into mm: the figure's interval leaves room for that.
const ROOM: f64 = 1e-12;

fn widened(figure: Interval) -> [f64; 2] {
    let room = ROOM * figure.magnitude().max(1.0);
    [figure.lo() - room, figure.hi() + room]
}

fn domain(over: &[Interval; 6]) -> Domain {
    let [crank, coupler, rocker, ground] = [over[0], over[1], over[2], over[3]].map(lengths);
    let angles = |range: Interval| [range.lo(), range.hi()].map(decimal);
    let (crank_error, motor_turn) = (angles(over[4]), angles(over[5]));
    Domain { crank, coupler, rocker, ground, crank_error, motor_turn }
}

/// All digits of a float.
fn decimal(value: f64) -> String {
    format!("{value:?}")
}

/// A range's ends in mm, both within it.
///
/// The range was rounded outward from what is drawn; decimals that are as short as a drawing's lie between the two.
fn lengths(range: Interval) -> [String; 2] {
    let ends = [range.lo(), range.hi()];
    let drawn = ends.map(|end| format!("{:.8}", end * 1e3));
    let drawn = drawn.map(|text| text.trim_end_matches('0').trim_end_matches('.').to_owned());
    let read = drawn.each_ref().map(|text| text.parse().unwrap_or(f64::NAN));
    let inward = [read[0] - ends[0] * 1e3, ends[1] * 1e3 - read[1]];
    let is_drawn = inward.iter().all(|by| (0.0..=1e-13 * ends[1] * 1e3).contains(by));
    if is_drawn && read[0] <= read[1] { drawn } else { ends.map(millimetres) }
}

fn millimetres(length: f64) -> String {
    decimal(length * 1e3)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_told_as_they_are_drawn_and_never_outside_what_was_shown() {
        let drawn = Interval::new(0.04495_f64.next_down(), 0.04505_f64.next_up());
        assert_eq!(lengths(drawn), ["44.95", "45.05"]);
        let third = Interval::new(0.1 / 3.0, 0.1 / 3.0 + 1e-9);
        let [low, high] = lengths(third).map(|text| text.parse::<f64>().unwrap());
        assert!((low - 100.0 / 3.0).abs() < 1e-12 && (high - 100.0 / 3.0 - 1e-6).abs() < 1e-12);
    }
}
