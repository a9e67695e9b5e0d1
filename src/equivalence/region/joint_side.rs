//! The margin of a rod at the joints' side over poses and builds, with its slopes.

use super::values::{free_paths, one_of};
use crate::drive::{MarginShare, Reached, Share, TwoRodsPose, Vector};
use crate::numeric::{Interval, Scalar as _};

/// The sine of the angle of a rod to the path d of its pin with the other motor held, N/(b |d|) with N = w·d.
pub(super) struct JointSide<'a> {
    pose: &'a TwoRodsPose<Interval>,
    rod: usize,
    path: Vector<Interval>,
    size: Interval,
    pub(super) sine: Interval,
}

impl<'a> JointSide<'a> {
    pub(super) fn of(pose: &'a TwoRodsPose<Interval>, rod: usize) -> Self {
        let path = one_of(free_paths(pose), rod);
        let reached = one_of([&pose.rods[0], &pose.rods[1]], rod);
        let size = reached.length * path.length_squared().root().unwrap_or(Interval::ENTIRE);
        Self { pose, rod, path, size, sine: reached.rod.dot(path) / size }
    }

    /// By what moves this rod.
    pub(super) fn by_own(&self, share: &MarginShare<Interval>) -> Interval {
        let [held_p, held_r] = one_of(self.pose.jacobian, 1 - self.rod);
        let [p, r] = share.ways;
        let (of_w, shrink) = (share.rod.dot(self.path), share.length / self.reached().length);
        self.slope(p * held_r - r * held_p, of_w, shrink)
    }

    /// By what turns the other motor.
    pub(super) fn by_other(&self, share: &Share<Interval>) -> Interval {
        let ([p, r], [by_p, by_r]) = (one_of(self.pose.ways, self.rod), share.rates);
        self.slope(p * by_r - r * by_p, Interval::ZERO, Interval::ZERO)
    }

    fn reached(&self) -> &'a Reached<Interval> {
        one_of([&self.pose.rods[0], &self.pose.rods[1]], self.rod)
    }

    /// Where d moves so, N by `of_w` beside it, and b by `shrink` of itself.
    fn slope(&self, moved: Vector<Interval>, of_w: Interval, shrink: Interval) -> Interval {
        let Self { path, size, sine, .. } = *self;
        let stretch = shrink + path.dot(moved) / path.length_squared();
        (of_w + self.reached().rod.dot(moved)) / size - sine * stretch
    }
}
