//! What the drawn tolerances do to one design.

use crate::design::{Actuator, Design, Parameter, deviation};
use crate::diagnostic::Code;
use crate::drive::Kind;
use crate::equivalence::{
    self, Basis, Budget as Effort, Criterion, DirectJoint, Family, Finding, LengthName, Prover,
};
use crate::linkage::{Branch, Sweep};
use crate::tolerance::{
    Budget, Contribution, Distribution, DrawnBuild, Group, LostMotion, Ranked, Request, Spread,
    Variable, budget, drawn, lost_motion, ranking, sample,
};

use super::family::{family, limits, zeroing};
use super::fault::Fault;
use super::findings::Warning;
use super::mechanism::{Mechanism, end_of_branch};
use super::tolerance_behind::{deviations, of_last_stage, sampled_behind, sized, with_margins};
use super::tolerance_findings::{
    Against, ToleranceFindings, ToleranceRequest, Worst, no_tolerance_drawn, pin_friction_unused,
};
use super::tolerance_ranges::{Ranges, pad_ranges, ranges};
use super::warnings::outside_limits;
use super::{finger, standing};

/// The tolerance study of `design`; `go_on` is asked between rounds with the number of builds drawn.
///
/// # Errors
/// Every fault of the design that keeps its linkage from running over its stroke.
pub(super) fn tolerance_of_linkage(
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
    let is_drawn = has_spread(&spread) || in_front.as_ref().is_some_and(|f| f.spread.is_any());
    let asked = Request {
        tops: tops(&worst),
        finger: finger.copied(),
        ..drawing(design, &mechanism, joint, request)
    };
    let statistics = match &in_front {
        _ if !is_drawn || still.is_some() => None,
        None => Some(sample(&asked, go_on)),
        Some(sized) => sampled_behind(&asked, sized, go_on)?,
    };
    let ranked = if finger.is_some() { Ranked::Tilt } else { Ranked::Joint(1.0 / joint.ratio) };
    let ranking = ranking(&mechanism.branch, ranked, zeroing(design), turns, &spread);
    let ranking = of_last_stage(ranking, in_front.as_ref());
    let weights = LengthName::ALL.map(|length| weight(&ranking, length));
    let quick = prover.with_budget(Effort(1500));
    // How much more could be allowed is not told of two drives at once.
    let (symmetric, alone, budget) = match in_front {
        None => more_allowed(&quick, &mechanism.branch, &family, turns, weights),
        Some(_) => (None, Vec::new(), None),
    };
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
        symmetric,
        alone,
        budget,
        growth: None,
        kind: if in_front.is_some() { Kind::Series } else { Kind::FourBar },
        ranges,
        lost_motion: lost.map(|l| l.0),
        ranking,
        warnings: warnings(design, is_drawn),
        statistics,
    }))
}

/// The largest tolerance of each length alone.
type Alone = Vec<(LengthName, Option<f64>)>;

/// How much more could be allowed: one tolerance for all lengths, one for each alone, and classes of the standards.
fn more_allowed(
    quick: &Prover<'_>,
    branch: &Branch,
    family: &Family,
    turns: [f64; 2],
    weights: [f64; 4],
) -> (Option<f64>, Alone, Option<Budget>) {
    (
        equivalence::largest_tolerance(quick, branch, family.crank_error, turns),
        alone(quick, branch, family, turns),
        Some(budget(quick, branch.bars(), family, turns, weights)),
    )
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

/// The first `request.samples` builds of those that [`super::tolerance()`] counts; `go_on` as there.
///
/// # Errors
/// As [`super::tolerance()`].
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

fn spread(design: &Design, distribution: Distribution) -> Spread {
    let g = &design.geometry;
    let drawn = [&g.crank, &g.coupler, &g.rocker, &g.ground, &g.zero_crank];
    let variable = |length: &LengthName| match length {
        LengthName::Ground => Variable::Ground,
        LengthName::Crank => Variable::Crank,
        LengthName::Coupler => Variable::Coupler,
        LengthName::Rocker => Variable::Rocker,
    };
    Spread {
        deviations: drawn.map(|size| deviation(size.tolerance.as_ref())),
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
    let clearances: Vec<[f64; 2]> = design.pins.given().map(|pin| pin.clearance).collect();
    let least = smallest_angle.unwrap_or_else(|| sweep.transmission_angle().value);
    let rocker = family.bars.rocker;
    let arms = [rocker.lo() * libm::sin(least), rocker.hi()];
    (!clearances.is_empty() && least > 0.0)
        .then(|| (lost_motion(&clearances, arms), smallest_angle.is_some()))
}

/// N²J, the rotor's inertia at the crank, kg m².
fn rotor_at_crank(design: &Design) -> Option<f64> {
    design.actuator.as_ref().and_then(Actuator::rotor_at_output)
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
