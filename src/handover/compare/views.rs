//! What of a comparison has another shape in JSON than it has.

use serde::{Serialize, Serializer};
use serde_json::{Value, json};

use super::{Comparison, Measure, Row, Tolerance};
use crate::handover::Form;

impl Serialize for Comparison {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let told = json!({
            "schema": "unloop/compare/1",
            "design": self.design,
            "verdict": self.verdict,
            "reason": self.reason,
            "answer": self.answer(),
            "files": self.files,
            "pairs": self.pairs,
            "tolerances": Measure::ALL.map(allowed),
        });
        told.serialize(serializer)
    }
}

/// One row of the table of tolerances.
fn allowed(measure: Measure) -> Value {
    let (absolute, share) = match measure.tolerance() {
        Tolerance::Exact => (None, None),
        Tolerance::Absolute(x) => (Some(x), None),
        Tolerance::Share(x) => (None, Some(x)),
    };
    let unit = measure.unit_of_difference();
    json!({ "measure": measure, "unit": unit, "absolute": absolute, "share": share })
}

shapes! {
    /// A form by its title.
    pub(super) fn titled(Option<Form> as form) = form.map(Form::title);

    pub(super) fn counted([Row] as rows) = json!({
        "rows": rows,
        "differences": rows.iter().filter(|row| row.differs()).count(),
    });

    pub(super) fn with_units(Measure as measure) = json!({
        "measure": measure,
        "unit": measure.unit(),
        "difference_unit": measure.unit_of_difference(),
    });

    pub(super) fn between([f64; 2] as [guaranteed, never_exceed]) =
        json!({ "guaranteed": guaranteed, "never_exceed": never_exceed });
}
