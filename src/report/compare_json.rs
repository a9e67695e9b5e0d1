//! `compare --json`, schema `unloop/compare/1`: SI, each figure beside its unit, what is not known as null.

use serde::Serialize;

use crate::handover::compare::{
    Answer, ComparedJoint, Comparison, Line, Measure, Row, RowOutcome, Tolerance, Value,
};

use super::words::verdict_word;

#[derive(Serialize)]
struct CompareJson<'a> {
    schema: &'static str,
    design: &'a str,
    verdict: &'static str,
    reason: &'a str,
    answer: &'static str,
    files: Vec<FileJson<'a>>,
    pairs: Vec<PairJson<'a>>,
    tolerances: Vec<ToleranceJson>,
}

#[derive(Serialize)]
struct FileJson<'a> {
    file: &'a str,
    format: &'static str,
    joints: Vec<JointJson<'a>>,
}

#[derive(Serialize)]
struct PairJson<'a> {
    files: &'a [String; 2],
    joints: Vec<JointJson<'a>>,
}

#[derive(Serialize)]
struct JointJson<'a> {
    joint: &'a str,
    form: Option<&'static str>,
    at: Option<LineJson<'a>>,
    differences: usize,
    rows: Vec<RowJson<'a>>,
    notes: &'a [String],
}

#[derive(Serialize)]
struct LineJson<'a> {
    file: &'a str,
    line: usize,
}

#[derive(Serialize)]
struct RowJson<'a> {
    quantity: &'static str,
    of: Option<&'a str>,
    measure: &'static str,
    unit: &'static str,
    first: Option<ValueJson<'a>>,
    second: Option<ValueJson<'a>>,
    difference: Option<f64>,
    difference_unit: &'static str,
    tolerance: Option<f64>,
    outcome: &'static str,
    at: Option<LineJson<'a>>,
    why: &'a str,
}

#[derive(Serialize)]
#[serde(untagged)]
enum ValueJson<'a> {
    Number(Option<f64>),
    Between { guaranteed: f64, never_exceed: f64 },
    Several(&'a [f64]),
    Word(&'a str),
}

#[derive(Serialize)]
struct ToleranceJson {
    measure: &'static str,
    unit: &'static str,
    absolute: Option<f64>,
    share: Option<f64>,
}

/// A comparison.
///
/// # Errors
/// None that these types can earn.
pub fn compare_json(found: &Comparison) -> serde_json::Result<serde_json::Value> {
    serde_json::to_value(CompareJson {
        schema: "unloop/compare/1",
        design: &found.design,
        verdict: verdict_word(found.verdict),
        reason: &found.reason,
        answer: match found.answer() {
            Answer::InStep => "in_step",
            Answer::Differs => "differs",
            Answer::Undecided => "undecided",
        },
        files: found
            .files
            .iter()
            .map(|file| FileJson {
                file: &file.file,
                format: file.format,
                joints: file.joints.iter().map(joint_json).collect(),
            })
            .collect(),
        pairs: found
            .pairs
            .iter()
            .map(|pair| PairJson {
                files: &pair.files,
                joints: pair.joints.iter().map(joint_json).collect(),
            })
            .collect(),
        tolerances: Measure::ALL.into_iter().map(tolerance_json).collect(),
    })
}

fn joint_json(joint: &ComparedJoint) -> JointJson<'_> {
    JointJson {
        joint: &joint.joint,
        form: joint.form.map(|form| form.title()),
        at: joint.at.as_ref().map(line_json),
        differences: joint.differences().count(),
        rows: joint.rows.iter().map(row_json).collect(),
        notes: &joint.notes,
    }
}

fn line_json(line: &Line) -> LineJson<'_> {
    LineJson { file: &line.file, line: line.line }
}

fn row_json(row: &Row) -> RowJson<'_> {
    RowJson {
        quantity: row.quantity,
        of: row.of.as_deref(),
        measure: row.measure.name(),
        unit: row.measure.unit(),
        first: row.first.as_ref().map(value_json),
        second: row.second.as_ref().map(value_json),
        difference: row.difference,
        difference_unit: row.measure.unit_of_difference(),
        tolerance: row.tolerance,
        outcome: match row.outcome {
            RowOutcome::InStep => "in_step",
            RowOutcome::Differs => "differs",
            RowOutcome::Undecided => "undecided",
            RowOutcome::NotInFormat => "not_in_format",
            RowOutcome::NotInDesign => "not_in_design",
            RowOutcome::NotInFile => "not_in_file",
        },
        at: row.at.as_ref().map(line_json),
        why: &row.why,
    }
}

fn value_json(value: &Value) -> ValueJson<'_> {
    match value {
        Value::Number(x) => ValueJson::Number(x.is_finite().then_some(*x)),
        Value::Between([guaranteed, never_exceed]) => {
            ValueJson::Between { guaranteed: *guaranteed, never_exceed: *never_exceed }
        }
        Value::Several(list) => ValueJson::Several(list),
        Value::Word(word) => ValueJson::Word(word),
    }
}

fn tolerance_json(measure: Measure) -> ToleranceJson {
    let (absolute, share) = match measure.tolerance() {
        Tolerance::Exact => (None, None),
        Tolerance::Absolute(x) => (Some(x), None),
        Tolerance::Share(x) => (None, Some(x)),
    };
    ToleranceJson { measure: measure.name(), unit: measure.unit_of_difference(), absolute, share }
}
