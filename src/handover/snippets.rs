//! The direct joint as a snippet in every format, for a page.

use crate::design::Design;
use crate::robot::Format;
use crate::study::{self, Check, Mechanism, StrokeRow};

use super::emit::{ActuatorUnits, Emission, EmitOptions, LimitBasis, ModelKind, emit};
use super::fault::EmitFault;

/// One format's snippet.
#[derive(Clone, Debug)]
pub struct Snippet {
    /// The format.
    pub format: Format,
    /// The text, or all that stands against it.
    pub outcome: Result<Emission, Vec<EmitFault>>,
}

/// Rows of the table over the stroke.
const ROWS: usize = 31;

/// The direct joint of `design` in every format, as `emit` writes it when asked for nothing special.
#[must_use]
pub fn snippets(design: &Design, mechanism: &Mechanism, check: &Check) -> Vec<Snippet> {
    let rows: Vec<StrokeRow> = study::stroke(design, mechanism, &check.direct_joint, ROWS)
        .iter()
        .map(StrokeRow::from)
        .collect();
    let through = |motor: f64| mechanism.branch.joint_turn(motor).ok();
    let snippet = |format| {
        let outcome = emit(design, mechanism, check, &rows, &through, &options(format));
        Snippet { format, outcome }
    };
    Format::ALL.map(snippet).to_vec()
}

fn options(format: Format) -> EmitOptions {
    EmitOptions {
        format,
        model: ModelKind::Direct,
        whole: false,
        anyway: false,
        limits: LimitBasis::Guaranteed,
        actuator: ActuatorUnits::Joint,
        engine: None,
        fit: crate::dynamics::Fit::Balanced,
    }
}
