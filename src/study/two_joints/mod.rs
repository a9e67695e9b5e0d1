//! Two motors with a rod each on pitch and roll: the drive of a design over its region, and what stands for it.

mod check;
mod course;
mod inertia;
mod loads;
mod parts;
mod region_rows;
mod tolerance;
mod words;

pub use check::{check_two_joints, check_two_motors};
pub use course::{CoursePose, MAP_POSES, RegionCourse, region_course};
pub use loads::{RegionDuty, RegionLoads, RodDuty, loads_of_two_joints};
pub use parts::{link_frames, two_joint_bodies, two_joint_parts};
pub use region_rows::{RegionRow, region_rows};
pub use tolerance::{
    RankedSize, RegionRanges, RegionScatter, RegionTolerance, RegionWorstCase, ScatteredFigure,
    WorstBuild, WorstFigure, ranges_of_two_joints, tolerance_of_two_joints,
};
pub use words::{at as at_joints, claim as claim_over_region, over as over_joints};

use nalgebra::Matrix2;

use crate::design::{MatrixWish, Parameter, TwoJointDesign};
use crate::diagnostic::Code;
use crate::drive::{Direct, DrawnLeg, DriveFault, Place, Region, TwoRods, TwoRodsPose};
use crate::numeric::evenly;
use crate::units::{angle, fixed, millimetres};

use super::fault::Fault;

/// Pieces of each range on which plain figures are looked at.
const PIECES: u32 = 24;

/// A design of two joints turned into a drive that moves.
#[derive(Clone, Debug)]
pub struct TwoMotors {
    /// The drive from its zero pose.
    pub drive: TwoRods,
    /// The region: turns of pitch and roll from the zero pose, ascending, rad.
    pub region: [[f64; 2]; 2],
    /// The constant matrix that is to stand in.
    pub direct: Direct,
}

impl TwoMotors {
    /// The drive that `design` draws, with the matrix that it asks for.
    ///
    /// # Errors
    /// Every fault that keeps it from running over its region.
    pub fn of(design: &TwoJointDesign) -> Result<Self, Vec<Fault>> {
        let drive = design.drawing.drive().map_err(|fault| vec![zero_fault(design, fault)])?;
        let region = design.region;
        let unreached = reach(design, &drive);
        if !unreached.is_empty() {
            return Err(unreached);
        }
        let grid = Region { pitch: region[0], roll: region[1], pieces: PIECES };
        let direct = match design.matrix {
            MatrixWish::Best => Direct::best(&drive, &grid),
            MatrixWish::ZeroPose => Direct::zero_pose(&drive),
            MatrixWish::Diagonal => Direct::diagonal(&drive, &grid),
            MatrixWish::Given([[a, b], [c, d]]) => {
                let none = DriveFault::Undetermined("the matrix has no inverse");
                Direct::new(Matrix2::new(a, b, c, d)).ok_or(none)
            }
        };
        let direct = direct.map_err(|fault| vec![no_matrix(fault)])?;
        Ok(Self { drive, region, direct })
    }
}

impl TwoMotors {
    /// The region in so many pieces of each range.
    #[must_use]
    pub fn grid(&self, pieces: u32) -> Region {
        let [pitch, roll] = self.region;
        Region { pitch, roll, pieces }
    }
}

/// What keeps the rods from running over the region, told once for each motor. The straight ways to its edges pass every part of
/// it.
fn reach(design: &TwoJointDesign, drive: &TwoRods) -> Vec<Fault> {
    let [pitch, roll] = design.region;
    let poses = evenly(pitch, PIECES).flat_map(|p| evenly(roll, PIECES).map(move |r| [p, r]));
    let mut told = [None, None];
    for joints in poses {
        let is_at_edge = pitch.contains(&joints[0]) || roll.contains(&joints[1]);
        let followed = if is_at_edge { drive.motor_turns(joints).map(|_| ()) } else { Ok(()) };
        let fault = match followed {
            Ok(()) => beyond_length(design, drive, joints),
            Err(fault) => Some((rod_of(&fault), out_of_reach(design, joints, &fault))),
        };
        if let Some((rod, fault)) = fault
            && let Some(slot) = told.get_mut(rod)
        {
            slot.get_or_insert(fault);
        }
    }
    told.into_iter().flatten().collect()
}

fn rod_of(fault: &DriveFault) -> usize {
    if let DriveFault::CannotReach { rod, .. } = fault { *rod } else { 0 }
}

fn at(design: &TwoJointDesign, [pitch, roll]: [f64; 2]) -> String {
    let [p, r] = design.joint_reads;
    format!("pitch {}, roll {}", angle(pitch + p, 1), angle(roll + r, 1))
}

fn out_of_reach(design: &TwoJointDesign, joints: [f64; 2], fault: &DriveFault) -> Fault {
    let place = at(design, joints);
    let (message, label) = match fault {
        DriveFault::CannotReach { rod, missing, .. } => {
            let name = design.motors.get(*rod).map_or("", |motor| motor.name.as_str());
            let side = if *missing > 0.0 { "short" } else { "long" };
            let message = format!("the rod of motor {name} does not reach at {place}");
            (message, format!("{} too {side} there", millimetres(missing.abs())))
        }
        _ => (
            format!("the motors cannot be followed to {place}"),
            "a rod comes in line with its crank on the way".to_owned(),
        ),
    };
    Fault {
        parameter: Parameter::StrokePitch,
        code: Code::OutsideBranch,
        message,
        label,
        help: "narrow the stroke of pitch or roll, or correct points and lengths".to_owned(),
    }
}

/// How long each linear actuator is along its slide line, m.
fn lengths(pose: &TwoRodsPose) -> [Option<f64>; 2] {
    pose.rods.map(|rod| if let Place::Length(length) = rod.place { Some(length) } else { None })
}

/// A linear actuator that would have to be shorter or longer than it can.
fn beyond_length(
    design: &TwoJointDesign,
    drive: &TwoRods,
    joints: [f64; 2],
) -> Option<(usize, Fault)> {
    let lengths = lengths(&drive.pose(joints).ok()?);
    let legs = design.drawing.legs.iter().zip(lengths).zip(&design.motors);
    for (rod, ((leg, length), motor)) in legs.enumerate() {
        let (DrawnLeg::Actuator { lengths: Some([shortest, longest]), .. }, Some(length)) =
            (leg, length)
        else {
            continue;
        };
        if (*shortest..=*longest).contains(&length) {
            continue;
        }
        let fault = Fault {
            parameter: Parameter::StrokePitch,
            code: Code::OutsideBranch,
            message: format!("the actuator {} does not reach {}", motor.name, at(design, joints)),
            label: format!("it would be {} mm long", fixed(1e3 * length, 1)),
            help: format!(
                "it goes from {} to {}: narrow the stroke of pitch or roll, or correct points and lengths",
                millimetres(*shortest),
                millimetres(*longest)
            ),
        };
        return Some((rod, fault));
    }
    None
}

fn zero_fault(design: &TwoJointDesign, fault: DriveFault) -> Fault {
    let mut told = super::driven::zero_fault(fault);
    if let DriveFault::CannotReach { rod, .. } = fault
        && let Some(motor) = design.motors.get(rod)
    {
        told.message = format!("motor {}: {}", motor.name, told.message);
    }
    told
}

fn no_matrix(fault: DriveFault) -> Fault {
    Fault {
        parameter: Parameter::Matrix,
        code: Code::NotEquivalent,
        message: format!("no constant matrix can stand for both motors: {fault}"),
        label: "no such matrix".to_owned(),
        help: "choose a zero pose in which each motor turns the joints in its own way, or give the matrix".to_owned(),
    }
}
