//! What a training run should randomise.

use serde::Serialize;

use crate::equivalence::Finding;
use crate::tolerance::{LostMotion, Scatter, Statistics};

use super::findings::views;

/// A figure to randomise: the smallest and the largest of all builds within tolerance, and how it scatters.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Range {
    /// Certified, or the smallest and largest of the corners of the tolerances and of the builds looked at.
    #[serde(flatten, serialize_with = "views::low_high")]
    pub bounds: [f64; 2],
    /// No build within tolerance leaves the bounds.
    pub certified: bool,
    /// Mean and standard deviation over the builds looked at.
    #[serde(flatten, serialize_with = "views::normal")]
    pub normal: Option<[f64; 2]>,
}

/// What a training run should randomise.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Ranges {
    /// The emitted ratio from build to build: as [`crate::tolerance::OwnConstants`] has it.
    pub ratio: Option<Range>,
    /// The emitted offset from build to build, rad.
    #[serde(rename = "zero_offset_rad")]
    pub zero_offset: Option<Range>,
    /// Correlation of the two, where both scatter.
    #[serde(rename = "ratio_zero_offset_correlation")]
    pub correlation: Option<f64>,
    /// Lost motion at the joint, rad.
    #[serde(rename = "play_rad")]
    pub play: Option<Range>,
    /// The multiplier of a counter-turning pair from build to build: what follows the coupler best on the mean over the
    /// stroke, put on the emitted one.
    pub multiplier: Option<Range>,
    /// Tilt of the pad against its stand-in in any pose of any build, rad.
    #[serde(rename = "tilt_rad")]
    pub tilt: Option<Range>,
    /// n²J of each build, the armature of a joint whose bodies stay as they are, kg m²; goes with the ratio.
    #[serde(rename = "armature_kg_m2")]
    pub armature: Option<Range>,
    /// Builds looked at; the corners of the tolerances come on top.
    pub builds: Option<u64>,
}

/// What scatters at a joint.
pub(super) fn ranges(statistics: Option<&Statistics>, lost: Option<(LostMotion, bool)>) -> Ranges {
    let play =
        lost.map(|(l, certified)| Range { bounds: [l.least, l.most], certified, normal: None });
    let own = statistics.and_then(|s| s.own);
    Ranges {
        ratio: own.map(|own| own.ratio.into()),
        zero_offset: own.map(|own| own.offset.into()),
        correlation: own
            .filter(|own| own.ratio.deviation > 0.0 && own.offset.deviation > 0.0)
            .map(|own| own.correlation),
        play,
        builds: own.map(|own| own.builds),
        ..Ranges::default()
    }
}

impl From<Scatter> for Range {
    fn from(s: Scatter) -> Self {
        Self { bounds: s.seen, certified: false, normal: Some([s.mean, s.deviation]) }
    }
}

/// What scatters at a finger's stand-in.
pub(super) fn pad_ranges(statistics: Option<&Statistics>, tilt: Option<&Finding>) -> Ranges {
    let own = statistics.and_then(|s| s.own_multiplier);
    let [above, below] = tilt.map_or([f64::INFINITY; 2], |finding| finding.sides);
    let tilt = Range { bounds: [-below, above], certified: true, normal: None };
    Ranges {
        multiplier: own.map(|(_, multiplier)| multiplier.into()),
        tilt: Some(tilt).filter(|tilt| tilt.bounds.iter().all(|bound| bound.is_finite())),
        builds: own.map(|(builds, _)| builds),
        ..Ranges::default()
    }
}

impl Ranges {
    /// The same with the armature that belongs to the range of the ratio.
    pub(super) fn with_armature(self, at_crank: Option<f64>) -> Self {
        let armature = at_crank.zip(self.ratio).map(|(inertia, ratio)| {
            let of = |i: f64| inertia * i * i;
            let ends = ratio.bounds.map(of);
            Range {
                bounds: [ends[0].min(ends[1]), ends[0].max(ends[1])],
                certified: ratio.certified,
                // To first order in a ratio that scatters by far less than itself.
                normal: ratio
                    .normal
                    .map(|[mean, deviation]| [of(mean), 2.0 * inertia * mean.abs() * deviation]),
            }
        });
        Self { armature, ..self }
    }
}
