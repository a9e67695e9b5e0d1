//! Drive after drive: the joint of one is the motor of the next.
//!
//! ```text
//! θ = f₁(f₂(ψ))     i = i₁ i₂     i′ = i₁′ i₂² + i₁ i₂′     (1 + ε₁)(1 + ε₂) − 1
//! ```

use super::angular::Angular;
use super::fault::DriveFault;
use super::fixed_ratio::FixedRatio;
use super::one_joint::{Motion, OneJoint};
use super::rod_drive::RodDrive;
use super::rod_pose::RodPose;
use super::stop::Stop;

/// Any drive of one joint by one motor.
#[derive(Clone, Debug)]
pub enum JointDrive {
    /// One rod: ball rod, linear actuator or slider. A planar four-bar is a ball rod without axial, twist and lean.
    Rod(Box<RodDrive>),
    /// A belt or gear.
    Ratio(FixedRatio),
    /// Drive after drive.
    Series(Series),
}

impl OneJoint for JointDrive {
    fn motion<T: Angular>(&self, joint: T) -> Result<Motion<T>, DriveFault> {
        match self {
            Self::Rod(drive) => drive.motion(joint),
            Self::Ratio(ratio) => ratio.motion(joint),
            Self::Series(series) => series.motion(joint),
        }
    }

    fn motor_turn(&self, joint: f64) -> Result<f64, DriveFault> {
        match self {
            Self::Rod(drive) => drive.motor_turn(joint),
            Self::Ratio(ratio) => ratio.motor_turn(joint),
            Self::Series(series) => series.motor_turn(joint),
        }
    }

    fn joint_turn(&self, motor: f64) -> Result<f64, DriveFault> {
        match self {
            Self::Rod(drive) => drive.joint_turn(motor),
            Self::Ratio(ratio) => ratio.joint_turn(motor),
            Self::Series(series) => series.joint_turn(motor),
        }
    }

    fn rods<T: Angular>(&self, joint: T) -> Result<Vec<RodPose<T>>, DriveFault> {
        match self {
            Self::Rod(drive) => drive.rods(joint),
            Self::Ratio(ratio) => ratio.rods(joint),
            Self::Series(series) => series.rods(joint),
        }
    }

    fn stops(&self) -> Vec<Stop> {
        match self {
            Self::Rod(drive) => drive.stops(),
            Self::Ratio(ratio) => ratio.stops(),
            Self::Series(series) => series.stops(),
        }
    }

    fn reach(&self) -> [Option<Stop>; 2] {
        match self {
            Self::Rod(drive) => drive.reach(),
            Self::Ratio(ratio) => ratio.reach(),
            Self::Series(series) => series.reach(),
        }
    }
}

impl JointDrive {
    /// At the joint turn `joint` the turns of the arms that rods turn on the way from the motor to the joint (levers) or back
    /// (cranks), rad.
    ///
    /// # Errors
    /// As [`OneJoint::motion`].
    pub fn arm_turns(&self, joint: f64, towards_joint: bool) -> Result<Vec<f64>, DriveFault> {
        match self {
            Self::Ratio(_) => Ok(Vec::new()),
            Self::Rod(drive) if towards_joint => drive.motor_turn(joint).map(|_| vec![joint]),
            Self::Rod(drive) if drive.has_crank() => Ok(vec![drive.motor_turn(joint)?]),
            Self::Rod(_) => Ok(Vec::new()),
            Self::Series(Series(stages)) => {
                let (mut turns, mut turn) = (Vec::new(), joint);
                for stage in stages.iter().rev() {
                    turns.extend(stage.arm_turns(turn, towards_joint)?);
                    turn = stage.motor_turn(turn)?;
                }
                Ok(turns)
            }
        }
    }
}

/// Stages in order from the motor; each counts its turns from the common zero pose.
#[derive(Clone, Debug)]
pub struct Series<S = JointDrive>(pub Vec<S>);

impl<S: OneJoint> Series<S> {
    /// Joint turns of each stage, from the motor on, and the motion of the whole.
    fn followed<T: Angular>(&self, joint: T) -> Result<(Vec<T>, Motion<T>), DriveFault> {
        let [zero, one] = [0.0, 1.0].map(T::exactly);
        let mut whole = Motion { motor: joint, ratio: one, slope: zero };
        let mut joints = Vec::with_capacity(self.0.len());
        for (k, stage) in self.0.iter().enumerate().rev() {
            joints.push(whole.motor);
            let own = stage.motion(whole.motor).map_err(|fault| fault.of_stage(k))?;
            whole = Motion {
                motor: own.motor,
                ratio: own.ratio * whole.ratio,
                slope: own.slope * whole.ratio.square() + own.ratio * whole.slope,
            };
        }
        joints.reverse();
        Ok((joints, whole))
    }

    /// The joint turn of the whole at the joint turn `joint` of stage `stage`.
    fn onward(&self, stage: usize, joint: f64) -> Result<f64, DriveFault> {
        let later = self.0.iter().enumerate().skip(stage + 1);
        later.into_iter().try_fold(joint, |turn, (k, stage)| {
            stage.joint_turn(turn).map_err(|fault| fault.of_stage(k))
        })
    }

    /// Stops of the stages by the joint turn of the whole, where it can be told.
    fn at_joint(&self, stops: impl Fn(&S) -> Vec<Stop>) -> Vec<Stop> {
        let of_stage = |(k, stage): (usize, &S)| {
            let told = stops(stage).into_iter().filter_map(move |stop| {
                let joint = self.onward(k, stop.joint).ok()?;
                Some(Stop { joint, motor: self.backward(k, stop.motor)?, ..stop })
            });
            told.collect::<Vec<Stop>>()
        };
        self.0.iter().enumerate().flat_map(of_stage).collect()
    }

    /// The motor turn of the whole at the motor turn `motor` of stage `stage`.
    fn backward(&self, stage: usize, motor: f64) -> Option<f64> {
        let earlier = self.0.get(..stage)?.iter().rev();
        earlier.into_iter().try_fold(motor, |turn, stage| stage.motor_turn(turn).ok())
    }
}

impl<S: OneJoint> OneJoint for Series<S> {
    fn motion<T: Angular>(&self, joint: T) -> Result<Motion<T>, DriveFault> {
        Ok(self.followed(joint)?.1)
    }

    fn motor_turn(&self, joint: f64) -> Result<f64, DriveFault> {
        self.0.iter().enumerate().rev().try_fold(joint, |turn, (k, stage)| {
            stage.motor_turn(turn).map_err(|fault| fault.of_stage(k))
        })
    }

    fn joint_turn(&self, motor: f64) -> Result<f64, DriveFault> {
        let mut stages = self.0.iter().enumerate();
        stages.try_fold(motor, |turn, (k, stage)| {
            stage.joint_turn(turn).map_err(|fault| fault.of_stage(k))
        })
    }

    fn rods<T: Angular>(&self, joint: T) -> Result<Vec<RodPose<T>>, DriveFault> {
        let (joints, _) = self.followed(joint)?;
        let rods = self.0.iter().zip(joints).map(|(stage, joint)| stage.rods(joint));
        Ok(rods.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
    }

    fn stops(&self) -> Vec<Stop> {
        self.at_joint(OneJoint::stops)
    }

    fn reach(&self) -> [Option<Stop>; 2] {
        let stops = self.at_joint(|stage| stage.reach().into_iter().flatten().collect());
        [-1.0, 1.0].map(|direction| {
            let ahead = stops.iter().filter(|stop| stop.joint * direction > 0.0);
            ahead.min_by(|p, q| p.joint.abs().total_cmp(&q.joint.abs())).copied()
        })
    }
}

impl<S: OneJoint> Series<S> {
    /// The ratio error of the whole from those of the stages, i/ratio − 1 each.
    #[must_use]
    pub fn ratio_error(stages: &[f64]) -> f64 {
        stages.iter().fold(1.0, |product, error| product * (1.0 + error)) - 1.0
    }
}
