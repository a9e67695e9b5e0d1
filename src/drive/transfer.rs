//! One end's turn of a drive as a function of the other's, with three derivatives.
//!
//! The motor turn θ comes from the joint turn ψ in closed form, its third derivative as the slope of the second. Back it is the
//! inverse function, enclosed by one of Newton's steps:
//!
//! ```text
//! ψ′ = 1/i     ψ″ = −i′/i³     ψ‴ = (3 i′² − i i″)/i⁵     N(J) = j − (θ(j) − θ)/i(J) ⊂ J: the joint turn lies in N
//! ```
//!
//! # Source
//! Interval Newton: R. E. Moore, Interval Analysis (1966), ch. 7 (from memory); the rest derived here.

use super::fault::DriveFault;
use super::one_joint::OneJoint;
use super::series::JointDrive;
use crate::numeric::{Interval, Jet, Scalar as _, quadrature};

/// Which end's turn is asked for; turns from the zero pose, rad, along the assembly that it is in.
#[derive(Clone, Copy, Debug)]
pub enum Transfer<'a> {
    /// The joint turn at a motor turn.
    ToJoint(&'a JointDrive),
    /// The motor turn at a joint turn.
    ToMotor(&'a JointDrive),
}

/// Turns shorter than this, rad of the joint, are integrals of the rate, which keep the digits of their quotient.
const SHORT: f64 = 0.1;

/// Half of the range of joint turns that Newton's step begins with, rad: wide beside rounding, narrow beside a stroke.
const NEAR: f64 = 1e-9;

impl Transfer<'_> {
    /// The turn at `turn`.
    ///
    /// # Errors
    /// As [`OneJoint::joint_turn`] and [`OneJoint::motor_turn`].
    pub fn at(&self, turn: f64) -> Result<f64, DriveFault> {
        match self {
            Self::ToJoint(drive) => drive.joint_turn(turn),
            Self::ToMotor(drive) => drive.motor_turn(turn),
        }
    }

    /// Turn per turn from the zero pose to `turn`, with all its digits near the zero pose; NaN where the drive does not
    /// reach.
    #[must_use]
    pub fn mean_rate(&self, turn: f64) -> f64 {
        let reached = self.at(turn).unwrap_or(f64::NAN);
        let joint = if matches!(self, Self::ToJoint(_)) { reached } else { turn };
        if joint.abs() >= SHORT {
            return reached / turn;
        }
        quadrature::mean(|x| self.rate(x).unwrap_or(f64::NAN), 0.0, turn)
    }

    fn rate(&self, turn: f64) -> Result<f64, DriveFault> {
        match self {
            Self::ToJoint(drive) => Ok(1.0 / drive.motion(drive.joint_turn(turn)?)?.ratio),
            Self::ToMotor(drive) => Ok(drive.motion(turn)?.ratio),
        }
    }

    /// The turn and its first three derivatives at every turn of `turn`, enclosed. `None` where the drive may not reach, or
    /// may stand still.
    #[must_use]
    pub fn over(&self, turn: Interval) -> Option<[Interval; 4]> {
        let Self::ToJoint(drive) = self else {
            let Self::ToMotor(drive) = self else { return None };
            return motor(drive, turn);
        };
        let ends = [turn.lo(), turn.hi()].map(|end| joint(drive, end));
        let [Some(first), Some(last)] = ends else { return None };
        let reached = first.hull(last);
        let [_, i, slope, third] = motor(drive, reached)?;
        // Between its ends the joint turns one way only.
        if i.contains(0.0) {
            return None;
        }
        let [one, three] = [1.0, 3.0].map(Interval::point);
        let cube = i * i.square();
        let curvature = (three * slope.square() - i * third) / (cube * i.square());
        Some([reached, one / i, -slope / cube, curvature])
    }

    /// Its first three derivatives alone.
    #[must_use]
    pub fn rates_over(&self, turn: Interval) -> Option<[Interval; 3]> {
        let [_, rate, slope, curvature] = self.over(turn)?;
        Some([rate, slope, curvature])
    }
}

/// The motor turn and its first three derivatives at every joint turn of `joint`.
fn motor(drive: &JointDrive, joint: Interval) -> Option<[Interval; 4]> {
    let motion = drive.motion(Jet::<1>::variable(0, joint)).ok()?;
    Some([motion.motor.value, motion.ratio.value, motion.slope.value, motion.slope.slopes[0]])
}

/// The joint turn at the motor turn `wanted`, enclosed.
fn joint(drive: &JointDrive, wanted: f64) -> Option<Interval> {
    let middle = drive.joint_turn(wanted).ok()?;
    let near = Interval::new(middle - NEAR, middle + NEAR);
    let there = drive.motion(Interval::point(middle)).ok()?.motor;
    let rate = drive.motion(near).ok()?.ratio;
    if rate.contains(0.0) {
        return None;
    }
    let step = Interval::point(middle) - (there - Interval::point(wanted)) / rate;
    (near.lo() < step.lo() && step.hi() < near.hi()).then_some(step)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drive::{Assembly, BallRod, Drawing, FixedRatio, Series};

    fn rod() -> JointDrive {
        let sizes = BallRod {
            ground: 0.3,
            crank: 0.045,
            coupler: 0.303,
            rocker: 0.05,
            axial: 0.012,
            twist: 0.08,
            lean: -0.05,
        };
        let drawn = Drawing::BallRod { sizes, zero_crank: 1.5, assembly: Assembly::Open };
        drawn.drive().unwrap()
    }

    fn screw() -> JointDrive {
        let drawn = Drawing::PlanarActuator {
            ground: 0.3,
            rocker: 0.045,
            line_offset: 0.01,
            lead: -0.005,
            zero_rocker: 1.7,
            lengths: None,
        };
        drawn.drive().unwrap()
    }

    fn drives() -> [JointDrive; 4] {
        let belt = JointDrive::Ratio(FixedRatio(-6.0));
        let chain = JointDrive::Series(Series(vec![belt.clone(), rod()]));
        [rod(), screw(), belt, chain]
    }

    #[test]
    fn there_and_back_enclose_the_turn_that_was_begun_with() {
        for drive in drives() {
            for joint in [-0.4, -1e-7, 0.0, 0.2, 0.45] {
                let motor = Transfer::ToMotor(&drive).at(joint).unwrap();
                let back = Transfer::ToJoint(&drive).over(Interval::point(motor)).unwrap()[0];
                let wide = Interval::new(back.lo() - 1e-14, back.hi() + 1e-14);
                assert!(wide.contains(joint) && back.width() < 1e-12, "{joint} {back:?}");
            }
        }
    }

    #[test]
    fn derivatives_enclose_differences_in_both_directions() {
        for drive in drives() {
            let scale = drive.motion(0.0).unwrap().ratio.abs();
            for (transfer, scale) in
                [(Transfer::ToJoint(&drive), scale), (Transfer::ToMotor(&drive), 1.0)]
            {
                for turn in [-0.3, 0.1, 0.4].map(|turn| turn * scale) {
                    let h = 1e-4 * scale;
                    let [_, rate, slope, curvature] =
                        transfer.over(Interval::new(turn - h, turn + h)).unwrap();
                    let of = |x: f64| transfer.over(Interval::point(x)).unwrap().map(Interval::mid);
                    let [up, down] = [of(turn + h), of(turn - h)];
                    for (k, enclosed) in [rate, slope, curvature].into_iter().enumerate() {
                        let difference = (up[k] - down[k]) / (2.0 * h);
                        let room = 1e-8 * (1.0 + enclosed.magnitude());
                        let wide = Interval::new(enclosed.lo() - room, enclosed.hi() + room);
                        assert!(wide.contains(difference), "{k} {difference} {enclosed:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn the_mean_rate_keeps_its_digits_through_the_zero_pose() {
        for drive in drives() {
            for transfer in [Transfer::ToJoint(&drive), Transfer::ToMotor(&drive)] {
                let middle = 0.5 * (transfer.mean_rate(1e-6) + transfer.mean_rate(-1e-6));
                let at_zero = transfer.mean_rate(0.0);
                assert!((middle / at_zero - 1.0).abs() < 1e-10, "{middle} {at_zero}");
            }
        }
    }

    #[test]
    fn beyond_its_reach_a_drive_has_no_turn_that_could_be_certified() {
        let drive = rod();
        for transfer in [Transfer::ToJoint(&drive), Transfer::ToMotor(&drive)] {
            assert!(transfer.over(Interval::new(2.9, 3.0)).is_none());
        }
    }
}
