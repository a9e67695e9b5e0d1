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
        let Axis { point, direction } = self.joint;
        let arm = (self.foot - point).turned(direction, joint.sin_cos());
        let reached = self.input.reach(point + arm)?;
        let rate = reached.rate(direction.cross(arm));
        Some((reached, rate * self.input.gain()))
    }

    /// The whole pose at the joint turn `joint` (rad) from the zero pose; `None` where the rod does not reach.
    pub fn pose(&self, joint: T) -> Option<RodPose<T>> {
        let Axis { point, direction } = self.joint;
        let arm = (self.foot - point).turned(direction, joint.sin_cos());
        let way = direction.cross(arm);
        self.pose_of(arm, way, direction.cross(way))
    }

    /// The pose whose Q lies `arm` from the point of the joint axis, its way per rad of joint turn and the slope of that.
    pub(super) fn pose_of(
        &self,
        arm: Vector<T>,
        joint_way: Vector<T>,
        second_way: Vector<T>,
    ) -> Option<RodPose<T>> {
        let reached = self.input.reach(self.joint.point + arm)?;
        let (rate, gain) = (reached.rate(joint_way), self.input.gain());
        let slope = reached.second_rate([joint_way; 2], second_way, [rate; 2]);
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

    /// The angle (rad, near 0) about the joint axis from the drawn `lever`, a vector from its axis to Q, to this build's in
    /// the zero pose. The axis may have moved: a lever that only moved with it is not ahead.
    pub fn ahead_of(&self, lever: Vector<T>) -> T {
        let Axis { point, direction } = self.joint;
        let (from, to) = (lever, self.foot - point);
        let across = direction.dot(from.cross(to));
        let along = from.dot(to) - from.dot(direction) * to.dot(direction);
        T::angle_near(across, along, 0.0)
    }
}

impl<T> Built<T> {
    /// The same in another kind of number.
    pub fn map<U>(&self, f: impl Fn(&T) -> U + Copy) -> Built<U> {
        let of = |v: &Vector<T>| Vector::new(f(&v.x), f(&v.y), f(&v.z));
        Built {
            input: self.input.map(f),
            foot: of(&self.foot),
            joint: Axis { point: of(&self.joint.point), direction: of(&self.joint.direction) },
        }
    }
}
