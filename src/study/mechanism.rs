//! The design's linkage on its branch, with its stroke.

use std::f64::consts::PI;

use nalgebra::Vector3;

use crate::design::{BodyMass, Design, Parameter, RobotJoint, StrokeBy, Wish};
use crate::diagnostic::Code;
use crate::dynamics::Moments;
use crate::equivalence::{Constants, DirectJoint};
use crate::linkage::{Branch, Closure, Drive, FourBar, LinkageFault, Stroke, Sweep};
use crate::units::{fixed, number};

use super::drive::{carrier_frame, rotor, seen};
use super::fault::Fault;
use super::findings::barrier_name;
use super::front;
use super::readings::Readings;

/// A design turned into a linkage that moves.
#[derive(Clone, Debug)]
pub struct Mechanism {
    /// The branch through the zero pose.
    pub branch: Branch,
    /// The stroke on it.
    pub stroke: Stroke,
    /// Which angle the stroke was given in.
    pub drive: Drive,
    /// The stroke as given: turns from the zero pose, ascending.
    pub range: [f64; 2],
    /// The constants asked for.
    pub constants: Constants,
    /// What motor and joint read at their turns.
    pub readings: Readings,
}

/// A `[zero] rocker` further than this from both solved angles is a fault; it only picks the closure.
const ROCKER_HINT: f64 = 10.0 * PI / 180.0;

impl Mechanism {
    /// As [`Mechanism::of`], without a word about slips that may have made the faults.
    pub(super) fn assembled(design: &Design) -> Result<Self, Vec<Fault>> {
        if let Some(fault) = rotor_beyond_carrier(design) {
            return Err(vec![fault]);
        }
        let geometry = &design.geometry;
        let bars = bars(design);
        let closure = closure(design, &bars).map_err(|f| vec![f])?;
        let branch = Branch::through(bars, geometry.zero_crank.nominal, closure)
            .map_err(|f| vec![zero_fault(design, &bars, f)])?;
        let drive = match design.stroke.by {
            StrokeBy::Joint => Drive::Joint,
            StrokeBy::Motor => Drive::Motor,
        };
        let front = front::drive(design)?;
        let range = front::wanted(design, front.as_deref())?;
        let readings = Readings::of(design).behind(front.clone());
        let stroke = follow(design, &readings, &branch, drive, range)?;
        if let Some(front) = &front {
            front::reaches(design, front, stroke.motor)?;
        }
        let given = |wish: Wish| match wish {
            Wish::Best => None,
            Wish::Given(value) => Some(value),
        };
        let constants = Constants {
            // Behind another drive the ratio is that drive's.
            ratio: given(design.direct_joint.ratio).filter(|_| front.is_none()),
            offset: given(design.direct_joint.offset),
        };
        Ok(Self { branch, stroke, drive, range, constants, readings })
    }
}

/// The four lengths as drawn.
pub(super) fn bars(design: &Design) -> FourBar {
    let geometry = &design.geometry;
    FourBar {
        ground: geometry.ground.nominal,
        crank: geometry.crank.nominal,
        coupler: geometry.coupler.nominal,
        rocker: geometry.rocker.nominal,
    }
}

impl Mechanism {
    /// The stroke with its stationary poses, and the direct joint over it.
    ///
    /// # Errors
    /// Where rounding denies a pose at the very end of the branch.
    pub fn sweep(&self) -> Result<(Sweep<'_>, DirectJoint), Fault> {
        let sweep = Sweep::over(&self.branch, self.stroke).map_err(|_| end_of_branch())?;
        let joint = self.constants.resolve(&sweep);
        Ok((sweep, joint))
    }
}

/// A carrier that is said to hold the rotor, though its own inertia about the motor axis is less than the rotor's.
fn rotor_beyond_carrier(design: &Design) -> Option<Fault> {
    let rotor = rotor(design).filter(|rotor| rotor.in_carrier)?;
    let carrier = design.mass.carrier.as_ref()?;
    let about = |robot: &RobotJoint| about_motor(design, robot, carrier);
    let least = design.robots.iter().filter_map(about).min_by(f64::total_cmp)?;
    (rotor.inertia > least).then(|| Fault {
        parameter: Parameter::RotorInertia,
        code: Code::RotorBeyondCarrier,
        message: "the rotor's inertia is larger than that of the carrier which is said to hold it".to_owned(),
        label: format!(
            "the carrier has {} kg m2 about the motor axis, rotor and all",
            number(least)
        ),
        help: "check the unit and whether the figure is that of the rotor itself, before the gearbox; or write rotor_in_carrier = false, if [mass.carrier] leaves the rotor out"
            .to_owned(),
    })
}

/// The carrier's own inertia about the motor axis on one robot, kg m².
fn about_motor(design: &Design, robot: &RobotJoint, carrier: &BodyMass) -> Option<f64> {
    let frame = carrier_frame(design, robot)?;
    let motor = Vector3::new(-design.geometry.ground.nominal, 0.0, 0.0);
    let moments = Moments::from(&seen(carrier, &frame)).about(motor);
    Some(moments.inertia.m33)
}

pub(super) fn end_of_branch() -> Fault {
    Fault {
        parameter: Parameter::StrokeFirst,
        code: Code::OutsideBranch,
        message: "the stroke touches the end of its branch".to_owned(),
        label: "within rounding of a crank limit or change point".to_owned(),
        help: "end the stroke a little earlier".to_owned(),
    }
}

fn closure(design: &Design, bars: &FourBar) -> Result<Closure, Fault> {
    let hint = design.geometry.zero_rocker;
    let zero = design.geometry.zero_crank.nominal;
    let (closure, solved) =
        Branch::nearest_closure(bars, zero, hint).map_err(|f| zero_fault(design, bars, f))?;
    let off = solved.map(|angle| libm::remainder(angle - hint, 2.0 * PI).abs());
    if off.iter().all(|o| *o > ROCKER_HINT) {
        let drawn = solved.map(|angle| as_drawn(design, angle));
        return Err(Fault {
            parameter: Parameter::ZeroRocker,
            code: Code::RockerFitsNeither,
            message: "the rocker angle fits neither assembly of the linkage".to_owned(),
            label: format!("the lengths put the rocker at {} or {}", drawn[0], drawn[1]),
            help: format!(
                "write the one that is drawn: rocker = \"{}\" or rocker = \"{}\"",
                drawn[0], drawn[1]
            ),
        });
    }
    Ok(closure)
}

/// An angle about the joint axis as the drawing has it, e.g. `31.20 deg`.
fn as_drawn(design: &Design, angle: f64) -> String {
    crate::units::angle(angle * design.drawing_sense(), 2)
}

fn zero_fault(design: &Design, bars: &FourBar, fault: LinkageFault) -> Fault {
    match fault {
        LinkageFault::CannotClose { crank, short } => cannot_close(design, bars, crank, short),
        _ => Fault {
            parameter: Parameter::ZeroCrank,
            code: Code::FlatZeroPose,
            message: "the zero pose is flat: coupler and rocker lie in line there, so that the assembly cannot be told"
                .to_owned(),
            label: "a change point or crank limit".to_owned(),
            help: "choose a zero pose with the crank well off the ground line, e.g. the middle of the stroke"
                .to_owned(),
        },
    }
}

fn cannot_close(design: &Design, bars: &FourBar, crank: f64, short: f64) -> Fault {
    let [short_by, needed] = [short.abs(), bars.coupler + short].map(|m| fixed(m * 1e3, 3));
    let (what, bound) = if short > 0.0 { ("short", "at least") } else { ("too long", "at most") };
    Fault {
        parameter: Parameter::Coupler,
        code: Code::LoopDoesNotClose,
        message: "the loop cannot close in the zero pose".to_owned(),
        label: format!("{what} by {short_by} mm at crank angle {}", as_drawn(design, crank)),
        help: format!(
            "a coupler of {bound} {needed} mm, a rocker changed by as much, or another [zero] crank angle"
        ),
    }
}

/// The stroke, or every end of it that cannot be reached.
fn follow(
    design: &Design,
    readings: &Readings,
    branch: &Branch,
    drive: Drive,
    range: [f64; 2],
) -> Result<Stroke, Vec<Fault>> {
    Stroke::on(branch, drive, range).map_err(|first| {
        let ends = range.map(|end| Stroke::on(branch, drive, [end, end]).err());
        let faults: Vec<Fault> =
            ends.into_iter().flatten().map(|fault| stroke_fault(design, readings, fault)).collect();
        if faults.is_empty() { vec![stroke_fault(design, readings, first)] } else { faults }
    })
}

fn stroke_fault(design: &Design, readings: &Readings, fault: LinkageFault) -> Fault {
    match fault {
        LinkageFault::MotorTurnOutOfReach { wanted, reach, barrier } => {
            unreachable_end(design, readings, "motor", wanted, reach, barrier.name())
        }
        LinkageFault::JointTurnOutOfReach { wanted, reach, barrier } => {
            unreachable_end(design, readings, "joint", wanted, reach, barrier_name(barrier))
        }
        LinkageFault::ZeroPoseIsDeadPoint => Fault {
            parameter: Parameter::ZeroCrank,
            code: Code::ZeroPoseIsDeadPoint,
            message: "crank and coupler are in line in the zero pose: a joint angle does not tell which way the crank goes"
                .to_owned(),
            label: "a dead point".to_owned(),
            help: "give the stroke as motor angles ([stroke] motor = [..]), or choose another zero pose".to_owned(),
        },
        LinkageFault::CannotClose { .. } | LinkageFault::FlatZeroPose => end_of_branch(),
    }
}

fn unreachable_end(
    design: &Design,
    readings: &Readings,
    angle: &str,
    wanted: f64,
    reach: f64,
    barrier: &str,
) -> Fault {
    let sense = design.drawing_sense();
    let written = |turn: f64| {
        let read = if angle == "motor" { readings.motor(turn) } else { readings.joint(turn) };
        crate::units::angle(read, 2)
    };
    // The user's first figure is the smaller turn as drawn.
    let first = (wanted * sense) < (reach * sense);
    Fault {
        parameter: if first { Parameter::StrokeFirst } else { Parameter::StrokeSecond },
        code: Code::OutsideBranch,
        message: format!("the stroke runs past a {barrier}"),
        label: format!("the linkage stops at {angle} angle {}", written(reach)),
        help: format!(
            "end the stroke before {}, or change the lengths; the branch is followed from the zero pose and never left",
            written(reach)
        ),
    }
}
