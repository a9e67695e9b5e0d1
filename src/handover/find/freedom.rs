//! Can a drive that is no planar four-bar move as its file hangs it, or do its pins lock it?
//!
//! In space a loop of one motor and one driven hinge moves where the two ends of its rod leave it five turns or more: a ball at one and
//! a ball or two crossed hinges at the other. With less it moves where all axes are parallel, in a plane.

use super::crossed::Crossed;
use super::four_bar::FourBarLoop;
use super::loop_drive::LoopDrive;
use super::pin_freedom::{Freedom, PARALLEL};
use super::pins::LoopPin;
use crate::dynamics::JointStroke;
use crate::numeric::evenly;
use crate::robot::Robot;

/// Poses at which crossed hinges are looked at.
const POSES: u32 = 64;

/// Why the loop cannot move as its drive would, as a clause.
pub(super) fn locked(robot: &Robot, found: &FourBarLoop, drive: &LoopDrive) -> Option<String> {
    let ends = ends(found);
    let own = ends.map(|pin| Freedom::of(robot, pin));
    if let Some((pin, _)) = ends.iter().zip(&own).find(|(_, own)| **own == Freedom::Other) {
        return Some(format!("{} is neither ball nor hinge nor two crossed hinges", pin.name));
    }
    if is_plane(found) && own.iter().all(|own| own.turns_about(&found.axis)) {
        return None;
    }
    if own.iter().map(Freedom::turns).sum::<u32>() < 5 {
        let names = ends.map(|pin| pin.name.as_str()).join(" and ");
        return Some(format!(
            "{names} leave its rod too few turns: axes that are not parallel need a ball at one end and a ball or two crossed hinges at the other; as drawn it moves only where pins give"
        ));
    }
    let in_line = ends.into_iter().enumerate().find(|one| !works(robot, drive, *one));
    in_line.map(|(_, pin)| {
        format!("the rod comes in line with the crossed hinges of {} in its stroke", pin.name)
    })
}

/// Whether crossed hinges at an end of the rod let it point where it does over the whole stroke; what is none does.
fn works(robot: &Robot, drive: &LoopDrive, end: (usize, &LoopPin)) -> bool {
    let is_crossed = matches!(Freedom::of(robot, end.1), Freedom::Crossed(_));
    let over = || {
        let own = drive.drawing.drive().ok()?;
        let stroke = JointStroke::over(&own, drive.joint_turns).ok()?;
        let crossed = Crossed::new(robot, drive, end, &stroke)?;
        let mut frames = evenly(drive.joint_turns, POSES).map(|turn| stroke.part_frames(turn));
        Some(frames.all(|frames| frames.is_ok_and(|frames| crossed.works(&frames))))
    };
    !is_crossed || over().unwrap_or(false)
}

/// The two ends of a drive's rod, or of an actuator between two pins.
pub(super) fn ends(found: &FourBarLoop) -> [&LoopPin; 2] {
    let [a, p, q, _] = &found.pins;
    if p.slide.is_some() { [a, q] } else { [p, q] }
}

/// Motor, slide and driven joint move in one plane.
fn is_plane(found: &FourBarLoop) -> bool {
    let driving = found.driving_pin();
    let turns = driving.axis.is_none_or(|axis| axis.cross(&found.axis).norm() < PARALLEL);
    let slides = driving.slide.is_none_or(|along| along.dot(&found.axis).abs() < PARALLEL);
    turns && slides
}
