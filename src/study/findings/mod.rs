//! What the studies find, as plain data in SI; angles in rad, turns counted from the zero pose about the joint axis.

use serde::{Serialize, Serializer};

use crate::design::StrokeBy;
use crate::diagnostic::Code;
use crate::equivalence::{Assessment, Basis, Change, Criterion, DirectJoint, PadStandIn, Verdict};
use crate::linkage::{BarrierKind, Branch, Class, Closure, FourBar, Kind, PadOn, Stroke};

use super::readings::{OtherWay, Readings};

mod both_axes;
mod drive;
mod finger;
mod in_space;
mod inertia;
pub(super) mod motor_turns;
mod region;
mod two_joints;
pub(super) mod views;

pub use both_axes::{BothAxes, OverRegion, Promised};
pub use drive::{BrokenBuild, BrokenBy, DriveFacts};
pub use finger::{AtMotor, CrankDrive, FingerFindings, StandInCost, Toggle, Unpowered};
pub use in_space::{Cost, DriveFindings, NearStop};
pub use inertia::{DriveInertia, InertiaFindings, LinkInertia};
pub use region::*;
pub use two_joints::ParentMotor;
pub(crate) use views::{Ends, Near};

/// How much a check works out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// The verdict, all that it rests on, and what would do; not how far it would still hold nor what shortcuts cost.
    Verdict,
    /// All of it.
    Whole,
}

/// Everything `check` finds.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "schema", rename = "unloop/check/1", remote = "Self")]
pub struct Check {
    /// The design's name.
    pub design: String,
    /// May a direct joint stand in?
    pub verdict: Verdict,
    /// Why, in one sentence.
    pub reason: String,
    /// What the verdict is over.
    pub basis: Basis,
    /// The verdict is proved, not only computed.
    pub proved: bool,
    /// The planar four-bar and what it is; `None` for other kinds of drive.
    pub linkage: Option<LinkageFacts>,
    /// What drives the joint, with all sizes.
    pub drive: DriveFacts,
    /// Zero pose: crank angle φ₀ and rocker angle ψ₀ from A→B, rad.
    pub zero: ZeroPose,
    /// The stroke as turns from the zero pose.
    pub stroke: Stroke,
    /// What motor and joint read at their turns; what is printed for people is readings.
    #[serde(skip)]
    pub readings: Readings,
    /// Where the linkage's x (along A→B) and y point on its drawing, to the right and up, as the pins are written.
    #[serde(skip)]
    pub view: [[f64; 2]; 2],
    /// Every `[[robot]]` that counts the other way.
    #[serde(skip)]
    pub other_way: Vec<OtherWay>,
    /// Which of the two angles the design gives the stroke in.
    #[serde(skip)]
    pub stroke_by: StrokeBy,
    /// The direct joint: joint turn = motor turn / ratio + offset.
    pub direct_joint: DirectJoint,
    /// The ratio was searched for, not given.
    #[serde(skip)]
    pub ratio_is_best: bool,
    /// The transmission ratio over the stroke of the drawn linkage.
    pub transmission_ratio: RatioRange,
    /// Largest |angle error| of the drawn linkage.
    #[serde(serialize_with = "views::largest")]
    pub angle_error: Located,
    /// Smallest transmission angle of the drawn linkage; none where there is no rod.
    #[serde(serialize_with = "views::smallest")]
    pub transmission_angle: Option<Located>,
    /// The crank limit nearest to the stroke.
    #[serde(serialize_with = "views::motor_limit")]
    pub crank_limit: Option<Limit>,
    /// The change point nearest to the stroke.
    #[serde(serialize_with = "views::motor_limit")]
    pub change_point: Option<Limit>,
    /// The dead point nearest to the stroke.
    #[serde(serialize_with = "views::joint_limit")]
    pub rocker_limit: Option<Limit>,
    /// The joint turns that can be reached from the zero pose before a dead point or barrier.
    #[serde(rename = "swing_joint_rad")]
    pub swing: [f64; 2],
    /// How far A, P, Q stand from B along the axis, m, where the pins were given with three coordinates.
    #[serde(rename = "axial_offsets_m")]
    pub axial_offsets: Option<[f64; 3]>,
    /// |dφ/dψ| over the stroke on the verdict's basis, smallest and largest; the largest is infinite across a dead point.
    #[serde(skip)]
    pub ratio_magnitude: [f64; 2],
    /// Criteria in the order angle, ratio, inertia, transmission angle.
    #[serde(serialize_with = "views::criteria")]
    pub criteria: Vec<Assessment>,
    /// The linkage or build and pose that break a criterion, where one does.
    #[serde(serialize_with = "views::witness")]
    pub witness: Option<(Criterion, BrokenBy)>,
    /// The joint turns over which angle, ratio and transmission angle are proved, ascending; none where nothing is.
    #[serde(rename = "proved_joint_rad")]
    pub proved_joint: Option<[f64; 2]>,
    /// Stretches of joint turns, ascending, over which the search could not decide.
    #[serde(rename = "undecided_joint_rad")]
    pub undecided_joint: Vec<[f64; 2]>,
    /// What a gripper's finger does, where there is one.
    pub finger: Option<FingerFindings>,
    /// What is found of a drive that is no planar four-bar alone.
    #[serde(flatten)]
    pub in_space: Option<DriveFindings>,
    /// What the direct joint weighs, where the masses are given.
    pub inertia: Option<InertiaFindings>,
    /// How far it would still hold.
    #[serde(flatten)]
    pub extremes: Extremes,
    /// What would make the drawn linkage equivalent, where it is not.
    pub advice: Option<Advice>,
    /// Evenly spaced poses for a picture.
    #[serde(skip)]
    pub curve: Vec<StrokeRow>,
    /// Warnings.
    pub warnings: Vec<Warning>,
    /// For each `[[robot]]` whose motor sits on the carrier's parent, how both motors and both joints hang together.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub two_joints: Vec<ParentMotor>,
    /// What this version reads and keeps but cannot use in `check`.
    #[serde(rename = "not_used")]
    pub unused: Vec<&'static str>,
}

impl Check {
    /// What came out for `criterion`.
    #[must_use]
    pub fn criterion(&self, criterion: Criterion) -> Option<&Assessment> {
        self.criteria.iter().find(|c| c.criterion == criterion)
    }

    /// Where a criterion is worst: whose angle tells it (the motor's for a pad on the coupler, else the joint's), and what that
    /// reads, rad.
    #[must_use]
    pub fn worst_at(&self, c: &Assessment) -> Option<(&'static str, f64)> {
        if self.is_of_pad() {
            return Some(("motor", self.readings.motor(c.worst_at_motor?)));
        }
        Some(("joint", self.readings.joint(c.worst_at_joint?)))
    }

    /// Is it about a pad on the coupler, for which no direct joint is offered?
    #[must_use]
    pub fn is_of_pad(&self) -> bool {
        self.finger.as_ref().is_some_and(|finger| finger.pad == PadOn::Coupler)
    }
}

/// With the readings beside the turns.
impl Serialize for Check {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut turns = Self::serialize(self, serde_json::value::Serializer);
        if let (true, Some(finger), Ok(object)) = (self.is_of_pad(), &self.finger, &mut turns) {
            views::without_joint(object, finger.stand_in == PadStandIn::Hinge);
        }
        let mut told = views::with_beside(turns, &|key| self.readings.beside(key));
        motor_turns::with_motor_turns(&mut told, &self.readings, self.stroke.motor);
        told.serialize(serializer)
    }
}

/// The linkage and what it is.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct LinkageFacts {
    /// The four lengths, m.
    #[serde(flatten)]
    pub bars: FourBar,
    /// On its circuit.
    pub kind: Kind,
    /// The special kind that it misses by at most 1 %, and by what share of the longest length.
    #[serde(flatten, serialize_with = "views::near")]
    pub near: Option<(Kind, f64)>,
    /// Grashof class.
    pub class: Class,
    /// At the zero pose.
    pub closure: Closure,
}

/// The zero pose; an angle that the kind of drive does not have is NaN, in JSON null.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ZeroPose {
    /// Crank angle φ₀, rad.
    #[serde(rename = "crank_rad")]
    pub crank: f64,
    /// Rocker angle ψ₀, rad, solved.
    #[serde(rename = "rocker_rad")]
    pub rocker: f64,
}

impl ZeroPose {
    /// Of the linkage on its branch.
    #[must_use]
    pub fn new(branch: &Branch) -> Self {
        Self { crank: branch.zero_crank(), rocker: branch.zero_rocker() }
    }
}

/// A figure and the joint turn where it lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Located {
    /// The figure.
    pub value: f64,
    /// Joint turn, rad.
    pub at_joint: f64,
}

/// The transmission ratio over the stroke.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RatioRange {
    /// Smallest and largest, signed; `None` across a dead point, where it has no bound.
    #[serde(flatten, serialize_with = "views::ends")]
    pub ends: Option<[f64; 2]>,
    /// Motor turn / joint turn over the stroke.
    pub mean: f64,
    /// Largest |i / ratio − 1|; `None` across a dead point.
    #[serde(serialize_with = "views::value_if_any")]
    pub worst_error: Option<Located>,
    /// The joint turn where it is worst, or where the rocker stands still.
    #[serde(rename = "worst_at_joint_rad")]
    pub worst_at_joint: f64,
}

/// A limit and its distance from the stroke.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// Motor turn of a crank limit or change point, joint turn of a dead point.
    pub at: f64,
    /// Distance from the nearer end of the stroke in the same angle, 0 inside the stroke.
    pub margin: f64,
}

/// How far it would still hold, each proved; `None` where it does not hold at all.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Extremes {
    /// One tolerance ± for all four lengths, m.
    #[serde(rename = "largest_symmetric_tolerance_m")]
    pub symmetric_tolerance: Option<f64>,
    /// Joint turns, ascending, on the verdict's basis and with the same constants.
    #[serde(rename = "largest_stroke_joint_rad")]
    pub stroke_joint: Option<[f64; 2]>,
}

/// What would make the direct joint equivalent.
#[derive(Clone, Debug, Serialize)]
pub struct Advice {
    /// The criterion that fails first as the stroke grows from the zero pose.
    pub first_to_fail: Criterion,
    /// The joint turns over which the drawn linkage would hold, ascending, and that share of the stroke.
    #[serde(flatten, serialize_with = "views::enough")]
    pub enough: Option<([f64; 2], f64)>,
    /// The change of one length that helps most, where one does.
    pub change: Option<Change>,
}

/// A warning with a stable code.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Warning {
    /// By which more can be asked about it.
    pub code: Code,
    /// For people.
    pub message: String,
}

/// One pose of the stroke, for pictures and tables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrokeRow {
    /// Motor turn.
    pub motor: f64,
    /// Joint turn of the linkage.
    pub joint: f64,
    /// dφ/dψ, signed; infinite at a dead point.
    pub transmission_ratio: f64,
    /// Share of the joint's torque that friction in the pins leaves, 0 where they lock; 1 where that is not known.
    pub left: f64,
}

/// Where the linkage stops, in words for messages.
#[must_use]
pub fn barrier_name(barrier: Option<BarrierKind>) -> &'static str {
    barrier.map_or("dead point (rocker limit)", BarrierKind::name)
}
