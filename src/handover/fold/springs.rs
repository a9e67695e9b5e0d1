//! Springs of the joints that go, as one spring of the driven joint.

use super::numbers::text;
use super::{Changes, FoldFault, Job};
use crate::handover::find::LoopSpring;
use crate::handover::stand_in::in_file::spring::{Spring, fitted, goes};
use crate::robot::{Element, Format};

/// So far may the joint's own spring be off the true torque, as a share of the largest: chosen here, as `[accept]`
/// inertia's middle preset.
const SHARE: f64 = 0.05;

/// Carries the springs over, or says why not.
pub(super) fn carry(job: &Job<'_>, element: Element<'_>, changes: &mut Changes) {
    let gone: Vec<&LoopSpring> = job
        .four_bar
        .springs
        .iter()
        .filter(|spring| spring.stiffness.abs() > 0.0 && goes(job, spring))
        .collect();
    if gone.is_empty() {
        return;
    }
    let names: Vec<String> = gone
        .iter()
        .filter_map(|spring| Some(format!("{:?}", job.robot.joints.get(spring.joint)?.name)))
        .collect();
    let names = names.join(" and ");
    let found = fitted(job);
    let fits = found.filter(|spring| spring.error <= SHARE * spring.largest);
    let is_held = job.robot.format.holds_springs();
    match (fits.or(found.filter(|_| job.cut.options.anyway)), is_held) {
        (Some(spring), true) => {
            write(job, element, &spring, changes);
            changes.spring = Some([spring.rests_at, spring.stiffness]);
            changes.notes.push(format!(
                "the spring of joint {names} is a spring of {:?} now: {} N m/rad, at rest at {} deg, off by at most {} N m of {} N m",
                job.driven.name,
                text(spring.stiffness),
                shown(spring.rests_at.to_degrees()),
                shown(spring.error),
                shown(spring.largest)
            ));
        }
        _ if job.cut.options.anyway => {
            changes.notes.push(format!("the spring of joint {names} is lost"));
        }
        _ => changes.faults.push(refusal(job, &gone, &names, found)),
    }
}

fn shown(x: f64) -> String {
    let digits = format!("{x:.3e}").parse::<f64>().unwrap_or(x);
    text(digits)
}

fn refusal(job: &Job<'_>, gone: &[&LoopSpring], names: &str, found: Option<Spring>) -> FoldFault {
    let why = match found {
        Some(spring) => format!(
            "its torque at {:?}, up to {} N m, is {} N m off any spring of that joint ({} % are accepted)",
            job.driven.name,
            shown(spring.largest),
            shown(spring.error),
            100.0 * SHARE
        ),
        None => "its torque at the driven joint cannot be told over the stroke".to_owned(),
    };
    let message = format!("the spring of joint {names} cannot be carried over: {why}");
    let help = "keep the loop where the spring matters; --anyway folds it all the same";
    let place = gone.first().and_then(|spring| job.robot.joints.get(spring.joint));
    FoldFault::at_place(
        job.robot,
        place.map_or(job.driven.place, |joint| joint.place),
        message,
        help,
    )
}

fn write(job: &Job<'_>, element: Element<'_>, spring: &Spring, changes: &mut Changes) {
    let (stiffness, rests_at) = (text(spring.stiffness), spring.rests_at);
    if job.robot.format == Format::Mjcf {
        let rest = if job.cut.is_in_degrees() { rests_at.to_degrees() } else { rests_at };
        changes.edits.set(element, "stiffness", &stiffness);
        changes.edits.set(element, "springref", &text(rest));
    }
}
