//! What crank, rod, housing, nut and rotor leave to the two links, in the links' own frames: of a direct joint the bodies that
//! the verdict weighed, of a file that keeps the motor's side those that go.

use nalgebra::Isometry3;

use crate::design::{MotorOn, RobotJoint};
use crate::drive::InputEnd;
use crate::dynamics::{
    Body, Coupling, DriveParts, Fidelity, Fit, JointStroke, Masses, MeasuredOver, Moments,
    Replacement, RodAtPins, Tree, coupled_fidelity, drive_fidelity, drive_replacement,
    tendon_fidelity,
};
use crate::handover::fault::EmitFault;
use crate::study::{self, DriveInertia, InertiaFindings, PlacedParts};

use super::super::bodies::{Bodies, FitCost};
use super::super::{Form, Plan};
use super::{Asked, built, fitted};

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
    let hung = parts.drives.iter().find(|(name, _)| name.as_ref() == Some(&robot.joint));
    let parts = hung.map(|(_, hung)| hung.masses).ok_or_else(unplaced)?;
    let seat = Seat { request, robot, stroke: &stroke, parts };
    let weighed = request.check.inertia.as_ref();
    let own = weighed.map(|weighed| weighed_drive(weighed, robot)).transpose()?;
    let left = match (request.ask.form, own) {
        (Form::Coupled, _) => seat.left_by_coupled(own)?,
        (Form::Direct | Form::Loop, Some(own)) => Left::replaced(&own.replacement, None),
        (Form::Direct | Form::Loop, None) => Left::replaced(&seat.beside_rotor()?, None),
    };
    let [carrier, child] = seat.frames()?;
    Ok(Bodies {
        carrier: left.carrier.seen_from(&carrier),
        child: left.child.seen_from(&child),
        armature: left.armature,
        kept: None,
        direct_error: own.zip(weighed).map(|(own, weighed)| {
            let plain = as_they_stand(&stroke, &seat.parts, weighed);
            [(own.over, own.error.value), plain]
        }),
        own_error: left.own_error,
        other_fit: left.other_fit,
    })
}

/// What goes leaves this to those that stay: in the joint frame, in the child's, on the driven joint.
struct Left {
    carrier: Moments,
    child: Moments,
    armature: f64,
    own_error: Option<(MeasuredOver, f64)>,
    other_fit: Option<FitCost>,
}

impl Left {
    fn replaced(found: &Replacement, error: Option<&Fidelity>) -> Self {
        Self {
            carrier: found.carrier_patch,
            child: found.child_patch,
            armature: found.tree.armature,
            own_error: error.map(headline),
            other_fit: None,
        }
    }
}

fn headline(error: &Fidelity) -> (MeasuredOver, f64) {
    let (over, worst) = error.headline();
    (over, worst.value)
}

/// The drive's parts on one robot.
struct Seat<'a> {
    request: &'a Asked<'a>,
    robot: &'a RobotJoint,
    stroke: &'a JointStroke<'a>,
    parts: DriveParts,
}

impl Seat<'_> {
    /// The joint frame in the parent's link, and the child's frame in its own.
    fn frames(&self) -> Result<[Isometry3<f64>; 2], EmitFault> {
        let Self { request, robot, stroke, .. } = *self;
        let carrier = study::joint_frame_on(request.design, robot, stroke);
        let child = study::child_frame_on(request.design, robot, stroke);
        carrier.zip(child).map(<[_; 2]>::from).ok_or_else(unplaced)
    }

    fn left_by_coupled(&self, direct: Option<&DriveInertia>) -> Result<Left, EmitFault> {
        let input = built(self.request.design).map(|built| built.input);
        match (input, direct) {
            (Some(InputEnd::Crank { .. }), _) => self.left_by_rod(),
            (Some(InputEnd::Slide { .. }), Some(direct)) => {
                let found = &direct.replacement;
                let error = drive_fidelity(self.stroke, &self.parts, &found.tree);
                Ok(Left::replaced(found, Some(&error)))
            }
            _ => self.left_beside_tendon(),
        }
    }

    /// What all but the rotor leaves to the two links and the joint.
    fn beside_rotor(&self) -> Result<Replacement, EmitFault> {
        let masses = Masses { rotor: None, ..self.parts.masses };
        let among = study::joints_on(self.request.design, Some(self.robot));
        drive_replacement(self.stroke, &DriveParts { masses, ..self.parts }, among)
            .map_err(EmitFault::Dynamics)
    }

    /// Housing and nut; the rotor, where there is one, stays on the tendon.
    fn left_beside_tendon(&self) -> Result<Left, EmitFault> {
        let found = self.beside_rotor()?;
        let error = tendon_fidelity(self.stroke, &self.parts, &found.tree);
        Ok(Left::replaced(&found, Some(&error)))
    }

    /// The rod, beside a crank that stays.
    fn left_by_rod(&self) -> Result<Left, EmitFault> {
        let rod = self.parts.masses.coupler.ok_or_else(no_rod)?;
        let rod = rod_at_pins(self.stroke, &rod)?;
        let fit = self.request.ask.fit;
        let [own, other] = [fit, fit.other()].map(|fit| self.tied(&rod, fit));
        let (_, own_error) = own?;
        let (coupling, (_, inertia_error)) = other?;
        let other_fit = FitCost {
            fit: fit.other().name(),
            angle_error_rad: coupling.angle_error.value,
            torque_error: coupling.ratio_error.value,
            inertia_error,
        };
        Ok(Left {
            carrier: rod.carrier,
            child: Moments::from(&rod.child),
            armature: 0.0,
            own_error: Some(own_error),
            other_fit: Some(other_fit),
        })
    }

    fn tied(
        &self,
        rod: &RodAtPins,
        fit: Fit,
    ) -> Result<(Coupling, (MeasuredOver, f64)), EmitFault> {
        let coupling = fitted(self.request, fit)?;
        let error = coupled_fidelity(self.stroke, &self.parts, (rod, &coupling));
        Ok((coupling, headline(&error)))
    }
}

/// What the rod of a coupled crank leaves to the bodies that stay.
///
/// # Errors
/// A pose that cannot be reached.
pub(super) fn rod_at_pins(stroke: &JointStroke<'_>, rod: &Body) -> Result<RodAtPins, EmitFault> {
    let found = RodAtPins::of(stroke, rod).map_err(EmitFault::Dynamics)?;
    found.ok_or(EmitFault::NoRatio)
}

pub(super) fn no_rod() -> EmitFault {
    EmitFault::Missing {
        key: "[mass.coupler]",
        needed_for: "the crank of a coupled model bears what the rod weighs at its ball".into(),
        help: "add [mass.coupler] with mass, center and six figures of inertia".into(),
    }
}

fn weighed_drive<'a>(
    weighed: &'a InertiaFindings,
    robot: &RobotJoint,
) -> Result<&'a DriveInertia, EmitFault> {
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
