//! A drive with one rod as it was built, or every one in a box of sizes: what its joint axis and zero pose are, and what
//! hangs on them.

use super::angular::Angular;
use super::input_end::{InputEnd, Reached};
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
}
