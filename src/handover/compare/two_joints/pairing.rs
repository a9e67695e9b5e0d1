//! Which of a file's tendons and loops is that of which motor of the design, and where a tendon's pins stand.

use nalgebra::Vector3;

use super::{DesignSide, Seen, vector};
use crate::design::TwoJointRobot;
use crate::drive::{DrawnLeg, Vector};
use crate::handover::find::{Bodies, TwoRodsInFile};
use crate::handover::stand_in::two_joints::MotorRow;
use crate::handover::{ActuatorUnits, Form, Format};
use crate::robot::{DriveEnds, Robot, SharedDrive};

/// The larger difference of both figures.
pub(super) fn furthest([a, b]: [f64; 2], [c, d]: [f64; 2]) -> f64 {
    let (first, second) = ((a - c).abs(), (b - d).abs());
    if first.is_nan() || second.is_nan() { f64::NAN } else { first.max(second) }
}

/// Length of a tendon per reading of pitch and of roll.
pub(super) fn shares(seen: &Seen<'_>, drive: &SharedDrive) -> [f64; 2] {
    seen.ids.map(|id| {
        let own = drive.joints.iter().filter(|(joint, _)| *joint == id);
        own.map(|(_, share)| share.unwrap_or(f64::NAN)).sum()
    })
}

/// Motor turn per length of the tendon: 1, or what the actuator's own gear says, as of a screw.
pub(super) fn scale(row: &MotorRow, shares: [f64; 2], gear: f64) -> f64 {
    let off = |scale: &f64| furthest(row.figures, shares.map(|share| scale * share));
    let both = [1.0, gear];
    both.into_iter().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(1.0)
}

/// Whether names are those of the motors the other way round; `None` where they are not theirs.
pub(super) fn named(names: [&str; 2], wanted: &TwoJointRobot) -> Option<bool> {
    let [first, second] = wanted.motors.each_ref().map(String::as_str);
    match names {
        names if names == [first, second] => Some(false),
        names if names == [second, first] => Some(true),
        _ => None,
    }
}

/// The pin on the carrier and that on the child in the zero pose, in the carrier's frame.
pub(super) fn pins(seen: &Seen<'_>, ends: &DriveEnds) -> [Vector3<f64>; 2] {
    let bodies = Bodies::new(seen.robot);
    let [pitch, roll] = &seen.facts;
    let on_carrier = |at: usize| {
        ends.links.get(at).map(|link| bodies.of_link(*link))
            == Some(bodies.of_link(pitch.joint.parent))
    };
    let [one, other] = ends.points;
    let [carrier, foot] = if on_carrier(0) { [one, other] } else { [other, one] };
    let child = seen.robot.links.get(roll.joint.child).map(|link| link.pose);
    let foot = child.map(|pose| seen.frames[1] * pose.inverse() * foot);
    let none = Vector3::repeat(f64::NAN);
    [(seen.to_carrier * carrier).coords, foot.map_or(none, |foot| foot.coords)]
}

/// Both in the order of the design's motors.
pub(super) fn sorted_points<'a>(
    side: &DesignSide<'_>,
    seen: &Seen<'a>,
    both: [(&'a SharedDrive, &'a DriveEnds); 2],
    wanted: &TwoJointRobot,
) -> [(&'a SharedDrive, &'a DriveEnds); 2] {
    let feet = side.of.drive.geometry().legs.map(|leg| vector(leg.foot));
    let own = both.map(|(_, ends)| pins(seen, ends)[1]);
    let is_swapped = named(both.map(|(drive, _)| drive.name.as_str()), wanted)
        .unwrap_or_else(|| crossed(feet, own));
    if is_swapped { [both[1], both[0]] } else { both }
}

/// Whether the second of each is nearer to the other's first.
fn crossed([a, b]: [Vector3<f64>; 2], [c, d]: [Vector3<f64>; 2]) -> bool {
    (a - d).norm() + (b - c).norm() < (a - c).norm() + (b - d).norm()
}

/// Which loop of the file is that of each motor of the design.
pub(super) fn order(
    side: &DesignSide<'_>,
    robot: &Robot,
    drive: &TwoRodsInFile,
    wanted: &TwoJointRobot,
) -> [usize; 2] {
    let own = drive.motors.map(|id| robot.joint_name(id));
    let asked = side.asked(Form::Loop, Format::Mjcf, ActuatorUnits::Motor, true);
    let made = [0, 1].map(|k| asked.loop_joint(wanted, k));
    let is_made = |names: [&str; 2]| names == made.each_ref().map(String::as_str);
    let by_name = named(own, wanted).or_else(|| {
        let is_swapped = is_made([own[1], own[0]]);
        (is_made(own) || is_swapped).then_some(is_swapped)
    });
    let is_swapped = by_name.unwrap_or_else(|| {
        let feet = side.of.drive.geometry().legs.map(|leg| vector(leg.foot));
        crossed(feet, drive.drawing.legs.map(|leg| vector(foot(&leg))))
    });
    if is_swapped { [1, 0] } else { [0, 1] }
}

fn foot(leg: &DrawnLeg) -> Vector {
    match leg {
        DrawnLeg::Crank { foot, .. } | DrawnLeg::Actuator { foot, .. } => *foot,
    }
}
