//! A loop, or an actuator between two points, as a drive that is no planar four-bar: its figures.
//!
//! Points and axes are taken from the drawn pose, in the carrier link's own frame; that pose is the zero pose.

use nalgebra::{Isometry3, Point3, Vector3};

use super::cycles::Bodies;
use super::drive_stroke::{Stroke, margin, tilt};
use super::four_bar::FourBarLoop;
use super::motor_side::MotorSide;
use super::obstacle::Obstacle;
use super::reach::{floor, turns};
use crate::design::Preset;
use crate::drive::{Axis, Drawing, JointDrive, Kind, OneJoint, Vector};
use crate::numeric::peaks;
use crate::robot::{JointId, LinkId, Robot};

/// A drive of one joint read from a file.
#[derive(Clone, Debug)]
pub struct LoopDrive {
    /// Its kind and points, in the carrier link's frame.
    pub drawing: Drawing,
    /// The driven joint.
    pub joint: JointId,
    /// The motor's joint: the crank's hinge, the slide; `None` where an actuator between sites takes its place.
    pub motor: Option<JointId>,
    /// The names of the motor's joint, empty without one, and of the driven joint.
    pub joints: [String; 2],
    /// The carrier's link and the child's.
    pub links: [LinkId; 2],
    /// What motor and joint read in the drawn pose, rad.
    pub drawn_at: [f64; 2],
    /// +1, or −1 where the motor's joint counts against the drawing's motor axis, which is turned to the joint's side.
    pub motor_sign: f64,
    /// Motor turn about the drawing's axis per reading of its joint: +1 or −1, of a slide or between two points rad/m.
    pub motor_per_reading: f64,
    /// What the file says of the motor, at its own reading; `None` where no motor is told.
    pub motor_side: Option<MotorSide>,
    /// Travel per motor turn is not in the file.
    pub has_no_screw: bool,
    /// Joint turns from the drawn pose, ascending, rad.
    pub joint_turns: [f64; 2],
    /// Motor turns that belong to them, rad.
    pub motor_turns: [f64; 2],
    /// Smallest and largest transmission ratio there, signed.
    pub ratio: [f64; 2],
    /// Smallest transmission angle there, rad; infinite where there is no rod.
    pub transmission_angle: f64,
    /// Largest tilt of the rod in a ball at its ends there, rad.
    pub ball_tilt: f64,
    /// The limits of the file's joints end the stroke; else the preset's floor of the transmission angle.
    pub ended_by_limits: bool,
}

/// The parts that a file's own frame is left for.
pub(super) struct Seat<'a> {
    pub(super) robot: &'a Robot,
    links: [LinkId; 2],
    into: Isometry3<f64>,
    joint: JointId,
    /// About which the child turns against the carrier where the joint's reading grows, in the model's frame.
    pub(super) axis: Vector3<f64>,
}

impl<'a> Seat<'a> {
    pub(super) fn new(
        robot: &'a Robot,
        links: [LinkId; 2],
        (joint, axis): (JointId, Vector3<f64>),
    ) -> Option<Self> {
        let into = robot.links.get(links[0])?.pose.inverse();
        Some(Self { robot, links, into, joint, axis })
    }

    pub(super) fn point(&self, at: Point3<f64>) -> Vector {
        let at = self.into * at;
        Vector::new(at.x, at.y, at.z)
    }

    pub(super) fn direction(&self, of: Vector3<f64>) -> Vector {
        let of = self.into * of;
        Vector::new(of.x, of.y, of.z)
    }

    pub(super) fn joint_axis(&self) -> Option<Axis> {
        let anchor = self.robot.joints.get(self.joint)?.anchor;
        Some(Axis { point: self.point(anchor), direction: self.direction(self.axis) })
    }

    /// `motor` with what it reads as drawn, its sign, and motor turn per reading of its joint.
    ///
    /// # Errors
    /// Where the drawn pose is a stop, or the limits leave it no motion.
    pub(super) fn found(
        &self,
        drawing: Drawing,
        (motor, reads, [motor_sign, per_reading]): (Option<JointId>, f64, [f64; 2]),
        has_no_screw: bool,
        preset: Preset,
    ) -> Result<LoopDrive, Obstacle> {
        let lost = |why: String| Obstacle::new("outside_branch", why);
        let drive = drawing.drive().map_err(|fault| {
            lost(format!("the drawn pose is no zero pose of a {}: {fault}", drawing.kind().name()))
        })?;
        let joint = self.robot.joints.get(self.joint);
        let limits = joint.and_then(|joint| turns(joint, 1.0));
        let by_motor = motor.and_then(|id| self.robot.joints.get(id));
        let motor_limits = by_motor.and_then(|joint| turns(joint, per_reading));
        let stroke = Stroke { drive: &drive, limits, motor_limits, floor: floor(preset) };
        let joint_turns = stroke
            .ends()
            .ok_or_else(|| lost("it cannot move from the pose that the file draws".to_owned()))?;
        let ratio = |turn: f64| drive.motion(turn).map_or(f64::NAN, |motion| motion.ratio);
        let [low, high] = peaks(ratio, joint_turns).map(|(_, ratio)| ratio);
        let [least, most] = [margin as fn(&JointDrive, f64) -> f64, tilt]
            .map(|figure| peaks(|turn| figure(&drive, turn), joint_turns).map(|(_, value)| value));
        Ok(LoopDrive {
            joint: self.joint,
            joints: [
                motor.map_or("", |id| self.robot.joint_name(id)),
                self.robot.joint_name(self.joint),
            ]
            .map(str::to_owned),
            motor,
            links: self.links,
            drawn_at: [reads, joint.map_or(0.0, |joint| joint.drawn_at)],
            motor_sign,
            motor_per_reading: per_reading,
            motor_side: None,
            has_no_screw,
            motor_turns: joint_turns.map(|turn| drive.motor_turn(turn).unwrap_or(f64::NAN)),
            joint_turns,
            ratio: [low, high],
            transmission_angle: least[0],
            ball_tilt: most[1],
            ended_by_limits: limits.is_some() || motor_limits.is_some(),
            drawing,
        })
    }
}

impl LoopDrive {
    /// Whether a ring's bodies are the drive's own, in its order: carrier, two parts, child.
    pub(crate) fn is_in_order(&self, bodies: &Bodies, ring: &FourBarLoop) -> bool {
        let [carrier, _, _, child] = ring.bodies();
        let at_ends = self.links.map(|link| bodies.of_link(link)) == [carrier, child];
        at_ends && ring.joint() == Some(self.joint) && ring.crank_joint() == self.motor
    }

    /// Which kind of drive it is.
    #[must_use]
    pub fn kind(&self) -> Kind {
        self.drawing.kind()
    }

    /// Travel per motor turn, m; `None` where there is no screw.
    #[must_use]
    pub fn lead(&self) -> Option<f64> {
        match &self.drawing {
            Drawing::ActuatorPoints { points, .. } => Some(points.lead),
            Drawing::SliderPoints { points, .. } => Some(points.lead),
            _ => None,
        }
    }

    /// The lengths and angles that an engineer names it by, each with its unit in its name.
    #[must_use]
    pub fn figures(&self) -> Vec<(&'static str, f64)> {
        match &self.drawing {
            Drawing::BallRodPoints(points) => {
                let Ok((sizes, _)) = points.drawing() else { return Vec::new() };
                vec![
                    ("ground_m", sizes.ground),
                    ("crank_m", sizes.crank),
                    ("coupler_m", sizes.coupler),
                    ("rocker_m", sizes.rocker),
                    ("axial_m", sizes.axial),
                    ("twist_rad", sizes.twist),
                    ("lean_rad", sizes.lean),
                ]
            }
            Drawing::ActuatorPoints { points, .. } => {
                let [ground, rocker] =
                    [points.motor, points.rocker].map(|at| off_axis(&points.joint, at));
                vec![
                    ("ground_m", ground),
                    ("rocker_m", rocker),
                    ("line_offset_m", points.line_offset),
                    ("length_m", (points.rocker - points.motor).length()),
                    ("lead_m", points.lead),
                ]
            }
            Drawing::SliderPoints { points, .. } => vec![
                ("coupler_m", points.coupler),
                ("rocker_m", off_axis(&points.joint, points.rocker)),
                ("guide_to_joint_m", off_axis(&points.joint, points.guide)),
                ("lead_m", points.lead),
            ],
            _ => Vec::new(),
        }
    }
}

/// Distance of a point from an axis.
fn off_axis(axis: &Axis, at: Vector) -> f64 {
    axis.foot(at).map_or(0.0, |foot| (at - foot).length())
}
