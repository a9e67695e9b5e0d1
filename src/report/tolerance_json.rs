//! `tolerance --json`, schema `unloop/tolerance/1`: SI, the unit in the field's name, what is not known as null.

use serde::Serialize;

use crate::equivalence::Outcome;
use crate::study::{Range, Ranges, ToleranceFindings};
use crate::tolerance::{ClassChoice, Distribution, Estimate, Quantile, Statistics};

use super::words::outcome_word;

#[derive(Serialize)]
struct ToleranceJson<'a> {
    schema: &'static str,
    design: &'a str,
    direct_joint: DirectJointJson,
    limits: LimitsJson,
    deviations: Vec<DeviationJson>,
    ranking: Vec<ContributionJson>,
    worst_case: Vec<WorstJson>,
    statistics: Option<StatisticsJson>,
    largest_symmetric_tolerance_m: Option<f64>,
    largest_alone: Vec<AloneJson>,
    budget: BudgetJson,
    lost_motion: Option<LostMotionJson>,
    ranges: RangesJson,
    warnings: Vec<WarningJson<'a>>,
}

#[derive(Serialize)]
struct DirectJointJson {
    ratio: f64,
    offset_rad: f64,
}

#[derive(Serialize)]
struct LimitsJson {
    angle_rad: f64,
    ratio: f64,
    transmission_angle_rad: f64,
}

/// Lengths in m and rad per m, the zero crank angle in rad and rad per rad.
#[derive(Serialize)]
struct DeviationJson {
    name: &'static str,
    unit: &'static str,
    lower: f64,
    upper: f64,
}

#[derive(Serialize)]
struct ContributionJson {
    name: &'static str,
    angle_slope: f64,
    angle_slope_unit: &'static str,
    at_motor_rad: f64,
    ratio_slope: f64,
    ratio_slope_unit: &'static str,
    share: f64,
}

#[derive(Serialize)]
struct WorstJson {
    name: &'static str,
    bound: Option<f64>,
    outcome: &'static str,
    proved: bool,
}

#[derive(Serialize)]
struct StatisticsJson {
    samples: u64,
    stopped: bool,
    seed: u64,
    distribution: &'static str,
    yields: Vec<YieldJson>,
    angle_error_rad: FigureJson,
    ratio_error: FigureJson,
    angle_histogram: HistogramJson,
}

#[derive(Serialize)]
struct YieldJson {
    name: &'static str,
    share: f64,
    interval_95: [f64; 2],
}

#[derive(Serialize)]
struct FigureJson {
    mean: EstimateJson,
    quantiles: Vec<QuantileJson>,
}

#[derive(Serialize)]
struct EstimateJson {
    value: f64,
    standard_error: f64,
}

#[derive(Serialize)]
struct QuantileJson {
    share: f64,
    value: f64,
    standard_error: f64,
}

/// Even bins from 0 to `top_rad`; the last count is what lies beyond.
#[derive(Serialize)]
struct HistogramJson {
    top_rad: f64,
    counts: Vec<u64>,
}

#[derive(Serialize)]
struct AloneJson {
    length: &'static str,
    tolerance_m: Option<f64>,
}

#[derive(Serialize)]
struct BudgetJson {
    alone: Vec<AloneClassJson>,
    together: Option<Vec<ClassJson>>,
}

#[derive(Serialize)]
struct AloneClassJson {
    length: &'static str,
    class: Option<ClassJson>,
}

#[derive(Serialize)]
struct ClassJson {
    length: &'static str,
    class: String,
    tolerance_m: f64,
}

#[derive(Serialize)]
struct LostMotionJson {
    least_rad: f64,
    most_rad: f64,
    standard_deviation_rad: f64,
}

#[derive(Serialize)]
struct RangesJson {
    ratio: Option<RangeJson>,
    zero_offset_rad: Option<RangeJson>,
    ratio_zero_offset_correlation: Option<f64>,
    play_rad: Option<RangeJson>,
    armature_kg_m2: Option<RangeJson>,
}

#[derive(Serialize)]
struct RangeJson {
    low: f64,
    high: f64,
    certified: bool,
    mean: Option<f64>,
    standard_deviation: Option<f64>,
}

#[derive(Serialize)]
struct WarningJson<'a> {
    code: &'static str,
    message: &'a str,
}

/// The word for a distribution.
pub(super) fn distribution_word(distribution: Distribution) -> &'static str {
    match distribution {
        Distribution::Normal => "normal",
        Distribution::Uniform => "uniform",
        Distribution::Triangular => "triangular",
    }
}

fn estimate(e: &Estimate) -> EstimateJson {
    EstimateJson { value: e.value, standard_error: e.error }
}

fn figure(mean: &Estimate, quantiles: &[Quantile]) -> FigureJson {
    let quantile = |q: &Quantile| QuantileJson {
        share: q.share,
        value: q.figure.value,
        standard_error: q.figure.error,
    };
    FigureJson { mean: estimate(mean), quantiles: quantiles.iter().map(quantile).collect() }
}

fn statistics(s: &Statistics, found: &ToleranceFindings) -> StatisticsJson {
    let yields = s.yields.iter().map(|y| YieldJson {
        name: y.name,
        share: y.share,
        interval_95: y.interval,
    });
    StatisticsJson {
        samples: s.samples,
        stopped: s.stopped,
        seed: found.request.seed,
        distribution: distribution_word(found.request.distribution),
        yields: yields.collect(),
        angle_error_rad: figure(&s.angle_mean, &s.angle_quantiles),
        ratio_error: figure(&s.ratio_mean, &s.ratio_quantiles),
        angle_histogram: HistogramJson {
            top_rad: found.histogram_top,
            counts: s.angle_histogram.clone(),
        },
    }
}

fn class(choice: &ClassChoice) -> ClassJson {
    ClassJson {
        length: choice.length.name(),
        class: choice.class.clone(),
        tolerance_m: choice.half_width,
    }
}

fn budget(found: &ToleranceFindings) -> BudgetJson {
    let alone = found.budget.alone.iter();
    BudgetJson {
        alone: alone
            .map(|(l, c)| AloneClassJson { length: l.name(), class: c.as_ref().map(class) })
            .collect(),
        together: found.budget.together.as_ref().map(|all| all.iter().map(class).collect()),
    }
}

fn range(range: &Range) -> RangeJson {
    RangeJson {
        low: range.bounds[0],
        high: range.bounds[1],
        certified: range.certified,
        mean: range.normal.map(|n| n[0]),
        standard_deviation: range.normal.map(|n| n[1]),
    }
}

fn ranges(ranges: &Ranges) -> RangesJson {
    RangesJson {
        ratio: ranges.ratio.as_ref().map(range),
        zero_offset_rad: ranges.zero_offset.as_ref().map(range),
        ratio_zero_offset_correlation: ranges.correlation,
        play_rad: ranges.play.as_ref().map(range),
        armature_kg_m2: ranges.armature.as_ref().map(range),
    }
}

fn contributions(found: &ToleranceFindings) -> Vec<ContributionJson> {
    let unit =
        |name: &str| if name == "zero crank angle" { ("1", "1/rad") } else { ("rad/m", "1/m") };
    let one = |c: &crate::tolerance::Contribution| {
        let (angle_slope_unit, ratio_slope_unit) = unit(c.variable.name());
        ContributionJson {
            name: c.variable.name(),
            angle_slope: c.angle_slope,
            angle_slope_unit,
            at_motor_rad: c.at_turn,
            ratio_slope: c.ratio_slope,
            ratio_slope_unit,
            share: c.share,
        }
    };
    found.ranking.iter().map(one).collect()
}

/// The findings as a JSON value.
///
/// # Errors
/// None that a finding can cause; serialisation to a value is total for these types.
pub fn tolerance_json(found: &ToleranceFindings) -> serde_json::Result<serde_json::Value> {
    let deviation =
        |(v, d): &(crate::tolerance::Variable, crate::tolerance::Deviation)| DeviationJson {
            name: v.name(),
            unit: if *v == crate::tolerance::Variable::ZeroCrank { "rad" } else { "m" },
            lower: d.lower,
            upper: d.upper,
        };
    let worst = |w: &crate::study::Worst| WorstJson {
        name: w.criterion.name(),
        bound: w.bound,
        outcome: outcome_word(w.outcome),
        proved: matches!(w.outcome, Outcome::Holds | Outcome::Fails),
    };
    serde_json::to_value(ToleranceJson {
        schema: "unloop/tolerance/1",
        design: &found.design,
        direct_joint: DirectJointJson {
            ratio: found.direct_joint.ratio,
            offset_rad: found.direct_joint.offset,
        },
        limits: LimitsJson {
            angle_rad: found.limits.angle,
            ratio: found.limits.ratio,
            transmission_angle_rad: found.limits.transmission_angle,
        },
        deviations: found.deviations.iter().map(deviation).collect(),
        ranking: contributions(found),
        worst_case: found.worst.iter().map(worst).collect(),
        statistics: found.statistics.as_ref().map(|s| statistics(s, found)),
        largest_symmetric_tolerance_m: found.symmetric,
        largest_alone: found
            .alone
            .iter()
            .map(|(l, t)| AloneJson { length: l.name(), tolerance_m: *t })
            .collect(),
        budget: budget(found),
        lost_motion: found.lost_motion.map(|l| LostMotionJson {
            least_rad: l.least,
            most_rad: l.most,
            standard_deviation_rad: l.deviation,
        }),
        ranges: ranges(&found.ranges),
        warnings: found
            .warnings
            .iter()
            .map(|w| WarningJson { code: w.code.name(), message: &w.message })
            .collect(),
    })
}
