//! What a drive of two joints bears over its region at its motors' torques.

use serde::Serialize;

use crate::design::TwoJointDesign;
use crate::drive::DrawnLeg;
use crate::dynamics::{Bearings, LegLoad, LegLoadParts, Pin, Placed, two_joint_loads};

use super::super::bearing_parts;
use super::super::fault::Fault;
use super::super::findings::{BothAxes, OfRod};
use super::super::lacking::named;
use super::check::powers;
use super::{PIECES, TwoMotors};

/// Everything `loads` finds of two joints. Worst poses are computed, not proved; torques and speeds of every pose are certain.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "schema", rename = "unloop/loads_region/1")]
pub struct RegionLoads {
    /// The design's name.
    pub design: String,
    /// Whether the worst poses are proved: they are not.
    pub proved: bool,
    /// At the peak torque of both motors, where it is given.
    pub peak: Option<RegionDuty>,
    /// At the rated torque of both.
    pub rated: Option<RegionDuty>,
    /// What torques there are at peak.
    #[serde(rename = "torque_n_m")]
    pub torque: Option<BothAxes>,
    /// What speeds there are.
    #[serde(rename = "speed_rad_per_s")]
    pub speed: Option<BothAxes>,
    /// Tables that would tell more, named as in the file.
    pub missing: Vec<&'static str>,
    /// What both joints read in the zero pose, rad.
    #[serde(skip)]
    pub joint_reads: [f64; 2],
}

/// What rods and joint bear at one torque of both motors.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RegionDuty {
    /// Of each motor, N m.
    pub motor_torque_n_m: f64,
    /// Of each rod.
    pub rods: [RodDuty; 2],
    /// The largest force of both rods on the joints, N.
    pub joint_force_n: f64,
    /// Pitch and roll there, rad.
    pub joint_force_at_rad: [f64; 2],
}

/// What one rod bears.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RodDuty {
    /// The motor's name in the file.
    pub motor: String,
    /// The largest pull or thrust, N.
    pub force_n: f64,
    /// Pitch and roll there, rad.
    pub force_at_rad: [f64; 2],
    /// Its smallest arm about the motor, m; of a screw, travel per rad.
    pub smallest_arm_m: f64,
    /// In its cross-section, Pa.
    pub stress_pa: Option<f64>,
    /// Yield stress over stress.
    pub yield_margin: Option<f64>,
    /// Critical load over force, where it is longest.
    pub buckling_margin: Option<f64>,
    /// Its largest tilt in the ball at the crank.
    pub ball_tilt: Option<OfRod>,
}

impl RegionLoads {
    /// The duty that is told first: at peak torque, else at the rated one.
    #[must_use]
    pub fn leading(&self) -> Option<(&'static str, &RegionDuty)> {
        let peak = self.peak.as_ref().map(|duty| ("peak", duty));
        peak.or_else(|| self.rated.as_ref().map(|duty| ("rated", duty)))
    }
}

/// What the drive of `design` bears.
///
/// # Errors
/// Every fault of the design that keeps its drive from running over its region.
pub fn loads_of_two_joints(design: &TwoJointDesign) -> Result<RegionLoads, Vec<Fault>> {
    let of = TwoMotors::of(design)?;
    let actuator = design.actuator.as_ref();
    let duty = |torque: Option<f64>| torque.and_then(|torque| duty(design, &of, torque));
    let [torque, speed] = powers(design, &of);
    let missing = [
        (actuator.is_none_or(|a| a.peak_torque.is_none()), "[actuator] peak_torque"),
        (actuator.is_none_or(|a| a.max_speed.is_none()), "[actuator] max_speed"),
        (design.rod.is_none(), "[rod]"),
    ];
    Ok(RegionLoads {
        design: design.name.clone(),
        proved: false,
        peak: duty(actuator.and_then(|a| a.peak_torque)),
        rated: duty(actuator.and_then(|a| a.rated_torque)),
        torque,
        speed,
        missing: named(missing),
        joint_reads: design.joint_reads,
    })
}

fn duty(design: &TwoJointDesign, of: &TwoMotors, torque: f64) -> Option<RegionDuty> {
    let rod = design.rod.as_ref().map(bearing_parts::rod);
    let none = Pin { clearance: None, diameter: None, width: None };
    let bearings = Bearings { motor: none, crank: none, rocker: none, joint: none, friction: None };
    let parts = LegLoadParts { rod, bearings };
    let found = two_joint_loads(&of.drive, &of.grid(PIECES), [torque; 2], &[parts; 2]).ok()?;
    let rod = |k: usize, leg: &LegLoad| {
        // A screw's rod is its own, and no tube of [rod].
        let is_crank = matches!(design.drawing.legs.get(k), Some(DrawnLeg::Crank { .. }));
        let of_tube = |figure: Option<f64>| figure.filter(|_| is_crank);
        let tilt = leg.crank_tilt.map(|Placed { value, joints }| OfRod {
            angle: value,
            motor: k,
            at: joints,
        });
        RodDuty {
            motor: design.motors.get(k).map(|motor| motor.name.clone()).unwrap_or_default(),
            force_n: leg.force.value,
            force_at_rad: leg.force.joints,
            smallest_arm_m: leg.smallest_arm.value,
            stress_pa: of_tube(leg.stress),
            yield_margin: of_tube(leg.yield_margin),
            buckling_margin: of_tube(leg.buckling_margin),
            ball_tilt: tilt,
        }
    };
    let [one, two] = &found.legs;
    Some(RegionDuty {
        motor_torque_n_m: torque,
        rods: [rod(0, one), rod(1, two)],
        joint_force_n: found.joint_force.value,
        joint_force_at_rad: found.joint_force.joints,
    })
}
