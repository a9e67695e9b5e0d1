//! Every loop of a robot file that may go, one after the other.
//!
//! Each is tried on the file as it is, so that what stands against it is told at the user's own lines; those that may go
//! are folded in turn, the text read again after each. Loops that a coupling ties together go together or not at all.

use std::collections::BTreeMap;

use super::two_joints::{FoldedTwoJoints, fold_two_joints};
use super::{FoldFault, FoldOptions, Folded, fold, joints_beside};
use crate::diagnostic::Diagnostic;
use crate::dynamics::MeasuredOver;
use crate::equivalence::{Criterion, Verdict};
use crate::handover::find::{FindOptions, FoundLoop, TwoJointLoops, find, find_two_joints};
use crate::handover::joint_json::JointJson;
use crate::handover::joints_json::JointsJson;
use crate::robot::{Closure, FileJoint, Place, Robot, StatedRoles};
use crate::units::percent;

/// A robot file without those of its loops that could go.
#[derive(Clone, Debug, Default)]
pub struct FoldedAll {
    /// The new text; that of before where no loop went.
    pub text: String,
    /// The loops that went: name and what the user should know.
    pub went: Vec<(String, Vec<String>)>,
    /// The loops that stay: name and what stands against them.
    pub stays: Vec<(String, Vec<FoldFault>)>,
    /// What no format holds, one for each joint.
    pub joints: Vec<JointJson>,
    /// The same of every two joints that a pair of loops turned.
    pub two_joints: Vec<JointsJson>,
    /// Largest error of kinetic energy of each that went, and over which motions.
    pub inertia_errors: Vec<(MeasuredOver, f64)>,
}

impl FoldedAll {
    /// Whether nothing stands against a fold; else it stays, with that.
    fn lets_go(&mut self, name: &str, faults: Vec<FoldFault>) -> bool {
        let goes = faults.is_empty();
        if !goes {
            self.stays.push((name.to_owned(), faults));
        }
        goes
    }

    /// A loop stays for faults in a text that is not the file's.
    fn keeps(&mut self, name: &str, faults: Vec<FoldFault>) {
        let faults = faults.into_iter().map(FoldFault::without_place);
        self.stays.push((name.to_owned(), faults.collect()));
    }

    /// What one fold left of the robot `before`, read again.
    fn takes(
        &mut self,
        (name, before): (&str, &Robot),
        (text, notes, error): (String, Vec<String>, Option<(MeasuredOver, f64)>),
        read: Reader<'_>,
    ) -> Result<Robot, String> {
        let mut left = read(&text)?;
        restate(before, &mut left);
        self.inertia_errors.extend(error);
        self.went.push((name.to_owned(), notes));
        self.text = text;
        Ok(left)
    }
}

/// What one fold takes out.
#[derive(Clone, Copy, Debug)]
pub enum Wanted<'a> {
    /// One loop.
    Loop(&'a FoundLoop),
    /// Two loops that turn one body about two joints.
    TwoJoints(&'a TwoJointLoops),
}

/// How a text is read as the robot file was, with what it includes.
pub(super) type Reader<'a> = &'a mut dyn FnMut(&str) -> Result<Robot, String>;

/// Folds what may go. `also` gives what other files say of a loop's parts, as faults.
///
/// # Errors
/// A text that does not read again: a fault of this program, and nothing should be written.
pub fn fold_all(
    robot: &Robot,
    how: FindOptions<'_>,
    options: FoldOptions,
    also: &dyn Fn(&Robot, Wanted<'_>) -> Vec<FoldFault>,
    read: Reader<'_>,
) -> Result<FoldedAll, String> {
    let mut loops = find(robot, how);
    loops.retain(|one| !one.is_of_two_joints());
    let mut out = FoldedAll { text: text_of(robot), ..FoldedAll::default() };
    let mut goes: Vec<&FoundLoop> = Vec::new();
    for found in &loops {
        let mut faults = fold(robot, found, options).err().unwrap_or_default();
        faults.extend(also(robot, Wanted::Loop(found)));
        if out.lets_go(&found.name, faults) {
            goes.push(found);
        }
    }
    leave_twins(&loops, &mut goes, &mut out);
    let mut now = robot.clone();
    let mut sums: BTreeMap<String, f64> = BTreeMap::new();
    let mut with: Vec<String> = Vec::new();
    for wanted in goes {
        if with.contains(&wanted.name) {
            let note = "it went with the other finger of the same motor".to_owned();
            out.went.push((wanted.name.clone(), vec![note]));
            continue;
        }
        let again = find(&now, how);
        let driven =
            |found: &FoundLoop, of: &Robot| joint(of, found).map(|joint| joint.name.clone());
        let name = driven(wanted, robot);
        let Some(found) = again.iter().find(|found| driven(found, &now) == name) else {
            out.stays.push((wanted.name.clone(), vec![not_there()]));
            continue;
        };
        match fold(&now, found, options) {
            Ok(folded) if is_too_heavy(&folded, found, options, &mut sums) => {
                let place = joint(robot, wanted).map(|joint| joint.place);
                let fault = together(robot, place, inertia_limit(wanted));
                out.stays.push((wanted.name.clone(), vec![fault]));
            }
            Ok(folded) => {
                out.joints.extend(joints_beside(found, &folded, options).unwrap_or_default());
                with.extend(
                    found.jaw.iter().filter_map(|jaw| Some(jaw.other.as_ref()?.name.clone())),
                );
                let Folded { text, notes, inertia_error, .. } = folded;
                now = out.takes((&wanted.name, &now), (text, notes, inertia_error), read)?;
            }
            Err(faults) => out.keeps(&wanted.name, faults),
        }
    }
    fold_pairs((robot, now), how, options, also, read, &mut (out, sums))
}

/// Every two loops that turn one body, likewise, in the text that is left.
fn fold_pairs(
    (robot, mut now): (&Robot, Robot),
    how: FindOptions<'_>,
    options: FoldOptions,
    also: &dyn Fn(&Robot, Wanted<'_>) -> Vec<FoldFault>,
    read: Reader<'_>,
    (out, sums): &mut (FoldedAll, BTreeMap<String, f64>),
) -> Result<FoldedAll, String> {
    let pairs = find_two_joints(robot, how).into_iter().filter(|pair| pair.drive.is_some());
    let (mut goes, mut known) = (Vec::new(), None);
    for pair in pairs {
        let mut faults = fold_two_joints(robot, &pair, options).err().unwrap_or_default();
        faults.extend(also(robot, Wanted::TwoJoints(&pair)));
        if out.lets_go(&pair.name, faults) {
            goes.push(pair);
        }
    }
    if out.went.is_empty() {
        // The text is as it was: what was found in it holds.
        known = Some(goes.clone());
    }
    for wanted in goes {
        let again = known.take().unwrap_or_else(|| find_two_joints(&now, how));
        let Some(found) = again.iter().find(|pair| pair.joints == wanted.joints) else {
            out.stays.push((wanted.name.clone(), vec![not_there()]));
            continue;
        };
        match fold_two_joints(&now, found, options) {
            Ok(folded) if are_too_heavy(&now, &folded, found, options, sums) => {
                let place = found
                    .drive
                    .as_ref()
                    .and_then(|drive| robot.joints.get(drive.joints[0]).map(|joint| joint.place));
                let fault = together(robot, place, limit_of_two(found));
                out.stays.push((wanted.name.clone(), vec![fault]));
            }
            Ok(folded) => {
                let FoldedTwoJoints { text, notes, inertia_error, joints } = folded;
                out.two_joints.extend(joints);
                now = out.takes((&wanted.name, &now), (text, notes, inertia_error), read)?;
            }
            Err(faults) => out.keeps(&wanted.name, faults),
        }
    }
    Ok(std::mem::take(out))
}

fn limit_of_two(found: &TwoJointLoops) -> Option<f64> {
    Some(found.judged.as_ref()?.check.criterion(Criterion::Inertia)?.limit)
}

fn are_too_heavy(
    robot: &Robot,
    folded: &FoldedTwoJoints,
    found: &TwoJointLoops,
    options: FoldOptions,
    sums: &mut BTreeMap<String, f64>,
) -> bool {
    let (Some(drive), Some((_, error))) = (&found.drive, folded.inertia_error) else {
        return false;
    };
    let carrier = robot.link_name(drive.parent);
    is_over((carrier, error), limit_of_two(found), options, sums)
}

fn text_of(robot: &Robot) -> String {
    robot.documents.first().map_or(String::new(), |document| document.text().to_owned())
}

fn joint<'a>(robot: &'a Robot, found: &FoundLoop) -> Option<&'a FileJoint> {
    found.four_bar.as_ref().and_then(|four_bar| robot.joints.get(four_bar.joint()?))
}

fn not_there() -> FoldFault {
    let message = "it is not there any more once the loops before it are folded";
    FoldFault::of(Diagnostic::error(message).help("fold it alone, with --loop"))
}

/// Several drives on one carrier: the sum of their figures bounds the error of all together, since each is a share of
/// kinetic energy that the whole has as well.
fn is_too_heavy(
    folded: &Folded,
    found: &FoundLoop,
    options: FoldOptions,
    sums: &mut BTreeMap<String, f64>,
) -> bool {
    let (Some(parts), Some((_, error))) = (&found.parts, folded.inertia_error) else {
        return false;
    };
    is_over((&parts[0], error), inertia_limit(found), options, sums)
}

/// Whether this error takes the sum of a carrier's over the limit; it is added where it does not.
fn is_over(
    (carrier, error): (&str, f64),
    limit: Option<f64>,
    options: FoldOptions,
    sums: &mut BTreeMap<String, f64>,
) -> bool {
    let sum = sums.entry(carrier.to_owned()).or_insert(0.0);
    let is_over = *sum > 0.0 && limit.is_some_and(|limit| *sum + error > limit);
    if is_over && !options.anyway {
        return true;
    }
    *sum += error;
    false
}

/// What the verdict accepts of kinetic energy.
fn inertia_limit(found: &FoundLoop) -> Option<f64> {
    Some(found.check()?.criterion(Criterion::Inertia)?.limit)
}

fn together(robot: &Robot, place: Option<Place>, limit: Option<f64>) -> FoldFault {
    let message = format!(
        "with the loops before it on the same carrier the kinetic energy may be off by more than {}",
        percent(limit.unwrap_or(f64::NAN))
    );
    let fault = Diagnostic::error(message).help("--anyway folds it all the same");
    let verdict = Some(Verdict::NotEquivalent);
    FoldFault { verdict, ..FoldFault::placed(robot, place, fault) }
}

/// A loop that is tied to one that stays, stays.
fn leave_twins<'a>(loops: &'a [FoundLoop], goes: &mut Vec<&'a FoundLoop>, out: &mut FoldedAll) {
    loop {
        let stays = |found: &FoundLoop| out.stays.iter().any(|(name, _)| *name == found.name);
        let twin_of =
            |found: &FoundLoop| loops.iter().find(|other| stays(other) && are_tied(found, other));
        let Some((at, twin)) =
            goes.iter().enumerate().find_map(|(at, found)| Some((at, twin_of(found)?)))
        else {
            return;
        };
        let left = goes.remove(at);
        let message = format!(
            "loop {:?}: it is tied to loop {:?}, which stays: one half of a pair is not folded alone",
            left.name, twin.name
        );
        let help =
            format!("mend what stands against {:?}, or fold this one alone with --loop", twin.name);
        out.stays
            .push((left.name.clone(), vec![FoldFault::of(Diagnostic::error(message).help(help))]));
    }
}

fn are_tied(a: &FoundLoop, b: &FoundLoop) -> bool {
    a.name != b.name && a.mechanism.as_ref().is_some_and(|all| all.loops.contains(&b.name))
}

/// Loops that were stated beside the file, stated again in the text without those that went.
fn restate(old: &Robot, new: &mut Robot) {
    let name = |id: usize| old.links.get(id).map(|link| link.name.as_str());
    for closure in &old.closures {
        let is_stated = old
            .element(closure.place)
            .is_some_and(|element| matches!(element.name(), "link" | "body"));
        let links = closure.links.map(|id| new.link_named(name(id)?));
        let [Some(first), Some(second)] = links else { continue };
        let Some(place) = new.links.get(first).map(|link| link.place).filter(|_| is_stated) else {
            continue;
        };
        let joint = |id: usize| old.joints.get(id).and_then(|joint| new.joint_named(&joint.name));
        let roles = StatedRoles {
            motor: closure.roles.motor.and_then(joint),
            child: closure.roles.child.and_then(|id| new.link_named(name(id)?)),
        };
        new.closures.push(Closure { links: [first, second], place, roles, ..closure.clone() });
    }
}
