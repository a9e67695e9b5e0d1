//! The proof over every pose of a stroke and every linkage of a family.
//!
//! Assembly comes first: while the cosine of the angle between coupler and rocker stays inside (−1, 1) over the whole
//! box, every linkage of it closes in every pose and M never vanishes, so that each stays on the branch of its own zero
//! pose. Only then are the angle error and the ratio error bounded, from above and from below.
//!
//! A proof covers planar, rigid linkages without play whose lengths lie in the box. Nothing else.

use crate::linkage::{Branch, FourBar, Stroke};
use crate::numeric::search::{Effort, Found, Objective};
use crate::numeric::{Interval, elementary};

use super::boxes::Boxes;
use super::builds::{Front, FrontMargins};
use super::claims::{
    AngleError, CosineAtQ, Point, RatioError, STANDS_STILL, Setting, VARIABLES, Zeroing,
};
use super::criterion::{Criterion, MET_WITHIN};
use super::direct_joint::DirectJoint;
use super::family::Family;
use super::finding::{Aim, Budget, Finding, OneSide, Witness};
use super::nominal::Limits;
use super::outcome::Outcome;
use super::pad::{Behind, Finger, PadClaim, PadFigures};
use super::suspects::{Suspect, any_breaks, suspects};

/// What was found out about all of them.
#[derive(Clone, Debug)]
pub struct Findings {
    /// Does every linkage close over the stroke and from its zero pose to it?
    pub assembly: Outcome,
    /// Each criterion of the motion with what was found out, in the order of [`Criterion::ALL`].
    pub figures: Vec<(Criterion, Finding)>,
    /// Of a pad behind another drive: the build of that drive which goes with each figure's witness.
    pub fronts: Vec<(Criterion, Vec<f64>)>,
    /// What that drive keeps by itself.
    pub front: Option<FrontMargins>,
}

impl Findings {
    /// What was found out about `criterion`; `None` where it is not of this motion.
    #[must_use]
    pub fn of(&self, criterion: Criterion) -> Option<&Finding> {
        self.figures.iter().find(|(of, _)| *of == criterion).map(|(_, finding)| finding)
    }

    /// Do all hold?
    #[must_use]
    pub fn hold(&self) -> bool {
        self.front.as_ref().is_none_or(|front| front.outcome() == Outcome::Holds)
            && self.figures.iter().all(|(_, finding)| finding.outcome == Outcome::Holds)
    }

    /// Of assembly and all figures: one failure refutes, else one that is undecided leaves all undecided.
    fn outcome(&self) -> Outcome {
        let all = self.figures.iter().map(|(_, finding)| finding.outcome);
        let front = self.front.as_ref().map(FrontMargins::outcome);
        all.chain(front).fold(self.assembly, Outcome::min_certain)
    }
}

/// A certified bound is at most this much above the true worst figure, as a share of it.
const TIGHT: f64 = 8e-4;

/// Nor is a bound that is below this share of its limit made closer than that.
const SMALL: f64 = 1e-5;

/// A finger's own share of a figure behind another drive is bounded to this share of itself and of the limit.
const LOOSE: f64 = 0.01;

/// Boxes of each search for it, over one stretch.
const BEHIND: u32 = 400;

/// The cosine beyond which a loop does not close: (surely closes, hardly).
const CLOSES: [f64; 2] = [1.0_f64.next_down(), 1.0];

/// What is to be proved: the drawn branch, the constants that are emitted, the limits.
#[derive(Clone, Copy, Debug)]
pub struct Prover<'a> {
    setting: Setting<'a>,
    limits: Limits,
    /// Where a pad rides on the coupler, its motion is what is claimed.
    finger: Option<&'a Finger>,
    /// What turns its crank where the motor does not: turns are the crank's then.
    front: Option<&'a Front<'a>>,
    budget: Budget,
}

impl<'a> Prover<'a> {
    /// For the direct joint `joint` in place of the linkage on `branch`.
    #[must_use]
    pub fn new(branch: &'a Branch, joint: &DirectJoint, zeroing: Zeroing, limits: Limits) -> Self {
        let slope = Interval::point(1.0) / Interval::point(joint.ratio);
        let setting = Setting { branch, slope, offset: joint.offset, zeroing };
        Self { setting, limits, finger: None, front: None, budget: Budget::default() }
    }

    /// The same for the pad of `finger` in place of the joint.
    #[must_use]
    pub fn of_pad(self, finger: Option<&'a Finger>) -> Self {
        Self { finger, ..self }
    }

    /// The same for a pad whose crank `front` turns.
    #[must_use]
    pub fn behind(self, front: Option<&'a Front<'a>>) -> Self {
        Self { front, ..self }
    }

    /// The worst differences of the drawn linkage's pad over `stroke`; `None` where no pad is claimed.
    #[must_use]
    pub fn pad_figures(&self, stroke: &Stroke) -> Option<PadFigures> {
        self.finger.map(|finger| PadFigures::over(self.setting, finger, self.front, stroke))
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
        self.run(family, turns, Aim::Decide).outcome()
    }

    /// The same; where they do not hold, a point that breaks one, if any was found.
    pub(super) fn decide_or_suspect(
        &self,
        family: &Family,
        turns: [f64; 2],
    ) -> Result<(), Option<Suspect>> {
        let found = self.run(family, turns, Aim::Decide);
        if found.outcome() == Outcome::Holds {
            return Ok(());
        }
        let inner = self.boxes(family, turns).inner;
        let refuted = found.figures.iter().find(|(_, finding)| finding.outcome == Outcome::Fails);
        Err(refuted.map(|(_, finding)| Suspect::of(&finding.witness.point(), &inner)))
    }

    /// Points where a limit is likely to be broken first.
    pub(super) fn suspects(&self, family: &Family, turns: [f64; 2]) -> Vec<Suspect> {
        suspects(self.setting, self.finger, &self.boxes(family, turns).inner)
    }

    /// Does any of `suspects` break a limit, as a member of `family`?
    pub(super) fn breaks(&self, family: &Family, turns: [f64; 2], suspects: &[Suspect]) -> bool {
        let inner = self.boxes(family, turns).inner;
        any_breaks(self.setting, &self.limits, self.finger, &inner, suspects)
    }

    fn boxes(&self, family: &Family, turns: [f64; 2]) -> Boxes {
        Boxes::of(self.setting.branch, family, turns)
    }

    fn run(&self, family: &Family, turns: [f64; 2], aim: Aim) -> Findings {
        let boxes = self.boxes(family, turns);
        let stroke = self.cosine(&boxes, aim, self.floor());
        let from_zero = boxes.with_zero().map_or(stroke, |boxes| self.cosine(&boxes, aim, CLOSES));
        let assembly = from_zero.assembly.min_certain(stroke.assembly);
        let mut transmission_angle = self.transmission(&stroke);
        // A linkage that may not even close in its zero pose has no place on the stroke, and no figure there.
        if assembly != Outcome::Holds {
            transmission_angle.bound = None;
            if transmission_angle.outcome == Outcome::Holds {
                transmission_angle.outcome = Outcome::Undecided;
            }
        }
        let decided = |finding: &Finding| aim == Aim::Decide && finding.outcome != Outcome::Holds;
        let mut is_open = assembly == Outcome::Holds && !decided(&transmission_angle);
        let mut figures = vec![(Criterion::TransmissionAngle, transmission_angle)];
        let front = self.front.map(|front| front.margins(turns, aim));
        let found_in_front = front.as_ref().map_or(Outcome::Holds, FrontMargins::outcome);
        is_open &= front.as_ref().is_none_or(|front| front.assembly == Outcome::Holds)
            && (aim == Aim::Tight || found_in_front == Outcome::Holds);
        let behind = self.finger.zip(self.front).filter(|_| is_open).map(|(finger, front)| {
            let boxes = |turns| self.boxes(family, turns);
            Behind::new(finger, front, self.setting, turns, boxes)
        });
        let mut fronts = Vec::new();
        for criterion in self.searched() {
            let finding = match &behind {
                _ if !is_open => unknown(&boxes),
                None => self.find(*criterion, &boxes, turns, aim),
                Some(behind) => {
                    let (finding, build) = self.find_behind(behind, *criterion, aim);
                    fronts.push((*criterion, build));
                    finding
                }
            };
            is_open &= !decided(&finding);
            figures.push((*criterion, finding));
        }
        figures.sort_by_key(|(criterion, _)| *criterion);
        Findings { assembly, figures, fronts, front }
    }

    fn find_behind(
        &self,
        behind: &Behind<'_>,
        criterion: Criterion,
        aim: Aim,
    ) -> (Finding, Vec<f64>) {
        let limit = self.finger.and_then(|f| f.limits.of(criterion)).unwrap_or(f64::INFINITY);
        let most = limit + criterion.met_within();
        // The finger's own share is what is left of the limit, which no search of it alone can tell: it is bounded.
        let effort = self.effort([most; 2], limit, Aim::Tight);
        let boxes = if aim == Aim::Tight { BEHIND } else { BEHIND / 2 };
        let effort = Effort { relative: LOOSE, absolute: LOOSE * limit, boxes, ..effort };
        behind.find(criterion, &effort, most)
    }

    /// What is searched once every loop is known to close, the quickest to refute first.
    fn searched(&self) -> &'static [Criterion] {
        match self.finger {
            Some(_) => &Criterion::OF_PAD,
            None => &[Criterion::Ratio, Criterion::Angle],
        }
    }

    fn find(&self, criterion: Criterion, boxes: &Boxes, turns: [f64; 2], aim: Aim) -> Finding {
        let (setting, limits) = (self.setting, &self.limits);
        let met = criterion.met_within();
        if let Some((finger, limit)) = self.finger.and_then(|f| Some((f, f.limits.of(criterion)?)))
        {
            let claim = |side| PadClaim { setting, finger, criterion, side };
            return self.two_sided(claim, boxes, [limit, met], aim);
        }
        if criterion == Criterion::Angle {
            let claim = |side| AngleError { setting, side };
            return self.two_sided(claim, boxes, [limits.angle, met], aim);
        }
        self.standing(turns).unwrap_or_else(|| {
            let claim = |side| RatioError { setting, side };
            self.two_sided(claim, boxes, [limits.ratio, met], aim)
        })
    }

    /// The drawn rocker stands still in the stroke, all along or for a moment: its ratio has no bound.
    fn standing(&self, turns: [f64; 2]) -> Option<Finding> {
        let [from, to] = turns;
        let branch = self.setting.branch;
        let mut places = branch.dead_turns(from, to);
        places.extend([0.5 * (from + to), from, to]);
        let turn = places.into_iter().find(|turn| {
            branch.pose(*turn).is_ok_and(|pose| pose.velocity_ratio().abs() <= STANDS_STILL)
        })?;
        let bars = branch.bars();
        let at = [bars.crank, bars.coupler, bars.rocker, bars.ground, 0.0, turn];
        // |slope / r − 1| is at least this where the rocker hardly turns.
        let pose = self.setting.pose(&at.map(Interval::point), Interval::point(turn))?;
        let least = self.setting.slope.mignitude() / pose.velocity_ratio().magnitude() - 1.0;
        let outcome =
            if least > 2.0 * self.limits.ratio { Outcome::Fails } else { Outcome::Undecided };
        let witness = witness(&at, f64::INFINITY);
        Some(Finding { outcome, bound: None, sides: [f64::INFINITY; 2], witness, boxes: 1 })
    }

    /// The largest |f| against `limit`, which counts as met within `met`, from both sides.
    fn two_sided<F: Objective<VARIABLES>>(
        &self,
        claim: impl Fn(f64) -> F,
        boxes: &Boxes,
        [limit, met]: [f64; 2],
        aim: Aim,
    ) -> Finding {
        let effort = self.effort([limit + met; 2], limit, aim);
        let sides = [1.0, -1.0].map(|side| {
            let (found, at) = boxes.largest(&claim(side), &effort);
            let witness = witness(&found.witness, found.lower);
            let Found { upper, lower: seen, boxes, .. } = found;
            OneSide { upper, seen, witness, at, boxes }
        });
        Finding::of_sides(sides, limit + met)
    }

    fn effort(&self, decide: [f64; 2], size: f64, aim: Aim) -> Effort {
        aim.effort(decide, [TIGHT, SMALL], size, self.budget)
    }

    /// The cosine at the floor of the transmission angle, less the slack: (rounded down, rounded up).
    fn floor(&self) -> [f64; 2] {
        let (_, cosine) = elementary::sin_cos_at(self.limits.transmission_angle - MET_WITHIN);
        [cosine.lo(), cosine.hi()]
    }

    /// The largest |cos| of the angle at Q, which tells both assembly and transmission angle; whether it is above
    /// `floor` is decided.
    fn cosine(&self, boxes: &Boxes, aim: Aim, floor: [f64; 2]) -> Cosine {
        let sides = [1.0, -1.0].map(|side| {
            let f = CosineAtQ { setting: self.setting, side };
            let effort = self.effort(floor, 1.0, aim);
            let effort = match aim {
                // Near 1 the cosine hides angles: whether it is below is decided, however close.
                Aim::Tight => Effort {
                    relative: 0.0,
                    absolute: 0.1 * TIGHT * self.room(&f, boxes),
                    decide: [effort.decide[0], CLOSES],
                    refuted_above: 1.0,
                    ..effort
                },
                Aim::Decide => effort,
            };
            let found = boxes.largest(&f, &effort);
            match finer(&found.0, &effort).filter(|_| aim == Aim::Tight) {
                Some(effort) => boxes.largest(&f, &effort),
                None => found,
            }
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
        Cosine { assembly, bound, worst, at, boxes: up.boxes + down.boxes }
    }

    /// How far the middle of the box is from a crank limit: 1 less the cosine there.
    fn room(&self, f: &CosineAtQ<'_>, boxes: &Boxes) -> f64 {
        let middle = f.sample(&boxes.inner.map(Interval::mid)).unwrap_or(0.0);
        (1.0 - middle).clamp(1e-6, 1.0)
    }

    fn transmission(&self, cosine: &Cosine) -> Finding {
        let [holds, breaks] = self.floor();
        let outcome = if cosine.bound <= holds {
            Outcome::Holds
        } else if cosine.at.lo() > breaks {
            Outcome::Fails
        } else {
            Outcome::Undecided
        };
        let seen = cosine.worst.lower;
        let value = if seen > 1.0 { f64::NAN } else { seen.acos() };
        let certain = elementary::arc_cosine(cosine.bound.min(1.0));
        Finding {
            outcome,
            bound: (cosine.bound < 1.0).then(|| certain.lo()),
            sides: [f64::INFINITY; 2],
            witness: witness(&cosine.worst.witness, value),
            boxes: cosine.boxes,
        }
    }
}

/// The effort that makes the bound of the angle tight where that of its cosine is not: near a crank limit the angle goes
/// with the root of 1 less the cosine.
fn finer(found: &Found<VARIABLES>, effort: &Effort) -> Option<Effort> {
    let wanted = TIGHT * (1.0 - found.lower);
    let is_loose = wanted > 0.0 && found.upper - found.lower > wanted;
    is_loose.then_some(Effort { absolute: wanted, ..*effort })
}

#[derive(Clone, Copy, Debug)]
struct Cosine {
    assembly: Outcome,
    bound: f64,
    worst: Found<VARIABLES>,
    at: Interval,
    boxes: u32,
}

fn unknown(boxes: &Boxes) -> Finding {
    let witness = witness(&boxes.inner.map(Interval::mid), f64::NAN);
    let (outcome, sides) = (Outcome::Undecided, [f64::INFINITY; 2]);
    Finding { outcome, bound: None, sides, witness, boxes: 0 }
}

fn witness(at: &Point, value: f64) -> Witness {
    Witness::at(at, value)
}

impl Witness {
    pub(super) fn at(at: &Point, value: f64) -> Self {
        let [crank, coupler, rocker, ground, crank_error, turn] = *at;
        Self { bars: FourBar { ground, crank, coupler, rocker }, crank_error, turn, value }
    }

    pub(super) fn point(&self) -> Point {
        let FourBar { ground, crank, coupler, rocker } = self.bars;
        [crank, coupler, rocker, ground, self.crank_error, self.turn]
    }
}
