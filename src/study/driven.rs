//! The drive of a design that is no planar four-bar, with its stroke.

use crate::design::{Design, Drawn, Parameter, StrokeBy, Wish};
use crate::diagnostic::Code;
use crate::drive::{DriveFault, JointDrive, OneJoint, StopKind};
use crate::equivalence::{Constants, DirectJoint};
use crate::linkage::Stroke;
use crate::units::{fixed, number};

use super::fault::Fault;
use super::readings::Readings;

/// A design turned into a drive that moves.
#[derive(Clone, Debug)]
pub struct Driven {
    /// The drive from its zero pose.
    pub drive: JointDrive,
    /// The stroke on it: joint turns ascending with their motor turns, as [`Stroke`] pairs them.
    pub stroke: Stroke,
    /// Which angle the stroke was given in.
    pub by: StrokeBy,
    /// The constants asked for.
    pub constants: Constants,
    /// What motor and joint read at their turns.
    pub readings: Readings,
}

impl Driven {
    /// The drive that `design` draws.
    ///
    /// # Errors
    /// Every fault that keeps it from running over its stroke.
    pub fn of(design: &Design<Drawn>) -> Result<Self, Vec<Fault>> {
        let drive = design.geometry.drawing.drive().map_err(|fault| vec![zero_fault(fault)])?;
        let stroke = follow(design, &drive)?;
        let given = |wish: Wish| match wish {
            Wish::Best => None,
            Wish::Given(value) => Some(value),
        };
        let wished = &design.direct_joint;
        Ok(Self {
            drive,
            stroke,
            by: design.stroke.by,
            constants: Constants { ratio: given(wished.ratio), offset: given(wished.offset) },
            readings: Readings::of(design),
        })
    }

    /// The same over other joint turns, ascending, rad; where one cannot be reached its motor turn is NaN.
    #[must_use]
    pub fn over(&self, turns: [f64; 2]) -> Self {
        let motor = turns.map(|turn| self.drive.motor_turn(turn).unwrap_or(f64::NAN));
        let [[a, b], [p, q]] = [motor, turns];
        let stroke = if a <= b {
            Stroke { motor, joint: turns }
        } else {
            Stroke { motor: [b, a], joint: [q, p] }
        };
        Self { stroke, ..self.clone() }
    }

    /// The joint turns of the stroke, ascending, rad.
    #[must_use]
    pub fn joint_turns(&self) -> [f64; 2] {
        let [a, b] = self.stroke.joint;
        [a.min(b), a.max(b)]
    }

    /// The direct joint over the stroke: the constants asked for, those with the smallest worst angle error for the others.
    #[must_use]
    pub fn direct_joint(&self) -> DirectJoint {
        let motor = |joint: f64| self.drive.motor_turn(joint).unwrap_or(f64::NAN);
        let found = self.constants.over_joint_turns(&motor, self.joint_turns());
        found.unwrap_or(DirectJoint { ratio: f64::NAN, offset: f64::NAN })
    }
}

/// The stroke, or every end of it that cannot be reached.
fn follow(design: &Design<Drawn>, drive: &JointDrive) -> Result<Stroke, Vec<Fault>> {
    let range = [design.stroke.low, design.stroke.high];
    let ends = range.map(|end| match design.stroke.by {
        StrokeBy::Joint => drive.motor_turn(end).map(|motor| [motor, end]),
        StrokeBy::Motor => drive.joint_turn(end).map(|joint| [end, joint]),
    });
    let [first, second] = ends;
    match (first, second) {
        (Ok(first), Ok(second)) => {
            let [low, high] = if first[0] <= second[0] { [first, second] } else { [second, first] };
            Ok(Stroke { motor: [low[0], high[0]], joint: [low[1], high[1]] })
        }
        (first, second) => {
            let faults = [(first, 0), (second, 1)].into_iter();
            Err(faults
                .filter_map(|(end, k)| Some(end_fault(design, end.err()?, range, k)))
                .collect())
        }
    }
}

pub(super) fn zero_fault(fault: DriveFault) -> Fault {
    let (code, label, help) = match fault {
        DriveFault::ZeroPoseIsStop(StopKind::DeadPoint) => (
            Code::ZeroPoseIsDeadPoint,
            "a dead point",
            "choose another zero pose: there the joint does not tell which way the motor goes",
        ),
        DriveFault::ZeroPoseIsStop(_) => (
            Code::FlatZeroPose,
            "a stop",
            "choose a zero pose well inside the stroke: at a stop the assembly cannot be told",
        ),
        DriveFault::CannotReach { missing, .. } => return cannot_reach(missing),
        _ => (
            Code::LoopDoesNotClose,
            "cannot be followed from there",
            "check the points and axes of the zero pose",
        ),
    };
    Fault {
        parameter: Parameter::Drive,
        code,
        message: format!("the drive has no zero pose: {fault}"),
        label: label.to_owned(),
        help: help.to_owned(),
    }
}

fn cannot_reach(missing: f64) -> Fault {
    let side = if missing > 0.0 { "short" } else { "long" };
    Fault {
        parameter: Parameter::Drive,
        code: Code::LoopDoesNotClose,
        message: "the rod does not reach in the zero pose".to_owned(),
        label: format!("{} mm too {side}", fixed(missing.abs() * 1e3, 3)),
        help: "change the rod by that much, or the zero pose".to_owned(),
    }
}

fn end_fault(design: &Design<Drawn>, fault: DriveFault, range: [f64; 2], end: usize) -> Fault {
    let sense = design.drawing_sense();
    // The user's first figure is the smaller turn as drawn.
    let first = (end == 0) == (sense > 0.0);
    let parameter = if first { Parameter::StrokeFirst } else { Parameter::StrokeSecond };
    let (reads, reach, stop, angle) = match fault {
        DriveFault::JointOutOfReach { reach, stop, .. } => {
            (design.joint_reads, Some(reach), stop.name(), "joint")
        }
        DriveFault::MotorOutOfReach { reach, stop, .. } => {
            (design.motor_reads, Some(reach), stop.name(), "motor")
        }
        _ => (0.0, None, "stop", "joint"),
    };
    let written = |turn: f64| crate::units::angle(reads + sense * turn, 2);
    match reach {
        Some(reach) => Fault {
            parameter,
            code: Code::OutsideBranch,
            message: format!("the stroke runs past a {stop}"),
            label: format!("the drive stops at {angle} angle {}", written(reach)),
            help: format!(
                "end the stroke before {}, or change the lengths; the drive is followed from the zero pose and never left",
                written(reach)
            ),
        },
        None => Fault {
            parameter,
            code: Code::OutsideBranch,
            message: format!("the stroke cannot be followed to its end: {fault}"),
            label: format!(
                "at a turn of {} rad",
                number(if end == 0 { range[0] } else { range[1] })
            ),
            help: "end the stroke earlier, or change the lengths".to_owned(),
        },
    }
}
