//! What no robot format holds, as the JSON beside the folded file.

use crate::handover::emit::{EmitOptions, Format, ModelKind, emit};
use crate::handover::find::FoundLoop;
use crate::study::{Mechanism, StrokeRow, stroke};

use super::{FoldModel, FoldOptions};

/// Rows of the table over the stroke.
const ROWS: usize = 31;

/// The text of `NAME.joint.json`; `None` where the loop's parts have no names to speak of.
#[must_use]
pub fn joint_json(found: &FoundLoop, options: FoldOptions) -> Option<String> {
    let judged = found.judged.as_ref()?;
    let mechanism = Mechanism::of(&judged.design).ok()?;
    let rows: Vec<StrokeRow> = stroke(&judged.design, &mechanism, &judged.check.direct_joint, ROWS)
        .iter()
        .map(StrokeRow::from)
        .collect();
    let through = |motor: f64| mechanism.branch.joint_turn(motor).ok();
    let wanted = EmitOptions {
        format: Format::Mjcf,
        model: match options.model {
            FoldModel::Direct => ModelKind::Direct,
            FoldModel::Coupled => ModelKind::Coupled,
        },
        whole: false,
        anyway: true,
        limits: options.limits,
        actuator: options.actuator,
        engine: None,
        fit: crate::dynamics::Fit::Balanced,
    };
    let emission = emit(&judged.design, &mechanism, &judged.check, &rows, &through, &wanted);
    Some(emission.ok()?.joint_json)
}
