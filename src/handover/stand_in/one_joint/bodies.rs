//! What crank, rod, housing, nut and rotor leave to the two links of a direct joint, in the links' own frames: the bodies that
//! the verdict weighed.

use crate::design::{MotorOn, RobotJoint};
use crate::drive::Kind;
use crate::dynamics::{
    DriveParts, JointStroke, Masses, MeasuredOver, Moments, Replacement, Tree, drive_fidelity,
    drive_replacement,
};
use crate::equivalence::HungDrive;
use crate::handover::fault::EmitFault;
use crate::study::{self, InertiaFindings, PlacedParts};

use super::super::bodies::Bodies;
use super::super::{Form, Plan};
use super::Asked;

/// The plans in the order of the joints.
///
/// # Errors
/// Of a whole model, where no real bodies can stand for the drive.
pub(in crate::handover) fn plans(request: &Asked<'_>) -> Result<Vec<Plan>, Vec<EmitFault>> {
    let robots = &request.design.robots;
    let parts = match all_parts(request) {
        Ok(parts) => parts,
        Err(why_not) => {
            return Ok(vec![Plan { bodies: None, why_not: Some(why_not) }; robots.len()]);
        }
    };
    let planned = robots.iter().map(|robot| match bodies(request, robot, &parts) {
        Ok(bodies) => Ok(Plan { bodies: Some(bodies), why_not: None }),
        Err(fault) if request.ask.whole => Err(vec![fault]),
        Err(fault) => Ok(Plan { bodies: None, why_not: Some(fault.to_string()) }),
    });
    planned.collect()
}

/// The parts of all drives, or why they are not split.
fn all_parts(request: &Asked<'_>) -> Result<PlacedParts, String> {
    if request.design.motor_on == MotorOn::Parent {
        return Err("the motor sits on the parent of the carrier".to_owned());
    }
    if request.ask.form == Form::Loop {
        return Err("a closed loop has its bodies as they are drawn".to_owned());
    }
    let parts = PlacedParts::of(request.design, request.mechanism).unwrap_or_default();
    // Without a rotor the verdict leaves inertia out; what the other parts add is known all the same.
    let has_rotor = parts.drives.iter().all(|(_, hung)| hung.masses.masses.rotor.is_some());
    if parts.drives.is_empty() || (request.check.inertia.is_none() && has_rotor) {
        return Err(match parts.missing[..] {
            [] => "nothing could be weighed over this stroke".to_owned(),
            ref missing => format!("needs {}", missing.join(", ")),
        });
    }
    Ok(parts)
}

fn bodies(
    request: &Asked<'_>,
    robot: &RobotJoint,
    parts: &PlacedParts,
) -> Result<Bodies, EmitFault> {
    let driven = request.mechanism;
    let stroke =
        JointStroke::over(&driven.drive, driven.joint_turns()).map_err(EmitFault::Dynamics)?;
    let frames = study::joint_frame_on(request.design, robot, &stroke).zip(study::child_frame_on(
        request.design,
        robot,
        &stroke,
    ));
    let (carrier, child) = frames.ok_or_else(unplaced)?;
    let hung = parts.drives.iter().find(|(name, _)| name.as_ref() == Some(&robot.joint));
    let (_, hung) = hung.ok_or_else(unplaced)?;
    let weighed = request.check.inertia.as_ref();
    let own = weighed.map(|weighed| weighed_drive(weighed, robot)).transpose()?;
    let found = match own {
        Some(own) if !tendon_has_rotor(request) => own.replacement,
        _ => beside_rotor(&stroke, parts, hung)?,
    };
    Ok(Bodies {
        carrier: found.carrier_patch.seen_from(&carrier),
        child: found.child_patch.seen_from(&child),
        armature: found.tree.armature,
        kept: None,
        direct_error: own.zip(weighed).map(|(own, weighed)| {
            let plain = as_they_stand(&stroke, &hung.masses, weighed);
            [(own.over, own.error.value), plain]
        }),
    })
}

/// The motor's inertia stands on a tendon, where it is exact.
fn tendon_has_rotor(request: &Asked<'_>) -> bool {
    let is_actuator = request.design.geometry.drawing.kind() == Kind::LinearActuator;
    request.ask.form == Form::Coupled && is_actuator
}

/// What all but a rotor leaves to the two links and the joint.
fn beside_rotor(
    stroke: &JointStroke<'_>,
    parts: &PlacedParts,
    hung: &HungDrive<DriveParts>,
) -> Result<Replacement, EmitFault> {
    let masses = Masses { rotor: None, ..hung.masses.masses };
    let among = parts.drives.iter().filter(|(_, other)| other.link == hung.link).count();
    let among = u32::try_from(among).unwrap_or(u32::MAX);
    drive_replacement(stroke, &DriveParts { masses, ..hung.masses }, among)
        .map_err(EmitFault::Dynamics)
}

fn weighed_drive<'a>(
    weighed: &'a InertiaFindings,
    robot: &RobotJoint,
) -> Result<&'a study::DriveInertia, EmitFault> {
    match &weighed.drives {
        Err(fault) => Err(EmitFault::Dynamics(*fault)),
        Ok(_) => weighed.of_joint(&robot.joint).ok_or_else(unplaced),
    }
}

/// Largest error of kinetic energy, and over which motions, between bodies that nothing was done to, with n²J alone.
fn as_they_stand(
    stroke: &JointStroke<'_>,
    parts: &DriveParts,
    weighed: &InertiaFindings,
) -> (MeasuredOver, f64) {
    let masses = &parts.masses;
    let tree = Tree {
        carrier: masses.carrier.as_ref().map(Moments::from).unwrap_or_default(),
        child: Moments::from(&masses.child),
        armature: weighed.plain_armature,
    };
    let (over, worst) = drive_fidelity(stroke, parts, &tree).headline();
    (over, worst.value)
}

fn unplaced() -> EmitFault {
    EmitFault::Missing {
        key: "[[robot]] motor_at",
        needed_for:
            "the mass figures stand in the drawing's frame, which nothing places on the robot"
                .into(),
        help: "add motor_at, or give the points in the carrier's own frame".into(),
    }
}
