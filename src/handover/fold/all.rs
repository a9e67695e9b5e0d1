//! Every loop of a robot file that may go, one after the other.
//!
//! Each is tried on the file as it is, so that what stands against it is told at the user's own lines; those that may go
//! are folded in turn, the text read again after each. Loops that a coupling ties together go together or not at all.

use std::collections::BTreeMap;

use super::{FoldFault, FoldOptions, Folded, fold, joints_beside};
use crate::diagnostic::Diagnostic;
use crate::equivalence::{Criterion, Verdict};
use crate::handover::find::{FindOptions, FoundLoop, find};
use crate::handover::joint_json::JointJson;
use crate::robot::{Closure, FileJoint, Robot, StatedRoles};
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
    /// Largest error of kinetic energy of each that went, and over which motions.
    pub inertia_errors: Vec<(crate::dynamics::MeasuredOver, f64)>,
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
    also: &dyn Fn(&Robot, &FoundLoop) -> Vec<FoldFault>,
    read: Reader<'_>,
) -> Result<FoldedAll, String> {
    let loops = find(robot, how);
    let mut out = FoldedAll { text: text_of(robot), ..FoldedAll::default() };
    let mut goes: Vec<&FoundLoop> = Vec::new();
    for found in &loops {
        let mut faults = fold(robot, found, options).err().unwrap_or_default();
        faults.extend(also(robot, found));
        if faults.is_empty() {
            goes.push(found);
        } else {
            out.stays.push((found.name.clone(), faults));
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
                out.stays.push((wanted.name.clone(), vec![together(robot, wanted)]));
            }
            Ok(folded) => {
                let mut next = read(&folded.text)?;
                restate(&now, &mut next);
                out.joints.extend(joints_beside(found, &folded, options).unwrap_or_default());
                with.extend(
                    found.jaw.iter().filter_map(|jaw| Some(jaw.other.as_ref()?.name.clone())),
                );
                out.inertia_errors.extend(folded.inertia_error);
                out.went.push((wanted.name.clone(), folded.notes));
                out.text = folded.text;
                now = next;
            }
            Err(faults) => {
                let faults = faults.into_iter().map(FoldFault::without_place);
                out.stays.push((wanted.name.clone(), faults.collect()));
            }
        }
    }
    Ok(out)
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
    let limit = inertia_limit(found);
    let sum = sums.entry(parts[0].clone()).or_insert(0.0);
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

fn together(robot: &Robot, found: &FoundLoop) -> FoldFault {
    let limit = inertia_limit(found);
    let message = format!(
        "with the loops before it on the same carrier the kinetic energy may be off by more than {}",
        percent(limit.unwrap_or(f64::NAN))
    );
    let fault = Diagnostic::error(message).help("--anyway folds it all the same");
    let fault = match joint(robot, found).and_then(|joint| robot.element(joint.place)) {
        Some(element) => fault.at(element.tag_range()),
        None => fault,
    };
    FoldFault { verdict: Some(Verdict::NotEquivalent), ..FoldFault::of(fault) }
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
