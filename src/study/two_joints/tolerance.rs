//! What the drawn tolerances do to a drive of two joints.

use serde::Serialize;

use crate::design::TwoJointDesign;
use crate::drive::{Measure, Size};
use crate::equivalence::{
    Assessment, Basis, Criterion, Figure, Outcome, Peak, RegionBuilds, RegionLimits,
    RegionQuestion, Shown, Unit, judge_region,
};
use crate::tolerance::{
    Deviation, Distribution, DrawnRegionBuild, Histogram, Quantile, RegionRequest,
    RegionStatistics, Yield, region_constants, region_ranking, sample_region,
};

use super::super::family::drawn_ranges;
use super::super::fault::Fault;
use super::super::findings::{RegionTurns, TwoRodsFacts, Warning};
use super::super::tolerance_findings::{ToleranceRequest, no_tolerance_drawn};
use super::super::tolerance_of_sizes::spread_of;
use super::super::tolerance_ranges::Range;
use super::TwoMotors;
use super::check::{facts, question};

/// What the drawn tolerances do to a drive of two joints. Turns count from the zero pose, rad.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "schema", rename = "unloop/tolerance_region/1")]
pub struct RegionTolerance {
    /// The design's name.
    pub design: String,
    /// How far both joints are used.
    pub region: RegionTurns,
    /// What stands in: a row for each motor, columns pitch and roll.
    pub matrix: [[f64; 2]; 2],
    /// What the proof says of every build within the tolerances.
    pub worst_case: Vec<RegionWorstCase>,
    /// Builds drawn at random; `None` where no tolerance is drawn.
    pub statistics: Option<RegionScatter>,
    /// The sizes that deviate, what matters most first.
    pub ranking: Vec<RankedSize>,
    /// Warnings.
    pub warnings: Vec<Warning>,
    /// What both joints read in the zero pose, rad.
    #[serde(skip)]
    pub joint_reads: [f64; 2],
}

/// What is proved, or not, of one criterion over every build within the tolerances.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RegionWorstCase {
    /// Which.
    #[serde(rename = "name")]
    pub criterion: Criterion,
    /// Of limit and bound.
    pub unit: Unit,
    /// Its limit.
    pub limit: f64,
    /// What no build exceeds, of a margin what none falls below; `None` where nothing is certain.
    pub bound: Option<f64>,
    /// Does it hold for every build?
    pub outcome: Outcome,
    /// That is proved, or shown by a build in a pose; not only computed.
    pub proved: bool,
}

/// Builds drawn at random, each looked at over the region: computed, not proved.
#[derive(Clone, Debug, Serialize)]
pub struct RegionScatter {
    /// Builds drawn.
    pub samples: u64,
    /// Stopped before all were drawn.
    pub stopped: bool,
    /// Same seed, same figures.
    pub seed: u64,
    /// How every size scatters between its limits.
    pub distribution: Distribution,
    /// Shares of builds that satisfy each criterion, reach all of the region (`closes`), and satisfy all.
    pub yields: Vec<Yield>,
    /// How each figure scatters.
    pub figures: Vec<ScatteredFigure>,
    /// The worst build seen.
    pub worst_build: Option<WorstBuild>,
}

/// How the worst of one figure over the region scatters.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ScatteredFigure {
    /// Which.
    #[serde(rename = "name")]
    pub criterion: Criterion,
    /// Of its quantiles.
    pub unit: Unit,
    /// The share of each is that of builds which are no worse.
    pub quantiles: Vec<Quantile>,
    /// The same counted, of the two errors.
    #[serde(skip)]
    pub histogram: Option<Histogram>,
}

/// The worst build seen.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WorstBuild {
    /// Its sizes.
    pub drive: TwoRodsFacts,
    /// What is worst of it; `None` where it does not reach all of the region.
    pub worst: Option<WorstFigure>,
}

/// A figure of a build that is furthest over its limit, or nearest to it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WorstFigure {
    /// Which.
    #[serde(rename = "name")]
    pub criterion: Criterion,
    /// Of the figure.
    pub unit: Unit,
    /// The figure.
    pub value: f64,
    /// Pitch and roll there, rad.
    #[serde(rename = "at_joints_rad")]
    pub at: [f64; 2],
}

/// What one size does, first order.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RankedSize {
    /// "left crank x": the motor's name in the file before its size; a size of a joint axis stands alone.
    pub name: String,
    /// The unit of its deviations, m or rad.
    pub unit: &'static str,
    /// What is drawn.
    #[serde(flatten)]
    pub deviation: Deviation,
    /// Slope of the angle error of pitch or roll where it is steepest, rad per unit.
    pub angle_slope: f64,
    /// Slope of the norm of the rate error's matrix at most, per unit.
    pub ratio_slope: f64,
    /// Share of the spread (variance) of the angle error where that is largest, 0…1.
    pub angle_share: f64,
    /// Share of the spread (mean square) of the rate error where that is largest, 0…1.
    pub ratio_share: f64,
    /// What it is measured in.
    #[serde(skip)]
    pub measure: Measure,
}

impl RegionTolerance {
    /// Is every criterion of the motion proved for every build?
    #[must_use]
    pub fn is_proved(&self) -> bool {
        let mut all = self.worst_case.iter();
        !self.worst_case.is_empty() && all.all(|w| w.outcome == Outcome::Holds && w.proved)
    }
}

/// The tolerance study of a drive of two joints; `go_on` is asked between rounds with the number of builds done.
///
/// # Errors
/// Every fault of the design that keeps its drive from running over its region.
pub fn tolerance_of_two_joints(
    design: &TwoJointDesign,
    request: &ToleranceRequest,
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> Result<RegionTolerance, Vec<Fault>> {
    let of = TwoMotors::of(design)?;
    let question = within_tolerances(design, &of);
    let no_build = || vec![Fault::no_build()];
    let judged = judge_region(&question, not_asked(design)).ok_or_else(no_build)?;
    let builds = RegionBuilds::of(&question).ok_or_else(no_build)?;
    let spread = spread_of(&design.drawn, request);
    let drive = facts(design);
    let ranking = region_ranking(&builds, &spread).into_iter().filter_map(|found| {
        let (size, name) = named(&drive, found.size)?;
        Some(RankedSize {
            name,
            unit: if size.measure == Measure::Angle { "rad" } else { "m" },
            deviation: *spread.deviations.get(found.size)?,
            angle_slope: found.angle_slope,
            ratio_slope: found.ratio_slope,
            angle_share: found.angle_share,
            ratio_share: found.ratio_share,
            measure: size.measure,
        })
    });
    let ranking = ranking.collect();
    let worst_case: Vec<RegionWorstCase> =
        judged.criteria.iter().filter_map(RegionWorstCase::of).collect();
    let is_drawn = spread.is_any();
    let limits = question.limits;
    let asked = RegionRequest {
        builds: &builds,
        limits,
        spread,
        tops: [Criterion::Ratio, Criterion::Angle].map(|of| top(&judged.criteria, of)),
        samples: request.samples,
        seed: request.seed,
    };
    let statistics =
        is_drawn.then(|| RegionScatter::of(sample_region(&asked, go_on), &drive, &limits));
    let matrix = of.direct.matrix;
    Ok(RegionTolerance {
        design: design.name.clone(),
        region: of.region.into(),
        matrix: [[matrix.m11, matrix.m12], [matrix.m21, matrix.m22]],
        worst_case,
        statistics,
        ranking,
        warnings: if is_drawn { Vec::new() } else { vec![no_tolerance_drawn()] },
        joint_reads: design.joint_reads,
    })
}

/// What a training run should randomise of two direct joints with the matrix that is emitted.
#[derive(Clone, Debug)]
pub struct RegionRanges {
    /// The design's name.
    pub design: String,
    /// Builds looked at.
    pub builds: u64,
    /// How their sizes scatter.
    pub request: ToleranceRequest,
    /// Name, emitted figure and range: the matrix row by row, then the zero offsets of pitch and roll, rad. What does not
    /// scatter has no range.
    pub constants: Vec<(&'static str, f64, Option<Range>)>,
    /// How two of them go with each other, −1…1, by their names.
    pub correlations: Vec<([&'static str; 2], f64)>,
}

const CONSTANTS: [&str; 6] = [
    "motor_1_by_pitch",
    "motor_1_by_roll",
    "motor_2_by_pitch",
    "motor_2_by_roll",
    "zero_offset_pitch_rad",
    "zero_offset_roll_rad",
];

/// The constants of two direct joints from build to build.
///
/// # Errors
/// As [`tolerance_of_two_joints`].
pub fn ranges_of_two_joints(
    design: &TwoJointDesign,
    request: &ToleranceRequest,
) -> Result<RegionRanges, Vec<Fault>> {
    let of = TwoMotors::of(design)?;
    let question = within_tolerances(design, &of);
    let builds = RegionBuilds::of(&question).ok_or_else(|| vec![Fault::no_build()])?;
    let spread = spread_of(&design.drawn, request);
    let matrix = of.direct.matrix;
    let middle = of.region.map(|[low, high]| 0.5 * (low + high));
    let asked = [request.samples, request.seed];
    let found = spread
        .is_any()
        .then(|| region_constants(&builds, &spread, (&matrix, middle), asked))
        .flatten();
    let emitted = [matrix.m11, matrix.m12, matrix.m21, matrix.m22, 0.0, 0.0];
    let range = |k: usize, nominal: f64| {
        let found = found.as_ref()?;
        let (bounds, [mean, deviation]) = (found.bounds.get(k)?, found.normal.get(k)?);
        let is_related = found.correlation.get(k)?.get(k)?.is_finite();
        is_related.then(|| Range {
            bounds: bounds.map(|x| nominal + x),
            certified: false,
            normal: Some([nominal + mean, *deviation]),
        })
    };
    let named = CONSTANTS.into_iter().zip(emitted).enumerate();
    let constants = named.map(|(k, (name, nominal))| (name, nominal, range(k, nominal))).collect();
    let mut correlations = Vec::new();
    for (k, (row, name)) in
        found.iter().flat_map(|found| found.correlation).zip(CONSTANTS).enumerate()
    {
        let beyond = row.into_iter().zip(CONSTANTS).skip(k + 1);
        let told = beyond.filter(|(share, _)| share.is_finite());
        correlations.extend(told.map(|(share, other)| ([name, other], share)));
    }
    Ok(RegionRanges {
        design: design.name.clone(),
        builds: found.map_or(0, |found| found.builds),
        request: *request,
        constants,
        correlations,
    })
}

/// Every build within the drawn tolerances.
fn within_tolerances<'a>(design: &'a TwoJointDesign, of: &'a TwoMotors) -> RegionQuestion<'a> {
    let sizes = drawn_ranges(|| design.sizes(), Basis::Tolerance);
    RegionQuestion { basis: Basis::Tolerance, sizes, ..question(design, of) }
}

/// A size by its place among all, with its name in words.
fn named(drive: &TwoRodsFacts, place: usize) -> Option<(Size, String)> {
    let spaced = |size: &Size| size.name.replace('_', " ");
    let mut all = drive.axes.iter().map(|size| (*size, spaced(size))).chain(
        drive.motors.iter().flat_map(|motor| {
            motor.sizes.iter().map(|size| (*size, format!("{} {}", motor.name, spaced(size))))
        }),
    );
    all.nth(place)
}

/// Where a histogram ends: beyond what no build exceeds, else far beyond the limit and the drawn drive.
fn top(criteria: &[Assessment], criterion: Criterion) -> f64 {
    const FAR: f64 = 4.0;
    let Some(found) = criteria.iter().find(|c| c.criterion == criterion) else { return 1.0 };
    let certain = found.bound.map(Figure::value).filter(|x| x.is_finite() && *x > 0.0);
    let drawn = found.nominal.map_or(0.0, Figure::value);
    certain.unwrap_or_else(|| FAR * found.limit.max(drawn)).max(f64::MIN_POSITIVE)
}

/// Inertia is no question of tolerances.
fn not_asked(design: &TwoJointDesign) -> Assessment {
    Assessment::not_assessed(Criterion::Inertia, design.accept.inertia, Basis::Tolerance)
}

impl RegionWorstCase {
    fn of(found: &Assessment) -> Option<Self> {
        (found.criterion != Criterion::Inertia).then(|| Self {
            criterion: found.criterion,
            unit: found.criterion.unit(),
            limit: found.limit,
            bound: found.bound.map(Figure::value).filter(|bound| bound.is_finite()),
            outcome: found.outcome,
            proved: matches!(found.shown, Shown::Proved | Shown::ByPose),
        })
    }
}

impl RegionScatter {
    fn of(found: RegionStatistics, drive: &TwoRodsFacts, limits: &RegionLimits) -> Self {
        let counted = found.histograms;
        let figure = |(criterion, quantiles): (Criterion, Vec<Quantile>)| ScatteredFigure {
            criterion,
            unit: criterion.unit(),
            quantiles,
            histogram: counted.iter().find(|(of, _)| *of == criterion).map(|(_, h)| h.clone()),
        };
        let worst_figure = |build: &DrawnRegionBuild| {
            let (criterion, Peak { value, joints }) = build.leading(limits)?;
            Some(WorstFigure { criterion, unit: criterion.unit(), value, at: joints })
        };
        Self {
            samples: found.samples,
            stopped: found.stopped,
            seed: found.seed,
            distribution: found.distribution,
            yields: found.yields,
            worst_build: found.worst.map(|build| WorstBuild {
                drive: drive.with(&build.sizes),
                worst: worst_figure(&build),
            }),
            figures: found.figures.into_iter().map(figure).collect(),
        }
    }

    /// The share of builds by its name, with its 95 % interval.
    #[must_use]
    pub fn share(&self, name: &str) -> Option<&Yield> {
        self.yields.iter().find(|one| one.name == name)
    }
}
