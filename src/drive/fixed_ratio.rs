//! A belt, gear or cable; and a motor that sits on the carrier's parent, coaxial with the carrier's own joint.

use super::angular::Angular;
use super::fault::DriveFault;
use super::one_joint::{Motion, OneJoint};
use super::rod_pose::RodPose;
use super::stop::Stop;
use crate::numeric::Scalar;

/// A constant ratio, motor turn / joint turn, not zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FixedRatio(pub f64);

impl OneJoint for FixedRatio {
    fn motion<T: Angular>(&self, joint: T) -> Result<Motion<T>, DriveFault> {
        let ratio = T::exactly(self.0);
        Ok(Motion { motor: ratio * joint, ratio, slope: T::exactly(0.0) })
    }

    fn joint_turn(&self, motor: f64) -> Result<f64, DriveFault> {
        Ok(motor / self.0)
    }

    fn rods<T: Angular>(&self, _: T) -> Result<Vec<RodPose<T>>, DriveFault> {
        Ok(Vec::new())
    }

    fn stops(&self) -> Vec<Stop> {
        Vec::new()
    }

    fn reach(&self) -> [Option<Stop>; 2] {
        [None; 2]
    }
}

/// A drive whose motor sits on the carrier's parent, its axis that of the carrier's own joint: a knee motor at the hip.
///
/// The crank's angle against the carrier is the motor's less the parent joint's, all counted about the same direction. So
/// the two motors (of the parent joint, of this drive) see the two joints (parent, driven) through
///
/// ```text
/// T = [[1, 0], [1, i]]      motor torques to joint torques: Tᵀ
/// ```
#[derive(Clone, Debug)]
pub struct Coaxial<D>(pub D);

impl<D> Coaxial<D> {
    /// T where the drive's own ratio is `ratio`.
    pub fn matrix_of<T: Scalar>(ratio: T) -> [[T; 2]; 2] {
        let [zero, one] = [0.0, 1.0].map(T::exactly);
        [[one, zero], [one, ratio]]
    }
}

impl<D: OneJoint> Coaxial<D> {
    /// Turns of both motors (the parent joint's, this drive's) at the turns of both joints (parent, driven), rad.
    ///
    /// # Errors
    /// As [`OneJoint::motion`].
    pub fn motor_turns<T: Angular>(&self, [parent, driven]: [T; 2]) -> Result<[T; 2], DriveFault> {
        Ok([parent, parent + self.0.motion(driven)?.motor])
    }

    /// Turns of both joints at the turns of both motors, rad.
    ///
    /// # Errors
    /// As [`OneJoint::joint_turn`].
    pub fn joint_turns(&self, [parent, motor]: [f64; 2]) -> Result<[f64; 2], DriveFault> {
        Ok([parent, self.0.joint_turn(motor - parent)?])
    }

    /// T: rows are motors, columns joints.
    ///
    /// # Errors
    /// As [`OneJoint::motion`].
    pub fn matrix<T: Angular>(&self, driven: T) -> Result<[[T; 2]; 2], DriveFault> {
        Ok(Self::matrix_of(self.0.motion(driven)?.ratio))
    }

    /// Torques on both joints from those of both motors.
    ///
    /// # Errors
    /// As [`OneJoint::motion`].
    pub fn joint_torques(
        &self,
        driven: f64,
        [parent, motor]: [f64; 2],
    ) -> Result<[f64; 2], DriveFault> {
        Ok([parent + motor, self.0.motion(driven)?.ratio * motor])
    }
}
