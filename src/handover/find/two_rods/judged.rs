//! The design of a double loop, read and checked like any other.

use super::super::FindOptions;
use super::super::cycles::Bodies;
use super::super::obstacle::Obstacle;
use super::super::pins::joint_called;
use super::super::reach::turns;
use super::text::{design_text, masses, motor_sides};
use super::{JudgedTwoJoints, TwoJointLoops, TwoRodsInFile};
use crate::design::{self, AnyDesign, TwoJointDesign};
use crate::numeric::evenly;
use crate::robot::{FileJoint, JointId, Robot};
use crate::study::{Depth, TwoMotors, check_two_motors};
use crate::units::angles;

/// Pieces of each range on which a motor is held against the limits of its joint.
const PIECES: u32 = 24;

/// Writes the design of a double loop that is understood, and judges it.
pub(in super::super) fn judge(
    robot: &Robot,
    bodies: &Bodies,
    one: &mut TwoJointLoops,
    options: FindOptions<'_>,
) {
    let Some(found) = one.drive.take() else { return };
    let plain = design_text(robot, &one.name, &found, options.preset);
    match read(&one.name, &plain) {
        Err(why) => one.obstacles.push(why),
        Ok(design) => {
            let weights = masses(robot, bodies, &found, &design, &mut one.remarks);
            let text = if weights.is_empty() { plain } else { format!("{plain}\n{weights}") };
            one.remarks.extend(left_out(robot, &found));
            match checked(&one.name, &text) {
                Ok(judged) => {
                    one.remarks.extend(beyond_stops(robot, &found, &judged.of));
                    one.judged = Some(judged);
                }
                Err(why) => one.obstacles.push(why),
            }
            one.text = Some(text);
        }
    }
    one.drive = Some(found);
}

fn cannot(why: &str) -> Obstacle {
    Obstacle::new("not_judged", format!("cannot be judged: {why}"))
}

fn read(name: &str, text: &str) -> Result<TwoJointDesign, Obstacle> {
    let parsed = design::parse_any(&format!("{name}.toml"), text);
    let (design, _) = parsed.map_err(|rejected| {
        cannot(rejected.diagnostics.first().map_or("", |fault| &fault.message))
    })?;
    match design {
        AnyDesign::TwoJoints(design) => Ok(*design),
        _ => Err(cannot("its design is of another kind")),
    }
}

fn checked(name: &str, text: &str) -> Result<JudgedTwoJoints, Obstacle> {
    let design = read(name, text)?;
    let found = TwoMotors::of(&design)
        .and_then(|of| Ok((check_two_motors(&design, &of, Depth::Verdict)?, of)));
    let (check, of) = found
        .map_err(|faults| cannot(faults.first().map_or("", |fault| fault.message.as_str())))?;
    Ok(JudgedTwoJoints { design, of, check })
}

/// What the design says nothing of: losses and armatures beside the motors', limits of the rods' pins, motors that differ.
fn left_out(robot: &Robot, found: &TwoRodsInFile) -> Vec<Obstacle> {
    let mut told = Vec::new();
    let [first, second] = motor_sides(robot, found);
    if first != second {
        let why = "the file says something else of the one motor than of the other, a design the same of both: [actuator] is left out";
        told.push(Obstacle::new("left_out", why));
    }
    let passive = passive(robot, found);
    let has_losses = |joint: &FileJoint| {
        [joint.damping, joint.friction, joint.armature].into_iter().flatten().any(|x| x != 0.0)
    };
    if let Some(joint) = passive.iter().find(|joint| has_losses(joint)) {
        let why = format!(
            "damping, friction and armature of joints that no motor turns are not in the design, such as those of {}",
            joint_called(robot, joint)
        );
        told.push(Obstacle::new("left_out", why));
    }
    let limited = |joint: &&&FileJoint| joint.limit.is_some() && !is_seat(robot, found, joint);
    if let Some(joint) = passive.iter().find(limited) {
        let why = format!(
            "limits of the rods' own pins are not looked at, such as those of {}",
            joint_called(robot, joint)
        );
        told.push(Obstacle::new("left_out", why));
    }
    told
}

fn is_seat(robot: &Robot, found: &TwoRodsInFile, joint: &FileJoint) -> bool {
    let of = |id: &JointId| robot.joints.get(*id).is_some_and(|own| own.place == joint.place);
    found.joints.iter().any(of)
}

/// Pitch, roll and the joints of cranks and rods, without the motors'.
fn passive<'a>(robot: &'a Robot, found: &TwoRodsInFile) -> Vec<&'a FileJoint> {
    let moved: Vec<usize> = found.bodies.as_flattened().to_vec();
    let each = robot.joints.iter().enumerate();
    each.filter(|(id, joint)| {
        let is_own = found.joints.contains(id) || moved.contains(&joint.child);
        is_own && !found.motors.contains(id)
    })
    .map(|(_, joint)| joint)
    .collect()
}

/// Motors whose own limits end the motion before pitch and roll come to theirs.
fn beyond_stops(robot: &Robot, found: &TwoRodsInFile, of: &TwoMotors) -> Vec<Obstacle> {
    let [pitch, roll] = of.region;
    let poses = evenly(pitch, PIECES).flat_map(|p| evenly(roll, PIECES).map(move |r| [p, r]));
    let mut ends = [[0.0_f64; 2]; 2];
    for turned in poses.filter_map(|joints| of.drive.motor_turns(joints).ok()) {
        for ([low, high], turn) in ends.iter_mut().zip(turned) {
            (*low, *high) = (low.min(turn), high.max(turn));
        }
    }
    let mut told = Vec::new();
    for ((id, needed), per) in found.motors.iter().zip(ends).zip(found.per_reading) {
        let Some(joint) = robot.joints.get(*id) else { continue };
        let Some([low, high]) = turns(joint, per) else { continue };
        if needed[0] < low - 1e-9 || needed[1] > high + 1e-9 {
            let why = format!(
                "{} stops at {} from the drawn pose, and the ranges of pitch and roll ask for {}: the robot reaches less than what is judged",
                joint_called(robot, joint),
                angles([low, high], 1),
                angles(needed, 1)
            );
            told.push(Obstacle::new("left_out", why));
        }
    }
    told
}
