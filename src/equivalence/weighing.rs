//! The inertia criterion: how far the kinetic energy of the direct joint's model is from the linkage's, for each drive
//! that is built from the drawing.

use nalgebra::Isometry3;

use super::assessment::{Assessment, Shown, Why};
use super::criterion::{Basis, Criterion, Figure, MET_WITHIN};
use super::family::Family;
use super::outcome::Outcome;
use super::pad::FingerWeighing;
use super::question::{HungDrive, Question, Weights};
use crate::drive::JointDrive;
use crate::dynamics::{
    Certificate, DriveOnCarrier, DriveParts, DynamicsFault, Fidelity, JointStroke, Masses,
    MeasuredOver, MonotoneStroke, PartsOnCarrier, Replacement, Together, TwoJointFidelity,
    drive_error_at, drive_fidelity, drive_replacement, drives_together, fidelity, shared_carrier,
    together,
};
use crate::linkage::Extreme;

/// One drive with the direct joint that stands in for it.
#[derive(Clone, Debug)]
pub struct WeighedDrive {
    /// Carrier, child and armature; all real bodies.
    pub replacement: Replacement,
    /// How far they are from the linkage.
    pub fidelity: Fidelity,
    /// The motions that the headline figure allows for.
    pub over: MeasuredOver,
    /// The headline figure: the largest error of kinetic energy, as a share, and the motor turn where it lies.
    pub error: Extreme,
    /// A certified bound of it over the verdict's linkages and every pose, of all drives on its link together; `None`
    /// where the proof does not reach the limit.
    pub bound: Option<f64>,
}

/// Every drive, each alone and those on one link together.
#[derive(Clone, Debug)]
pub struct Weighed {
    /// In the order of the drives asked about.
    pub drives: Vec<WeighedDrive>,
    /// For each link that bears several drives: which of them, and the error of all moving at once.
    pub together: Vec<(Vec<usize>, Together)>,
}

/// What was weighed, or why a drive has no model with real bodies.
pub type Weighing = Result<Weighed, DynamicsFault>;

/// A certified bound is sought to this much above the figure.
const AIM: f64 = 1.2;

/// Every drive of `question`; `None` where the masses are not given.
pub(super) fn weigh(question: &Question<'_>) -> Option<Weighing> {
    let Weights::Given(drives) = question.weights else { return None };
    if question.finger.is_some() {
        return None;
    }
    Some(weigh_all(question, drives))
}

fn weigh_all(question: &Question<'_>, drives: &[HungDrive]) -> Weighing {
    let stroke = &MonotoneStroke::over(question.branch, question.stroke)?;
    let found = each(drives, |masses, among| alone(stroke, masses, among))?;
    let together = links(drives, &found, |placed| {
        let seats = placed.iter().map(|(frame, masses, replacement)| DriveOnCarrier {
            frame: *frame,
            stroke,
            masses,
            stand_in: &replacement.tree,
        });
        together(&seats.collect::<Vec<_>>())
    })?;
    let mut weighed = Weighed { drives: found, together };
    weighed.certify(question, drives);
    Ok(weighed)
}

/// What every one of `drives` weighs over the joint turns `turns` (ascending, rad) of `drive`, and all on one link together:
/// computed, without a bound.
///
/// # Errors
/// A drive without a model of real bodies, an end of the stroke that cannot be reached.
pub fn weigh_in_space(
    drive: &JointDrive,
    turns: [f64; 2],
    drives: &[HungDrive<DriveParts>],
) -> Weighing {
    let stroke = &JointStroke::over(drive, turns)?;
    let found = each(drives, |parts, among| {
        let replacement = drive_replacement(stroke, parts, count(among))?;
        let fidelity = drive_fidelity(stroke, parts, &replacement.tree);
        Ok(WeighedDrive::new(replacement, fidelity))
    })?;
    let together = together_in_space(stroke, drives, &found)?;
    Ok(Weighed { drives: found, together })
}

fn together_in_space(
    stroke: &JointStroke<'_>,
    drives: &[HungDrive<DriveParts>],
    found: &[WeighedDrive],
) -> Result<Vec<(Vec<usize>, Together)>, DynamicsFault> {
    links(drives, found, |placed| {
        let seats = placed.iter().map(|(frame, parts, replacement)| PartsOnCarrier {
            frame: *frame,
            stroke,
            parts,
            tree: &replacement.tree,
        });
        drives_together(&seats.collect::<Vec<_>>())
    })
}

impl Weighed {
    /// The largest error of `drives` built otherwise, moved by `drive`, with what stands in for them here: at the joint turns `at`
    /// between `turns`, and of all on one link over those; `None` where one cannot be told.
    #[must_use]
    pub fn error_of(
        &self,
        drives: &[HungDrive<DriveParts>],
        drive: &JointDrive,
        turns: [f64; 2],
        at: &[f64],
    ) -> Option<f64> {
        let stroke = &JointStroke::over(drive, turns).ok()?;
        let mut worst = 0.0_f64;
        for (k, (own, hung)) in self.drives.iter().zip(drives).enumerate() {
            let tree = &own.replacement.tree;
            // The same parts with the same stand-in err alike.
            let before = self.drives.iter().zip(drives).take(k);
            if before
                .into_iter()
                .any(|(d, h)| h.masses == hung.masses && d.replacement.tree == *tree)
            {
                continue;
            }
            for turn in at {
                worst = worst.max(drive_error_at(stroke, &hung.masses, tree, *turn)?);
            }
        }
        let together = together_in_space(stroke, drives, &self.drives).ok()?;
        let together = together.iter().map(|(_, all)| all.value);
        together.chain([worst]).max_by(f64::total_cmp)
    }
}

/// The parts of a drive where it is the carrier and what it bears besides that matter.
trait OfMasses: PartialEq {
    fn masses(&self) -> &Masses;
}

impl OfMasses for Masses {
    fn masses(&self) -> &Masses {
        self
    }
}

impl OfMasses for DriveParts {
    fn masses(&self) -> &Masses {
        &self.masses
    }
}

/// Every drive by itself, told with how many others it hangs on its link.
fn each<P: OfMasses>(
    drives: &[HungDrive<P>],
    alone: impl Fn(&P, usize) -> Result<WeighedDrive, DynamicsFault>,
) -> Result<Vec<WeighedDrive>, DynamicsFault> {
    let mut found: Vec<WeighedDrive> = Vec::new();
    for (k, drive) in drives.iter().enumerate() {
        let among = beside(drives, drive.link).len();
        // The same figures in the same place weigh the same.
        let same = |other: &HungDrive<P>| {
            other.masses == drive.masses && beside(drives, other.link).len() == among
        };
        let before = drives.iter().take(k).position(same).and_then(|k| found.get(k));
        let one = match before {
            Some(known) => known.clone(),
            None => alone(&drive.masses, among)?,
        };
        found.push(one);
    }
    Ok(found)
}

/// The drives on a link, by their place among all.
fn beside<P>(drives: &[HungDrive<P>], link: usize) -> Vec<usize> {
    drives.iter().enumerate().filter_map(|(k, d)| (d.link == link).then_some(k)).collect()
}

fn count(drives: usize) -> u32 {
    u32::try_from(drives).unwrap_or(u32::MAX)
}

fn alone(
    stroke: &MonotoneStroke<'_>,
    masses: &Masses,
    among: usize,
) -> Result<WeighedDrive, DynamicsFault> {
    // The bodies are those that can be written; what is not known of them is not judged.
    let replacement = Replacement::among(stroke, &masses.with_bars(), count(among))?;
    let fidelity = fidelity(stroke, masses, &replacement.tree);
    Ok(WeighedDrive::new(replacement, fidelity))
}

impl WeighedDrive {
    fn new(replacement: Replacement, fidelity: Fidelity) -> Self {
        let (over, error) = fidelity.headline();
        Self { replacement, fidelity, over, error, bound: None }
    }
}

/// A drive whose place on its link is known.
type Placed<'a, P> = (Isometry3<f64>, &'a P, &'a Replacement);

/// All drives of each link that bears several, where their places are known.
fn links<P: OfMasses>(
    drives: &[HungDrive<P>],
    found: &[WeighedDrive],
    together: impl Fn(&[Placed<'_, P>]) -> Option<Together>,
) -> Result<Vec<(Vec<usize>, Together)>, DynamicsFault> {
    let mut links = Vec::new();
    for (k, drive) in drives.iter().enumerate() {
        let on_it = beside(drives, drive.link);
        if on_it.len() < 2 || on_it.first() != Some(&k) {
            continue;
        }
        let placed = on_it.iter().map(|&k| {
            let (drive, weighed) = (drives.get(k)?, found.get(k)?);
            drive.masses.masses().carrier?;
            Some((drive.frame?, &drive.masses, &weighed.replacement))
        });
        let Some(placed) = placed.collect::<Option<Vec<Placed<'_, P>>>>() else { continue };
        let sharing: Vec<_> =
            placed.iter().map(|(frame, parts, r)| (*frame, parts.masses(), *r)).collect();
        shared_carrier(&sharing)?;
        links.extend(together(&placed).map(|all| (on_it, all)));
    }
    Ok(links)
}

impl Weighed {
    /// Bounds of every drive; those of a link bound all of its drives together, since each is given its own share of the
    /// link (see [`together`]).
    fn certify(&mut self, question: &Question<'_>, drives: &[HungDrive]) {
        let mut known: Vec<(Masses, usize, Option<f64>)> = Vec::new();
        for (k, drive) in drives.iter().enumerate() {
            let among = beside(drives, drive.link).len();
            let all = self.together.iter().find(|(on_it, _)| on_it.contains(&k));
            let all = all.map_or(0.0, |(_, together)| together.value);
            let Some(weighed) = self.drives.get_mut(k) else { continue };
            let before = known.iter().find(|(m, n, _)| *m == drive.masses && *n == among);
            weighed.bound = match before {
                Some((_, _, bound)) => *bound,
                None => certified(question, &drive.masses, weighed, among, all),
            };
            known.push((drive.masses, among, weighed.bound));
        }
    }

    /// The largest error: of which motions, as a share, at which motor turn (rad), of how many drives.
    fn worst(&self) -> Option<(MeasuredOver, Extreme, usize)> {
        let alone = self.drives.iter().map(|d| (d.over, d.error, 1));
        let together = self.together.iter().map(|(on_it, all)| {
            let turn = all.turns.first().copied().unwrap_or(f64::NAN);
            (all.over, Extreme { value: all.value, turn }, on_it.len())
        });
        // Later ones win a tie, NaN wins over all.
        alone.chain(together).max_by(|a, b| a.1.value.total_cmp(&b.1.value))
    }
}

fn certified(
    question: &Question<'_>,
    masses: &Masses,
    weighed: &WeighedDrive,
    among: usize,
    together: f64,
) -> Option<f64> {
    let masses = &masses.sharing_carrier(count(among));
    let replacement = &weighed.replacement.on(masses);
    let Family { bars, crank_error, .. } = question.family;
    let limit = question.inertia_limit + MET_WITHIN;
    let over = weighed.over;
    let certificate =
        Certificate { branch: question.branch, masses, replacement, over, bars, crank_error };
    let aim = AIM * weighed.error.value.max(together);
    certificate.bound(question.stroke.motor, aim, limit)
}

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

/// The criterion of a drive in space from what was weighed of the drawn sizes, and over tolerance the figure of the worst
/// corner that was looked at: computed, never proved. `missing` is named where nothing could be weighed.
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

/// The same of two joints, from how far the tree in their place is from the drawn drive.
#[must_use]
pub fn assess_two_joints(
    ask: &InertiaAsk<'_>,
    fidelity: Option<&Result<TwoJointFidelity, DynamicsFault>>,
    corner: Option<Figure>,
    missing: &[&'static str],
) -> Assessment {
    let found = match fidelity {
        None => return not_given(ask, missing),
        Some(Err(fault)) => return no_model(ask, fault),
        Some(Ok(found)) => {
            let (over, worst) = found.told();
            let worst = Extreme { value: worst.value, turn: f64::NAN };
            let found = against_limit(ask, Some((over, worst, 1)), std::iter::once(None));
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
