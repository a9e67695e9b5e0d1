//! What every drive of one joint by one motor answers.

use super::angular::Angular;
use super::fault::DriveFault;
use super::rod_pose::RodPose;
use super::stop::Stop;

/// Motor turn, ratio and its slope at a joint turn.
#[derive(Clone, Copy, Debug)]
pub struct Motion<T = f64> {
    /// Motor turn from the zero pose, rad.
    pub motor: T,
    /// i: motor rate per joint rate, signed.
    pub ratio: T,
    /// di/dψ per rad of joint turn.
    pub slope: T,
}

/// A drive of one joint by one motor. All turns in rad from the zero pose, followed along the assembly that the zero pose
/// is in, right-handed about the axes as given.
pub trait OneJoint {
    /// Motor turn, ratio and slope at `joint`: a plain float, every turn of an interval, or a value with gradients. A
    /// range must lie near the joint turn in its middle, or its motor turn is the whole line.
    ///
    /// # Errors
    /// A joint turn in whose way stands a stop, or that the rod does not reach.
    fn motion<T: Angular>(&self, joint: T) -> Result<Motion<T>, DriveFault>;

    /// The joint turn at motor turn `motor`, beyond dead points too, where the joint turns back.
    ///
    /// # Errors
    /// A motor turn in whose way stands a crank limit or an actuator's end.
    fn joint_turn(&self, motor: f64) -> Result<f64, DriveFault>;

    /// The poses of the rods, from the motor on: pins, arms and margins.
    ///
    /// # Errors
    /// As [`OneJoint::motion`].
    fn rods<T: Angular>(&self, joint: T) -> Result<Vec<RodPose<T>>, DriveFault>;

    /// Every stop of the linkage in whatever assembly, the turns in (−π, π] where they are angles.
    fn stops(&self) -> Vec<Stop>;

    /// The first stop below and above the zero pose, by joint turn: between them the ratio keeps its sign. `None` where
    /// the joint turns fully.
    fn reach(&self) -> [Option<Stop>; 2];

    /// The motor turn at `joint`.
    ///
    /// # Errors
    /// As [`OneJoint::motion`].
    fn motor_turn(&self, joint: f64) -> Result<f64, DriveFault> {
        self.motion(joint).map(|motion| motion.motor)
    }
}

/// The stop that stands in the way to `wanted`, as a fault.
pub(super) fn within(reach: &[Option<Stop>; 2], wanted: f64) -> Result<(), DriveFault> {
    let [below, above] = reach;
    match if wanted < 0.0 { below } else { above } {
        Some(stop) if wanted.abs() >= stop.joint.abs() => {
            Err(DriveFault::JointOutOfReach { wanted, reach: stop.joint, stop: stop.kind })
        }
        _ => Ok(()),
    }
}
