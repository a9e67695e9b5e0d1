//! What the drive in front of a gripper's finger does to it: the constant that stands for it, all its builds, torque and speed.

use crate::design::{self, Design, Wish};
use crate::drive::{JointDrive, OneJoint as _, Series};
use crate::equivalence::{Basis, Constants, DirectJoint, DriveLimits, DriveQuestion, Front};
use crate::numeric::{Interval, even_pieces, peaks};

use super::family::{drawn_ranges, limits, zeroing};
use super::fault::Fault;
use super::findings::CrankDrive;
use super::front::Shared;
use super::mechanism::Mechanism;

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
            drawing: &front.drawing,
            drive,
            turns: self.stroke.motor,
            joint,
            limits: DriveLimits {
                motion: limits(design),
                ball_tilt: accept.ball_tilt,
                crank_side: accept.crank_side,
            },
            basis,
            sizes: drawn_ranges(|| front.sizes(), basis),
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
    let pieces = even_pieces(turns, PIECES).map(|piece| Some(front.over(piece)?.ratio));
    pieces.reduce(|a, b| Some(a?.hull(b?)))?
}
