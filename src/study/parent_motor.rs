//! A motor on the carrier's parent: how both motors and both joints hang together, and where its rotor goes.

use serde::Serialize;

use crate::design::{Design, MotorOn, RobotJoint};
use crate::dynamics::{CoaxialRotor, RotorShares};

use super::drive::rotor_of;

/// The two joints of one `[[robot]]` whose drive has its motor on the carrier's parent. Figures are in what the robot's joints and
/// motors read; rows are the motors (of the parent joint, of the drive), columns the joints (parent, driven).
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ParentMotor {
    /// The driven joint's name.
    pub joint: String,
    /// The joint that the motor is coaxial with.
    pub parent_joint: String,
    /// The link that bears the motor.
    pub motor_link: String,
    /// T: motor turns = T · joint turns, joint torques = Tᵀ · motor torques.
    pub matrix: [[f64; 2]; 2],
    /// What the rotor weighs at both joints with the motor's link at rest, kg m²; `None` where the rotor is not known.
    #[serde(rename = "reflected_kg_m2")]
    pub reflected: Option<[[f64; 2]; 2]>,
    /// What it adds to links and joints of the model that moves as a whole.
    pub rotor: Option<RotorShares>,
}

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
