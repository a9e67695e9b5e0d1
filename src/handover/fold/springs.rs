//! Springs of the joints that go, as one spring of the driven joint.
//!
//! At joint rate 1 a pin's joint turns at its own rate r' (i at the crank, s − i and 1 − s at the pins, s the coupler's),
//! so that a spring k at reading r gives the joint the torque −k (r − rest) r' (virtual work). Their sum over the stroke is
//! held against a straight line, which is what a joint's own spring is.

use super::numbers::text;
use super::{Changes, FoldFault, Job};
use crate::handover::Form;
use crate::handover::find::LoopSpring;
use crate::robot::{Element, Format};

/// Poses over the stroke.
const POSES: u32 = 64;

/// So far may the joint's own spring be off the true torque, as a share of the largest: chosen here, as `[accept]`
/// inertia's middle preset.
const SHARE: f64 = 0.05;

/// The spring that takes the place of all.
#[derive(Clone, Copy, Debug)]
struct Spring {
    /// N m/rad.
    stiffness: f64,
    /// Joint reading, rad.
    rests_at: f64,
    /// Largest difference from the true torque, N m.
    error: f64,
    /// Largest true torque, N m.
    largest: f64,
}

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
    match (fits.or(found.filter(|_| job.options.anyway)), is_held) {
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
        _ if job.options.anyway => {
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

/// The driven joint's own stays where it is, the crank's where the crank does.
fn goes(job: &Job<'_>, spring: &LoopSpring) -> bool {
    match spring.pin {
        0 => job.options.model == Form::Direct,
        1 | 2 => true,
        _ => false,
    }
}

/// What all pins have turned at a motor turn, in their own sense, and how fast per joint rate.
pub(super) fn pins_at(job: &Job<'_>, turn: f64) -> Option<[[f64; 2]; 4]> {
    let branch = &job.reach.branch;
    let (pose, crank) = (branch.pose(turn).ok()?, branch.zero_crank() + turn);
    let (theta, psi) = (pose.coupler_angle(), pose.rocker_angle());
    let i = pose.transmission_ratio();
    let s = pose.coupler_rate() * i;
    let sense = |pin: usize| {
        let axis = job.four_bar.pins.get(pin).and_then(|pin| pin.axis);
        axis.map_or(1.0, |axis| axis.dot(&job.four_bar.axis).signum())
    };
    let signed = |angle: f64, rate: f64, pin: usize| [sense(pin) * angle, sense(pin) * rate];
    Some([
        signed(crank, i, 0),
        signed(theta - crank, s - i, 1),
        signed(psi - theta, 1.0 - s, 2),
        [psi, 1.0],
    ])
}

/// The best straight line through the springs' torque over the stroke.
fn fitted(job: &Job<'_>) -> Option<Spring> {
    let branch = &job.reach.branch;
    let drawn = pins_at(job, -job.reach.zero)?;
    let [low, high] = job.reach.motor;
    let mut points: Vec<[f64; 2]> = Vec::new();
    for k in 0..=POSES {
        let turn = low + (high - low) * f64::from(k) / f64::from(POSES);
        let now = pins_at(job, turn)?;
        let torque: f64 = job
            .four_bar
            .springs
            .iter()
            .filter(|spring| spring.pin == 3 || goes(job, spring))
            .map(|spring| {
                let pair = Some((now.get(spring.pin)?, drawn.get(spring.pin)?));
                let ([angle, rate], [before, _]) = pair?;
                let joint = job.robot.joints.get(spring.joint)?;
                let turned = libm::remainder(angle - before, std::f64::consts::TAU);
                Some(-spring.stiffness * (joint.drawn_at + turned - spring.rests_at) * rate)
            })
            .sum::<Option<f64>>()?;
        let joint = job.driven.drawn_at + job.reach.zero_joint + branch.joint_turn(turn).ok()?;
        points.push([joint, torque]);
    }
    line(&points)
}

/// By least squares; nearly constant torques get a spring that is soft and far from its rest.
fn line(points: &[[f64; 2]]) -> Option<Spring> {
    let count = points.iter().map(|_| 1.0).sum::<f64>();
    let mean = |k: usize| points.iter().filter_map(|p| p.get(k)).sum::<f64>() / count;
    let (x, y) = (mean(0), mean(1));
    let product = |f: fn(f64, f64) -> f64| {
        points.iter().map(|[joint, torque]| f(joint - x, torque - y)).sum::<f64>()
    };
    let largest = points.iter().map(|[_, torque]| torque.abs()).fold(0.0_f64, f64::max);
    let span = points.iter().map(|[joint, _]| (joint - x).abs()).fold(0.0_f64, f64::max);
    let softest = 0.01 * largest / span;
    let stiffness = (-product(|a, b| a * b) / product(|a, _| a * a)).max(softest);
    let rests_at = x + y / stiffness;
    let off = |[joint, torque]: &[f64; 2]| (torque + stiffness * (joint - rests_at)).abs();
    let error = points.iter().map(off).fold(0.0_f64, f64::max);
    let figures = [stiffness, rests_at, error, largest];
    figures.iter().all(|x| x.is_finite()).then_some(Spring { stiffness, rests_at, error, largest })
}

fn write(job: &Job<'_>, element: Element<'_>, spring: &Spring, changes: &mut Changes) {
    let (stiffness, rests_at) = (text(spring.stiffness), spring.rests_at);
    if job.robot.format == Format::Mjcf {
        let rest = if job.is_in_degrees() { rests_at.to_degrees() } else { rests_at };
        changes.edits.set(element, "stiffness", &stiffness);
        changes.edits.set(element, "springref", &text(rest));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_of_torques_is_its_spring_and_a_constant_one_is_off_by_a_hundredth() {
        let at = |f: fn(f64) -> f64| [-0.5, 0.0, 0.5, 1.0].map(|x| [x, f(x)]);
        let spring = line(&at(|x| -3.0 * (x - 0.2))).unwrap();
        assert!((spring.stiffness - 3.0).abs() < 1e-12 && (spring.rests_at - 0.2).abs() < 1e-12);
        let constant = line(&at(|_| 2.0)).unwrap();
        assert!(constant.error <= 0.02 + 1e-12 && constant.stiffness > 0.0, "{constant:?}");
    }

    #[test]
    fn a_torque_that_bends_is_off_its_line() {
        let bent = line(&[[-1.0, 1.0], [0.0, 0.0], [1.0, 1.0]]).unwrap();
        assert!(bent.error > 0.05 * bent.largest);
    }
}
