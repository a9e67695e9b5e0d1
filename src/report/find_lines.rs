//! `find` for editors and logs: `FILE:LINE: MESSAGE` for all that is not equivalent.

use crate::diagnostic::visible;
use crate::equivalence::Verdict;
use crate::handover::find::{Findings, FoundLoop, Obstacle, TwoJointLoops};

/// A line for each loop that is not shown equivalent, and for what else stands against a direct joint; nothing where none is.
#[must_use]
pub fn find_lines(found: &Findings) -> String {
    let alone = found.loops.iter().filter(|one| !one.is_of_two_joints());
    let lines = alone.flat_map(|one| loop_lines(found, one));
    lines
        .chain(found.two_joint_loops.iter().flat_map(pair_lines))
        .map(|line| format!("{}\n", visible(&line)))
        .collect()
}

/// Of a loop: its verdict, or why there is none, and each obstacle.
fn loop_lines(found: &Findings, one: &FoundLoop) -> Vec<String> {
    let verdict = one.check().map(|check| (check.verdict, check.reason.as_str()));
    let mut lines = told(&place(found, one), &one.name, verdict, &one.obstacles);
    if lines.is_empty() && verdict.is_none() {
        lines.push(format!("{}: warning: {}: not judged", place(found, one), one.name));
    }
    lines
}

/// The same of two loops that turn a body about two joints.
fn pair_lines(one: &TwoJointLoops) -> Vec<String> {
    let at = one.whereabouts.rsplit_once(':').map_or("", |(at, _)| at);
    let check = one.judged.as_ref().map(|judged| &judged.check);
    let verdict = check.map(|check| (check.verdict, check.reason.as_str()));
    told(at, &one.name, verdict, &one.obstacles)
}

/// A verdict with its reason where it is not equivalent, and each obstacle.
fn told(
    at: &str,
    name: &str,
    verdict: Option<(Verdict, &str)>,
    obstacles: &[Obstacle],
) -> Vec<String> {
    let verdict = verdict.and_then(|(verdict, reason)| {
        let (severity, word) = match verdict {
            Verdict::Equivalent => return None,
            Verdict::NotEquivalent => ("error", "not equivalent"),
            Verdict::Undecided => ("warning", "undecided"),
        };
        Some(format!("{at}: {severity}: {name}: {word}: {reason}"))
    });
    let against = obstacles
        .iter()
        .map(|obstacle| format!("{at}: warning[{}]: {name}: {}", obstacle.code, obstacle.message));
    verdict.into_iter().chain(against).collect()
}

/// `FILE:LINE` of the driven joint, the file's first line where the loop has none.
fn place(found: &Findings, one: &FoundLoop) -> String {
    let joint = one.four_bar.as_ref().map(|bar| bar.pins[3].whereabouts.as_str());
    let line = joint.and_then(|at| Some(at.rsplit_once(':')?.0.to_owned()));
    line.unwrap_or_else(|| format!("{}:1", found.file))
}
