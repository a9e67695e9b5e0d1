//! A motor on the carrier's parent: how both motors and both joints hang together, and where its rotor goes.

use crate::design::{Design, MotorOn, RobotJoint};
use crate::dynamics::CoaxialRotor;

use super::drive::rotor_of;
use super::findings::ParentMotor;

/// The pairs of joints of a design with `motor_on = "parent"`, for a direct joint of `ratio`; none of any other.
#[must_use]
pub fn parent_motors<G>(design: &Design<G>, ratio: f64) -> Vec<ParentMotor> {
    if design.motor_on != MotorOn::Parent {
        return Vec::new();
    }
    design.robots.iter().filter_map(|robot| of_robot(design, robot, ratio)).collect()
}

fn of_robot<G>(design: &Design<G>, robot: &RobotJoint, ratio: f64) -> Option<ParentMotor> {
    let parent = robot.parent_joint.as_ref()?;
    let rotor = rotor_of(design.actuator.as_ref());
    let coaxial = rotor.map(|rotor| CoaxialRotor { rotor, ratio });
    // Both joints and the motor count about one direction in T; here each as it reads.
    let counted = |[[a, b], [c, d]]: [[f64; 2]; 2]| [[a, b * parent.sign], [c * parent.sign, d]];
    Some(ParentMotor {
        joint: robot.joint.clone(),
        parent_joint: parent.joint.clone(),
        motor_link: parent.motor_link.clone(),
        matrix: [[1.0, 0.0], [robot.motor_sign * parent.sign, robot.motor_sign * ratio]],
        reflected: coaxial.map(|coaxial| counted(coaxial.reflected())),
        rotor: coaxial.map(|coaxial| coaxial.shares()),
    })
}
