//! A drive with one rod as it was built, or every one in a box of sizes: what its joint axis and zero pose are, and what
//! hangs on them.

use super::angular::Angular;
use super::input_end::{InputEnd, Reached};
use super::rod_pose::RodPose;
use super::space::{Axis, Vector};

/// A build in its zero pose; lengths in one unit, points in the carrier's frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Built<T = f64> {
    /// What the rod hangs on at the motor's end.
    pub input: InputEnd<T>,
    /// Q in the zero pose.
    pub foot: Vector<T>,
    /// The joint axis; its direction is a unit vector.
    pub joint: Axis<T>,
}

impl<T: Angular> Built<T> {
    /// The rod at its input end at the joint turn `joint` (rad) from the zero pose, and the motor's rate per joint rate;
    /// `None` where it does not reach.
    pub fn at(&self, joint: T) -> Option<(Reached<T>, T)> {
        let (reached, way, _) = self.reached(joint)?;
        let rate = reached.rate(way);
        Some((reached, rate * self.input.gain()))
    }

    /// The whole pose at the joint turn `joint` (rad) from the zero pose; `None` where the rod does not reach.
    pub fn pose(&self, joint: T) -> Option<RodPose<T>> {
        let (reached, joint_way, arm) = self.reached(joint)?;
        let (rate, gain) = (reached.rate(joint_way), self.input.gain());
        let slope = reached.second_rate([joint_way; 2], -arm, [rate; 2]);
        Some(RodPose {
            reached,
            joint_pin: self.joint.point + arm,
            joint_way,
            ratio: gain * rate,
            slope: gain * slope,
            gain,
            bolts: [self.input.bolt(), Some(self.joint.direction)],
        })
    }

    /// The rod at its input end, Q's way per rad, and its arm from a point of the joint axis.
    fn reached(&self, joint: T) -> Option<(Reached<T>, Vector<T>, Vector<T>)> {
        let Axis { point, direction } = self.joint;
        let arm = (self.foot - point).turned(direction, joint.sin_cos());
        let reached = self.input.reach(point + arm)?;
        Some((reached, direction.cross(arm), arm))
    }

    /// The angle (rad, near 0) from the direction of `drawn`, seen from the joint axis, to that of Q in the zero pose.
    pub fn foot_ahead_of(&self, drawn: Vector<T>) -> T {
        let Axis { point, direction } = self.joint;
        let (from, to) = (drawn - point, self.foot - point);
        let across = direction.dot(from.cross(to));
        let along = from.dot(to) - from.dot(direction) * to.dot(direction);
        T::angle_near(across, along, 0.0)
    }
}
