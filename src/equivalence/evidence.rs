//! What others can check: a claim as a tree of halvings, or a linkage in a pose that breaks it.
//!
//! The claims are written here once more, in the textbook's circles and not in the mismatch of the pose, as whoever checks
//! them will write them:
//!
//! ```text
//! h = a e − g x̂,   K = (c² + h² − b²)/(2c),   S = ±√(h² − K²),   u = (K h + S h⊥)/h²,   w = c u − h
//! r = a (w·e⊥)/(c S)        cos μ = (b² + c² − h²)/(2bc)
//! ```
//!
//! The angle error is claimed by its sine against the direct joint's direction. Where the zero pose is in the box and the
//! error vanishes there, that is enough, since the box is connected; else its cosine is claimed to be above zero too.

use super::assessment::Assessment;
use super::boxes::Boxes;
use super::claims::{CRANK_ERROR, Domain, TURN, VARIABLES, Zeroing};
use super::criterion::{Criterion, MET_WITHIN};
use super::finding::Witness;
use super::outcome::Outcome;
use super::question::Question;
use crate::linkage::Branch;
use crate::numeric::cover::{Tree, cover};
use crate::numeric::{Interval, Jet, Scalar as _, elementary};

/// What can be checked of one claim of the motion.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// The claim; `None` for assembly from the zero pose to a stroke that does not hold it.
    pub criterion: Option<Criterion>,
    /// As the verdict has it.
    pub outcome: Outcome,
    /// Crank, coupler, rocker, ground (m), error of the crank in the zero pose and motor turn (rad).
    pub domain: [Interval; VARIABLES],
    /// One tree for each side of the claim, where it holds and was covered.
    pub trees: Vec<Tree>,
    /// What breaks it, and an interval that holds the figure there: the sine of the angle error, the ratio error, the
    /// cosine of the transmission angle.
    pub broken: Option<(Witness, Interval)>,
}

/// Every leaf keeps this much of its limit, so that one who halves boxes of decimals finds it holding too.
const ROOM: f64 = 1e-12;

/// Boxes of a tree, at most.
const MOST_BOXES: usize = 20_000;

/// A claim's two sides, and the third where an angle needs it.
const UP: f64 = 1.0;
const DOWN: f64 = -1.0;

type Figure<'a> = dyn Fn(&Domain) -> Option<Jet<VARIABLES>> + 'a;

impl Question<'_> {
    /// Evidence for what `criteria` say of angle, ratio and transmission angle, and for assembly where the stroke does not
    /// hold the zero pose.
    #[must_use]
    pub fn evidence(&self, criteria: &[Assessment]) -> Vec<Evidence> {
        let outcome = |criterion: Criterion| {
            let found = criteria.iter().find(|c| c.criterion == criterion);
            found.map_or(Outcome::NotAssessed, |c| c.outcome)
        };
        let told = [Criterion::Angle, Criterion::Ratio, Criterion::TransmissionAngle];
        let asked = self.criteria().iter().copied();
        let motion: Vec<Criterion> = asked.filter(|criterion| told.contains(criterion)).collect();
        // Only what fails needs its witness found again.
        let fails = motion.iter().any(|criterion| outcome(*criterion) == Outcome::Fails);
        let found = fails.then(|| self.prover().judge(&self.family, self.stroke.motor));
        let boxes = Boxes::of(self.branch, &self.family, self.stroke.motor);
        let textbook = Textbook::of(self);
        let mut all: Vec<Evidence> = motion
            .into_iter()
            .map(|criterion| {
                let claim =
                    Claim { criterion, textbook: &textbook, limit: self.figure_limit(criterion) };
                let witness = found.as_ref().and_then(|found| found.of(criterion));
                claim.evidence(outcome(criterion), &boxes, witness.map(|f| &f.witness))
            })
            .collect();
        all.extend(boxes.with_zero().map(|whole| textbook.assembly(&whole.outer)));
        all
    }

    /// Encloses the limit of the figure that a claim is made of.
    fn figure_limit(&self, criterion: Criterion) -> Interval {
        let limits = &self.limits;
        match criterion {
            Criterion::Angle => elementary::sin_cos_at(limits.angle + MET_WITHIN).0,
            Criterion::TransmissionAngle => {
                elementary::sin_cos_at(limits.transmission_angle - MET_WITHIN).1
            }
            _ => Interval::point(limits.ratio + MET_WITHIN),
        }
    }
}

struct Claim<'a> {
    criterion: Criterion,
    textbook: &'a Textbook<'a>,
    /// Encloses the limit of the figure.
    limit: Interval,
}

impl Claim<'_> {
    fn evidence(&self, outcome: Outcome, boxes: &Boxes, witness: Option<&Witness>) -> Evidence {
        let domain = boxes.outer;
        let trees = if outcome == Outcome::Holds { self.trees(&domain) } else { None };
        let broken = witness.filter(|_| outcome == Outcome::Fails).and_then(|w| self.broken(w));
        let trees = trees.unwrap_or_default();
        Evidence { criterion: Some(self.criterion), outcome, domain, trees, broken }
    }

    fn figure(&self, at: &Domain) -> Option<Jet<VARIABLES>> {
        match self.criterion {
            Criterion::Angle => self.textbook.sine(at),
            Criterion::Ratio => self.textbook.ratio_error(at),
            Criterion::TransmissionAngle => self.textbook.cosine_at_q(at),
            _ => None,
        }
    }

    fn trees(&self, domain: &Domain) -> Option<Vec<Tree>> {
        let mut trees = sides(&|x| self.figure(x), domain, self.limit.lo())?;
        if self.criterion == Criterion::Angle && !self.textbook.starts_at_no_error(domain) {
            let behind = |x: &Domain| self.textbook.cosine(x).map(|c| -c);
            trees.push(cover(&behind, domain, &scale(domain), -ROOM, MOST_BOXES)?);
        }
        Some(trees)
    }

    /// The witness with its figure, where that is certainly beyond the limit: a rocker that stands still has none.
    fn broken(&self, witness: &Witness) -> Option<(Witness, Interval)> {
        let at = witness.point().map(Interval::point);
        let figure = self.figure(&at)?.value;
        (figure.mignitude() > self.limit.hi()).then_some((*witness, figure))
    }
}

/// Lengths are measured by themselves, angles in rad.
fn scale(domain: &Domain) -> [f64; VARIABLES] {
    let [a, b, c, g, _, _] = domain.map(Interval::magnitude);
    [a, b, c, g, 1.0, 1.0]
}

/// The figure is not above `limit` in size.
fn sides(figure: &Figure<'_>, domain: &Domain, limit: f64) -> Option<Vec<Tree>> {
    let one = |side: f64| {
        let sided = |x: &Domain| {
            let jet = figure(x)?;
            Some(if side > 0.0 { jet } else { -jet })
        };
        cover(&sided, domain, &scale(domain), limit - ROOM, MOST_BOXES)
    };
    Some(vec![one(UP)?, one(DOWN)?])
}

/// The claims in the textbook's circles.
struct Textbook<'a> {
    branch: &'a Branch,
    slope: Interval,
    offset: f64,
    angle_limit: f64,
    zeroing: Zeroing,
}

/// Where coupler and rocker meet.
struct Meeting {
    e: [Jet<VARIABLES>; 2],
    h: [Jet<VARIABLES>; 2],
    u: [Jet<VARIABLES>; 2],
    s: Jet<VARIABLES>,
}

fn whole(x: f64) -> Jet<VARIABLES> {
    Jet::constant(Interval::point(x))
}

impl<'a> Textbook<'a> {
    fn of(question: &Question<'a>) -> Self {
        let joint = &question.joint;
        Self {
            branch: question.branch,
            slope: Interval::point(1.0) / Interval::point(joint.ratio),
            offset: joint.offset,
            angle_limit: question.limits.angle,
            zeroing: question.zeroing,
        }
    }

    /// Every loop closes all over `domain`.
    fn assembly(&self, domain: &Domain) -> Evidence {
        let trees = sides(&|x| self.cosine_at_q(x), domain, 1.0).unwrap_or_default();
        let outcome = if trees.is_empty() { Outcome::Undecided } else { Outcome::Holds };
        Evidence { criterion: None, outcome, domain: *domain, trees, broken: None }
    }

    /// Does the box hold a pose in which the angle error is certainly within the limit?
    fn starts_at_no_error(&self, domain: &Domain) -> bool {
        let [.., turn] = domain;
        self.zeroing == Zeroing::OnEachRobot
            && turn.contains(0.0)
            && self.offset.abs() <= self.angle_limit
    }

    /// The four lengths.
    fn bars(over: &Domain) -> [Jet<VARIABLES>; 4] {
        let [a, b, c, g, _, _] = *over;
        [Jet::variable(0, a), Jet::variable(1, b), Jet::variable(2, c), Jet::variable(3, g)]
    }

    /// Sine and cosine of `angle`, whose slopes by the crank's error and the motor turn are `by`.
    fn sine_and_cosine(angle: Interval, by: [Interval; 2]) -> [Jet<VARIABLES>; 2] {
        let (sin, cos) = elementary::sin_cos(angle);
        let jet = |value: Interval, slope: Interval| {
            let mut jet: Jet<VARIABLES> = Jet::constant(value);
            let [.., by_error, by_turn] = &mut jet.slopes;
            (*by_error, *by_turn) = (slope * by[0], slope * by[1]);
            jet
        };
        [jet(sin, cos), jet(cos, -sin)]
    }

    /// At the crank angle φ₀ + error + `turn`, which is the motor turn or 0.
    fn meeting(&self, over: &Domain, turn: Interval, by_turn: f64) -> Option<Meeting> {
        let [a, b, c, g] = Self::bars(over);
        let [.., error, _] = *over;
        let crank = Interval::point(self.branch.zero_crank()) + error + turn;
        let [sin, cos] =
            Self::sine_and_cosine(crank, [Interval::point(1.0), Interval::point(by_turn)]);
        let h = [a * cos - g, a * sin];
        let h2 = h[0].square() + h[1].square();
        let k = (c.square() + h2 - b.square()) / (whole(2.0) * c);
        let inside = h2 - k.square();
        if !inside.value.is_positive() {
            return None;
        }
        let s = inside.root()? * whole(self.branch.closure().sign());
        let u = [(k * h[0] - s * h[1]) / h2, (k * h[1] + s * h[0]) / h2];
        Some(Meeting { e: [cos, sin], h, u, s })
    }

    /// The direct joint's direction, and the rocker's.
    fn directions(&self, over: &Domain) -> Option<[[Jet<VARIABLES>; 2]; 2]> {
        let [.., turn] = *over;
        let zero = match self.zeroing {
            Zeroing::OnEachRobot => self.meeting(over, Interval::ZERO, 0.0)?.u,
            Zeroing::AsDrawn => {
                let (sin, cos) = elementary::sin_cos_at(self.branch.zero_rocker());
                [Jet::constant(cos), Jet::constant(sin)]
            }
        };
        let ahead = self.slope * turn + Interval::point(self.offset);
        let [sin, cos] = Self::sine_and_cosine(ahead, [Interval::ZERO, self.slope]);
        let wanted = [zero[0] * cos - zero[1] * sin, zero[0] * sin + zero[1] * cos];
        Some([wanted, self.meeting(over, turn, 1.0)?.u])
    }

    /// Of the angle error.
    fn sine(&self, over: &Domain) -> Option<Jet<VARIABLES>> {
        let [t, u] = self.directions(over)?;
        Some(t[0] * u[1] - t[1] * u[0])
    }

    /// Of the angle error.
    fn cosine(&self, over: &Domain) -> Option<Jet<VARIABLES>> {
        let [t, u] = self.directions(over)?;
        Some(t[0] * u[0] + t[1] * u[1])
    }

    fn ratio_error(&self, over: &Domain) -> Option<Jet<VARIABLES>> {
        let [a, _, c, _] = Self::bars(over);
        let [.., turn] = *over;
        let Meeting { e, h, u, s } = self.meeting(over, turn, 1.0)?;
        let w = [c * u[0] - h[0], c * u[1] - h[1]];
        let rate = a * (w[1] * e[0] - w[0] * e[1]) / (c * s);
        (!rate.value.contains(0.0)).then(|| Jet::constant(self.slope) / rate - whole(1.0))
    }

    fn cosine_at_q(&self, over: &Domain) -> Option<Jet<VARIABLES>> {
        let [a, b, c, g] = Self::bars(over);
        let crank = Interval::point(self.branch.zero_crank()) + over[CRANK_ERROR] + over[TURN];
        let [_, cos] = Self::sine_and_cosine(crank, [Interval::point(1.0); 2]);
        let h2 = a.square() + g.square() - whole(2.0) * a * g * cos;
        Some((b.square() + c.square() - h2) / (whole(2.0) * b * c))
    }
}
