//! What stands against a file that keeps the motor's side of a drive that is no planar four-bar.

use super::super::Form;
use super::{Asked, on_parent};
use crate::drive::Drawing;
use crate::handover::fault::EmitFault;
use crate::robot::Format;

/// What no file of this form holds.
pub(super) fn refusal(request: &Asked<'_>) -> Option<EmitFault> {
    if let Some(fault) = on_parent::refusal(request) {
        return Some(fault);
    }
    let ask = request.ask;
    let drawing = &request.design.geometry.drawing;
    let runs_beside = line_offset(drawing) != 0.0;
    let (why, help) = match (ask.form, drawing) {
        (Form::Direct, _) => return None,
        (_, Drawing::FixedRatio(_)) => {
            ("its ratio is constant, so that the direct joint is exact", "take --model direct")
        }
        (_, Drawing::Series(_)) => {
            ("a chain of drives is written as a direct joint only", "take --model direct")
        }
        (Form::Loop, _) if ask.format == Format::Urdf => return Some(EmitFault::NoLoops),
        (Form::Coupled, _) if ask.format != Format::Mjcf => (
            "this format has no element that couples a motor to a joint by a curve",
            match (ask.format, runs_beside) {
                (Format::Sdformat, false) => "take --model direct or --model loop, or --to mjcf",
                (_, false) => "take --model direct, or --to mjcf",
                (_, true) => "take --model direct",
            },
        ),
        (Form::Coupled, _) if runs_beside => (
            "its slide line runs beside the carrier's pin, which no element of the format holds",
            "take --model direct",
        ),
        (Form::Loop, _) if runs_beside => (
            "its slide line runs beside the carrier's pin, and where the housing's mass lies then is not drawn",
            "take --model direct",
        ),
        _ => return None,
    };
    let key = "[drive] kind";
    Some(EmitFault::Unfit { key, why: why.into(), help: help.into() })
}

fn line_offset(drawing: &Drawing) -> f64 {
    match drawing {
        Drawing::PlanarActuator { line_offset, .. } => *line_offset,
        Drawing::ActuatorPoints { points, .. } => points.line_offset,
        _ => 0.0,
    }
}
