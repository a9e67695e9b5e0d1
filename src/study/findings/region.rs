//! What is found of a drive of two joints over its region. Arrays are pitch and roll, or a figure for each motor in the order of
//! the file; turns count from the zero pose, rad.

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};
use serde_json::{Value, json};

use crate::drive::{Kind, Size};
use crate::dynamics::RotorInertia;
use crate::equivalence::{
    Assessment, Basis, Criterion, Outcome, Peak, RegionBounds, RegionFigures, RodPeak, Verdict,
};

use super::both_axes::{BothAxes, OverRegion};
use super::drive::key;
use super::{Warning, views};

/// Everything `check` finds of two joints.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "schema", rename = "unloop/check_region/1")]
pub struct RegionCheck {
    /// The design's name.
    pub design: String,
    /// May two direct joints stand in?
    pub verdict: Verdict,
    /// Why, in one sentence.
    pub reason: String,
    /// What the verdict is over.
    pub basis: Basis,
    /// The verdict is proved, not only computed.
    pub proved: bool,
    /// What drives the joints, with all sizes.
    pub drive: TwoRodsFacts,
    /// How far both joints are used.
    pub region: RegionTurns,
    /// What is to stand in.
    pub direct_joints: DirectJoints,
    /// How far rates and torques are off in the drawn drive, and certainly in none of all builds more than.
    pub rate_error: RateError,
    /// Largest |angle errors| of pitch and roll in the drawn drive, rad.
    pub angle_error_rad: [f64; 2],
    /// Margins of the drawn drive.
    pub margins: RegionMargins,
    /// How far it would pass; `None` where it passes all over.
    pub largest_region: Option<LargestPart>,
    /// What torques are there, where the motor's peak torque is given.
    #[serde(rename = "torque_n_m")]
    pub torque: Option<BothAxes>,
    /// What speeds are there, where the motor's largest is given.
    #[serde(rename = "speed_rad_per_s")]
    pub speed: Option<BothAxes>,
    /// What the rotors weigh at both joints, where they are given.
    pub reflected_inertia: Option<Reflected>,
    /// Criteria in their order.
    #[serde(serialize_with = "criteria")]
    pub criteria: Vec<Assessment>,
    /// The build and pose that break a criterion, where one does.
    pub witness: Option<BrokenRegion>,
    /// What was taken for granted.
    pub assumptions: Vec<String>,
    /// Warnings.
    pub warnings: Vec<Warning>,
    /// What both joints read in the zero pose, rad.
    #[serde(skip)]
    pub joint_reads: [f64; 2],
}

impl RegionCheck {
    /// What came out for `criterion`.
    #[must_use]
    pub fn criterion(&self, criterion: Criterion) -> Option<&Assessment> {
        self.criteria.iter().find(|c| c.criterion == criterion)
    }

    /// The region in cells with what came out of each: whole where no criterion of the motion fails or stays open; none where
    /// not every build reaches all of it, or the cells were not asked for.
    #[must_use]
    pub fn cells(&self) -> Vec<Cell> {
        let of_motion = self.criteria.iter().filter(|c| c.criterion != Criterion::Inertia);
        let is_short = |c: &Assessment| matches!(c.outcome, Outcome::Fails | Outcome::Undecided);
        if !of_motion.into_iter().any(is_short) {
            return vec![Cell { turns: self.region, outcome: Outcome::Holds }];
        }
        self.largest_region.iter().flat_map(|largest| largest.cells.iter().copied()).collect()
    }

    /// Do both joints read their turns from the zero pose?
    #[must_use]
    pub fn reads_turns(&self) -> bool {
        self.joint_reads.iter().all(|reads| reads.abs() < 1e-12)
    }

    /// What pitch and roll read at these turns, rad.
    #[must_use]
    pub fn readings(&self, [pitch, roll]: [f64; 2]) -> [f64; 2] {
        let [p, r] = self.joint_reads;
        [pitch + p, roll + r]
    }
}

/// What drives both joints, by its sizes.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoRodsFacts {
    /// Of both joint axes.
    pub axes: Vec<Size>,
    /// Of each motor.
    pub motors: [MotorFacts; 2],
}

/// One motor with its rod.
#[derive(Clone, Debug, PartialEq)]
pub struct MotorFacts {
    /// Its name in the file.
    pub name: String,
    /// It is a linear actuator, no crank.
    pub is_actuator: bool,
    /// Its sizes.
    pub sizes: Vec<Size>,
}

impl TwoRodsFacts {
    /// The same with other values of all sizes, joint axes first, then the motors'.
    #[must_use]
    pub fn with(&self, values: &[f64]) -> Self {
        let mut values = values.iter();
        let mut set = |sizes: &[Size]| -> Vec<Size> {
            sizes.iter().zip(values.by_ref()).map(|(s, v)| Size { value: *v, ..*s }).collect()
        };
        let axes = set(&self.axes);
        let [one, two] = &self.motors;
        let mut motor = |of: &MotorFacts| MotorFacts { sizes: set(&of.sizes), ..of.clone() };
        Self { axes, motors: [motor(one), motor(two)] }
    }
}

fn by_key(sizes: &[Size]) -> BTreeMap<String, f64> {
    sizes.iter().map(|size| (key(size), size.value)).collect()
}

#[derive(Serialize)]
struct ToldMotor<'a> {
    name: &'a str,
    input: &'static str,
    #[serde(flatten)]
    sizes: BTreeMap<String, f64>,
}

#[derive(Serialize)]
struct ToldDrive<'a> {
    kind: Kind,
    #[serde(flatten)]
    axes: BTreeMap<String, f64>,
    motors: [ToldMotor<'a>; 2],
}

impl Serialize for TwoRodsFacts {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let motors = self.motors.each_ref().map(|of| ToldMotor {
            name: &of.name,
            input: if of.is_actuator { "linear_actuator" } else { "crank" },
            sizes: by_key(&of.sizes),
        });
        let axes = by_key(&self.axes);
        ToldDrive { kind: Kind::TwoRods, axes, motors }.serialize(serializer)
    }
}

/// Turns of pitch and roll, each ascending, rad.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RegionTurns {
    /// Of pitch.
    #[serde(rename = "pitch_rad")]
    pub pitch: [f64; 2],
    /// Of roll.
    #[serde(rename = "roll_rad")]
    pub roll: [f64; 2],
}

impl From<[[f64; 2]; 2]> for RegionTurns {
    fn from([pitch, roll]: [[f64; 2]; 2]) -> Self {
        Self { pitch, roll }
    }
}

words! {
    /// How the matrix came about.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum MatrixOrigin {
        /// The smallest largest rate error over the region.
        Best = "best",
        /// That of the zero pose.
        ZeroPose = "zero pose",
        /// The best in which each motor turns one joint.
        Diagonal = "diagonal",
        /// Given in the design.
        Given = "given",
    }
}

/// Two direct joints: motor turns = matrix · (pitch, roll).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DirectJoints {
    /// A row for each motor, columns pitch and roll.
    pub matrix: [[f64; 2]; 2],
    /// How it came about.
    pub matrix_is: MatrixOrigin,
    /// What the motors read in the zero pose, rad.
    #[serde(rename = "motor_reads_rad")]
    pub motor_reads: [f64; 2],
    /// What pitch and roll read in the zero pose, rad.
    #[serde(rename = "joint_reads_rad")]
    pub joint_reads: [f64; 2],
}

/// E = T⁻¹J − 1: the largest size of each entry over the region in the drawn drive, and what no build exceeds.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RateError {
    /// In the drawn drive.
    #[serde(flatten)]
    pub drawn: Entries,
    /// What no build exceeds; `None` where nothing is certain.
    pub bound: Option<Entries>,
    /// What the angle errors of pitch and roll exceed in no build, rad.
    #[serde(rename = "angle_bound_rad")]
    pub angle_bound: Option<[f64; 2]>,
}

/// Sizes of E: `pr` is roll motion read as pitch.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Entries {
    /// Pitch read from pitch.
    pub pp: f64,
    /// Pitch read from roll.
    pub pr: f64,
    /// Roll read from pitch.
    pub rp: f64,
    /// Roll read from roll.
    pub rr: f64,
    /// In the worst direction.
    pub norm: f64,
}

impl RateError {
    pub(in crate::study) fn of(figures: &RegionFigures, bounds: Option<&RegionBounds>) -> Self {
        let entries = |[[pp, pr], [rp, rr]]: [[f64; 2]; 2], norm| Entries { pp, pr, rp, rr, norm };
        let drawn = figures.rate_error.map(|row| row.map(|peak| peak.value.abs()));
        Self {
            drawn: entries(drawn, figures.rate_error_norm.value),
            bound: bounds.map(|bounds| entries(bounds.rate_error, bounds.rate_error_norm)),
            angle_bound: bounds.map(|bounds| bounds.angle_error),
        }
    }
}

/// A figure of a rod and where it lies.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OfRod {
    /// The figure, rad.
    #[serde(rename = "angle_rad")]
    pub angle: f64,
    /// Which motor's, from 0 in the order of the file.
    pub motor: usize,
    /// Pitch and roll there, rad.
    #[serde(rename = "at_joints_rad")]
    pub at: [f64; 2],
}

impl From<RodPeak> for OfRod {
    fn from(RodPeak { rod, value, joints }: RodPeak) -> Self {
        Self { angle: value, motor: rod, at: joints }
    }
}

/// How near the drawn drive comes to its limits.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RegionMargins {
    /// Smallest angle of a rod to the path of its pin on the foot, the other motor held.
    pub transmission_angle: OfRod,
    /// Smallest angle of a rod to its crank; none where no crank turns.
    pub crank_side: Option<OfRod>,
    /// Largest tilt of a rod in the ball at its crank.
    pub ball_tilt: Option<OfRod>,
    /// The smallest arm that any direction of torque has, m.
    #[serde(rename = "smallest_arm_m")]
    pub smallest_arm: f64,
}

impl RegionMargins {
    pub(in crate::study) fn of(figures: &RegionFigures) -> Self {
        let Peak { value: smallest_arm, .. } = figures.smallest_arm;
        Self {
            transmission_angle: figures.transmission_angle.into(),
            crank_side: figures.crank_side.map(OfRod::from),
            ball_tilt: figures.ball_tilt.map(OfRod::from),
            smallest_arm,
        }
    }
}

/// How far all criteria of the motion would be proved, with the same matrix and every build.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LargestPart {
    /// Pitch as asked, roll as far as it holds; `None` where it holds nowhere.
    pub roll_shortened: Option<RegionTurns>,
    /// Both in the same share.
    pub both_shortened: Option<RegionTurns>,
    /// The region in cells, with what could be shown of each; none where not every build reaches all of it.
    pub cells: Vec<Cell>,
}

/// A rectangle of the region.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Cell {
    /// Its turns.
    #[serde(flatten)]
    pub turns: RegionTurns,
    /// Do all criteria of the motion hold there?
    pub outcome: Outcome,
}

/// What both rotors weigh at the joints over the region: Jᵀ diag(n²J) J.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Reflected {
    /// At pitch, kg m².
    pub pitch_kg_m2: OverRegion,
    /// At roll, kg m².
    pub roll_kg_m2: OverRegion,
    /// The coupling of both as a share of their geometric mean, where it is largest.
    pub coupling: f64,
    /// The largest share of the rotors' kinetic energy that two plain armatures are off.
    pub plain_armatures_off: f64,
    /// The same of a constant matrix of them.
    pub constant_matrix_off: f64,
}

impl From<&RotorInertia> for Reflected {
    fn from(found: &RotorInertia) -> Self {
        Self {
            pitch_kg_m2: (&found.pitch).into(),
            roll_kg_m2: (&found.roll).into(),
            coupling: found.coupling.value,
            plain_armatures_off: found.plain.value,
            constant_matrix_off: found.constant.value,
        }
    }
}

/// A build in a pose that breaks a criterion.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BrokenRegion {
    /// Which criterion.
    pub criterion: Criterion,
    /// Its sizes.
    pub drive: TwoRodsFacts,
    /// Pitch and roll, rad.
    #[serde(rename = "joints_rad")]
    pub joints: [f64; 2],
    /// The figure there; NaN where a rod does not reach.
    pub value: f64,
}

/// As of one joint, but worst at a place of both.
fn judged(one: &Assessment) -> Value {
    let mut told = views::judged(one);
    if let Some(entries) = told.as_object_mut() {
        entries.remove("worst_at_joint_rad");
        entries.remove("worst_at_motor_rad");
        entries.insert("worst_at_joints_rad".to_owned(), json!(one.worst_at_joints));
    }
    told
}

shapes! {
    fn criteria([Assessment] as criteria) = criteria.iter().map(judged).collect::<Value>();
}
