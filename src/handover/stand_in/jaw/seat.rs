//! Where one finger of a gripper stands in the palm, and what its parts are called.

use nalgebra::{Isometry3, Point3, UnitQuaternion, Vector3};

use super::super::figures::sense;
use super::super::frames::Frames;
use crate::design::{Finger, OtherFinger, RobotJoint};
use crate::dynamics::{Masses, mirrored_place};
use crate::handover::Form;
use crate::handover::fault::EmitFault;
use crate::handover::link_moments::without_dust;
use crate::handover::stand_in::Request;
use crate::linkage::{Branch, Pose};
use crate::robot::Format;
use crate::study::{self, Heights};

/// One of the fingers of a `[[robot]]`.
pub(in crate::handover) struct Seat<'a> {
    pub(in crate::handover) robot: &'a RobotJoint,
    finger: &'a Finger,
    branch: &'a Branch,
    /// The drawing's carrier frame (origin on B, x along A→B) of this finger in the palm's frame.
    pub(in crate::handover) frame: Isometry3<f64>,
    /// What it is beside the first finger; `None` of the first finger itself.
    pub(in crate::handover) other: Option<Other>,
    /// Along the z axis of `frame`.
    heights: Heights,
    /// +1 where the driver turns about the z axis of `frame`.
    driver_sense: f64,
    motor_reads: f64,
    pub(in crate::handover) joint_reads: f64,
    zero: Pose,
    laid: Pose,
    is_drawn_at_readings: bool,
}

/// How the other finger stands to the first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::handover) enum Attitude {
    /// As its mirror image.
    Mirrored,
    /// Turned by half a turn about a line across the closing direction, so high above B along the robot's axis, m. In the
    /// plane of the linkage that is the mirror image.
    Turned(f64),
}

/// The other finger beside the first one.
#[derive(Clone, Copy, Debug)]
pub(in crate::handover) struct Other {
    attitude: Attitude,
    /// Its carrier frame in the first one's.
    place: Isometry3<f64>,
}

impl Other {
    /// What the first finger weighs, of this one.
    pub(super) fn masses(&self, first: &Masses) -> Masses {
        match self.attitude {
            Attitude::Mirrored => first.mirrored(&self.place),
            Attitude::Turned(_) => first.at(&self.place),
        }
    }
}

/// Names of the rocker's parts, made from its finger's joint.
pub(in crate::handover) struct RockerNames {
    pub(in crate::handover) joint: String,
    pub(in crate::handover) link: String,
    pub(in crate::handover) end: String,
}

impl<'a> Seat<'a> {
    /// The finger, and the other where there is one.
    ///
    /// # Errors
    /// Where nothing places the drawing on the robot; a pose that cannot be reached.
    pub(super) fn of_both(
        request: &Request<'a>,
        finger: &'a Finger,
        robot: &'a RobotJoint,
        attitude: Attitude,
    ) -> Result<Vec<Self>, EmitFault> {
        let design = request.design;
        let frames = Frames::of(design, robot, request.check.zero.rocker)?;
        let branch = &request.mechanism.branch;
        let front = design.front.as_deref();
        let own = Self {
            robot,
            finger,
            branch,
            frame: frames.carrier,
            other: None,
            heights: study::heights(design, Some(robot)),
            driver_sense: sense(robot) * if front.is_some() { 1.0 } else { robot.motor_sign },
            motor_reads: front.map_or(design.motor_reads, |front| front.crank_reads),
            joint_reads: design.joint_reads,
            zero: pose(branch, 0.0)?,
            laid: pose(branch, 0.0)?,
            is_drawn_at_readings: super::is_drawn_at_readings(request),
        };
        let is_laid_at_zero =
            (request.ask.form, request.ask.format) == (Form::Loop, Format::Sdformat);
        let laid = if is_laid_at_zero { pose(branch, own.turn_at_zero())? } else { own.laid };
        let own = Self { laid, ..own };
        let other = (finger.other == OtherFinger::Mirrored).then(|| own.counterpart(attitude));
        Ok([Some(own), other].into_iter().flatten().collect())
    }

    /// On the other side of the plane through the middle of the opening, across the closing direction.
    fn counterpart(&self, attitude: Attitude) -> Self {
        let Finger { pad, opening, .. } = self.finger;
        let [x, y] = pad.from_joint_axis(self.branch).unwrap_or_default();
        let [nx, ny] = pad.closing;
        let middle = [x + 0.5 * opening * nx, y + 0.5 * opening * ny];
        let mut place = mirrored_place(middle, pad.closing);
        let Heights { motor, crank, rocker } = self.heights;
        let heights = match attitude {
            Attitude::Mirrored => Heights { motor: -motor, crank: -crank, rocker: -rocker },
            Attitude::Turned(height) => {
                place.translation.vector.z += 2.0 * height * sense(self.robot);
                self.heights
            }
        };
        let other = Some(Other { attitude, place });
        Self { frame: self.frame * place, other, heights, ..*self }
    }

    pub(in crate::handover) fn is_other(&self) -> bool {
        self.other.is_some()
    }

    /// The motor turn at which the driver reads 0, rad.
    fn turn_at_zero(&self) -> f64 {
        -self.driver_sense * self.motor_reads
    }

    /// What the driver at A reads in the zero pose, rad.
    pub(super) fn driver_reading(&self) -> f64 {
        self.motor_reads
    }

    /// The reading in the pose in which the links are drawn.
    pub(super) fn drawn(&self, in_zero_pose: f64) -> f64 {
        if self.is_drawn_at_readings { in_zero_pose + 0.0 } else { 0.0 }
    }

    /// Of the hinges of the crank, in the palm's frame.
    pub(super) fn axis(&self) -> [f64; 3] {
        self.about(self.driver_sense)
    }

    /// Of a hinge at B that reads as the robot's joint, or its mirror image.
    pub(super) fn hinge_axis(&self) -> [f64; 3] {
        self.about(sense(self.robot))
    }

    /// The robot's own axis where that is meant, to the last digit.
    fn about(&self, sense_of_z: f64) -> [f64; 3] {
        let own = sense(self.robot) * if self.is_other() { -1.0 } else { 1.0 };
        self.robot.axis.map(|x| own * sense_of_z * x + 0.0)
    }

    /// n in the palm's frame.
    pub(super) fn closing(&self) -> [f64; 3] {
        let [x, y] = self.finger.pad.closing;
        without_dust((self.frame.rotation * Vector3::new(x, y, 0.0)).into())
    }

    /// A point of the carrier frame in the palm's frame; rounding of the place is none.
    fn in_palm(&self, x: f64, y: f64, z: f64) -> [f64; 3] {
        let at = self.frame * Point3::new(x, y, z);
        let dust = 1e-15 * (x.abs() + y.abs() + self.frame.translation.vector.norm());
        <[f64; 3]>::from(at.coords).map(|x| if x.abs() < dust { 0.0 } else { x })
    }

    /// A in the palm's frame.
    pub(super) fn motor(&self) -> [f64; 3] {
        self.in_palm(-self.zero.bars.ground, 0.0, self.heights.motor)
    }

    /// B in the palm's frame.
    pub(super) fn joint_axis(&self) -> [f64; 3] {
        self.in_palm(0.0, 0.0, 0.0)
    }

    /// P in the palm's frame, in the zero pose.
    pub(in crate::handover) fn zero_pin(&self) -> [f64; 3] {
        let [x, y] = self.zero.e.map(|x| x * self.zero.bars.crank);
        self.in_palm(x - self.zero.bars.ground, y, self.heights.crank)
    }

    /// A part of the drawing at `angle` from A→B, in the axes of a link that is aligned with the palm there.
    fn axes(&self, angle: f64) -> UnitQuaternion<f64> {
        self.frame.rotation * UnitQuaternion::from_axis_angle(&Vector3::z_axis(), angle)
    }

    fn crank_axes(&self) -> UnitQuaternion<f64> {
        self.axes(self.branch.zero_crank() + self.turn_at_zero())
    }

    fn coupler_axes(&self) -> UnitQuaternion<f64> {
        self.axes(self.laid.coupler_angle())
    }

    fn rocker_axes(&self) -> UnitQuaternion<f64> {
        self.axes(self.laid.rocker_angle())
    }

    /// P in the crank's link.
    pub(super) fn crank_pin(&self) -> [f64; 3] {
        let Heights { motor, crank, .. } = self.heights;
        along(self.crank_axes(), self.zero.bars.crank, crank - motor)
    }

    /// Q in the link with the pad.
    pub(super) fn rod_end(&self) -> [f64; 3] {
        let Heights { crank, rocker, .. } = self.heights;
        along(self.coupler_axes(), self.zero.bars.coupler, rocker - crank)
    }

    /// Q in the rocker's link.
    pub(super) fn rocker_pin(&self) -> [f64; 3] {
        along(self.rocker_axes(), self.zero.bars.rocker, self.heights.rocker)
    }

    /// The drawing's crank frame in the crank's link, seen from the height of B.
    pub(super) fn crank_place(&self) -> (UnitQuaternion<f64>, f64) {
        (self.crank_axes(), self.heights.motor)
    }

    /// The same of the coupler in the link with the pad.
    pub(super) fn coupler_place(&self) -> (UnitQuaternion<f64>, f64) {
        (self.coupler_axes(), self.heights.crank)
    }

    /// The same of the rocker in its own link.
    pub(super) fn rocker_place(&self) -> (UnitQuaternion<f64>, f64) {
        (self.rocker_axes(), 0.0)
    }

    /// The same of the rocker in the link that a hinge at B moves.
    pub(super) fn hinged_place(&self) -> (UnitQuaternion<f64>, f64) {
        let turned = Vector3::from(self.hinge_axis()) * -self.joint_reads;
        let back = UnitQuaternion::from_scaled_axis(turned);
        (back * self.axes(self.zero.rocker_angle()), 0.0)
    }

    pub(super) fn joint_name(&self) -> &str {
        if self.is_other() { &self.robot.gripper.other_joint } else { &self.robot.joint }
    }

    pub(super) fn pad_joint_name(&self) -> &str {
        let names = &self.robot.gripper;
        if self.is_other() { &names.other_pad_joint } else { &names.pad_joint }
    }

    pub(super) fn crank_link(&self) -> &str {
        let names = &self.robot.gripper;
        if self.is_other() { &names.other_crank_link } else { &names.crank_link }
    }

    pub(super) fn child(&self) -> &str {
        if self.is_other() { &self.robot.gripper.other_child } else { &self.robot.child }
    }

    pub(super) fn rocker_names(&self) -> RockerNames {
        let name = |part: &str| format!("{}_{part}", self.joint_name());
        RockerNames { joint: name("rocker"), link: name("rocker_link"), end: name("rocker_end") }
    }
}

fn pose(branch: &Branch, turn: f64) -> Result<Pose, EmitFault> {
    branch.pose(turn).map_err(|_| EmitFault::StopNotReached { motor: turn })
}

fn along(axes: UnitQuaternion<f64>, length: f64, height: f64) -> [f64; 3] {
    without_dust((axes * Vector3::new(length, 0.0, height)).into())
}
