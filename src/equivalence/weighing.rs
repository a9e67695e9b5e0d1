//! The inertia criterion: how far the kinetic energy of the direct joint's model is from the linkage's, for each drive
//! that is built from the drawing.

use super::assessment::{Assessment, Shown, Why};
use super::criterion::{Basis, Criterion, Figure, MET_WITHIN};
use super::family::Family;
use super::judge::Question;
use super::outcome::Outcome;
use crate::dynamics::{
    Certificate, Course, DynamicsFault, Fidelity, Masses, MeasuredOver, Replacement, fidelity,
};
use crate::linkage::Extreme;

/// What is known of the masses.
#[derive(Clone, Copy, Debug)]
pub enum Weights<'a> {
    /// What is missing, named as in the design file.
    NotGiven(&'a [&'static str]),
    /// One drive for every joint that is built from the drawing. A rotor that is not given counts as none: crank and
    /// rod are judged alone then.
    Given(&'a [Masses]),
}

/// One drive with the direct joint that stands in for it.
#[derive(Clone, Debug)]
pub struct Weighed {
    /// Carrier, child and armature; all real bodies.
    pub replacement: Replacement,
    /// How far they are from the linkage.
    pub fidelity: Fidelity,
    /// The motions that the headline figure allows for.
    pub over: MeasuredOver,
    /// The headline figure: the largest error of kinetic energy, as a share, and the motor turn where it lies.
    pub error: Extreme,
    /// A certified bound of it over the verdict's linkages and every pose; `None` where the proof does not reach the limit.
    pub bound: Option<f64>,
}

/// Every drive, or why one has no model with real bodies.
pub type Weighing = Result<Vec<Weighed>, DynamicsFault>;

/// A certified bound is sought to this much above the figure.
const AIM: f64 = 1.2;

/// Every drive of `question`; `None` where the masses are not given.
pub(super) fn weigh(question: &Question<'_>) -> Option<Weighing> {
    let Weights::Given(drives) = question.weights else { return None };
    let mut found: Vec<Weighed> = Vec::new();
    for (k, masses) in drives.iter().enumerate() {
        // The same figures in the same place weigh the same.
        let before = drives.iter().take(k).position(|other| other == masses);
        let one = match before.and_then(|k| found.get(k)) {
            Some(known) => known.clone(),
            None => match weigh_one(question, masses) {
                Ok(one) => one,
                Err(fault) => return Some(Err(fault)),
            },
        };
        found.push(one);
    }
    Some(Ok(found))
}

fn weigh_one(question: &Question<'_>, masses: &Masses) -> Result<Weighed, DynamicsFault> {
    let course = Course::over(question.branch, question.stroke)?;
    let replacement = Replacement::of(&course, masses)?;
    let fidelity = fidelity(&course, masses, &replacement.tree);
    let (over, error) = fidelity.headline();
    let bound = certified(question, masses, &replacement, over, error);
    Ok(Weighed { replacement, fidelity, over, error, bound })
}

fn certified(
    question: &Question<'_>,
    masses: &Masses,
    replacement: &Replacement,
    over: MeasuredOver,
    error: Extreme,
) -> Option<f64> {
    let Family { bars, crank_error, .. } = question.family;
    let limit = question.inertia_limit * (1.0 + MET_WITHIN);
    let certificate =
        Certificate { branch: question.branch, masses, replacement, over, bars, crank_error };
    certificate.bound(question.stroke.motor, AIM * error.value, limit)
}

/// The drive with the largest error.
#[must_use]
pub fn worst(drives: &[Weighed]) -> Option<&Weighed> {
    drives.iter().max_by(|a, b| a.error.value.total_cmp(&b.error.value))
}

/// The criterion from what was weighed.
pub(super) fn assess(question: &Question<'_>, weighing: Option<&Weighing>) -> Assessment {
    match (weighing, question.weights) {
        (Some(Ok(drives)), _) => weighed(question, drives),
        (Some(Err(fault)), _) => no_model(question, fault),
        (None, Weights::NotGiven(names)) => {
            let why = Why::NotGiven(names.to_vec());
            blank(question, unassessed(question), Shown::NotShown, why)
        }
        (None, Weights::Given(_)) => {
            blank(question, Outcome::Undecided, Shown::NotShown, Why::NoFigure)
        }
    }
}

/// A limit that was written by hand waits for figures; one of a preset does without.
fn unassessed(question: &Question<'_>) -> Outcome {
    if question.inertia_is_asked { Outcome::Undecided } else { Outcome::NotAssessed }
}

fn blank(question: &Question<'_>, outcome: Outcome, shown: Shown, why: Why) -> Assessment {
    Assessment {
        criterion: Criterion::Inertia,
        limit: question.inertia_limit,
        basis: question.basis,
        nominal: None,
        bound: None,
        seen: None,
        worst_at_joint: None,
        outcome,
        shown,
        why: Some(why),
    }
}

/// Nothing that can be written stands for the linkage.
fn no_model(question: &Question<'_>, fault: &DynamicsFault) -> Assessment {
    let joint = |turn: f64| question.branch.joint_turn(turn).ok();
    match fault {
        DynamicsFault::Linkage(_) => {
            blank(question, Outcome::Undecided, Shown::NotShown, Why::NoModel(*fault))
        }
        DynamicsFault::DeadPoint { turn } => Assessment {
            worst_at_joint: joint(*turn),
            ..blank(question, Outcome::Fails, Shown::ByPose, Why::StandsStill(*turn))
        },
        _ => blank(question, Outcome::Fails, Shown::Computed, Why::NoModel(*fault)),
    }
}

fn weighed(question: &Question<'_>, drives: &[Weighed]) -> Assessment {
    let Some(worst) = worst(drives) else {
        return blank(question, Outcome::Undecided, Shown::NotShown, Why::NoFigure);
    };
    let Some(figure) = Figure::new(worst.error.value) else {
        return blank(question, Outcome::Undecided, Shown::NotShown, Why::NoFigure);
    };
    let bounds: Option<Vec<f64>> = drives.iter().map(|d| d.bound).collect();
    let bound = bounds.and_then(|b| Figure::new(b.into_iter().fold(0.0, f64::max)));
    let fails = Criterion::Inertia.is_broken(figure, question.inertia_limit);
    let rotor =
        matches!(question.weights, Weights::Given(all) if all.iter().all(|m| m.rotor.is_some()));
    let energy = Why::Energy { over: worst.over, drives: 1, bounded: bound.is_some() };
    let (outcome, shown, why) = match (fails, rotor, bound, question.basis) {
        (true, _, _, _) => (Outcome::Fails, Shown::ByPose, energy),
        (false, false, _, _) => {
            (unassessed(question), Shown::NotShown, Why::WithoutRotor(worst.over))
        }
        (false, true, Some(_), _) => (Outcome::Holds, Shown::Proved, energy),
        (false, true, None, Basis::Nominal) => (Outcome::Holds, Shown::Computed, energy),
        (false, true, None, Basis::Tolerance) => (Outcome::Undecided, Shown::NotShown, energy),
    };
    Assessment {
        nominal: Some(figure),
        bound: bound.filter(|_| rotor),
        seen: fails.then_some(figure),
        worst_at_joint: question.branch.joint_turn(worst.error.turn).ok(),
        ..blank(question, outcome, shown, why)
    }
}
