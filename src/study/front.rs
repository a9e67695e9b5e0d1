//! What turns the crank of a gripper's finger where the motor does not, on the design's stroke.
//!
//! Turns of a finger are its crank's. What the motor turns and reads at them is taken through this drive.

use std::sync::Arc;

use crate::design::{self, Design, Parameter, StrokeBy, Wish};
use crate::diagnostic::Code;
use crate::drive::{JointDrive, OneJoint as _, Series};
use crate::equivalence::{Basis, Constants, DirectJoint, DriveLimits, DriveQuestion, Front};
use crate::numeric::{Interval, evenly, peaks};
use crate::units::angle;

use super::driven::zero_fault;
use super::family::{drawn_ranges, limits, zeroing};
use super::fault::Fault;
use super::findings::CrankDrive;
use super::mechanism::Mechanism;

/// The drive from its zero pose; shared, as readings go through it.
pub(super) type Shared = Arc<JointDrive>;

/// The drive in front of the finger of `design`; `None` where the motor turns the crank itself.
pub(super) fn drive(design: &Design) -> Result<Option<Shared>, Vec<Fault>> {
    let Some(front) = &design.front else { return Ok(None) };
    let drive = front.drawn.drawing.drive().map_err(|fault| vec![zero_fault(fault)])?;
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

impl Mechanism {
    /// The constant that stands for the drive in front: motor turns for each turn of the crank, without an offset.
    pub(super) fn crank_ratio(&self, design: &Design) -> Option<DirectJoint> {
        let front = self.readings.front()?;
        let ratio = match design.direct_joint.ratio {
            Wish::Best => None,
            Wish::Given(ratio) => Some(ratio),
        };
        let motor = |crank: f64| front.motor_turn(crank).unwrap_or(f64::NAN);
        Constants { ratio, offset: Some(0.0) }.over_joint_turns(&motor, self.stroke.motor)
    }

    /// The drive in front of the finger with every build that a verdict over `basis` is about; `None` where there is none.
    ///
    /// # Errors
    /// Where its drawing has no build.
    pub(super) fn front<'a>(
        &'a self,
        design: &'a Design,
        basis: Basis,
    ) -> Result<Option<Front<'a>>, Vec<Fault>> {
        let (Some(front), Some(drive)) = (&design.front, self.readings.front()) else {
            return Ok(None);
        };
        let joint = self.crank_ratio(design).ok_or_else(|| vec![Fault::no_build()])?;
        let accept = &design.accept;
        let question = DriveQuestion {
            drawing: &front.drawn.drawing,
            drive,
            turns: self.stroke.motor,
            joint,
            limits: DriveLimits {
                motion: limits(design),
                ball_tilt: accept.ball_tilt,
                crank_side: accept.crank_side,
            },
            basis,
            sizes: drawn_ranges(&front.drawn, basis),
            zeroing: zeroing(design),
        };
        Ok(Some(Front::of(question).ok_or_else(|| vec![Fault::no_build()])?))
    }
}

/// What stands between motor and crank does to torque and speed; 1 : 1 without loss where nothing does.
#[derive(Clone, Debug)]
pub(super) struct Between {
    drive: Option<Shared>,
    efficiency: f64,
    back_efficiency: f64,
    pub(super) locks_itself: bool,
}

impl Between {
    pub(super) fn of(design: &Design, mechanism: &Mechanism) -> Self {
        let front = design.front.as_deref();
        Self {
            drive: mechanism.readings.shared_front(),
            efficiency: front.and_then(design::Front::efficiency).unwrap_or(1.0),
            back_efficiency: front.map_or(1.0, design::Front::back_efficiency),
            locks_itself: front.is_some_and(design::Front::locks_itself),
        }
    }

    /// |motor turns for each turn of the crank| at the crank turn `turn`.
    pub(super) fn ratio(&self, turn: f64) -> f64 {
        match &self.drive {
            None => 1.0,
            Some(drive) => drive.motion(turn).map_or(f64::NAN, |motion| motion.ratio.abs()),
        }
    }

    /// Crank torque for each N m of the motor, after what screws lose.
    pub(super) fn torque(&self, turn: f64) -> f64 {
        self.ratio(turn) * self.efficiency
    }

    /// Force that the last rod puts on the crank's axis for each N m of the motor, N, one rod for all fingers: no more than
    /// this; NaN where none is known of a belt or gear.
    pub(super) fn on_axis(&self, turn: f64) -> f64 {
        let Some(drive) = &self.drive else { return 0.0 };
        let JointDrive::Series(Series(stages)) = drive.as_ref() else { return f64::NAN };
        let rods = stages.last().and_then(|stage| stage.rods(turn).ok()).unwrap_or_default();
        rods.last().map_or(f64::NAN, |rod| self.ratio(turn) / rod.joint_arm().abs())
    }

    /// Crank torque that a motor which holds 1 N m withstands; infinite where a screw locks itself.
    pub(super) fn held(&self, turn: f64) -> f64 {
        if self.locks_itself { f64::INFINITY } else { self.ratio(turn) / self.back_efficiency }
    }
}

/// What is told of the drive in front; `None` where there is none.
pub(super) fn findings(
    design: &Design,
    mechanism: &Mechanism,
    front: Option<&Front<'_>>,
) -> Option<CrankDrive> {
    let (front, own) = (front?, design.front.as_deref()?);
    let turns = mechanism.stroke.motor;
    let joint = front.question.joint;
    let ratio = |turn: f64| joint.ratio * (1.0 + front.drawn_at(turn)[1]);
    let ends = peaks(ratio, turns).map(|(_, ratio)| ratio);
    let largest = |which: usize| {
        let error = |turn: f64| front.drawn_at(turn).get(which).copied().unwrap_or(f64::NAN);
        let [low, high] = peaks(error, turns).map(|(_, error)| error.abs());
        low.max(high)
    };
    let magnitude = certified(front, turns)
        .map(|ratio| [ratio.lo(), ratio.hi()].map(|error| joint.ratio.abs() * (1.0 + error)));
    Some(CrankDrive {
        ratio: joint.ratio,
        is_best: design.direct_joint.ratio == Wish::Best,
        ends,
        ratio_error: largest(1),
        angle_error: largest(0),
        magnitude: magnitude.filter(|[low, _]| *low > 0.0),
        crank_turns: turns,
        crank_reads: own.crank_reads,
        efficiency: own.efficiency(),
        locks_itself: own.locks_itself(),
    })
}

/// Pieces of a stroke, each bounded by itself.
const PIECES: u32 = 12;

/// Where the ratio error of every build certainly lies over the crank turns `turns`.
fn certified(front: &Front<'_>, turns: [f64; 2]) -> Option<Interval> {
    let ends: Vec<f64> = evenly(turns, PIECES).collect();
    let pieces = ends.windows(2).map(|ends| match *ends {
        [low, high] => Some(front.over(Interval::new(low, high))?.ratio),
        _ => None,
    });
    pieces.reduce(|a, b| Some(a?.hull(b?)))?
}

/// The stroke as the drive's file gives it, where that is the motor's: turns of the crank.
pub(super) fn wanted(design: &Design, front: Option<&JointDrive>) -> Result<[f64; 2], Vec<Fault>> {
    let given = [design.stroke.low, design.stroke.high];
    match front {
        Some(front) if design.stroke.by == StrokeBy::Motor => crank_turns(design, front, given),
        _ => Ok(given),
    }
}
