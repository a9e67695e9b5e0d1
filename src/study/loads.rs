//! What the drive of one design bears over its stroke.

use serde::{Serialize, Serializer};

use crate::design::{self, Design, Drawn};
use crate::diagnostic::Code;
use crate::drive::{JointDrive, OneJoint};
use crate::dynamics::{self, DynamicsFault, JointStroke, MonotoneStroke, drive_loads};
use crate::linkage::Branch;

use super::bearing_parts::{drive_parts, parts};
use super::driven::Driven;
use super::fault::Fault;
use super::findings::{motor_turns, views};
use super::finger_loads::{self, FingerLoads};
use super::lacking::{named, of_motor, of_pins};
use super::mechanism::Mechanism;
use super::notes::in_words;
use super::readings::Beside;
use super::readings::Readings;
use super::{standing, transmitted};

/// Loads over the stroke. All worst poses are computed, not proved.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "schema", rename = "unloop/loads/1", remote = "Self")]
pub struct LoadFindings {
    /// The design's name.
    pub design: String,
    /// Whether the worst poses are proved: they are not.
    pub proved: bool,
    /// What was found.
    #[serde(flatten)]
    pub borne: Borne,
    /// Motor and joint turns that belong together at the worst poses: [`LoadFindings::joint_at`] looks up here.
    #[serde(skip)]
    followed: Followed,
    #[serde(skip)]
    readings: Readings,
    /// Motor turns of the stroke, those of the crank behind another drive, ascending, rad.
    #[serde(skip)]
    stroke: [f64; 2],
    /// Torque and speed of the joint hold for every linkage within the drawn tolerances; all else is of the drawn one.
    #[serde(skip)]
    pub over_tolerance: bool,
    /// Tables that would tell more, named as in the file.
    pub missing: Vec<&'static str>,
    /// The joints between the carrier and the link that bears the motor, at which the motor's own torque acts as well.
    #[serde(rename = "motor_torque_also_at", skip_serializing_if = "Vec::is_empty")]
    pub parent_joints: Vec<String>,
}

fn parent_joints<G>(design: &Design<G>) -> Vec<String> {
    let parents = design.robots.iter().filter_map(|robot| robot.parent_joint.as_ref());
    parents.map(|parent| parent.joint.clone()).collect()
}

/// What tells the joint turn at a motor turn.
#[derive(Clone, Debug)]
enum Followed {
    /// A planar four-bar.
    Branch(Box<Branch>),
    /// Another drive.
    Drive(Box<JointDrive>),
}

impl Followed {
    fn joint_turn(&self, motor: f64) -> Option<f64> {
        match self {
            Self::Branch(branch) => branch.joint_turn(motor).ok(),
            Self::Drive(drive) => drive.joint_turn(motor).ok(),
        }
    }
}

/// What the drive of a joint bears, or a gripper's finger.
#[derive(Clone, Debug)]
pub enum Borne {
    /// The drive of a joint.
    Joint(dynamics::Loads),
    /// A finger whose pad rides on the coupler.
    Finger(FingerLoads),
}

/// The keys of a joint's loads, which a finger has none of.
#[derive(Default, Serialize)]
struct NoJoint {
    smallest_rod_arm_m: (),
    joint_speed_rad_per_s: (),
    peak: (),
    rated: (),
    buckling: (),
    lost_motion_rad: (),
    rod_stiffness_n_m_per_rad: (),
    pin_efficiency: (),
}

impl Serialize for Borne {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Keys<'a, T> {
            #[serde(flatten)]
            joint: T,
            finger: Option<&'a FingerLoads>,
        }
        match self {
            Self::Joint(joint) => Keys { joint, finger: None }.serialize(serializer),
            Self::Finger(finger) => {
                Keys { joint: NoJoint::default(), finger: Some(finger) }.serialize(serializer)
            }
        }
    }
}

impl LoadFindings {
    /// What the drive of a joint bears; `None` for a finger.
    #[must_use]
    pub fn joint(&self) -> Option<&dynamics::Loads> {
        match &self.borne {
            Borne::Joint(loads) => Some(loads),
            Borne::Finger(_) => None,
        }
    }

    /// What a finger grips with and bears; `None` for a joint.
    #[must_use]
    pub fn finger(&self) -> Option<&FingerLoads> {
        match &self.borne {
            Borne::Joint(_) => None,
            Borne::Finger(finger) => Some(finger),
        }
    }

    /// What motor and joint read at their turns.
    #[must_use]
    pub fn readings(&self) -> &Readings {
        &self.readings
    }

    /// What the motor reads at a motor turn, rad.
    #[must_use]
    pub fn motor_reading_at(&self, turn: f64) -> f64 {
        self.readings.motor(turn)
    }

    /// What the joint reads at a motor turn, rad.
    #[must_use]
    pub fn joint_reading_at(&self, turn: f64) -> f64 {
        self.readings.joint(self.joint_at(turn))
    }

    /// The joint turn at a motor turn, rad.
    #[must_use]
    pub fn joint_at(&self, turn: f64) -> f64 {
        self.followed.joint_turn(turn).unwrap_or(f64::NAN)
    }
}

/// With the joint turn beside the motor turn of each worst pose.
impl Serialize for LoadFindings {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let joint_at = |key: &str| -> Option<Beside<'_>> {
            let is_place = key == "at_motor_rad";
            is_place.then(|| ("at_joint_rad".into(), Box::new(|turn| self.joint_at(turn)) as _))
        };
        let found = Self::serialize(self, serde_json::value::Serializer);
        let mut found = views::with_beside(found, &joint_at);
        motor_turns::with_motor_turns(&mut found, &self.readings, self.stroke);
        found.serialize(serializer)
    }
}

/// The loads of `design`.
///
/// # Errors
/// Every fault of the design that keeps its linkage from running over its stroke, a dead point inside it included.
pub(super) fn loads_of_linkage(design: &Design) -> Result<LoadFindings, Vec<Fault>> {
    let mechanism = Mechanism::of(design)?;
    if let Some(finger) = finger_loads::finger_loads(design, &mechanism)? {
        let missing = finger_loads::missing(design);
        return Ok(findings(design, mechanism, Borne::Finger(finger), missing, false));
    }
    let stroke = MonotoneStroke::over(&mechanism.branch, mechanism.stroke)
        .map_err(|f| vec![dead_point(&f)])?;
    if mechanism.sweep().is_ok_and(|(_, joint)| standing::has_no_ratio(&joint)) {
        return Err(vec![standing_still()]);
    }
    let allowed = transmitted::judged(design, &mechanism).map_err(|fault| vec![fault])?;
    let found = Borne::Joint(dynamics::loads(&stroke, &parts(design, allowed)));
    Ok(findings(design, mechanism.clone(), found, missing(design), allowed.is_some()))
}

fn findings(
    design: &Design,
    mechanism: Mechanism,
    borne: Borne,
    missing: Vec<&'static str>,
    over_tolerance: bool,
) -> LoadFindings {
    LoadFindings {
        design: design.name.clone(),
        proved: false,
        borne,
        over_tolerance,
        missing,
        parent_joints: parent_joints(design),
        followed: Followed::Branch(Box::new(mechanism.branch)),
        stroke: mechanism.stroke.motor,
        readings: mechanism.readings,
    }
}

/// The loads of a design that is no planar four-bar.
///
/// # Errors
/// Every fault of the design that keeps its drive from running over its stroke.
pub(super) fn loads_of_drive(design: &Design<Drawn>) -> Result<LoadFindings, Vec<Fault>> {
    let driven = Driven::of(design)?;
    let stroke = JointStroke::over(&driven.drive, driven.joint_turns())
        .map_err(|fault| vec![dead_point(&fault)])?;
    Ok(LoadFindings {
        design: design.name.clone(),
        proved: false,
        borne: Borne::Joint(drive_loads(&stroke, &drive_parts(design))),
        over_tolerance: false,
        missing: drive_missing(design, &driven.drive),
        parent_joints: parent_joints(design),
        stroke: driven.stroke.motor,
        readings: driven.readings,
        followed: Followed::Drive(Box::new(driven.drive)),
    })
}

/// What would tell more of this drive: no rod and pins of a belt, or of a series, whose stages have their own.
fn drive_missing(design: &Design<Drawn>, drive: &JointDrive) -> Vec<&'static str> {
    let has_rod = matches!(drive, JointDrive::Rod(_));
    let common = missing(design);
    let apt = common.into_iter().filter(|name| has_rod || name.starts_with("[actuator]"));
    let screw = design.geometry.screw.as_ref();
    let of_screw = [
        (screw.is_some_and(|s| s.efficiency.is_none()), "[screw] efficiency"),
        (screw.is_some_and(|s| s.mean_diameter.is_none()), "[screw] mean_diameter"),
    ];
    apt.chain(named(of_screw)).collect()
}

fn dead_point(fault: &DynamicsFault) -> Fault {
    Fault {
        parameter: design::Parameter::StrokeFirst,
        code: Code::DeadPointInStroke,
        message: "the loads have no bound over this stroke".to_owned(),
        label: in_words(fault),
        help: "end the stroke short of it".to_owned(),
    }
}

fn standing_still() -> Fault {
    Fault {
        parameter: design::Parameter::StrokeFirst,
        code: Code::RockerStandsStill,
        message: "the loads have no bound over this stroke".to_owned(),
        label: "the rocker stands still: it comes to no turn over the stroke".to_owned(),
        help: "is the zero pose on the assembly that moves, and is each length in its place?"
            .to_owned(),
    }
}

fn missing<G>(design: &Design<G>) -> Vec<&'static str> {
    let rod = design.rod.as_ref();
    let of_rod = [
        (rod.is_none(), "[rod]"),
        (rod.is_some_and(|r| r.modulus.is_none()), "[rod] modulus"),
        (rod.is_some_and(|r| r.yield_stress.is_none()), "[rod] yield"),
    ];
    let motor = of_motor(design.actuator.as_ref());
    named(motor.into_iter().chain(of_rod).chain(of_pins(&design.pins)))
}
