//! What the drawn tolerances do to one design.

use serde::{Serialize, Serializer};

use crate::design::{Design, Dimension, Length, Parameter};
use crate::diagnostic::Code;
use crate::drive::{Drawing, Kind};
use crate::equivalence::{
    self, Assessment, Basis, Budget as Effort, Criterion, DirectJoint, Family, Figure, Finding,
    Finger, Front, FrontMargins, LengthName, Outcome, PadStandIn, Prover, Side, Unit,
};
use crate::linkage::{Branch, Sweep};
use crate::tolerance::{
    Budget, Contribution, Course, Deviation, Distribution, DrawnBuild, Group, Growth, LostMotion,
    Ranked, Request, SizedRequest, Spread, Statistics, Variable, Varied, budget, drawn,
    lost_motion, ranking, sample, sample_behind,
};

use super::driven::zero_fault;
use super::family::{family, limits, zeroing};
use super::fault::Fault;
use super::findings::Warning;
use super::findings::views;
use super::mechanism::{Mechanism, end_of_branch};
use super::tolerance_of_sizes::spread_of;
use super::tolerance_ranges::{Ranges, pad_ranges, ranges};
use super::warnings::outside_limits;
use super::{finger, standing};

/// What is asked of the study.
#[derive(Clone, Copy, Debug)]
pub struct ToleranceRequest {
    /// Builds to draw.
    pub samples: u64,
    /// Same seed, same figures.
    pub seed: u64,
    /// How every figure scatters between its limits.
    pub distribution: Distribution,
}

/// What the drawn tolerances do.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "schema", rename = "unloop/tolerance/1")]
pub struct ToleranceFindings {
    /// The design's name.
    pub design: String,
    /// What drives the joint.
    #[serde(skip)]
    pub kind: Kind,
    /// How it was asked.
    #[serde(skip)]
    pub request: ToleranceRequest,
    /// What the builds are held against.
    #[serde(flatten)]
    pub against: Against,
    /// The limits.
    #[serde(serialize_with = "views::limits")]
    pub limits: Vec<(Criterion, f64)>,
    /// The joint turn at which the rocker of the drawn linkage stands still in the stroke, rad: no figure of the ratio
    /// has a bound then, and nothing is drawn at random.
    #[serde(skip)]
    pub still: Option<f64>,
    /// Each figure with its drawn deviations.
    #[serde(serialize_with = "views::deviations")]
    pub deviations: Vec<(Varied, Deviation)>,
    /// Which figure matters most, first order.
    pub ranking: Vec<Contribution>,
    /// Certified worst cases over every linkage within tolerance: angle and ratio error of a joint; tilt, shift, opening and
    /// grip error of a pad; transmission angle.
    #[serde(rename = "worst_case")]
    pub worst: Vec<Worst>,
    /// Builds drawn at random; `None` where no tolerance is drawn.
    pub statistics: Option<Statistics>,
    /// The largest tolerance ± for all four lengths with which the verdict is proved, m.
    #[serde(rename = "largest_symmetric_tolerance_m")]
    pub symmetric: Option<f64>,
    /// The same for each length alone, the others as drawn, m.
    #[serde(rename = "largest_alone", serialize_with = "views::each_alone")]
    pub alone: Vec<(LengthName, Option<f64>)>,
    /// Classes of the standards for the lengths of a four-bar.
    pub budget: Option<Budget>,
    /// How much the drawn tolerances of another drive may grow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub growth: Option<Growth>,
    /// Lost motion from play in the pins, where clearances are given.
    pub lost_motion: Option<LostMotion>,
    /// What a training run should randomise.
    pub ranges: Ranges,
    /// Warnings.
    pub warnings: Vec<Warning>,
}

/// What stands in: its direct joint, or what takes the place of a finger whose pad rides on the coupler.
#[derive(Clone, Copy, Debug)]
pub enum Against {
    /// A joint.
    Joint(DirectJoint),
    /// A stand-in of a finger.
    Finger(Finger),
}

impl Against {
    /// The direct joint; `None` for a finger.
    #[must_use]
    pub fn joint(&self) -> Option<&DirectJoint> {
        match self {
            Self::Joint(joint) => Some(joint),
            Self::Finger(_) => None,
        }
    }

    /// The finger's stand-in; `None` for a joint.
    #[must_use]
    pub fn finger(&self) -> Option<&Finger> {
        match self {
            Self::Joint(_) => None,
            Self::Finger(finger) => Some(finger),
        }
    }

    /// The figure to lead with.
    #[must_use]
    pub fn leads(&self) -> Criterion {
        match self {
            Self::Joint(_) => Criterion::Angle,
            Self::Finger(_) => Criterion::Tilt,
        }
    }

    /// Turn of the hinge at P of a counter-turning pair for each motor turn.
    #[must_use]
    pub fn multiplier(&self) -> Option<f64> {
        let counter = |finger: &&Finger| finger.motion.stand_in == PadStandIn::Counter;
        self.finger().filter(counter).map(|finger| finger.motion.multiplier())
    }
}

impl Serialize for Against {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Keys {
            direct_joint: Option<DirectJoint>,
            stand_in: Option<PadStandIn>,
            multiplier: Option<f64>,
        }
        let stand_in = self.finger().map(|finger| finger.motion.stand_in);
        let (direct_joint, multiplier) = (self.joint().copied(), self.multiplier());
        Keys { direct_joint, stand_in, multiplier }.serialize(serializer)
    }
}

/// A certified worst case.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Worst {
    /// Of which figure.
    #[serde(rename = "name")]
    pub criterion: Criterion,
    /// Of the bound.
    pub unit: Unit,
    /// Its limit.
    #[serde(skip)]
    pub limit: f64,
    /// Certified bound; `None` where nothing is certain.
    pub bound: Option<f64>,
    /// The worst of the corners of the tolerances that were looked at, where nothing is certain; `None` elsewhere.
    #[serde(rename = "worst_corner", skip_serializing_if = "Option::is_none")]
    pub corner: Option<f64>,
    /// Against the limit.
    #[serde(flatten, serialize_with = "views::with_proof")]
    pub outcome: Outcome,
}

/// The tolerance study of `design`; `go_on` is asked between rounds with the number of builds drawn.
///
/// # Errors
/// Every fault of the design that keeps its linkage from running over its stroke.
pub fn tolerance(
    design: &Design,
    request: &ToleranceRequest,
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> Result<ToleranceFindings, Vec<Fault>> {
    let mechanism = Mechanism::of(design)?;
    let (sweep, joint) = mechanism.sweep().map_err(|fault| vec![fault])?;
    let against = against(design, &mechanism, joint)?;
    let (family, turns) = (family(design, Basis::Tolerance), mechanism.stroke.motor);
    let finger = against.finger();
    let front = mechanism.front(design, Basis::Tolerance)?;
    let prover = Prover::new(&mechanism.branch, &joint, zeroing(design), limits(design))
        .of_pad(finger)
        .behind(front.as_ref());
    let found = prover.judge(&family, turns);
    let spread = spread(design, request.distribution);
    let own = found.figures.iter().map(|(c, f)| worst(*c, design, f));
    let worst = with_margins(own.collect(), found.front.as_ref());
    let still = standing::stands_still_at(&sweep, &joint).filter(|_| finger.is_none());
    let in_front = front.as_ref().map(|front| sized(design, front, request)).transpose()?;
    let is_drawn =
        has_spread(&spread) || in_front.as_ref().is_some_and(|sized| sized.spread.is_any());
    let asked = Request {
        tops: tops(&worst),
        finger: finger.copied(),
        ..drawing(design, &mechanism, joint, request)
    };
    let statistics = match &in_front {
        _ if !is_drawn || still.is_some() => None,
        None => Some(sample(&asked, go_on)),
        Some(sized) => {
            let course = Course::new(sized).map_err(|fault| vec![zero_fault(fault)])?;
            sample_behind(&asked, &course, go_on)
        }
    };
    let ranked = if finger.is_some() { Ranked::Tilt } else { Ranked::Joint(1.0 / joint.ratio) };
    let ranking = ranking(&mechanism.branch, ranked, zeroing(design), turns, &spread);
    let stage = in_front.as_ref().map(|sized| last_stage(sized.drawing));
    let of_stage =
        |one: &Contribution| Contribution { variable: Varied { stage, ..one.variable }, ..*one };
    let ranking: Vec<Contribution> = ranking.iter().map(of_stage).collect();
    let weights = LengthName::ALL.map(|length| weight(&ranking, length));
    let quick = prover.with_budget(Effort(1500));
    let smallest_angle = found.of(Criterion::TransmissionAngle).and_then(|f| f.bound);
    let lost = play(design, &family, &sweep, smallest_angle).filter(|_| finger.is_none());
    let ranges = match finger {
        Some(_) => pad_ranges(statistics.as_ref(), found.of(Criterion::Tilt)),
        None => ranges(statistics.as_ref(), lost).with_armature(rotor_at_crank(design)),
    };
    Ok(without_bound(ToleranceFindings {
        design: design.name.clone(),
        still,
        request: *request,
        against,
        limits: worst.iter().map(|w| (w.criterion, w.limit)).collect(),
        deviations: deviations(&spread, in_front.as_ref()),
        worst,
        // How much more could be allowed is not told of two drives at once.
        symmetric: in_front
            .is_none()
            .then(|| {
                let branch = &mechanism.branch;
                equivalence::largest_tolerance(&quick, branch, family.crank_error, turns)
            })
            .flatten(),
        alone: match in_front {
            None => alone(&quick, &mechanism.branch, &family, turns),
            Some(_) => Vec::new(),
        },
        budget: in_front
            .is_none()
            .then(|| budget(&quick, mechanism.branch.bars(), &family, turns, weights)),
        growth: None,
        kind: if in_front.is_some() { Kind::Series } else { Kind::FourBar },
        ranges,
        lost_motion: lost.map(|l| l.0),
        ranking,
        warnings: warnings(design, is_drawn),
        statistics,
    }))
}

/// The drive in front of a finger, to draw builds of it.
fn sized<'a>(
    design: &Design,
    front: &Front<'a>,
    request: &ToleranceRequest,
) -> Result<SizedRequest<'a>, Vec<Fault>> {
    let drawn = &design.front.as_ref().ok_or_else(|| vec![Fault::no_build()])?.drawn;
    Ok(SizedRequest {
        drawing: front.question.drawing,
        joint: front.question.joint,
        given_offset: Some(0.0),
        zeroing: zeroing(design),
        joints: front.question.turns,
        limits: limits(design),
        spread: spread_of(drawn, request),
        samples: request.samples,
        seed: request.seed,
    })
}

/// Each figure with its drawn deviations: of the drive in front those that deviate.
fn deviations(spread: &Spread, front: Option<&SizedRequest<'_>>) -> Vec<(Varied, Deviation)> {
    let stage = front.map(|sized| last_stage(sized.drawing));
    let own = Variable::ALL.into_iter().map(|variable| Varied { stage, ..Varied::from(variable) });
    let own = own.zip(spread.deviations);
    let in_front = front.into_iter().flat_map(|sized| {
        let named = Varied::sizes(sized.drawing).into_iter().zip(sized.spread.deviations.clone());
        named.filter(|(_, d)| d.lower != 0.0 || d.upper != 0.0)
    });
    own.chain(in_front).collect()
}

/// The number of the stage behind those of `drawing`.
fn last_stage(drawing: &Drawing) -> usize {
    match drawing {
        Drawing::Series(stages) => stages.len() + 1,
        _ => 2,
    }
}

/// The margins of the drive in front: where both have one, the worse stands for both.
fn with_margins(mut all: Vec<Worst>, front: Option<&FrontMargins>) -> Vec<Worst> {
    for margin in front.iter().flat_map(|front| &front.criteria) {
        let Assessment { criterion, limit, outcome, .. } = *margin;
        let bound = margin.bound.map(Figure::value);
        match all.iter_mut().find(|own| own.criterion == criterion) {
            None => all.push(Worst {
                criterion,
                unit: criterion.unit(),
                limit,
                bound,
                corner: None,
                outcome,
            }),
            Some(own) => {
                let is_floor = criterion.side() == Side::AtLeast;
                let worse = |a: f64, b: f64| if is_floor { a.min(b) } else { a.max(b) };
                own.bound = own.bound.zip(bound).map(|(a, b)| worse(a, b));
                own.outcome = worse_outcome(own.outcome, outcome);
            }
        }
    }
    all
}

/// One failure refutes, else one that is undecided leaves both undecided.
fn worse_outcome(a: Outcome, b: Outcome) -> Outcome {
    [Outcome::Fails, Outcome::Undecided, Outcome::NotAssessed]
        .into_iter()
        .find(|outcome| [a, b].contains(outcome))
        .unwrap_or(Outcome::Holds)
}

/// What stands in for the linkage of `design`.
fn against(
    design: &Design,
    mechanism: &Mechanism,
    joint: DirectJoint,
) -> Result<Against, Vec<Fault>> {
    let finger = finger::judged(design, mechanism, &joint).map_err(|_| vec![end_of_branch()])?;
    Ok(finger.map_or(Against::Joint(joint), Against::Finger))
}

/// Where histograms end: at the certified bound, or far beyond the limit where there is none.
fn tops(worst: &[Worst]) -> Vec<(Criterion, f64)> {
    let top = |w: &Worst| w.bound.filter(|bound| *bound > 0.0).unwrap_or(4.0 * w.limit);
    worst.iter().map(|w| (w.criterion, top(w))).collect()
}

/// Builds drawn at random, one by one.
#[derive(Clone, Debug)]
pub struct DrawnBuilds {
    /// The direct joint that they are held against.
    pub direct_joint: DirectJoint,
    /// The builds.
    pub builds: Vec<DrawnBuild>,
    /// The rotor's inertia at the crank, kg m², where it is given: a build's armature is this times its ratio squared.
    pub rotor_at_crank: Option<f64>,
}

/// The first `request.samples` builds of those that [`tolerance`] counts; `go_on` as there.
///
/// # Errors
/// As [`tolerance`].
pub fn builds(
    design: &Design,
    request: &ToleranceRequest,
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> Result<DrawnBuilds, Vec<Fault>> {
    if design.parallel_jaw().is_some() {
        return Err(vec![pad_on_coupler()]);
    }
    let mechanism = Mechanism::of(design)?;
    let (_, joint) = mechanism.sweep().map_err(|fault| vec![fault])?;
    Ok(DrawnBuilds {
        direct_joint: joint,
        builds: drawn(&drawing(design, &mechanism, joint, request), go_on),
        rotor_at_crank: rotor_at_crank(design),
    })
}

fn pad_on_coupler() -> Fault {
    Fault {
        parameter: Parameter::FingerPad,
        code: Code::PadOnCoupler,
        message: "builds are told with a direct joint each, and the pad rides on the coupler"
            .to_owned(),
        label: "has no joint of its own".to_owned(),
        help: "tolerance tells how tilt, shift, opening and grip scatter".to_owned(),
    }
}

/// What to draw; histograms end nowhere yet.
fn drawing<'a>(
    design: &Design,
    mechanism: &'a Mechanism,
    joint: DirectJoint,
    request: &ToleranceRequest,
) -> Request<'a> {
    Request {
        branch: &mechanism.branch,
        joint,
        given_offset: mechanism.constants.offset,
        finger: None,
        zeroing: zeroing(design),
        turns: mechanism.stroke.motor,
        limits: limits(design),
        spread: spread(design, request.distribution),
        tops: Vec::new(),
        samples: request.samples,
        seed: request.seed,
    }
}

/// The largest tolerance of each length alone.
fn alone(
    prover: &Prover<'_>,
    branch: &Branch,
    family: &Family,
    turns: [f64; 2],
) -> Vec<(LengthName, Option<f64>)> {
    let largest = |l| (l, equivalence::largest_alone(prover, branch, family, l, turns));
    LengthName::ALL.map(largest).to_vec()
}

fn worst(criterion: Criterion, design: &Design, finding: &Finding) -> Worst {
    let limits = limits(design);
    let limit = match criterion {
        Criterion::Angle => limits.angle,
        Criterion::Ratio => limits.ratio,
        of_pad => design.accept.pad.of(of_pad).unwrap_or(limits.transmission_angle),
    };
    let (unit, bound, outcome) = (criterion.unit(), finding.bound, finding.outcome);
    Worst { criterion, unit, limit, bound, corner: None, outcome }
}

fn deviation(dimension: &Dimension) -> Deviation {
    dimension
        .tolerance
        .as_ref()
        .map_or_else(Deviation::default, |t| Deviation { lower: t.lower, upper: t.upper })
}

fn spread(design: &Design, distribution: Distribution) -> Spread {
    let g = &design.geometry;
    let variable = |length: &Length| match length {
        Length::Ground => Variable::Ground,
        Length::Crank => Variable::Crank,
        Length::Coupler => Variable::Coupler,
        Length::Rocker => Variable::Rocker,
    };
    Spread {
        deviations: [&g.crank, &g.coupler, &g.rocker, &g.ground, &g.zero_crank].map(deviation),
        distribution,
        groups: design
            .together
            .iter()
            .map(|t| Group {
                members: t.lengths.iter().map(variable).collect(),
                correlation: t.correlation,
            })
            .collect(),
    }
}

fn has_spread(spread: &Spread) -> bool {
    spread.deviations.iter().any(|d| d.upper > d.lower)
}

/// Steepest slope of the angle error by a length, per m.
fn weight(ranking: &[Contribution], length: LengthName) -> f64 {
    let named = |c: &&Contribution| c.variable.name == length.name();
    ranking.iter().find(named).map_or(1.0, |c| c.slope.abs())
}

/// Lost motion over the stroke and over the tolerance, where any clearance is given, and whether it is certified: the
/// least with the longest rocker square to the rod, the most with the shortest at the smallest transmission angle.
fn play(
    design: &Design,
    family: &Family,
    sweep: &Sweep<'_>,
    smallest_angle: Option<f64>,
) -> Option<(LostMotion, bool)> {
    let pins = &design.pins;
    let clearances: Vec<[f64; 2]> = [&pins.motor, &pins.crank, &pins.rocker, &pins.joint]
        .into_iter()
        .flatten()
        .map(|pin| pin.clearance)
        .collect();
    let least = smallest_angle.unwrap_or_else(|| sweep.transmission_angle().value);
    let rocker = family.bars.rocker;
    let arms = [rocker.lo() * libm::sin(least), rocker.hi()];
    (!clearances.is_empty() && least > 0.0)
        .then(|| (lost_motion(&clearances, arms), smallest_angle.is_some()))
}

/// N²J, the rotor's inertia at the crank, kg m².
fn rotor_at_crank(design: &Design) -> Option<f64> {
    let actuator = design.actuator.as_ref()?;
    Some(actuator.gear_ratio?.powi(2) * actuator.rotor_inertia?)
}

fn warnings(design: &Design, is_drawn: bool) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if !is_drawn {
        warnings.push(no_tolerance_drawn());
    }
    warnings.extend(outside_limits(design));
    if design.pins.friction.is_some() {
        warnings.push(pin_friction_unused());
    }
    warnings
}

pub(super) fn no_tolerance_drawn() -> Warning {
    Warning {
        code: Code::NoToleranceDrawn,
        message: "no tolerance is drawn: only what could be allowed is shown. Write e.g. crank = \"45 ±0.05 mm\" and [zero] set_by".to_owned(),
    }
}

pub(super) fn pin_friction_unused() -> Warning {
    Warning {
        code: Code::PinFrictionUnused,
        message: "[pins] friction is read and kept; the tolerance study does not use it".to_owned(),
    }
}

/// Figures that have no bound, or mean nothing, because the rocker stands still, are infinite or none.
fn without_bound(mut found: ToleranceFindings) -> ToleranceFindings {
    if found.still.is_none() {
        return found;
    }
    if let Against::Joint(joint) = &mut found.against
        && standing::has_no_ratio(joint)
    {
        joint.ratio = f64::INFINITY;
    }
    for Contribution { ratio_slope, .. } in &mut found.ranking {
        *ratio_slope = Some(f64::INFINITY);
    }
    found.statistics = None;
    found.ranges = Ranges { play: found.ranges.play, ..Ranges::default() };
    found
}
