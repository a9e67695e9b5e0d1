//! What drives the joint, by its sizes.

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};

use crate::design::{AnyDesign, Drawn, Front};
use crate::drive::{Drawing, Kind, Measure, Size};
use crate::equivalence::Witness;
use crate::linkage::FourBar;

/// What drives the joint: its kind and all that is drawn of it.
#[derive(Clone, Debug, PartialEq)]
pub struct DriveFacts {
    /// `[drive] kind`.
    pub kind: Kind,
    /// Its sizes; none of a series, whose stages have them.
    pub sizes: Vec<Size>,
    /// Of a series, in order from the motor.
    pub stages: Vec<Self>,
}

impl DriveFacts {
    /// Of a planar four-bar.
    #[must_use]
    pub fn of_bars(bars: &FourBar) -> Self {
        let size = |name, value| Size { stage: 0, name, measure: Measure::Length, value };
        let sizes = vec![
            size("ground", bars.ground),
            size("crank", bars.crank),
            size("coupler", bars.coupler),
            size("rocker", bars.rocker),
        ];
        Self { kind: Kind::FourBar, sizes, stages: Vec::new() }
    }

    /// Of a build of a planar four-bar whose drawing has the crank at `zero_crank` in the zero pose, rad.
    #[must_use]
    pub fn of_build(build: &Witness, zero_crank: f64) -> Self {
        let mut facts = Self::of_bars(&build.bars);
        let value = zero_crank + build.crank_error;
        facts.sizes.push(Size { stage: 0, name: "zero_crank", measure: Measure::Angle, value });
        facts
    }

    /// Of another drive as drawn.
    #[must_use]
    pub fn of(drawn: &Drawn) -> Self {
        let mut facts = Self::of_drawing(&drawn.drawing);
        for (stage, design) in facts.stages.iter_mut().zip(&drawn.stages) {
            if matches!(design, AnyDesign::FourBar(_)) {
                stage.kind = Kind::FourBar;
            }
        }
        facts
    }

    /// Of what turns the crank of a gripper's finger, as a series.
    #[must_use]
    pub fn in_front(front: &Front) -> Self {
        let mut facts = Self::of_drawing(&front.drawing);
        for (stage, kind) in facts.stages.iter_mut().zip(&front.kinds) {
            stage.kind = *kind;
        }
        facts
    }

    fn of_drawing(drawing: &Drawing) -> Self {
        let kind = drawing.kind();
        match drawing {
            Drawing::Series(stages) => {
                let stages = stages.iter().map(Self::of_drawing).collect();
                Self { kind, sizes: Vec::new(), stages }
            }
            _ => Self { kind, sizes: drawing.sizes(), stages: Vec::new() },
        }
    }

    /// The same drive with other sizes, in the order of [`Drawing::sizes`].
    #[must_use]
    pub fn with(&self, sizes: &[Size]) -> Self {
        let stage = |(k, facts): (usize, &Self)| {
            let own: Vec<Size> = sizes.iter().filter(|size| size.stage == k).copied().collect();
            facts.with(&own)
        };
        Self {
            kind: self.kind,
            sizes: if self.stages.is_empty() { sizes.to_vec() } else { Vec::new() },
            stages: self.stages.iter().enumerate().map(stage).collect(),
        }
    }
}

/// A size's key in JSON, the unit at its end.
pub(super) fn key(size: &Size) -> String {
    match size.measure {
        Measure::Length => format!("{}_m", size.name),
        Measure::Angle => format!("{}_rad", size.name),
        Measure::Number => size.name.to_owned(),
    }
}

#[derive(Serialize)]
struct Told<'a> {
    kind: Kind,
    #[serde(flatten)]
    sizes: BTreeMap<String, f64>,
    #[serde(skip_serializing_if = "<[DriveFacts]>::is_empty")]
    stages: &'a [DriveFacts],
}

impl Serialize for DriveFacts {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let sizes = self.sizes.iter().map(|size| (key(size), size.value)).collect();
        Told { kind: self.kind, sizes, stages: &self.stages }.serialize(serializer)
    }
}

/// A build of another drive than a planar four-bar, in one pose.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BrokenBuild {
    /// Its sizes.
    pub drive: DriveFacts,
    /// Joint turn, rad.
    #[serde(rename = "joint_rad")]
    pub joint: f64,
    /// The figure there; NaN where its rod does not reach.
    pub value: f64,
}

/// What breaks a criterion.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum BrokenBy {
    /// A planar four-bar in a pose.
    Linkage(Witness),
    /// A build of another drive in a pose.
    Build(BrokenBuild),
}

impl BrokenBy {
    /// The figure reached; NaN where the loop does not close.
    #[must_use]
    pub fn value(&self) -> f64 {
        match self {
            Self::Linkage(witness) => witness.value,
            Self::Build(build) => build.value,
        }
    }

    /// The planar four-bar, where it is one.
    #[must_use]
    pub fn linkage(&self) -> Option<&Witness> {
        match self {
            Self::Linkage(witness) => Some(witness),
            Self::Build(_) => None,
        }
    }
}
