//! The proof over every pose of a stroke and every linkage of a family.
//!
//! Assembly comes first: while the cosine of the angle between coupler and rocker stays inside (−1, 1) over the whole
//! box, every linkage of it closes in every pose and M never vanishes, so that each stays on the branch of its own zero
//! pose. Only then are the angle error and the ratio error bounded, from above and from below.
//!
//! A proof covers planar, rigid linkages without play whose lengths lie in the box. Nothing else.

use crate::linkage::{Branch, FourBar};
use crate::numeric::search::{Effort, Found, Objective, largest};
use crate::numeric::{Interval, elementary};

use super::claims::{
    AngleError, CosineAtQ, Domain, Point, RatioError, Setting, VARIABLES, Zeroing,
};
use super::direct_joint::DirectJoint;
use super::family::Family;
use super::nominal::Limits;
use super::outcome::Outcome;

/// What was found out about one figure over a family.
#[derive(Clone, Copy, Debug)]
pub struct Finding {
    /// Holds: the bound is within the limit. Fails: the witness certainly breaks it.
    pub outcome: Outcome,
    /// No linkage of the family in any pose has a worse figure than this; `None` where nothing is certain.
    pub bound: Option<f64>,
    /// The same for the signed figure: it is certainly not above the first nor below minus the second; infinite where
    /// nothing is certain.
    pub sides: [f64; 2],
    /// The worst figure seen, recomputed in plain arithmetic.
    pub witness: Witness,
    /// How many boxes were looked at.
    pub boxes: u32,
}

/// One linkage in one pose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Witness {
    /// Its lengths.
    pub bars: FourBar,
    /// Its crank angle in the zero pose less the drawn one, rad.
    pub crank_error: f64,
    /// Motor turn, rad.
    pub turn: f64,
    /// The figure there: angle error, ratio error or transmission angle; NaN where its loop does not close.
    pub value: f64,
}

/// What was found out about all of them.
#[derive(Clone, Copy, Debug)]
pub struct Findings {
    /// Does every linkage close over the stroke and from its zero pose to it?
    pub assembly: Outcome,
    /// Largest |angle error|, rad.
    pub angle: Finding,
    /// Largest |i / ratio − 1|.
    pub ratio: Finding,
    /// Smallest transmission angle, rad.
    pub transmission_angle: Finding,
}

impl Findings {
    /// The three figures in the order of the criteria.
    #[must_use]
    pub fn all(&self) -> [Finding; 3] {
        [self.angle, self.ratio, self.transmission_angle]
    }
}

/// How hard to try, in boxes for each of the searches; a box costs about a microsecond.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budget(pub u32);

impl Default for Budget {
    fn default() -> Self {
        Self(4000)
    }
}

/// A certified bound is at most this much above the true worst figure, as a share of it or of the limit.
const TIGHT: f64 = 1e-3;

/// A figure this many times over its limit is not bounded any closer.
const FAR_OFF: f64 = 20.0;

/// What is to be proved: the drawn branch, the constants that are emitted, the limits.
#[derive(Clone, Copy, Debug)]
pub struct Prover<'a> {
    setting: Setting<'a>,
    limits: Limits,
    budget: Budget,
}

impl<'a> Prover<'a> {
    /// For the direct joint `joint` in place of the linkage on `branch`.
    #[must_use]
    pub fn new(branch: &'a Branch, joint: &DirectJoint, zeroing: Zeroing, limits: Limits) -> Self {
        let slope = Interval::point(1.0) / Interval::point(joint.ratio);
        let setting = Setting { branch, slope, offset: joint.offset, zeroing };
        Self { setting, limits, budget: Budget::default() }
    }

    /// The same with another budget.
    #[must_use]
    pub fn with_budget(self, budget: Budget) -> Self {
        Self { budget, ..self }
    }

    /// Every criterion over `family` and the motor turns `turns` (rad, ascending), with bounds as tight as they are
    /// printed.
    #[must_use]
    pub fn judge(&self, family: &Family, turns: [f64; 2]) -> Findings {
        self.run(family, turns, Aim::Tight)
    }

    /// The same question, answered as soon as it is decided: do all criteria hold?
    #[must_use]
    pub fn decide(&self, family: &Family, turns: [f64; 2]) -> Outcome {
        let found = self.run(family, turns, Aim::Decide);
        let outcomes = [
            found.assembly,
            found.angle.outcome,
            found.ratio.outcome,
            found.transmission_angle.outcome,
        ];
        if outcomes.contains(&Outcome::Fails) {
            Outcome::Fails
        } else if outcomes.iter().all(|o| *o == Outcome::Holds) {
            Outcome::Holds
        } else {
            Outcome::Undecided
        }
    }

    fn run(&self, family: &Family, turns: [f64; 2], aim: Aim) -> Findings {
        let domain = domain(family, turns);
        let with_zero = super::claims::TURN;
        let mut hull = domain;
        if let Some(turn) = hull.get_mut(with_zero) {
            *turn = turn.hull(Interval::ZERO);
        }
        let stroke = self.cosine(&domain, aim);
        let from_zero = if hull == domain { stroke } else { self.cosine(&hull, aim) };
        let assembly = from_zero.assembly.min_certain(stroke.assembly);
        let transmission_angle = self.transmission(&stroke);
        if assembly != Outcome::Holds
            || (aim == Aim::Decide && transmission_angle.outcome != Outcome::Holds)
        {
            let open = self.unknown(&domain);
            return Findings { assembly, angle: open, ratio: open, transmission_angle };
        }
        let setting = self.setting;
        let angle =
            self.two_sided(|side| AngleError { setting, side }, &domain, self.limits.angle, aim);
        let ratio =
            self.two_sided(|side| RatioError { setting, side }, &domain, self.limits.ratio, aim);
        Findings { assembly, angle, ratio, transmission_angle }
    }

    fn unknown(&self, domain: &Domain) -> Finding {
        let witness = witness(&domain.map(Interval::mid), f64::NAN);
        Finding {
            outcome: Outcome::Undecided,
            bound: None,
            sides: [f64::INFINITY; 2],
            witness,
            boxes: 0,
        }
    }

    /// The largest |f| against `limit`, from both sides.
    fn two_sided<F: Objective<VARIABLES>>(
        &self,
        claim: impl Fn(f64) -> F,
        domain: &Domain,
        limit: f64,
        aim: Aim,
    ) -> Finding {
        let effort = self.effort(limit, aim);
        let sides = [1.0, -1.0].map(|side| {
            let f = claim(side);
            let found = largest(&f, domain, &effort);
            let certainly_above = f
                .enclose(&found.witness.map(Interval::point))
                .is_some_and(|value| value.lo() > limit);
            (found, certainly_above)
        });
        let [(up, up_breaks), (down, down_breaks)] = sides;
        let worst = if up.lower >= down.lower { up } else { down };
        let bound = up.upper.max(down.upper);
        let outcome = if bound <= limit {
            Outcome::Holds
        } else if (up.lower >= down.lower && up_breaks) || (down.lower >= up.lower && down_breaks) {
            Outcome::Fails
        } else {
            Outcome::Undecided
        };
        Finding {
            outcome,
            bound: bound.is_finite().then_some(bound),
            sides: [up.upper, down.upper],
            witness: witness(&worst.witness, worst.lower),
            boxes: up.boxes + down.boxes,
        }
    }

    fn effort(&self, limit: f64, aim: Aim) -> Effort {
        let boxes = self.budget.0;
        match aim {
            Aim::Tight => Effort {
                relative: TIGHT,
                absolute: 0.1 * TIGHT * limit,
                boxes,
                proved_below: f64::NEG_INFINITY,
                refuted_above: FAR_OFF * limit,
            },
            Aim::Decide => Effort {
                relative: 0.0,
                absolute: 0.0,
                boxes,
                proved_below: limit,
                refuted_above: limit,
            },
        }
    }

    /// The largest |cos| of the angle at Q, which tells both assembly and transmission angle.
    fn cosine(&self, domain: &Domain, aim: Aim) -> Cosine {
        let limit = self.limits.transmission_angle.cos();
        let sides = [1.0, -1.0].map(|side| {
            let f = CosineAtQ { setting: self.setting, side };
            let middle = f.sample(&domain.map(Interval::mid)).unwrap_or(0.0);
            let room = (1.0 - middle).clamp(1e-6, 1.0);
            let effort = match aim {
                Aim::Tight => Effort {
                    absolute: 0.1 * TIGHT * room,
                    refuted_above: 1.0,
                    ..self.effort(limit, aim)
                },
                Aim::Decide => self.effort(limit, aim),
            };
            let mut found = largest(&f, domain, &effort);
            // Near 1 the cosine hides angles: what is still open there is searched until it is decided.
            for threshold in [1.0_f64.next_down(), limit] {
                if found.lower < threshold && found.upper > threshold {
                    let decide = Effort {
                        proved_below: threshold,
                        refuted_above: threshold,
                        ..self.effort(limit, Aim::Decide)
                    };
                    let again = largest(&f, domain, &decide);
                    let upper = again.upper.min(found.upper);
                    found = Found {
                        upper,
                        boxes: found.boxes + again.boxes,
                        ..(if again.lower > found.lower { again } else { found })
                    };
                }
            }
            let enclosed = f.enclose(&found.witness.map(Interval::point));
            (found, enclosed.unwrap_or(Interval::ENTIRE))
        });
        let [(up, up_at), (down, down_at)] = sides;
        let (worst, at) = if up.lower >= down.lower { (up, up_at) } else { (down, down_at) };
        let bound = up.upper.max(down.upper);
        let assembly = if bound < 1.0 {
            Outcome::Holds
        } else if at.lo() > 1.0 {
            Outcome::Fails
        } else {
            Outcome::Undecided
        };
        Cosine { assembly, bound, worst, at }
    }

    fn transmission(&self, cosine: &Cosine) -> Finding {
        let certain = elementary::arc_cosine(cosine.bound.min(1.0));
        let bound = (cosine.bound < 1.0).then(|| certain.lo());
        let seen = cosine.worst.lower;
        let value = if seen > 1.0 { f64::NAN } else { seen.acos() };
        // The witness certainly breaks the floor where its cosine is certainly above that of the floor.
        let (_, floor) = elementary::sin_cos_at(self.limits.transmission_angle);
        let outcome = match bound {
            Some(angle) if angle >= self.limits.transmission_angle => Outcome::Holds,
            _ if cosine.at.lo() > floor.hi() => Outcome::Fails,
            _ => Outcome::Undecided,
        };
        Finding {
            outcome,
            bound,
            sides: [f64::INFINITY; 2],
            witness: witness(&cosine.worst.witness, value),
            boxes: cosine.worst.boxes,
        }
    }
}

/// Bounds to be printed, or an answer only.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Aim {
    Tight,
    Decide,
}

#[derive(Clone, Copy, Debug)]
struct Cosine {
    assembly: Outcome,
    bound: f64,
    worst: Found<VARIABLES>,
    at: Interval,
}

impl Outcome {
    /// The weaker of two: failure before undecided before holding.
    fn min_certain(self, other: Self) -> Self {
        match (self, other) {
            (Self::Fails, _) | (_, Self::Fails) => Self::Fails,
            (Self::Holds, Self::Holds) => Self::Holds,
            _ => Self::Undecided,
        }
    }
}

/// Rounding of the stroke's ends, rad: a joint stroke's ends are roots found to a few floats.
const STROKE_ROUNDING: f64 = 1e-14;

fn domain(family: &Family, turns: [f64; 2]) -> Domain {
    let FourBar { ground, crank, coupler, rocker } = family.bars;
    let wide = |turn: f64| STROKE_ROUNDING * turn.abs().max(1.0);
    let turn = Interval::new(turns[0] - wide(turns[0]), turns[1] + wide(turns[1]));
    [crank, coupler, rocker, ground, family.crank_error, turn]
}

fn witness(at: &Point, value: f64) -> Witness {
    let [crank, coupler, rocker, ground, crank_error, turn] = *at;
    Witness { bars: FourBar { ground, crank, coupler, rocker }, crank_error, turn, value }
}
