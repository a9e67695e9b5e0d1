//! What the user should know of a loop besides its verdict.

use super::cycles::Bodies;
use super::found::{FoundLoop, Nature};
use super::four_bar::FourBarLoop;
use super::loop_drive::LoopDrive;
use super::masses;
use super::obstacle::Obstacle;
use super::pins::LoopPin;
use super::roles::MotorSeat;
use super::springs;
use crate::drive::Kind;
use crate::equivalence::{Criterion, Outcome, Why};
use crate::linkage::{self, FourBar};
use crate::robot::Robot;
use crate::units::percent;

/// Where the file gives no rotor, inertia is no part of the verdict: what the parts between carrier and child alone do to it. Nor is
/// it where one of a drive's bodies weighs nothing.
pub(super) fn unseen_inertia(one: &FoundLoop) -> Option<Obstacle> {
    let criterion = one.check()?.criterion(Criterion::Inertia)?;
    let kind = one.drive.as_ref().filter(|_| one.judged_drive.is_some()).map(LoopDrive::kind);
    match (criterion.outcome, &criterion.why, criterion.nominal) {
        (Outcome::NotAssessed, Some(Why::WithoutRotor(over)), Some(worst)) => Some(Obstacle::new(
            "inertia_without_rotor",
            format!(
                "inertia is not part of the verdict, since the file gives no rotor: {} alone change the kinetic energy by up to {} ({}), where {} would be accepted",
                parts_of(kind).join(" and "),
                percent(worst.value()),
                over.name(),
                percent(criterion.limit)
            ),
        )),
        (Outcome::NotAssessed, Some(Why::NotGiven(missing)), _) => weightless(kind?, missing),
        _ => None,
    }
}

/// What lies between carrier and child, in words of the trade.
pub(crate) fn parts_of(kind: Option<Kind>) -> [&'static str; 2] {
    match kind {
        Some(Kind::LinearActuator) => ["housing", "nut"],
        Some(Kind::Slider) => ["nut", "rod"],
        _ => ["crank", "coupler"],
    }
}

/// The bodies of a drive that the file gives no mass, as its design names their tables.
fn weightless(kind: Kind, missing: &[&str]) -> Option<Obstacle> {
    let body = |name: &&str| Some((*name).strip_prefix("[mass.")?.strip_suffix(']')?.to_owned());
    let names: Vec<String> = missing.iter().filter_map(body).collect();
    (!names.is_empty()).then(|| {
        Obstacle::new(
            "inertia_without_masses",
            format!(
                "inertia is not part of the verdict: the file gives no mass to the {} of this {}",
                names.join(", "),
                kind.name()
            ),
        )
    })
}

/// How small a gap a file's decimals make, as a share of the longest length.
const DECIMALS: f64 = 1e-6;

pub(super) fn remarks(
    robot: &Robot,
    bodies: &Bodies,
    found: &FourBarLoop,
    nature: Option<Nature>,
) -> Vec<Obstacle> {
    let mut out = Vec::new();
    let longest = if found.slides() { apart(found) } else { found.bars.longest() };
    let (pin, gap) = found.gap();
    if gap > DECIMALS * longest {
        out.push(drawn_open(pin, gap));
    }
    out.extend(soft(robot, found));
    out.extend(soft_limits(robot, found));
    if let Some((kind, off)) = nature.and_then(|n| n.near)
        && off > 1e-5
        && anchored(robot, found)
    {
        out.push(frozen(kind, off, longest, found));
    }
    out.extend(found.springs.iter().map(springs::spring_note));
    if found.roles.seat == MotorSeat::Child {
        out.push(child_driven());
    }
    if !found.slides() && masses::masses(robot, bodies, found).is_none() {
        out.push(no_mass(robot, bodies, found));
    }
    out
}

/// Largest distance of two pins, m.
fn apart(found: &FourBarLoop) -> f64 {
    let points = || found.pins.iter().map(|pin| pin.points[0]);
    points().flat_map(|p| points().map(move |q| (p - q).norm())).fold(0.0, f64::max)
}

fn no_mass(robot: &Robot, bodies: &Bodies, found: &FourBarLoop) -> Obstacle {
    let [carrier, moving @ ..] = found.bodies();
    let unread = masses::unread_mass(robot, bodies, carrier, &moving);
    let why = if !found.held.is_empty() {
        "a joint of the loop is held: inertia is not looked at".to_owned()
    } else if let Some(link) = unread {
        format!("what {:?} weighs is not read: inertia is not looked at", link.name)
    } else {
        "the child weighs nothing in the file: inertia is not looked at".to_owned()
    };
    Obstacle::new("no_mass", why)
}

fn child_driven() -> Obstacle {
    Obstacle::new(
        "child_driven",
        "the motor sits on the child's own joint: crank and rod only follow, and angle and ratio of a direct joint are exact; what is judged is their inertia",
    )
}

fn drawn_open(pin: &LoopPin, gap: f64) -> Obstacle {
    Obstacle::new(
        "drawn_open",
        format!(
            "drawn open: the two points of {} stand {:.3} mm apart; the lengths here are each body's own, and an engine jumps to close the gap",
            pin.name,
            gap * 1e3
        ),
    )
}

/// Softer than an engine's own default by more than the decimals of a file.
const SOFTER: f64 = 1.01;

/// The softest constraint that closes the loop, where the file makes it give way.
fn soft(robot: &Robot, found: &FourBarLoop) -> Option<Obstacle> {
    let closures = found.pins.iter().flat_map(|pin| &pin.closures);
    let each = closures.filter_map(|id| robot.closures.get(*id));
    let each = each.filter_map(|closure| Some((closure, closure.softness?)));
    let (closure, softness) =
        each.filter(|(_, softness)| *softness > SOFTER).max_by(|a, b| a.1.total_cmp(&b.1))?;
    let why = format!(
        "the constraint that closes it ({}) gives way to a load {} times as far as by the engine's defaults (solref, solimp): what is judged is the rigid linkage that it stands for, not what the engine makes of it",
        super::drives::line(robot, closure.place),
        crate::units::number(softness)
    );
    Some(Obstacle::new("soft_loop", why))
}

/// Limits of crank and driven joint that give way: the stroke ends at them, what the engine makes of it does not.
fn soft_limits(robot: &Robot, found: &FourBarLoop) -> Vec<Obstacle> {
    let ends = [found.crank_joint(), found.joint()].into_iter().flatten();
    let ends = ends.filter_map(|id| robot.joints.get(id)).filter(|joint| !joint.soft.is_empty());
    let told = ends.map(|joint| {
        let why = format!(
            "the limits of joint {:?} ({}) give way further than by the engine's defaults ({}): what is judged ends at them",
            joint.name,
            super::drives::line(robot, joint.place),
            joint.soft
        );
        Obstacle::new("left_out", why)
    });
    told.collect()
}

/// A pin is closed by one point of one body, which an engine carries over to the other in the drawn pose.
fn anchored(robot: &Robot, found: &FourBarLoop) -> bool {
    let closures = found.pins.iter().flat_map(|pin| &pin.closures);
    closures.filter_map(|id| robot.closures.get(*id)).any(|closure| !closure.by_sites)
}

fn frozen(kind: linkage::Kind, off: f64, longest: f64, found: &FourBarLoop) -> Obstacle {
    let FourBar { ground, crank, coupler, rocker } = found.bars;
    let [ground, crank, coupler, rocker] = [ground, crank, coupler, rocker].map(|x| x * 1e3);
    Obstacle::new(
        "anchor_freezes_pose",
        format!(
            "{:.3} mm from a {}: one anchor closes it, so that an engine takes the lengths from the drawn pose, {ground:.3}/{crank:.3}/{coupler:.3}/{rocker:.3} mm; if the drawing has equal sides the file draws the loop open by that much",
            off * longest * 1e3,
            kind.name()
        ),
    )
}
