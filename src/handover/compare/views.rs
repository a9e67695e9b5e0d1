//! What of a comparison has another shape in JSON than it has.

use serde::{Serialize, Serializer};

use super::{Answer, ComparedFile, ComparedPair, Comparison, Measure, Row, Tolerance};
use crate::equivalence::Verdict;
use crate::handover::Form;

#[derive(Serialize)]
#[serde(tag = "schema", rename = "unloop/compare/1")]
struct Told<'a> {
    design: &'a str,
    verdict: Verdict,
    reason: &'a str,
    answer: Answer,
    files: &'a [ComparedFile],
    pairs: &'a [ComparedPair],
    tolerances: [Allowed; Measure::ALL.len()],
}

/// One row of the table of tolerances.
#[derive(Serialize)]
struct Allowed {
    measure: Measure,
    unit: &'static str,
    absolute: Option<f64>,
    share: Option<f64>,
}

/// A form by its title.
pub(super) fn titled<S: Serializer>(form: &Option<Form>, serializer: S) -> Result<S::Ok, S::Error> {
    form.map(Form::title).serialize(serializer)
}

impl Serialize for Comparison {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        Told {
            design: &self.design,
            verdict: self.verdict,
            reason: &self.reason,
            answer: self.answer(),
            files: &self.files,
            pairs: &self.pairs,
            tolerances: Measure::ALL.map(allowed),
        }
        .serialize(serializer)
    }
}

fn allowed(measure: Measure) -> Allowed {
    let (absolute, share) = match measure.tolerance() {
        Tolerance::Exact => (None, None),
        Tolerance::Absolute(x) => (Some(x), None),
        Tolerance::Share(x) => (None, Some(x)),
    };
    Allowed { measure, unit: measure.unit_of_difference(), absolute, share }
}

#[derive(Serialize)]
struct Counted<'a> {
    rows: &'a [Row],
    differences: usize,
}

pub(super) fn counted<S: Serializer>(rows: &[Row], serializer: S) -> Result<S::Ok, S::Error> {
    let differences = rows.iter().filter(|row| row.differs()).count();
    Counted { rows, differences }.serialize(serializer)
}

#[derive(Serialize)]
struct Units {
    measure: Measure,
    unit: &'static str,
    difference_unit: &'static str,
}

pub(super) fn with_units<S: Serializer>(
    measure: &Measure,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let (unit, difference_unit) = (measure.unit(), measure.unit_of_difference());
    Units { measure: *measure, unit, difference_unit }.serialize(serializer)
}

#[derive(Serialize)]
struct Between {
    guaranteed: f64,
    never_exceed: f64,
}

pub(super) fn between<S: Serializer>(
    &[guaranteed, never_exceed]: &[f64; 2],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    Between { guaranteed, never_exceed }.serialize(serializer)
}
