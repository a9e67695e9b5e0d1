//! The inertia criterion from what was weighed, against its limit.

use super::assessment::{Assessment, Shown, Why};
use super::criterion::{Basis, Criterion, Figure};
use super::outcome::Outcome;
use super::pad::FingerWeighing;
use super::question::{Question, Weights};
use super::weighing::{Weighed, Weighing};
use crate::dynamics::{DynamicsFault, MeasuredOver, TwoJointFidelity};
use crate::linkage::Extreme;

/// What inertia is held against.
#[derive(Clone, Copy)]
pub struct InertiaAsk<'a> {
    /// Largest error allowed, as a share.
    pub limit: f64,
    /// The limit was asked for: where masses are missing the verdict waits for them.
    pub is_asked: bool,
    /// What the verdict is over.
    pub basis: Basis,
    /// The rotors of all drives are known.
    pub has_rotors: bool,
    /// The joint turn at a motor turn, rad.
    pub joint_at: &'a dyn Fn(f64) -> Option<f64>,
}

fn asked<T>(question: &Question<'_>, read: impl FnOnce(&InertiaAsk<'_>) -> T) -> T {
    read(&InertiaAsk {
        limit: question.inertia_limit,
        is_asked: question.inertia_is_asked,
        basis: question.basis,
        has_rotors: has_rotors(question.weights),
        joint_at: &|turn| question.branch.joint_turn(turn).ok(),
    })
}

/// The criterion from what was weighed.
pub(super) fn assess(question: &Question<'_>, weighing: Option<&Weighing>) -> Assessment {
    asked(question, |ask| match (weighing, question.weights) {
        (Some(Ok(found)), _) => weighed(ask, found),
        (Some(Err(fault)), _) => no_model(ask, fault),
        (None, Weights::NotGiven(names)) => not_given(ask, names),
        (None, Weights::Given(_)) => blank(ask, Outcome::Undecided, Shown::NotShown, Why::NoFigure),
    })
}

fn not_given(ask: &InertiaAsk<'_>, names: &[&'static str]) -> Assessment {
    blank(ask, unassessed(ask), Shown::NotShown, Why::NotGiven(names.to_vec()))
}

/// The criterion of a drive in space from what was weighed, and over tolerance, where no bound is proved, the figure of the worst
/// corner that was looked at: computed. `missing` is named where nothing could be weighed.
#[must_use]
pub fn assess_in_space(
    ask: &InertiaAsk<'_>,
    weighing: Option<&Weighing>,
    corner: Option<Figure>,
    missing: &[&'static str],
) -> Assessment {
    let found = match weighing {
        None => return not_given(ask, missing),
        Some(Err(fault)) => return no_model(ask, fault),
        Some(Ok(found)) => weighed(ask, found),
    };
    with_corner(ask, found, corner)
}

/// The same of two joints, from how far the tree in their place is from the drawn drive, and from every build at most where that
/// is proved.
#[must_use]
pub fn assess_two_joints(
    ask: &InertiaAsk<'_>,
    fidelity: Option<&Result<TwoJointFidelity, DynamicsFault>>,
    bound: Option<f64>,
    corner: Option<Figure>,
    missing: &[&'static str],
) -> Assessment {
    let found = match fidelity {
        None => return not_given(ask, missing),
        Some(Err(fault)) => return no_model(ask, fault),
        Some(Ok(found)) => {
            let worst = Extreme { value: found.worst.value, turn: f64::NAN };
            let found = against_limit(ask, Some((found.over, worst, 1)), std::iter::once(bound));
            Assessment { worst_at_motor: None, worst_at_joint: None, ..found }
        }
    };
    with_corner(ask, found, corner)
}

/// What stays open over the tolerances is computed in the worst corner that was looked at.
fn with_corner(ask: &InertiaAsk<'_>, found: Assessment, corner: Option<Figure>) -> Assessment {
    let is_open = found.outcome == Outcome::Undecided && found.nominal.is_some() && ask.has_rotors;
    match corner.filter(|_| is_open) {
        Some(worst) if Criterion::Inertia.is_broken(worst, ask.limit) => {
            Assessment { outcome: Outcome::Fails, shown: Shown::ByPose, seen: Some(worst), ..found }
        }
        Some(_) => Assessment { outcome: Outcome::Holds, shown: Shown::Computed, ..found },
        None => found,
    }
}

/// A limit that was written by hand waits for figures; one of a preset does without.
fn unassessed(ask: &InertiaAsk<'_>) -> Outcome {
    if ask.is_asked { Outcome::Undecided } else { Outcome::NotAssessed }
}

fn blank(ask: &InertiaAsk<'_>, outcome: Outcome, shown: Shown, why: Why) -> Assessment {
    let none = Assessment::not_assessed(Criterion::Inertia, ask.limit, ask.basis);
    Assessment { outcome, shown, why: Some(why), ..none }
}

/// Nothing that can be written stands for the linkage.
fn no_model(ask: &InertiaAsk<'_>, fault: &DynamicsFault) -> Assessment {
    match fault {
        DynamicsFault::Linkage(_) => {
            blank(ask, Outcome::Undecided, Shown::NotShown, Why::NoModel(*fault))
        }
        DynamicsFault::DeadPoint { turn } => Assessment {
            worst_at_motor: Some(*turn),
            worst_at_joint: (ask.joint_at)(*turn),
            worst_at_joints: None,
            ..blank(ask, Outcome::Fails, Shown::ByPose, Why::StandsStill(*turn))
        },
        _ => blank(ask, Outcome::Fails, Shown::Computed, Why::NoModel(*fault)),
    }
}

fn weighed(ask: &InertiaAsk<'_>, found: &Weighed) -> Assessment {
    against_limit(ask, found.worst(), found.drives.iter().map(|d| d.bound))
}

/// The criterion of a finger from what was weighed.
pub(super) fn assess_finger(
    question: &Question<'_>,
    weighing: Option<&FingerWeighing>,
) -> Assessment {
    asked(question, |ask| match weighing {
        Some(Ok(found)) => {
            let each = found.iter().map(|one| (one.over, one.error, 1));
            let worst = each.max_by(|a, b| a.1.value.total_cmp(&b.1.value));
            against_limit(ask, worst, found.iter().map(|one| one.bound))
        }
        Some(Err(fault)) => no_model(ask, fault),
        None if matches!(question.weights, Weights::NotGiven(_)) => assess(question, None),
        None => blank(ask, unassessed(ask), Shown::NotShown, Why::NoFigure),
    })
}

/// The largest error (of which motions, where, of how many drives) and the bounds of all against the limit.
fn against_limit(
    ask: &InertiaAsk<'_>,
    worst: Option<(MeasuredOver, Extreme, usize)>,
    bounds: impl Iterator<Item = Option<f64>>,
) -> Assessment {
    let blank = |outcome, shown, why| blank(ask, outcome, shown, why);
    let worst = worst.and_then(|(over, worst, drives)| {
        Some((over, Figure::new(worst.value)?, worst.turn, drives))
    });
    let Some((over, figure, turn, drives)) = worst else {
        return blank(Outcome::Undecided, Shown::NotShown, Why::NoFigure);
    };
    let bounds: Option<Vec<f64>> = bounds.collect();
    let bound = bounds.and_then(|b| Figure::new(b.into_iter().fold(0.0, f64::max)));
    let fails = Criterion::Inertia.is_broken(figure, ask.limit);
    let rotor = ask.has_rotors;
    let energy = Why::Energy { over, drives, bounded: bound.is_some() };
    let (outcome, shown, why) = match (fails, rotor, bound, ask.basis) {
        (true, true, _, _) => (Outcome::Fails, Shown::ByPose, energy),
        (true, false, _, _) => (Outcome::Fails, Shown::ByPose, Why::WithoutRotor(over)),
        (false, false, _, _) => (unassessed(ask), Shown::NotShown, Why::WithoutRotor(over)),
        (false, true, Some(_), _) => (Outcome::Holds, Shown::Proved, energy),
        (false, true, None, Basis::Nominal) => (Outcome::Holds, Shown::Computed, energy),
        (false, true, None, Basis::Tolerance) => (Outcome::Undecided, Shown::NotShown, energy),
    };
    Assessment {
        nominal: Some(figure),
        bound: bound.filter(|_| rotor),
        seen: fails.then_some(figure),
        worst_at_motor: Some(turn),
        worst_at_joint: (ask.joint_at)(turn),
        worst_at_joints: None,
        ..blank(outcome, shown, why)
    }
}

fn has_rotors(weights: Weights<'_>) -> bool {
    matches!(weights, Weights::Given(all) if all.iter().all(|d| d.masses.rotor.is_some()))
}
