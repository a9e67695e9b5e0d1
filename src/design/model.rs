//! What a design file holds, in SI, checked; see the README for the file itself.
//!
//! Everything is about the **joint axis pointing at the reader**, counter-clockwise positive: where the
//! drawing shows the axis pointing away, the reader of the file has turned every angle of the drawing round
//! ([`Design::drawing_sense`] tells, for messages that speak of the user's own figures).

use std::ops::Range;

use super::bodies::Masses;
use super::dimension::Dimension;
use super::front::Front;
use super::gripper::{Finger, GripperNames};
use super::machine_elements::{Actuator, Pins, Rod};
use crate::equivalence::{Basis, LengthName, PadLimits};

/// One design file, checked; of a planar four-bar where nothing else is said, else of what `G` draws.
#[derive(Clone, Debug)]
pub struct Design<G = Geometry> {
    /// The file's name as given on the command line and its text, for messages.
    pub source: Source,
    /// `name`.
    pub name: String,
    /// Whether the joint axis points at the reader of the drawing.
    pub axis_points: AxisPoints,
    /// What is drawn: of a four-bar the four lengths and the zero pose.
    pub geometry: G,
    /// `[drive] motor_on`.
    pub motor_on: MotorOn,
    /// `[zero] motor_reads`, rad, as the robot's software reads it.
    pub motor_reads: f64,
    /// `[zero] joint_reads`, rad, as the robot's software reads it.
    pub joint_reads: f64,
    /// `[zero] set_by`; always given where a tolerance is drawn.
    pub set_by: Option<SetBy>,
    /// `[stroke]`.
    pub stroke: Stroke,
    /// `[direct_joint]`.
    pub direct_joint: DirectJointWish,
    /// `[accept]`.
    pub accept: Accept,
    /// `[actuator]`.
    pub actuator: Option<Actuator>,
    /// `[mass.*]`.
    pub mass: Masses,
    /// `[rod]`.
    pub rod: Option<Rod>,
    /// `[pins]`.
    pub pins: Pins,
    /// `[tolerance] together`.
    pub together: Vec<Together>,
    /// `[motion]`.
    pub motion: Option<MotionEnvelope>,
    /// `[finger]`.
    pub finger: Option<Finger>,
    /// What turns the crank of a gripper's finger, where the motor does not.
    pub front: Option<Box<Front>>,
    /// `[[robot]]`, in the order of the file.
    pub robots: Vec<RobotJoint>,
    /// Where each parameter stands in the file.
    pub places: Places,
}

words! {
    /// `[drive] motor_on`: the link that bears the motor.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
    pub enum MotorOn {
        /// The carrier, which the joint is on too.
        #[default]
        Carrier = "carrier",
        /// The carrier's parent, its axis that of the joint between the two.
        Parent = "parent",
    }
}

/// A file's name and text.
#[derive(Clone, Debug)]
pub struct Source {
    /// As given on the command line; `-` is standard input.
    pub path: String,
    /// The whole text.
    pub text: String,
}

/// `axis_points`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AxisPoints {
    /// At the reader of the drawing (the default).
    Toward,
    /// Away from the reader of the drawing.
    Away,
}

/// The linkage as drawn, in its zero pose.
#[derive(Clone, Debug)]
pub struct Geometry {
    /// Distance A–B, m.
    pub ground: Dimension,
    /// Distance A–P, m.
    pub crank: Dimension,
    /// Distance P–Q, m.
    pub coupler: Dimension,
    /// Distance B–Q, m.
    pub rocker: Dimension,
    /// Crank angle φ₀ in the zero pose from A→B, rad, in (−π, π].
    pub zero_crank: Dimension,
    /// Rocker angle ψ₀ in the zero pose from A→B, rad: a hint that only picks the closure.
    pub zero_rocker: f64,
    /// What rounding may have done to each length, m: more than a few floats only where the lengths are differences of
    /// far larger pin coordinates.
    pub rounding: f64,
    /// Where the pins stand in the carrier's frame, where they were given with three coordinates.
    pub pivots: Option<SpatialPivots>,
    /// Unit vectors of the linkage's x (along A→B), y (left of it with the joint axis at the reader) and z (the joint axis)
    /// in the axes that points are written in.
    pub drawing_frame: [[f64; 3]; 3],
}

/// Pins read from CAD with three coordinates, in the carrier's frame, m.
#[derive(Clone, Debug)]
pub struct SpatialPivots {
    /// Unit vector of the joint axis.
    pub axis: [f64; 3],
    /// A: a point on the motor axis.
    pub motor: [f64; 3],
    /// B: a point on the joint axis.
    pub joint: [f64; 3],
    /// P: crank pin.
    pub crank: [f64; 3],
    /// Q: rocker pin.
    pub rocker: [f64; 3],
    /// How far A, P, Q stand from B along the axis, m.
    pub axial_offsets: [f64; 3],
}

/// Where the drawn joint stands in the carrier's frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointPlace {
    /// Unit vector of the joint axis.
    pub axis: [f64; 3],
    /// A point on the joint axis, m.
    pub joint: [f64; 3],
}

/// `[zero] set_by`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SetBy {
    /// Crank at its drawn angle; motor and joint both zeroed there on each robot.
    Jig,
    /// Crank at its drawn angle; what the lengths do to the rocker counts as error.
    Drawing,
}

/// Which angle the stroke is given in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StrokeBy {
    /// `joint = [..]`.
    Joint,
    /// `motor = [..]`.
    Motor,
}

/// `[stroke]` as turns from the zero pose about the joint axis, rad, `low < high`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Joint or motor angle.
    pub by: StrokeBy,
    /// Smaller turn from the zero pose.
    pub low: f64,
    /// Larger turn from the zero pose.
    pub high: f64,
}

/// A constant that is given or is to be found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wish {
    /// `"best"`.
    Best,
    /// A figure (ratio: number; offset: rad, about the joint axis).
    Given(f64),
}

/// `[direct_joint]`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DirectJointWish {
    /// Transmission ratio, motor turn per joint turn.
    pub ratio: Wish,
    /// Offset of the joint angle.
    pub offset: Wish,
}

words! {
    /// `[accept] preset`.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
    pub enum Preset {
        /// 0.05 deg, 0.5 %, 1 %, 40 deg.
        Invisible = "invisible",
        /// 0.5 deg, 2 %, 5 %, 30 deg.
        #[default]
        Training = "training",
        /// 1 deg, 5 %, 10 %, 20 deg.
        Coarse = "coarse",
    }
}

/// `[accept]`, presets resolved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Accept {
    /// The preset that the limits started from.
    pub preset: Preset,
    /// Largest angle error, rad.
    pub angle: f64,
    /// Largest |i / ratio − 1|.
    pub ratio: f64,
    /// Largest inertia error.
    pub inertia: f64,
    /// The inertia limit was written by hand.
    pub inertia_by_hand: bool,
    /// Smallest transmission angle, rad.
    pub transmission_angle: f64,
    /// Largest tilt of the rod in a ball end, rad; judged only where it is written.
    pub ball_tilt: Option<f64>,
    /// Smallest angle on the motor's side of the rod, rad: 0 at a dead point. Judged only where it is written.
    pub crank_side: Option<f64>,
    /// What a pad on the coupler is held against.
    pub pad: PadLimits,
    /// Nominal, or every linkage within tolerance (the default where any is drawn).
    pub over: Basis,
}

/// Lengths that are made together.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    /// Which lengths.
    pub lengths: Vec<LengthName>,
    /// Correlation, 0…1 (default 1).
    pub correlation: f64,
}

/// `[motion]`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MotionEnvelope {
    /// rad/s
    pub joint_speed: Option<f64>,
    /// rad/s²
    pub joint_acceleration: Option<f64>,
    /// rad/s
    pub carrier_speed: Option<f64>,
    /// rad/s²
    pub carrier_acceleration: Option<f64>,
    /// m/s²
    pub base_acceleration: Option<f64>,
}

/// One `[[robot]]`.
#[derive(Clone, Debug, PartialEq)]
pub struct RobotJoint {
    /// Joint name.
    pub joint: String,
    /// Parent link.
    pub parent: String,
    /// Child link.
    pub child: String,
    /// Unit vector in the parent link's frame.
    pub axis: [f64; 3],
    /// Joint axis in the parent's frame, m.
    pub origin: [f64; 3],
    /// Motor axis in the parent's frame, m; places A→B.
    pub motor_at: Option<[f64; 3]>,
    /// The drawing is seen from the other side.
    pub mirrored: bool,
    /// +1 or −1.
    pub motor_sign: f64,
    /// The names of a gripper's further joints and links.
    pub gripper: GripperNames,
    /// The joint that the motor is coaxial with; there where `[drive] motor_on = "parent"`.
    pub parent_joint: Option<ParentJoint>,
}

/// The joint between the carrier and its parent, where the motor sits on that parent.
#[derive(Clone, Debug, PartialEq)]
pub struct ParentJoint {
    /// `parent_joint`: its name.
    pub joint: String,
    /// `motor_link`: the link that bears the motor.
    pub motor_link: String,
    /// `parent_joint_reads`: what it reads in the zero pose, rad.
    pub reads: f64,
    /// `parent_joint_sign`: +1 where it counts about the driven joint's axis, else −1.
    pub sign: f64,
}

/// A parameter of the design whose place in the file is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Parameter {
    /// `[linkage] ground` or the pivots that fix it
    Ground,
    /// `[linkage] crank` or the pivot
    Crank,
    /// `[linkage] coupler` or the pivots
    Coupler,
    /// `[linkage] rocker` or the pivot
    Rocker,
    /// `[zero] crank` or the pivots
    ZeroCrank,
    /// `[zero] rocker` or the pivots
    ZeroRocker,
    /// `[zero] set_by`
    SetBy,
    /// lower end of `[stroke]` as written (the user's first figure)
    StrokeFirst,
    /// upper end of `[stroke]` as written (the user's second figure)
    StrokeSecond,
    /// `[direct_joint] ratio`
    Ratio,
    /// `[direct_joint] offset`
    Offset,
    /// `[direct_joint] matrix`
    Matrix,
    /// `[stroke] pitch`
    StrokePitch,
    /// `[stroke] roll`
    StrokeRoll,
    /// `[accept] inertia`
    AcceptInertia,
    /// `[accept] over`
    AcceptOver,
    /// `[actuator] stops`, as an array
    Stops,
    /// `[actuator] rotor_inertia`
    RotorInertia,
    /// `[zero] joint_reads`
    JointReads,
    /// `[finger] pad`
    FingerPad,
    /// `[pivots] motor`
    MotorPin,
    /// `[pivots] joint`
    JointPin,
    /// `[pivots] crank`
    CrankPin,
    /// `[pivots] rocker`
    RockerPin,
    /// the n-th `[[robot]]` header
    Robot(usize),
    /// `[drive]`
    Drive,
    /// the n-th of a drawing's sizes
    Size(usize),
}

/// Where each parameter stands in the file, as byte ranges.
#[derive(Clone, Debug, Default)]
pub struct Places(pub std::collections::BTreeMap<Parameter, Range<usize>>);

impl<G> Design<G> {
    /// +1 where the drawing's counter-clockwise is the joint axis's, −1 where the drawing shows the axis pointing away.
    #[must_use]
    pub fn drawing_sense(&self) -> f64 {
        match self.axis_points {
            AxisPoints::Toward => 1.0,
            AxisPoints::Away => -1.0,
        }
    }
}
