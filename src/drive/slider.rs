//! A nut on a straight guide that pushes the joint's lever by a rod.
//!
//! ```text
//! x = d·t ± √(b² − |d|² + (d·t)²)     d = Q − A     dx/dψ = r_B/(ŵ·t)
//! ```
//!
//! The upper sign is the nut ahead of Q along the guide, ŵ·t < 0. ŵ·t = 0 is the dead point; the guide bears F √(1 − (ŵ·t)²)
//! sideways.

use super::angular::Angular;
use super::built::Built;
use super::circle::Circle;
use super::fault::DriveFault;
use super::input_end::InputEnd;
use super::rod_drive::RodDrive;
use super::rod_pose::RodOnHinge;
use super::size::{PointSizes, Size};
use super::space::{Axis, Vector};
use crate::numeric::{Interval, Scalar};

/// A slider drive by its points in the carrier's frame, in the zero pose. Lengths in one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slider<T = f64> {
    /// A point of the guide, from which the nut's travel counts; the guide is the nut pin's path.
    pub guide: Vector<T>,
    /// The direction of the guide.
    pub direction: Vector<T>,
    /// Length of the rod between pin centres, > 0.
    pub coupler: T,
    /// The joint axis.
    pub joint: Axis<T>,
    /// The pin Q on the lever.
    pub rocker: Vector<T>,
    /// Travel per turn of the motor, signed.
    pub lead: T,
}

impl<T: Scalar> Slider<T> {
    /// Poses by joint turns from the pose as drawn, the nut ahead of Q along the guide (`side` +1) or behind it (−1);
    /// `None` where Q may lie on the joint axis.
    pub fn geometry(&self, side: f64) -> Option<RodOnHinge<T>> {
        let joint = Circle::through(self.rocker, &self.joint)?;
        let direction = self.direction.unit()?;
        let (point, rod, lead) = (self.guide, self.coupler, self.lead);
        Some(RodOnHinge { joint, input: InputEnd::Slide { point, direction, rod, side, lead } })
    }

    /// The same in another kind of number.
    pub fn map<U>(&self, f: impl Fn(T) -> U + Copy) -> Slider<U> {
        Slider {
            guide: self.guide.map(f),
            direction: self.direction.map(f),
            coupler: f(self.coupler),
            joint: self.joint.map(f),
            rocker: self.rocker.map(f),
            lead: f(self.lead),
        }
    }
}

impl<T: Angular> Slider<T> {
    /// In a plane: the joint axis z at (ground, 0), the guide through `guide` at `direction`, the lever at `rocker_angle`
    /// (rad) from x.
    pub fn planar(
        [ground, coupler, rocker, lead]: [T; 4],
        guide: [T; 2],
        [direction, rocker_angle]: [T; 2],
    ) -> Self {
        let [zero, one] = [0.0, 1.0].map(T::exactly);
        let flat = |[x, y]: [T; 2]| Vector::new(x, y, zero);
        let along = |angle: T, length: T| {
            let (sine, cosine) = angle.sin_cos();
            flat([length * cosine, length * sine])
        };
        let (point, axis) = (flat([ground, zero]), Vector::new(zero, zero, one));
        Self {
            guide: flat(guide),
            direction: along(direction, one),
            coupler,
            joint: Axis { point, direction: axis },
            rocker: point + along(rocker_angle, rocker),
            lead,
        }
    }

    /// The build of a planar drawing's sizes.
    pub(super) fn built_in_plane(sizes: &[T], side: f64) -> Option<Built<T>> {
        let &[ground, coupler, rocker, x, y, direction, lead, zero_rocker] = sizes else {
            return None;
        };
        let lengths = [ground, coupler, rocker, lead];
        Self::planar(lengths, [x, y], [direction, zero_rocker]).as_built(side)
    }

    fn as_built(&self, side: f64) -> Option<Built<T>> {
        let (point, direction) = (self.guide, self.direction.unit()?);
        let (rod, lead) = (self.coupler, self.lead);
        let input = InputEnd::Slide { point, direction, rod, side, lead };
        Some(Built { input, foot: self.rocker, joint: self.joint })
    }
}

impl Slider {
    /// Its sizes: the guide's point, joint and lever's pin, two tilts of guide and joint axis, rod and lead.
    pub(super) fn sizes(&self) -> Vec<Size> {
        PointSizes::default()
            .point(["guide_x", "guide_y", "guide_z"], self.guide)
            .point(["joint_x", "joint_y", "joint_z"], self.joint.point)
            .point(["rocker_x", "rocker_y", "rocker_z"], self.rocker)
            .tilts(["guide_u", "guide_v"])
            .tilts(["joint_axis_u", "joint_axis_v"])
            .length("coupler", self.coupler)
            .length("lead", self.lead)
            .all()
    }

    /// The build of these sizes.
    pub(super) fn built<T: Angular>(&self, sizes: &[T], side: f64) -> Option<Built<T>> {
        let &[gx, gy, gz, jx, jy, jz, qx, qy, qz, gu, gv, ju, jv, coupler, lead] = sizes else {
            return None;
        };
        let axis = |point: Vector<T>, direction: Vector, tilts: [T; 2]| {
            Axis { point, direction: direction.map(T::exactly) }.tilted(tilts)
        };
        let along = axis(Vector::new(gx, gy, gz), self.direction, [gu, gv])?;
        let joint = axis(Vector::new(jx, jy, jz), self.joint.direction, [ju, jv])?;
        let (guide, direction, rocker) = (along.point, along.direction, Vector::new(qx, qy, qz));
        Slider { guide, direction, coupler, joint, rocker, lead }.as_built(side)
    }

    /// +1 where the nut at travel `nut` is ahead of Q along the guide, else −1; `None` without a direction.
    pub(super) fn side(&self, nut: f64) -> Option<f64> {
        let level = (self.rocker - self.guide).dot(self.direction.unit()?);
        Some(if nut > level { 1.0 } else { -1.0 })
    }

    /// The drive whose zero pose is as drawn, with the nut at the one of its two places nearer to travel `nut`.
    ///
    /// # Errors
    /// [`DriveFault::CannotReach`], [`DriveFault::ZeroPoseIsStop`], [`DriveFault::Undetermined`].
    pub fn drive(&self, nut: f64) -> Result<RodDrive, DriveFault> {
        const NO_PLACE: DriveFault = DriveFault::Undetermined(
            "the lever's pin lies on the joint axis, or an axis or guide has no direction",
        );
        let side = self.side(nut).ok_or(NO_PLACE)?;
        let sure = self.map(Interval::point).geometry(side).ok_or(NO_PLACE)?;
        RodDrive::new(sure, 0.0, None)
    }
}
