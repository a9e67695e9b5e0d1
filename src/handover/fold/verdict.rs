//! May the loop be folded at all: its obstacles, its verdict, and what the fold itself does to the kinetic energy.

use super::{FoldFault, FoldOptions, Foldable, Job, attempt};
use crate::diagnostic::{Code, Diagnostic};
use crate::dynamics::MeasuredOver;
use crate::equivalence::{Assessment, Criterion, MET_WITHIN, Outcome, Verdict};
use crate::handover::Form;
use crate::handover::find::{Bodies, FoundLoop, FourBarLoop, MotorSeat};
use crate::handover::stand_in::in_file::{Motion, Plane};
use crate::robot::Robot;
use crate::units::percent;

/// The parts of the loop, where nothing but the verdict can stand against folding it.
///
/// # Errors
/// Its obstacles, each with what would do.
pub(super) fn foldable<'a>(
    robot: &Robot,
    found: &'a FoundLoop,
) -> Result<Foldable<'a>, Vec<FoldFault>> {
    let refused =
        |code: &str, message: &str| refused(robot, found, code, message).with_help(cure(code));
    if !found.obstacles.is_empty() {
        return Err(found.obstacles.iter().map(|o| refused(o.code, &o.message)).collect());
    }
    if found.four_bar.as_ref().is_some_and(|four_bar| !four_bar.held.is_empty()) {
        let message = "a spring holds one of its joints, and what is carried gives way there";
        return Err(vec![refused("spring", message)]);
    }
    match found.four_bar.as_ref().zip(motion(found)) {
        Some((four_bar, motion)) if is_in_order(robot, four_bar, motion) => {
            Ok(Foldable { four_bar, motion })
        }
        Some(_) => Err(vec![refused("not_judged", "which of its bodies is the rod is not told")]),
        None => Err(vec![refused("not_judged", "it cannot be judged")]),
    }
}

fn motion(found: &FoundLoop) -> Option<Motion<'_>> {
    let plane = || {
        let (reach, judged) = (found.reach.as_ref()?, found.judged.as_ref()?);
        Some(Motion::Plane(Plane { reach, judged }))
    };
    let space = || Some(Motion::Space(found.drive.as_ref()?, found.judged_drive.as_ref()?));
    plane().or_else(space)
}

/// Whether a drive in space has the bodies of its ring in their order: carrier, two parts, child.
fn is_in_order(robot: &Robot, four_bar: &FourBarLoop, motion: Motion<'_>) -> bool {
    let Motion::Space(found, _) = motion else { return true };
    found.is_in_order(&Bodies::new(robot), four_bar)
}

fn refused(robot: &Robot, found: &FoundLoop, code: &str, message: &str) -> FoldFault {
    let diagnostic = Diagnostic::error(format!("loop {:?}: {message}", found.name));
    let place = found.four_bar.as_ref().map(|four_bar| four_bar.pins[3].place);
    FoldFault::placed(robot, place, diagnostic.code(Code::named(code)))
}

/// What to do about an obstacle.
pub(super) fn cure(code: &str) -> &'static str {
    match code {
        "coupler_bears" | "crank_bears" | "shares_joints" | "five_bar" | "not_four_joints" => {
            "this linkage is no drive of one joint: keep the loop, or model it by hand"
        }
        "two_rods" => {
            "fold both loops together: --loop with the name of the body that they turn, or --all"
        }
        "spring" => "keep the loop where the spring matters, or take the spring's joint out first",
        "pad_unknown" => "call a shape or a site of the finger pad, or give the finger its mass",
        "motor_unknown" | "driven_twice" => "name the motor's joint with --motor JOINT",
        "child_unknown" => "name the link that is carried with --child LINK",
        "no_hinge" => "write the joints at the carrier as hinges",
        _ => "mend the file, or keep the loop",
    }
}

/// The verdict, where it stands against a direct joint.
pub(super) fn against(robot: &Robot, found: &FoundLoop, options: FoldOptions) -> Option<FoldFault> {
    let check = found.check()?;
    let verdict = check.verdict;
    if verdict == Verdict::Equivalent || options.anyway || options.model != Form::Direct {
        return None;
    }
    // A motor on the child's own joint stays there: what the crank makes of its angle matters to nobody.
    let only_follows =
        found.four_bar.as_ref().is_some_and(|four_bar| four_bar.roles.seat == MotorSeat::Child);
    let of_angles = [Criterion::Angle, Criterion::Ratio];
    let stands = |c: &Assessment| matches!(c.outcome, Outcome::Holds | Outcome::NotAssessed);
    if only_follows && check.criteria.iter().all(|c| of_angles.contains(&c.criterion) || stands(c))
    {
        return None;
    }
    let mut fault = refused(robot, found, "verdict", &check.reason);
    fault.verdict = Some(verdict);
    Some(fault)
}

/// The kinetic energy of what would be written, over the limit that the verdict has for it. A file without a rotor is
/// held to the same limit: crank and rod alone then decide.
pub(super) fn too_heavy(job: &Job<'_>, found: &FoundLoop) -> Option<FoldFault> {
    let limit = job.check().criterion(Criterion::Inertia)?.limit;
    let error = job.cut.new.error.filter(|_| !job.cut.options.anyway)?;
    let whose = if job.figures.rotor > 0.0 {
        ""
    } else {
        "; the file gives the motor no armature: crank and rod alone do this"
    };
    let message = over_limit(error, limit)? + whose;
    let mut fault = refused(job.robot, found, "verdict", &message);
    fault.verdict = Some(Verdict::NotEquivalent);
    Some(fault)
}

/// That an error of kinetic energy is over a limit, as a clause; `None` where it is not.
pub(super) fn over_limit((over, error): (MeasuredOver, f64), limit: f64) -> Option<String> {
    if error <= limit + MET_WITHIN {
        return None;
    }
    let figure = if error.is_finite() {
        format!("kinetic energy would be off by up to {}", percent(error))
    } else {
        "what kinetic energy would be off by has no finite figure".to_owned()
    };
    Some(format!("{figure} ({}), where {} is accepted", over.name(), percent(limit)))
}

/// What would do instead, each tried: what is said here works. `others` stand against the fold besides the verdict.
pub(super) fn ways(
    robot: &Robot,
    found: &FoundLoop,
    parts: Foldable<'_>,
    options: FoldOptions,
    others: &[FoldFault],
) -> String {
    let works = |options: FoldOptions| attempt(robot, found, parts, options).is_ok();
    let coupled = FoldOptions { model: Form::Coupled, keep_visuals: false, ..options };
    let keeps = options.model == Form::Direct && works(coupled);
    let anyway = others.is_empty() || works(FoldOptions { anyway: true, ..options });
    match (anyway, keeps) {
        (true, true) => {
            "--anyway folds it all the same, --model coupled keeps the crank with its true motion"
        }
        (true, false) => "--anyway folds it all the same; else keep the loop",
        (false, true) => "--model coupled keeps the crank with its true motion; else keep the loop",
        (false, false) => {
            "keep the loop; mend what is named below as well before --anyway can fold it"
        }
    }
    .to_owned()
}
