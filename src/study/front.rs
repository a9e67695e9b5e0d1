//! What turns the crank of a gripper's finger where the motor does not, on the design's stroke.
//!
//! Turns of a finger are its crank's. What the motor turns and reads at them is taken through this drive.

use std::sync::Arc;

use crate::design::{Design, Parameter, StrokeBy};
use crate::diagnostic::Code;
use crate::drive::{JointDrive, OneJoint as _};
use crate::units::angle;

use super::driven::zero_fault;
use super::fault::Fault;

/// The drive from its zero pose; shared, as readings go through it.
pub(super) type Shared = Arc<JointDrive>;

/// The drive in front of the finger of `design`; `None` where the motor turns the crank itself.
pub(super) fn drive(design: &Design) -> Result<Option<Shared>, Vec<Fault>> {
    let Some(front) = &design.front else { return Ok(None) };
    let drive = front.drawing.drive().map_err(|fault| vec![zero_fault(fault)])?;
    Ok(Some(Arc::new(drive)))
}

/// What a motor turn taken there and back may be off, rad.
const SAME: f64 = 1e-6;

/// The crank turns of the motor's stroke, ascending.
///
/// # Errors
/// Each end that the drive does not reach.
pub(super) fn crank_turns(
    design: &Design,
    front: &JointDrive,
    motor: [f64; 2],
) -> Result<[f64; 2], Vec<Fault>> {
    let crank = |turn: f64| {
        let crank = front.joint_turn(turn).ok()?;
        let back = front.motor_turn(crank).ok()?;
        ((back - turn).abs() < SAME).then_some(crank)
    };
    match motor.map(crank) {
        [Some(a), Some(b)] => Ok([a.min(b), a.max(b)]),
        ends => Err(beyond(design, front, ends.map(|end| end.is_none()))),
    }
}

/// Does the drive reach the crank turns `turns`?
///
/// # Errors
/// Each end that it does not.
pub(super) fn reaches(
    design: &Design,
    front: &JointDrive,
    turns: [f64; 2],
) -> Result<(), Vec<Fault>> {
    let missed = turns.map(|turn| front.motor_turn(turn).is_err());
    if missed == [false; 2] { Ok(()) } else { Err(beyond(design, front, missed)) }
}

/// The verdict rests on both drives, and a file of its evidence tells of planar four-bars alone.
pub(super) fn no_proof_file() -> Fault {
    Fault {
        parameter: Parameter::Drive,
        code: Code::PadOnCoupler,
        message: "no file of the proof is made of a finger behind another drive yet".to_owned(),
        label: "the verdict rests on both".to_owned(),
        help: "take --proof away: the verdict itself is proved by this program".to_owned(),
    }
}

/// A fault for each end of the stroke that is missed.
fn beyond(design: &Design, front: &JointDrive, missed: [bool; 2]) -> Vec<Fault> {
    let stops: Vec<String> = front
        .reach()
        .into_iter()
        .flatten()
        .map(|stop| {
            let reads = design.motor_reads + design.drawing_sense() * stop.motor;
            format!("a {} at motor angle {}", stop.kind.name(), angle(reads, 2))
        })
        .collect();
    let label = match stops[..] {
        [] => "the drive in front of the finger does not get there".to_owned(),
        _ => format!("the drive in front of the finger stops at {}", stops.join(" and ")),
    };
    // The user's first figure is the smaller turn as drawn.
    let is_turned = design.drawing_sense() < 0.0;
    let [first, second] = if is_turned { [missed[1], missed[0]] } else { missed };
    let ends = [(first, Parameter::StrokeFirst), (second, Parameter::StrokeSecond)];
    let faults = ends.into_iter().filter(|(missed, _)| *missed).map(|(_, parameter)| Fault {
        parameter,
        code: Code::OutsideBranch,
        message: "the stroke runs past what turns the crank".to_owned(),
        label: label.clone(),
        help: "end the stroke earlier, or change the lengths of that drive".to_owned(),
    });
    faults.collect()
}

/// The stroke as the drive's file gives it, where that is the motor's: turns of the crank.
pub(super) fn wanted(design: &Design, front: Option<&JointDrive>) -> Result<[f64; 2], Vec<Fault>> {
    let given = [design.stroke.low, design.stroke.high];
    match front {
        Some(front) if design.stroke.by == StrokeBy::Motor => crank_turns(design, front, given),
        _ => Ok(given),
    }
}
