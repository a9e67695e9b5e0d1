//! What more is known of each pose of the stroke where the design gives motor and masses.

use crate::design::{Design, Drawn};
use crate::drive::OneJoint as _;
use crate::dynamics::{
    DriveParts, JointStroke, drive_load_at, drive_mass_matrix, joint_inertia, load_at,
};
use crate::linkage::Pose;

use super::bearing_parts::{bearings, drive_parts};
use super::drive::{drive, missing_for_inertia};
use super::driven::Driven;
use super::findings::ZeroPose;
use super::mechanism::Mechanism;
use super::parts_in_space::PlacedParts;

/// Figures of one pose; `None` where the design does not give what they need.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PoseFigures {
    /// At the joint for the motor's peak torque, after friction in the pins, N m, signed as the ratio; 0 where they lock.
    pub torque: Option<f64>,
    /// Share of that torque which friction in pins and screw leaves; `None` where neither is given.
    pub left: Option<f64>,
    /// Of the joint at the motor's largest speed, rad/s; infinite at a crank limit.
    pub speed: Option<f64>,
    /// In the rod for the motor's peak torque, N: pull positive.
    pub rod_force: Option<f64>,
    /// Inertia at the joint with the carrier fixed, rotor included, kg m².
    pub inertia: Option<f64>,
}

/// What each pose of the stroke gives.
pub(super) fn of_poses(design: &Design, mechanism: &Mechanism) -> impl Fn(&Pose) -> PoseFigures {
    let actuator = design.actuator.as_ref();
    let peak = actuator.and_then(|a| a.peak_torque);
    let fastest = actuator.and_then(|a| a.max_speed);
    let branch = &mechanism.branch;
    let zero = ZeroPose::new(branch);
    let parts = drive(design, &zero).filter(|_| missing_for_inertia(design).is_empty());
    let bearings = bearings(design);
    move |pose| {
        let load = peak.map(|torque| load_at(pose, torque));
        let left = bearings.left(pose).max(0.0);
        // Where the rocker stands still torque and inertia have no bound.
        let stands_still = pose.transmission_ratio().is_infinite();
        let bounded = |figure: f64| if stands_still { f64::INFINITY } else { figure };
        PoseFigures {
            torque: load.map(|l| bounded(l.joint_torque * left)),
            left: bearings.friction.map(|_| left),
            speed: fastest.map(|speed| speed * pose.velocity_ratio().abs()),
            rod_force: load.map(|l| l.rod_tension),
            inertia: parts.as_ref().map(|d| bounded(joint_inertia(pose, &d.masses).joint)),
        }
    }
}

/// What each joint turn of the stroke of another drive gives.
pub(super) fn of_turns<'a>(
    design: &Design<Drawn>,
    driven: &'a Driven,
) -> impl Fn(f64) -> PoseFigures + use<'a> {
    let actuator = design.actuator.as_ref();
    let peak = actuator.and_then(|a| a.peak_torque);
    let fastest = actuator.and_then(|a| a.max_speed);
    let loads = drive_parts(design);
    let rubs = loads.screw_efficiency.is_some() || loads.parts.bearings.friction.is_some();
    let stroke = JointStroke::over(&driven.drive, driven.joint_turns()).ok();
    let parts = weighed_parts(design, driven);
    move |turn| {
        let ratio = driven.drive.motion(turn).map_or(f64::NAN, |motion| motion.ratio);
        let load = stroke.as_ref().and_then(|s| drive_load_at(s, &loads, turn, peak?));
        let matrix = |parts| drive_mass_matrix(stroke.as_ref()?, parts, turn).ok();
        PoseFigures {
            torque: load.map(|l| l.joint_torque),
            left: load.filter(|_| rubs).map(|l| l.left),
            speed: fastest.map(|speed| (speed / ratio).abs()),
            rod_force: load.and_then(|l| l.rod_tension),
            inertia: parts.as_ref().and_then(matrix).and_then(|m| m.get((6, 6)).copied()),
        }
    }
}

/// The bodies of the first drive, where all that an inertia figure needs is given.
fn weighed_parts(design: &Design<Drawn>, driven: &Driven) -> Option<DriveParts> {
    let placed = PlacedParts::of(design, driven).ok().filter(|parts| parts.missing.is_empty())?;
    placed.hung().first().map(|hung| hung.masses)
}
