//! What is asked of a tolerance study, and what it finds.

use serde::{Serialize, Serializer};

use crate::diagnostic::Code;
use crate::drive::Kind;
use crate::equivalence::{Criterion, DirectJoint, Finger, LengthName, Outcome, PadStandIn, Unit};
use crate::tolerance::{
    Budget, Contribution, Deviation, Distribution, Growth, LostMotion, Statistics, Varied,
};

use super::findings::{Warning, views};
use super::tolerance_ranges::Ranges;

/// What is asked of the study.
#[derive(Clone, Copy, Debug)]
pub struct ToleranceRequest {
    /// Builds to draw.
    pub samples: u64,
    /// Same seed, same figures.
    pub seed: u64,
    /// How every figure scatters between its limits.
    pub distribution: Distribution,
}

/// What the drawn tolerances do.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "schema", rename = "unloop/tolerance/1")]
pub struct ToleranceFindings {
    /// The design's name.
    pub design: String,
    /// What drives the joint.
    #[serde(skip)]
    pub kind: Kind,
    /// How it was asked.
    #[serde(skip)]
    pub request: ToleranceRequest,
    /// What the builds are held against.
    #[serde(flatten)]
    pub against: Against,
    /// The limits.
    #[serde(serialize_with = "views::limits")]
    pub limits: Vec<(Criterion, f64)>,
    /// The joint turn at which the rocker of the drawn linkage stands still in the stroke, rad: no figure of the ratio
    /// has a bound then, and nothing is drawn at random.
    #[serde(skip)]
    pub still: Option<f64>,
    /// Each figure with its drawn deviations.
    #[serde(serialize_with = "views::deviations")]
    pub deviations: Vec<(Varied, Deviation)>,
    /// Which figure matters most, first order.
    pub ranking: Vec<Contribution>,
    /// Certified worst cases over every linkage within tolerance: angle and ratio error of a joint; tilt, shift, opening and
    /// grip error of a pad; transmission angle.
    #[serde(rename = "worst_case")]
    pub worst: Vec<Worst>,
    /// Builds drawn at random; `None` where no tolerance is drawn.
    pub statistics: Option<Statistics>,
    /// The largest tolerance ± for all four lengths with which the verdict is proved, m.
    #[serde(rename = "largest_symmetric_tolerance_m")]
    pub symmetric: Option<f64>,
    /// The same for each length alone, the others as drawn, m.
    #[serde(rename = "largest_alone", serialize_with = "views::each_alone")]
    pub alone: Vec<(LengthName, Option<f64>)>,
    /// Classes of the standards for the lengths of a four-bar.
    pub budget: Option<Budget>,
    /// How much the drawn tolerances of another drive may grow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub growth: Option<Growth>,
    /// Lost motion from play in the pins, where clearances are given.
    pub lost_motion: Option<LostMotion>,
    /// What a training run should randomise.
    pub ranges: Ranges,
    /// Warnings.
    pub warnings: Vec<Warning>,
}

/// What stands in: its direct joint, or what takes the place of a finger whose pad rides on the coupler.
#[derive(Clone, Copy, Debug)]
pub enum Against {
    /// A joint.
    Joint(DirectJoint),
    /// A stand-in of a finger.
    Finger(Finger),
}

impl Against {
    /// The direct joint; `None` for a finger.
    #[must_use]
    pub fn joint(&self) -> Option<&DirectJoint> {
        match self {
            Self::Joint(joint) => Some(joint),
            Self::Finger(_) => None,
        }
    }

    /// The finger's stand-in; `None` for a joint.
    #[must_use]
    pub fn finger(&self) -> Option<&Finger> {
        match self {
            Self::Joint(_) => None,
            Self::Finger(finger) => Some(finger),
        }
    }

    /// The figure to lead with.
    #[must_use]
    pub fn leads(&self) -> Criterion {
        match self {
            Self::Joint(_) => Criterion::Angle,
            Self::Finger(_) => Criterion::Tilt,
        }
    }

    /// Turn of the hinge at P of a counter-turning pair for each motor turn.
    #[must_use]
    pub fn multiplier(&self) -> Option<f64> {
        let counter = |finger: &&Finger| finger.motion.stand_in == PadStandIn::Counter;
        self.finger().filter(counter).map(|finger| finger.motion.multiplier())
    }
}

impl Serialize for Against {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let told = serde_json::json!({
            "direct_joint": self.joint(),
            "stand_in": self.finger().map(|finger| finger.motion.stand_in),
            "multiplier": self.multiplier(),
        });
        told.serialize(serializer)
    }
}

/// A certified worst case.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Worst {
    /// Of which figure.
    #[serde(rename = "name")]
    pub criterion: Criterion,
    /// Of the bound.
    pub unit: Unit,
    /// Its limit.
    #[serde(skip)]
    pub limit: f64,
    /// Certified bound; `None` where nothing is certain.
    pub bound: Option<f64>,
    /// The worst of the corners of the tolerances that were looked at, where nothing is certain; `None` elsewhere.
    #[serde(rename = "worst_corner", skip_serializing_if = "Option::is_none")]
    pub corner: Option<f64>,
    /// Against the limit.
    #[serde(flatten, serialize_with = "views::with_proof")]
    pub outcome: Outcome,
}

pub(super) fn no_tolerance_drawn() -> Warning {
    Warning {
        code: Code::NoToleranceDrawn,
        message: "no tolerance is drawn: only what could be allowed is shown. Write e.g. crank = \"45 ±0.05 mm\" and [zero] set_by".to_owned(),
    }
}

pub(super) fn pin_friction_unused() -> Warning {
    Warning {
        code: Code::PinFrictionUnused,
        message: "[pins] friction is read and kept; the tolerance study does not use it".to_owned(),
    }
}
