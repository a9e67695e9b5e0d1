//! How far the kinetic energy of the direct joint's model is from the linkage's, for each drive that is built from the drawing.

use nalgebra::Isometry3;

use super::criterion::MET_WITHIN;
use super::family::Family;
use super::question::{HungDrive, Question, Weights};
use crate::drive::JointDrive;
use crate::dynamics::{
    Certificate, DriveOnCarrier, DriveParts, DynamicsFault, Fidelity, JointStroke, Masses,
    MeasuredOver, MonotoneStroke, PartsOnCarrier, Replacement, Together, drive_error_at,
    drive_fidelity, drive_replacement, drives_together, fidelity, shared_carrier, together,
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
    weighed.certify(drives, |masses, own, among, together| {
        certified(question, masses, own, among, together)
    });
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
pub(super) trait OfMasses: PartialEq {
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

pub(super) fn count(drives: usize) -> u32 {
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
    /// Bounds of every drive by `bound` (of its parts, what they weigh, how many drives hang on its link, the error of all of these
    /// together); those of a link bound all of its drives together, since each is to be given its own share of the link (see
    /// [`together`]).
    pub(super) fn certify<P: OfMasses + Copy>(
        &mut self,
        drives: &[HungDrive<P>],
        bound: impl Fn(&P, &WeighedDrive, usize, f64) -> Option<f64>,
    ) {
        let mut known: Vec<(P, usize, Option<f64>)> = Vec::new();
        for (k, drive) in drives.iter().enumerate() {
            let among = beside(drives, drive.link).len();
            let all = self.together.iter().find(|(on_it, _)| on_it.contains(&k));
            let all = all.map_or(0.0, |(_, together)| together.value);
            let Some(weighed) = self.drives.get_mut(k) else { continue };
            let before = known.iter().find(|(m, n, _)| *m == drive.masses && *n == among);
            weighed.bound = match before {
                Some((_, _, bound)) => *bound,
                None => bound(&drive.masses, weighed, among, all),
            };
            known.push((drive.masses, among, weighed.bound));
        }
    }

    /// The largest error: of which motions, as a share, at which motor turn (rad), of how many drives.
    pub(super) fn worst(&self) -> Option<(MeasuredOver, Extreme, usize)> {
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
