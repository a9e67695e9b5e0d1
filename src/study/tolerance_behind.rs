//! What a drive in front of a gripper's finger adds to its tolerance study.

use crate::design::Design;
use crate::drive::Drawing;
use crate::equivalence::{Assessment, Figure, Front, FrontMargins, Outcome, Side};
use crate::tolerance::{
    Contribution, Course, Deviation, Request, SizedRequest, Spread, Statistics, Variable, Varied,
    sample_behind,
};

use super::driven::zero_fault;
use super::family::{limits, zeroing};
use super::fault::Fault;
use super::tolerance_findings::{ToleranceRequest, Worst};
use super::tolerance_of_sizes::spread_of;

/// The drive in front of a finger, to draw builds of it.
pub(super) fn sized<'a>(
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

/// Builds of both drives.
pub(super) fn sampled_behind(
    asked: &Request<'_>,
    sized: &SizedRequest<'_>,
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> Result<Option<Statistics>, Vec<Fault>> {
    let course = Course::new(sized).map_err(|fault| vec![zero_fault(fault)])?;
    Ok(sample_behind(asked, &course, go_on))
}

/// What each size of the finger does, named as of the last stage where there are others.
pub(super) fn of_last_stage(
    ranking: Vec<Contribution>,
    front: Option<&SizedRequest<'_>>,
) -> Vec<Contribution> {
    let stage = front.map(|sized| last_stage(sized.drawing));
    let named =
        |one: Contribution| Contribution { variable: Varied { stage, ..one.variable }, ..one };
    ranking.into_iter().map(named).collect()
}

/// Each figure with its drawn deviations: of the drive in front those that deviate.
pub(super) fn deviations(
    spread: &Spread,
    front: Option<&SizedRequest<'_>>,
) -> Vec<(Varied, Deviation)> {
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
pub(super) fn with_margins(mut all: Vec<Worst>, front: Option<&FrontMargins>) -> Vec<Worst> {
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
