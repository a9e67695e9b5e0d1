//! The bodies of a design of two joints, where the robot's own frames come in.
//!
//! The points of the drawing are in the carrier's frame. The middle link's frame has its origin at pitch's point, the child's at
//! roll's; where both joints read zero their axes are parallel to the carrier's.

use nalgebra::{Isometry3, Translation3, Unit, UnitQuaternion, Vector3};

use crate::design::{BodyMass, LegMasses, TwoJointDesign};
use crate::drive::{Axis, DrawnLeg, Vector};
use crate::dynamics::{Body, LegParts, Rotor, TwoJointParts};

use super::super::drive::{plain, rotor_of, seen};
use super::super::lacking::{named, of_rotor};

/// The frames of middle link and child in the carrier's, in the zero pose, where both joints read `reads`, rad.
#[must_use]
pub fn link_frames(pitch: &Axis, roll: &Axis, reads: [f64; 2]) -> [Isometry3<f64>; 2] {
    let vector = |v: Vector| Vector3::new(v.x, v.y, v.z);
    let turn = |axis: &Axis, by: f64| {
        UnitQuaternion::from_axis_angle(&Unit::new_normalize(vector(axis.direction)), by)
    };
    let [p, r] = reads;
    let middle = turn(pitch, p);
    let place =
        |axis: &Axis, turned| Isometry3::from_parts(Translation3::from(vector(axis.point)), turned);
    [place(pitch, middle), place(roll, turn(roll, r) * middle)]
}

/// The parts of `design`, or what it lacks for an inertia figure, named as in the file.
///
/// # Errors
/// What is missing.
pub fn two_joint_parts(design: &TwoJointDesign) -> Result<TwoJointParts, Vec<&'static str>> {
    let actuator = design.actuator.as_ref();
    let bodies = two_joint_bodies(design, [rotor_of(actuator); 2]);
    let rotor = named(of_rotor(actuator));
    match bodies {
        Ok(parts) if rotor.is_empty() => Ok(parts),
        Ok(_) => Err(rotor),
        Err(missing) => Err([missing, rotor].concat()),
    }
}

/// The same with these rotors, of which there may be none.
///
/// # Errors
/// The bodies that are missing.
pub fn two_joint_bodies(
    design: &TwoJointDesign,
    rotors: [Option<Rotor>; 2],
) -> Result<TwoJointParts, Vec<&'static str>> {
    let missing = missing(design);
    let Some(child) = design.masses.child.as_ref().filter(|_| missing.is_empty()) else {
        return Err(missing);
    };
    let drawing = &design.drawing;
    let [middle, foot] = link_frames(&drawing.pitch, &drawing.roll, design.joint_reads);
    let in_carrier = |body: &BodyMass, frame: &Isometry3<f64>| seen(body, &frame.inverse());
    let [one, two] = &design.masses.legs;
    let leg = |own: &LegMasses, rotor| {
        let part = |body: &Option<BodyMass>| body.as_ref().map(plain);
        LegParts {
            crank: part(&own.crank),
            rod: part(&own.rod),
            housing: part(&own.housing),
            nut: part(&own.nut),
            rotor,
        }
    };
    let carrier: Option<Body> = design.masses.carrier.as_ref().map(plain);
    Ok(TwoJointParts {
        legs: [leg(one, rotors[0]), leg(two, rotors[1])],
        middle: design.masses.middle.as_ref().map(|body| in_carrier(body, &middle)),
        child: in_carrier(child, &foot),
        carrier,
    })
}

/// The bodies that an inertia figure needs and the design lacks.
fn missing(design: &TwoJointDesign) -> Vec<&'static str> {
    let masses = &design.masses;
    let has_cranks = |is: bool| {
        let legs = design.drawing.legs.iter().zip(&masses.legs);
        legs.filter(move |(leg, _)| matches!(leg, DrawnLeg::Crank { .. }) == is)
    };
    let lacks = |has_crank: bool, part: fn(&LegMasses) -> bool| {
        has_cranks(has_crank).any(|(_, own)| !part(own))
    };
    named([
        (lacks(true, |own| own.crank.is_some()), "[mass.MOTOR.crank]"),
        (lacks(true, |own| own.rod.is_some()), "[mass.MOTOR.rod]"),
        (lacks(false, |own| own.housing.is_some()), "[mass.MOTOR.housing]"),
        (lacks(false, |own| own.nut.is_some()), "[mass.MOTOR.nut]"),
        (masses.child.is_none(), "[mass.child]"),
    ])
}
