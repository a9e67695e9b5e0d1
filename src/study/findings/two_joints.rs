//! The two joints of a motor on the carrier's parent.

use serde::Serialize;

use crate::dynamics::RotorShares;

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
