//! The frames of a drive's bodies at one joint turn, as the joint frame sees them, and how they move with the joint.
//!
//! With i the ratio and s the place of the input end, ds/dψ = i/gain; P_ψ = v ds/dψ, Q_ψ = m × q, and the rod w = Q − P turns at
//!
//! ```text
//! Ω = ŵ × ŵ_ψ = w × w_ψ/|w|²,     w_ψ = Q_ψ − P_ψ
//! ```
//!
//! per joint rate, square to itself. Derived here.

use nalgebra::{Complex, Matrix3, Vector3};

use super::super::fault::DynamicsFault;
use super::joint_stroke::{JointStroke, vector};
use crate::drive::{DriveFault, InputEnd, OneJoint, RodPose};

/// A body's frame.
#[derive(Clone, Copy, Debug)]
pub(super) struct MovingFrame {
    /// m.
    pub(super) origin: Vector3<f64>,
    /// Columns: its x, y, z.
    pub(super) axes: Matrix3<f64>,
    /// The origin's way per joint turn.
    pub(super) way: Vector3<f64>,
    /// Its angular speed per joint rate.
    pub(super) spin: Vector3<f64>,
}

impl JointStroke<'_> {
    /// How far the child's x stands from the frame's x at the joint turn `turn`, rad about the joint axis.
    ///
    /// # Errors
    /// A turn that cannot be reached.
    pub fn child_angle(&self, turn: f64) -> Result<f64, DynamicsFault> {
        let direction = MovingFrames::at(self, turn)?.direction();
        Ok(libm::atan2(direction.im, direction.re))
    }
}

/// The rotor's axis (unit vector), and motor turns about it per joint turn, against what bears the motor.
#[derive(Clone, Copy, Debug)]
pub(super) struct MotorSpin {
    pub(super) axis: Vector3<f64>,
    pub(super) ratio: f64,
}

/// The frames of all bodies that a drive can have.
#[derive(Clone, Copy, Debug)]
pub(super) struct MovingFrames {
    pub(super) crank: Option<MovingFrame>,
    pub(super) coupler: Option<MovingFrame>,
    pub(super) housing: Option<MovingFrame>,
    pub(super) nut: Option<MovingFrame>,
    pub(super) child: MovingFrame,
    pub(super) motor: MotorSpin,
    /// From P to Q, m; 0 without a rod.
    pub(super) rod_length: f64,
    /// From B to Q, m; 0 without a rod.
    pub(super) lever: f64,
}

impl MovingFrames {
    /// At the joint turn `turn`, rad.
    ///
    /// # Errors
    /// A turn that cannot be reached.
    pub(super) fn at(stroke: &JointStroke<'_>, turn: f64) -> Result<Self, DriveFault> {
        match stroke.rod() {
            Some(rod) => {
                let seen = Seen { stroke, input: &rod.geometry().input, pose: rod.pose(turn)? };
                Ok(seen.frames())
            }
            None => {
                let ratio = stroke.drive().motion(turn)?.ratio;
                Ok(Self::without_rod(turn, ratio))
            }
        }
    }

    fn without_rod(turn: f64, ratio: f64) -> Self {
        let (sine, cosine) = libm::sincos(turn);
        let [crank, coupler, housing, nut] = [None; 4];
        let child = child(Vector3::new(cosine, sine, 0.0));
        let motor = MotorSpin { axis: Vector3::z(), ratio };
        Self { crank, coupler, housing, nut, child, motor, rod_length: 0.0, lever: 0.0 }
    }

    /// The child's x as the joint frame sees it.
    pub(super) fn direction(&self) -> Complex<f64> {
        Complex { re: self.child.axes.m11, im: self.child.axes.m21 }
    }
}

fn child(x: Vector3<f64>) -> MovingFrame {
    let z = Vector3::z();
    MovingFrame {
        origin: Vector3::zeros(),
        axes: Matrix3::from_columns(&[x, z.cross(&x), z]),
        way: Vector3::zeros(),
        spin: z,
    }
}

/// The axes whose x is `x` and whose z lies as near the joint axis as it can.
fn beside_joint_axis(x: &Vector3<f64>) -> Matrix3<f64> {
    let square = Vector3::z() - x * x.z;
    // A rod along the joint axis has no such z.
    let z = square.try_normalize(1e-9).unwrap_or_else(|| x.cross(&Vector3::y()).normalize());
    Matrix3::from_columns(&[*x, z.cross(x), z])
}

/// One pose of a rod, seen from the joint frame.
struct Seen<'a> {
    stroke: &'a JointStroke<'a>,
    input: &'a InputEnd,
    pose: RodPose,
}

impl Seen<'_> {
    fn point(&self, at: crate::drive::Vector) -> Vector3<f64> {
        self.stroke.frame().inverse_transform_point(&vector(at).into()).coords
    }

    fn direction(&self, along: crate::drive::Vector) -> Vector3<f64> {
        self.stroke.frame().inverse_transform_vector(&vector(along))
    }

    fn frames(&self) -> MovingFrames {
        let still = MovingFrames {
            child: child(self.point(self.pose.joint_pin).normalize()),
            rod_length: self.pose.reached.length,
            lever: self.point(self.pose.joint_pin).norm(),
            ..MovingFrames::without_rod(0.0, self.pose.ratio)
        };
        let motor = |axis| MotorSpin { axis, ratio: self.pose.ratio };
        let rod = self.rod();
        match self.input {
            InputEnd::Crank { circle, .. } => {
                let axis = self.direction(circle.axis);
                let (crank, coupler) = (Some(self.crank(circle.centre, axis)), Some(rod));
                MovingFrames { crank, coupler, motor: motor(axis), ..still }
            }
            InputEnd::Slide { point, direction, .. } => {
                let along = self.direction(*direction);
                let fixed = MovingFrame {
                    origin: self.point(*point),
                    axes: beside_joint_axis(&along),
                    way: Vector3::zeros(),
                    spin: Vector3::zeros(),
                };
                let nut = MovingFrame { origin: rod.origin, way: rod.way, ..fixed };
                let (housing, nut) = (Some(fixed), Some(nut));
                MovingFrames { coupler: Some(rod), housing, nut, motor: motor(along), ..still }
            }
            InputEnd::Actuator { .. } => {
                let along = rod.axes.column(0).into_owned();
                let way = self.direction(self.pose.joint_way);
                let nut = MovingFrame { origin: self.point(self.pose.joint_pin), way, ..rod };
                let (housing, nut) = (Some(rod), Some(nut));
                MovingFrames { housing, nut, motor: motor(along), ..still }
            }
        }
    }

    fn crank(&self, centre: crate::drive::Vector, axis: Vector3<f64>) -> MovingFrame {
        let x = self.direction(self.pose.reached.pin - centre).normalize();
        MovingFrame {
            origin: self.point(centre),
            axes: Matrix3::from_columns(&[x, axis.cross(&x), axis]),
            way: Vector3::zeros(),
            spin: axis * self.pose.ratio,
        }
    }

    /// Origin P, x to Q.
    fn rod(&self) -> MovingFrame {
        let reached = &self.pose.reached;
        let w = self.direction(reached.rod);
        let way = self.direction(reached.velocity) * (self.pose.ratio / self.pose.gain);
        let change = self.direction(self.pose.joint_way) - way;
        MovingFrame {
            origin: self.point(reached.pin),
            axes: beside_joint_axis(&w.normalize()),
            way,
            spin: w.cross(&change) / w.norm_squared(),
        }
    }
}
