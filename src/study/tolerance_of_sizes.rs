//! What the drawn tolerances do to a drive that is drawn by a list of sizes.

use crate::design::{Actuator, Design, Drawn, DrawnSize, deviation};
use crate::equivalence::{
    Assessment, Basis, Criterion, DriveLimits, DriveQuestion, Figure, LengthName, judge_drive,
};
use crate::tolerance::{
    Course, Deviation, LostMotion, SizeGroup, SizeSpread, SizedRequest, Slopes, Varied, growth,
    lost_motion, sample_sized,
};

use super::driven::Driven;
use super::family::{limits, size_ranges, zeroing};
use super::fault::Fault;
use super::findings::Warning;
use super::tolerance_findings::{
    Against, ToleranceFindings, ToleranceRequest, Worst, no_tolerance_drawn, pin_friction_unused,
};
use super::tolerance_ranges::ranges;

/// The tolerance study of a design of another drive than a planar four-bar; `go_on` as in [`super::tolerance()`]. `judged` are
/// the criteria of its verdict, where they are known, which are not proved again where that is over the tolerances.
///
/// # Errors
/// Every fault of the design that keeps its drive from running over its stroke.
pub(super) fn tolerance_of_sizes(
    design: &Design<Drawn>,
    judged: Option<&[Assessment]>,
    request: &ToleranceRequest,
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> Result<ToleranceFindings, Vec<Fault>> {
    let driven = &Driven::of(design)?;
    let asked = asked(design, driven, request);
    let not_followed = |fault| vec![super::driven::zero_fault(fault)];
    let course = Course::new(&asked).map_err(not_followed)?;
    let slopes = Slopes::new(&course);
    let judged = judged.filter(|_| design.accept.over == Basis::Tolerance);
    let judged = judged.map_or_else(|| over_tolerance(design, driven, &asked), <[_]>::to_vec);
    let worst = worst(judged, &asked, slopes.as_ref());
    let is_drawn = asked.spread.is_any();
    let statistics = is_drawn.then(|| sample_sized(&course, tops(&worst), go_on));
    let lost = slopes.as_ref().and_then(|slopes| play(design, slopes));
    Ok(ToleranceFindings {
        design: design.name.clone(),
        kind: design.geometry.drawing.kind(),
        request: *request,
        against: Against::Joint(asked.joint),
        limits: worst.iter().map(|w| (w.criterion, w.limit)).collect(),
        still: None,
        deviations: deviations(&asked),
        ranking: slopes.as_ref().map(Slopes::ranking).unwrap_or_default(),
        growth: slopes.as_ref().and_then(growth),
        worst,
        symmetric: None,
        alone: Vec::new(),
        budget: None,
        ranges: ranges(statistics.as_ref(), lost.map(|lost| (lost, false)))
            .with_armature(design.actuator.as_ref().and_then(Actuator::rotor_at_output)),
        lost_motion: lost,
        warnings: warnings(design, is_drawn),
        statistics,
    })
}

fn asked<'a>(
    design: &'a Design<Drawn>,
    driven: &Driven,
    request: &ToleranceRequest,
) -> SizedRequest<'a> {
    SizedRequest {
        drawing: &design.geometry.drawing,
        joint: driven.direct_joint(),
        given_offset: driven.constants.offset,
        zeroing: zeroing(design),
        joints: driven.joint_turns(),
        limits: limits(design),
        spread: spread(design, request),
        samples: request.samples,
        seed: request.seed,
    }
}

/// How the sizes of `drawn` scatter, none of them made together.
pub(super) fn spread_of(drawn: &[DrawnSize], request: &ToleranceRequest) -> SizeSpread {
    SizeSpread {
        deviations: drawn.iter().map(|size| deviation(size.tolerance.as_ref())).collect(),
        distribution: request.distribution,
        groups: Vec::new(),
    }
}

fn spread(design: &Design<Drawn>, request: &ToleranceRequest) -> SizeSpread {
    let drawn = &design.geometry;
    let names: Vec<&str> = drawn.drawing.sizes().iter().map(|size| size.name).collect();
    let place = |length: &LengthName| names.iter().position(|of| *of == length.name());
    SizeSpread {
        groups: design
            .together
            .iter()
            .map(|t| SizeGroup {
                members: t.lengths.iter().filter_map(place).collect(),
                correlation: t.correlation,
            })
            .collect(),
        ..spread_of(&drawn.drawn, request)
    }
}

/// The sizes that deviate.
fn deviations(asked: &SizedRequest<'_>) -> Vec<(Varied, Deviation)> {
    let named = Varied::sizes(asked.drawing).into_iter().zip(asked.spread.deviations.clone());
    named.filter(|(_, d)| d.lower != 0.0 || d.upper != 0.0).collect()
}

/// The criteria over every build within the tolerances.
fn over_tolerance(
    design: &Design<Drawn>,
    driven: &Driven,
    asked: &SizedRequest<'_>,
) -> Vec<Assessment> {
    let accept = &design.accept;
    let question = DriveQuestion {
        drawing: asked.drawing,
        drive: &driven.drive,
        turns: asked.joints,
        joint: asked.joint,
        limits: DriveLimits {
            motion: asked.limits,
            ball_tilt: accept.ball_tilt,
            crank_side: accept.crank_side,
        },
        basis: Basis::Tolerance,
        sizes: size_ranges(design, Basis::Tolerance),
        zeroing: asked.zeroing,
    };
    let judged = judge_drive(&question, not_asked(design));
    judged.into_iter().flat_map(|judged| judged.criteria).collect()
}

/// Certified worst cases over every build within the tolerances; the worst corner where nothing is certain.
fn worst(
    judged: Vec<Assessment>,
    asked: &SizedRequest<'_>,
    slopes: Option<&Slopes<'_>>,
) -> Vec<Worst> {
    let of = |c: Assessment| {
        let bound = c.bound.map(Figure::value).filter(|bound| bound.is_finite());
        let corner = || slopes.and_then(|s| s.worst(c.criterion, &asked.spread.deviations));
        Worst {
            criterion: c.criterion,
            unit: c.criterion.unit(),
            limit: c.limit,
            bound,
            corner: if bound.is_none() { corner() } else { None },
            outcome: c.outcome,
        }
    };
    judged.into_iter().filter(|c| c.criterion != Criterion::Inertia).map(of).collect()
}

/// Inertia is no question of tolerances.
fn not_asked(design: &Design<Drawn>) -> Assessment {
    Assessment::not_assessed(Criterion::Inertia, design.accept.inertia, Basis::Tolerance)
}

/// Where histograms end: beyond the worst corner, or far beyond the limit where there is none.
fn tops(worst: &[Worst]) -> [f64; 2] {
    const ROOM: f64 = 1.05;
    [Criterion::Angle, Criterion::Ratio].map(|criterion| {
        let of = worst.iter().find(|w| w.criterion == criterion);
        let known = of.and_then(|w| w.bound.or(w.corner.map(|corner| ROOM * corner)));
        let far = || of.map_or(1.0, |w| 4.0 * w.limit);
        known.filter(|top| *top > 0.0).unwrap_or_else(far)
    })
}

/// Lost motion over the stroke and the tolerances, where any clearance is given and a rod turns the joint; computed.
fn play(design: &Design<Drawn>, slopes: &Slopes<'_>) -> Option<LostMotion> {
    let clearances: Vec<[f64; 2]> = design.pins.given().map(|pin| pin.clearance).collect();
    let arms = slopes.arms().filter(|[shortest, _]| *shortest > 0.0)?;
    (!clearances.is_empty()).then(|| lost_motion(&clearances, arms))
}

fn warnings(design: &Design<Drawn>, is_drawn: bool) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if !is_drawn {
        warnings.push(no_tolerance_drawn());
    }
    if design.pins.friction.is_some() {
        warnings.push(pin_friction_unused());
    }
    warnings
}
