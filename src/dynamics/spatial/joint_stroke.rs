//! A drive of one joint over its stroke, by joint turns, and the frame that its bodies are seen in.

use nalgebra::{Isometry3, Matrix3, Rotation3, UnitQuaternion, Vector3};

use super::super::coupling::{OneWay, Turned};
use super::super::crank_stroke::{weighted_between, worst_between};
use super::super::fault::DynamicsFault;
use crate::drive::{DriveFault, InputEnd, JointDrive, OneJoint, RodDrive, RodOnHinge, Vector};
use crate::linkage::{Branch, Closure, Extreme, FourBar, Stroke};
use crate::numeric::evenly;

/// A stroke without a stop in it.
#[derive(Clone, Copy, Debug)]
pub struct JointStroke<'a> {
    drive: &'a JointDrive,
    turns: [f64; 2],
    frame: Isometry3<f64>,
}

/// Axes and planes off by less than this (rad, or share of the ground) are parallel, or one.
const SAME: f64 = 1e-12;

pub(super) fn vector(v: Vector) -> Vector3<f64> {
    Vector3::new(v.x, v.y, v.z)
}

impl<'a> JointStroke<'a> {
    /// `drive` between two joint turns, ascending, rad from the zero pose.
    ///
    /// # Errors
    /// [`DynamicsFault::Drive`]: an end that cannot be reached, a stop in its way among the reasons.
    pub fn over(drive: &'a JointDrive, turns: [f64; 2]) -> Result<Self, DynamicsFault> {
        for turn in turns {
            drive.motion(turn)?;
        }
        let frame = match drive {
            JointDrive::Rod(rod) => joint_frame(rod.geometry()),
            JointDrive::Ratio(_) | JointDrive::Series(_) => Isometry3::identity(),
        };
        Ok(Self { drive, turns, frame })
    }

    /// The drive.
    #[must_use]
    pub fn drive(&self) -> &'a JointDrive {
        self.drive
    }

    /// Both ends, joint turns in rad.
    #[must_use]
    pub fn turns(&self) -> [f64; 2] {
        self.turns
    }

    /// The joint frame in the frame that the drive's points are written in; of a belt or series that frame itself.
    #[must_use]
    pub fn frame(&self) -> &Isometry3<f64> {
        &self.frame
    }

    pub(super) fn rod(&self) -> Option<&'a RodDrive> {
        match self.drive {
            JointDrive::Rod(rod) => Some(rod),
            JointDrive::Ratio(_) | JointDrive::Series(_) => None,
        }
    }

    /// Joint turns for means over the joint angle, with weights that add up to 1: evenly along the crank where there is one, as
    /// a four-bar has them, else along the joint.
    ///
    /// # Errors
    /// A turn that cannot be reached.
    pub(super) fn weighted_turns(&self) -> Result<Vec<(f64, f64)>, DriveFault> {
        let turns =
            if self.has_crank() { self.along_crank()? } else { weighted_between(self.turns) };
        let total: f64 = turns.iter().map(|(_, weight)| weight).sum();
        Ok(turns.into_iter().map(|(turn, weight)| (turn, weight / total)).collect())
    }

    fn has_crank(&self) -> bool {
        self.rod().is_some_and(|rod| matches!(rod.geometry().input, InputEnd::Crank { .. }))
    }

    /// The joint turn in the middle: of the crank's way where there is one, as a four-bar has it.
    ///
    /// # Errors
    /// A turn that cannot be reached.
    pub(super) fn middle(&self) -> Result<f64, DriveFault> {
        let [from, to] = self.turns;
        if !self.has_crank() {
            return Ok(0.5 * (from + to));
        }
        let ends = [self.drive.motor_turn(from)?, self.drive.motor_turn(to)?];
        self.drive.joint_turn(0.5 * (ends[0] + ends[1]))
    }

    fn along_crank(&self) -> Result<Vec<(f64, f64)>, DriveFault> {
        let [first, second] = self.turns;
        let [a, b] = [self.drive.motor_turn(first)?, self.drive.motor_turn(second)?];
        let seen = |(motor, weight): (f64, f64)| {
            let joint = self.drive.joint_turn(motor)?;
            Ok((joint, weight / self.drive.motion(joint)?.ratio.abs()))
        };
        weighted_between([a.min(b), a.max(b)]).into_iter().map(seen).collect()
    }

    /// The same figure with its place as a motor turn.
    #[must_use]
    pub fn by_motor(&self, at_joint: Extreme) -> Extreme {
        Extreme { turn: self.motor_turn(at_joint.turn), ..at_joint }
    }

    /// The motor turn at `joint`; NaN where that cannot be reached.
    pub(super) fn motor_turn(&self, joint: f64) -> f64 {
        self.drive.motor_turn(joint).unwrap_or(f64::NAN)
    }

    /// The planar parallelogram that it is, with its stroke; `None` for any other drive.
    pub(super) fn parallelogram(&self) -> Option<(Branch, Stroke)> {
        let rod = self.rod()?;
        let (bars, crank) = planar_bars(rod)?;
        let same = |x: f64, y: f64| (x - y).abs() <= 1e-9 * bars.longest();
        if !same(bars.ground, bars.coupler) || !same(bars.crank, bars.rocker) {
            return None;
        }
        let pose = rod.pose(0.0).ok()?;
        let closure = if pose.joint_arm() < 0.0 { Closure::Open } else { Closure::Crossed };
        let branch = Branch::through(bars, crank, closure).ok()?;
        let is_steady = (pose.ratio - 1.0).abs() < 1e-6;
        let stroke = Stroke { motor: self.turns, joint: self.turns };
        is_steady.then_some((branch, stroke))
    }
}

impl JointStroke<'_> {
    fn turned(&self, joint: f64) -> Result<Turned, DriveFault> {
        let motion = self.drive.motion(joint)?;
        Ok(Turned { joint, motor: motion.motor, ratio: motion.ratio })
    }
}

impl OneWay for JointStroke<'_> {
    fn weighted(&self) -> Result<Vec<(Turned, f64)>, DynamicsFault> {
        let turns = self.weighted_turns()?.into_iter();
        turns.map(|(turn, weight)| Ok((self.turned(turn)?, weight))).collect()
    }

    fn evenly(&self, pieces: u32) -> Result<Vec<Turned>, DynamicsFault> {
        evenly(self.turns, pieces).map(|turn| Ok(self.turned(turn)?)).collect()
    }

    fn worst(&self, figure: &dyn Fn(Turned) -> f64) -> Extreme {
        let at = |turn: f64| self.turned(turn).map_or(f64::NAN, figure);
        self.by_motor(worst_between(self.turns, &at))
    }
}

/// Lengths and crank angle of the zero pose where all moves in one plane.
fn planar_bars(drive: &RodDrive) -> Option<(FourBar, f64)> {
    let RodOnHinge { joint, input } = drive.geometry();
    let InputEnd::Crank { circle, rod, .. } = input else { return None };
    let between = vector(joint.centre - circle.centre);
    let axis = vector(circle.axis);
    let is_flat = axis.cross(&vector(joint.axis)).norm() < SAME
        && axis.dot(&vector(joint.axis)) > 0.0
        && between.dot(&axis).abs() < SAME * between.norm();
    let pin = vector(drive.pose(0.0).ok()?.reached.pin - circle.centre);
    let crank = libm::atan2(axis.dot(&between.cross(&pin)), between.dot(&pin));
    let bars = FourBar {
        ground: between.norm(),
        crank: circle.radius,
        coupler: *rod,
        rocker: joint.radius,
    };
    is_flat.then_some((bars, crank))
}

/// Origin B, z the joint axis, x along A→B, of a slide along its guide, made square to z; where that has no direction,
/// towards Q in the pose from which its angle counts.
fn joint_frame(geometry: &RodOnHinge) -> Isometry3<f64> {
    let joint = &geometry.joint;
    let ground = match geometry.input {
        InputEnd::Crank { circle, .. } => joint.centre - circle.centre,
        InputEnd::Actuator { pin, .. } => joint.centre - pin,
        InputEnd::Slide { direction, .. } => direction,
    };
    let (z, ground) = (vector(joint.axis), vector(ground));
    let square = ground - z * z.dot(&ground);
    let has_direction = square.norm() > SAME * ground.norm();
    let x = if has_direction { square.normalize() } else { vector(joint.datum) };
    let axes = Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[x, z.cross(&x), z]));
    let turn = UnitQuaternion::from_rotation_matrix(&axes);
    Isometry3::from_parts(vector(joint.centre).into(), turn)
}
